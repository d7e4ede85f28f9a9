"""Brief -> Space, and parts -> things that need a place.

On the road: brief + parts -> *problem*. Everything is rounded here, once, against the kit.
"""

from __future__ import annotations

from math import ceil, floor

from optimizer.brief.brief import Brief
from optimizer.brief.vehicle import Bay as BayOfBrief
from optimizer.brief.vehicle import Flat, Obstacle, Roof, Vehicle
from optimizer.packing.bays import Bay
from optimizer.packing.grid import snap_region
from optimizer.packing.shapes import Placed, Region
from optimizer.parts.records import (
    AlternatorCharger,
    Battery,
    CellManager,
    ChargeController,
    DcConverter,
    FuelTank,
    GreyContainer,
    Heater,
    Inverter,
    MainsCharger,
    OwnPart,
    Part,
    SolarPanel,
    WaterContainer,
)
from optimizer.physics.fuel import FUEL_DENSITY_KG_L
from optimizer.physics.water import WATER_KG_L
from optimizer.problem.roof_place import At, Lane, RoofPlace
from optimizer.problem.space import Ballast, BayPlace, Space, Thing
from optimizer.units import MASS_SCALE, demand_up, supply_down

SEAT_FROM_MIDDLE = 0.25
"""Of the track: how far from the middle an unnamed seat may be; common practice, no source."""
VAPOUR_FUELS = ("alcohol", "petrol", "kerosene")
"""Flash points below or about what a van in the sun gets to; diesel's is above 55 degC (EN 590, from memory)."""
SPARKING = (Battery, CellManager, ChargeController, AlternatorCharger, MainsCharger, Inverter, DcConverter, Heater)
"""What has switches or terminals under load; a heater also gets hot enough to set vapour alight."""
ALL, PEOPLE, DRIVER = (0, 1, 2), (0, 2), (0, 1, 2)


def space_of(brief: Brief) -> Space:
    """The van's places and what rests on its axles whatever is chosen."""
    vehicle = brief.vehicle
    weighed = vehicle.front_axle_mass + vehicle.rear_axle_mass
    lean = weighed * (1 - 2 * vehicle.left_share / 100)
    return Space(
        roof=_roof(vehicle.roof),
        bays=tuple(_bay(vehicle, bay) for bay in vehicle.bays),
        wheelbase=(supply_down(vehicle.wheelbase), demand_up(vehicle.wheelbase)),
        track=supply_down(vehicle.track),
        weighed=(demand_up(vehicle.front_axle_mass, MASS_SCALE), demand_up(vehicle.rear_axle_mass, MASS_SCALE)),
        weighed_sides=(demand_up(lean, MASS_SCALE), demand_up(-lean, MASS_SCALE)),
        ballast=tuple(_ballast(brief)),
        food=_at(brief.supplies.food_x, brief.supplies.food_y),
        may_split=brief.preferences.split_bays,
    )


def _at(x: float | None, y: float) -> At:
    if x is None:
        return At(None, None, floor(y), ceil(y))
    return At(floor(x), ceil(x), floor(y), ceil(y))


def _roof(roof: Roof) -> RoofPlace:
    edge, curve = demand_up(roof.edge_margin), demand_up(roof.curve)
    fan = None
    if roof.fan_x is not None and roof.fan_y is not None:
        fan = (floor(roof.fan_x) - edge, floor(roof.fan_y) - edge - curve)
    middle = None if roof.x is None else roof.x + roof.length / 2
    return RoofPlace(
        (supply_down(roof.length), supply_down(roof.width)), edge, demand_up(roof.gap), _at(middle, 0.0), curve,
        tuple(_inward(part) for part in roof.flats), tuple(_outward(thing) for thing in roof.obstacles),
        tuple(Lane(lane.name, lane.side, floor(lane.start), ceil(lane.start + lane.width) - floor(lane.start))
              for lane in roof.lanes),
        fan, demand_up(roof.fan_length),
    )  # fmt: skip


def _outward(thing: Obstacle) -> Placed:
    x, y = floor(thing.x), floor(thing.y)
    return Placed(thing.name, x, y, ceil(thing.x + thing.length) - x, ceil(thing.y + thing.width) - y)


def _inward(part: Flat) -> Placed:
    x, y = ceil(part.x), ceil(part.y)
    far_x, far_y = floor(part.x + part.length), floor(part.y + part.width)
    return Placed(part.name, x, y, max(0, far_x - x), max(0, far_y - y))


def _bay(vehicle: Vehicle, bay: BayOfBrief) -> BayPlace:
    doors = (None if d is None else supply_down(d) for d in (bay.door_width, bay.door_height))
    inner = Bay(
        bay.name, supply_down(bay.length), supply_down(bay.width), supply_down(bay.height),
        supply_down(bay.load, MASS_SCALE), tuple(sorted(set(bay.tags))), *doors,
    )  # fmt: skip
    hangs = 0
    if "rear_hang" in bay.tags:
        # What is measured from the bumper may not be less than the thing itself is long.
        behind = bay.x + bay.length / 2 - (vehicle.length - vehicle.front_overhang)
        hangs = demand_up(max(bay.length, behind))
    return BayPlace(inner, _at(bay.x, bay.y), supply_down(bay.z), hangs)


