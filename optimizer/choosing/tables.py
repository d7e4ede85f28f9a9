"""Every wall known as tables over candidates, so that single swaps are looked at many at once.

On the road: under ``scouting``. For each group: which of its candidates get past which walls, and what each adds to
which sums. A kit's stand before all walls is then a few sums over rows of these tables.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.walls import NONE, Wall
from optimizer.problem.records import Group, Kit

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


class WallTables:
    """Walls as tables.

    Parameters
    ----------
    groups : the problem's
    keys : candidates of each group
    """

    def __init__(self, groups: Sequence[Group], keys: Sequence[Sequence[str]]) -> None:
        self._groups = groups
        self._rows = [{key: row for row, key in enumerate(some)} for some in keys]
        self.past: list[Bools] = [np.zeros((64, len(some)), dtype=np.bool_) for some in keys]
        self.adds: list[Ints] = [np.zeros((0, len(some)), dtype=np.int64) for some in keys]
        self.least: list[int] = []
        self.of_wall: dict[int, list[int]] = {}
        """For walls that sums get past: which."""
        self.nights: list[int] = []

    def know(self, wall: Wall) -> None:
        """Remember a wall."""
        ways, place = dict(wall.ways), len(self.nights)
        for number, group in enumerate(self._groups):
            if place == len(self.past[number]):
                self.past[number] = np.concatenate([self.past[number], np.zeros_like(self.past[number])])
            for key in ways.get(group.name, ()):
                self.past[number][place, self._rows[number][key]] = True
        for found in wall.sums:
            self.of_wall.setdefault(place, []).append(len(self.least))
            self.least.append(found.least)
            for number, group in enumerate(self._groups):
                added = np.zeros((1, len(self._rows[number])), dtype=np.int64)
                for key, weight in found.weights.get(group.name, {}).items():
                    added[0, self._rows[number][key]] = weight
                self.adds[number] = np.concatenate([self.adds[number], added])
        self.nights.append(wall.fewer_nights)

    def columns(self, names: Sequence[tuple[str, str]]) -> tuple[Ints, Ints]:
        """Of candidates (group, key): 1 where they get past a wall, and what they add to sums; a row each."""
        places = {group.name: number for number, group in enumerate(self._groups)}
        walls, past, adds = len(self.nights), [], []
        for name, key in names:
            number = places[name]
            row = self._rows[number][key]
            past.append(self.past[number][:walls, row])
            adds.append(self.adds[number][:, row])
        return np.array(past, dtype=np.int64), np.array(adds, dtype=np.int64).reshape(len(names), len(self.least))

    def sums_of_walls(self) -> tuple[Ints, Ints, Ints]:
        """What each sum has to be; where the sums of each wall begin among the last; and those, wall after wall."""
        of_wall = [self.of_wall.get(wall, []) for wall in range(len(self.nights))]
        begins = np.cumsum([0, *map(len, of_wall)])
        every = [number for numbers in of_wall for number in numbers]
        return np.array(self.least, dtype=np.int64), begins.astype(np.int64), np.array(every, dtype=np.int64)

    def others(self, names: Collection[str], ruled_out: Collection[tuple[str, str]]) -> tuple[Ints, Ints]:
        """Of all groups but these: 1 where one gets past a wall, and the most that they add to each sum."""
        walls = len(self.nights)
        past, most = np.zeros(walls, dtype=np.int64), np.zeros(len(self.least), dtype=np.int64)
        for number, group in enumerate(self._groups):
            rows = [row for key, row in self._rows[number].items() if (group.name, key) not in ruled_out]
            if group.name not in names and rows:
                past |= self.past[number][:walls, rows].any(axis=1)
                most += self.adds[number][:, rows].max(axis=1)
        return past, most

    def rows_of(self, kit: Kit) -> list[int]:
        """A kit's candidates."""
        groups = zip(self._groups, self._rows, strict=True)
        return [rows[kit.choices.get(group.name, NONE)] for group, rows in groups]

    def stand(self, kit: Kit) -> Stand:
        """Where a kit stands, before the walls known now."""
        return Stand(self, self.rows_of(kit), kit.nights)


class Stand:
    """Which walls a kit gets past, and which it would with something swapped."""

    def __init__(self, tables: WallTables, rows: list[int], nights: int) -> None:
        self.rows = rows
        self.walls = len(tables.nights)
        self._tables = tables
        columns = zip(tables.past, rows, strict=True)
        self._past = np.stack([table[: self.walls, row] for table, row in columns]).astype(np.int64)
        self._total = self._past.sum(axis=0) + (nights < np.array(tables.nights, dtype=np.int64))
        adds = (table[:, row] for table, row in zip(tables.adds, rows, strict=True))
        self._over = sum(adds, -np.array(tables.least, dtype=np.int64))
        """By how much each sum is more than it has to be."""
        self._swaps: dict[int, Bools] = {}

    def past_all(self) -> bool:
        """Whether the kit gets past every wall."""
        return self._reached(np.flatnonzero(self._total == 0), self._over)

    def swaps(self, number: int) -> Bools:
        """For each candidate of a group whether the kit with it gets past every wall."""
        if number not in self._swaps:
            tables, row = self._tables, self.rows[number]
            past, adds = tables.past[number], tables.adds[number]
            over = (self._over - adds[:, row])[:, None] + adds
            allowed = np.ones(past.shape[1], dtype=np.bool_)
            for place in np.flatnonzero(self._total == self._past[number]).tolist():
                sums = tables.of_wall.get(place)
                allowed &= past[place] if sums is None else past[place] | (over[sums] >= 0).any(axis=0)
            self._swaps[number] = allowed
        return self._swaps[number]

    def past_with(self, swaps: Iterable[tuple[int, int]]) -> bool:
        """Whether the kit with these candidates (group, row) gets past every wall."""
        total, over = self._total.copy(), self._over.copy()
        for number, row in swaps:
            table, adds = self._tables.past[number], self._tables.adds[number]
            total += table[: self.walls, row].astype(np.int64) - self._past[number]
            over += adds[:, row] - adds[:, self.rows[number]]
        return self._reached(np.flatnonzero(total == 0), over)

    def _reached(self, pending: Ints, over: Ints) -> bool:
        """Whether a sum gets past each of these walls."""
        of_wall = self._tables.of_wall
        return all(place in of_wall and bool((over[of_wall[place]] >= 0).any()) for place in pending.tolist())
