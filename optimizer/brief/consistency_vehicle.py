"""Measures and masses of the vehicle that cannot be true together.

On the road: inside ``brief``, behind ``consistency``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from optimizer.brief.brief import Brief
from optimizer.brief.entries import having, repeated
from optimizer.brief.findings import Finding, KeyPath


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
    for start, size, whole in (("x", "length", roof.length), ("y", "width", roof.width)):
        for place, thing in having(roof.obstacles, start, size):
            path: KeyPath = ("vehicle", "roof", "obstacles", place)
            end = getattr(thing, start) + getattr(thing, size)
            if end > whole:
                corner = getattr(thing, start)
                yield Finding(
                    (*path, size), f"at most {max(0.0, whole - corner):.9g} mm from {start} = {corner:.9g} to"
                    f" the roof's edge (vehicle.roof.{size} is {whole:.9g} mm)",
                    "Measure from the roof's front left corner, or leave out what is not on the flat part.",
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
        start = places[key]
        if start is not None and start + roof.fan_length > whole:
            room = max(0.0, whole - roof.fan_length)
            yield Finding(
                ("vehicle", "roof", key),
                f"at most {room:.9g} mm, so that a fan of {roof.fan_length:.9g} mm stays on the roof"
                f" (vehicle.roof.{side} is {whole:.9g} mm)",
                "Measure from the roof's front left corner.",
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
    _axle_masses, _gross_mass, _wheels, _names, _roof_obstacles, _roof_fan, _roof_load,
    _bay_doors,
)  # fmt: skip
