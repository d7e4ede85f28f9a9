"""Why each thing was chosen: what happens with the next cheaper one in its place.

On the road: facts -> *reasons* -> chapter on the kit. Each reason is tried, not told: the option is swapped
for the next better one of its group, everything else stays, and the plain check and the trips are asked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from optimizer.book.answer import NO_SIZE, name_of
from optimizer.book.facts import Facts
from optimizer.check import check
from optimizer.problem.records import Group, Kit, Option
from optimizer.showing import show
from optimizer.telling import option_cents


def reason(facts: Facts, group: Group, option: Option) -> str:
    """Why this option, in a sentence."""
    rivals = _rivals(facts, group, option)
    many = len({facts.own_parts(other) for other in group.options})
    measure = "lighter" if facts.job.problem.goal.slug == "lightest" else "cheaper"
    if not rivals and many == 1:
        why = "" if group.needed else _fails(facts, _without(facts.kit, group))
        return f"Without it, {why}." if why else "The only one on offer."
    if not rivals:
        return f"The {_most(measure)} of {many} ways {'on offer' if group.needed else 'that are on offer here'}."
    rival = rivals[0]
    why = _fails(facts, swapped(facts.kit, group, rival))
    name = _name(facts, rival)
    if why:
        return f"With {name} in its place (the next {measure}), {why}."
    return f"{name} alone in its place is {measure} and breaks no rule that was tried; together the kit is best so."


def _most(measure: str) -> str:
    return {"lighter": "lightest", "cheaper": "cheapest"}[measure]


def _rivals(facts: Facts, group: Group, option: Option) -> list[Option]:
    """Options of the group that are better than the chosen one by the goal, the nearest first.

    What is the same but for its cable is none: how long that is follows from where things stand.
    """
    cost, own = cost_of(facts), facts.own_parts
    mine = cost(option)
    better = [
        other for other in group.options
        if cost(other) < mine and own(other) != own(option) and other.voltage in (0, facts.kit.voltage)
    ]  # fmt: skip
    return sorted(better, key=lambda other: (-cost(other), other.key))


def cost_of(facts: Facts) -> Callable[[Option], int]:
    """What an option costs by the goal: grams where the lightest is wanted, cents else."""
    problem, kit = facts.job.problem, facts.kit
    if problem.goal.slug == "lightest":
        return lambda option: option.mass_g
    return lambda option: option_cents(problem, kit, option)


def swapped(kit: Kit, group: Group, option: Option) -> Kit:
    """The kit with another option in one group; its places are not known."""
    return replace(kit, choices={**kit.choices, group.name: option.key}, places=None)


def _without(kit: Kit, group: Group) -> Kit:
    """The kit with nothing of a group that can be left out; its places are not known."""
    return replace(kit, choices={name: key for name, key in kit.choices.items() if name != group.name}, places=None)


def _fails(facts: Facts, kit: Kit) -> str:
    """What is wrong with a kit, in words; empty when nothing is found."""
    verdict = check(facts.job.problem, kit)
    broken = [limit for limit in verdict.limits if not limit.met]
    if broken:
        limit = broken[0]
        used, allowed = (show(v / limit.scale, limit.unit, facts.units) for v in (limit.used, limit.allowed))
        if not limit.allowed or limit.slug in NO_SIZE or used == allowed:
            return f"a rule breaks: {limit.sentence[:1].lower()}{limit.sentence[1:].rstrip('.')}"
        return f"a rule breaks: {name_of(limit)} would be {used} where {allowed} is allowed"
    if verdict.faults:
        return f"a rule breaks: {verdict.faults[0]}"
    return _short(facts, kit)


def _short(facts: Facts, kit: Kit) -> str:
    if facts.replay is None:
        return ""
    from optimizer.job import replay_kit

    trips = replay_kit(facts.job, kit)
    wanted = trips.departures - facts.job.allowed_short
    if trips.covered >= wanted:
        return ""
    cause = max(trips.causes, key=lambda name: (trips.causes[name], name))
    return f"only {trips.covered} of {trips.departures} departures come through ({wanted} asked for), short of {cause}"


def _name(facts: Facts, option: Option) -> str:
    part, count = option.parts[0]
    many = f"{count} x " if count > 1 else ""
    price = show(option_cents(facts.job.problem, facts.kit, option) / 100, "USD", facts.units)
    return f"{many}{facts.name_of(part)} ({price})"
