"""The vehicle: ratings, masses as weighed, roof, bays, body, alternator, seats.

Coordinates: ``x`` counts aft from the front axle, ``y`` to the right of the centre line looking
forward, ``z`` up from the ground, all in mm, to the middle of the thing. The roof has its own corner:
``x`` aft from its front edge and ``y`` to the right from its left edge, to the corner of the thing.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from optimizer.brief.topic import Name, Topic
from optimizer.units import (
    Amperes,
    CubicMetres,
    Kilograms,
    Litres,
    Metres,
    Millimetres,
    Percent,
    SquareMetres,
)

BayTag = Literal["inside", "warm", "vented", "outside", "gas_locker", "drained", "rear_hang"]
SurfaceKind = Literal["insulated", "glass", "door", "floor", "bare"]


class Seat(Topic):
    """A seat with a belt."""

    name: Name = Field(description="what to call it")
    x: Millimetres = Field(ge=-4000, le=14000, description="aft from the front axle [mm]")
    y: Millimetres = Field(default=0.0, ge=-1500, le=1500, description="right of the centre line [mm]")


class Obstacle(Topic):
    """Something on the roof that panels must keep clear of."""

    name: Name = Field(description="what it is")
    x: Millimetres = Field(ge=0, le=12000, description="from the roof's front edge to its front edge [mm]")
    y: Millimetres = Field(ge=0, le=2600, description="from the roof's left edge to its left edge [mm]")
    length: Millimetres = Field(gt=0, le=12000, description="its length, fore and aft [mm]")
    width: Millimetres = Field(gt=0, le=2600, description="its width, across [mm]")


class Flat(Topic):
    """A flat part of a roof that is not one rectangle; nothing is laid across its edge."""

    name: Name = Field(description="what to call it")
    x: Millimetres = Field(ge=0, le=12000, description="from the roof's front edge to its front edge [mm]")
    y: Millimetres = Field(default=0.0, ge=0, le=2600, description="from the roof's left edge to its left edge [mm]")
    length: Millimetres = Field(gt=0, le=12000, description="its length, fore and aft [mm]")
    width: Millimetres = Field(gt=0, le=2600, description="its width, across [mm]")


class Lane(Topic):
    """A strip over the whole roof that stays free of panels and fan, to walk on or to reach what is there."""

    name: Name = Field(description="what it is for")
    side: Literal["front", "rear", "left", "right"] = Field(
        description="side of the roof it is measured from; along 'left' and 'right' it runs fore and aft,"
        " along 'front' and 'rear' across"
    )
    start: Millimetres = Field(default=0.0, ge=0, le=12000, description="from that side to where it begins [mm]")
    width: Millimetres = Field(gt=0, le=2600, description="how wide it is [mm]")


class Roof(Topic):
    """The flat part of the roof, or the rectangle around its flat parts."""

    length: Millimetres = Field(gt=0, le=12000, description="its length, fore and aft [mm]")
    width: Millimetres = Field(gt=0, le=2600, description="its width, across [mm]")
    edge_margin: Millimetres = Field(
        default=30.0, ge=0, le=1000, description="kept free along each edge, of every flat part [mm]"
    )
    curve: Millimetres = Field(
        default=0.0, ge=0, le=1000,
        description="strip along the left and right side where the roof falls away; the margin begins behind it [mm]",
    )
    gap: Millimetres = Field(default=20.0, ge=0, le=1000, description="between panels and things [mm]")
    load: Kilograms = Field(gt=0, le=1000, description="what the roof may carry while driving [kg]")
    rack_mass: Kilograms = Field(default=0.0, ge=0, le=1000, description="rack and other things on it [kg]")
    fan_length: Millimetres = Field(
        default=400.0, gt=0, le=2000, description="side of a roof fan's opening [mm]"
    )
    fan_x: Millimetres | None = Field(
        default=None, ge=0, le=12000,
        description="where the fan, with what it keeps free around it, must begin, from the front edge [mm]",
    )
    fan_y: Millimetres | None = Field(
        default=None, ge=0, le=2600,
        description="where the fan, with what it keeps free around it, must begin, from the left edge [mm]",
    )
    x: Millimetres | None = Field(
        default=None, ge=-4000, le=14000,
        description="the roof's front edge, aft from the front axle [mm]",
    )
    flats: tuple[Flat, ...] = Field(
        default=(), max_length=12, description="its flat parts, where it is not flat as a whole"
    )
    lanes: tuple[Lane, ...] = Field(default=(), max_length=12, description="strips kept free to walk and reach")
    obstacles: tuple[Obstacle, ...] = Field(default=(), max_length=40, description="what stands on it")


class Bay(Topic):
    """A named box-shaped space in or under the van."""

    name: Name = Field(description="what to call it")
    length: Millimetres = Field(gt=0, le=6000, description="its length inside, fore and aft [mm]")
    width: Millimetres = Field(gt=0, le=2600, description="its width inside, across [mm]")
    height: Millimetres = Field(gt=0, le=2600, description="its height inside [mm]")
    x: Millimetres = Field(ge=-4000, le=14000, description="its middle, aft from the front axle [mm]")
    y: Millimetres = Field(
        default=0.0, ge=-1500, le=1500, description="its middle, right of the centre line [mm]"
    )
    z: Millimetres = Field(default=600.0, ge=0, le=4000, description="its floor above the ground [mm]")
    load: Kilograms = Field(gt=0, le=2000, description="what it may carry [kg]")
    tags: tuple[BayTag, ...] = Field(default=("inside",), max_length=20, description="what it is good for")
    door_width: Millimetres | None = Field(
        default=None, gt=0, le=6000, description="width of its opening [mm]; else open on top"
    )
    door_height: Millimetres | None = Field(
        default=None, gt=0, le=2600, description="height of its opening [mm]"
    )


class Surface(Topic):
    """A part of the body that loses heat."""

    name: Name = Field(description="what it is")
    area: SquareMetres = Field(gt=0, le=60, description="its area [m2]")
    kind: SurfaceKind = Field(
        default="insulated",
        description="'insulated' and 'floor' take the insulation chosen; glass, door and bare do not",
    )
    facing: Literal["side", "up", "down"] = Field(default="side", description="way the heat leaves")


class Fitting(Topic):
    """Something fixed that is there whatever is chosen: bed, cabinet, floor."""

    name: Name = Field(description="what it is")
    mass: Kilograms = Field(gt=0, le=1000, description="its mass [kg]")
    x: Millimetres | None = Field(
        default=None, ge=-4000, le=14000,
        description="aft from the front axle [mm]",
    )
    y: Millimetres = Field(default=0.0, ge=-1500, le=1500, description="right of the centre line [mm]")


class Runs(Topic):
    """How far cables and lines run, one way, along the path they are laid.

    A run between things that stand in bays is worked out from the bays, unless it is given here: then it is taken
    as measured, and things are placed so that it reaches.
    """

    bank_to_busbar: Metres = Field(default=0.4, gt=0, le=20, description="bank to disconnect and busbars [m]")
    bank_to_inverter: Metres = Field(default=0.8, gt=0, le=20, description="busbars to inverter [m]")
    bank_to_controller: Metres = Field(default=1.0, gt=0, le=20, description="busbars to solar controller [m]")
    roof_to_controller: Metres = Field(default=4.0, gt=0, le=30, description="panels to solar controller [m]")
    alternator_to_charger: Metres = Field(
        default=4.5, gt=0, le=30, description="starter battery to alternator charger [m]"
    )
    charger_to_bank: Metres = Field(default=1.0, gt=0, le=20, description="chargers to busbars [m]")
    bank_to_converter: Metres = Field(default=1.0, gt=0, le=20, description="busbars to 12 V converter [m]")
    bank_to_fuse_box: Metres = Field(
        default=1.0, gt=0, le=20, description="busbars, or the converter, to the fuse box [m]"
    )
    fuse_box_to_appliance: Metres = Field(
        default=3.5, gt=0, le=30, description="fuse box to an appliance, light or socket [m]"
    )
    hookup_to_charger: Metres = Field(default=2.5, gt=0, le=30, description="hook-up inlet to mains charger [m]")
    inverter_to_sockets: Metres = Field(default=2.0, gt=0, le=30, description="inverter to mains sockets [m]")
    fuel_to_heater: Metres = Field(default=3.0, gt=0, le=30, description="fuel tank to heater [m]")
    gas_to_appliance: Metres = Field(default=2.5, gt=0, le=30, description="gas bottle to an appliance [m]")
    water_to_tap: Metres = Field(default=2.0, gt=0, le=30, description="built-in water tank to tap [m]")
    fuse_from_source: Millimetres = Field(
        default=150.0, ge=0, le=5000, description="fuse to the bank or busbar that feeds it, along the cable [mm]"
    )
    sheathed: bool = Field(
        default=False, description="the stretch up to each fuse lies in a sheath or enclosure all the way"
    )


class Vehicle(Topic):
    """The van as it stands, and what it is rated for."""

    name: str = Field(default="van", max_length=80, description="what to call it")
    gross_mass: Kilograms = Field(gt=0, le=7500, description="most it may weigh on the road [kg]")
    front_axle_rating: Kilograms = Field(gt=0, le=5000, description="most on the front axle [kg]")
    rear_axle_rating: Kilograms = Field(gt=0, le=5000, description="most on the rear axle [kg]")
    front_axle_mass: Kilograms = Field(
        gt=0, le=4000, description="front axle as weighed, empty, tank full [kg]"
    )
    rear_axle_mass: Kilograms = Field(
        gt=0, le=4000, description="rear axle as weighed, empty, tank full [kg]"
    )
    left_share: Percent = Field(
        default=50.0, ge=30, le=70, description="share of the weighed mass on the left wheels [%]"
    )
    side_difference: Kilograms = Field(
        default=120.0, gt=0, le=2000, description="most left may differ from right [kg]"
    )
    wheelbase: Millimetres = Field(gt=1000, le=6000, description="axle to axle [mm]")
    track: Millimetres = Field(default=1550.0, gt=800, le=2600, description="left wheel to right wheel [mm]")
    length: Millimetres = Field(gt=1000, le=12000, description="bumper to bumper [mm]")
    front_overhang: Millimetres = Field(
        default=900.0, ge=0, le=4000, description="front axle to front bumper [mm]"
    )
    height: Millimetres = Field(gt=500, le=4000, description="to the bare roof [mm]")
    fuel: Literal["petrol", "diesel", "electric", "lpg"] = Field(
        default="diesel", description="what the engine runs on"
    )
    fuel_for_heater: Litres = Field(
        default=0.0, ge=0, le=200, description="what a heater may draw from the main tank between fills [L]"
    )
    alternator_current: Amperes = Field(gt=0, le=500, description="alternator rating [A]")
    alternator_spare: Percent = Field(
        default=45.0, ge=0, le=100, description="share of it free for charging [%]"
    )
    alternator_voltage: float = Field(default=14.0, ge=10, le=32, description="while charging [V]")
    starter_x: Millimetres = Field(
        default=-400.0, ge=-4000, le=14000, description="starter battery, aft from the front axle [mm]"
    )
    starter_y: Millimetres | None = Field(
        default=None, ge=-1500, le=1500, description="starter battery, right of the centre line [mm]; else either side"
    )
    starter_z: Millimetres = Field(
        default=800.0, ge=0, le=4000, description="starter battery, above the ground [mm]"
    )
    air_volume: CubicMetres = Field(gt=0.5, le=40, description="air inside [m3]")
    surfaces: tuple[Surface, ...] = Field(
        min_length=1, max_length=100, description="the body, surface by surface"
    )
    roof: Roof = Field(description="the flat part of the roof")
    bays: tuple[Bay, ...] = Field(default=(), max_length=40, description="named spaces in or under the van")
    seats: tuple[Seat, ...] = Field(default=(), max_length=12, description="seats with a belt")
    fittings: tuple[Fitting, ...] = Field(
        default=(), max_length=200, description="what is fixed whatever is chosen"
    )
    runs: Runs = Field(default=Runs(), description="how far cables and lines run, one way, as laid")
