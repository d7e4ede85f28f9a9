"""From one kit that fails to a wall of kits that fail: monotone no-goods.

On the road: choosing <-> trips. When a kit leaves too many departures short, other options are taken in
beside its own, group by group, as long as every kit made of what was taken in *still* leaves too many
short. Any kit whose options are all no better than some of these fails too, whatever else it is: the trips
are monotone. So at least one group must choose something better than all of its own, and that is one
clause for the solver, valid for every problem with the same scene.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from math import prod
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.balances import Balances, Told
from optimizer.choosing.effects import Effects, GroupEffects
from optimizer.choosing.ledger import Failing
from optimizer.choosing.store import GroupLevel, Level, LevelStore
from optimizer.choosing.walls import NONE, NOTHING_KNOWN, Outlook, Wall
from optimizer.problem.records import Kit, Option
from optimizer.trips.asking import Asker
from optimizer.trips.layout import NO_CLASS
from optimizer.trips.run import outcomes

Array = NDArray[np.float64]


class Point(NamedTuple):
    """Numbers that a group is pushed to."""

    cls: int
    """Class of bank or panels, -1 = none."""
    values: Array
    """Numbers of the group's entries."""
    line: Array
    """The same as a line of the trips' row, see ``Effects.line``."""


Tops = list[list[Point]]
"""The points of each group."""
MOST_TOPS = 24
"""Kits asked about at most to take one more option in; beyond that the option is left as a way out."""


