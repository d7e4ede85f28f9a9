"""From a part's row and the brief's words to things, bays and what is aboard: nothing of them is lost on the way."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from optimizer.brief.reading import brief_from_dict
from optimizer.brief.starter_values import SAMPLE
from optimizer.parts.records import (
    FuelTank,
    GreyContainer,
    Heater,
    OwnPart,
    RoofFan,
    SolarPanel,
    WaterContainer,
)
from optimizer.physics.fuel import FUEL_DENSITY_KG_L
from optimizer.places.finding import place
from optimizer.places.hardness import box_as_hard
from optimizer.places.openings import openings
from optimizer.places.things import boxes_of, split_groups, usable_bays
from optimizer.problem.placing import fan_taken_cm2, roof_taken_cm2, space_of, thing_of
from optimizer.problem.records import Kit
from optimizer.problem.space import At, Placement, Thing
from tests.test_axles import KIT, brief, problem

SIZE: dict[str, Any] = {"price_usd": 1, "mass_kg": 2.5, "length_mm": 300.5, "width_mm": 200, "height_mm": 100}
PANEL: dict[str, Any] = {
    "power_w": 100, "voc_v": 22, "vmp_v": 18, "isc_a": 6, "imp_a": 5, "power_coefficient_pct_k": -0.3,
    "voc_coefficient_pct_k": -0.3, "noct_c": 45, "flexible": False,
}  # fmt: skip


def heater(**more: Any) -> Heater:
    """A heater of the size above."""
    kind: dict[str, Any] = {"fuel": "diesel", "output_w": 2000, "efficiency": 0.8, "draw_w": 20, "room_sealed": True}
    return Heater(**{"id": "heat", "name": "heater", **SIZE, **kind, **more})


def test_every_column_that_places_a_part_is_in_its_thing() -> None:
    """Size up to whole millimetres, mass, air around it, what it lives in, upright, opening and skill."""
    part = heater(
        bay_tags="vented| outside", upright=True, clearance_mm=49.2, opening="floor", skill="body_cutting"
    )
    assert thing_of(part, 2) == Thing(
        "heat", 2, 301, 200, 100, 2500, tags=("outside", "vented"), upright=True, clearance=50, opening="floor",
        skill="body_cutting", hazard="spark",
    )  # fmt: skip


@pytest.mark.parametrize("tags", ["none", "-", ""])
def test_what_needs_no_bay_or_has_no_size_is_no_thing(tags: str) -> None:
    """A part for no bay, or without a size, takes no place."""
    if tags == "none":
        assert thing_of(heater(length_mm=0), 1) is None
    else:
        assert thing_of(heater(bay_tags=tags), 1) is None


def test_what_is_in_a_container_weighs_as_its_kind_says() -> None:
    """Water at a kilogram a litre, fuel at its density, both aboard at departure; waste water on the way back."""
    water = thing_of(WaterContainer(id="w", name="w", **SIZE, volume_l=20, fixed=False), 1)
    fuel = thing_of(FuelTank(id="f", name="f", **SIZE, volume_l=10, fuel="diesel"), 1)
    grey = thing_of(GreyContainer(id="g", name="g", **SIZE, volume_l=15), 1)
    assert water is not None
    assert fuel is not None
    assert grey is not None
    assert [water.mass_in(state) for state in range(3)] == [22_500, 2500, 2500]
    full = round(10_000 * FUEL_DENSITY_KG_L["diesel"])
    assert [fuel.mass_in(state) for state in range(3)] == [2500 + full, 2500, 2500]
    assert [grey.mass_in(state) for state in range(3)] == [2500, 2500, 17_500]
    assert grey.heaviest == 17_500


def test_a_panel_weighs_with_its_brackets_and_a_fan_covers_its_opening() -> None:
    """What lies on the roof has the brackets' mass with it, and a small fan is as large as the hole."""
    sizes = {**SIZE, "bay_tags": "roof", "clearance_mm": 12}
    panel = thing_of(SolarPanel(id="p", name="p", **sizes, **PANEL, bracket_mass_kg=1.1), 1)
    fan = thing_of(RoofFan(id="fan", name="fan", **sizes, draw_w=4, airflow_m3_h=40), 1, fan_side=400)
    assert panel is not None
    assert fan is not None
    assert (panel.on_roof, panel.mass, panel.laid) == (True, 3600, (325, 224))
    assert (fan.on_roof, fan.length, fan.width, fan.laid) == (True, 400, 400, (424, 424))


