"""The van stays under its gross rating with everything full and everybody in."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Lever, Limit, Variables


class Payload:
    """All that is put into the van: at departure, tanks full, and on the return, waste tanks full."""

    slug = "payload"
    sentence = (
        "The van as weighed, people, fittings, gear, food, the kit, full water and full fuel stay under"
        " the gross rating less the margin; so do they with waste water full and all else used up."
    )
    lever = Lever("payload_g", "vehicle.gross_mass", +1, "kg", 1000)

    def add(self, variables: Variables) -> None:
        """Mass carried at most the payload, for whichever number of nights is chosen."""
        problem = variables.problem
        back = variables.total("mass_g") + variables.total("grey_g")
        kit = variables.total("mass_g") + variables.total("full_g")
        for nights, chosen in variables.nights().items():
            food = problem.need("food_g_night") * nights
            used_up = variables.total("used_g_night") * nights
            variables.demand(
                self.slug,
                kit + used_up + problem.need("carried_g") + food
                <= problem.need("payload_g") + variables.give(self.slug),
                chosen,
            )
            variables.demand(
                self.slug,
                back + used_up + problem.need("carried_g") <= problem.need("payload_g") + variables.give(self.slug),
                chosen,
            )

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Mass carried against the payload."""
        used = carried_g(problem, kit)
        allowed = problem.need("payload_g") + problem.give(self.slug)
        limits = (Limit(self.slug, self.slug, self.sentence, "kg", 1000, used, allowed),)
        if not kit.sum(problem, "grey_g"):
            return limits
        back = carried_back_g(problem, kit)
        return (*limits, Limit(self.slug, f"{self.slug} return", self.sentence, "kg", 1000, back, allowed))


def kit_mass_g(problem: Problem, kit: Kit) -> int:
    """Empty mass of the kit's parts [g]."""
    return sum(option.mass_g for _, option in kit.options(problem))


def carried_g(problem: Problem, kit: Kit) -> int:
    """Everything the van carries at departure [g]."""
    full = kit.sum(problem, "full_g")
    for_nights = kit.nights * (problem.need("food_g_night") + kit.sum(problem, "used_g_night"))
    return kit_mass_g(problem, kit) + full + for_nights + problem.need("carried_g")


def carried_back_g(problem: Problem, kit: Kit) -> int:
    """Everything the van carries at the end: waste water full, food, water and fuel used up [g]."""
    refuse = kit.sum(problem, "grey_g") + kit.nights * kit.sum(problem, "used_g_night")
    return kit_mass_g(problem, kit) + refuse + problem.need("carried_g")
