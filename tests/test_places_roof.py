"""A roof of flat parts, curved sides, lanes and wide brackets: laid out, checked, drawn and lengthened."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import Any

import pytest
from brief_samples import changed

from optimizer.brief.reading import brief_from_dict
from optimizer.brief.starter_values import SAMPLE
from optimizer.check import check
from optimizer.choosing.choose import choose
from optimizer.choosing.order import order_of
from optimizer.explain.giving import given
from optimizer.job import job_of
from optimizer.packing.grid import uncovered
from optimizer.packing.shapes import IMPOSSIBLE, Item, NoPacking, Placed
from optimizer.places.checking import roof_faults
from optimizer.places.finding import lay_out, placed
from optimizer.places.hardness import rectangle_as_hard
from optimizer.places.judge import Places
from optimizer.places.things import fan_of, frames, items_of, pinned_fan
from optimizer.problem.dominance import without_dominated
from optimizer.problem.placing import fan_taken_cm2, free_roof_cm2, roof_taken_cm2, space_of, thing_of
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.problem.roof_place import At, Lane, RoofPlace
from optimizer.problem.space import Placement, Thing
from tests.place_cases import kits, no_wall_stops_what_fits, roof_fits, tiny_problem, with_stepped_roof
from tests.test_places_choose import by_hand, signed

BATCHES = [0, 1, *(pytest.param(batch, marks=pytest.mark.long) for batch in range(2, 12))]
SEEDS = [seed if seed < 12 else pytest.param(seed, marks=pytest.mark.long) for seed in range(80)]
STEPPED = RoofPlace(
    (2600, 1400), 40, 20, At(), parts=(Placed("front", 0, 0, 1000, 1400), Placed("rear", 1100, 200, 1500, 1000))
)


def stepped(seed: int) -> Problem:
    """A tiny world with an uneven roof."""
    return with_stepped_roof(tiny_problem(seed), seed)


def lies(roof: RoofPlace, *sizes: tuple[int, int]) -> bool:
    """Whether rectangles of these sizes go on a roof together."""
    return not isinstance(lay_out(roof, tuple(Item(f"{n}", *size) for n, size in enumerate(sizes)), None), NoPacking)


@pytest.mark.parametrize("batch", BATCHES)
def test_uneven_roofs_against_every_place(batch: int) -> None:
    """Seventy-five random roofs with every set of panels: laid out exactly when trying every millimetre finds places,
    and the check agrees."""
    asked = {True: 0, False: 0}
    for seed in range(75 * batch, 75 * (batch + 1)):
        problem = stepped(seed)
        assert problem.space is not None
        seen = set()
        for kit in kits(problem):
            on_roof = tuple((n, k) for n, k in kit.choices.items() if n in ("panels_1", "roof_fan"))
            if on_roof in seen:
                continue
            seen.add(on_roof)
            possible = roof_fits(problem, kit)
            asked[possible] += 1
            found = lay_out(problem.space.roof, items_of(problem, kit), pinned_fan(problem, kit))
            if not possible:
                assert found is IMPOSSIBLE, (seed, kit)
                continue
            assert not isinstance(found, NoPacking), (seed, kit)
            assert roof_faults(problem, replace(kit, places=Placement(found))) == []
    assert min(asked.values()) > 20
    assert sum(asked.values()) > 150


@pytest.mark.parametrize("seed", SEEDS)
def test_the_choice_is_the_best_of_all_that_fit_on_an_uneven_roof(seed: int) -> None:
    """With steps, lanes and curved sides in force the kit chosen is as good as exhaustive placing's best."""
    problem = stepped(seed)
    expected = by_hand(problem)
    smaller = without_dominated(problem, order_of(problem)).problem
    outcome = choose(smaller, [Places(smaller)])
    assert outcome.status == ("impossible" if expected is None else "proven")
    if expected is not None:
        assert outcome.kit is not None
        assert signed(problem, outcome.kit) == expected
        assert check(problem, placed(problem, outcome.kit)).ok


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_no_wall_stops_a_kit_that_fits_on_an_uneven_roof(seed: int) -> None:
    """Walls named for kits that do not fit leave every kit that does, whatever the roof is like."""
    problem = stepped(seed)
    no_wall_stops_what_fits(problem, list(kits(problem)), 4)


