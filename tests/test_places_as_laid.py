"""What the axles carry as drawn: against moments by hand, and bays turned round where that helps."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

from optimizer.check import check
from optimizer.job import Job
from optimizer.physics.statics import axle_loads, side_loads
from optimizer.places import as_laid
from optimizer.places.as_laid import evened, overloads, weights_as_laid
from optimizer.places.finding import placed
from optimizer.places.reaching import Way
from optimizer.places.weighing import weights
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement, Thing
from optimizer.telling import overload_sentences
from tests.test_axles import KIT, brief, problem

HOLD = {"name": "hold", "length": 1000, "width": 900, "height": 700, "x": 1500, "load": 400, "tags": ["warm"]}
CHEST = Thing("chest", 1, 300, 300, 400, 60_000, tags=("warm",))


def stowed_at(x: int, y: int, things: tuple[Thing, ...] = (CHEST,), **vehicle: Any) -> tuple[Problem, Kit]:
    """The starter's van with things in one bay, the first of them put by hand."""
    seat = {"seat": "left" if "seats" in vehicle else ""}
    asked = problem(brief([{"mass": 75} | seat], bays=[HOLD], **vehicle), *things)
    kit = placed(asked, KIT)
    assert kit.places is not None
    first, *rest = kit.places.stowed
    moved = Placement(kit.places.roof, (replace(first, x=x, y=y), *rest))
    return asked, replace(kit, places=moved)


def test_a_chest_at_the_end_of_its_bay_by_moments() -> None:
    """60 kg with its middle 350 mm behind and 300 mm left of the bay's: moments about the axles and the middle."""
    asked, kit = stowed_at(700, 0)
    as_ruled, as_drawn = weights(asked, kit)[1], weights_as_laid(asked, kit)[1]
    ruled, drawn = axle_loads([60], [1500], 3000), axle_loads([60], [1500 + 350], 3000)
    assert as_drawn.front - as_ruled.front == pytest.approx(1000 * (drawn.front - ruled.front), abs=1)
    assert as_drawn.rear - as_ruled.rear == pytest.approx(1000 * (drawn.rear - ruled.rear), abs=1)
    assert as_drawn.rear - as_ruled.rear == pytest.approx(7000, abs=1)
    lean = side_loads([60], [-300], 1500)
    more = as_drawn.left_over_right - as_ruled.left_over_right
    assert more == pytest.approx(1000 * (lean.left - lean.right), abs=1)


def test_panels_and_fan_are_weighed_where_they_lie() -> None:
    """Two panels of 12 kg at the rear end of a roof put more on the rear axle than its middle would."""
    panel = Thing("panel", 2, 500, 600, 35, 12_000, tags=("roof",), on_roof=True)
    of = brief([{"mass": 75}], bays=[HOLD], roof={"length": 2400, "width": 1400, "load": 100, "x": 300})
    asked = problem(of, panel)
    kit = placed(asked, KIT)
    assert kit.places is not None
    spots = [(1800, 0), (1200, 700)]
    roof = tuple(replace(p, x=x, y=y, length=500, width=600) for p, (x, y) in zip(kit.places.roof, spots, strict=True))
    kit = replace(kit, places=Placement(roof, kit.places.stowed))
    as_ruled, as_drawn = weights(asked, kit)[0], weights_as_laid(asked, kit)[0]
    xs, ys = [300 + 30 + x + 250 for x, _ in spots], [30 + y + 300 - 700 for _, y in spots]
    drawn, ruled = axle_loads([12, 12], xs, 3000), axle_loads([24], [300 + 1200], 3000)
    assert as_drawn.rear - as_ruled.rear == pytest.approx(1000 * (drawn.rear - ruled.rear), abs=2)
    sides = side_loads([12, 12], ys, 1500)
    assert as_drawn.right_over_left - as_ruled.right_over_left == pytest.approx(
        1000 * (sides.right - sides.left), abs=2
    )


