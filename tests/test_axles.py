"""What rests on the axles: against moments worked by hand, cited masses of people, and the limits told."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from one_rule import Fixed, holds

from optimizer.brief.brief import Brief
from optimizer.brief.reading import brief_from_dict
from optimizer.brief.starter_values import SAMPLE
from optimizer.check import check
from optimizer.physics.statics import EU_OCCUPANT_KG, SEAT_KG, axle_loads, overhang_loads, side_loads
from optimizer.places.finding import placed
from optimizer.places.loads import MEASURES, Loads
from optimizer.places.weighing import weights
from optimizer.problem.placing import space_of, thing_of
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.problem.space import STATES, Thing
from optimizer.rules import BY_SLUG
from tests.place_cases import RULES, tiny_problem

DEPARTURE, ALONE, RETURN = range(3)


def brief(people: list[dict[str, Any]], **vehicle: Any) -> Brief:
    """The starter's van with other people, nothing else aboard, and some of its measures changed."""
    data = SAMPLE | {
        "people": people,
        "supplies": {"gear": 0, "food_per_person_day": 0},
        "vehicle": SAMPLE["vehicle"] | {"fittings": [], "wheelbase": 3000, "track": 1500, **vehicle},
    }
    return brief_from_dict(data)


def problem(of: Brief, *things: Thing) -> Problem:
    """A problem with one choice: all these things."""
    mass = sum(thing.count * thing.mass for thing in things)
    full = sum(thing.count * thing.contents for thing in things if thing.filling == "supply")
    grey = sum(thing.count * thing.contents for thing in things if thing.filling == "waste")
    option = Option("all", (), mass_g=mass, amounts={"one": 1, "full_g": full, "grey_g": grey}, things=things)
    van = of.vehicle
    needs = {
        "food_g_night": 0, "payload_g": 10**7, "carried_g": 0, "roof_cm2": 10**6, "roof_load_g": 10**6, "rack_g": 0,
        "van_height_mm": 0, "height_mm": 4000, "length_mm": int(van.length), "parking_mm": 6000,
        "front_axle_g": int(van.front_axle_rating * 1000), "rear_axle_g": int(van.rear_axle_rating * 1000),
        "side_g": int(van.side_difference * 1000),
    }  # fmt: skip
    goal = Goal("cheapest", "USD", 100)
    return Problem(
        (Group("things", "any", (option,), needed=True),), (), (12,), (7,), (), needs, goal, goal, RULES,
        space=space_of(of),
    )  # fmt: skip


KIT = Kit({"things": "all"}, 12, 7)


def test_people_of_the_cited_masses_on_their_seats() -> None:
    """A driver of 75 kg (EU 1230/2012) and an occupant of 150 lb (49 CFR 571.110) by moments about the axles."""
    seats = [{"name": "left", "x": 600, "y": -450}, {"name": "right", "x": 600, "y": 450}]
    people = [{"mass": EU_OCCUPANT_KG, "seat": "left"}, {"mass": "150 lb", "seat": "right"}]
    of = brief(people, seats=seats, left_share=50)
    asked = problem(of)
    full, alone, _ = weights(asked, placed(asked, KIT))
    both = axle_loads([EU_OCCUPANT_KG, SEAT_KG], [600, 600], 3000)
    assert full.front == pytest.approx(1000 * (930 + both.front), abs=2)
    assert full.rear == pytest.approx(1000 * (690 + both.rear), abs=2)
    driver = axle_loads([75.0], [600], 3000)
    assert alone.front == pytest.approx(1000 * (930 + driver.front), abs=2)
    lean = side_loads([75.0], [-450], 1500).difference
    assert lean == pytest.approx(-45)
    assert alone.difference == pytest.approx(45_000, abs=2)
    assert full.difference == pytest.approx(1000 * (75 - SEAT_KG) * 2 * 450 / 1500, abs=2)


def test_what_hangs_behind_levers_on_the_rear_axle_and_counts_in_the_parking_length() -> None:
    """60 kg hung 1 m behind the rear axle put 80 kg on it and take 20 kg off the front."""
    bay = {"name": "box behind", "length": 500, "width": 900, "height": 700, "x": 4000, "load": 80,
           "tags": ["outside", "rear_hang"]}  # fmt: skip
    of = brief([{"mass": 75}], bays=[bay], length=5000)
    asked = problem(of, Thing("crate", 1, 400, 400, 400, 60_000, tags=("outside",)))
    kit = placed(asked, KIT)
    with_it, without = weights(asked, kit)[ALONE], weights(problem(of), placed(problem(of), KIT))[ALONE]
    added = overhang_loads(60, 1000, 3000)
    assert (added.front, added.rear) == pytest.approx((-20, 80))
    assert with_it.front - without.front == -20_000
    assert with_it.rear - without.rear == 80_000
    (parking,) = BY_SLUG["parking_length"].holds(asked, kit)
    # The bay ends at 4250 mm and the bumper is at 5000 - 920 = 4080 mm, but the bay itself is 500 mm long.
    assert parking.used == 5000 + 500
    tight = replace(asked, needs={**asked.needs, "parking_mm": parking.used - 1})
    with pytest.raises(ValueError, match="no places"):
        placed(tight, KIT)