class Lifter:
    """Asks the trips, and pushes failing kits up to levels.

    Parameters
    ----------
    effects : Effects
    allowed : departures that may fall short
    cost : what an option costs by the goal; options are pushed over cheapest first, so that what is left
        as a way out is dear, and the solver's bound climbs fastest
    store : where levels are kept and found
    """

    def __init__(
        self,
        effects: Effects,
        allowed: int,
        cost: Callable[[Option], int],
        store: LevelStore | None = None,
    ) -> None:
        self.effects = effects
        self.store = store if store is not None else LevelStore()
        self.allowed = allowed
        self.calls = 0
        self._asker = Asker(effects.scene, allowed, effects.bank_classes)
        self._ordered = False
        self._seen: dict[tuple[int, ...], bool] = {}
        self._told_walls: dict[Level, Wall | None] = {}
        self._balances = Balances(effects, allowed)
        self._ways = [np.array([entry.direction for entry in g.entries], dtype=np.float64) for g in effects.groups]
        self._costs = [self._costs_of(g, cost) for g in effects.groups]

    def _costs_of(self, effects: GroupEffects, cost: Callable[[Option], int]) -> Array:
        """What each candidate of a group costs; a meal's is the price of its cooker."""
        problem, group = self.effects.problem, effects.group
        if group.kind == "meal":
            cookers = (problem.group(f"cooker {key}").options[0] for key in effects.keys)
            return np.array([cost(cooker) for cooker in cookers], dtype=np.float64)
        return np.array([cost(group.option(key)) if key else 0 for key in effects.keys], dtype=np.float64)

    # -- questions ------------------------------------------------------------------------------

    def passes(self, kit: Kit) -> bool:
        """Whether few enough departures fall short."""
        rows = self.effects.rows_of(kit)
        key = (kit.nights, *rows)
        if key not in self._seen:
            self.calls += 1
            parcel = self._parcel([[self._point(number, row)] for number, row in enumerate(rows)])
            self._seen[key] = not self._asker.all_fail(parcel, kit.nights)
            if not self._seen[key]:
                self.store.missed.append(kit)
        return self._seen[key]

    def look_worst_first(self, kit: Kit) -> None:
        """Order the departures by how badly this kit does, so that failures show early."""
        self._order_by(self.effects.kit_row(kit), kit.nights)

    def _order_by(self, row: Array, nights: int) -> None:
        self._ordered = True
        room = outcomes(self.effects.scene, row, nights).room_wh
        self._asker.worst_first(np.argsort(room, kind="stable"))

    def known(self) -> list[Wall]:
        """Walls from what earlier runs found."""
        for level in self.store.fitting(self.allowed):
            if level not in self._told_walls:
                self._told_walls[level] = wall(level, self.effects)
        for level in self.store.failing(self.allowed):
            if level not in self._told_walls:
                self._told_walls[level] = self._sum_of(level)
        levels = [*self.store.failing(self.allowed), *self.store.fitting(self.allowed)]
        walls = (self._told_walls[level] for level in levels)
        return [found for found in walls if found is not None]

    def _sum_of(self, level: Level) -> Wall | None:
        """The sum that a kit of these numbers misses, told for the options here."""
        points = self.points(level)
        if points is None:
            return None
        (chosen,) = zip(*points, strict=True)
        told = self._balances.told(
            Failing(level.nights, tuple(point.values for point in chosen), tuple(point.cls for point in chosen))
        )
        return None if told is None else told.wall

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """Walls that a failing kit stands before; the store keeps what they come from.

        For a kit that fails on most departures the sum that it misses is all that is asked: pushing such a kit costs
        more than it says beside.
        """
        if not self._ordered:
            self.look_worst_first(kit)
        told = self._missed(kit)
        found = [] if told is None else [told.wall]
        if told is not None and 2 * told.short > self.effects.scene.departures.size:
            return found
        level = self.lift(kit, outlook)
        self.store.add([level])
        pushed = wall(level, self.effects)
        return found if pushed is None else [*found, pushed]

    def _missed(self, kit: Kit) -> Told | None:
        """The sum that a failing kit misses, if it is one that can be told; the store keeps the kit's numbers."""
        return self._told_failing(self._balances.failing(kit))

    def _told_failing(self, failing: Failing) -> Told | None:
        told = self._balances.told(failing)
        if told is None:
            return None
        numbers = zip(self.effects.groups, failing.classes, failing.values, strict=True)
        groups = tuple((g.group.name, ((cls, tuple(values.tolist())),)) for g, cls, values in numbers)
        level = Level(told.short, failing.nights, groups, pushed=False)
        self.store.add([level])
        self._told_walls[level] = told.wall
        return told

    # -- groups left open -----------------------------------------------------------------------

    def fail_whatever(self, choices: Mapping[str, str], nights: int) -> bool:
        """Whether too many departures fall short with these choices, whatever is chosen in all other groups."""
        return self.fail(self._tops_with(choices), nights)

    def walls_whatever(self, choices: Mapping[str, str], nights: int, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """Walls before kits with these choices that fail whatever else they have; see ``walls``."""
        tops = self._tops_with(choices)
        values, classes = [points[0].values for points in tops], [points[0].cls for points in tops]
        if not self._ordered:
            self._order_by(self.effects.row(values, classes), nights)
        told = self._told_failing(Failing(nights, tuple(values), tuple(classes)))
        found = [] if told is None else [told.wall]
        if told is not None and 2 * told.short > self.effects.scene.departures.size:
            return found
        named = [
            (number, group.place[choices[group.group.name]])
            for number, group in enumerate(self.effects.groups) if group.group.name in choices
        ]
        level = self.pushed_on(tops, self._by_cost_beyond(named, outlook), nights)
        self.store.add([level])
        pushed = wall(level, self.effects)
        return found if pushed is None else [*found, pushed]

    def _tops_with(self, choices: Mapping[str, str]) -> Tops:
        """One point a group: what is chosen in it, or else the best of its candidates in each number at once."""
        tops: Tops = []
        for number, group in enumerate(self.effects.groups):
            if group.group.name in choices:
                tops.append([self._point(number, group.place[choices[group.group.name]])])
            else:
                best = (group.values * self._ways[number]).max(axis=0) * self._ways[number] + 0.0  # no -0.0
                tops.append([self._pushed(number, int(NO_CLASS), best)])
        return tops

    # -- pushing --------------------------------------------------------------------------------

    def lift(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> Level:
        """What a kit that fails can be pushed up to, the cheapest options first."""
        rows = self.effects.rows_of(kit)
        return self.pushed_on(self.tops_of(rows), self._by_extra_cost(rows, outlook), kit.nights)

    def tops_of(self, rows: Sequence[int]) -> Tops:
        """One point a group: the candidate of this row."""
        return [[self._point(number, row)] for number, row in enumerate(rows)]

    def pushed_on(self, tops: Tops, steps: Iterable[tuple[int, int]], nights: int) -> Level:
        """Take in one option (group, row) after another, as long as everything taken in fails.

        An option is first melted into a point taken in before (the better of both in every number); where
        that saves too many it becomes a point of its own, and where that does too it is a way out. Each is
        tried once: what is taken in only grows, so an option that saves a kit now does so later.
        """
        tops = list(tops)
        done = self.covered(tops)
        parcel = self._parcel(tops)
        for number, row in steps:
            if done[number][row]:
                continue
            taken = self._melted(tops, parcel, number, row, nights)
            taken = taken or self._beside(tops, parcel, number, row, nights)
            if taken is None:
                done[number] |= self.effects.below(number)[row]  # it saves, and so does what is no worse
            else:
                tops[number] = taken
                done[number] |= self._covered(number, taken)
                parcel = self._parcel(tops)
        fewest = self._fewest_nights(parcel, nights)
        groups = zip(self.effects.groups, tops, strict=True)
        return Level(self.allowed + 1, fewest, tuple((g.group.name, _plain(points)) for g, points in groups))

    def points(self, level: Level) -> Tops | None:
        """A level's points, group by group; None where it speaks of other groups or banks than there are."""
        named = dict(level.groups)
        if named.keys() != {group.group.name for group in self.effects.groups}:
            return None
        banks = self.effects.bank_classes | {NO_CLASS}
        tops: Tops = []
        for number, group in enumerate(self.effects.groups):
            points = named[group.group.name]
            if group.class_target == "bank.class" and not {cls for cls, _ in points} <= banks:
                return None
            tops.append([self._pushed(number, cls, np.array(values)) for cls, values in points])
        return tops

    def fail(self, tops: Tops, nights: int) -> bool:
        """Whether every kit of these points fails."""
        self.calls += 1
        return self._asker.all_fail(self._parcel(tops), nights)

    def within(self, tops: Tops, others: Tops) -> bool:
        """Whether no point is better than some of the other points of its group."""
        return all(
            any(p.cls == other.cls and bool(np.all(p.values * ways <= other.values * ways)) for other in theirs)
            for ways, mine, theirs in zip(self._ways, tops, others, strict=True) for p in mine
        )  # fmt: skip

    def costs(self, number: int) -> list[float]:
        """What each candidate of a group costs."""
        found: list[float] = self._costs[number].tolist()
        return found

    def _parcel(self, tops: Tops) -> Any:
        lines = [np.array([point.line for point in points]) for points in tops]
        return self._asker.parcel(lines, self.effects.base, self.effects.switching)

    def _point(self, number: int, row: int) -> Point:
        group = self.effects.groups[number]
        return self._pushed(number, int(group.classes[row]), group.values[row])

    def _pushed(self, number: int, cls: int, values: Array) -> Point:
        return Point(cls, values, self.effects.line(number, values, cls))

    def _told(self, number: int, row: int, basis: int) -> Array:
        """A candidate's numbers in terms of a class."""
        told: Array = self.effects.values_in_class(number, basis)[row]
        return told

    def covered(self, tops: Tops) -> list[NDArray[np.bool_]]:
        """For each group which of its candidates are no better than one of its points."""
        return [self._covered(number, points) for number, points in enumerate(tops)]

    def _covered(self, number: int, points: list[Point]) -> NDArray[np.bool_]:
        ways = self._ways[number]
        within = np.zeros(len(self.effects.groups[number].keys), dtype=np.bool_)
        for point in points:
            within |= np.all(self.effects.values_in_class(number, point.cls) * ways <= point.values * ways, axis=1)
        return within

    def _melted(self, tops: Tops, parcel: Any, number: int, row: int, nights: int) -> list[Point] | None:
        """The group's points with the option melted into one of them, if all still fails."""
        ways = self._ways[number]
        for place, (cls, values, _) in enumerate(tops[number]):
            told = self._told(number, row, cls)
            if not np.isfinite(told).all():
                continue
            point = self._pushed(number, cls, np.where(told * ways > values * ways, told, values))
            if self._all_fail(parcel, number, point, nights):
                others = tops[number][:place] + tops[number][place + 1 :]
                return [point, *others]
        return None

    def _beside(self, tops: Tops, parcel: Any, number: int, row: int, nights: int) -> list[Point] | None:
        """The group's points with the option as one more, if all still fails and they stay few."""
        others = prod(len(points) for place, points in enumerate(tops) if place != number)
        if others * (len(tops[number]) + 1) > MOST_TOPS:
            return None
        point = self._point(number, row)
        return [*tops[number], point] if self._all_fail(parcel, number, point, nights) else None

    def _all_fail(self, parcel: Any, number: int, point: Point, nights: int) -> bool:
        """Whether every kit of these points fails, with one point in the place of its group's."""
        self.calls += 1
        return self._asker.all_fail(parcel, nights, number, point.line)

    def _by_extra_cost(self, rows: list[int], outlook: Outlook) -> list[tuple[int, int]]:
        """Every candidate that may still matter, of every group, by what it costs beyond the kit's own."""
        return self._by_cost_beyond(list(enumerate(rows)), outlook)

    def _by_cost_beyond(self, rows: Sequence[tuple[int, int]], outlook: Outlook) -> list[tuple[int, int]]:
        """The same of these groups, each with the row that is its own."""
        steps = []
        for number, row in rows:
            extra = self._costs[number] - self._costs[number][row]
            worth = self._possible(number, outlook.ruled_out)
            if outlook.most_extra is not None:
                worth = worth & (extra <= outlook.most_extra)
            steps += [(float(extra[candidate]), number, candidate) for candidate in np.flatnonzero(worth).tolist()]
        return [(number, candidate) for _, number, candidate in sorted(steps)]

    def _possible(self, number: int, ruled_out: frozenset[tuple[str, str]]) -> NDArray[np.bool_]:
        """Which candidates of a group are not ruled out."""
        group = self.effects.groups[number]
        return np.array([(group.group.name, key) not in ruled_out for key in group.keys], dtype=np.bool_)

    def _fewest_nights(self, parcel: Any, nights: int) -> int:
        """Fewest nights for which every kit of these options still fails."""
        shorter = [n for n in self.effects.problem.nights if n < nights]
        low, high = 0, len(shorter)  # shorter[high:] fail
        while low < high:
            middle = (low + high) // 2
            if self._asker.all_fail(parcel, shorter[middle]):
                high = middle
            else:
                low = middle + 1
        return shorter[high] if high < len(shorter) else nights


def _plain(points: list[Point]) -> tuple[GroupLevel, ...]:
    """Points as they are kept: plain numbers, in order."""
    return tuple(sorted((point.cls, tuple(point.values.tolist())) for point in points))


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
            better = escaping(effects, number, levels[group.group.name])
            keys = tuple(key for key, escapes in zip(group.keys, better, strict=True) if escapes)
        else:
            keys = tuple(key for key in group.keys if key != NONE)
        if keys:
            ways.append((group.group.name, keys))
    return Wall(tuple(ways), level.nights)


def escaping(effects: Effects, number: int, points: tuple[GroupLevel, ...]) -> NDArray[np.bool_]:
    """Which candidates of a group are better, in some number, than each of these points."""
    group = effects.groups[number]
    ways = np.array([entry.direction for entry in group.entries])
    better = np.ones(len(group.keys), dtype=np.bool_)
    for basis, values in points:
        told = effects.values_in_class(number, basis) * ways
        better &= np.any(told > np.array(values) * ways, axis=1)
    return better