def test_the_pinned_fan_takes_what_is_still_free_with_its_clearance() -> None:
    """Pinned in the open a fan takes its side and all that is kept free around it; half in the margin only half."""
    space = space_of(brief_from_dict(SAMPLE))
    roof = replace(space.roof, obstacles=(), fan=(1000, 500))
    pinned = replace(space, roof=roof)
    assert fan_taken_cm2(pinned, 420) == roof_taken_cm2(space, 400, 400, 10.0) == 440 * 440 // 100
    out = replace(space, roof=replace(roof, fan=(-10, 500)))
    assert fan_taken_cm2(out, 400) == (420 - 10) * 420 // 100


TWO_BAYS = [
    {"name": "low", "length": 400, "width": 400, "height": 500, "x": 1500, "load": 100, "tags": ["warm"]},
    {"name": "high", "length": 400, "width": 400, "height": 500, "x": 2500, "load": 100, "tags": ["warm"]},
]


@pytest.mark.parametrize("allowed", [False, True])
def test_a_bank_is_split_over_bays_only_where_the_brief_allows_it(allowed: bool) -> None:
    """Two packs that fit into two bays and not into one: with preferences.split_bays alone there is a place."""
    of = brief([{"mass": 75}], bays=TWO_BAYS)
    of = of.model_copy(update={"preferences": of.preferences.model_copy(update={"split_bays": allowed})})
    asked = problem(of, Thing("pack", 2, 300, 300, 300, 20_000, tags=("warm",)))
    assert asked.space is not None
    assert asked.space.may_split is allowed
    assert split_groups(asked) == (("things",) if allowed else ())
    found = place(asked, KIT)
    assert isinstance(found, Placement) is allowed
    if isinstance(found, Placement):
        assert {stowed.bay for stowed in found.stowed} == {"low", "high"}


def test_split_bays_is_off_by_default_and_read_from_the_brief() -> None:
    """A bank stays in one bay unless the brief says otherwise in so many words."""
    assert space_of(brief_from_dict(SAMPLE)).may_split is False
    told = SAMPLE | {"preferences": SAMPLE["preferences"] | {"split_bays": True}}
    assert space_of(brief_from_dict(told)).may_split is True


def test_every_opening_is_named_once_with_its_skill() -> None:
    """Outside wall, floor and roof, each with the skill that its row asks for; two of a sort are one sentence."""
    of = brief([{"mass": 75}], bays=[{**TWO_BAYS[0], "length": 2000, "width": 1000, "load": 400}])
    asked = problem(
        of,
        Thing("flue", 2, 100, 100, 100, 1000, tags=("warm",), opening="wall", skill="body_cutting"),
        Thing("drain", 1, 100, 100, 100, 1000, tags=("warm",), opening="floor", skill=""),
        Thing("fan", 1, 400, 400, 100, 1000, tags=("roof",), on_roof=True, opening="roof", skill="roof_cutting"),
        Thing("plain", 1, 100, 100, 100, 1000, tags=("warm",)),
    )
    assert openings(asked, KIT) == [
        {"part": "flue", "opening": "wall", "skill": "body_cutting"},
        {"part": "drain", "opening": "floor", "skill": ""},
        {"part": "fan", "opening": "roof", "skill": "roof_cutting"},
    ]


