"""Bays from above and the van from its left side.

On the road: inside ``drawings``. Plans have the front of the van at the left, so its left side is below.
"""

from __future__ import annotations

from collections.abc import Callable

from optimizer.drawings.model import MARGIN, PAGE, Model, head
from optimizer.drawings.sheet import FAINT, INK, LINE, Point, Sheet, signs
from optimizer.packing.bays import Stowed
from optimizer.places.as_laid import weights_as_laid
from optimizer.places.things import boxes_of, frames, pinned_fan
from optimizer.places.weighing import weights
from optimizer.problem.space import BayPlace

# -- bays -------------------------------------------------------------------------------------------

PLAN = 410.0


def bay_plans(model: Model) -> str:
    """Every bay from above with its boxes, to one scale, each numbered and listed beside it."""
    words = "Bays from above, front of the van at the left, the van's left side below; dashed: air kept free"
    sheet = head(model, words)
    scale = _bay_scale(model)
    top = 96.0
    if not model.space.bays:
        sheet.text((MARGIN, top), "The brief names no bays, so nothing is stowed.")
    for place in model.space.bays:
        top = _bay(sheet, model, place, scale, top) + 30
    return sheet.svg()


def bay_plan(model: Model, place: BayPlace) -> str:
    """One bay alone, to the scale of them all."""
    sheet = Sheet(f"{model.title}: {place.bay.name}", PAGE)
    _bay(sheet, model, place, _bay_scale(model), 30.0)
    return sheet.svg()


def _bay_scale(model: Model) -> float:
    return min(PLAN / max((place.bay.length for place in model.space.bays), default=1), 0.6)


def _bay(sheet: Sheet, model: Model, place: BayPlace, scale: float, top: float) -> float:
    bay, boxes = place.bay, {box.id: box for box in boxes_of(model.problem, model.kit)}
    inside = sorted((s for s in model.places.stowed if s.bay == bay.name), key=lambda s: (s.x, s.y))
    load = sum(boxes[s.id].mass for s in inside)
    told = next(one for one in model.vehicle.bays if one.name == bay.name)
    opening = ""
    if bay.door_width is not None and bay.door_height is not None:
        opening = f"; opening {model.mm(bay.door_width)} x {model.mm(bay.door_height)}"
    sheet.text((MARGIN, top), bay.name, 18, bold=True)
    words = (
        f"{model.mm(told.height)} high inside, floor {model.mm(place.floor)} above the ground{opening};"
        f" holds {model.kg(load)} of {model.kg(bay.load)}; {', '.join(tag.replace('_', ' ') for tag in bay.tags)}"
    )
    y = sheet.paragraph((MARGIN, top + LINE + 2), words, PAGE - 2 * MARGIN, fill=FAINT)
    left, start = MARGIN + 30, y + 22
    sheet.dimension((left, start - 10), (left + bay.length * scale, start - 10), model.mm(told.length))
    bottom = start + bay.width * scale
    sheet.dimension((left - 16, bottom), (left - 16, start), model.mm(told.width))
    sheet.rect((left, start), (bay.length * scale, bay.width * scale), weight=2)
    row, listed = start + 4, left + PLAN + 36
    for number, stowed in enumerate(inside, 1):
        _box(sheet, stowed, boxes[stowed.id].clearance, f"{number}", (left, bottom), scale)
        sheet.text((listed, row), f"{number}", bold=True)
        row = sheet.paragraph((listed + 24, row), model.named(stowed.id), PAGE - listed - 40)
        size = f"{model.mm(stowed.length)} x {model.mm(stowed.width)}, {model.mm(stowed.height)} high;"
        where = f"from front {model.mm(stowed.x)}, from left {model.mm(stowed.y)}"
        row = sheet.paragraph((listed + 24, row), f"{size} {where}", PAGE - listed - 40, 14, FAINT) + 3
    if not inside:
        sheet.text((listed, row), "empty", fill=FAINT)
    return max(bottom, row)


def _box(sheet: Sheet, stowed: Stowed, air: int, sign: str, origin: Point, scale: float) -> None:
    x, y = origin[0] + stowed.x * scale, origin[1] - (stowed.y + stowed.width) * scale
    size = (stowed.length * scale, stowed.width * scale)
    if air:
        around = (size[0] + 2 * air * scale, size[1] + 2 * air * scale)
        sheet.rect((x - air * scale, y - air * scale), around, stroke=FAINT, dash="3 3", weight=0.8)
    sheet.rect((x, y), size, "url(#box)")
    sheet.mark((x + size[0] / 2, y + size[1] / 2), sign, min(size))


