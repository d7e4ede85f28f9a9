"""The roof from above: flat parts and margins, lanes, what stands there, and what is laid on it.

On the road: inside ``drawings``. The front of the van is at the left, so its left side is below.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

from optimizer.drawings.model import MARGIN, PAGE, Model, head
from optimizer.drawings.sheet import FAINT, INK, LETTER, PAPER, SHADE, Point, Sheet, signs
from optimizer.packing.shapes import Placed
from optimizer.places.things import FAN, fan_of, frames
from optimizer.problem.roof_place import RoofPlace

SMALL = 11.0
"""Type of a size written on a thing."""


@dataclass(frozen=True)
class _Row:
    """A thing with its sign on the plan and its words in the list; its place is told from the roof's corner."""

    sign: str
    words: str
    thing: Placed
    fill: str
    room: Placed | None = None
    """What is kept free around it, itself included."""


@dataclass(frozen=True)
class _Plan:
    """Sheet and scale of a plan."""

    sheet: Sheet
    scale: float
    corner: Point
    across: int
    """Width of the roof [mm]."""

    def rect(self, thing: Placed) -> tuple[Point, Point]:
        """Top left corner and size on the sheet."""
        x, y = thing.x, self.across - thing.y - thing.width
        size = (thing.length * self.scale, thing.width * self.scale)
        return (self.corner[0] + x * self.scale, self.corner[1] + y * self.scale), size


def roof_plan(model: Model) -> str:
    """The roof with everything on it, to scale, numbered, with a list of places."""
    sheet, roof = head(model, "Roof plan, front of the van at the left"), model.space.roof
    length, width = roof.size
    scale = min((PAGE - 2 * MARGIN - 40) / length, 470 / width)
    left, top = MARGIN + 34, 104.0
    whole = model.vehicle.roof
    sheet.dimension((left, top - 14), (left + length * scale, top - 14), model.mm(whole.length))
    sheet.dimension((left - 22, top + width * scale), (left - 22, top), model.mm(whole.width))
    plan = _Plan(sheet, scale, (left, top), width)
    _ground(plan, roof)
    rows = [*_laid(model), *_fixed(model, roof)]
    for row in rows:
        _draw(plan, model, row)
    _signs_of_parts(plan, roof)
    _signs_of_lanes(plan, roof, [row.thing for row in rows])
    y = top + width * scale + 26
    sheet.text((left, y), _legend(roof), fill=FAINT)
    y = _listed(model, sheet, [*rows, *_lanes(roof), *_parts(roof)], (left, y + 28))
    gap = f"At least {model.mm(roof.gap)} free between things. Measure again on the roof before drilling."
    sheet.paragraph((left, y + 8), gap, PAGE - left - MARGIN, fill=FAINT)
    return sheet.svg()


def _ground(plan: _Plan, roof: RoofPlace) -> None:
    """The roof itself: what is not flat in grey, flat parts with their margins dashed, lanes dotted."""
    whole = Placed("roof", 0, 0, *roof.size)
    sheet, uneven = plan.sheet, bool(roof.parts) or roof.curve > 0
    sheet.rect(*plan.rect(whole), SHADE if uneven else "none", weight=2)
    for flat in roof.flats if uneven else ():
        sheet.rect(*plan.rect(flat), PAPER, weight=1)
    for lane in roof.kept_free:
        sheet.rect(*plan.rect(lane), "url(#lane)", FAINT, weight=0.8)
    for flat in roof.flats:
        inside = flat.grown(-roof.part_edge)
        if min(inside.length, inside.width) > 0:
            sheet.rect(*plan.rect(inside), stroke=FAINT, dash="6 4", weight=1)


def _laid(model: Model) -> list[_Row]:
    """Panels and whatever else the kit lays on the roof, from front to back, then the fan."""
    roof = model.space.roof
    rooms = {placed.id: placed.moved(*roof.margin) for placed in model.places.roof}
    rows, fans = [], []
    numbers = count(1)
    for thing in sorted(frames(model.problem, model.kit), key=lambda p: (p.x, p.y)):
        if thing.id.startswith("roof_fan/"):
            fans.append(thing)
            continue
        room = rooms[thing.id] if rooms[thing.id] != thing else None
        rows.append(_Row(f"{next(numbers)}", model.named(thing.id), thing, "url(#panel)", room))
    pinned = fan_of(model.space, model.kit.options(model.problem))
    fans += [pinned.moved(*roof.margin)] if pinned is not None else []
    return rows + [_Row("F", _fan_words(model, fan), fan, PAPER) for fan in fans]


