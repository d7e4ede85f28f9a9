"""Plain exhaustive search: every kit of a small problem is looked at, and the best that holds is kept.

The second opinion on ``optimizer.choosing``. It shares no code with the model, the lifting or the effects
that the choosing folds options into: a kit holds when ``optimizer.check`` says so and, with trips, when the
numbers of ``optimizer.kit_numbers`` survive them.
"""

from __future__ import annotations

import hashlib
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import product
from math import ceil, prod

from optimizer.check import check, goal_value
from optimizer.kit_numbers import kit_numbers
from optimizer.problem.records import Goal, Group, Kit, Problem
from optimizer.rules import BY_SLUG
from optimizer.trips.run import Layout, short_departures
from optimizer.trips.scene import Scene

Survives = Callable[[Kit], bool]
Rank = tuple[int, int, int]
"""Goal, tie-break, part-id number; less is better."""


@dataclass
class Found:
    """What the search found. ``best`` is None when no kit holds."""

    best: Kit | None = None
    rank: Rank | None = None
    in_any_order: tuple[int, int] | None = None
    """Goal and tie-break of the best kit when twins may stand in either order."""
    equals: int = 0
    """Kits that share the best rank."""
    looked_at: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    """How many kits better than the best fail by this limit alone, by its slug; 'trips' for the trips."""
    alone: Counter[str] = field(default_factory=Counter)
    """The same of all kits that were checked: those better than the best that was known just then."""


def combinations(problem: Problem) -> int:
    """Ways to choose from all groups (one that has nothing on offer counts 1) and numbers of nights."""
    return prod(max(1, len(g.options) + (not g.needed)) for g in problem.groups) * len(problem.nights)


def kits(problem: Problem) -> Iterator[Kit]:
    """Every kit there is: nothing is left out but options for another bank voltage."""
    for voltage in problem.voltages:
        offers = [_offer(group, voltage) for group in problem.groups]
        for keys in product(*offers):
            choices = {g.name: key for g, key in zip(problem.groups, keys, strict=True) if key is not None}
            for nights in problem.nights:
                yield Kit(choices, voltage, nights)


def _offer(group: Group, voltage: int) -> list[str | None]:
    keys: list[str | None] = [option.key for option in group.options if option.voltage in (0, voltage)]
    return keys if group.needed else [*keys, None]


def random_kit(problem: Problem, rng: random.Random) -> Kit | None:
    """A kit by chance, with the cookers its meals ask for and no panels without their controller.

    None when some group has nothing for the voltage drawn.
    """
    voltage = rng.choice(problem.voltages)
    choices: dict[str, str] = {}
    for group in problem.groups:
        offer = _offer(group, voltage)
        if not offer:
            return None
        key = rng.choice(offer)
        if key is not None:
            choices[group.name] = key
    for group in problem.of_kind("meal"):
        choices[f"cooker {choices[group.name]}"] = choices[group.name]
    for slot in (1, 2):
        _pair(problem, rng, choices, voltage, slot)
    return Kit(choices, voltage, rng.choice(problem.nights))


def _pair(problem: Problem, rng: random.Random, choices: dict[str, str], voltage: int, slot: int) -> None:
    """Give panels a controller, or a controller panels; where there are none, take both away."""
    pair = [name for name in (f"panels_{slot}", f"controller_{slot}") if problem.has(name)]
    missing = [name for name in pair if name not in choices]
    if len(missing) != 1:
        return
    offer = [key for key in _offer(problem.group(missing[0]), voltage) if key is not None]
    if offer and (slot == 1 or "panels_1" in choices):
        choices[missing[0]] = rng.choice(offer)
    else:
        del choices[pair[1 - pair.index(missing[0])]]


def search(problem: Problem, survives: Survives | None = None) -> Found:
    """The best kit of all, by goal, tie-break and part-id number.

    Kits that would not beat the best so far are passed over unchecked; all others are checked.
    """
    found = Found()
    failed: list[tuple[tuple[int, int], str]] = []
    rules = _Rules(problem)
    for kit in kits(problem):
        found.looked_at += 1
        value = (signed(problem, kit, problem.goal), signed(problem, kit, problem.tie_break))
        if found.in_any_order is not None and value > found.in_any_order:
            continue
        rank = (*value, part_id_number(kit))
        in_order = twins_in_order(problem, kit)
        if found.rank is not None and (rank > found.rank if in_order else value >= found.rank[:2]):
            continue
        reason = _reason(problem, kit, rules, survives)
        if reason:
            failed.append((value, reason))
            continue
        if found.in_any_order is None or value < found.in_any_order:
            found.in_any_order = value
        if in_order:
            found.equals = found.equals + 1 if rank == found.rank else 1
            found.best, found.rank = kit, rank
    found.alone.update(reason for _, reason in failed if reason != "several")
    for value, reason in failed:
        if reason != "several" and (found.in_any_order is None or value < found.in_any_order):
            found.reasons[reason] += 1
    return found


