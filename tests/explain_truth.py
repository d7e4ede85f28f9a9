"""Explanations by looking at every kit of a small problem: the second opinion on ``optimizer.explain``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain, combinations

from enumeration import kits, signed, twins_in_order

from optimizer.check import check
from optimizer.problem.records import Kit, Problem

WISHES = ("required", "refused", "skills")
HARD = (
    "array_pair", "cooking", "converter_power", "safety_kit", "inverter_continuous", "inverter_starting",
    "wiring", "fuse_box", "main_fuse", "disconnect",
)


@dataclass(frozen=True)
class Row:
    """One kit: its numbers, and by how much it breaks what."""

    kit: Kit
    value: tuple[int, int]
    over: dict[str, int]
    """Excess by slug; below zero the room."""
    counts: dict[str, int]
    hard: tuple[str, ...]
    """What it breaks that nobody can give."""

    @property
    def broken(self) -> frozenset[str]:
        """Names of the limits that it breaks."""
        return frozenset(name for name, over in self.over.items() if over > 0)


def rows(problem: Problem, short: Callable[[Kit], int] | None = None) -> list[Row]:
    """Every kit whose structure is right."""
    bare = replace(problem, rules=tuple(slug for slug in problem.rules if slug not in WISHES))
    found = []
    for kit in kits(bare):
        if not twins_in_order(problem, kit):
            continue
        limits = check(bare, kit).limits
        over: dict[str, int] = {}
        for limit in limits:
            over[limit.slug] = max(over.get(limit.slug, -(10**12)), -limit.room)
        counts = kit.counts(problem)
        over |= {f"required {part}": int(part not in counts) for part in problem.required}
        over |= {f"refused {part}": int(part in counts) for part in problem.refused}
        missing = {s for _, option in kit.options(problem) for s in option.skills} - set(problem.skills)
        over |= {f"skill {skill}": 1 for skill in missing}
        if short is not None:
            over["coverage"] = short(kit)
        value = (signed(problem, kit, problem.goal), signed(problem, kit, problem.tie_break))
        hard = tuple(sorted(slug for slug in HARD if over.get(slug, 0) > 0))
        found.append(Row(kit, value, over, counts, hard))
    return found


def allowed(every: Iterable[Row], without: Iterable[str] = (), gives: dict[str, int] | None = None) -> list[Row]:
    """The kits that keep everything but what is given up."""
    dropped, more = set(without), gives or {}
    return [
        row for row in every
        if not row.hard and all(over <= more.get(name, 0) for name, over in row.over.items() if name not in dropped)
    ]


def best(some: Sequence[Row]) -> Row | None:
    """The best by goal and tie-break."""
    return min(some, key=lambda row: row.value, default=None)


def least(every: Sequence[Row], name: str, below: tuple[int, int] | None) -> tuple[int, tuple[int, int]] | None:
    """The least give of a limit that lets a (better) kit in, and the best value then."""
    inside = [row for row in allowed(every, [name]) if below is None or row.value < below]
    if not inside:
        return None
    give = min(max(0, row.over.get(name, 0)) for row in inside)
    return give, min(row.value for row in inside if row.over.get(name, 0) <= give)


def is_conflict(every: Sequence[Row], names: Iterable[str], all_names: Iterable[str]) -> bool:
    """Whether no kit keeps these together, whatever else is given up."""
    return not allowed(every, set(all_names) - set(names))


def minimal_sets(every: Sequence[Row], names: Sequence[str], most: int = 2) -> list[frozenset[str]]:
    """Smallest sets of at most so many names that are enough to give up."""
    found: list[frozenset[str]] = []
    for some in chain.from_iterable(combinations(names, size) for size in range(1, most + 1)):
        if not any(other <= set(some) for other in found) and allowed(every, some):
            found.append(frozenset(some))
    return found