def _fan_words(model: Model, place: Placed) -> str:
    """The fan by its name; where more room is kept than it is large, its own size too: nobody cuts the room out."""
    fans = (option.things for group, option in model.kit.options(model.problem) if group.kind == FAN)
    part = next(thing.part for things in fans for thing in things if thing.on_roof)
    length, width = model.size_of(part)
    if max(length, width) >= max(place.length, place.width):
        return f"roof fan, {model.name_of(part)}"
    return f"room for the roof fan, {model.name_of(part)}, itself {model.mm(length)} x {model.mm(width)}"


def _fixed(model: Model, roof: RoofPlace) -> list[_Row]:
    return [
        _Row(sign, f"{thing.id} (stands there)", thing, "url(#blocked)")
        for sign, thing in zip(signs(len(roof.obstacles)), roof.obstacles, strict=True)
    ]


def _lanes(roof: RoofPlace) -> list[_Row]:
    strips = enumerate(roof.kept_free, 1)
    return [_Row(f"L{number}", f"{lane.id} (kept free)", lane, "") for number, lane in strips]


def _parts(roof: RoofPlace) -> list[_Row]:
    return [_Row(sign, f"{part.id} (flat part)", part, "") for sign, part in zip(_ROMAN, roof.parts, strict=False)]


_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")


def _draw(plan: _Plan, model: Model, row: _Row) -> None:
    """A thing with its sign, and its size where there is room for it."""
    sheet, (corner, size) = plan.sheet, plan.rect(row.thing)
    if row.room is not None:
        sheet.rect(*plan.rect(row.room), stroke=FAINT, dash="3 3", weight=0.8)
    sheet.rect(corner, size, row.fill)
    middle = (corner[0] + size[0] / 2, corner[1] + size[1] / 2)
    if row.sign == "F":
        sheet.circle(middle, min(size) * 0.42)
    words = f"{model.mm(row.thing.length)} x {model.mm(row.thing.width)}"
    roomy = size[1] > 70 and len(words) * SMALL * LETTER + 16 < size[0]
    if roomy and row.fill == "url(#panel)":
        sheet.mark((middle[0], middle[1] + 18), words, SMALL / 0.8)
    sheet.mark(middle, row.sign, min(size))


def _signs_of_parts(plan: _Plan, roof: RoofPlace) -> None:
    """Each flat part's number in its upper left corner, over whatever lies there."""
    for row in _parts(roof):
        corner, _ = plan.rect(row.thing)
        plan.sheet.mark((corner[0] + 14, corner[1] + 11), row.sign, 14)


def _signs_of_lanes(plan: _Plan, roof: RoofPlace, others: list[Placed]) -> None:
    """Each lane's number where it is crossed by nothing else, if there is such a place."""
    for row in _lanes(roof):
        spots: list[tuple[bool, int, float, float]] = []
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            lane = row.thing
            along = lane.length > lane.width
            x = lane.x + lane.length * (share if along else 0.5)
            y = lane.y + lane.width * (0.5 if along else share)
            near = Placed("", int(x - 30 / plan.scale), int(y - 12 / plan.scale), int(60 / plan.scale),
                          int(24 / plan.scale))  # fmt: skip
            crossed = [*others, *(other for other in roof.kept_free if other is not lane and other != lane)]
            spots.append((any(near.overlaps(other) for other in crossed), len(spots), x, y))
        _, _, x, y = min(spots)
        middle = (plan.corner[0] + x * plan.scale, plan.corner[1] + (plan.across - y) * plan.scale)
        plan.sheet.mark(middle, row.sign, 16)


def _legend(roof: RoofPlace) -> str:
    words = ["left side of the van", "dashed: the edge margin"]
    words += ["grey: not flat"] if roof.parts or roof.curve else []
    words += ["dotted: kept free"] if roof.lanes else []
    return "; ".join(words)


def _listed(model: Model, sheet: Sheet, rows: list[_Row], at: Point) -> float:
    """Every sign with its name, size and place; gives back where the next line would be."""
    left, y = at
    for row in rows:
        thing = row.thing
        room = "" if row.room is None else (
            f" (with what is kept free around it {model.mm(row.room.length)} x {model.mm(row.room.width)})"
        )  # fmt: skip
        words = (
            f"{row.words}: {model.mm(thing.length)} x {model.mm(thing.width)}{room},"
            f" from the front edge {model.mm(thing.x)}, from the left edge {model.mm(thing.y)}"
        )
        sheet.text((left, y), row.sign, bold=True, fill=INK)
        y = sheet.paragraph((left + 30, y), words, PAGE - left - 30 - MARGIN)
    return y
