"""It fits: rectangles on the roof, boxes in the bays.

``add`` asks for what must be so however things are put: floor and load enough in the bays that take them.
How they are put is settled by ``places``; ``holds`` looks at a kit that has its places.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.packing.bays import Bay
from optimizer.packing.standing import stands
from optimizer.places.checking import bay_faults, roof_faults
from optimizer.places.reaching import beside_sparks, ways_of
from optimizer.places.things import bay_things, bays_of, box_of, boxes_of, items_of, pinned_fan, usable_bays
from optimizer.problem.kept import Kept
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules.base import Limit, Variables

Takers = frozenset[int]
"""Which of the bays take a thing, by their numbers."""
Known = dict[tuple[str, str, int, int, int, int], tuple[Takers, int]]
"""For a thing of a group: which bays take it, and what it needs of them. The same part comes in many options."""


class RoofPlan:
    """Every rectangle has its place on the roof."""

    slug = "roof_plan"
    sentence = "Panels and roof fan lie on the roof inside its margins, apart, and clear of what stands there."

    def add(self, variables: Variables) -> None:
        """Nothing beyond the sum of areas: the plan is laid out by ``places``."""

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Things to lie on the roof against things that lie right."""
        if problem.space is None or kit.places is None:
            return ()
        there = len(items_of(problem, kit)) + (pinned_fan(problem, kit) is not None)
        right = there - min(there, len(roof_faults(problem, kit)))
        return (Limit(self.slug, self.slug, self.sentence, "things", 1, there, right),)


_NEEDS: Kept[list[tuple[Group, Option, Takers, int]]] = Kept(32)


class _Bays:
    """What the two rules share: a sum of all things over sets of bays."""

    slug = ""
    sentence = ""

    def add(self, variables: Variables) -> None:
        """For each set of bays: what can go nowhere else needs no more than they have."""
        problem = variables.problem
        if problem.space is None or not problem.space.has_bays:
            return
        bays = bays_of(usable_bays(problem))
        needs = _NEEDS.of(
            (problem.groups, problem.space), (self.slug, tuple(bay.name for bay in bays)),
            lambda: self._all_needs(problem, bays),
        )  # fmt: skip
        for takers in sorted({takers for *_, takers, _ in needs}, key=sorted):
            inside = [(group, option, amount) for group, option, other, amount in needs if other <= takers]
            total = variables.weighted(inside)
            room = sum(self._room(bays[k].length * bays[k].width, bays[k].load) for k in takers)
            variables.demand(self.slug, total <= room)

    def _all_needs(self, problem: Problem, bays: tuple[Bay, ...]) -> list[tuple[Group, Option, Takers, int]]:
        """For each option, what it needs of which bays."""
        known: Known = {}
        return [
            (group, option, takers, amount)
            for group in problem.groups for option in group.options
            for takers, amount in self._needs(problem, bays, group, option, known)
        ]  # fmt: skip

    def _needs(
        self, problem: Problem, bays: tuple[Bay, ...], group: Group, option: Option,
        known: Known,
    ) -> Iterator[tuple[Takers, int]]:
        assert problem.space is not None
        for thing in bay_things(problem.space, option):
            one = (group.name, thing.part, thing.heaviest, thing.length, thing.width, thing.height)
            if one not in known:
                ways = stands(bays, box_of(thing.part, thing, group.name), 1)
                takers = frozenset(k for way in ways for k in way.bays)
                floor = min((way.floor[0] * way.floor[1] for way in ways), default=0)
                # What no bay takes needs more than the nothing there is.
                known[one] = takers, self._room(floor, thing.heaviest) if takers else 1
            takers, amount = known[one]
            yield takers, thing.count * amount

    def _room(self, area: int, mass: int) -> int:
        raise NotImplementedError


class BaySpace(_Bays):
    """Floor in the bays: boxes stand on it, never on each other."""

    slug = "bay_space"
    sentence = "Every box stands on the floor of a bay that may hold it, with its air, through its opening."

    def _room(self, area: int, mass: int) -> int:
        return area

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Floor taken, with the air around things, against floor; and boxes that stand right."""
        if problem.space is None or kit.places is None or not problem.space.has_bays:
            return ()
        boxes = {box.id: box for box in boxes_of(problem, kit)}
        limits = []
        for place in problem.space.bays:
            taken = sum(
                (s.length + 2 * boxes[s.id].clearance) * (s.width + 2 * boxes[s.id].clearance)
                for s in kit.places.stowed if s.bay == place.bay.name and s.id in boxes
            )  # fmt: skip
            name = f"{self.slug} {place.bay.name}"
            limits.append(
                Limit(self.slug, name, self.sentence, "m2", 1_000_000, taken, place.bay.length * place.bay.width)
            )
        right = len(boxes) - min(len(boxes), len(bay_faults(problem, kit)))
        return (*limits, Limit(self.slug, f"{self.slug} all boxes", self.sentence, "things", 1, len(boxes), right))


class BayLoad(_Bays):
    """What a bay's floor bears."""

    slug = "bay_load"
    sentence = "No bay holds more than it bears, everything in it full."

    def _room(self, area: int, mass: int) -> int:
        return mass

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Mass in each bay against what it bears."""
        if problem.space is None or kit.places is None or not problem.space.has_bays:
            return ()
        masses = {box.id: box.mass for box in boxes_of(problem, kit)}
        return tuple(
            Limit(
                self.slug, f"{self.slug} {place.bay.name}", self.sentence, "kg", 1000,
                sum(masses.get(s.id, 0) for s in kit.places.stowed if s.bay == place.bay.name), place.bay.load,
            )
            for place in problem.space.bays
        )  # fmt: skip


class CableReach:
    """Cables reach: nothing stands further from what feeds it than the cable that was bought for it."""

    slug = "cable_reach"
    sentence = "What hangs on the bank or the fuse box stands no further from it than its cable is long, one way."

    def add(self, variables: Variables) -> None:
        """Nothing: each reach is an option with its own cable, and ``places`` keeps what was chosen within it."""

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """The way between the middles of two things where they stand against the length of their cable."""
        return tuple(
            Limit(self.slug, f"{self.slug} {way.circuit}", self.sentence, "mm", 1, way.placed_mm, way.cable_mm)
            for way in ways_of(problem, kit)
        )


class FuelApart:
    """Fuel whose vapour burns at room temperature, and a bank that gives off hydrogen, stand away from sparks."""

    slug = "fuel_apart"
    sentence = (
        "Spirit, petrol and kerosene never share a bay with bank, inverter, chargers, fuse box, heater or anything"
        " else that can make a spark, nor do flooded batteries, which gas while they charge, with any of the others."
    )

    def add(self, variables: Variables) -> None:
        """Nothing: it hangs on where things are put, which ``places`` settles."""

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Cans in a bay with electrics, and flooded batteries with other electrics, against none. Common practice, no
        source, for fuel; ABYC E-10 asks no less of flooded batteries (from memory).
        """
        if problem.space is None or kit.places is None or not problem.space.has_bays:
            return ()
        cans = len(beside_sparks(problem, kit))
        return (Limit(self.slug, self.slug, self.sentence, "things", 1, cans, 0),)
