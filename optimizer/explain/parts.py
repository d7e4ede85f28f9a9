"""Why this part, why not that one: the best kit without it, the best kit with it, or what forbids it.

On the road: best kit + part id -> *the other kit* -> words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.explain.bench import Bench
from optimizer.explain.conflicts import Conflict, find_conflict
from optimizer.explain.giving import wishing
from optimizer.explain.knowledge import Change
from optimizer.problem.records import Kit, Problem


@dataclass(frozen=True)
class Difference:
    """What another kit has in place of today's, a line each."""

    part: str
    today: int
    then: int


@dataclass(frozen=True)
class WhyPart:
    """The answer about one part."""

    part: str
    inside: bool
    """Whether it is in today's kit."""
    kit: Kit | None
    """The best kit without it, or with it; None when there is none."""
    proven: bool
    conflict: Conflict | None
    """What forbids it, when ``kit`` is None."""
    stand_in: str = ""
    """Another choice of the same group that is no worse in anything, by its key."""


def why_part(bench: Bench, kit: Kit, part: str) -> WhyPart:
    """Why a part is in a kit, or why it is not."""
    inside = part in kit.counts(bench.problem)
    change = Change(refused=(part,)) if inside else Change(required=(part,))
    found = bench.ask(change)
    conflict = None
    if found.status == "impossible":
        conflict = _what_forbids(bench, part, inside)
    stand_in = "" if inside else _stand_in(bench, part)
    return WhyPart(part, inside, found.kit, found.status != "unproven", conflict, stand_in)


def _what_forbids(bench: Bench, part: str, inside: bool) -> Conflict | None:
    """The conflict of the brief with the part asked for (or refused) for good."""
    problem = wishing(bench.problem, refused=(part,)) if inside else wishing(bench.problem, required=(part,))
    other = Bench(problem, bench.trips, bench.settings, bench.store, bench.report, bench.stop)
    wish = f"{'refused' if inside else 'required'} {part}"
    return find_conflict(other, [member for member in other.members() if member.name != wish])


def _stand_in(bench: Bench, part: str) -> str:
    """What is no worse than every option with this part, when all of them were left out for that."""
    stand_ins = bench.smaller(Change()).stand_ins
    holders = [
        (group.name, option.key) for group in bench.problem.groups if not group.hidden
        for option in group.options if any(p == part for p, _ in option.parts)
    ]
    if not holders or any(holder not in stand_ins for holder in holders):
        return ""
    return stand_ins[holders[0]]


def differences(problem: Problem, today: Kit, then: Kit, changed: Problem | None = None) -> tuple[Difference, ...]:
    """Parts of which two kits have different numbers, by id; the second is of a ``changed`` problem."""
    one, other = today.counts(problem), then.counts(changed or problem)
    return tuple(
        Difference(part, one.get(part, 0), other.get(part, 0))
        for part in sorted({*one, *other}) if one.get(part, 0) != other.get(part, 0)
    )


def kinds_of(problem: Problem) -> Mapping[str, str]:
    """The kind of each part that is on offer."""
    return {
        part: group.kind for group in problem.groups if not group.hidden
        for option in group.options for part, _ in option.parts
    }