def test_nothing_is_laid_across_a_step() -> None:
    """On two flat parts lies what each takes inside its margins, and nothing that reaches over both."""
    assert lies(STEPPED, (920, 1320), (1420, 920))
    assert not lies(STEPPED, (921, 1320), (1420, 920))
    assert not lies(STEPPED, (920, 1320), (1421, 920))
    assert not lies(STEPPED, (1500, 300))
    assert lies(replace(STEPPED, parts=()), (1500, 300))


def test_parts_without_margins_still_keep_the_gap() -> None:
    """Where two parts meet and no margin is asked for, things keep a gap from the step, and so from each other."""
    roof = replace(
        STEPPED, edge=0, parts=(Placed("front", 0, 0, 1300, 1400), Placed("rear", 1300, 0, 1300, 1400))
    )
    assert roof.part_edge == 21
    assert lies(roof, (1258, 1358), (1258, 1358))
    assert not lies(roof, (1259, 1358))
    assert not lies(roof, (1400, 300))


def test_where_the_roof_curves_away_nothing_lies() -> None:
    """The margin begins behind the strip that falls away, on both sides and nowhere else."""
    roof = RoofPlace((2000, 1000), 30, 20, At(), curve=70)
    assert roof.margin == (30, 100)
    assert lies(roof, (1940, 800))
    assert not lies(roof, (1940, 801))
    assert lies(replace(roof, curve=0), (1940, 940))


@pytest.mark.parametrize(
    ("lane", "sizes"),
    [
        (Lane("aisle", "left", 0, 330), [(1940, 640)]),
        (Lane("aisle", "right", 0, 330), [(1940, 640)]),
        (Lane("aisle", "right", 500, 100), [(1940, 370), (1940, 470)]),
        (Lane("aisle", "front", 600, 400), [(570, 940), (970, 940)]),
        (Lane("aisle", "rear", 600, 400), [(970, 940), (570, 940)]),
    ],
)
def test_a_lane_stays_free_and_takes_no_more_than_its_width(lane: Lane, sizes: list[tuple[int, int]]) -> None:
    """Beside a lane lies what just touches it; a millimetre more does not go, and without the lane it does."""
    roof = RoofPlace((2000, 1000), 30, 20, At(), lanes=(lane,))
    assert lies(roof, *sizes)
    for index in range(len(sizes)):
        for more in ((1, 0), (0, 1)):
            wider = list(sizes)
            wider[index] = (sizes[index][0] + more[0], sizes[index][1] + more[1])
            assert not lies(roof, *wider)
    assert lies(replace(roof, lanes=()), *[(l - 20, w) if lane.side in ("front", "rear") else (l, w - 20)
                                           for l, w in sizes])  # fmt: skip  # noqa: E741


def test_brackets_take_their_room() -> None:
    """A panel's clearance is kept on all four sides, in the sum of areas, in the plan and in what is told of it."""
    problem = tiny_problem(0)
    assert problem.space is not None
    group = problem.group("panels_1")
    thing = replace(group.options[0].things[0], count=1, length=2, width=1, clearance=1)
    option = replace(group.options[0], things=(thing,))
    roof = RoofPlace((6, 5), 1, 0, At())
    asked = replace(
        problem, groups=(replace(group, options=(option,)),), space=replace(problem.space, roof=roof)
    )
    kit = Kit({"panels_1": option.key}, 12, 2)
    (item,) = items_of(asked, kit)
    assert (item.length, item.width) == (4, 3)
    found = lay_out(roof, (item,), None)
    assert found == (Placed(item.id, 0, 0, 4, 3),)
    assert frames(asked, replace(kit, places=Placement(found))) == (Placed(item.id, 2, 2, 2, 1),)
    narrow = replace(roof, size=(5, 5))
    assert not lies(narrow, (4, 3))
    space = space_of(brief_from_dict(SAMPLE))
    assert roof_taken_cm2(space, 1200, 540, 15) == (1200 + 30 + 20) * (540 + 30 + 20) // 100


