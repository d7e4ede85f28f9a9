"""Drawings of placed kits: well-formed, complete, nothing cut off, nothing written over anything else."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest

from optimizer.brief.reading import brief_from_dict
from optimizer.brief.starter_values import SAMPLE
from optimizer.drawings import draw_kit
from optimizer.drawings.model import Model
from optimizer.drawings.roof import roof_plan
from optimizer.drawings.sheet import LETTER, SHADE, Sheet, wrapped
from optimizer.drawings.views import bay_plans, side_view
from optimizer.packing.bays import Stowed
from optimizer.packing.shapes import Placed
from optimizer.places.finding import placed
from optimizer.problem.placing import space_of
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.problem.space import Placement, Thing
from tests.place_cases import RULES

SVG = "{http://www.w3.org/2000/svg}"
VIEWS = {"roof": roof_plan, "bays": bay_plans, "side": side_view}
EVEN: dict[str, Any] = SAMPLE["vehicle"]["roof"]
UNEVEN = EVEN | {
    "length": 3200, "width": 1500, "curve": 60, "fan_x": 2100, "fan_y": 900,
    "flats": [
        {"name": "over the cab", "x": 0, "length": 800, "width": 1500},
        {"name": "behind the step", "x": 1000, "length": 2200, "width": 1500},
    ],
    "lanes": [{"name": "way to the fan", "side": "left", "start": 60, "width": 330},
              {"name": "step up", "side": "front", "start": 1000, "width": 250}],
    "obstacles": [{"name": "aerial", "x": 40, "y": 640, "length": 70, "width": 70},
                  {"name": "hatch", "x": 2650, "y": 600, "length": 400, "width": 700}],
}  # fmt: skip


def model(units: str, roof: dict[str, Any] = EVEN, brackets: int = 0) -> Model:
    """The starter's van with a bank, cans, a heater, a fan and two panels."""
    brief = brief_from_dict(SAMPLE | {"units": units, "vehicle": SAMPLE["vehicle"] | {"roof": roof}})
    things = (
        Thing("pack", 2, 330, 173, 220, 11_000, tags=("warm",), clearance=10),
        Thing("can", 4, 350, 230, 380, 1200, 20_000, "supply", ("warm",), upright=True),
        Thing("heater", 1, 340, 145, 150, 7000, tags=("vented",), clearance=50, opening="floor"),
    )
    size = (1200, 540) if roof is EVEN else (660, 400)
    flat = (Thing("panel", 2, *size, 35, 9000, tags=("roof",), on_roof=True, clearance=brackets),)
    fan = (Thing("fan", 1, 400, 400, 120, 4000, tags=("roof",), on_roof=True),)
    groups = tuple(
        Group(name, kind, (Option(name, (), mass_g=sum(t.count * t.mass for t in some), amounts=amounts,
                                  things=some),), True)
        for name, kind, some, amounts in (
            ("pack", "battery", things[:1], {}), ("water", "water_container", things[1:2], {"full_g": 80_000}),
            ("heater", "heater", things[2:], {}), ("panels_1", "solar_panel", flat, {"height_mm": 35}),
            ("roof_fan", "roof_fan", fan, {"height_mm": 120}),
        )
    )  # fmt: skip
    van, goal = brief.vehicle, Goal("cheapest", "USD", 100)
    needs = {
        "food_g_night": 2400, "front_axle_g": 1_450_000, "rear_axle_g": 1_550_000, "side_g": 120_000,
        "length_mm": int(van.length) + 1, "parking_mm": 5334, "payload_g": 10**7, "carried_g": 0, "roof_cm2": 10**6,
        "roof_load_g": 10**6, "rack_g": 0, "van_height_mm": 1960, "height_mm": 4000,
    }  # fmt: skip
    problem = Problem(groups, (), (12,), (7,), (), needs, goal, goal, RULES, space=space_of(brief))
    kit = placed(problem, Kit({group.name: group.name for group in groups}, 12, 7))
    outer = {"fan": (230.0, 230.0)}
    return Model(
        "A van to draw", van, problem, kit, brief.units, lambda part: f"Invented {part} & more",
        lambda part: outer.get(part, (400.0, 400.0)),
    )  # fmt: skip


