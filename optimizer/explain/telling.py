"""Explanations as sentences a builder reads.

On the road: *explain* -> terminal. No word of how the answer was found, only what it is and how sure.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from optimizer.check import goal_value
from optimizer.explain.break_evens import BreakEven
from optimizer.explain.conflicts import Conflict
from optimizer.explain.limits import Stories, Story
from optimizer.explain.next_best import Rivals, grouped
from optimizer.explain.parts import WhyPart, differences
from optimizer.explain.questions import Reply
from optimizer.explain.ways_out import WayOut
from optimizer.explain.words import give_of, line_of, name_of, with_give
from optimizer.job import Job
from optimizer.problem.records import Kit, Problem
from optimizer.rules import BY_SLUG, COVERAGE
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.showing import show
from optimizer.telling import limit_row

FEW_KINDS = 4
"""With more kinds of parts another, it is the same kit no more."""
FEW_WISHES = 3
SORTS = {
    "required": "{} parts must be in (preferences.required)", "refused": "{} parts must stay out (preferences.refused)",
    "skills": "nobody for {} skills that parts ask for (preferences.skills)",
}
NOT_PROVEN = " (not proven within the time)"
AS_ASKED = (
    "What is fitted and used at all (bank voltages, inverter, roof fan, chargers, meals, uses) was taken as the brief"
    " asks for it."
)
ASK_ON = (
    "What bank voltages, a hook-up charger, a roof fan, warmth and the hungriest use cost, and one more night or"
    " person: ask with --questions."
)
MOVED = "today's kit stays, but its things must stand in other places"


def tell_stories(job: Job, told: Stories) -> str:
    """Every limit: used, allowed, room, and its break-evens; the dearest first."""
    kit = told.kit
    dear = [story for story in told.limits if story.looser is not None]
    free = [story for story in told.limits if story.looser is None and story.proven]
    open_ = [story for story in told.limits if story.looser is None and not story.proven]
    parts = [f"Why this kit: {_price_mass(job, kit)}."]
    if dear:
        parts.append("What costs you something, the dearest first:\n" + _stories(job, kit, dear))
    if told.together is not None:
        parts.append(_together(told))
    if free:
        parts.append("What costs you nothing, however far it gives:\n" + _stories(job, kit, free))
    if open_:
        parts.append("What was not settled within the time:\n" + _stories(job, kit, open_))
    parts.append(ASK_ON)
    return "\n\n".join(parts)


def _together(told: Stories) -> str:
    if not told.together:
        none = "Even if all that costs nothing alone were given up together, there would be no better kit."
        return none if told.settled else "Whether any limits hold only together was not settled within the time."
    lines = [f"  {_listed([name_of(member) for member in some])}" for some in told.together]
    return (
        "Each of these costs nothing alone, for the others hold just as hard; given up together they would"
        " let a better kit in:\n" + "\n".join(lines)
    )


def _stories(job: Job, kit: Kit, some: Iterable[Story]) -> str:
    return "\n".join(line for story in some for line in _story(job, kit, story))


def _story(job: Job, kit: Kit, story: Story) -> list[str]:
    name = name_of(story.member)
    lines = [f"  {name[0].upper()}{name[1:]}: {line_of(job, story.member)}."]
    for row in story.rows:
        if row.slug == COVERAGE:
            lines.append(f"    {_departures(row.allowed)} may run short; with this kit {_do(row.used)}.")
        elif row.used or row.allowed:
            label, used, allowed, room = limit_row(row, job.brief.units)
            which = f"{label}: " if len(story.rows) > 1 else ""
            lines.append(f"    {which}{used} used of {allowed}, {room} left.")
    used_up = kit.nights * kit.sum(job.problem, "cents_night") if story.member.name == "toilet" else 0
    if used_up:
        worth = show(used_up / 100, "USD")
        lines.append(f"    {worth} worth of it is used up on the trip; fewer visits use up less.")
    if story.looser is not None:
        lines.append(f"    {with_give(job, story.member, story.looser.give)}: {_then(job, kit, story.looser)}")
    if story.tighter is not None:
        words = with_give(job, story.member, story.tighter.give)
        if story.tighter.kit is not None and same_kit(kit, story.tighter.kit):
            lines.append(f"    {words}, {MOVED}.")
        else:
            lines.append(f"    {words}, today's kit must go: {_then(job, kit, story.tighter)}")
    return lines


def _do(count: int) -> str:
    return f"{count or 'none'} {'does' if count == 1 else 'do'}"


def _departures(count: int) -> str:
    return show(count, "departures") if count else "No departure"


def _then(job: Job, kit: Kit, event: BreakEven) -> str:
    if event.kit is None:
        return "then there is no kit at all." if event.proven else "no kit was found then within the time."
    proof = "" if event.proven else NOT_PROVEN
    return f"{change_words(job, kit, event.kit)}{proof}; {swap(job, kit, event.kit)}."


def change_words(job: Job, kit: Kit, other: Kit) -> str:
    """What another kit costs and weighs beside today's, and how it does by a goal that is neither."""
    problem, units = job.problem, job.brief.units
    price = price_cents(problem, other) - price_cents(problem, kit)
    words = _money_and_mass(job, price, kit_mass_g(problem, other) - kit_mass_g(problem, kit))
    goal = problem.goal
    if goal.slug not in ("cheapest", "lightest"):
        today, then = (goal_value(problem, one, goal) / goal.scale for one in (kit, other))
        words.append(f"{show(then, goal.unit, units)} instead of {show(today, goal.unit, units)}")
    return ", ".join(words) or "as dear and as heavy"


