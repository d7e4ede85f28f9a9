"""What each limit costs: how far it must give before a better kit comes, and when today's kit must go.

On the road: best kit -> *limits with prices* -> words. Nothing is a slope: each break-even is the choosing
done again, first for the least give that lets a better kit in, then for the best kit at that give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from optimizer.check import check, goal_value
from optimizer.choosing.aims import Better
from optimizer.explain.bench import Bench
from optimizer.explain.binding import asked_together, better_kit, binding
from optimizer.explain.break_evens import BreakEven, least_give
from optimizer.explain.giving import ROOF, STEPS
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import BY_BRIEF, OWN, Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE, Limit
from optimizer.told_limits import COVERAGE_SENTENCE

FUEL = "fuel"
LOOSENED_ONLY = (FUEL,)
"""Limits that stand for several things at once, of which some may not be used: tightened they say nothing."""
FREE = Found(None, "impossible")
"""No better kit without it."""


@dataclass(frozen=True)
class Story:
    """One limit of a kit, with what it costs."""

    member: Member
    rows: tuple[Limit, ...]
    """How it stands; empty for wishes."""
    proven: bool
    """Whether it is proven that no loosening changes the best kit where ``looser`` is None."""
    looser: BreakEven | None = None
    """None when no loosening changes the best kit; for a wish, the best kit without it."""
    tighter: BreakEven | None = None
    """None where it was not asked for, has no meaning, or nothing of the limit is used. Its kit may be today's, put
    in other places: axles are asked about as today's things stand, since how far they give in all the ways there are
    to stow them takes minutes to say."""


@dataclass(frozen=True)
class Stories:
    """All limits, dearest first, and sets of limits that hold only together."""

    kit: Kit
    limits: tuple[Story, ...]
    together: tuple[tuple[Member, ...], ...] | None = None
    """None when not asked for."""
    settled: bool = True
    """Whether it is proven that there are such sets, or none."""


def stories(
    bench: Bench, kit: Kit, together: bool = False, tight: bool = False, hands: Hands | None = None
) -> Stories:
    """Every limit and wish of the brief with its break-evens, for the best kit of the bench's problem.

    Parameters
    ----------
    bench : Bench
    kit : the proven best kit
    together : look for limits that hold only together, too; takes longer than all the rest
    tight : choose again, too, for each limit drawn a little tighter than what today's kit uses of it
    hands : who asks; this process alone when left out

    Returns
    -------
    Stories
        Sorted by what the limit costs: how much better the goal becomes at its first break-even; those that cost
        nothing by the share of room that is left. What asks for nothing is left out, and fuel where trips count it:
        it is theirs to run out of, so what the rule alone costs says nothing of it.
    """
    hands = hands or Hands(bench, 1)
    members = bench.members(parts_too=True)
    costly = binding(hands, kit, members)
    asked = {member for some in asked_together(members) for member in some}
    settled = [(member, costly.get(member, FREE) if member in asked else None) for member in members]
    longest_first = sorted(settled, key=lambda entry: _shortness(entry[0]))
    found = hands.each(partial(_story, kit=kit, tight=tight), longest_first)
    told = sorted(found, key=lambda story: members.index(story.member))
    free = [story.member for story in told if story.looser is None and story.proven]
    told.sort(key=lambda story: _rank(bench, kit, story))
    limits = tuple(story for story in told if not _says_nothing(bench, story))
    return Stories(kit, limits, *_together(bench, kit, free)) if together else Stories(kit, limits)


def _says_nothing(bench: Bench, story: Story) -> bool:
    """Whether a limit that costs nothing asks for nothing, or its costs are the trips' to tell."""
    if not story.member.numbers or story.looser is not None or not story.proven or story.member.name == COVERAGE:
        return False
    counted_by_trips = story.member.name == FUEL and bench.trips is not None
    return counted_by_trips or not any(row.used or row.allowed for row in story.rows)


def _rank(bench: Bench, kit: Kit, story: Story) -> tuple[int, int, float]:
    goal, tie = saved(bench, kit, story.looser.kit if story.looser is not None else None)
    return (-goal, -tie, min(map(_left, story.rows), default=1.0))


def _left(row: Limit) -> float:
    """The share of what is allowed that is left; limits of all units compare by it."""
    return row.room / row.allowed if row.allowed else 0.0


def saved(bench: Bench, today: Kit, other: Kit | None) -> tuple[int, int]:
    """By how much another kit is better than today's, in the goal and in its tie-break."""
    if other is None:
        return 0, 0
    gains = []
    for goal in (bench.problem.goal, bench.problem.tie_break):
        gain = goal_value(bench.problem, today, goal) - goal_value(bench.problem, other, goal)
        gains.append(-gain if goal.maximise else gain)
    return gains[0], gains[1]