def texts(root: ElementTree.Element) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom and words of every text, by the mean width of letters."""
    found = []
    for text in root.iter(f"{SVG}text"):
        size, words = float(text.get("font-size", "0")), text.text or ""
        x, y, width = float(text.get("x", "0")), float(text.get("y", "0")), len(words) * size * LETTER
        left = {"start": x, "middle": x - width / 2, "end": x - width}[text.get("text-anchor", "start")]
        if text.get("transform"):
            found.append((x - size, y - width / 2, x, y + width / 2, words))
        else:
            found.append((left, y - 0.8 * size, left + width, y + 0.2 * size, words))
    return found


@pytest.mark.parametrize("view", sorted(VIEWS))
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("roof", [EVEN, UNEVEN], ids=["even", "uneven"])
def test_nothing_is_cut_off_and_no_words_lie_on_others(view: str, units: str, roof: dict[str, Any]) -> None:
    """Every text is on the sheet, and no two texts overlap."""
    root = ElementTree.fromstring(VIEWS[view](model(units, roof)))
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    boxes = texts(root)
    assert boxes
    for left, top, right, bottom, words in boxes:
        assert 0 <= left < right <= width, words
        assert 0 <= top < bottom <= height, words
    for a, b in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (a, b)


@pytest.mark.parametrize("view", sorted(VIEWS))
def test_shapes_are_on_the_sheet(view: str) -> None:
    """No rectangle, circle or line reaches beyond the paper."""
    root = ElementTree.fromstring(VIEWS[view](model("metric")))
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    drawn = [e for e in root if e.tag in (f"{SVG}rect", f"{SVG}circle", f"{SVG}line")]
    assert len(drawn) > 10
    for shape in drawn[1:]:
        spot: dict[str, Any] = {k: float(v) for k, v in shape.attrib.items() if k in _NUMBERS}
        xs = [spot.get("x", spot.get("x1", spot.get("cx", 0) - spot.get("r", 0)))]
        xs.append(spot.get("x2", spot.get("cx", xs[0]) + spot.get("r", spot.get("width", 0))))
        ys = [spot.get("y", spot.get("y1", spot.get("cy", 0) - spot.get("r", 0)))]
        ys.append(spot.get("y2", spot.get("cy", ys[0]) + spot.get("r", spot.get("height", 0))))
        assert min(xs) >= 0
        assert max(xs) <= width
        assert min(ys) >= 0
        assert max(ys) <= height


_NUMBERS = {"x", "y", "width", "height", "x1", "x2", "y1", "y2", "cx", "cy", "r"}


def test_plans_are_to_scale_and_list_every_thing() -> None:
    """Two panels and a fan on the roof, each as large as it is at one scale, each in the list."""
    seen = model("metric")
    root = ElementTree.fromstring(roof_plan(seen))
    rects = [e for e in root if e.tag == f"{SVG}rect"]
    panels = [e for e in rects if e.get("fill") == "url(#panel)"]
    assert len(panels) == 2
    roof = next(e for e in rects if e.get("stroke-width") == "2")
    scale = float(roof.get("width", "0")) / 2500
    for panel, place in zip(panels, sorted(seen.places.roof[:2], key=lambda p: (p.x, p.y)), strict=True):
        assert float(panel.get("width", "0")) == pytest.approx(place.length * scale, abs=0.1)
        assert float(panel.get("height", "0")) == pytest.approx(place.width * scale, abs=0.1)
    words = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    assert words.count("Invented panel & more") == 2
    assert "aerial" in words
    bays = " ".join(t.text or "" for t in ElementTree.fromstring(bay_plans(seen)).iter(f"{SVG}text"))
    assert bays.count("Invented can & more, no.") == 4
    assert bays.count("Invented heater") == 1


def test_the_room_kept_for_a_fan_is_not_told_as_its_size() -> None:
    """A fan smaller than the room kept for it is told with its own size; one as large, by its name alone."""
    seen = model("metric")
    small, large = (
        " ".join(ElementTree.fromstring(roof_plan(one)).itertext()).replace("\u00a0", " ")
        for one in (seen, replace(seen, size_of=lambda part: (400.0, 400.0)))
    )
    assert "room for the roof fan, Invented fan & more, itself 230 mm x 230 mm: 400 mm x 400 mm" in small
    assert "roof fan, Invented fan & more: 400 mm x 400 mm" in large


def test_an_uneven_roof_is_drawn_with_its_parts_lanes_and_brackets() -> None:
    """Two flat parts on grey, dotted lanes, a hatch, and panels drawn without the room their brackets take."""
    seen = model("metric", UNEVEN, brackets=15)
    root = ElementTree.fromstring(roof_plan(seen))
    rects = [e for e in root if e.tag == f"{SVG}rect"]
    outline = next(e for e in rects if e.get("stroke-width") == "2")
    scale = float(outline.get("width", "0")) / 3200
    assert outline.get("fill") == SHADE
    lanes = [e for e in rects if e.get("fill") == "url(#lane)"]
    assert sorted(float(e.get("width", "0")) / scale for e in lanes) == pytest.approx([250, 3200], abs=1)
    parts = [e for e in rects if e.get("fill") == "#ffffff" and e.get("stroke-width") == "1"]
    assert [float(e.get("width", "0")) / scale for e in parts] == pytest.approx([800, 2200], abs=1)
    assert [float(e.get("height", "0")) / scale for e in parts] == pytest.approx([1500 - 2 * 60] * 2, abs=1)
    panels = [e for e in rects if e.get("fill") == "url(#panel)"]
    rooms = sorted((p for p in seen.places.roof if not p.id.startswith("roof_fan/")), key=lambda p: (p.x, p.y))
    for panel, room in zip(panels, rooms, strict=True):
        assert float(panel.get("width", "0")) / scale == pytest.approx(room.length - 30, abs=1)
    words = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    for name in ("over the cab (flat part)", "step up (kept free)", "hatch (stands there)", "grey: not flat"):
        assert name in words


def test_letters_in_the_side_view_lie_on_no_outline() -> None:
    """Bays that lie behind each other keep their letters apart and off each other's outlines."""
    bays = [dict(bay) for bay in SAMPLE["vehicle"]["bays"]]
    bays[1] |= {"x": bays[0]["x"] - 15, "z": bays[0]["z"], "height": bays[0]["height"] + 30}
    vehicle = SAMPLE["vehicle"] | {"bays": bays}
    seen = model("metric")
    moved = replace(
        seen, vehicle=brief_from_dict(SAMPLE | {"vehicle": vehicle}).vehicle,
        problem=replace(seen.problem, space=space_of(brief_from_dict(SAMPLE | {"vehicle": vehicle}))),
    )  # fmt: skip
    root = ElementTree.fromstring(side_view(moved))
    bodies = [e for e in root if e.tag == f"{SVG}rect" and e.get("fill") == "none" and e.get("stroke") != "none"]
    letters = [t for t in root.iter(f"{SVG}text") if t.text in ("A", "B", "C", "D")]
    assert len(letters) == 4
    for letter in letters:
        x = float(letter.get("x", "0"))
        for body in bodies:
            left = float(body.get("x", "0"))
            assert min(abs(x - left), abs(x - left - float(body.get("width", "0")))) > 6, letter.text