def _money_and_mass(job: Job, cents: int, grams: int) -> list[str]:
    """How much dearer or cheaper, heavier or lighter; nothing for what stays."""
    price = _more_less(cents / 100, "USD", "dearer", "cheaper", job)
    mass = _more_less(grams / 1000, "kg", "heavier", "lighter", job)
    return [word for word in (price, mass) if word]


def _more_less(value: float, unit: str, more: str, less: str, job: Job) -> str:
    if not value:
        return ""
    return f"{show(abs(value), unit, job.brief.units)} {more if value > 0 else less}"


def swap(job: Job, today: Kit, then: Kit, asked: Job | None = None) -> str:
    """What goes out and what comes in, in the parts' own names; the second may be of another job."""
    changes = differences(job.problem, today, then, None if asked is None else asked.problem)
    changes = tuple(change for change in changes if not _small(job, change.part))
    out = [_counted(job, c.part, c.today - c.then) for c in changes if c.today > c.then]
    into = [_counted(job, c.part, c.then - c.today) for c in changes if c.then > c.today]
    if same_kit(today, then):
        return "the kit stays as it is"
    if not out and not into:
        return "the same parts, put together otherwise"
    words = [f"out {_goes('goes', out)} {_listed(out)}"] if out else []
    return ", ".join([*words, *([f"in {_goes('comes', into)} {_listed(into)}"] if into else [])])


def same_kit(one: Kit, other: Kit) -> bool:
    """Whether two kits are one, wherever their things are."""
    return (one.choices, one.voltage) == (other.choices, other.voltage)


def _goes(verb: str, things: Sequence[str]) -> str:
    """A verb for one thing, or for several."""
    return verb if len(things) == 1 and " x " not in things[0] else {"goes": "go", "comes": "come"}[verb]


def _small(job: Job, part: str) -> bool:
    """Cable, fuses and fittings follow from the rest."""
    return any(p.id == part for kind in ("cable", "fuse", "fitting") for p in job.catalog.parts.get(kind, ()))