def rows_of(bench: Bench, kit: Kit, member: Member) -> tuple[Limit, ...]:
    """How a limit stands for a kit."""
    if member.name == COVERAGE:
        assert bench.trips is not None
        return (Limit(COVERAGE, COVERAGE, COVERAGE_SENTENCE, "departures", 1, bench.short(kit), bench.trips.allowed),)
    return tuple(limit for limit in check(bench.problem, kit).limits if limit.slug == member.name)


def _shortness(member: Member) -> int:
    """How soon a member's story is mostly told: a skill lets in much, the coverage is asked about several times."""
    return 0 if member.slug == "skills" else 1 if member.name == COVERAGE else 2 if not member.numbers else 3


def _story(bench: Bench, asked: tuple[Member, Found | None], kit: Kit, tight: bool) -> Story:
    member, settled = asked
    rows = rows_of(bench, kit, member) if member.numbers else ()
    tighter = _tighter(bench, kit, member, rows) if tight else None
    if settled is not None and settled.kit is None:
        return Story(member, rows, settled.status == "impossible", None, tighter)
    better = Better(bench.problem, kit)
    known = settled.kit if settled is not None else None
    if member.numbers:
        looser, proven = least_give(bench, member, known, better)
    else:
        looser, proven = _given_up(bench, member, better)
    return Story(member, rows, proven, looser, tighter)


def _given_up(bench: Bench, wish: Member, better: Better) -> tuple[BreakEven | None, bool]:
    """The better kit without a wish, if there is one, and whether that is settled."""
    best = bench.ask(Change(without=(wish,)), demands=(better,), start=better.kit)
    if best.kit is None:
        return None, best.status == "impossible"
    return BreakEven(0, best.kit, best.status == "proven"), True


def _tighter(bench: Bench, kit: Kit, member: Member, rows: Sequence[Limit]) -> BreakEven | None:
    name = member.name
    meant = name in BY_BRIEF or name == COVERAGE or name.startswith(OWN)
    if not meant or name in LOOSENED_ONLY or not any(limit.used > 0 for limit in rows):
        return None
    if name == ROOF and bench.problem.space is not None:
        return _shorter_roof(bench, kit, member)
    give = bench.excess(kit, name) - 1
    found = bench.ask(Change(gives={name: give}))
    return BreakEven(give, found.kit, found.status != "unproven")


def _shorter_roof(bench: Bench, kit: Kit, member: Member) -> BreakEven | None:
    """How much shorter the roof may be before today's kit does not lie on it any more."""
    assert bench.problem.space is not None
    step, low, high = STEPS[ROOF], 0, 1
    most = bench.problem.space.roof.region.length // step + 1

    def lies(steps: int) -> bool:
        return bench.keeps(kit, Change(gives={member.name: -steps * step}))

    while high < most and lies(high):
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if lies(middle) else (low, middle)
    found = bench.ask(Change(gives={member.name: -high * step}))
    return BreakEven(-high * step, found.kit, found.status != "unproven")


def _together(bench: Bench, kit: Kit, free: Sequence[Member]) -> tuple[tuple[tuple[Member, ...], ...], bool]:
    """Sets of limits that cost nothing each, but something together; none larger than it need be.

    And whether it is settled that there are some, or none.
    """
    found = better_kit(bench, kit, Change(without=tuple(free)))
    if found.kit is None:
        return (), found.status == "impossible"
    first = _shrunk(bench, kit, free, found.kit)
    sets = [first]
    for member in first:
        rest = [other for other in free if other != member]
        again = better_kit(bench, kit, Change(without=tuple(rest)))
        if again.kit is not None:
            other_set = _shrunk(bench, kit, rest, again.kit)
            if other_set not in sets:
                sets.append(other_set)
    return tuple(sets), True


def _shrunk(bench: Bench, kit: Kit, members: Sequence[Member], first: Kit) -> tuple[Member, ...]:
    """Leave out members one by one as long as the others together still hold a better kit back."""
    kept, kits = tuple(members), [first]
    for member in members:
        fewer = tuple(other for other in kept if other != member)
        change = Change(without=fewer)
        if any(bench.keeps(known, change) for known in kits):
            kept = fewer
            continue
        found = better_kit(bench, kit, change)
        if found.kit is not None:
            kits.append(found.kit)
            kept = fewer
    return kept
