"""The least give of one limit that lets a kit in, or a better one than today's.

On the road: under *explain*. Nothing is a slope: each is the choosing done again. What is added up is made
small by the choosing itself; what is judged (trips, places) is come down to from a kit that some give lets in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.check import check
from optimizer.choosing.aims import Aim, Better, Giving, giving_first, names_aim, slack_aim
from optimizer.explain.bench import Bench
from optimizer.explain.binding import any_kit
from optimizer.explain.giving import AXLES, ROOF, step_of
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import Member
from optimizer.problem.records import Kit, Problem
from optimizer.rules import COVERAGE
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.provisions import shortfalls

MOST_GIVE = 10**7
"""More than any limit that is asked about alone could be asked to give: 10 MW, 10 MWh, 10 kA, 10 kV, 10 m3."""

FEW_STEPS = 3
"""So few are come down one by one: that one fewer is too few ends the search, and must be shown in any case. Where
a kit was no further down than that, the least is mostly near."""


@dataclass(frozen=True)
class BreakEven:
    """The value of a limit at which the best kit changes."""

    give: int
    """How far the limit moves, in its own integers: above zero looser, below zero tighter."""
    kit: Kit | None
    """The best kit then; None when there is none at all."""
    proven: bool


def least_give(
    bench: Bench, member: Member, known: Kit | None, better: Better | None = None, base: Change | None = None
) -> tuple[BreakEven | None, bool]:
    """The least give of one limit that lets a kit in (a better one than today's, if so asked).

    Parameters
    ----------
    bench, member : Bench, Member
    known : a kit that would be let in by some give. None when none is known, for limits that are added up
    better : what the kit must be better than
    base : what is changed besides

    Returns
    -------
    BreakEven or None
        None when no give lets one in.
    bool
        Whether that is settled.
    """
    change = base or Change()
    if member.name == "budget" and better is None and base is None:
        lent = bench.lent()
        if lent.kit is None and lent.status == "unproven" and known is not None:
            return BreakEven(bench.excess(known, "budget"), known, proven=False), True
        give = 0 if lent.kit is None else bench.excess(lent.kit, "budget")
        even = None if lent.kit is None else BreakEven(give, lent.kit, lent.status == "proven")
        return even, lent.status != "unproven"
    if step_of(bench.problem, member.name):
        assert known is not None
        return _least_judged(bench, member, known, better, change), True
    if known is not None and better is None and shortfalls(bench.problem, member.name):
        return _least_stepped(bench, member, known, change), True
    most = MOST_GIVE if known is None else bench.excess(known, member.name)
    gives = Giving(bench.problem, {member.name: most})
    demands = (gives, better) if better is not None else (gives,)
    start = known if better is None else better.kit
    aims = (*giving_first(bench.problem, {member.name: 1}, {member.name: most}, better), names_aim())
    found = bench.ask(change, aims, demands, {member.name: most}, start)
    if found.kit is not None:
        return BreakEven(bench.excess(found.kit, member.name), found.kit, found.status == "proven"), True
    if known is not None:
        return BreakEven(most, known, proven=False), True
    return None, found.status == "impossible"


def _least_stepped(bench: Bench, member: Member, known: Kit, base: Change) -> BreakEven:
    """The least give of what is held in containers, whose sizes leave few numbers, and the best kit then.

    Rules and walls known by now ask for some number at least: mostly that is it. Whether trips and places ask for more
    is asked like any other question, led to by what leads soonest; so walls are learnt that say more. To make the
    give itself small all the way took three times as long: nothing leads to kits that pass.
    """
    name, too_little = member.name, -1
    least, settled = bench.excess(known, name), True
    while True:
        giving = Giving(bench.problem, {name: least}, more_than=too_little)
        floor = bench.ask(base, (slack_aim(bench.problem, {name: 1}),), (giving,), {name: least}, by_walls=True)
        settled = settled and floor.status == "proven"
        if floor.kit is None or floor.status != "proven":
            break
        give = max(0, bench.excess(floor.kit, name))
        if give >= least:
            break
        change = replace(base, gives={**base.gives, name: give})
        # Led by price, the best kit is found as soon as any.
        found = bench.ask(change) if bench.problem.goal.slug == "cheapest" else bench.possible(change)
        if found.kit is not None and bench.problem.goal.slug == "cheapest":
            return BreakEven(give, found.kit, settled and found.status == "proven")
        if found.kit is not None:
            known, least = found.kit, give
            break
        settled = settled and found.status == "impossible"
        if not settled:
            break
        too_little = give
    best = bench.ask(replace(base, gives={**base.gives, name: least}), start=known)
    return BreakEven(least, best.kit or known, settled and best.status == "proven")


def _least_judged(bench: Bench, member: Member, known: Kit, better: Better | None, base: Change) -> BreakEven:
    """Come down from a kit that some give lets in: each next one must do with a step less than the last needs.

    Mostly the first known needs the least; where it does not, the coverage is halved. What is laid out or weighed is
    led to by its own number where that leads anywhere.
    """
    step = step_of(bench.problem, member.name)
    demands = (better,) if better is not None else ()

    def giving(steps: int) -> Change:
        return replace(base, gives={**base.gives, member.name: steps * step})

    def needed(kit: Kit, most: int) -> int:
        """The fewest steps with which a kit does; ``most`` are known to be enough for it."""
        if member.name == COVERAGE:
            return bench.excess(kit, COVERAGE)
        low, high = 0, 1  # too little, or nothing; enough or not yet known to be
        while high < most and not bench.keeps(kit, giving(high)):
            low, high = high, min(2 * high, most)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if bench.keeps(kit, giving(middle)) else (middle, high)
        return high

    # A kit that is better asks for little of all. Where any will do, the one that takes least roof may have banks in
    # place of panels, which no bay holds: long to find out. So a roof is halved then, as the coverage is.
    halves = member.name == COVERAGE or (member.name == ROOF and better is None)
    lead = None if halves else _lead(bench.problem, member.name)
    asked, settled, best = 0, True, Found(None, "unproven")
    if member.name == COVERAGE:
        known = _surviving(bench, known, better, base)
    steps = max(1, needed(known, MOST_GIVE // step))
    if better is not None and member.name != COVERAGE:
        best = bench.ask(giving(steps), demands=demands, start=known)
        if best.kit is None:
            return BreakEven(steps * step, known, proven=False)
        known, asked = best.kit, steps
        steps = max(1, needed(known, steps))
    too_few, halving, near = 0, member.name == ROOF and halves, False
    while steps - too_few > 1:
        fewer = (steps + too_few) // 2 if halving else steps - 1
        less = any_kit(bench, giving(fewer), better, lead)
        if less.kit is None:
            settled, too_few, halving = settled and less.status == "impossible", fewer, False
            continue
        known, before = less.kit, steps
        steps = max(1, needed(less.kit, fewer))
        near = not near and before - steps <= FEW_STEPS
        halving = halves and not near and steps - too_few > FEW_STEPS
    if steps != asked:
        best = bench.ask(giving(steps), demands=demands, start=known)
    return BreakEven(steps * step, best.kit or known, settled and best.status == "proven")


def _lead(problem: Problem, name: str) -> Aim | None:
    """What leads to kits that ask little of a limit that is laid out or weighed."""
    if name == ROOF:
        return Aim(lambda variables: variables.total("area_cm2"), lambda kit: kit.sum(problem, "area_cm2"))
    if name in AXLES:
        return Aim(lambda variables: variables.total("mass_g"), lambda kit: kit_mass_g(problem, kit))
    return None


def _surviving(bench: Bench, kit: Kit, better: Better | None, base: Change) -> Kit:
    """From kits that keep all but the coverage to one that leaves few departures short, by single swaps.

    It only saves questions: the fewer fall short, the less must be asked after.
    """
    problem = bench.changed(base)
    starts = [kit] if better is None else [kit, better.kit]
    found = [kit]
    for start in starts:
        here, short = start, bench.short(start) if start is kit else bench.departures + 1
        while (fewer := _fewest_short(bench, problem, here, short, better)) is not None:
            here, short = fewer, bench.short(fewer)
            found.append(here)
    return min(found, key=bench.short)


def _fewest_short(bench: Bench, problem: Problem, kit: Kit, short: int, better: Better | None) -> Kit | None:
    """The kit a single swap away that leaves the fewest departures short, fewer than ``short``."""
    best: tuple[int, Kit] | None = None
    for trial in _swaps(problem, kit):
        if better is not None and not better.holds(trial):
            continue
        if bench.leaves_fewer(trial, short) and check(problem, trial).ok:
            left = bench.short(trial)
            if left < (short if best is None else best[0]) and bench.fits(problem, trial):
                best = left, trial
    return None if best is None else best[1]


def _swaps(problem: Problem, kit: Kit) -> Iterator[Kit]:
    """The kit with one option another."""
    for group in problem.groups:
        for option in group.options:
            if kit.choices.get(group.name) != option.key and option.voltage in (0, kit.voltage):
                yield replace(kit, choices={**kit.choices, group.name: option.key}, places=None)