@pytest.mark.parametrize(
    ("mass", "x", "wheelbase", "front", "rear", "tolerance"),
    [
        # R. N. Jazar, Vehicle Dynamics: Theory and Application, Exercise 2, p. 90: a1 = 1.100 m, a2 = 1.323 m.
        (1245.0, 1100.0, 2423.0, 679.8, 565.2, 0.1),
        # The same book, Example 39, from memory: a1 = 0.78 m of 2.35 m.
        (890.0, 780.0, 2350.0, 594.6, 295.4, 0.1),
        # 100 kg placed 1.0 m behind the rear axle of a wheelbase of 3.0 m: the lever rule.
        (100.0, 4000.0, 3000.0, -33.3, 133.3, 0.05),
    ],
)
def test_published_axle_loads_through_the_whole_weighing(
    mass: float, x: float, wheelbase: float, front: float, rear: float, tolerance: float
) -> None:
    """A mass of the worked examples, put into the brief as two fittings, rests on the axles as published."""
    halves = [{"name": f"half {n}", "mass": mass / 2, "x": x} for n in (1, 2)]
    ratings = {"gross_mass": 7000, "front_axle_rating": 4000, "rear_axle_rating": 4000, "bays": [], "seats": []}
    van = {"wheelbase": wheelbase, "length": 6000} | ratings
    with_it, without = problem(brief([{"mass": 75}], fittings=halves, **van)), problem(brief([{"mass": 75}], **van))
    for a, b in zip(weights(with_it, placed(with_it, KIT)), weights(without, placed(without, KIT)), strict=True):
        assert (a.front - b.front) / 1000 == pytest.approx(front, abs=tolerance)
        assert (a.rear - b.rear) / 1000 == pytest.approx(rear, abs=tolerance)


def test_each_loading_state_has_what_is_aboard_then() -> None:
    """Water and fuel weigh at departure, waste water on the return, and neither with the driver alone."""
    bay = {"name": "hold", "length": 1000, "width": 900, "height": 700, "x": 1500, "load": 300, "tags": ["warm"]}
    water = Thing("can", 2, 300, 300, 400, 1000, contents=20_000, filling="supply", tags=("warm",))
    waste = Thing("drum", 1, 300, 300, 400, 2000, contents=30_000, filling="waste", tags=("warm",))
    of = brief([{"mass": 75}], bays=[bay])
    asked, bare = problem(of, water, waste), problem(of)
    gains = [
        (a.front - b.front, a.rear - b.rear)
        for a, b in zip(weights(asked, placed(asked, KIT)), weights(bare, placed(bare, KIT)), strict=True)
    ]
    # Half of each mass on either axle: 2 x 21 + 2, 2 x 1 + 2, 2 x 1 + 32 kg.
    assert gains == [(22_000, 22_000), (2_000, 2_000), (17_000, 17_000)]


def test_what_has_no_place_counts_in_full_on_both_axles() -> None:
    """A mass whose place nobody knows never flatters either axle."""
    fitting = {"name": "shelf", "mass": 30}
    with_it = weights(problem(brief([{}], fittings=[fitting])), placed(problem(brief([{}])), KIT))
    without = weights(problem(brief([{}])), placed(problem(brief([{}])), KIT))
    assert all(a.front - b.front == 30_000 and a.rear - b.rear == 30_000
               for a, b in zip(with_it, without, strict=True))  # fmt: skip


def test_food_counts_where_it_harms_and_never_where_it_helps() -> None:
    """Food behind the rear axle and on the left is eaten on the way: it loads the rear and the left, and takes nothing
    off the front or the right, in either telling."""
    of = brief([{"mass": 75}])
    supplies = of.supplies.model_copy(update={"food_per_person_day": 1.5, "food_x": 4000.0, "food_y": -300.0})
    asked, bare = problem(of.model_copy(update={"supplies": supplies})), problem(of)
    asked = replace(asked, needs={**asked.needs, "food_g_night": 1500})
    eaten = 1500 * KIT.nights
    full, none = weights(asked, placed(asked, KIT)), weights(bare, placed(bare, KIT))
    assert full[DEPARTURE].front == none[DEPARTURE].front
    assert full[DEPARTURE].rear - none[DEPARTURE].rear == eaten * 4000 / 3000
    assert full[DEPARTURE].right_over_left == none[DEPARTURE].right_over_left
    assert full[DEPARTURE].left_over_right - none[DEPARTURE].left_over_right == eaten * 2 * 300 / 1500
    assert full[ALONE:] == none[ALONE:]
    loads = Loads(asked)
    told = {measure.what: loads.food(measure) for measure in MEASURES if measure.state == DEPARTURE}
    assert told == {"front_axle": 0, "rear_axle": 1500 * 4000, "right": 0, "left": 2 * 1500 * 300}
    assert not any(loads.food(measure) for measure in MEASURES if measure.state != DEPARTURE)