def ranked(problem: Problem) -> list[tuple[Rank, Kit]]:
    """Every kit that keeps every rule, best first; twins stand in either order."""
    rules = _Rules(problem)
    found = [(_rank(problem, kit), kit) for kit in kits(problem) if not rules.broken(kit, 1) and check(problem, kit).ok]
    return sorted(found, key=lambda pair: pair[0])


def first_survivor(problem: Problem, ranked_kits: list[tuple[Rank, Kit]], survives: Survives) -> Found:
    """The first of ranked kits that survives."""
    found = Found()
    for rank, kit in ranked_kits:
        if found.rank is not None and rank > found.rank:
            break
        found.looked_at += 1
        if found.in_any_order is not None and found.rank is None and rank[:2] > found.in_any_order:
            break  # only kits with twins out of order: no kit at all is as good
        if not survives(kit):
            found.alone["trips"] += 1
            continue
        found.in_any_order = found.in_any_order or rank[:2]
        if twins_in_order(problem, kit):
            found.best, found.rank, found.equals = kit, rank, found.equals + 1
    return found


def _rank(problem: Problem, kit: Kit) -> Rank:
    goals = (signed(problem, kit, problem.goal), signed(problem, kit, problem.tie_break))
    return (*goals, part_id_number(kit))


class _Rules:
    """Which rules a kit breaks; those that broke last are asked first, since they break most."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._rules = [BY_SLUG[slug] for slug in problem.rules]

    def broken(self, kit: Kit, most: int) -> set[str]:
        """Slugs of broken limits; the asking ends once there are more than ``most`` - 1 of them."""
        slugs: set[str] = set()
        for place, rule in enumerate(self._rules):
            found = {limit.slug for limit in rule.holds(self._problem, kit) if not limit.met}
            if found:
                slugs |= found
                self._rules.insert(0, self._rules.pop(place))
                if len(slugs) >= most:
                    break
        return slugs


def _reason(problem: Problem, kit: Kit, rules: _Rules, survives: Survives | None) -> str:
    """Empty when a kit holds; else the one slug by which it fails, or 'several'."""
    slugs = rules.broken(kit, 3)
    if slugs == {"inverter_continuous", "inverter_starting"}:
        return "inverter_continuous"  # no inverter at all
    if slugs or not check(problem, kit).ok:
        return slugs.pop() if len(slugs) == 1 else "several"
    return "" if survives is None or survives(kit) else "trips"


def signed(problem: Problem, kit: Kit, goal: Goal) -> int:
    """A goal's number, turned so that less is better."""
    value = goal_value(problem, kit, goal)
    return -value if goal.maximise else value


def part_id_number(kit: Kit) -> int:
    """The last tie-break as its documentation tells it: three bytes of SHA-256 a choice, added up."""
    return sum(
        int.from_bytes(hashlib.sha256(f"{name}:{key}".encode()).digest()[:3], "big")
        for name, key in kit.choices.items()
    )


def twins_in_order(problem: Problem, kit: Kit) -> bool:
    """Whether of each two groups that are twins the second has no later option than the first."""
    for group in problem.groups:
        if group.twin and group.name in kit.choices:
            keys = [option.key for option in group.options]
            first = kit.choices.get(group.twin)
            if first is None or keys.index(first) < keys.index(kit.choices[group.name]):
                return False
    return True


def turned(problem: Problem, kit: Kit) -> Kit:
    """The kit with twins changed round where they stand out of order: the same parts."""
    choices = dict(kit.choices)
    for group in problem.groups:
        if group.twin and group.twin in choices and group.name in choices:
            keys = [option.key for option in group.options]
            if keys.index(choices[group.twin]) < keys.index(choices[group.name]):
                pairs = [(group.twin, group.name)]
                pairs += [("controller_1", "controller_2")] if group.kind == "solar_panel" else []
                for one, other in pairs:
                    choices[one], choices[other] = choices[other], choices[one]
    return replace(kit, choices=choices)


def allowed_short(scene: Scene, coverage: float) -> int:
    """Departures that may fall short at a coverage [%]: all less those that must not, rounded up."""
    count = scene.departures.size
    return int(count - ceil(round(count * coverage / 100, 6)))


class SlowTrips:
    """Counts short departures of kits by their numbers, each row once."""

    def __init__(self, problem: Problem, scene: Scene) -> None:
        self.problem = problem
        self.scene = scene
        self.layout = Layout(scene)
        self._known: dict[tuple[int, bytes], int] = {}

    def short(self, kit: Kit) -> int:
        """How many departures the kit leaves short of anything."""
        row = self.layout.vector(kit_numbers(self.problem, kit))
        key = (kit.nights, row.tobytes())
        if key not in self._known:
            self._known[key] = short_departures(self.scene, row, kit.nights)
        return self._known[key]

    def survives(self, coverage: float) -> Survives:
        """The question whether a kit keeps to that coverage."""
        allowed = allowed_short(self.scene, coverage)
        return lambda kit: self.short(kit) <= allowed
