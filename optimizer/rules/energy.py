"""Energy kept and energy won: the sunless days, and the mean day of each month."""

from __future__ import annotations

from typing import Any

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Lever, Limit, Variables
from optimizer.rules.loads import MOST_WH, add_day_load, by_number, day_load, hardest_months

SLOTS = (1, 2)


class SunlessEnergy:
    """The battery alone carries the days wanted without any sun or driving."""

    slug = "sunless_energy"
    sentence = "The usable battery alone carries every load for the sunless days wanted."
    lever = Lever("sunless_millidays", "trip.sunless_days", -1, "days", 1000)

    def add(self, variables: Variables) -> None:
        """Usable energy at least days times load, in each month."""
        days = variables.problem.need("sunless_millidays")
        if not days:
            return
        for month in hardest_months(variables.problem):
            load = add_day_load(variables, self.slug, month)
            usable = variables.total("usable_wh", "battery") + variables.give(self.slug)
            variables.demand(self.slug, 1000 * usable >= days * load)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """The hardest month against the usable battery."""
        days = problem.need("sunless_millidays")
        allowed = kit.sum(problem, "usable_wh", "battery") + problem.give(self.slug)
        used = max(-(-days * day_load(problem, kit, month) // 1000) for month in problem.months)
        return (Limit(self.slug, self.slug, self.sentence, "Wh", 1, used, allowed),)


class DailyBalance:
    """On the mean day of each month of the season, no more is used than comes in."""

    slug = "daily_balance"
    sentence = "On the mean day of each month of the season, sun and driving bring what the loads take."
    lever = Lever("sun_permille", "place.sun_stress", +1, "%", 10)

    def add(self, variables: Variables) -> None:
        """For each month: stored energy given back at least the load."""
        problem = variables.problem
        for month in problem.months:
            load = add_day_load(variables, self.slug, month)
            won = variables.total("alternator_wh_day", "alternator_charger")
            for slot in SLOTS:
                if problem.has(f"panels_{slot}"):
                    won += self._add_sun(variables, slot, month)
            for group in problem.of_kind("battery"):
                for kept, keys in by_number(group, "roundtrip_permille").items():
                    variables.demand(
                        self.slug, kept * won + 1000 * variables.give(self.slug) >= 1000 * load,
                        variables.any_of(group, keys),
                    )

    def _add_sun(self, variables: Variables, slot: int, month: int) -> Any:
        """What an array brings on the mean day, at most: one unknown below what its controller allows."""
        problem = variables.problem
        sun = variables.number(f"sun {slot} {month}", MOST_WH)
        group = problem.group(f"controller_{slot}")
        for controller in group.options:
            panels = variables.of(f"panels_{slot}", _sun_name(controller.get("tracking"), controller.voltage, month))
            variables.demand(
                self.slug,
                1000 * sun <= controller.get("efficiency_permille") * panels,
                variables.picked(group, controller),
            )
        fitted = sum(variables.picked(group, controller) for controller in group.options)
        variables.demand(self.slug, sun <= MOST_WH * fitted)
        return sun

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Load against what the bank gives back of what comes in, month by month."""
        kept = kit.sum(problem, "roundtrip_permille", "battery")
        limits = []
        for month in problem.months:
            allowed = kept * day_won(problem, kit, month) // 1000 + problem.give(self.slug)
            used = day_load(problem, kit, month)
            name = f"{self.slug} {MONTHS[month - 1]}"
            limits.append(Limit(self.slug, name, self.sentence, "Wh a day", 1, used, allowed))
        return tuple(limits)


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _sun_name(tracking: int, voltage: int, month: int) -> str:
    return f"sun_tracked_{month}_wh" if tracking else f"sun_switched_{voltage}_{month}_wh"


def day_won(problem: Problem, kit: Kit, month: int) -> int:
    """What sun and driving bring to the bank's side on the mean day of a month [Wh]."""
    won = kit.sum(problem, "alternator_wh_day", "alternator_charger")
    for slot in SLOTS:
        panels = kit.chosen(problem, f"panels_{slot}")
        controller = kit.chosen(problem, f"controller_{slot}")
        if panels is not None and controller is not None:
            name = _sun_name(controller.get("tracking"), controller.voltage, month)
            won += controller.get("efficiency_permille") * panels.get(name) // 1000
    return won