def test_an_axle_over_its_rating_is_a_broken_limit() -> None:
    """The limit tells used and allowed in each state, and a gram too much breaks it."""
    asked = problem(brief([{"mass": 75}]))
    kit = placed(asked, KIT)
    names = [limit.name for limit in BY_SLUG["rear_axle"].holds(asked, kit)]
    assert names == [f"rear_axle {state}" for state in STATES]
    assert {(limit.unit, limit.scale) for limit in BY_SLUG["rear_axle"].holds(asked, kit)} == {("kg", 1000)}
    used = max(limit.used for limit in BY_SLUG["rear_axle"].holds(asked, kit))
    exact = replace(asked, needs={**asked.needs, "rear_axle_g": used})
    assert check(exact, kit).ok
    over = replace(asked, needs={**asked.needs, "rear_axle_g": used - 1})
    assert any(fault.startswith("rear_axle") for fault in check(over, kit).faults)


@pytest.mark.parametrize("seed", range(40))
def test_two_tellings_of_the_loads_agree(seed: int) -> None:
    """What the search sums over bays and what the check weighs from places is the same, to the gram."""
    asked = tiny_problem(seed)
    loads = Loads(asked)
    for keys in ([0] * 9, [1] * 9):
        choices = {g.name: g.options[k % len(g.options)].key for g, k in zip(asked.groups, keys, strict=False)}
        kit = Kit(choices, 12, asked.nights[0])
        try:
            kit = placed(asked, kit)
        except ValueError:
            continue
        assert kit.places is not None
        homes = {s.id: s.bay for s in kit.places.stowed}
        places = {p.bay.name: p for p in loads.places}
        told = weights(asked, kit)
        for measure in MEASURES:
            total = loads.food(measure) * kit.nights
            for group, option in kit.options(asked):
                total += loads.loose(measure, group, option, kit.nights)
                for thing in option.things:
                    for number in range(1, thing.count + 1):
                        if not thing.on_roof:
                            home = homes[f"{group.name}/{thing.part}/{number}"]
                            total += loads.in_bay(measure, thing, places[home])
            one = told[measure.state]
            used = {"front_axle": one.front, "rear_axle": one.rear, "right": one.right_over_left,
                    "left": one.left_over_right}[measure.what]  # fmt: skip
            rating = asked.need("side_g" if measure.what in ("right", "left") else f"{measure.what}_g")
            assert -(-(total - loads.allowed(measure)) // loads.unit(measure)) == used - rating


def test_an_own_part_on_the_roof_is_laid_out_too() -> None:
    """A part of an own kind tagged 'roof' is a thing on the roof; without a size it needs no place."""
    from optimizer.parts.records import OwnPart

    box = OwnPart(id="box", name="roof box", mass_kg=12, length_mm=1200, width_mm=500, bay_tags="roof")
    thing = thing_of(box, 1)
    assert thing is not None
    assert thing.on_roof
    assert thing_of(OwnPart(id="sticker", name="sticker", bay_tags="roof"), 1) is None


@pytest.mark.parametrize(("x", "y"), [(1500, 300), (2100, -300), (4200, 300), (-600, -150)])
@pytest.mark.parametrize("slug", ["front_axle", "rear_axle", "side_balance"])
def test_where_there_is_one_bay_the_model_turns_at_the_gram_at_which_the_check_does(slug: str, x: int, y: int) -> None:
    """With nothing left to be placed, what must be so wherever things are put is what is so: in the state that is the
    hardest, with the food of all nights where it harms, and with what the limit gives."""
    bay = {"name": "hold", "length": 1000, "width": 900, "height": 700, "x": x, "y": y, "load": 300, "tags": ["warm"]}
    can = Thing("can", 2, 300, 300, 400, 1000, contents=20_000, filling="supply", tags=("warm",))
    of = brief([{"mass": 75}], bays=[bay], length=6000)
    supplies = of.supplies.model_copy(update={"food_per_person_day": 1.5, "food_x": 4000.0, "food_y": 300.0})
    asked = problem(of.model_copy(update={"supplies": supplies}), can)
    (all_of_it,) = asked.groups
    bare = Option("nothing", (), amounts={"one": 1})
    asked = replace(
        asked, nights=(7, 9), needs={**asked.needs, "food_g_night": 1500},
        groups=(replace(all_of_it, options=(*all_of_it.options, bare)),),
    )  # fmt: skip
    need = {"front_axle": "front_axle_g", "rear_axle": "rear_axle_g", "side_balance": "side_g"}[slug]
    for chosen in ("all", "nothing"):
        kit = placed(asked, Kit({"things": chosen}, 12, 7))
        used = max(limit.used for limit in BY_SLUG[slug].holds(asked, kit))
        for less, given in ((0, 0), (1, 0), (5, 5), (6, 5)):
            drawn = replace(asked, needs={**asked.needs, need: used - less}, gives={slug: given})
            assert holds(drawn, slug, kit) == (less == given)
            assert Fixed(drawn, slug).allows(kit) == (less == given), (chosen, less, given)