def test_the_brief_makes_bays_seats_and_ballast() -> None:
    """Bays at their middles with their openings; people, fittings, gear and food where and when they are aboard."""
    vehicle = SAMPLE["vehicle"] | {
        "left_share": 52, "bays": [
            {"name": "box", "length": 500.9, "width": 300.9, "height": 400.9, "x": 900.5, "y": -200, "z": 560,
             "load": 40.5004, "tags": ["warm", "inside"], "door_width": 250.7, "door_height": 350.7},
        ],
        "fittings": [{"name": "shelf", "mass": 12.5, "x": 1700, "y": 300}],
    }  # fmt: skip
    supplies = SAMPLE["supplies"] | {"gear": 60, "gear_x": 2400, "gear_y": 100, "food_x": 1450, "food_y": -50}
    space = space_of(brief_from_dict(SAMPLE | {"vehicle": vehicle, "supplies": supplies}))
    (held,) = space.bays
    bay = held.bay
    assert (bay.length, bay.width, bay.height, bay.load, bay.tags) == (500, 300, 400, 40_500, ("inside", "warm"))
    assert (bay.door_width, bay.door_height, held.floor, held.at) == (250, 350, 560, At(900, 901, -200, -200))
    aboard = {ballast.name: ballast for ballast in space.ballast}
    assert (aboard["first"].states, aboard["second"].states) == ((0, 1, 2), (0, 2))
    assert (aboard["first"].mass, aboard["first"].at) == (78_000, At(700, 700, -400, -400))
    assert (aboard["shelf"].mass, aboard["shelf"].at, aboard["shelf"].states) == (
        12_500, At(1700, 1700, 300, 300), (0, 1, 2)
    )  # fmt: skip
    assert (aboard["gear"].mass, aboard["gear"].at, aboard["gear"].states) == (60_000, At(2400, 2400, 100, 100), (0, 2))
    assert space.food == At(1450, 1450, -50, -50)
    lean = (930 + 690) * 1000 * 0.04
    assert space.weighed_sides == (-lean, lean)
    assert space.roof.at == At(500 + 1250, 500 + 1250)


def test_a_pinned_fan_is_where_the_brief_says_whatever_the_roof_keeps_free() -> None:
    """From the roof's own corner, on a level roof and on one whose sides curve away."""
    for curve, edge in ((0, 30), (60, 30), (60, 0)):
        roof = SAMPLE["vehicle"]["roof"] | {"curve": curve, "edge_margin": edge, "fan_x": 900, "fan_y": 480}
        place = space_of(brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"roof": roof}})).roof
        fan = place.fan_at(400)
        assert fan is not None
        there = fan.moved(*place.margin)
        assert (there.x, there.y, there.length, there.width) == (900, 480, 400, 400)


def test_what_hangs_behind_is_usable_while_the_van_is_short_enough() -> None:
    """A bay behind the bumper adds its own length at least, or all that it sticks out; nothing else adds any."""
    hung = {"name": "behind", "length": 400, "width": 900, "height": 700, "load": 80, "tags": ["outside", "rear_hang"]}
    length, overhang = 5000, 920
    for x, out in ((4080 + 200, 400), (4080 + 300, 500), (3000, 400)):
        of = brief([{"mass": 75}], bays=[hung | {"x": x}, TWO_BAYS[0]], length=length, front_overhang=overhang)
        asked = problem(of)
        assert asked.space is not None
        assert [held.hangs_out for held in asked.space.bays] == [out, 0]
        for room, names in ((out, ["behind", "low"]), (out - 1, ["low"])):
            tight = replace(asked, needs={**asked.needs, "parking_mm": length + room})
            assert [held.bay.name for held in usable_bays(tight)] == names


def test_boxes_of_a_kit_are_its_things_one_by_one() -> None:
    """Each single box at its heaviest, with its air, its group and whether it must stand upright."""
    of = brief([{"mass": 75}], bays=TWO_BAYS)
    can = Thing("can", 2, 100, 110, 120, 500, 5000, "supply", ("warm",), upright=True, clearance=7)
    boxes = boxes_of(problem(of, can), Kit({"things": "all"}, 12, 7))
    assert [box.id for box in boxes] == ["things/can/1", "things/can/2"]
    assert {(box.mass, box.upright, box.clearance, box.group, box.tags) for box in boxes} == {
        (5500, True, 7, "things", ("warm",))
    }


def test_an_own_part_lives_where_its_row_says() -> None:
    """Parts of own kinds have size, mass and tags, and no more."""
    part = OwnPart(id="saw", name="saw", mass_kg=3, length_mm=500, width_mm=200, height_mm=150, bay_tags="inside")
    assert thing_of(part, 3) == Thing("saw", 3, 500, 200, 150, 3000, tags=("inside",))


@pytest.mark.parametrize(("wide", "fits"), [(250, True), (251, False)])
def test_air_around_a_box_is_no_width_that_passes_an_opening(wide: int, fits: bool) -> None:
    """A box of 250 mm with 50 mm of air asks for a door of 250 mm: what is wider without any air does not pass it."""
    airy = Thing("airy", 1, 250, 250, 250, 1000, tags=("inside",), upright=True, clearance=50)
    bare = Thing("bare", 1, wide, wide, 250, 1000, tags=("inside",), upright=True)
    assert box_as_hard(airy, bare) is fits
