"""What lies on the roof: its area, its mass, its height; and the van's length."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Lever, Limit, Variables


class RoofArea:
    """Panels and fan against the free area of the roof."""

    slug = "roof_area"
    sentence = "Panels and roof fan cover no more than the roof's free area inside its margins."
    lever = Lever("roof_cm2", "vehicle.roof", +1, "m2", 10_000)

    def add(self, variables: Variables) -> None:
        """Sum of areas at most the free area."""
        covered = variables.total("area_cm2")
        variables.demand(self.slug, covered <= variables.problem.need("roof_cm2") + variables.give(self.slug))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Area covered against area free."""
        used = kit.sum(problem, "area_cm2")
        allowed = problem.need("roof_cm2") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "m2", 10_000, used, allowed),)


class RoofLoad:
    """Mass on the roof."""

    slug = "roof_load"
    sentence = "Panels, brackets, fan and rack weigh no more than the roof may carry on the road."
    lever = Lever("roof_load_g", "vehicle.roof.load", +1, "kg", 1000)

    def add(self, variables: Variables) -> None:
        """Sum of masses at most the roof load."""
        rack = variables.problem.need("rack_g")
        load = variables.total("roof_g") + rack
        variables.demand(self.slug, load <= variables.problem.need("roof_load_g") + variables.give(self.slug))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Mass on the roof against its rating."""
        used = kit.sum(problem, "roof_g") + problem.need("rack_g")
        allowed = problem.need("roof_load_g") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "kg", 1000, used, allowed),)


class OverallHeight:
    """The highest thing on the roof."""

    slug = "overall_height"
    sentence = "The van with the highest thing on its roof passes under the lowest door or barrier."
    lever = Lever("height_mm", "limits.overall_height", +1, "mm", 1)

    def add(self, variables: Variables) -> None:
        """Nothing that stands higher than the room above the roof."""
        problem = variables.problem
        room = problem.need("height_mm") - problem.need("van_height_mm") + variables.give(self.slug)
        least = problem.need("height_mm") - problem.need("van_height_mm") + min(0, problem.give(self.slug))
        variables.demand(self.slug, variables.number("always_zero", 0) <= room)
        for group in problem.groups:
            for option in group.options:
                if option.get("height_mm") > least:
                    variables.demand(
                        self.slug, option.get("height_mm") <= room, variables.picked(group, option)
                    )

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Height over all against the height allowed."""
        things = [option.get("height_mm") for _, option in kit.options(problem)]
        used = problem.need("van_height_mm") + max(things, default=0)
        allowed = problem.need("height_mm") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "mm", 1, used, allowed),)


class ParkingLength:
    """Bumper to bumper with what hangs on the back, against the space to park in."""

    slug = "parking_length"
    sentence = "The van with what hangs on its back is no longer than the parking space."
    lever = Lever("parking_mm", "limits.parking_length", +1, "mm", 1)

    def add(self, variables: Variables) -> None:
        """A plain yes or no for the van itself; a bay that would hang out too far is never used."""
        problem = variables.problem
        over = problem.need("length_mm") - problem.need("parking_mm")
        variables.demand(self.slug, variables.number("always_zero", 0) + over <= variables.give(self.slug))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Length against the space."""
        used = problem.need("length_mm") + _hanging(problem, kit)
        allowed = problem.need("parking_mm") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "mm", 1, used, allowed),)


def _hanging(problem: Problem, kit: Kit) -> int:
    """What the bays in use behind the bumper add to the length [mm]."""
    if kit.places is None or problem.space is None:
        return 0
    used = {stowed.bay for stowed in kit.places.stowed}
    return max((place.hangs_out for place in problem.space.bays if place.bay.name in used), default=0)