def test_of_two_pinned_fans_the_larger_covers_the_smaller() -> None:
    """Whatever of it is clearance: a wall named for one fan holds for every fan that takes more."""
    space = space_of(brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {
        "roof": SAMPLE["vehicle"]["roof"] | {"fan_x": 900, "fan_y": 480}}}))  # fmt: skip
    base = Thing("fan", 1, 380, 380, 100, 4000, tags=("roof",), on_roof=True, clearance=10)
    spots = []
    for thing in (base, replace(base, length=400, width=400, clearance=0), replace(base, length=390)):
        option = Option("fan", (), things=(thing,))
        spots.append(fan_of(space, [(Group("roof_fan", "roof_fan", (option,), True), option)]))
    first, same, larger = spots
    assert first is not None
    assert larger is not None
    assert first == same
    assert first.within(larger)
    assert (first.moved(*space.roof.margin).x, first.moved(*space.roof.margin).y) == (900, 480)


def test_a_pinned_fan_stays_on_one_flat_part_and_out_of_lanes() -> None:
    """A fan may lie in the margins; on a step, in a lane or where the roof curves away there is no plan, and the check
    says so."""
    problem = tiny_problem(0)
    assert problem.space is not None
    for roof, good, words in (
        (replace(STEPPED, fan=(-40, -40)), True, ""),
        (replace(STEPPED, fan=(700, 400)), False, "beyond the flat roof"),
        (replace(STEPPED, fan=(100, 400), lanes=(Lane("aisle", "front", 400, 300),)), False, "is on aisle"),
        (replace(STEPPED, parts=(), curve=100, fan=(100, -60)), False, "beyond the flat roof"),
    ):
        fan = roof.fan_at(400)
        assert (lay_out(roof, (), fan) == ()) == good
        thing = replace(problem.group("panels_1").options[0].things[0], count=1, length=400, width=400)
        option = replace(problem.group("panels_1").options[0], things=(thing,))
        group = replace(problem.group("panels_1"), kind="roof_fan", options=(option,))
        asked = replace(problem, groups=(group,), space=replace(problem.space, roof=roof))
        faults = roof_faults(asked, Kit({"panels_1": option.key}, 12, 2, Placement()))
        assert [words in fault for fault in faults] == ([] if good else [True])


@pytest.mark.parametrize(
    ("spot", "words"),
    [
        (Placed("", 0, 0, 921, 900), "inside the margins"),
        (Placed("", 0, 0, 900, 1321), "inside the margins"),
        (Placed("", 1090, 200, 400, 300), "inside the margins"),
        (Placed("", 1700, 400, 400, 300), "in the lane aisle"),
        (Placed("", 2300, 400, 400, 300), "beyond the edge"),
        (Placed("", 1115, 250, 400, 300), "obstacle hatch"),
    ],
)
def test_each_wrong_place_on_an_uneven_roof_is_named(spot: Placed, words: str) -> None:
    """Over a margin or a step, in a lane, off the roof, too near to a hatch: told in a sentence."""
    problem = tiny_problem(0)
    assert problem.space is not None
    hatch = Placed("hatch", 1150, 600, 300, 300)
    roof = replace(STEPPED, lanes=(Lane("aisle", "front", 2000, 200),), obstacles=(hatch,))
    group = problem.group("panels_1")
    thing = replace(group.options[0].things[0], count=1, length=spot.length, width=spot.width)
    option = replace(group.options[0], things=(thing,))
    asked = replace(problem, groups=(replace(group, options=(option,)),), space=replace(problem.space, roof=roof))
    kit = Kit({"panels_1": option.key}, 12, 2)
    (item,) = items_of(asked, kit)
    right = Placed(item.id, 0, 0, 300, 300)
    fine = replace(asked, groups=(replace(group, options=(
        replace(option, things=(replace(thing, length=300, width=300),)),)),))  # fmt: skip
    assert roof_faults(fine, replace(kit, places=Placement((right,)))) == []
    faults = roof_faults(asked, replace(kit, places=Placement((replace(spot, id=item.id),))))
    assert any(words in fault for fault in faults), faults


