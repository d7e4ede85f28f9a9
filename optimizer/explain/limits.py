"""What each limit costs: how far it must give before a better kit comes, and when today's kit must go.

On the road: best kit -> *limits with prices* -> words. Nothing is a slope: each break-even is the choosing
done again, first for the least give that lets a better kit in, then for the best kit at that give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from optimizer.check import check, goal_value
from optimizer.choosing.aims import Better, Demand, goal_aims, slack_aim
from optimizer.explain.bench import Bench, Change, Found
from optimizer.explain.binding import better_kit, binding
from optimizer.explain.giving import ROOF, STEPS, step_of
from optimizer.explain.members import BY_BRIEF, OWN, Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE, Limit

LOOSENED_ONLY = ("fuel",)
"""Limits that stand for several things at once, of which some may not be used: tightened they say nothing."""

@dataclass(frozen=True)
class BreakEven:
    """The value of a limit at which the best kit changes."""

    give: int
    """How far the limit moves, in its own integers: above zero looser, below zero tighter."""
    kit: Kit | None
    """The best kit then; None when there is none at all."""
    proven: bool


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
    """None where it was not asked for, has no meaning, or nothing of the limit is used."""


@dataclass(frozen=True)
class Stories:
    """All limits, dearest first, and sets of limits that hold only together."""

    kit: Kit
    limits: tuple[Story, ...]
    together: tuple[tuple[Member, ...], ...] = field(default=())


def stories(bench: Bench, kit: Kit, together: bool = False, tight: bool = False) -> Stories:
    """Every limit and wish of the brief with its break-evens, for the best kit of the bench's problem.

    Parameters
    ----------
    bench : Bench
    kit : the proven best kit
    together : look for limits that hold only together, too; takes longer than all the rest
    tight : choose again, too, for each limit drawn a little tighter than what today's kit uses of it

    Returns
    -------
    Stories
        Sorted by what the limit costs: how much better the goal becomes at its first break-even.
    """
    members = bench.members(parts_too=True)
    costly = binding(bench, kit, members)
    told = [_story(bench, kit, member, costly.get(member), tight) for member in members]
    free = [member for member in members if member not in costly]
    told.sort(key=lambda story: _rank(bench, kit, story))
    return Stories(kit, tuple(told), _together(bench, kit, free) if together else ())


def _rank(bench: Bench, kit: Kit, story: Story) -> tuple[int, int, int]:
    goal, tie = saved(bench, kit, story.looser.kit if story.looser is not None else None)
    room = min((limit.room for limit in story.rows), default=0)
    return (-goal, -tie, room)


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
        sentence = "As many departures as asked for run short of nothing on their whole trip."
        return (Limit(COVERAGE, COVERAGE, sentence, "departures", 1, bench.short(kit), bench.trips.allowed),)
    return tuple(limit for limit in check(bench.problem, kit).limits if limit.slug == member.name)


def _story(bench: Bench, kit: Kit, member: Member, found: Found | None, tight: bool) -> Story:
    rows = rows_of(bench, kit, member) if member.numbers else ()
    tighter = _tighter(bench, kit, member, rows) if tight else None
    if found is None:
        return Story(member, rows, True, None, tighter)
    if found.kit is None:
        return Story(member, rows, False, None, tighter)
    if member.numbers:
        looser = least_give(bench, member, found.kit, Better(bench.problem, kit))
    else:
        best = bench.ask(Change(without=(member,)), start=found.kit)
        looser = BreakEven(0, best.kit or found.kit, best.status == "proven")
    return Story(member, rows, True, looser, tighter)


def least_give(
    bench: Bench, member: Member, known: Kit, better: Better | None = None, base: Change | None = None
) -> BreakEven:
    """The least give of one limit that lets a kit in (a better one than today's, if so asked).

    Parameters
    ----------
    bench, member : Bench, Member
    known : a kit that would be let in by some give: it bounds the search
    better : what the kit must be better than
    base : what is changed besides
    """
    demands = (better,) if better is not None else ()
    change = base or Change()
    if step_of(bench.problem, member.name):
        return _least_stepped(bench, member, demands, change)
    most = bench.excess(known, member.name)
    aims = (slack_aim(bench.problem, {member.name: 1}), *goal_aims(bench.problem))
    found = bench.ask(change, aims=aims, demands=demands, slack={member.name: most}, start=known)
    if found.kit is None:
        return BreakEven(most, known, proven=False)
    return BreakEven(bench.excess(found.kit, member.name), found.kit, found.status == "proven")


def _least_stepped(
    bench: Bench, member: Member, demands: Sequence[Demand], base: Change
) -> BreakEven:
    """The same step by step, for what is judged and not added up: longer and longer steps, then halving."""
    step, proven, low, high = step_of(bench.problem, member.name), True, 0, 1

    def ask(steps: int, start: Kit | None = None) -> Found:
        change = replace(base, gives={**base.gives, member.name: steps * step})
        return bench.ask(change, demands=demands, start=start)

    while (found := ask(high)).kit is None:
        proven, low, high = proven and found.status == "impossible", high, 2 * high
    best = found.kit
    while high - low > 1:
        middle = (low + high) // 2
        found = ask(middle)
        if found.kit is not None:
            best, high = found.kit, middle
        else:
            proven, low = proven and found.status == "impossible", middle
    last = ask(high, best)
    return BreakEven(high * step, last.kit or best, proven and last.status == "proven")


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


def _together(bench: Bench, kit: Kit, free: Sequence[Member]) -> tuple[tuple[Member, ...], ...]:
    """Sets of limits that cost nothing each, but something together; none larger than it need be."""
    found = better_kit(bench, kit, Change(without=tuple(free)))
    if found.kit is None:
        return ()
    first = _shrunk(bench, kit, free, found.kit)
    sets = [first]
    for member in first:
        rest = [other for other in free if other != member]
        again = better_kit(bench, kit, Change(without=tuple(rest)))
        if again.kit is not None:
            other_set = _shrunk(bench, kit, rest, again.kit)
            if other_set not in sets:
                sets.append(other_set)
    return tuple(sets)


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
