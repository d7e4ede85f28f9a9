"""From one kit that fails to a wall of kits that fail: monotone no-goods.

On the road: choosing <-> trips. When a kit leaves too many departures short, each of its numbers is
pushed to the best value at which it *still* leaves too many short. Every kit whose numbers are all no
better than these fails too, whatever else it is: the trips are monotone. So at least one group must
choose something better than its level, and that is one clause for the solver, valid for every problem
with the same scene.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.effects import NONE, Effects, GroupEffects
from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Kit
from optimizer.trips.run import short_departures

Array = NDArray[np.float64]
GroupLevel = tuple[int, tuple[float, ...]]
"""Class the level is told in, and the best values that still fail; infinite = however good."""


@dataclass(frozen=True)
class Level:
    """Numbers, group by group, at which ``short`` departures or more fall short in ``nights`` nights."""

    short: int
    nights: int
    groups: tuple[tuple[str, GroupLevel], ...]


class Lifter:
    """Asks the trips, and pushes failing kits up to levels.

    Parameters
    ----------
    effects : Effects
    allowed : departures that may fall short
    orders : how many random orders of pushing are tried for each failing kit
    """

    def __init__(self, effects: Effects, allowed: int, orders: int = 6, seed: int = 1) -> None:
        self.effects = effects
        self.allowed = allowed
        self.calls = 0
        self._orders = orders
        self._random = np.random.default_rng(seed)
        self._worst_first = np.arange(effects.scene.departures.size)
        self._seen: dict[tuple[int, ...], bool] = {}
        self._grid: dict[tuple[int, int, int], Array] = {}

    # -- questions ------------------------------------------------------------------------------

    def survives(self, kit: Kit) -> bool:
        """Whether few enough departures fall short."""
        key = (kit.nights, *self.effects.rows_of(kit))
        if key not in self._seen:
            row = self.effects.kit_row(kit)
            short = self._short(row, kit.nights)
            self._seen[key] = short <= self.allowed
        return self._seen[key]

    def _short(self, row: Array, nights: int) -> int:
        self.calls += 1
        return short_departures(self.effects.scene, row, nights, self.allowed, self._worst_first)

    def look_worst_first(self, kit: Kit) -> None:
        """Order the departures by how badly this kit does, so that failures show early."""
        from optimizer.trips.run import outcomes

        room = outcomes(self.effects.scene, self.effects.kit_row(kit), kit.nights).room_wh
        self._worst_first = np.argsort(room, kind="stable")

    # -- pushing --------------------------------------------------------------------------------

    def lift(self, kit: Kit) -> list[Level]:
        """Levels above a kit that fails, one for each order tried, twins left out."""
        levels: dict[tuple[Any, ...], Level] = {}
        for _ in range(self._orders):
            level = self._lift_once(kit)
            levels[level.groups] = level
        return list(levels.values())

    def _lift_once(self, kit: Kit) -> Level:
        state = _State(self, kit)
        for number in self._random.permutation(len(self.effects.groups)):
            state.push_group(int(number))
        state.push_nights()
        groups = tuple(
            (g.group.name, (basis, tuple(values.tolist())))
            for g, basis, values in zip(self.effects.groups, state.bases, state.levels, strict=True)
        )
        return Level(self.allowed + 1, state.nights, groups)

    def shuffled(self, count: int) -> Iterable[int]:
        """Places 0 to ``count`` - 1 in a random order."""
        return (int(place) for place in self._random.permutation(count))

    def fails(self, values: list[Array], classes: list[int], nights: int) -> bool:
        """Whether these numbers leave too many departures short."""
        return self._short(self.effects.row(values, classes), nights) > self.allowed

    def grid(self, number: int, basis: int, entry: int) -> Array:
        """The values an entry can take in a group, from worst to best, told in a class."""
        key = (number, basis, entry)
        if key not in self._grid:
            group = self.effects.groups[number]
            values = self.effects.values_in_class(number, basis)[:, entry]
            way = group.entries[entry].direction
            self._grid[key] = np.unique(values[np.isfinite(values)] * way) * way
        return self._grid[key]


class _State:
    """Numbers on their way up from a kit."""

    def __init__(self, lifter: Lifter, kit: Kit) -> None:
        self.lifter = lifter
        self.nights = kit.nights
        groups = lifter.effects.groups
        rows = lifter.effects.rows_of(kit)
        self.bases = [_basis(g, row) for g, row in zip(groups, rows, strict=True)]
        self.levels = [g.values[row].copy() for g, row in zip(groups, rows, strict=True)]
        self._used = [level.copy() for level in self.levels]

    def push_group(self, number: int) -> None:
        """Everything in a group to its best; where that saves too many, entry by entry."""
        group = self.lifter.effects.groups[number]
        grids = [self.lifter.grid(number, self.bases[number], e) for e in range(len(group.entries))]
        best = np.array([grid[-1] for grid in grids])
        if self._fails_with(number, best):
            # Nothing this group can choose helps here, so the clause leaves it out.
            self._used[number] = best
            self.levels[number] = np.array([np.inf * e.direction for e in group.entries])
            return
        for entry in self.lifter.shuffled(len(group.entries)):
            self._push_entry(number, entry, grids[entry])

    def _push_entry(self, number: int, entry: int, grid: Array) -> None:
        way = self.lifter.effects.groups[number].entries[entry].direction
        now = self._used[number][entry]
        better = grid[grid * way > now * way]
        low, high = 0, better.size  # better[:low] still fail, better[high:] do not
        while low < high:
            middle = (low + high + 1) // 2
            trial = self._used[number].copy()
            trial[entry] = better[middle - 1]
            if self._fails_with(number, trial):
                low = middle
            else:
                high = middle - 1
        if low:
            self._used[number][entry] = better[low - 1]
        no_better = low == better.size and self._all_finite(number, entry)
        self.levels[number][entry] = np.inf * way if no_better else self._used[number][entry]

    def _all_finite(self, number: int, entry: int) -> bool:
        values = self.lifter.effects.values_in_class(number, self.bases[number])[:, entry]
        return bool(np.all(np.isfinite(values)))

    def _fails_with(self, number: int, values: Array) -> bool:
        trial = list(self._used)
        trial[number] = values
        return self.lifter.fails(trial, self.bases, self.nights)

    def push_nights(self) -> None:
        """Fewer nights, as long as it still fails."""
        options = self.lifter.effects.problem.nights
        shorter = [n for n in options if n < self.nights]
        low, high = 0, len(shorter)  # shorter[high:] fail
        while low < high:
            middle = (low + high) // 2
            if self.lifter.fails(self._used, self.bases, shorter[middle]):
                high = middle
            else:
                low = middle + 1
        if high < len(shorter):
            self.nights = shorter[high]


def _basis(group: GroupEffects, row: int) -> int:
    """The class a group's level is told in: its own, or for nothing chosen any there is."""
    own = int(group.classes[row])
    known = [int(c) for c in group.classes if c >= 0]
    return own if own >= 0 or not known else min(known)


def clause(level: Level, effects: Effects, variables: ModelVariables) -> list[Any]:
    """The literals of which one must be true for a kit to escape a level."""
    literals = []
    levels = dict(level.groups)
    for number, group in enumerate(effects.groups):
        if group.group.name not in levels:
            continue
        basis, bounds = levels[group.group.name]
        for key, escapes in zip(group.keys, escaping(effects, number, basis, bounds), strict=True):
            if escapes:
                literals.append(
                    variables.nothing(group.group) if key == NONE else variables.literal(group.group.name, key)
                )
    literals += [literal for nights, literal in variables.nights().items() if nights < level.nights]
    return literals


def escaping(effects: Effects, number: int, basis: int, bounds: tuple[float, ...]) -> NDArray[np.bool_]:
    """Which candidates of a group are better than a level in any number."""
    group = effects.groups[number]
    ways = np.array([entry.direction for entry in group.entries])
    values = effects.values_in_class(number, basis)
    better: NDArray[np.bool_] = np.any(values * ways > np.array(bounds) * ways, axis=1)
    return better
