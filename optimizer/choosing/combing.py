"""Every kit of the groups that the trips look at, gone through without the solver: which could still be the best?

On the road: choosing <-> trips. Where two sums are all that is asked for (money and mass), the groups that act on the
trips are few, and walls leave little of them: a walk through what is left, with bounds, takes a tenth of a solve. It
holds against a kit only what is cheap to hold against it: sums among the rules, walls, and the least that all other
groups add. So a kit that it meets may still break a rule; but whatever kit keeps the rules, gets past the walls and
stays within the limits, its groups are met.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.solve import Deadline, Settings, minimise
from optimizer.choosing.sums import RuleSum
from optimizer.choosing.tables import WallTables
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import NONE
from optimizer.problem.records import Group, Kit, Option, Problem

Ints = NDArray[np.int64]
Point = tuple[int, int]
Cost = Callable[[Group, Option], int]

COMBED = (
    "battery", "solar_panel", "charge_controller", "alternator_charger", "cold_box", "insulation", "heater", "inverter",
    "dc_converter", "roof_fan",
)  # fmt: skip
"""Kinds whose groups are gone through, in this order; all others are counted with the least they add."""
MOST_STEPS = 40_000_000
"""Candidates looked at in one walk; then it is left, after some seconds."""
MOST_POINTS = 200
"""Points told of what groups still to come add at least."""
REST_POINTS, REST_WORK = 12, 0.5
"""Points of what other groups add, and the solver's work for each of their numbers; beyond that it is left."""


@dataclass(frozen=True)
class Found:
    """A kit of the groups that were gone through."""

    choices: Mapping[str, str]
    """Option keys of these groups; ``NONE`` for one that is left empty."""
    voltage: int

    def of(self, kit: Kit) -> bool:
        """Whether a kit has these groups so."""
        same = (kit.choices.get(name, NONE) == key for name, key in self.choices.items())
        return kit.voltage == self.voltage and all(same)


class Comb:
    """Goes through the kits of the groups that act on the trips.

    Parameters
    ----------
    problem : Problem
        With one number of nights.
    costs : what an option adds to the number made small, and to the one kept within a limit
    sums : sums among the rules
    rest : what all other groups add to both, at least: for each kit there is a point that is no more in either; one
        point at the least
    tables : every wall known, as it grows
    ruled_out : options (group, key) that no kit has
    """

    def __init__(
        self,
        problem: Problem,
        costs: tuple[Cost, Cost],
        sums: Sequence[RuleSum],
        rest: Sequence[Point],
        tables: WallTables,
        ruled_out: frozenset[tuple[str, str]] = frozenset(),
    ) -> None:
        self.groups = combed(problem)
        """Those that are gone through."""
        self.tables = tables
        self.voltages = [
            _Voltage(problem, self.groups, voltage, costs, sums, _staircase(rest), ruled_out)
            for voltage in problem.voltages
        ]


class Walk:
    """One walk through all kits that may still be of interest; what lies behind it stays behind.

    Parameters
    ----------
    comb : Comb
    most_other : the other number is at most this; may be lowered on the way
    below : what is made small is less than this; may be lowered on the way
    """

    def __init__(self, comb: Comb, most_other: int, below: int) -> None:
        self.most_other, self.below = most_other, below
        self._comb = comb
        self._left = list(comb.voltages)
        self._at: Ints | None = None
        self._known: tuple[Any, Any] | None = None
        self._walls = -1
        self._steps = 0

    def next(self) -> Found | None:
        """The next kit past every wall known by now; None when there is none left. Raises TooManyError."""
        while self._left:
            voltage, walls = self._left[0], len(self._comb.tables.nights)
            if self._at is None:
                self._at, self._walls = voltage.start(), -1
            if self._walls != walls or self._known is None:
                self._known, self._walls = voltage.known(self._comb.tables), walls
            met, steps = voltage.walk(self._known, self.most_other, self.below, self._at)
            self._steps += steps
            if self._steps > MOST_STEPS:
                raise TooManyError
            if met:
                return voltage.kit(self._at)
            self._left.pop(0)
            self._at = None
        return None


class TooManyError(Exception):
    """There are more kits than are worth going through one by one."""