def test_no_two_bays_share_a_letter_however_many_there_are() -> None:
    """Thirty bays have thirty letters on the side view: after Z comes AA."""
    (first, *_), seen = SAMPLE["vehicle"]["bays"], model("metric")
    many = SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"bays": [first | {"name": f"bay {n}"} for n in range(30)]}}
    brief = brief_from_dict(many)
    problem = replace(seen.problem, space=space_of(brief))
    kit = replace(seen.kit, places=Placement())
    root = ElementTree.fromstring(side_view(replace(seen, vehicle=brief.vehicle, problem=problem, kit=kit)))
    told = [(t.text or "").partition(": bay ")[0] for t in root.iter(f"{SVG}text") if ": bay " in (t.text or "")]
    words = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    assert "AA: bay 26" in words
    assert "AD: bay 29" in words
    assert len(set(told)) == len(told)


def test_places_of_what_is_there_no_more_are_not_drawn() -> None:
    """A kit saved before its catalog changed: the check says that the places are wrong, the drawings still come."""
    seen = model("metric")
    job: Any = SimpleNamespace(
        problem=seen.problem, brief=SimpleNamespace(name="", vehicle=seen.vehicle, units="metric"),
        catalog=SimpleNamespace(any_part=lambda part: SimpleNamespace(name=part, length_mm=9.0, width_mm=9.0)),
    )  # fmt: skip
    right = draw_kit(job, seen.kit)
    gone = Stowed("water/gone/1", seen.places.stowed[0].bay, 0, 0, 100, 100, 100)
    laid = Placed("panels_1/gone/1", 0, 0, 100, 100)
    places = Placement((*seen.places.roof, laid), (*seen.places.stowed, gone))
    assert draw_kit(job, replace(seen.kit, places=places)) == right


def test_the_side_view_tells_the_axle_loads() -> None:
    """What rests on each axle stands beside what is allowed, in the brief's units."""
    metric = side_view(model("metric"))
    assert "1450 kg" in metric
    assert "1550 kg" in metric
    assert "3050 mm" in metric
    us = side_view(model("us"))
    assert "lb" in us
    assert "10 ft" in us


def test_the_same_kit_is_drawn_the_same() -> None:
    """No clock, no chance: two drawings of a kit are the same text."""
    assert [view(model("us")) for view in VIEWS.values()] == [view(model("us")) for view in VIEWS.values()]


def test_words_are_wrapped_and_escaped() -> None:
    """Long words keep to a width, and signs that mean something to SVG are written out."""
    assert wrapped("one two three", 8 * 13 * LETTER) == ["one two", "three"]
    assert wrapped("from left 1 ft 6 1/2 in", 8 * 13 * LETTER) == ["from", "left", "1\u00a0ft\u00a06\u00a01/2\u00a0in"]
    assert wrapped("high 12 mm or so", 8 * 13 * LETTER) == ["high", "12\u00a0mm or", "so"]
    sheet = Sheet("a < b", 100)
    sheet.text((0, 10), "5 < 6 & 7")
    assert "5 &lt; 6 &amp; 7" in sheet.svg()