def test_a_pinned_fan_is_weighed_where_it_is_pinned() -> None:
    """A fan of 10 kg pinned at the rear end of the roof: the rear axle carries what its lever says."""
    roof = {"length": 2400, "width": 1400, "load": 100, "x": 300, "fan_x": 2000, "fan_y": 100}
    fan = Thing("fan", 1, 400, 400, 120, 10_000, tags=("roof",), on_roof=True)
    asked = problem(brief([{"mass": 75}], roof=roof), fan)
    (group,) = asked.groups
    asked = replace(asked, groups=(replace(group, kind="roof_fan"),))
    kit = placed(asked, KIT)
    as_ruled, as_drawn = weights(asked, kit)[0], weights_as_laid(asked, kit)[0]
    drawn, ruled = axle_loads([10], [300 + 2000 + 200], 3000), axle_loads([10], [300 + 1200], 3000)
    assert as_drawn.rear - as_ruled.rear == pytest.approx(1000 * (drawn.rear - ruled.rear), abs=1)
    sides = side_loads([10], [100 + 200 - 700], 1500)
    assert as_drawn.left_over_right - as_ruled.left_over_right == pytest.approx(-1000 * sides.difference, abs=1)


def tightened(asked: Problem, kit: Kit, spare: int) -> Problem:
    """The same with a rear axle rated so much above what the rules count [g]."""
    most = max(one.rear for one in weights(asked, kit))
    return replace(asked, needs={**asked.needs, "rear_axle_g": most + spare})


def test_a_bay_is_turned_round_where_that_holds_the_axle() -> None:
    """At the rear end of the bay the chest overloads a rear axle with 5 kg to spare; end for end it does not."""
    asked, kit = stowed_at(700, 0)
    tight = tightened(asked, kit, 5000)
    assert check(tight, kit).ok
    (first, *_) = overloads(tight, kit)
    assert (first.what, first.used - first.allowed) == ("rear axle", pytest.approx(2000, abs=2))
    turned = evened(tight, kit)
    assert turned.places is not None
    assert (turned.places.stowed[0].x, turned.places.stowed[0].y) == (0, 0)
    assert overloads(tight, turned) == ()
    assert check(tight, turned).ok
    assert evened(tightened(asked, kit, 8000), kit) is kit


@pytest.mark.parametrize(("cable", "turned"), [(1199, False), (1200, True)])
def test_no_bay_is_turned_so_that_a_cable_is_too_short(
    monkeypatch: pytest.MonkeyPatch, cable: int, turned: bool
) -> None:
    """End for end the axle would hold, but the cable bought would not reach: the bay stays, and the load is told."""
    asked, kit = stowed_at(700, 0)
    tight = tightened(asked, kit, 5000)

    def ways(_: Problem, other: Kit) -> tuple[Way, ...]:
        assert other.places is not None
        return (Way("lead", "bank", "things", 1200 - other.places.stowed[0].x, cable),)

    monkeypatch.setattr(as_laid, "ways_of", ways)
    after = evened(tight, kit)
    assert (after.places != kit.places) is turned
    assert (overloads(tight, after) == ()) is turned


def test_the_side_is_turned_where_the_sides_are_uneven() -> None:
    """With the driver on the left, a chest at the left is turned to the right when the sides differ by too much."""
    seats = [{"name": "left", "x": 600, "y": -450}]
    asked, kit = stowed_at(350, 0, seats=seats)
    level = replace(asked, needs={**asked.needs, "side_g": max(one.difference for one in weights(asked, kit))})
    turned = evened(level, kit)
    assert turned.places is not None
    assert (turned.places.stowed[0].x, turned.places.stowed[0].y) == (350, 600)
    assert sum(o.used for o in overloads(level, turned)) < sum(o.used for o in overloads(level, kit))


def test_what_stays_too_much_as_drawn_is_told() -> None:
    """Where turning does not help, the words name axle, state, what it comes to and what is allowed."""
    asked, kit = stowed_at(700, 0)
    job = cast(Job, SimpleNamespace(problem=tightened(asked, kit, 5000), brief=SimpleNamespace(units="metric")))
    sentences = overload_sentences(job, kit)
    assert sentences
    assert all(sentence.startswith("As drawn, rear axle ") and "move heavy things" in sentence
               for sentence in sentences)  # fmt: skip
    assert overload_sentences(job, replace(kit, places=None)) == []


def test_places_given_out_are_evened() -> None:
    """What ``placed`` gives is turned already when it would be too much as drawn."""
    asked = problem(brief([{"mass": 75}], bays=[HOLD]), CHEST)
    at_first = placed(asked, KIT)
    assert at_first.places is not None
    assert at_first.places.stowed[0].x == 0
    front = max(one.front for one in weights(asked, at_first)) + 5000
    tight = replace(asked, needs={**asked.needs, "front_axle_g": front})
    assert overloads(tight, at_first)
    turned = placed(tight, KIT)
    assert turned.places is not None
    assert turned.places.stowed[0].x == 700
    assert overloads(tight, turned) == ()
