"""The next-best kits, one after another, and the most different ones that cost little more.

On the road: best kit -> *its rivals* -> words. Each is proven next: the choosing is done again with all
earlier ones ruled out. Kits that only add things to an earlier one are no rivals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from optimizer.choosing.aims import AtMost, Demand, OtherParts, goal_aims, goal_number, sharing_aim
from optimizer.explain.bench import Bench
from optimizer.explain.knowledge import Change
from optimizer.explain.parts import differences, kinds_of
from optimizer.problem.records import Kit, Problem


@dataclass(frozen=True)
class Rival:
    """Another kit, and the kinds of parts in which it differs from the best."""

    kit: Kit
    proven: bool
    kinds: tuple[str, ...]


@dataclass(frozen=True)
class Rivals:
    """Rivals, best first."""

    kits: tuple[Rival, ...]
    settled: bool = True
    """Whether, where there are fewer than asked for, there are no more."""


def next_best(bench: Bench, kit: Kit, count: int) -> Rivals:
    """The ``count`` best kits after ``kit``, best first; fewer when there are no more."""
    return _others(bench, kit, count)


def most_different(bench: Bench, kit: Kit, percent: float, count: int = 1) -> Rivals:
    """Of the kits within ``percent`` of the best, those that share the fewest parts with it."""
    problem = bench.problem
    today = goal_number(problem, kit, problem.goal)
    within = AtMost(problem, problem.goal, floor(today + abs(today) * percent / 100))
    return _others(bench, kit, count, within=within)


def _others(bench: Bench, kit: Kit, count: int, within: AtMost | None = None) -> Rivals:
    problem = bench.problem
    aims = goal_aims(problem)
    demands: list[Demand] = [_unlike(problem, kit)]
    if within is not None:
        aims = (sharing_aim(problem, kit.counts(problem)), *aims)
        demands.append(within)
    rivals: list[Rival] = []
    for _ in range(count):
        found = bench.ask(Change(whole=True), aims=aims, demands=tuple(demands))
        if found.kit is None:
            return Rivals(tuple(rivals), found.status == "impossible")
        rivals.append(Rival(found.kit, found.status == "proven", _kinds(problem, kit, found.kit)))
        demands.append(_unlike(problem, found.kit))
    return Rivals(tuple(rivals))


def _unlike(problem: Problem, kit: Kit) -> OtherParts:
    return OtherParts(problem, tuple(kit.counts(problem).items()))


def _kinds(problem: Problem, today: Kit, then: Kit) -> tuple[str, ...]:
    kinds = kinds_of(problem)
    return tuple(sorted({kinds[change.part] for change in differences(problem, today, then)}))


def grouped(rivals: Sequence[Rival]) -> dict[tuple[str, ...], list[Rival]]:
    """Rivals by what differs, in the order in which they come."""
    groups: dict[tuple[str, ...], list[Rival]] = {}
    for rival in rivals:
        groups.setdefault(rival.kinds, []).append(rival)
    return groups