def combed(problem: Problem) -> list[Group]:
    """The groups that are gone through, in the order in which they are."""
    groups = (group for group in problem.groups if group.kind in COMBED)
    return sorted(groups, key=lambda group: (COMBED.index(group.kind), group.name))


def rest_points(
    variables: ModelVariables,
    numbers: tuple[Any, Any],
    costs: tuple[Cost, Cost],
    settings: Settings,
    deadline: Deadline,
) -> list[Point] | None:
    """What all but the combed groups add to two numbers, at least, whatever these are.

    None where that is not told, no points where there is no kit at all.

    For each kit there is a point that is no more than what its other groups add, in either number. ``numbers`` are
    the model's, of everything chosen.
    """
    groups = combed(variables.problem)
    own = [
        sum(cost(group, option) * variables.picked(group, option) for group in groups for option in group.options)
        for cost in costs
    ]
    first, second = (number - part for number, part in zip(numbers, own, strict=True))
    points: list[Point] = []
    while len(points) < REST_POINTS:
        bounds = [second <= points[-1][1] - 1] if points else []
        lead = minimise(variables, first, settings, deadline, bounds=bounds, work=REST_WORK)
        if lead.status == "impossible":
            return points
        if lead.status != "proven" or lead.value is None:
            return None
        bounds.append(first <= lead.value)
        other = minimise(variables, second, settings, deadline, bounds=bounds, work=REST_WORK)
        if other.status != "proven" or other.value is None:
            return None
        points.append((lead.value, other.value))
    return None


