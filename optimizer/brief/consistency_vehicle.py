"""Measures and masses of the vehicle that cannot be true together.

On the road: inside ``brief``, behind ``consistency``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from optimizer.brief.brief import Brief
from optimizer.brief.entries import having, repeated
from optimizer.brief.findings import Finding
from optimizer.brief.vehicle import Flat, Obstacle, Roof


def _axle_masses(brief: Brief) -> Iterator[Finding]:
    """An axle that weighs more than its rating before anything is built in.

    When the two ratings add up to less than the two masses, one axle at least is caught here.
    """
    for axle in ("front", "rear"):
        known = vars(brief.vehicle)
        rating, mass = known.get(f"{axle}_axle_rating"), known.get(f"{axle}_axle_mass")
        if rating is not None and mass is not None and mass > rating:
            yield Finding(
                ("vehicle", f"{axle}_axle_mass"), f"at most vehicle.{axle}_axle_rating ({rating:.9g} kg)",
                "Weigh again, or read the rating off the vehicle's plate again.",
            )


def _gross_mass(brief: Brief) -> Iterator[Finding]:
    van = brief.vehicle
    weighed = van.front_axle_mass + van.rear_axle_mass
    if van.gross_mass < weighed:
        yield Finding(
            ("vehicle", "gross_mass"), f"at least the two axle masses as weighed ({weighed:.9g} kg)",
            "Weigh again, or read the rating off the vehicle's plate again.",
        )


def _wheels(brief: Brief) -> Iterator[Finding]:
    """Both axles lie between the bumpers."""
    van = brief.vehicle
    if van.front_overhang + van.wheelbase > van.length:
        yield Finding(
            ("vehicle", "length"),
            f"at least front_overhang + wheelbase ({van.front_overhang + van.wheelbase:.9g} mm)",
            "Measure from bumper to bumper.",
        )


def _names(brief: Brief) -> Iterator[Finding]:
    known = vars(brief.vehicle)
    yield from repeated(("vehicle", "bays"), known.get("bays", ()), "name", "bay")
    yield from repeated(("vehicle", "seats"), known.get("seats", ()), "name", "seat")


def _roof_obstacles(brief: Brief) -> Iterator[Finding]:
    roof = brief.vehicle.roof
    hint = "Measure from the roof's front left corner, or leave out what is not on the flat part."
    yield from _beyond(roof, "obstacles", roof.obstacles, hint)


def _roof_flats(brief: Brief) -> Iterator[Finding]:
    """Flat parts that reach beyond the roof, or lie over each other."""
    roof = brief.vehicle.roof
    yield from _beyond(
        roof, "flats", roof.flats, "Measure from the roof's front left corner; the roof's own length and width"
        " go around all its flat parts."
    )  # fmt: skip
    yield from repeated(("vehicle", "roof", "flats"), roof.flats, "name", "flat part")
    whole = having(roof.flats, "x", "y", "length", "width")
    for (_, one), (place, other) in combinations(whole, 2):
        along = one.x < other.x + other.length and other.x < one.x + one.length
        if along and one.y < other.y + other.width and other.y < one.y + one.width:
            yield Finding(
                ("vehicle", "roof", "flats", place, "x"), f"a place clear of the flat part '{one.name}'",
                "Cut the two into rectangles that lie side by side; nothing is laid across their edges.",
            )


def _roof_lanes(brief: Brief) -> Iterator[Finding]:
    """Lanes that are wider than the roof they run over, or no wider than the gaps between things."""
    roof = brief.vehicle.roof
    yield from repeated(("vehicle", "roof", "lanes"), roof.lanes, "name", "lane")
    for place, lane in having(roof.lanes, "side", "start", "width"):
        size = "length" if lane.side in ("front", "rear") else "width"
        whole = getattr(roof, size)
        if lane.start + lane.width > whole:
            yield Finding(
                ("vehicle", "roof", "lanes", place, "width"),
                f"at most {max(0.0, whole - lane.start):.9g} mm from start = {lane.start:.9g} to the other side"
                f" (vehicle.roof.{size} is {whole:.9g} mm)",
                f"Measure from the {lane.side} side of the roof.",
            )
        elif lane.width <= 2 * roof.gap:
            yield Finding(
                ("vehicle", "roof", "lanes", place, "width"),
                f"more than twice vehicle.roof.gap ({2 * roof.gap:.9g} mm)",
                "What is narrower is no lane: the gap is kept between things anyway.",
            )


def _beyond(roof: Roof, key: str, things: Sequence[Flat | Obstacle], hint: str) -> Iterator[Finding]:
    for start, size, whole in (("x", "length", roof.length), ("y", "width", roof.width)):
        for place, thing in having(things, start, size):
            corner = getattr(thing, start)
            if corner + getattr(thing, size) > whole:
                yield Finding(
                    ("vehicle", "roof", key, place, size),
                    f"at most {max(0.0, whole - corner):.9g} mm from {start} = {corner:.9g} to"
                    f" the roof's edge (vehicle.roof.{size} is {whole:.9g} mm)",
                    hint,
                )


def _roof_fan(brief: Brief) -> Iterator[Finding]:
    roof = brief.vehicle.roof
    places = {"fan_x": roof.fan_x, "fan_y": roof.fan_y}
    given = [key for key, value in places.items() if value is not None]
    if len(given) == 1:
        missing = "fan_y" if given == ["fan_x"] else "fan_x"
        yield Finding(
            ("vehicle", "roof", missing), f"a number of mm, because vehicle.roof.{given[0]} is given",
            "Give both or neither.", "missing",
        )
    for key, whole, side in (("fan_x", roof.length, "length"), ("fan_y", roof.width, "width")):
        start, falls = places[key], roof.curve if key == "fan_y" else 0.0
        if start is not None and start < falls:
            yield Finding(
                ("vehicle", "roof", key), f"at least vehicle.roof.curve ({falls:.9g} mm), where the roof is flat",
                "Measure from the roof's front left corner.",
            )
        if start is not None and start + roof.fan_length > whole - falls:
            room = max(0.0, whole - falls - roof.fan_length)
            yield Finding(
                ("vehicle", "roof", key),
                f"at most {room:.9g} mm, so that a fan of {roof.fan_length:.9g} mm stays on the roof"
                f" (vehicle.roof.{side} is {whole:.9g} mm{f', vehicle.roof.curve {falls:.9g} mm' if falls else ''})",
                "Measure from the roof's front left corner.",
            )
    if roof.flats and roof.fan_x is not None and roof.fan_y is not None and not _on_a_flat(roof):
        yield Finding(
            ("vehicle", "roof", "fan_x"),
            f"a fan of {roof.fan_length:.9g} mm whole on one of the vehicle.roof.flats",
            "fan_x and fan_y are its corner nearest to the roof's front left corner.",
        )


def _on_a_flat(roof: Roof) -> bool:
    assert roof.fan_x is not None
    assert roof.fan_y is not None
    x, y, side = roof.fan_x, roof.fan_y, roof.fan_length
    return any(
        flat.x <= x and x + side <= flat.x + flat.length and flat.y <= y and y + side <= flat.y + flat.width
        for flat in roof.flats
    )


def _roof_load(brief: Brief) -> Iterator[Finding]:
    roof = brief.vehicle.roof
    if roof.rack_mass > roof.load:
        yield Finding(
            ("vehicle", "roof", "rack_mass"), f"at most vehicle.roof.load ({roof.load:.9g} kg)",
            "What is on the roof already counts against its load.",
        )


def _bay_doors(brief: Brief) -> Iterator[Finding]:
    for place, bay in having(brief.vehicle.bays, "door_width", "door_height"):
        if (bay.door_width is None) != (bay.door_height is None):
            missing = "door_width" if bay.door_width is None else "door_height"
            given = "door_height" if bay.door_width is None else "door_width"
            yield Finding(
                ("vehicle", "bays", place, missing), f"a number of mm, because {given} is given",
                "Give both or neither.", "missing",
            )


VEHICLE_CHECKS: tuple[Callable[[Brief], Iterator[Finding]], ...] = (
    _axle_masses, _gross_mass, _wheels, _names, _roof_obstacles, _roof_flats, _roof_lanes,
    _roof_fan, _roof_load, _bay_doors,
)  # fmt: skip