def _counted(job: Job, part: str, count: int) -> str:
    name = job.catalog.any_part(part).name
    return f"{count} x {name} ({part})" if count > 1 else f"{name} ({part})"


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _price_mass(job: Job, kit: Kit) -> str:
    units, problem = job.brief.units, job.problem
    price = show(price_cents(problem, kit) / 100, "USD", units)
    return f"{price}, {show(kit_mass_g(problem, kit) / 1000, 'kg', units)} of parts"


def tell_conflict(job: Job, conflict: Conflict, ways: Sequence[WayOut] | None = None) -> str:
    """Why a brief is impossible, and the cheapest ways out; None = they were not looked for."""
    parts = [_why_impossible(job, conflict)]
    if ways is not None and (ways or conflict.members):
        parts.append(_ways(job, ways) if ways else "No way out by one or two of the brief's lines was found.")
    return "\n\n".join(parts)


def _why_impossible(job: Job, conflict: Conflict, lead: str = "") -> str:
    """The lines in each other's way; ``lead`` says with what changed, as the beginning of the sentence."""
    if conflict.nothing_for:
        words = _listed([name.replace("_", " ") for name in conflict.nothing_for])
        return f"Nothing in the catalog will do for: {words}. No give in the brief helps; add parts to the catalog."
    if not conflict.members and not conflict.proven:
        return "What is in the way was not found within the time."
    if not conflict.members:
        rules = [f"  {BY_SLUG[slug].sentence}" for slug in conflict.by_parts]
        head = "The parts on offer do not make a kit, whatever limit of the brief gives"
        return "\n".join([f"{head}; these cannot all be kept:", *rules, AS_ASKED] if rules else [f"{head}.", AS_ASKED])
    lines = [f"  {line}" for line in _lines_of(job, conflict)]
    if not conflict.minimal:
        head = "These lines of the brief cannot all be kept (perhaps fewer of them would do; the time was too short):"
    elif len(lines) == 1:
        head = "This one line of the brief cannot be kept, whatever other limit, part or skill in it is given up:"
    elif len(lines) == 2:
        head = (
            "These 2 lines of the brief cannot both be kept, whatever other limit, part or skill in it is given up;"
            " either of them could be:"
        )
    else:
        head = (
            f"These {len(lines)} lines of the brief cannot all be kept, whatever other limit, part or skill in it is"
            f" given up; any {len(lines) - 1} of them could be:"
        )
    return "\n".join([f"{lead} {head[0].lower()}{head[1:]}" if lead else head, *lines, AS_ASKED])


def _lines_of(job: Job, conflict: Conflict) -> list[str]:
    """The brief's line for each member; of many wishes of one sort only how many, where it is not known which count."""
    lines: list[str] = []
    for slug, members in groupby(conflict.members, lambda member: member.slug):
        some = tuple(members)
        if slug in SORTS and len(some) > FEW_WISHES and not conflict.minimal:
            lines.append(SORTS[slug].format(len(some)))
        else:
            lines += [line_of(job, member) for member in some]
    return lines


def _ways(job: Job, ways: Sequence[WayOut]) -> str:
    lines = ["Ways out, the least painful first:"]
    for number, way in enumerate(ways, 1):
        words = _listed([give_of(job, step.member, step.give) for step in way.steps])
        proof = "" if way.proven else NOT_PROVEN
        lines.append(f"  {number}. {words[0].upper()}{words[1:]}: then a kit for {_price_mass(job, way.kit)}{proof}.")
    return "\n".join(lines)