class _Voltage:
    """The kits of one bank voltage."""

    def __init__(
        self,
        problem: Problem,
        groups: Sequence[Group],
        voltage: int,
        costs: tuple[Cost, Cost],
        sums: Sequence[RuleSum],
        rest: list[Point],
        ruled_out: frozenset[tuple[str, str]],
    ) -> None:
        self._voltage, self._ruled_out = voltage, ruled_out
        (self._nights,) = problem.nights
        self._groups = groups
        self._kernel = _kernel()
        self._names: list[tuple[str, str]] = []
        first, leading, other = [0], [], []
        for group in groups:
            for key, lead, more in sorted(self._candidates(group, costs, ruled_out), key=lambda c: (c[1:], c[0])):
                self._names.append((group.name, key))
                leading.append(lead)
                other.append(more)
            first.append(len(self._names))
        self._first = first
        takes, room = self._takes(problem, sums, ruled_out)
        self._told = self._kernel.Candidates(
            np.array(first), np.array(leading, dtype=np.int64), np.array(other, dtype=np.int64), takes, room
        )
        self._possible = len(set(first)) == len(first) and bool((room >= 0).all())
        """Whether there is anything to choose from in each group."""
        self._points = self._points_ahead(rest, leading, other) if self._possible else ()

    def _candidates(
        self, group: Group, costs: tuple[Cost, Cost], ruled_out: frozenset[tuple[str, str]]
    ) -> Iterator[tuple[str, int, int]]:
        for option in group.options:
            if option.voltage in (0, self._voltage) and (group.name, option.key) not in ruled_out:
                yield option.key, costs[0](group, option), costs[1](group, option)
        if not group.needed:
            yield NONE, 0, 0

    def _takes(
        self, problem: Problem, sums: Sequence[RuleSum], ruled_out: frozenset[tuple[str, str]]
    ) -> tuple[Ints, Ints]:
        """What each candidate takes of the room that sums have beyond the least they can come to."""
        rows, rooms = [], []
        for rule in sums:
            if rule.voltage not in (0, self._voltage):
                continue
            room = rule.at_most
            row: dict[tuple[str, str], int] = {}
            for name, weights in rule.weights.items():
                group = problem.group(name)
                named = {
                    option.key: weights.get(option.key, 0) for option in group.options
                    if option.voltage in (0, self._voltage) and (name, option.key) not in ruled_out
                } | ({} if group.needed else {NONE: 0})  # fmt: skip
                least = min(named.values(), default=0)
                room -= least
                row |= {(name, key): weight - least for key, weight in named.items()}
            taken = [row.get(name, 0) for name in self._names]
            if any(taken):
                rows.append(taken)
                rooms.append(room)
        takes = np.array(rows, dtype=np.int64).reshape(len(rows), len(self._names)).T
        return np.ascontiguousarray(takes), np.array(rooms, dtype=np.int64)

    def _points_ahead(self, rest: list[Point], leading: Sequence[int], other: Sequence[int]) -> tuple[Ints, Ints, Ints]:
        """For each number of groups passed, what those to come add at least."""
        ahead = [rest]
        for start, end in zip(self._first[-2::-1], self._first[:0:-1], strict=True):
            own = _staircase(zip(leading[start:end], other[start:end], strict=True))
            ahead.append(_thinned(_staircase((a + c, b + d) for a, b in ahead[-1] for c, d in own)))
        ahead.reverse()
        shape = len(ahead), max(map(len, ahead))
        leads, others = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        for place, points in enumerate(ahead):
            for number, (lead, more) in enumerate(points):
                leads[place, number], others[place, number] = lead, more
        return np.array([len(points) for points in ahead]), leads, others

    def start(self) -> Ints:
        """Where a walk begins."""
        at = np.zeros(len(self._groups) + 1, dtype=np.int64)
        if not self._possible:
            at[0] = self._first[1]
        return at

    def walk(self, known: tuple[Any, Any], most_other: int, below: int, at: Ints) -> tuple[bool, int]:
        """On to the next kit, see ``comb_kernel.walk``."""
        if not self._possible:
            return False, 0
        met, steps = self._kernel.walk(self._told, *known, most_other, below, MOST_STEPS, at)
        return bool(met), int(steps)

    def kit(self, at: Ints) -> Found:
        """The kit that a walk has come to."""
        named = (self._names[row - 1] for row in at[:-1].tolist())
        return Found(dict(named), self._voltage)

    def known(self, tables: WallTables) -> tuple[Any, Any]:
        """Walls as a walk reads them."""
        past, adds = tables.columns(self._names)
        least, begins, sums = tables.sums_of_walls()
        others = tables.others({group.name for group in self._groups}, self._ruled_out)
        shorter = np.array([int(self._nights < fewer) for fewer in tables.nights], dtype=np.int64)
        ahead_past = np.zeros((len(self._first), past.shape[1]), dtype=np.int64)
        ahead_most = np.zeros((len(self._first), least.size), dtype=np.int64)
        ahead_past[-1], ahead_most[-1] = others[0] | shorter, others[1]
        for place in range(len(self._groups) - 1, -1, -1):
            own = slice(self._first[place], self._first[place + 1])
            ahead_past[place] = ahead_past[place + 1] | past[own].max(axis=0, initial=0)
            ahead_most[place] = ahead_most[place + 1] + (adds[own].max(axis=0) if least.size else 0)
        every = np.ones((1, past.shape[1]), dtype=np.int64)
        known = self._kernel.Known(_words(past), _words(every)[0], np.ascontiguousarray(adds), least, begins, sums)
        return known, self._kernel.Ahead(_words(ahead_past), ahead_most, *self._points)


def _words(flags: Ints) -> NDArray[np.uint64]:
    """Flags (n, W) as bits of whole numbers, the first the lowest; at least one number a row."""
    rows, many = flags.shape
    padded = np.zeros((rows, 64 * max(1, -(-many // 64))), dtype=np.uint8)
    padded[:, :many] = flags
    return np.packbits(padded, axis=1, bitorder="little").view("<u8").astype(np.uint64)


def _staircase(points: Iterable[Point]) -> list[Point]:
    """Those of some points that no other is as good as in both numbers; the first rises, the second falls."""
    kept: list[Point] = []
    for point in sorted(set(points)):
        if not kept or point[1] < kept[-1][1]:
            kept.append(point)
    return kept


def _thinned(points: list[Point]) -> list[Point]:
    """No more than so many: neighbours are drawn together into one that is no worse than any of them."""
    step = -(-len(points) // MOST_POINTS)
    some = (points[place : place + step] for place in range(0, len(points), step))
    return [(few[0][0], few[-1][1]) for few in some]


def _kernel() -> ModuleType:
    from optimizer.choosing import comb_kernel

    return comb_kernel
