"""Looks for places: the kit's rectangles on the roof, its boxes in the bays with the axles in force.

On the road: kit -> *places* -> placed kit. The same kit gets the same places whenever it is asked about.
"""

from __future__ import annotations

from dataclasses import replace

from optimizer.packing.bays import Sum
from optimizer.packing.model import EFFORT, SECONDS, pack
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, Item, NoPacking, Placed, Region
from optimizer.packing.stowing import stow
from optimizer.places.as_laid import evened
from optimizer.places.loads import MEASURES, Loads, Measure
from optimizer.places.reaching import nears_of
from optimizer.places.things import bay_things, bays_of, boxes_of, items_of, pinned_fan, split_groups
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement, RoofPlace

HARDER = 6.0
"""How much more effort a second attempt gets."""


def lay_out(
    roof: RoofPlace, items: tuple[Item, ...], fan: Placed | None, effort: float = 0.0
) -> tuple[Placed, ...] | NoPacking:
    """Places on the roof for all items beside a pinned fan; or why there are none.

    With an ``effort`` of its own the search is given that and no second attempt.
    """
    region = roof.region
    if fan is not None:
        if not fan_may_be(roof, fan):
            return IMPOSSIBLE
        region = Region(region.length, region.width, (*region.obstacles, fan))
    found = pack(region, items, roof.gap, effort=effort or EFFORT)
    if not effort and found is UNDECIDED:
        found = pack(region, items, roof.gap, effort=EFFORT * HARDER, seconds=SECONDS * HARDER)
    return found


def fan_may_be(roof: RoofPlace, fan: Placed) -> bool:
    """Whether a pinned fan is on a flat part (its margins too), on no obstacle and in no lane."""
    there = fan.moved(*roof.margin)
    on_flat = any(there.within(flat) for flat in roof.flats)
    return on_flat and not any(there.overlaps(other) for other in (*roof.obstacles, *roof.kept_free))


def sums_of(loads: Loads, kit: Kit, measures: tuple[Measure, ...] = MEASURES) -> tuple[Sum, ...]:
    """What the axles and sides ask of where the kit's boxes go: a row a box, in the order of ``boxes_of``."""
    problem, places = loads.problem, loads.places
    chosen = kit.options(problem)
    things = [t for _, option in chosen for t in bay_things(loads.space, option) for _ in range(t.count)]
    found = []
    for measure in measures:
        loose = sum(loads.loose(measure, group, option, kit.nights) for group, option in chosen)
        most = loads.allowed(measure) - loads.food(measure) * kit.nights - loose
        rows = tuple(tuple(loads.in_bay(measure, thing, place) for place in places) for thing in things)
        found.append(Sum(rows, most))
    return tuple(found)


def place(problem: Problem, kit: Kit) -> Placement | NoPacking:
    """Places for everything of a kit; IMPOSSIBLE when there are none, UNDECIDED when that is not known."""
    if problem.space is None:
        return Placement()
    laid = lay_out(problem.space.roof, items_of(problem, kit), pinned_fan(problem, kit))
    if laid is IMPOSSIBLE:
        return IMPOSSIBLE
    loads = Loads(problem)
    boxes = boxes_of(problem, kit)
    bays, split = bays_of(loads.places), split_groups(problem)
    sums, nears = sums_of(loads, kit), nears_of(problem.space, loads.places, kit.options(problem))
    stowed = stow(bays, boxes, split, sums=sums, nears=nears)
    if stowed is UNDECIDED:
        stowed = stow(bays, boxes, split, effort=EFFORT * HARDER, seconds=SECONDS * HARDER, sums=sums, nears=nears)
    if isinstance(stowed, NoPacking):
        return stowed
    return laid if isinstance(laid, NoPacking) else Placement(laid, stowed)


def placed(problem: Problem, kit: Kit) -> Kit:
    """The kit with its places. ValueError when none are found: only kits that were judged to fit are asked."""
    found = place(problem, kit)
    if isinstance(found, NoPacking):
        raise ValueError(f"there are no places for this kit: {found.value}")
    return evened(problem, replace(kit, places=found))
