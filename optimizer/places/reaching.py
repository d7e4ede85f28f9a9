"""What of a kit must stand near what, or apart: cables that reach, fuel and gas away from sparks; what places came to.

On the road: problem + kit -> *places* -> check. Knows no solver. The two halves share nothing but ``space.Reach``:
``nears_of`` asks for places within reach, ``ways_of`` measures between the places that were found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.circuits.records import Circuit
from optimizer.packing.bays import Stowed
from optimizer.packing.nearness import Corner, Near
from optimizer.places.things import bay_things, named
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.problem.space import BayPlace, Reach, Space
from optimizer.units import demand_up, supply_down

CONVERTER, FUSE_BOX = "dc_converter", "safety fuse_box"


# -- what is asked of places ------------------------------------------------------------------------


def nears_of(space: Space, places: Sequence[BayPlace], chosen: Sequence[tuple[Group, Option]]) -> tuple[Near, ...]:
    """What must be near what among chosen options, boxes counted in their order, bays as in ``places``.

    What gives off vapour or hydrogen is a special case: it must not be in the same bay as all that can make a spark. A
    bank that gasses has terminals too, so fuel keeps away from it as from any other.
    """
    numbers: dict[str, list[int]] = {}
    main: dict[str, list[int]] = {}
    hazards: dict[str, list[int]] = {}
    reach: dict[str, int] = {}
    count = 0
    for group, option in chosen:
        for _, thing in named(group, bay_things(space, option)):
            hazards.setdefault(thing.hazard, []).append(count)
            numbers.setdefault(group.name, []).append(count)
            if thing.part == option.main:
                main.setdefault(group.name, []).append(count)
            count += 1
        reach[group.name] = option.reach_mm
    sparks, same_bay = tuple(hazards.get("spark", ())), tuple((number, number) for number in range(len(places)))
    lights = (*sparks, *hazards.get("gassing", ()))
    found = [Near(can, lights, same_bay) for can in hazards.get("vapour", ()) if lights]
    found += [Near(battery, sparks, same_bay) for battery in hazards.get("gassing", ()) if sparks]
    for one in space.reaches:
        most = reach.get(one.end, 0)
        if most and one.source in main:
            found += [_near(space, places, one, most, end, numbers, main) for end in numbers.get(one.end, ())]
    return tuple(found)


def _near(
    space: Space, places: Sequence[BayPlace], reach: Reach, most: int, end: int,
    numbers: dict[str, list[int]], main: dict[str, list[int]],
) -> Near:  # fmt: skip
    if reach.stated:
        return Near(end, tuple(main[reach.source]), most=most, corners=tuple(corner_of(place) for place in places))
    index = {place.bay.name: number for number, place in enumerate(places)}
    barred = tuple(sorted(
        (index[one], index[other]) for one, other, mm in reach.apart if mm > most and {one, other} <= set(index)
    ))  # fmt: skip
    return Near(end, tuple(numbers[reach.source]), barred)


def corner_of(place: BayPlace) -> Corner:
    """Twice where the corner of a bay is from the van's origin [mm]: along, across, up."""
    at = place.at
    assert at.x_low is not None
    assert at.x_high is not None
    along, across = at.x_low + at.x_high - place.bay.length, at.y_low + at.y_high - place.bay.width
    return along, across, 2 * place.floor


# -- what places turn out to be ---------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """How far apart the two ends of a circuit stand, and how long its cable is, one way [mm]."""

    circuit: str
    source: str
    end: str
    placed_mm: int
    """Rounded up."""
    cable_mm: int
    """Rounded down."""


def ways_of(problem: Problem, kit: Kit) -> tuple[Way, ...]:
    """Every circuit between two placed things, measured between their middles; none for a kit without places."""
    if problem.space is None or not problem.space.reaches or kit.places is None:
        return ()
    bays = {place.bay.name: place for place in problem.space.bays}
    spots: dict[str, list[tuple[float, float, float]]] = {}
    for stowed in kit.places.stowed:
        group, _, part = stowed.id.rpartition("/")[0].rpartition("/")
        option = kit.chosen(problem, group)
        if option is not None and option.main == part and stowed.bay in bays:
            spots.setdefault(group, []).append(_middle(stowed, bays[stowed.bay]))
    found = []
    for reach in problem.space.reaches:
        option = kit.chosen(problem, reach.end)
        circuit = None if option is None else joining(reach, option)
        if circuit is not None and reach.source in spots and reach.end in spots:
            least = max(min(_apart(one, end) for one in spots[reach.source]) for end in spots[reach.end])
            bought = supply_down(circuit.length_m, 1000)
            name = circuit.name.replace("busbars", "converter") if reach.source == CONVERTER else circuit.name
            found.append(Way(name, reach.source, reach.end, demand_up(least), bought))
    return tuple(found)


def beside_sparks(problem: Problem, kit: Kit) -> tuple[str, ...]:
    """The boxes whose vapour or gas burns that share a bay with something that can light it."""
    if problem.space is None or kit.places is None:
        return ()
    hazards = {
        f"{group.name}/{thing.part}": thing.hazard for group, option in kit.options(problem) for thing in option.things
    }
    homes: dict[str, set[str]] = {"vapour": set(), "gassing": set(), "spark": set()}
    boxes = [(stowed, hazards.get(stowed.id.rpartition("/")[0], "")) for stowed in kit.places.stowed]
    for stowed, hazard in boxes:
        homes.setdefault(hazard, set()).add(stowed.bay)
    lit = {"vapour": homes["spark"] | homes["gassing"], "gassing": homes["spark"]}
    return tuple(stowed.id for stowed, hazard in boxes if stowed.bay in lit.get(hazard, ()))


def joining(reach: Reach, option: Option) -> Circuit | None:
    """The circuit that joins the end of a reach to its source."""
    level = "box" if reach.source == FUSE_BOX else "branch"
    return next((c for c in option.circuits if c.level == level and not c.engine_space), None)


def _middle(stowed: Stowed, place: BayPlace) -> tuple[float, float, float]:
    """Middle of a box: aft of the front axle, right of the centre line, above the ground [mm]."""
    at, bay = place.at, place.bay
    assert at.x_low is not None
    assert at.x_high is not None
    along = (at.x_low + at.x_high) / 2 - bay.length / 2 + stowed.x + stowed.length / 2
    across = (at.y_low + at.y_high) / 2 - bay.width / 2 + stowed.y + stowed.width / 2
    return along, across, place.floor + stowed.height / 2


def _apart(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    return sum(abs(a - b) for a, b in zip(one, other, strict=True))