# -- side -------------------------------------------------------------------------------------------


def side_view(model: Model) -> str:
    """The van from its left, with bays, roof, axles and what rests on them in each loading state."""
    van, sheet = model.vehicle, head(model, "Side view, front of the van at the left, with what rests on the axles")
    used = {s.bay for s in model.places.stowed}
    hang = max((p.hangs_out for p in model.space.bays if p.bay.name in used), default=0)
    over_roof = max((o.get("height_mm") for _, o in model.kit.options(model.problem)), default=0)
    scale = min((PAGE - 2 * MARGIN - 60) / (van.length + hang), 300 / (van.height + over_roof))
    left = MARGIN + 54 + van.front_overhang * scale
    ground = 112 + (van.height + over_roof) * scale

    def at(x: float, z: float) -> Point:
        return left + x * scale, ground - z * scale

    front, back = -van.front_overhang, van.length - van.front_overhang
    radius = min(330.0, van.height * 0.17)  # of a wheel, for the eye only
    sheet.line(at(front - 150, 0), at(back + hang + 150, 0), FAINT)
    sheet.rect(at(front, van.height), (van.length * scale, (van.height - 0.8 * radius) * scale), weight=2)
    for x in (0.0, van.wheelbase):
        sheet.circle(at(x, radius), radius * scale, "#ffffff")
    _roof_side(sheet, model, at, scale)
    legend = _bays_side(sheet, model, at, scale)
    for seat in van.seats:
        sheet.circle(at(seat.x, 900), 5, INK)
    _dimensions(sheet, model, at, (front, back), hang, over_roof)
    return _axle_table(sheet, model, legend, ground + 128)


def _roof_side(sheet: Sheet, model: Model, at: Callable[[float, float], Point], scale: float) -> None:
    van, roof = model.vehicle, model.space.roof
    start = van.roof.x if van.roof.x is not None else van.length / 2 - van.front_overhang - roof.size[0] / 2
    heights = {
        thing.part: thing.height for _, option in model.kit.options(model.problem) for thing in option.things
    }
    fan = pinned_fan(model.problem, model.kit)
    things = [
        (p, heights[p.id.rsplit("/", 2)[1]], "#ffffff" if p.id.startswith("roof_fan/") else "url(#panel)")
        for p in frames(model.problem, model.kit)
    ]
    tall = next((t.height for g, o in model.kit.options(model.problem) if g.kind == "roof_fan" for t in o.things), 0)
    things += [(fan.moved(*roof.margin), tall, "#ffffff")] if fan is not None else []
    for thing, height, fill in things:
        sheet.rect(at(start + thing.x, van.height + height), (thing.length * scale, max(3.0, height * scale)), fill)


def _bays_side(sheet: Sheet, model: Model, at: Callable[[float, float], Point], scale: float) -> list[str]:
    """Bays as outlines with letters that keep clear of each other; gives back the list of letters."""
    boxes = {box.id: box.mass for box in boxes_of(model.problem, model.kit)}
    outlines = [
        (at(told.x - place.bay.length / 2, place.floor + place.bay.height),
         (place.bay.length * scale, place.bay.height * scale))
        for place, told in zip(model.space.bays, model.vehicle.bays, strict=True)
    ]  # fmt: skip
    for place, (corner, size) in zip(model.space.bays, outlines, strict=True):
        right = (place.at.y_low + place.at.y_high) > 0
        sheet.rect(corner, size, stroke=INK if not right else FAINT, dash="5 3" if right else "")
    taken: list[Point] = []
    legend = []
    for letters, place, outline in zip(signs(len(outlines)), model.space.bays, outlines, strict=True):
        bay, sign = place.bay, letters.upper()
        spot = _free_spot(outline, outlines, taken)
        taken.append(spot)
        sheet.mark(spot, sign, 16)
        load = sum(boxes[s.id] for s in model.places.stowed if s.bay == bay.name)
        legend.append(f"{sign}: {bay.name}, {model.kg(load)} of {model.kg(bay.load)}")
    return legend


