"""The axles carry it: front, rear, and one side against the other, in every loading state.

Each thing counts at the middle of its bay or of the roof; what has no place that is known counts in full on
both axles. ``add`` asks what must be so wherever things are put; where they are put is settled by
``places``; ``holds`` weighs a kit that has its places.
"""

from __future__ import annotations

from optimizer.places.loads import MEASURES, Loads, Measure
from optimizer.places.weighing import Weights, weights
from optimizer.problem.kept import Kept
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules.base import Lever, Limit, Variables

_LEASTS: Kept[list[tuple[Group, Option, int]]] = Kept(128)


def _leasts(loads: Loads, measure: Measure, nights: int) -> list[tuple[Group, Option, int]]:
    """The least that each option adds to a sum [g at the limit], rounded down; those that add nothing left out."""
    unit, found = loads.unit(measure), []
    for group in loads.problem.groups:
        for option in group.options:
            least = loads.lowest(measure, group, option, nights)
            if least:
                found.append((group, option, least // unit))
    return found


class _Balance:
    """What the three rules share."""

    slug = ""
    sentence = ""
    need = ""

    def add(self, variables: Variables) -> None:
        """The least that every choice adds, wherever its boxes go, stays within what is allowed."""
        if variables.problem.space is None:
            return
        loads = Loads(variables.problem)
        for measure in MEASURES:
            if measure.slug == self.slug:
                self._add(variables, loads, measure)

    def _add(self, variables: Variables, loads: Loads, measure: Measure) -> None:
        problem, nights = variables.problem, min(variables.problem.nights)
        unit = loads.unit(measure)
        bays = tuple(place.bay.name for place in loads.places)
        leasts = _LEASTS.of(
            (problem.groups, problem.space), (measure, bays, nights), lambda: _leasts(loads, measure, nights)
        )
        total = variables.weighted(leasts)
        most = loads.allowed(measure) - loads.food(measure) * nights - problem.give(self.slug) * unit
        # Each part is rounded down to whole grams, so what fits is never cut off.
        room = most // unit + variables.give(self.slug)
        variables.demand(self.slug, total + variables.number("always_zero", 0) <= room)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """What rests on it in each loading state; nothing yet for a kit without its places."""
        if problem.space is None or kit.places is None:
            return ()
        allowed = problem.need(self.need) + problem.give(self.slug)
        return tuple(
            Limit(self.slug, f"{self.slug} {one.state}", self.sentence, "kg", 1000, self._used(one), allowed)
            for one in weights(problem, kit)
        )

    def _used(self, one: Weights) -> int:
        raise NotImplementedError


class FrontAxle(_Balance):
    """What rests on the front axle."""

    slug = "front_axle"
    sentence = "In every loading state the front axle carries no more than its rating."
    need = "front_axle_g"
    lever = Lever("front_axle_g", "vehicle.front_axle_rating", +1, "kg", 1000)

    def _used(self, one: Weights) -> int:
        return one.front


class RearAxle(_Balance):
    """What rests on the rear axle; what hangs behind it levers."""

    slug = "rear_axle"
    sentence = "In every loading state the rear axle carries no more than its rating."
    need = "rear_axle_g"
    lever = Lever("rear_axle_g", "vehicle.rear_axle_rating", +1, "kg", 1000)

    def _used(self, one: Weights) -> int:
        return one.rear


class SideBalance(_Balance):
    """One side against the other."""

    slug = "side_balance"
    sentence = "In every loading state neither side carries more than the other by more than is allowed."
    need = "side_g"
    lever = Lever("side_g", "vehicle.side_difference", +1, "kg", 1000)

    def _used(self, one: Weights) -> int:
        return one.difference