def _ballast(brief: Brief) -> list[Ballast]:
    """People on their seats, the first of them the driver; fittings; gear."""
    vehicle, supplies = brief.vehicle, brief.supplies
    seats = {seat.name: _at(seat.x, seat.y) for seat in vehicle.seats}
    aside = vehicle.track * SEAT_FROM_MIDDLE
    anywhere = At(None, None, floor(-aside), ceil(aside))
    found = [
        Ballast(
            person.name or f"person {number}", demand_up(person.mass, MASS_SCALE), seats.get(person.seat, anywhere),
            DRIVER if number == 1 else PEOPLE,
        )
        for number, person in enumerate(brief.people, 1)
    ]
    found += [Ballast(f.name, demand_up(f.mass, MASS_SCALE), _at(f.x, f.y), ALL) for f in vehicle.fittings]
    gear = demand_up(supplies.gear, MASS_SCALE)
    return [*found, Ballast("gear", gear, _at(supplies.gear_x, supplies.gear_y), PEOPLE)]


def free_roof_cm2(space: Space) -> int:
    """Area for panels and fan, each with its gap, inside the margins and off the obstacles [cm2].

    Rounded up, as things are rounded down: this sum only spares work. Whether they fit is laid out.
    """
    return -(-snap_region(space.roof.region, space.roof.gap, 1).free_area // 100)


def roof_taken_cm2(space: Space, length: float, width: float, clearance: float = 0.0) -> int:
    """What one thing with the room kept free around it takes of that area [cm2], rounded down."""
    gap = space.roof.gap + 2 * demand_up(clearance)
    return (demand_up(length) + gap) * (demand_up(width) + gap) // 100


def fan_taken_cm2(space: Space, side: int) -> int:
    """What a fan takes of that area: its own, or where it is pinned whatever of it is still free [cm2]."""
    roof = space.roof
    pinned = roof.fan_at(side)
    if pinned is None:
        return roof_taken_cm2(space, side, side)
    with_fan = Region(roof.region.length, roof.region.width, (*roof.region.obstacles, pinned))
    return (snap_region(roof.region, roof.gap, 1).free_area - snap_region(with_fan, roof.gap, 1).free_area) // 100


def thing_of(part: Part | OwnPart, count: int, fan_side: int = 0) -> Thing | None:
    """What needs a place of so many parts; None for what needs none.

    ``fan_side`` is the side of a roof fan's opening, which the fan covers.
    """
    tags = tuple(sorted({word.strip() for word in part.bay_tags.split("|")} - {"", "-"}))
    length, width, height = demand_up(part.length_mm), demand_up(part.width_mm), demand_up(part.height_mm)
    on_roof = tags == ("roof",)
    if on_roof and fan_side:
        length = width = max(length, width, fan_side)
    if not tags or not length or not width or not (height or on_roof):
        return None
    contents, filling = _contents(part)
    brackets = part.bracket_mass_kg if isinstance(part, SolarPanel) else 0.0
    more = part if isinstance(part, Part) else None
    return Thing(
        part.id, count, length, width, height, demand_up(part.mass_kg + brackets, MASS_SCALE),
        contents=contents, filling=filling,
        tags=tags, upright=bool(more and more.upright),
        clearance=demand_up(more.clearance_mm) if more else 0, on_roof=on_roof,
        opening=more.opening if more else "", skill=part.skill, hazard=_hazard(part),
    )  # fmt: skip


def _hazard(part: Part | OwnPart) -> str:
    """What a part may do to its neighbours: its fuel's vapour burns at room temperature, it gives off hydrogen while it
    charges, or its switches and terminals make sparks.
    """
    if isinstance(part, FuelTank):
        return "vapour" if part.fuel in VAPOUR_FUELS else ""
    if isinstance(part, Battery) and part.chemistry == "flooded":
        return "gassing"
    return "spark" if isinstance(part, SPARKING) or getattr(part, "role", "") in ("fuse_box", "disconnect") else ""


def _contents(part: Part | OwnPart) -> tuple[int, str]:
    if isinstance(part, WaterContainer):
        return demand_up(part.volume_l * WATER_KG_L, MASS_SCALE), "supply"
    if isinstance(part, FuelTank):
        return demand_up(part.volume_l * FUEL_DENSITY_KG_L[part.fuel], MASS_SCALE), "supply"
    if isinstance(part, GreyContainer):
        return demand_up(part.volume_l * WATER_KG_L, MASS_SCALE), "waste"
    return 0, ""


__all__ = ["fan_taken_cm2", "free_roof_cm2", "roof_taken_cm2", "space_of", "thing_of"]
