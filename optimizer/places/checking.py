"""Whether the places of a kit are right: inside, apart, clear, upright, rated. No solver, no model.

On the road: placed kit -> *check*.
"""

from __future__ import annotations

from optimizer.packing.bays import check_bays
from optimizer.packing.shapes import check_placement
from optimizer.places.things import bays_of, boxes_of, items_of, pinned_fan, split_groups, usable_bays
from optimizer.problem.records import Kit, Problem


def roof_faults(problem: Problem, kit: Kit) -> list[str]:
    """Everything wrong with how a placed kit lies on the roof, a sentence each."""
    space = problem.space
    if space is None or kit.places is None:
        return []
    roof, fan = space.roof, pinned_fan(problem, kit)
    wrong = check_placement(roof.region, kit.places.roof, roof.gap, items_of(problem, kit))
    if fan is None:
        return wrong
    wrong += [
        f"{placed.id} and the roof fan are less than {roof.gap} apart or overlap"
        for placed in kit.places.roof if placed.overlaps(fan, roof.gap)
    ]  # fmt: skip
    x, y = fan.x + roof.margin[0], fan.y + roof.margin[1]
    if x < 0 or y < 0 or x + fan.length > roof.size[0] or y + fan.width > roof.size[1]:
        wrong.append("the roof fan reaches beyond the roof")
    wrong += [f"the roof fan is on {o.id}" for o in roof.region.obstacles if fan.overlaps(o)]
    return wrong


def bay_faults(problem: Problem, kit: Kit) -> list[str]:
    """Everything wrong with how a placed kit is stowed, a sentence each."""
    if problem.space is None or kit.places is None:
        return []
    bays = bays_of(usable_bays(problem))
    return check_bays(bays, boxes_of(problem, kit), kit.places.stowed, split_groups(problem))
