"""Cheap steps ahead of the solver: swap one thing at a time until a kit passes.

On the road: choosing <-> trips. A solve costs as much as hundreds of questions to the judges. So before the
solver is asked again, its failing kit is mended by the cheapest single swap that gets past every wall known
and keeps every rule; if the mended kit fails too, what it teaches is learnt and the mending goes on. It
finds good kits early and walls where they matter; it proves nothing, and what it finds never replaces a
proof.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optimizer.check import structure_faults
from optimizer.choosing.walls import NONE, Wall
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG

TRIES_A_GROUP = 12
DESCENT_TRIES = 600
DESCENT_LESSONS = 8
Bools = NDArray[np.bool_]


class Scout:
    """Knows every wall as tables of which candidates get past it."""

    def __init__(
        self, problem: Problem, cost: Callable[[Option], int], ruled_out: Collection[tuple[str, str]] = ()
    ) -> None:
        self.problem = problem
        self._cost = cost
        self._keys = [self._candidates(group) for group in problem.groups]
        self._possible = [
            np.array([(group.name, key) not in ruled_out for key in keys], dtype=np.bool_)
            for group, keys in zip(problem.groups, self._keys, strict=True)
        ]
        self._rows = [{key: row for row, key in enumerate(keys)} for keys in self._keys]
        self._past: list[list[Bools]] = [[] for _ in problem.groups]
        self._nights: list[int] = []
        self._rules = [BY_SLUG[slug] for slug in problem.rules]

    def _candidates(self, group: Group) -> list[str]:
        """Keys of a group, cheapest first, with nothing where that is allowed."""
        keys = [option.key for option in group.options] + ([] if group.needed else [NONE])
        return sorted(keys, key=lambda key: (self._cost_of(group, key), key))

    def _cost_of(self, group: Group, key: str) -> int:
        return 0 if key == NONE else self._cost(group.option(key))

    def know(self, wall: Wall) -> None:
        """Remember a wall."""
        ways = dict(wall.ways)
        for number, group in enumerate(self.problem.groups):
            table = np.zeros(len(self._keys[number]), dtype=np.bool_)
            for key in ways.get(group.name, ()):
                table[self._rows[number][key]] = True
            self._past[number].append(table)
        self._nights.append(wall.fewer_nights)

    def _stand(self, kit: Kit) -> tuple[list[int], NDArray[np.int64], NDArray[np.int64]]:
        """A kit's candidates, which of them get past which walls (groups, walls), and how many get past each."""
        rows = [
            rows[kit.choices.get(group.name, NONE)] for group, rows in zip(self.problem.groups, self._rows, strict=True)
        ]
        past = np.array(
            [[table[row] for table in tables] for tables, row in zip(self._past, rows, strict=True)], dtype=np.int64
        )
        return rows, past, past.sum(axis=0) + np.array([kit.nights < n for n in self._nights], dtype=np.int64)

    def mended(self, kit: Kit) -> Kit | None:
        """The kit with the cheapest single swap that gets past every wall and keeps every rule."""
        rows, past, total = self._stand(kit)
        best: tuple[int, Kit] | None = None
        for number, row in enumerate(rows):
            group = self.problem.groups[number]
            now = self._cost_of(group, self._keys[number][row])
            for other in self._swaps(number, row, total - past[number] == 0):
                key = self._keys[number][other]
                extra = self._cost_of(group, key) - now
                if best is not None and extra >= best[0]:
                    break
                trial = _swapped(kit, group, key)
                if self._keeps_rules(trial):
                    best = (extra, trial)
                    break
        return best[1] if best is not None else None

    def cheapened(self, kit: Kit, passes: Callable[[Kit], bool], learn: Callable[[Kit], None]) -> Kit:
        """A kit that passes, made cheaper by single swaps as long as it keeps every rule and passes.

        What is cheaper and keeps every rule but fails is handed to ``learn``, which may make walls ``know``n:
        they stand just where the search will want to go.
        """
        tries, lessons = DESCENT_TRIES, DESCENT_LESSONS
        better: Kit | None = kit
        while better is not None and tries > 0:
            kit, better = better, None
            for trial in self._cheaper(kit):
                tries -= 1
                if self._keeps_rules(trial):
                    if passes(trial):
                        better = trial
                    elif lessons > 0:
                        lessons -= 1
                        learn(trial)
                if better is not None or tries <= 0:
                    break
        return better or kit

    def _cheaper(self, kit: Kit) -> Iterator[Kit]:
        """Single swaps that save and get past every wall, the most saving first."""
        swaps = []
        for number, (group, keys) in enumerate(zip(self.problem.groups, self._keys, strict=True)):
            now = self._cost_of(group, kit.choices.get(group.name, NONE))
            costs = ((self._cost_of(group, keys[row]), row) for row in np.flatnonzero(self._possible[number]).tolist())
            swaps += [(cost - now, number, row) for cost, row in costs if cost < now]
        known = -1
        for _, number, row in sorted(swaps):
            if known != len(self._nights):  # walls were learnt meanwhile
                known = len(self._nights)
                _, past, total = self._stand(kit)
            beside = np.array([table[row] for table in self._past[number]], dtype=np.int64)
            if bool(np.all(total - past[number] + beside > 0)):
                yield _swapped(kit, self.problem.groups[number], self._keys[number][row])

    def _keeps_rules(self, kit: Kit) -> bool:
        """Whether a kit keeps every rule; the rule that failed last is asked first, since it fails most."""
        for place, rule in enumerate(self._rules):
            if not all(limit.met for limit in rule.holds(self.problem, kit)):
                self._rules.insert(0, self._rules.pop(place))
                return False
        return not structure_faults(self.problem, kit)

    def _swaps(self, number: int, row: int, pending: Bools) -> Iterator[int]:
        """Candidates of a group, cheapest first, that get past all that nothing else gets past."""
        allowed = np.ones(len(self._keys[number]), dtype=np.bool_)
        for place in np.flatnonzero(pending):
            allowed &= self._past[number][place]
        found = [int(other) for other in np.flatnonzero(allowed & self._possible[number]) if other != row]
        return iter(found[:TRIES_A_GROUP])


def _swapped(kit: Kit, group: Group, key: str) -> Kit:
    choices = {name: chosen for name, chosen in kit.choices.items() if name != group.name}
    if key == NONE:
        return replace(kit, choices=choices)
    choices[group.name] = key
    return replace(kit, choices=choices, voltage=group.option(key).voltage or kit.voltage)