def test_panels_keep_their_gap_from_a_pinned_fan() -> None:
    """Twenty millimetres beside a fan are enough; one less is told."""
    problem = tiny_problem(0)
    assert problem.space is not None
    panels = problem.group("panels_1")
    thing = replace(panels.options[0].things[0], count=1, length=500, width=300)
    panel = replace(panels.options[0], things=(thing,))
    hood = replace(panel, key="fan", things=(replace(thing, part="fan", length=400, width=400),))
    asked = replace(
        problem, groups=(replace(panels, options=(panel,)), Group("roof_fan", "roof_fan", (hood,), True)),
        space=replace(problem.space, roof=RoofPlace((2600, 1400), 40, 20, At(), fan=(1000, 400))),
    )  # fmt: skip
    kit = Kit({"panels_1": panel.key, "roof_fan": "fan"}, 12, 2)
    (item,) = items_of(asked, kit)
    for x, right in ((1420, True), (1419, False), (480, True), (481, False)):
        faults = roof_faults(asked, replace(kit, places=Placement((Placed(item.id, x, 500, 500, 300),))))
        assert (faults == []) is right
        assert right or "the roof fan are less than 20 apart" in faults[0]


def test_wide_brackets_make_a_panel_harder_to_lay() -> None:
    """What stands in for a panel is told by what both take of the roof, brackets and all."""
    narrow = Thing("a", 1, 1000, 500, 30, 9000, tags=("roof",), on_roof=True)
    wide = replace(narrow, part="b", length=990, width=490, clearance=10)
    assert rectangle_as_hard(wide, narrow)
    assert not rectangle_as_hard(narrow, wide)
    assert rectangle_as_hard(replace(narrow, length=510, width=1010), wide)


def test_a_panels_option_takes_the_area_of_its_brackets() -> None:
    """From catalog to model: with 15 mm of brackets all round, panel and fan ask for that much more of the roof."""
    brief = brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {
        "roof": SAMPLE["vehicle"]["roof"] | {"gap": 20, "obstacles": []}}})  # fmt: skip
    job = job_of(brief)
    panel, fan = job.catalog.part("pv-rigid-100"), job.catalog.part("fan-mushroom")
    wide = (part.model_copy(update={"clearance_mm": 15.0}) for part in (panel, fan))
    wider = replace(job, catalog=job.catalog.with_parts(*wide))
    taken = [
        (one.problem.group("panels_1").option(f"{panel.id} 1s1p").get("area_cm2"),
         one.problem.group("roof_fan").option(fan.id).get("area_cm2"))
        for one in (job, wider)
    ]  # fmt: skip
    length, width = panel.length_mm + 20, panel.width_mm + 20
    assert taken[0] == (length * width // 100, 420 * 420 // 100)
    assert taken[1] == ((length + 30) * (width + 30) // 100, 450 * 450 // 100)


def test_the_free_area_counts_what_is_left() -> None:
    """Areas inside the margins of each part, with a gap for each thing; lanes, curve and steps taken off."""
    space = space_of(brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"roof": {
        "length": 2600, "width": 1400, "edge_margin": 40, "load": 100,
        "flats": [{"name": "front", "x": 0, "length": 1000, "width": 1400},
                  {"name": "rear", "x": 1100, "y": 200, "length": 1500, "width": 1000}],
    }}}))  # fmt: skip
    assert space.roof.parts == STEPPED.parts
    assert free_roof_cm2(space) == -(-(940 * 1340 + 1440 * 940) // 100)
    with_lane = replace(space, roof=replace(space.roof, lanes=(Lane("aisle", "front", 0, 340),)))
    assert free_roof_cm2(with_lane) == -(-(640 * 1340 + 1440 * 940) // 100)
    assert fan_taken_cm2(space, 420) == 440 * 440 // 100


def test_what_is_not_a_whole_millimetre_is_rounded_against_the_kit() -> None:
    """Flat parts shrink, obstacles and lanes grow, margins grow, roof and thing alike."""
    roof = space_of(brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"roof": {
        "length": 2600.9, "width": 1400.9, "edge_margin": 39.1, "curve": 20.2, "gap": 19.5, "load": 100,
        "flats": [{"name": "a", "x": 10.5, "y": 0.5, "length": 1000, "width": 1000}],
        "obstacles": [{"name": "o", "x": 100.5, "y": 100.5, "length": 50.2, "width": 50.7}],
        "lanes": [{"name": "l", "side": "rear", "start": 100.5, "width": 300.2}],
    }}})).roof  # fmt: skip
    assert (roof.size, roof.edge, roof.curve, roof.gap) == ((2600, 1400), 40, 21, 20)
    assert roof.parts == (Placed("a", 11, 1, 999, 999),)
    assert roof.obstacles == (Placed("o", 100, 100, 51, 52),)
    assert roof.lanes == (Lane("l", "rear", 100, 301),)
    assert roof.kept_free == (Placed("l", 2600 - 401, 0, 301, 1400),)


