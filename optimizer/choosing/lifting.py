"""From one kit that fails to a wall of kits that fail: monotone no-goods.

On the road: choosing <-> trips. When a kit leaves too many departures short, each of its numbers is
pushed to the best value at which it *still* leaves too many short. Every kit whose numbers are all no
better than these fails too, whatever else it is: the trips are monotone. So at least one group must
choose something better than its level, and that is one clause for the solver, valid for every problem
with the same scene.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.effects import Effects, GroupEffects
from optimizer.choosing.store import GroupLevel, Level, LevelStore
from optimizer.choosing.walls import NONE, Wall
from optimizer.problem.records import Kit, Option
from optimizer.trips.run import outcomes, short_departures

Array = NDArray[np.float64]
ENDLESS = 1e15
"""Stands for a number without bound where arithmetic must go on; far beyond any kit's."""


class Lifter:
    """Asks the trips, and pushes failing kits up to levels.

    Parameters
    ----------
    effects : Effects
    allowed : departures that may fall short
    cost : what an option costs by the goal; options are pushed over cheapest first, so that what is left
        as a way out is dear, and the solver's bound climbs fastest
    store : where levels are kept and found
    orders : how many orders of pushing are tried for each failing kit, all but the first shaken at random
    """

    def __init__(
        self,
        effects: Effects,
        allowed: int,
        cost: Callable[[Option], int],
        store: LevelStore | None = None,
        orders: int = 1,
        seed: int = 1,
    ) -> None:
        self.effects = effects
        self.store = store if store is not None else LevelStore()
        self.allowed = allowed
        self.calls = 0
        self._orders = orders
        self._random = np.random.default_rng(seed)
        self._worst_first = np.arange(effects.scene.departures.size)
        self._ordered = False
        self._seen: dict[tuple[int, ...], bool] = {}
        self._costs = [
            np.array([cost(g.group.option(key)) if key else 0 for key in g.keys], dtype=np.float64)
            for g in effects.groups
        ]
        self._ways = [np.array([entry.direction for entry in g.entries], dtype=np.float64) for g in effects.groups]

    # -- questions ------------------------------------------------------------------------------

    def passes(self, kit: Kit) -> bool:
        """Whether few enough departures fall short."""
        key = (kit.nights, *self.effects.rows_of(kit))
        if key not in self._seen:
            self._seen[key] = not self._fails(self.effects.kit_row(kit), kit.nights)
        return self._seen[key]

    def _fails(self, row: Array, nights: int) -> bool:
        self.calls += 1
        return short_departures(self.effects.scene, row, nights, self.allowed, self._worst_first) > self.allowed

    def look_worst_first(self, kit: Kit) -> None:
        """Order the departures by how badly this kit does, so that failures show early."""
        self._ordered = True
        room = outcomes(self.effects.scene, self.effects.kit_row(kit), kit.nights).room_wh
        self._worst_first = np.argsort(room, kind="stable")

    def known(self) -> list[Wall]:
        """Walls from levels that earlier runs found."""
        walls = (wall(level, self.effects) for level in self.store.fitting(self.allowed))
        return [found for found in walls if found is not None]

    def walls(self, kit: Kit) -> list[Wall]:
        """Walls that a failing kit stands before; the store keeps what they come from."""
        if not self._ordered:
            self.look_worst_first(kit)
        levels = self.lift(kit)
        self.store.add(levels)
        walls = (wall(level, self.effects) for level in levels)
        return [found for found in walls if found is not None]

    # -- pushing --------------------------------------------------------------------------------

    def lift(self, kit: Kit) -> list[Level]:
        """Levels above a kit that fails, one for each order tried, none twice."""
        return list(dict.fromkeys(self._lift_once(kit, shaken=order > 0) for order in range(self._orders)))

    def _lift_once(self, kit: Kit, shaken: bool) -> Level:
        """Take in one option after another, the cheapest first, as long as everything taken in fails.

        Each option is tried once: the level only rises, so one that saves too many now does so later.
        """
        rows = self.effects.rows_of(kit)
        bases = [_basis(g, row) for g, row in zip(self.effects.groups, rows, strict=True)]
        told = [self._told(n, basis) for n, basis in enumerate(bases)]
        level = [values[row].copy() for values, row in zip(told, rows, strict=True)]
        saving: list[list[Array]] = [[] for _ in told]
        for number, candidate in self._by_extra_cost(rows, shaken):
            before = level[number]
            level[number] = np.maximum(before, told[number][candidate])
            if _same(level[number], before):
                continue
            known = any(bool((level[number] >= found).all()) for found in saving[number])
            if known or not self._fails(self._row(level, bases), kit.nights):
                if not known:
                    saving[number].append(level[number])
                level[number] = before
        nights = self._fewest_nights(self._row(level, bases), kit.nights)
        bounds = (self._bounds(n, told[n], level[n], bases[n]) for n in range(len(told)))
        return Level(self.allowed + 1, nights, tuple(bounds))

    def _told(self, number: int, basis: int) -> Array:
        """A group's numbers, more always better, in terms of a class; what no amount equals is endless."""
        values: Array = self.effects.values_in_class(number, basis) * self._ways[number]
        return np.where(np.isfinite(values), values, ENDLESS)

    def _by_extra_cost(self, rows: list[int], shaken: bool) -> list[tuple[int, int]]:
        """Every candidate of every group, by what it costs beyond the kit's own."""
        steps = []
        for number, row in enumerate(rows):
            extra = self._costs[number] - self._costs[number][row]
            if shaken:
                extra = extra * self._random.uniform(0.3, 3.0)
            steps += [(float(cost), number, candidate) for candidate, cost in enumerate(extra)]
        return [(number, candidate) for _, number, candidate in sorted(steps)]

    def _row(self, level: list[Array], bases: list[int]) -> Array:
        return self.effects.row([values * ways for values, ways in zip(level, self._ways, strict=True)], bases)

    def _bounds(self, number: int, told: Array, level: Array, basis: int) -> tuple[str, GroupLevel]:
        """A group's level; without bound in a number that no candidate has better."""
        open_ended = np.all(told <= level, axis=0)
        bounds = np.where(open_ended, np.inf, level) * self._ways[number]
        return self.effects.groups[number].group.name, (basis, tuple(bounds.tolist()))

    def _fewest_nights(self, row: Array, nights: int) -> int:
        """Fewest nights for which these numbers still fail."""
        shorter = [n for n in self.effects.problem.nights if n < nights]
        low, high = 0, len(shorter)  # shorter[high:] fail
        while low < high:
            middle = (low + high) // 2
            if self._fails(row, shorter[middle]):
                high = middle
            else:
                low = middle + 1
        return shorter[high] if high < len(shorter) else nights


