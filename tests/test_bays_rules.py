"""What the rules of the bays ask of a choice before anything has its place, by hand; and how places are told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from one_rule import Fixed

from optimizer.brief.reading import brief_from_dict
from optimizer.brief.starter_values import SAMPLE
from optimizer.places.finding import placed
from optimizer.problem.placing import space_of
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.problem.space import Thing
from optimizer.rules import BY_SLUG

BAYS = [
    {"name": "chest", "length": 1000, "width": 900, "height": 700, "x": 1500, "load": 100, "tags": ["warm"]},
    {"name": "box", "length": 600, "width": 600, "height": 500, "x": 2500, "load": 60, "tags": ["vented"]},
]  # fmt: skip
WARM = Thing("warm", 1, 500, 900, 650, 40_000, tags=("warm",), upright=True)
VENTED = Thing("vented", 1, 600, 300, 300, 30_000, tags=("vented",), upright=True)
EITHER = Thing("either", 1, 300, 300, 400, 20_000, tags=("vented", "warm"), upright=True)
AIRED = Thing("aired", 1, 480, 880, 650, 0, tags=("warm",), upright=True, clearance=10)
FILLED = Thing("filled", 1, 100, 100, 100, 20_000, contents=30_000, filling="supply", tags=("warm",))
HUGE = Thing("huge", 1, 1001, 901, 699, 0, tags=("warm",), upright=True)
TURNED = Thing("turned", 1, 600, 300, 200, 0, tags=("vented",))
TIPPED = Thing("tipped", 1, 550, 300, 250, 0, tags=("vented", "warm"))
LYING = Thing("lying", 1, 700, 300, 500, 10_000, tags=("vented",))


def problem(*things: Thing, bays: list[dict[str, object]] = BAYS) -> tuple[Problem, Kit]:
    """A problem in which there is nothing to choose: each thing is a group of its own."""
    of = brief_from_dict(SAMPLE | {"vehicle": SAMPLE["vehicle"] | {"bays": bays}})
    groups = tuple(
        Group(thing.part, "any", (Option(thing.part, (), mass_g=thing.count * thing.mass, things=(thing,)),), True)
        for thing in things
    )
    goal = Goal("cheapest", "USD", 100)
    slugs = ("parking_length", "roof_plan", "bay_space", "bay_load", "cable_reach", "fuel_apart")
    needs = dict.fromkeys(("front_axle_g", "rear_axle_g", "side_g"), 10**8) | {
        "food_g_night": 0, "parking_mm": 9000, "length_mm": 5000, "payload_g": 10**8, "carried_g": 0,
    }  # fmt: skip
    asked = Problem(groups, (), (12,), (2,), (), needs, goal, goal, slugs, space=space_of(of))
    return asked, Kit({thing.part: thing.part for thing in things}, 12, 2)


def many(thing: Thing, count: int) -> Thing:
    return replace(thing, count=count)


FLOORS = [
    # 1000 x 900 in the chest, 600 x 600 in the box; 500 x 900, 600 x 300 and 300 x 300 of the things
    ([], True), ([many(WARM, 2)], True), ([many(WARM, 3)], False), ([many(VENTED, 2)], True),
    ([many(VENTED, 3)], False), ([many(WARM, 2), many(VENTED, 2)], True),
    ([many(WARM, 2), many(VENTED, 2), EITHER], False), ([WARM, many(VENTED, 2), many(EITHER, 5)], True),
    ([WARM, many(VENTED, 2), many(EITHER, 6)], False), ([many(EITHER, 14)], True), ([many(EITHER, 15)], False),
    ([many(AIRED, 2)], True), ([many(AIRED, 2), many(FILLED, 1)], False), ([HUGE], False),
    ([many(TURNED, 3)], True), ([many(TURNED, 4)], False),  # on its side it takes 600 x 200
    # on its end it takes 300 x 250, though only the chest is high enough for that; each counts at its least
    ([many(TIPPED, 16)], True), ([many(TIPPED, 17)], False),
    ([LYING], False),  # its least side up it is longer than the box; stood on its end it is too high
]  # fmt: skip
LOADS = [
    # 100 kg in the chest, 60 kg in the box; 40, 30 and 20 kg, and a can of 20 kg with 30 kg in it
    ([], True), ([many(WARM, 2)], True), ([many(WARM, 3)], False), ([many(VENTED, 2)], True),
    ([many(VENTED, 3)], False), ([many(WARM, 2), many(VENTED, 2), EITHER], True),
    ([many(WARM, 2), many(VENTED, 2), many(EITHER, 2)], False), ([many(FILLED, 2)], True), ([many(FILLED, 3)], False),
    ([many(FILLED, 2), AIRED], True),  # what weighs nothing needs nothing, however full the chest is
    ([HUGE], False),  # it weighs nothing, and yet no bay takes it
]  # fmt: skip


@pytest.mark.parametrize(
    ("slug", "things", "expected"),
    [("bay_space", *case) for case in FLOORS] + [("bay_load", *case) for case in LOADS],
)
def test_what_can_go_nowhere_else_needs_no_more_than_the_bays_have(
    slug: str, things: list[Thing], expected: bool
) -> None:
    """For every set of bays: what only they take has room in them together, to the square millimetre and the gram."""
    assert Fixed(problem(*things)[0], slug).allows(problem(*things)[1]) == expected


@pytest.mark.parametrize("slug", ["bay_space", "bay_load", "fuel_apart"])
def test_without_bays_nothing_is_asked_of_them(slug: str) -> None:
    """A brief that tells no bays leaves it to its author what stands where."""
    asked, kit = problem(HUGE, bays=[])
    assert Fixed(asked, slug).allows(kit)
    assert BY_SLUG[slug].holds(asked, placed(asked, kit)) == ()


def test_what_the_bays_hold_is_told_as_worked_by_hand() -> None:
    """Floor with the air around things, mass with everything full, and all boxes against those that stand right."""
    asked, kit = problem(many(VENTED, 2), AIRED, many(FILLED, 1))
    kit = placed(asked, kit)
    told = {
        one.name: (one.unit, one.scale, one.used, one.allowed)
        for slug in ("bay_space", "bay_load", "fuel_apart", "roof_plan") for one in BY_SLUG[slug].holds(asked, kit)
    }  # fmt: skip
    assert told == {
        "bay_space chest": ("m2", 1_000_000, 500 * 900 + 100 * 100, 1000 * 900),
        "bay_space box": ("m2", 1_000_000, 2 * 600 * 300, 600 * 600),
        "bay_space all boxes": ("things", 1, 4, 4),
        "bay_load chest": ("kg", 1000, 50_000, 100_000),
        "bay_load box": ("kg", 1000, 60_000, 60_000),
        "fuel_apart": ("things", 1, 0, 0),
        "roof_plan": ("things", 1, 0, 0),
    }


def test_the_longest_of_what_hangs_behind_counts_and_only_where_it_is_used() -> None:
    """Of two bays behind the bumper the longer one makes the van long; empty ones do not.

    The bumper is 4978.4 - 920 = 4058.4 mm behind the front axle, the bays end 4550 and 4600 mm behind it.
    """
    behind = {"width": 600, "height": 600, "x": 4400, "load": 50}
    bays = [
        {"name": name, "length": length, "tags": [tag, "rear_hang"], **behind}
        for name, length, tag in (("short", 300, "outside"), ("long", 400, "vented"))
    ]
    crate = Thing("crate", 1, 300, 300, 300, 1000, tags=("outside",), upright=True)

    def length(*things: Thing) -> int:
        asked, kit = problem(*things, bays=bays)
        (limit,) = BY_SLUG["parking_length"].holds(asked, placed(asked, kit))
        return limit.used

    assert length() == 5000
    assert length(crate) == 5492
    assert length(crate, replace(crate, part="other", tags=("vented",))) == 5542
    assert length(replace(crate, part="other", tags=("vented",))) == 5542
