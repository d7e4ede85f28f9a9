"""Boxes within reach of each other, or apart: by hand, where the worlds drawn by chance seldom look."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.packing.bays import Bay, Box, Stowed
from optimizer.packing.nearness import Near, all_near
from optimizer.packing.shapes import IMPOSSIBLE
from optimizer.packing.stowing import stow
from optimizer.places.hardness import box_as_hard, reaches_wherever
from optimizer.problem.records import Option
from optimizer.problem.roof_place import RoofPlace
from optimizer.problem.space import At, Reach, Space, Thing

FRONT, REAR = (Bay(name, 1000, 200, 200, 10_000, ("dry",)) for name in ("front", "rear"))
BOX = Box("a", 100, 100, 100, 1000, ("dry",))
CORNERS = ((0, 0, 0), (2000, 0, 0))
"""The rear bay begins where the front one ends."""


@pytest.mark.parametrize(("most", "fits"), [(100, True), (99, False)])
def test_boxes_move_together_within_their_bays(most: int, fits: bool) -> None:
    """Bank in the rear bay, inverter in the front one: 100 mm apart when both stand at the wall between.

    The front box stands at the far end of its bay then, where pushing boxes into corners would never put it.
    """
    front, rear = replace(BOX, id="front", tags=("f",)), replace(BOX, id="rear", tags=("r",))
    bays = (replace(FRONT, tags=("f",)), replace(REAR, tags=("r",)))
    found = stow(bays, (front, rear), nears=(Near(0, (1,), most=most, corners=CORNERS),))
    if not fits:
        assert found is IMPOSSIBLE
        return
    assert not isinstance(found, type(IMPOSSIBLE))
    assert [(box.id, box.x) for box in found] == [("front", 900), ("rear", 0)]


def test_of_several_sources_the_nearest_counts() -> None:
    """Two batteries that fill the rear bay: the second is too far, the first is near enough."""
    front = replace(BOX, id="front", tags=("f",))
    rear = [replace(BOX, id=f"rear {n}", length=500, height=200, width=200, tags=("r",), upright=True) for n in (1, 2)]
    bays = (replace(FRONT, tags=("f",)), replace(REAR, tags=("r",)))
    near = Near(0, (1, 2), most=450, corners=CORNERS)
    assert stow(bays, (front, *rear), nears=(near,)) is not IMPOSSIBLE
    assert stow(bays, (front, *rear), nears=(replace(near, most=200),)) is IMPOSSIBLE


@pytest.mark.parametrize("number", [0, 1])
def test_like_boxes_that_hang_on_different_things_are_not_alike(number: int) -> None:
    """Of two equal boxes the one that must be near the bank is, first or second in a list that ends with the bank."""
    ends = [replace(BOX, id=f"end {n}", length=120, width=120, height=120, tags=("f",)) for n in (0, 1)]
    bank = replace(BOX, id="bank", length=50, width=50, height=50, tags=("r",))
    bays = (replace(FRONT, tags=("f",)), replace(REAR, tags=("r",)))
    near = Near(number, (2,), most=120, corners=CORNERS)  # 25 and 60 mm along, 35 mm up: hard by the wall
    found = stow(bays, (*ends, bank), nears=(near,))
    assert not isinstance(found, type(IMPOSSIBLE))
    assert found[number].x == 880
    assert all_near((near,), [0, 0, 1], found)


def test_the_nearest_source_is_measured() -> None:
    """Sources 100 and 800 mm away: 100 mm is the way, and a bay pair that is barred is none whatever the way."""
    stowed = tuple(Stowed(str(n), "front", x, 0, 100, 100, 100) for n, x in enumerate((0, 100, 800)))
    near = Near(0, (1, 2), most=100, corners=CORNERS)
    assert all_near((near,), [0, 0, 0], stowed)
    assert not all_near((replace(near, most=99),), [0, 0, 0], stowed)
    assert not all_near((replace(near, barred=((0, 0),)),), [0, 0, 0], stowed)


def test_only_the_same_hazard_stands_in_for_a_hazard() -> None:
    """What is harmless fits wherever fuel does, fuel does not fit wherever something harmless or a switch does."""
    plain = Thing("a", 1, 100, 100, 100, 1000, tags=("warm",))
    spark, vapour = replace(plain, hazard="spark"), replace(plain, hazard="vapour")
    assert box_as_hard(spark, plain)
    assert box_as_hard(vapour, vapour)
    assert not box_as_hard(plain, spark)
    assert not box_as_hard(spark, vapour)
    assert not box_as_hard(spark, replace(plain, hazard="gassing"))


def test_a_shorter_cable_does_not_stand_in_for_a_longer() -> None:
    """Nor, where middles are measured, a box of another size; where bays tell, size is nothing to it."""
    thing = Thing("a", 1, 100, 100, 100, 1000, tags=("warm",))
    near, far = (Option("a", (("a", 1),), things=(thing,), reach_mm=mm) for mm in (1000, 2000))
    small = replace(far, things=(replace(thing, length=50),))
    by_bays = Space(RoofPlace((1, 1), 0, 0, At()), (), (1, 1), 1, (0, 0), (0, 0), (), At())
    measured = replace(by_bays, reaches=(Reach("battery", "inverter", stated=True),))
    assert reaches_wherever(by_bays, far, near)
    assert not reaches_wherever(by_bays, near, far)
    assert not reaches_wherever(by_bays, near, replace(far, reach_mm=0))
    assert reaches_wherever(by_bays, small, far)
    assert not reaches_wherever(measured, small, far)