def _free_spot(outline: tuple[Point, Point], outlines: list[tuple[Point, Point]], taken: list[Point]) -> Point:
    """Along the top of an outline, the first place for a letter clear of other letters, and of other outlines if can
    be."""
    (left, top), (length, _) = outline
    spots = [(left + 10 + step, top + 12) for step in range(0, max(1, int(length) - 18), 4)]
    free = [s for s in spots if not any(abs(s[0] - x) < 17 and abs(s[1] - y) < 15 for x, y in taken)]
    clear = [s for s in free if not any(_crosses(s, other) for other in outlines)]
    beyond = max((x for x, y in taken if abs(top + 12 - y) < 15), default=left) + 17
    return (clear or free or [(beyond, top + 12)])[0]


def _crosses(spot: Point, outline: tuple[Point, Point]) -> bool:
    """Whether a letter at a spot would lie on an outline: neither well inside nor well outside."""
    (left, top), (length, height) = outline
    inside = left + 7 < spot[0] < left + length - 7 and top + 8 < spot[1] < top + height - 8
    outside = not (left - 7 < spot[0] < left + length + 7 and top - 8 < spot[1] < top + height + 8)
    return not inside and not outside


def _dimensions(
    sheet: Sheet, model: Model, at: Callable[[float, float], Point], ends: tuple[float, float], hang: int, over: int
) -> None:
    van, (front, back) = model.vehicle, ends
    low = at(0, 0)[1]
    for x in (front, 0.0, van.wheelbase, back, *((back + hang,) if hang else ())):
        sheet.line((at(x, 0)[0], low), (at(x, 0)[0], low + 88), FAINT, 0.5)
    row = low + 34
    sheet.dimension((at(front, 0)[0], row), (at(0, 0)[0], row), model.mm(-front))
    sheet.dimension((at(0, 0)[0], row), (at(van.wheelbase, 0)[0], row), model.mm(van.wheelbase))
    sheet.dimension((at(van.wheelbase, 0)[0], row), (at(back, 0)[0], row), model.mm(back - van.wheelbase))
    if hang:
        sheet.dimension((at(back, 0)[0], row), (at(back + hang, 0)[0], row), model.mm(hang))
    row = low + 68
    sheet.dimension((at(front, 0)[0], row), (at(back + hang, 0)[0], row), model.mm(van.length + hang))
    x = at(front, 0)[0] - 28
    sheet.dimension((x, low), (x, at(0, van.height + over)[1]), model.mm(van.height + over))


def _axle_table(sheet: Sheet, model: Model, legend: list[str], y: float) -> str:
    problem = model.problem
    columns = (MARGIN, MARGIN + 190, MARGIN + 360, MARGIN + 530)
    heads = ("what rests on", "front axle", "rear axle", "one side over the other")
    allowed = tuple(
        model.kg(problem.need(name) + problem.give(slug))
        for name, slug in (("front_axle_g", "front_axle"), ("rear_axle_g", "rear_axle"), ("side_g", "side_balance"))
    )
    rows = [(w.state, model.kg(w.front), model.kg(w.rear), model.kg(w.difference))
            for w in weights(problem, model.kit)]  # fmt: skip
    laid = weights_as_laid(problem, model.kit)
    rows.append((
        "at most, as drawn", model.kg(max(w.front for w in laid)), model.kg(max(w.rear for w in laid)),
        model.kg(max(w.difference for w in laid)),
    ))  # fmt: skip
    rows.append(("allowed", allowed[0], allowed[1], allowed[2]))
    for x, words in zip(columns, heads, strict=True):
        sheet.text((x, y), words, bold=True)
    sheet.line((MARGIN, y + 6), (columns[-1] + 190, y + 6), FAINT)
    for number, row in enumerate(rows, 1):
        for x, cell in zip(columns, row, strict=True):
            sheet.text((x, y + number * (LINE + 2)), cell, bold=row[0] == "allowed")
    y += (len(rows) + 2) * (LINE + 2)
    words = (
        "Each thing counts at the middle of its bay or of the roof, in the last line but one where it is drawn; what"
        " has no place that is known counts in full on both axles."
        " Bays: solid outline on the left or in the middle, dashed on the right; dots: seats."
    )
    y = sheet.paragraph((MARGIN, y), words, PAGE - 2 * MARGIN, fill=FAINT) + 8
    half = -(-len(legend) // 2)
    for number, words in enumerate(legend):
        column, row_number = divmod(number, half)
        sheet.text((MARGIN + column * 480, y + row_number * (LINE + 2)), words)
    return sheet.svg()
