"""Water, waste, toilet and cold food: what the kit holds against what the nights ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules.base import Lever, Limit, Variables

ICE_NIGHTS = 2
"""How long ice keeps a box without power cold enough for food; common practice, no source."""


@dataclass(frozen=True)
class ForTheNights:
    """Something asked for each night and held by containers."""

    slug: str
    sentence: str
    unit: str
    scale: int
    held: str
    need_night: str
    also_night: str
    """An amount of chosen parts that adds to the need of each night, or empty."""
    lever: Lever

    def add(self, variables: Variables) -> None:
        """Held at least the need, for whichever number of nights is chosen."""
        held = variables.total(self.held)
        for nights, lasts in variables.nights().items():
            need = nights * variables.problem.need(self.need_night)
            if self.also_night:
                need = need + nights * variables.total(self.also_night)
            elif not need:
                continue
            variables.demand(self.slug, need <= held + variables.give(self.slug), lasts)

    def needed(self, problem: Problem, nights: int) -> int:
        """What so many nights ask for, beside what parts ask for."""
        return nights * problem.need(self.need_night)

    def brought(self, option: Option, nights: int) -> int:
        """What an option holds, less what it asks for."""
        return option.get(self.held) - (nights * option.get(self.also_night) if self.also_night else 0)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Need against what is held."""
        also = kit.sum(problem, self.also_night) if self.also_night else 0
        used = kit.nights * (problem.need(self.need_night) + also)
        allowed = kit.sum(problem, self.held) + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, self.unit, self.scale, used, allowed),)


@dataclass(frozen=True)
class AtOnce:
    """Room for something that is there all the time."""

    slug: str
    sentence: str
    held: str
    need: str
    lever: Lever

    def add(self, variables: Variables) -> None:
        """Room at least the need, that of boxes with ice only while the ice lasts."""
        need = variables.problem.need(self.need)
        if not need:
            return
        for nights, lasts in variables.nights().items():
            held = variables.total(self.held) + variables.give(self.slug)
            if nights <= ICE_NIGHTS:
                held = held + variables.total(f"ice_{self.held}")
            variables.demand(self.slug, need <= held, lasts)

    def needed(self, problem: Problem, nights: int) -> int:
        """Room asked for."""
        return problem.need(self.need)

    def brought(self, option: Option, nights: int) -> int:
        """Room an option has."""
        return option.get(self.held) + (option.get(f"ice_{self.held}") if nights <= ICE_NIGHTS else 0)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Need against room."""
        with_ice = kit.sum(problem, f"ice_{self.held}") if kit.nights <= ICE_NIGHTS else 0
        used = problem.need(self.need)
        allowed = kit.sum(problem, self.held) + with_ice + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "L", 1000, used, allowed),)


WATER = ForTheNights(
    "water", "Containers hold the fresh water for all the nights.", "L", 1000,
    "hold_water_ml", "water_ml_night", "flush_ml_night",
    Lever("water_ml_night", "supplies.water_per_person_day", -1, "L a night", 1000),
)
GREY = ForTheNights(
    "grey_water", "Containers hold the waste water of all the nights.", "L", 1000,
    "hold_grey_ml", "grey_ml_night", "",
    Lever("grey_ml_night", "supplies.grey_share", -1, "L a night", 1000),
)
TOILET = ForTheNights(
    "toilet", "The toilet lasts all the nights before it must be emptied.", "visits", 1000,
    "hold_millivisits", "millivisits_night", "",
    Lever("millivisits_night", "supplies.toilet_visits_per_person_day", -1, "visits a night", 1000),
)
CHILLED = AtOnce(
    "chilled", "Cold boxes have room for the chilled food.", "chilled_ml", "chilled_ml",
    Lever("chilled_ml", "supplies.chilled", -1, "L", 1000),
)
FROZEN = AtOnce(
    "frozen", "Cold boxes have room for the frozen food.", "frozen_ml", "frozen_ml",
    Lever("frozen_ml", "supplies.frozen", -1, "L", 1000),
)


MOST_SHORTFALLS = 5_000
"""More different shortfalls than this are not worth telling one by one."""


def shortfalls(problem: Problem, slug: str) -> tuple[int, ...] | None:
    """By how much one of these limits can be missed (0: not at all), whatever is chosen; None where that is not told.

    Containers come in sizes, so few numbers are possible. Told for a single number of nights.
    """
    rule = _BY_SLUG.get(slug)
    if rule is None or len(problem.nights) != 1:
        return None
    (nights,) = problem.nights
    lacks = {rule.needed(problem, nights)}
    for group in problem.groups:
        held = {rule.brought(option, nights) for option in group.options} | (set() if group.needed else {0})
        lacks = {lack - amount for lack in lacks for amount in held}
        if len(lacks) > MOST_SHORTFALLS:
            return None
    return tuple(sorted({max(0, lack) for lack in lacks}))


def missing(variables: Variables, slug: str) -> Any:
    """What is lacking of one of these limits, below zero what is left over; for a single number of nights."""
    problem, rule = variables.problem, _BY_SLUG[slug]
    (nights,) = problem.nights
    brought = (
        rule.brought(option, nights) * variables.picked(group, option)
        for group in problem.groups for option in group.options if rule.brought(option, nights)
    )
    return rule.needed(problem, nights) - sum(brought)


_BY_SLUG = {rule.slug: rule for rule in (WATER, GREY, TOILET, CHILLED, FROZEN)}