def test_a_longer_roof_is_longer_at_its_rear_end() -> None:
    """The part that reaches furthest grows, what is measured from the rear moves along, the rest stays; shorter again
    it is as before, and far shorter the rear part goes first."""
    roof = replace(STEPPED, lanes=(Lane("aisle", "rear", 0, 300),))
    longer = roof.longer(200)
    assert longer.parts == (STEPPED.parts[0], Placed("rear", 1100, 200, 1700, 1000))
    assert longer.kept_free == (Placed("aisle", 2500, 0, 300, 1400),)
    assert longer.longer(-200) == roof
    shorter = roof.longer(-1700)
    assert [part.length for part in shorter.parts] == [900, 0]
    assert lies(STEPPED.longer(-1700), (820, 1320))
    assert not lies(STEPPED.longer(-1700), (821, 1320))


def test_more_roof_never_takes_a_plan_away() -> None:
    """What lies on an uneven roof lies on the same roof made longer, as break-evens take for granted."""
    fitted = 0
    for seed in range(40):
        problem = stepped(seed)
        for kit in list(kits(problem))[::5]:
            longer = given(problem, {"roof_area": 2})
            assert longer.space is not None
            assert longer.space.roof == problem.space.roof.longer(2)  # type: ignore[union-attr]
            assert longer.need("roof_cm2") == free_roof_cm2(longer.space)
            if roof_fits(problem, kit):
                fitted += 1
                if not any(lane.side == "rear" for lane in problem.space.roof.lanes):  # type: ignore[union-attr]
                    assert roof_fits(longer, kit)
    assert fitted > 30


def test_what_is_bare_is_found_once() -> None:
    """What rectangles leave bare and what they cover make up the whole, cell by cell."""
    assert uncovered(4, 3, []) == ((0, 0, 4, 3),)
    assert uncovered(4, 3, [(-1, -1, 9, 9)]) == ()
    bare = uncovered(9, 7, [(1, 1, 4, 7), (3, 0, 6, 2), (8, -3, 20, 3)])
    cells = [(x, y) for left, near, far, end in bare for x in range(left, far) for y in range(near, end)]
    covered = {(x, y) for x in range(9) for y in range(7)
               if (1 <= x < 4 and y >= 1) or (3 <= x < 6 and y < 2) or (x == 8 and y < 3)}  # fmt: skip
    assert len(cells) == len(set(cells))
    assert set(cells) | covered == {(x, y) for x in range(9) for y in range(7)}
    assert not set(cells) & covered


def test_an_own_part_takes_no_brackets() -> None:
    """Parts of own kinds have no clearance column, and take their own size only."""
    from optimizer.parts.records import OwnPart

    thing = thing_of(OwnPart(id="box", name="roof box", length_mm=1200, width_mm=500, bay_tags="roof"), 1)
    assert thing is not None
    assert thing.laid == (1200, 500)


def test_a_brief_with_every_roof_key_is_read() -> None:
    """Flat parts, lanes and a curve come from the TOML as they are written, units and all."""
    roof: dict[str, Any] = {"curve": "2 in", "lanes": [{"name": "way", "side": "left", "width": "1 ft"}]}
    text = changed(("width = 1350", "width = 1350\ncurve = \"2 in\""))
    assert brief_from_dict(tomllib.loads(text)).vehicle.roof.curve == pytest.approx(50.8)
    read = brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"roof": SAMPLE["vehicle"]["roof"] | roof}})
    assert read.vehicle.roof.lanes[0].width == pytest.approx(304.8)
    assert read.vehicle.roof.lanes[0].start == 0
