"""A placed kit is checked place by place, and comes back from its file as it was saved."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, replace

import pytest

from optimizer.check import check
from optimizer.kitfile import places_of
from optimizer.packing.bays import Stowed
from optimizer.packing.shapes import Placed
from optimizer.places.finding import place, placed
from optimizer.places.openings import openings
from optimizer.places.things import boxes_of
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement
from optimizer.rules import BY_SLUG
from tests.place_cases import kits, tiny_problem


def placed_kit(least_boxes: int) -> tuple[Problem, Kit]:
    """The first tiny world's kit that fits, with so many boxes and two things on the roof."""
    for seed in range(200):
        problem = tiny_problem(seed)
        for kit in list(kits(problem))[:40]:
            found = place(problem, kit)
            if isinstance(found, Placement) and len(found.stowed) >= least_boxes and len(found.roof) >= 2:
                return problem, placed(problem, kit)
    raise AssertionError("no such world")


def changed(kit: Kit, stowed: Callable[[Stowed], Stowed] | None, roof: Callable[[Placed], Placed] | None) -> Kit:
    """The kit with its first box or its first thing on the roof moved."""
    assert kit.places is not None
    boxes, flat = list(kit.places.stowed), list(kit.places.roof)
    if stowed is not None:
        boxes[0] = stowed(boxes[0])
    if roof is not None:
        flat[0] = roof(flat[0])
    return replace(kit, places=Placement(tuple(flat), tuple(boxes)))


@pytest.mark.parametrize(
    ("stowed", "roof", "words"),
    [
        (lambda s: replace(s, x=99), None, "does not fit"),
        (lambda s: replace(s, bay="nowhere"), None, "no bay called nowhere"),
        (lambda s: replace(s, length=s.length + 9), None, "which it is not"),
        (None, lambda p: replace(p, x=99), "beyond the edge"),
        (None, lambda p: replace(p, width=p.width + 1), "which it is not"),
        (None, lambda p: replace(p, id="another"), "not the things asked for"),
    ],
)
def test_each_wrong_place_is_a_fault(
    stowed: Callable[[Stowed], Stowed] | None, roof: Callable[[Placed], Placed] | None, words: str
) -> None:
    """A box or a panel that is moved, renamed or stretched is told, and the kit does not pass."""
    problem, kit = placed_kit(2)
    assert check(problem, kit).ok
    faults = check(problem, changed(kit, stowed, roof)).faults
    assert any(words in fault for fault in faults), faults


def test_two_things_in_one_place_overlap() -> None:
    """Two panels on the same spot are a fault, and the roof plan's limit says that one thing has no right place."""
    problem, kit = placed_kit(1)
    assert kit.places is not None
    first, second, *rest = kit.places.roof
    on_top = replace(second, x=first.x, y=first.y)
    verdict = check(problem, replace(kit, places=Placement((first, on_top, *rest), kit.places.stowed)))
    assert not verdict.ok
    (plan,) = [limit for limit in verdict.limits if limit.slug == "roof_plan"]
    assert not plan.met


def test_a_fan_in_its_place_is_one_of_the_things_on_the_roof() -> None:
    """With the fan where the brief wants it and a panel beside it, the plan counts both, and both lie right."""
    for seed in range(200):
        problem = tiny_problem(seed)
        pinned = problem.space is not None and problem.space.roof.fan is not None
        for kit in list(kits(problem))[:40] if pinned else ():
            on_roof = [t for g, o in kit.options(problem) for t in o.things if t.on_roof for _ in range(t.count)]
            if "roof_fan" in kit.choices and len(on_roof) >= 2 and isinstance(place(problem, kit), Placement):
                (plan,) = BY_SLUG["roof_plan"].holds(problem, placed(problem, kit))
                assert (plan.used, plan.allowed) == (len(on_roof), len(on_roof))
                return
    raise AssertionError("no such world")


def test_two_boxes_in_one_place_break_the_limit_of_boxes() -> None:
    """A second box where the first stands: the limit of all boxes says that one of them does not stand right."""
    problem, kit = placed_kit(2)
    assert kit.places is not None
    first, second, *rest = kit.places.stowed
    on_top = replace(second, bay=first.bay, x=first.x, y=first.y)
    verdict = check(problem, replace(kit, places=Placement(kit.places.roof, (first, on_top, *rest))))
    (boxes,) = [limit for limit in verdict.limits if limit.name == "bay_space all boxes"]
    assert not boxes.met
    assert boxes.used == len(kit.places.stowed)


def test_what_a_bay_holds_is_told_against_what_it_bears() -> None:
    """The load of each bay is the mass of its boxes when full; a gram less allowed and the limit is broken."""
    problem, kit = placed_kit(2)
    assert kit.places is not None
    assert problem.space is not None
    masses = {box.id: box.mass for box in boxes_of(problem, kit)}
    inside = {held.bay.name: 0 for held in problem.space.bays}
    for stowed in kit.places.stowed:
        inside[stowed.bay] += masses[stowed.id]
    told = {limit.name: limit.used for limit in check(problem, kit).limits if limit.slug == "bay_load"}
    assert told == {f"bay_load {name}": mass for name, mass in inside.items()}
    heaviest = max(inside, key=lambda name: inside[name])
    assert inside[heaviest] > 0
    bays = tuple(
        replace(held, bay=replace(held.bay, load=inside[heaviest] - 1)) if held.bay.name == heaviest else held
        for held in problem.space.bays
    )
    weaker = replace(problem, space=replace(problem.space, bays=bays))
    assert any(fault.startswith("bay_load") for fault in check(weaker, kit).faults)


def test_a_kit_without_places_tells_no_loads() -> None:
    """Before places are found the limits that hang on them are not told at all, rather than told wrongly."""
    problem, kit = placed_kit(1)
    bare = replace(kit, places=None)
    slugs = {limit.slug for limit in check(problem, bare).limits}
    placed_only = {"front_axle", "rear_axle", "side_balance", "roof_plan", "bay_space", "bay_load"}
    assert not slugs & {*placed_only, "cable_reach", "fuel_apart"}


def test_places_come_back_from_json() -> None:
    """What is written is what is read, and a file from before there were places has none."""
    _, kit = placed_kit(2)
    assert kit.places is not None
    assert places_of(json.loads(json.dumps(asdict(kit.places)))) == kit.places
    assert places_of(None) is None


def test_the_same_kit_gets_the_same_places() -> None:
    """Asking twice, from a fresh start or in another order of choices, changes nothing."""
    problem, kit = placed_kit(2)
    turned = Kit(dict(reversed(kit.choices.items())), kit.voltage, kit.nights)
    assert place(problem, turned) == kit.places


def test_openings_name_part_hole_and_skill() -> None:
    """A thing that needs a hole is told once, with its skill."""
    problem, kit = placed_kit(1)
    group = next(group for group in problem.groups if group.name in kit.choices)
    option = group.option(kit.choices[group.name])
    drilled = replace(option.things[0], opening="floor", skill="body_cutting")
    other = replace(option, things=(drilled, *option.things[1:]))
    groups = tuple(replace(g, options=(other,)) if g is group else g for g in problem.groups)
    told = openings(replace(problem, groups=groups), kit)
    assert {"part": drilled.part, "opening": "floor", "skill": "body_cutting"} in told
