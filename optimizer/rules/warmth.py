"""Warm on the coldest night, with fuel for all the nights."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Lever, Limit, Variables

FUELS = ("diesel", "petrol", "kerosene", "propane", "alcohol")
NL_PER_ML = 1_000_000


class HeatOutput:
    """The heater holds the night set-point in the coldest hour, at the place's altitude."""

    slug = "heat_output"
    sentence = "At the place's altitude the heater holds the night temperature on the coldest night."
    lever = Lever("coldest_unused", "place.coldest_night", +1, "degC", 1000)

    def add(self, variables: Variables) -> None:
        """Heat given at least the heat lost, for the insulation chosen."""
        problem = variables.problem
        if not problem.need("heating"):
            return
        given = variables.total("heat_w", "heater") + variables.give(self.slug)
        variables.demand(self.slug, variables.total("night_w", "insulation") <= given)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Heat needed on the coldest night against heat given."""
        if not problem.need("heating"):
            return ()
        used = kit.sum(problem, "night_w", "insulation")
        allowed = kit.sum(problem, "heat_w", "heater") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "W", 1, used, allowed),)


class Fuel:
    """Fuel for the trip: the coldest month's mean day for every night, and the cooking."""

    slug = "fuel"
    sentence = "Tanks and bottles hold the fuel for heating (the coldest month's mean day) and cooking, all nights."

    def add(self, variables: Variables) -> None:
        """A fuel each: need at most what is held, for the insulation and nights chosen."""
        problem = variables.problem
        for fuel in FUELS:
            held = variables.total(f"hold_{fuel}_ml") + problem.need(f"own_{fuel}_ml") + variables.give(self.slug)
            cooking = variables.total(f"cook_{fuel}_nl_night")
            for nights, lasts in variables.nights().items():
                variables.demand(self.slug, nights * cooking <= NL_PER_ML * held, lasts)
                if not problem.need("mean_fuel"):
                    continue
                for group in problem.of_kind("insulation"):
                    for option in group.options:
                        heat = option.get("heat_worst_wh")
                        burnt = heat * variables.total(f"burn_{fuel}_nl_wh", "heater")
                        variables.demand(
                            self.slug,
                            nights * (burnt + cooking) <= NL_PER_ML * held,
                            lasts, variables.picked(group, option),
                        )

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Litres needed against litres held, a fuel each that is used or held."""
        limits = []
        heat = kit.sum(problem, "heat_worst_wh", "insulation") if problem.need("mean_fuel") else 0
        for fuel in FUELS:
            per_night = heat * kit.sum(problem, f"burn_{fuel}_nl_wh", "heater")
            per_night += kit.sum(problem, f"cook_{fuel}_nl_night")
            used = -(-kit.nights * per_night // NL_PER_ML)
            allowed = kit.sum(problem, f"hold_{fuel}_ml") + problem.need(f"own_{fuel}_ml") + problem.give(self.slug)
            if used or kit.sum(problem, f"hold_{fuel}_ml") or kit.sum(problem, f"burn_{fuel}_nl_wh", "heater"):
                limits.append(Limit(self.slug, f"{self.slug} {fuel}", self.sentence, "L", 1000, used, allowed))
        return tuple(limits)