def _same(one: Array, other: Array) -> bool:
    return bool((one == other).all())


def _basis(group: GroupEffects, row: int) -> int:
    """The class a group's level is told in: its own, or for nothing chosen any there is."""
    own = int(group.classes[row])
    known = [int(c) for c in group.classes if c >= 0]
    return own if own >= 0 or not known else min(known)


def wall(level: Level, effects: Effects) -> Wall | None:
    """The ways out of a level: group by group, the options better than it in any number.

    A level found for a problem with other groups still says something: what it had no group for was not
    there, so any option of such a group is a way out. None when it had a group that is not here, since
    then the level does not say what happens without.
    """
    levels = dict(level.groups)
    if levels.keys() - {group.group.name for group in effects.groups}:
        return None
    ways = []
    for number, group in enumerate(effects.groups):
        if group.group.name in levels:
            better = escaping(effects, number, *levels[group.group.name])
            keys = tuple(key for key, escapes in zip(group.keys, better, strict=True) if escapes)
        else:
            keys = tuple(key for key in group.keys if key != NONE)
        if keys:
            ways.append((group.group.name, keys))
    return Wall(tuple(ways), level.nights)


def escaping(effects: Effects, number: int, basis: int, bounds: tuple[float, ...]) -> NDArray[np.bool_]:
    """Which candidates of a group are better than a level in any number."""
    group = effects.groups[number]
    ways = np.array([entry.direction for entry in group.entries])
    values = effects.values_in_class(number, basis)
    better: NDArray[np.bool_] = np.any(values * ways > np.array(bounds) * ways, axis=1)
    return better
