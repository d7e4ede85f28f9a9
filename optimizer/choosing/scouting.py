"""Cheap steps ahead of the solver: swap one thing at a time until a kit passes.

On the road: choosing <-> trips. A solve costs as much as hundreds of questions to the judges. So before the
solver is asked again, what is near its failing kit is looked at, the best first: each kit that keeps every rule,
gets past every wall known and would be better than the best. One that fails too teaches a wall just where the
search would go next. It finds good kits early; it proves nothing, and what it finds never replaces a
proof.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from optimizer.check import structure_faults
from optimizer.choosing.tables import WallTables
from optimizer.choosing.walls import NONE, Wall
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG

TRIES_A_GROUP = 12
"""Swaps past every wall that are held against the rules, group by group, before the group is given up."""
EXPLORING_STEPS, EXPLORING_LESSONS = 60, 12
"""Kits looked at from one failing kit, and of these at most so many that teach a wall: a wall costs the solver time."""
DESCENT_TRIES, DESCENT_LESSONS = 600, 8
"""The same while a kit that passes is made cheaper."""


@dataclass(frozen=True)
class Patrol:
    """What a look around is for."""

    worth: Callable[[Kit], int]
    """Less is better."""
    best: Callable[[], int | None]
    """What the best kit known is worth; only better ones are of interest."""
    allows: Callable[[Kit], bool]
    """Whether a kit that keeps every rule keeps what else is asked."""
    passes: Callable[[Kit], bool]
    found: Callable[[Kit], None]
    """Is told of kits that pass."""
    teach: Callable[[Kit], None]
    """Learns from a kit that fails; may make walls known."""
    over: Callable[[], bool]
    """Whether the time is over."""
    descends: bool
    """Whether cheaper options make a kit better."""
    hurried: bool = True
    """Until a kit has passed the newest is looked at first, not the best: it leads to one soonest, if there is one."""

    def interested(self, kit: Kit) -> bool:
        """Whether a kit would be better than the best known."""
        best = self.best()
        return (best is None or self.worth(kit) < best) and self.allows(kit)


class _Ahead:
    """Kits still to be looked at, none twice: the best first; in a hurry the newest first, until a kit has passed."""

    def __init__(self, patrol: Patrol) -> None:
        self._patrol = patrol
        self._open: list[tuple[int, int, int, Kit]] = []
        self._seen: set[tuple[object, ...]] = set()
        self._batches = 0

    def add(self, kits: Iterable[Kit]) -> None:
        self._batches += 1
        for kit in kits:
            key = (kit.nights, kit.voltage, *sorted(kit.choices.items()))
            if key not in self._seen:
                self._seen.add(key)
                self._open.append((self._patrol.worth(kit), len(self._seen), self._batches, kit))

    def next(self) -> Kit | None:
        """The best, if it is of interest; with no kit to beat yet, the best of the newest."""
        if not self._open:
            return None
        hurried = self._patrol.hurried and self._patrol.best() is None
        entry = min(self._open, key=lambda entry: (-entry[2] if hurried else 0, entry[0], entry[1]))
        self._open.remove(entry)
        return entry[3] if self._patrol.interested(entry[3]) else None

    def rest(self) -> Iterator[Kit]:
        """What is left, the best first."""
        return (entry[3] for entry in sorted(self._open, key=lambda entry: entry[:2]))


class Scout:
    """Knows every wall, and looks around kits."""

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
        self.tables = WallTables(problem.groups, self._keys)
        self._modules = _modules(problem)
        self._variants: list[dict[tuple[int, ...], None]] = [{} for _ in self._modules]
        self._rules = [BY_SLUG[slug] for slug in problem.rules]

    def _candidates(self, group: Group) -> list[str]:
        """Keys of a group, cheapest first, with nothing where that is allowed."""
        keys = [option.key for option in group.options] + ([] if group.needed else [NONE])
        return sorted(keys, key=lambda key: (self._cost_of(group, key), key))

    def _cost_of(self, group: Group, key: str) -> int:
        return 0 if key == NONE else self._cost(group.option(key))

    def know(self, wall: Wall) -> None:
        """Remember a wall."""
        self.tables.know(wall)

    def explore(self, starts: Iterable[Kit], patrol: Patrol) -> Kit | None:
        """Look among what single swaps lead to, the best kit first, at those better than the best known.

        A kit that fails is learnt from, and then mended: in each group by the cheapest swap that gets past every
        wall known and keeps every rule. Gives back the best kit left unlooked at that may still pass.
        """
        starts = list(starts)
        for start in starts:
            self._note(start)
        ahead = _Ahead(patrol)
        ahead.add(starts)
        lessons = 0
        for _ in range(EXPLORING_STEPS):
            kit = ahead.next()
            if kit is None or lessons >= EXPLORING_LESSONS or patrol.over():
                break
            if self.past_every_wall(kit):
                if patrol.passes(kit):
                    found = self.cheapened(kit, patrol) if patrol.descends else kit
                    self._note(found)
                    patrol.found(found)
                    continue
                patrol.teach(kit)
                lessons += 1
            ahead.add(self._mended(kit, patrol))
            ahead.add(self._crossed(kit, patrol))
        return next((kit for kit in ahead.rest() if self.past_every_wall(kit)), None)

    def past_every_wall(self, kit: Kit) -> bool:
        """Whether a kit takes one of the ways out of each wall known."""
        return self.tables.stand(kit).past_all()

    def _mended(self, kit: Kit, patrol: Patrol) -> Iterator[Kit]:
        """In each group the kit with the cheapest swap past every wall, if it keeps every rule and is of interest."""
        stand = self.tables.stand(kit)
        for number, row in enumerate(stand.rows):
            allowed = np.flatnonzero(stand.swaps(number) & self._possible[number]).tolist()
            for other in [other for other in allowed if other != row][:TRIES_A_GROUP]:
                trial = _swapped(kit, self.problem.groups[number], self._keys[number][other])
                if not patrol.interested(trial):
                    break
                if self._keeps_rules(trial):
                    yield trial
                    break

    def _note(self, kit: Kit) -> None:
        """Remember how a kit has its modules."""
        rows = self.tables.rows_of(kit)
        for module, variants in zip(self._modules, self._variants, strict=True):
            variants[tuple(rows[number] for number in module)] = None

    def _crossed(self, kit: Kit, patrol: Patrol) -> Iterator[Kit]:
        """The kit with one module as another kit had it, where that is past every wall, allowed and of interest."""
        stand = self.tables.stand(kit)
        for module, variants in zip(self._modules, self._variants, strict=True):
            own = tuple(stand.rows[number] for number in module)
            for variant in variants:
                swaps = list(zip(module, variant, strict=True))
                if variant == own or not stand.past_with(swaps):
                    continue
                trial: Kit = kit
                for number, row in swaps:
                    trial = _swapped(trial, self.problem.groups[number], self._keys[number][row])
                if patrol.interested(trial) and self._keeps_rules(trial):
                    yield trial

    def cheapened(self, kit: Kit, patrol: Patrol) -> Kit:
        """A kit that passes, made cheaper by single swaps as long as it keeps every rule, is allowed and passes.

        What is cheaper and keeps every rule but fails is learnt from: walls met there stand just where the search
        will want to go.
        """
        tries, lessons = DESCENT_TRIES, DESCENT_LESSONS
        better: Kit | None = kit
        while better is not None and tries > 0:
            kit, better = better, None
            for trial in self._cheaper(kit):
                tries -= 1
                if patrol.allows(trial) and self._keeps_rules(trial):
                    if patrol.passes(trial):
                        better = trial
                    elif lessons > 0:
                        lessons -= 1
                        patrol.teach(trial)
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
        stand = self.tables.stand(kit)
        for _, number, row in sorted(swaps):
            if stand.walls != len(self.tables.nights):  # walls were learnt meanwhile
                stand = self.tables.stand(kit)
            if stand.swaps(number)[row]:
                yield _swapped(kit, self.problem.groups[number], self._keys[number][row])

    def _keeps_rules(self, kit: Kit) -> bool:
        """Whether a kit keeps every rule; the rule that failed last is asked first, since it fails most."""
        for place, rule in enumerate(self._rules):
            if not all(limit.met for limit in rule.holds(self.problem, kit)):
                self._rules.insert(0, self._rules.pop(place))
                return False
        return not structure_faults(self.problem, kit)


def _swapped(kit: Kit, group: Group, key: str) -> Kit:
    choices = {name: chosen for name, chosen in kit.choices.items() if name != group.name}
    if key == NONE:
        return replace(kit, choices=choices)
    choices[group.name] = key
    return replace(kit, choices=choices, voltage=group.option(key).voltage or kit.voltage)


def _modules(problem: Problem) -> list[list[int]]:
    """Groups that are mostly swapped together, by their places: cooking, heating, each array, cold boxes."""
    modules: dict[str, list[int]] = {}
    for number, group in enumerate(problem.groups):
        module = _MODULES.get(group.kind, group.kind)
        if group.kind in ("solar_panel", "charge_controller"):
            module += group.name[-1]
        if group.kind == "fuel_tank":
            module = "heating" if group.name == "tank diesel" else "cooking"
        modules.setdefault(module, []).append(number)
    return list(modules.values())


_MODULES = {
    "meal": "cooking", "cooker": "cooking", "safety": "cooking",
    "heater": "heating", "insulation": "heating",
    "solar_panel": "array", "charge_controller": "array",
}  # fmt: skip
