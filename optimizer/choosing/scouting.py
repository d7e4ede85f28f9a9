"""Cheap steps ahead of the solver: swap one thing at a time until a kit survives.

On the road: choosing <-> trips. A solve costs as much as hundreds of questions to the trips. So before the
solver is asked again, its failing kit is mended by the cheapest single swap that escapes every level known
and keeps every rule; if the mended kit fails too, what it teaches is learnt and the mending goes on. It
finds good kits early and levels where they matter; it proves nothing, and what it finds never replaces a
proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optimizer.check import check
from optimizer.choosing.effects import NONE, Effects
from optimizer.choosing.lifting import Level, escaping
from optimizer.problem.records import Kit, Option, Problem

TRIES_A_GROUP = 12
Bools = NDArray[np.bool_]


class Scout:
    """Knows every level as tables of which candidates escape it."""

    def __init__(self, problem: Problem, effects: Effects, cost: Callable[[Option], int]) -> None:
        self.problem = problem
        self.effects = effects
        self._cost = cost
        self._escapes: list[list[Bools]] = [[] for _ in effects.groups]
        self._nights: list[int] = []
        self._order = [self._by_cost(number) for number in range(len(effects.groups))]

    def _by_cost(self, number: int) -> list[int]:
        group = self.effects.groups[number]
        costs = [self._candidate_cost(number, row) for row in range(len(group.keys))]
        return sorted(range(len(costs)), key=lambda row: (costs[row], group.keys[row]))

    def _candidate_cost(self, number: int, row: int) -> int:
        group = self.effects.groups[number]
        return self._cost(group.group.option(group.keys[row])) if group.keys[row] != NONE else 0

    def know(self, level: Level) -> None:
        """Remember a level."""
        levels = dict(level.groups)
        for number, group in enumerate(self.effects.groups):
            if group.group.name in levels:
                self._escapes[number].append(escaping(self.effects, number, *levels[group.group.name]))
            else:
                self._escapes[number].append(np.zeros(len(group.keys), dtype=np.bool_))
        self._nights.append(level.nights)

    def mended(self, kit: Kit) -> Kit | None:
        """The kit with the cheapest single swap that escapes every level and keeps every rule."""
        rows = self.effects.rows_of(kit)
        escaped = np.array(
            [[table[row] for table in tables] for tables, row in zip(self._escapes, rows, strict=True)], dtype=np.int64
        )
        by_nights = np.array([kit.nights < nights for nights in self._nights], dtype=np.int64)
        total = escaped.sum(axis=0) + by_nights
        best: tuple[int, Kit] | None = None
        for number, row in enumerate(rows):
            now = self._candidate_cost(number, row)
            for other in self._swaps(number, row, total - escaped[number] == 0):
                extra = self._candidate_cost(number, other) - now
                if best is not None and extra >= best[0]:
                    break
                trial = self._swapped(kit, number, other)
                if check(self.problem, trial).ok:
                    best = (extra, trial)
                    break
        return best[1] if best is not None else None

    def _swaps(self, number: int, row: int, pending: Bools) -> Iterator[int]:
        """Candidates of a group, cheapest first, that escape all that nothing else escapes."""
        allowed = np.ones(len(self.effects.groups[number].keys), dtype=np.bool_)
        for place in np.flatnonzero(pending):
            allowed &= self._escapes[number][place]
        found = [other for other in self._order[number] if allowed[other] and other != row]
        return iter(found[:TRIES_A_GROUP])

    def _swapped(self, kit: Kit, number: int, row: int) -> Kit:
        group = self.effects.groups[number]
        choices = {name: key for name, key in kit.choices.items() if name != group.group.name}
        if group.keys[row] != NONE:
            choices[group.group.name] = group.keys[row]
            voltage = group.group.option(group.keys[row]).voltage
            if voltage and voltage != kit.voltage:
                return replace(kit, choices=choices, voltage=voltage)
        return replace(kit, choices=choices)
