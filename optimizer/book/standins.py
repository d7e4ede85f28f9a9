"""What to take where a part is not to be had: the nearest other option that does by itself.

On the road: facts -> *stand-ins* -> chapter on ordering. Each is tried, not told: it takes the chosen option's
place, everything else stays, and the plain check, the trips and the places are asked.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.book.facts import Facts, with_places
from optimizer.book.reasons import cost_of, swapped
from optimizer.check import check
from optimizer.problem.records import Group, Kit, Option
from optimizer.problem.wired import as_wired
from optimizer.telling import option_cents


@dataclass(frozen=True)
class StandIn:
    """An option that may take the chosen one's place with nothing else changed."""

    option: Option
    cents: int
    """What the kit then costs more, or less."""
    grams: int
    """What it then weighs more, or less."""
    rewired: tuple[str, ...]
    """Circuits that then need another conductor or fuse, come in or go."""


def stand_in(facts: Facts, group: Group, option: Option) -> StandIn | None:
    """The option nearest by the goal that does without a part of the chosen one; None when none is on offer."""
    cost, mine = cost_of(facts), {part for part, _ in facts.own_parts(option)}
    others = [
        other for other in group.options
        if mine.isdisjoint(part for part, _ in facts.own_parts(other)) and other.voltage in (0, facts.kit.voltage)
    ]  # fmt: skip
    for other in sorted(others, key=lambda one: (abs(cost(one) - cost(option)), one.key)):
        if does(facts, swapped(facts.kit, group, other)):
            problem, kit = facts.job.problem, facts.kit
            cents = option_cents(problem, kit, other) - option_cents(problem, kit, option)
            return StandIn(other, cents, other.mass_g - option.mass_g, _rewired(facts, option, other))
    return None


def does(facts: Facts, kit: Kit) -> bool:
    """Whether a kit keeps every rule, comes through the trips asked for, and finds its places."""
    if not check(facts.job.problem, kit).ok:
        return False
    if facts.replay is not None:
        from optimizer.job import replay_kit

        trips = replay_kit(facts.job, kit)
        if trips.departures - trips.covered > facts.job.allowed_short:
            return False
    if facts.job.problem.space is None:
        return True
    placed = with_places(facts.job, kit)
    return placed.places is not None and check(facts.job.problem, placed).ok


def _rewired(facts: Facts, one: Option, other: Option) -> tuple[str, ...]:
    wired = [as_wired(facts.job.problem, facts.kit, option.circuits) for option in (one, other)]
    needs = [{(c.name, c.size, c.fuse_a, c.string_fuse_a) for c in circuits} for circuits in wired]
    return tuple(sorted({name for name, *_ in needs[0] ^ needs[1]}))
