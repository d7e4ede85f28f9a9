"""Whether the places of a kit are right: inside, apart, clear, upright, rated. No solver, no model.

On the road: placed kit -> *check*.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.packing.bays import check_bays
from optimizer.packing.shapes import Placed, Region, check_placement
from optimizer.places.things import bays_of, boxes_of, items_of, pinned_fan, split_groups, usable_bays
from optimizer.problem.records import Kit, Problem
from optimizer.problem.roof_place import RoofPlace


def roof_faults(problem: Problem, kit: Kit) -> list[str]:
    """Everything wrong with how a placed kit lies on the roof, a sentence each."""
    space = problem.space
    if space is None or kit.places is None:
        return []
    roof, fan = space.roof, pinned_fan(problem, kit)
    laid = [placed.moved(*roof.margin) for placed in kit.places.roof]
    wrong = check_placement(Region(*roof.size, roof.obstacles), laid, roof.gap, items_of(problem, kit))
    flats = [flat.grown(-roof.part_edge) for flat in roof.flats]
    wrong += [f"{p.id} does not lie inside the margins of a flat part" for p in laid if not _on_one(p, flats)]
    wrong += [f"{p.id} lies in the lane {lane.id}" for p in laid for lane in roof.kept_free if p.overlaps(lane)]
    return wrong if fan is None else wrong + _fan_faults(roof, laid, fan.moved(*roof.margin))


def _on_one(thing: Placed, flats: Sequence[Placed]) -> bool:
    return any(thing.within(flat) for flat in flats)


def _fan_faults(roof: RoofPlace, laid: Sequence[Placed], fan: Placed) -> list[str]:
    """Everything wrong with a pinned fan, which may lie in the margins."""
    wrong = [
        f"{placed.id} and the roof fan are less than {roof.gap} apart or overlap"
        for placed in laid if placed.overlaps(fan, roof.gap)
    ]  # fmt: skip
    if not _on_one(fan, roof.flats):
        wrong.append("the roof fan reaches beyond the flat roof")
    return wrong + [f"the roof fan is on {o.id}" for o in (*roof.obstacles, *roof.kept_free) if fan.overlaps(o)]


def bay_faults(problem: Problem, kit: Kit) -> list[str]:
    """Everything wrong with how a placed kit is stowed, a sentence each."""
    if problem.space is None or kit.places is None:
        return []
    bays = bays_of(usable_bays(problem))
    return check_bays(bays, boxes_of(problem, kit), kit.places.stowed, split_groups(problem))