def tell_part(job: Job, kit: Kit, why: WhyPart) -> str:
    """Why a part is in, or why it is not."""
    name = f"{job.catalog.any_part(why.part).name} ({why.part})"
    if why.inside:
        wish = ": the brief wants it (preferences.required)" if why.part in job.problem.required else ""
    else:
        wish = ": the brief does not want it (preferences.refused)" if why.part in job.problem.refused else ""
    head = f"{name} {'is' if why.inside else 'is not'} in the kit{wish}."
    what = "without" if why.inside else "with"
    lines = [head]
    if why.stand_in and not _small(job, why.part):
        lines.append(f"{_stand_in(job, why)} no worse in anything that counts, and would be taken first.")
    if why.kit is not None:
        proof = "" if why.proven else NOT_PROVEN
        lines.append(f"The best kit {what} it: {change_words(job, kit, why.kit)}{proof}.")
        lines += [f"  {line}" for line in _lines(job, job.problem, kit, why.kit)]
    elif why.conflict is not None and why.conflict.by_parts:
        reason = "every kit has it" if why.inside else "nothing else on offer goes with it"
        lines.append(f"There is no kit {what} it, whatever limit of the brief gives: {reason}. {AS_ASKED}")
    elif why.conflict is not None:
        lines += [f"There is no kit {what} it.", _why_impossible(job, why.conflict, f"{what.capitalize()} it")]
    else:
        never = f"There is no kit {what} it."
        lines.append(never if why.proven else f"No kit {what} it was found within the time.")
    return "\n".join(lines)


def _stand_in(job: Job, why: WhyPart) -> str:
    """The stand-in's parts by name, with the verb, less its wiring."""
    group = next(g for g in job.problem.groups if any(o.key == why.stand_in and not g.hidden for o in g.options))
    parts = [_counted(job, part, count) for part, count in group.option(why.stand_in).parts if not _small(job, part)]
    return f"{_listed(parts)} {'is' if _goes('goes', parts) == 'goes' else 'are'}"


def _lines(job: Job, problem: Problem, today: Kit, then: Kit) -> list[str]:
    """A line for each part of which there are more or fewer; what wires and fastens them in one line."""
    changes = differences(problem, today, then)
    lines = [
        f"{c.today} -> {c.then}  {job.catalog.any_part(c.part).name} ({c.part})"
        for c in changes if not _small(job, c.part)
    ]  # fmt: skip
    if any(_small(job, c.part) for c in changes):
        lines.append("and other cables, fuses and fittings, which the price counts")
    return lines


def tell_rivals(job: Job, kit: Kit, rivals: Rivals, head: str) -> str:
    """The next kits, by what differs."""
    if not rivals.kits:
        return f"{head}: {'there are no others' if rivals.settled else 'none was found within the time'}."
    lines = [f"{head}, by what differs:"]
    for kinds, some in grouped(rivals.kits).items():
        shown = [kind.replace("_", " ") for kind in kinds if kind not in ("cable", "fuse", "fitting")]
        same = "Same kit, other" if len(shown) <= FEW_KINDS else "Other"
        lines.append(f"  {same} {_listed(shown) or 'wiring'}:")
        for rival in some:
            proof = "" if rival.proven else NOT_PROVEN
            lines.append(f"    {change_words(job, kit, rival.kit)}{proof}; {swap(job, kit, rival.kit)}.")
    if not rivals.settled:
        lines.append("  No more were found within the time.")
    return "\n".join(lines)


def tell_reply(job: Job, kit: Kit, reply: Reply) -> str:
    """One everyday question with its answer."""
    result, words = reply.result, reply.question.words
    head = f"{words[0].upper()}{words[1:]}"
    if result is None or result.kit is None:
        sure = result is not None and result.outcome.status == "impossible"
        return f"{head}: {'there is no such kit.' if sure else 'no kit was found within the time.'}"
    asked, units = reply.question.job, job.brief.units
    price = price_cents(asked.problem, result.kit) - price_cents(job.problem, kit)
    mass = kit_mass_g(asked.problem, result.kit) - kit_mass_g(job.problem, kit)
    change = ", ".join(_money_and_mass(job, price, mass)) or "costs and weighs the same"
    total = show(price_cents(asked.problem, result.kit) / 100, "USD", units)
    proof = "" if result.outcome.status == "proven" else NOT_PROVEN
    return f"{head}: {change} ({total} in all){proof}; {swap(job, kit, result.kit, asked)}."
