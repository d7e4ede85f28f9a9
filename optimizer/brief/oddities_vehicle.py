"""Odd measures and masses of the vehicle.

On the road: beside ``brief``, behind ``oddities``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from optimizer.brief.brief import Brief
from optimizer.brief.vehicle import Roof
from optimizer.units import show

SMALLEST_BAY_SIDE = 100.0  # mm; hardly any part fits; common practice, no source


def _payload(brief: Brief) -> Iterator[str]:
    van, people = brief.vehicle, brief.people
    weighed = van.front_axle_mass + van.rear_axle_mass
    aboard = sum(person.mass for person in people) + sum(fitting.mass for fitting in van.fittings)
    aboard += brief.supplies.gear + brief.limits.payload_margin
    gross = show(van.gross_mass, "kg", brief.units)
    if weighed + aboard > van.gross_mass:
        yield (
            f"vehicle.gross_mass is {gross}, but the van as weighed with people, fittings, supplies.gear and"
            f" limits.payload_margin comes to {show(weighed + aboard, 'kg', brief.units)} before any part is"
            " in it."
        )
    ratings = van.front_axle_rating + van.rear_axle_rating
    if ratings < van.gross_mass:
        yield (
            "vehicle.front_axle_rating and rear_axle_rating add up to"
            f" {show(ratings, 'kg', brief.units)}, less than vehicle.gross_mass = {gross}, which can never"
            " be reached."
        )


def _seats(brief: Brief) -> Iterator[str]:
    seats = brief.vehicle.seats
    unseated = [person for person in brief.people if not person.seat]
    if seats and unseated:
        yield (
            f"{len(unseated)} of {len(brief.people)} people have no seat, though [[vehicle.seats]] names"
            f" {len(seats)}: the axle loads cannot tell where they travel."
        )


def _unplaced(brief: Brief) -> Iterator[str]:
    """What has a mass but no place."""
    for fitting in brief.vehicle.fittings:
        if fitting.x is None:
            yield (
                f"The fitting '{fitting.name}' has no x: its {show(fitting.mass, 'kg', brief.units)} count in full on"
                " both axles."
            )


def _bays(brief: Brief) -> Iterator[str]:
    if not brief.vehicle.bays:
        yield (
            "There are no [[vehicle.bays]]: whether parts fit inside is not looked at, and each counts in full on"
            " both axles."
        )
    for bay in brief.vehicle.bays:
        for side in ("length", "width", "height"):
            size = getattr(bay, side)
            if size < SMALLEST_BAY_SIDE:
                yield (
                    f"The bay '{bay.name}' has {side} = {show(size, 'mm', brief.units)}: hardly any part"
                    " is that small."
                )
        if bay.door_width is not None and bay.door_width > max(bay.length, bay.width):
            yield (
                f"The bay '{bay.name}' has door_width = {show(bay.door_width, 'mm', brief.units)}, wider than"
                " the bay."
            )
        if bay.door_height is not None and bay.door_height > bay.height:
            yield (
                f"The bay '{bay.name}' has door_height = {show(bay.door_height, 'mm', brief.units)}, higher"
                " than the bay."
            )
        if not bay.tags:
            yield f"The bay '{bay.name}' has no tags: no part can live in it."


def _places(brief: Brief) -> Iterator[str]:
    """Things whose middle is outside of the van; what hangs on the back may be."""
    van = brief.vehicle
    front, back = -van.front_overhang, van.length - van.front_overhang
    things = [("bay", bay.name, bay.x) for bay in van.bays if "rear_hang" not in bay.tags]
    things += [("seat", seat.name, seat.x) for seat in van.seats]
    things += [("fitting", fitting.name, fitting.x) for fitting in van.fittings if fitting.x is not None]
    for noun, name, x in things:
        if not front <= x <= back:
            yield (
                f"The {noun} '{name}' has x = {show(x, 'mm', brief.units)}, outside of the van, which reaches"
                f" from {show(front, 'mm', brief.units)} to {show(back, 'mm', brief.units)}."
            )


def _roof(brief: Brief) -> Iterator[str]:
    van, roof = brief.vehicle, brief.vehicle.roof
    if roof.length > van.length:
        yield (
            f"vehicle.roof.length is {show(roof.length, 'mm', brief.units)} and vehicle.length"
            f" {show(van.length, 'mm', brief.units)}: the roof is longer than the van."
        )
    margin = f"vehicle.roof.edge_margin is {show(roof.edge_margin, 'mm', brief.units)}"
    curve = f" and vehicle.roof.curve {show(roof.curve, 'mm', brief.units)}" if roof.curve else ""
    if 2 * roof.edge_margin >= min(roof.length, roof.width - 2 * roof.curve):
        yield f"{margin}{curve}: nothing of the roof is left between the edges."
    for flat in roof.flats:
        if 2 * roof.edge_margin >= min(flat.length, flat.width):
            yield f"{margin}: nothing of the flat part '{flat.name}' is left between its edges."
    yield from _fan_in_the_way(roof)


def _fan_in_the_way(roof: Roof) -> Iterator[str]:
    """A fan pinned where something stands or must stay free."""
    if roof.fan_x is None or roof.fan_y is None:
        return
    end_x, end_y = roof.fan_x + roof.fan_length, roof.fan_y + roof.fan_length
    for thing in roof.obstacles:
        along = thing.x < end_x and roof.fan_x < thing.x + thing.length
        if along and thing.y < end_y and roof.fan_y < thing.y + thing.width:
            yield f"The roof fan's place (vehicle.roof.fan_x, fan_y) is on the obstacle '{thing.name}': none fits."
    for lane in roof.lanes:
        across = lane.side in ("front", "rear")
        start, end, whole = (roof.fan_x, end_x, roof.length) if across else (roof.fan_y, end_y, roof.width)
        low = lane.start if lane.side in ("front", "left") else whole - lane.start - lane.width
        if low < end and start < low + lane.width:
            yield f"The roof fan's place (vehicle.roof.fan_x, fan_y) is in the lane '{lane.name}': none fits."


def _body(brief: Brief) -> Iterator[str]:
    facings = {surface.facing for surface in brief.vehicle.surfaces}
    for facing, part in (("up", "roof"), ("down", "floor"), ("side", "wall")):
        if facing not in facings:
            yield f"None of the [[vehicle.surfaces]] has facing = '{facing}': the {part} loses no heat."


VEHICLE_ODDITIES: tuple[Callable[[Brief], Iterator[str]], ...] = (
    _payload, _seats, _unplaced, _bays, _places, _roof, _body,
)  # fmt: skip
