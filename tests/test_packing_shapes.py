"""The solver-free check of places on a region, and the ground it stands on: grid and normal patterns."""

from __future__ import annotations

import random
import subprocess
import sys
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.packing.grid import disjoint, normal_starts, snap_item, snap_region
from optimizer.packing.quick import first_attempt, lies, plainly_impossible
from optimizer.packing.shapes import Item, Placed, Region, check_placement

FAN = Placed("fan", 4, 2, 3, 3)
ROOF = Region(12, 8, (FAN,))


def test_a_right_placement_has_nothing_wrong() -> None:
    """Two panels left and right of the fan, one turned, gap kept: no sentence."""
    items = [Item("a", 3, 8, turnable=False), Item("b", 8, 4)]
    placed = [Placed("a", 0, 0, 3, 8), Placed("b", 8, 0, 4, 8)]
    assert check_placement(ROOF, placed, gap=1, items=items) == []


@pytest.mark.parametrize(
    ("placed", "word"),
    [
        (Placed("a", 9, 0, 4, 2), "edge"),
        (Placed("a", -1, 0, 2, 2), "edge"),
        (Placed("a", 0, 7, 2, 2), "edge"),
        (Placed("a", 6, 4, 2, 2), "obstacle fan"),
        (Placed("a", 7, 2, 2, 2), "obstacle fan"),  # touches, but the gap is 1
        (Placed("a", 0, 0, 2, 3), "lies as"),
    ],
)
def test_each_fault_is_named(placed: Placed, word: str) -> None:
    """Over an edge, on the fan, too near the fan, of another size: each gives its sentence and no other."""
    wrong = check_placement(ROOF, [placed], gap=1, items=[Item("a", placed.length, placed.width)])
    if word == "lies as":
        wrong = check_placement(ROOF, [placed], gap=1, items=[Item("a", 3, 2, turnable=False)])
    assert len(wrong) == 1
    assert word in wrong[0]
    assert "a " in wrong[0]


def test_neighbours_keep_the_gap() -> None:
    """Two things 1 apart are right with a gap of 1 and wrong with a gap of 2, along either axis."""
    for second in (Placed("b", 3, 0, 2, 2), Placed("b", 0, 3, 2, 2)):
        placed = [Placed("a", 0, 0, 2, 2), second]
        assert check_placement(Region(9, 9), placed, gap=1) == []
        assert len(check_placement(Region(9, 9), placed, gap=2)) == 1


def test_the_right_things_are_placed() -> None:
    """A thing left out, put down twice or never asked for is found."""
    items = [Item("a", 2, 2), Item("b", 2, 2)]
    a, b, c = (Placed(name, 3 * index, 0, 2, 2) for index, name in enumerate("abc"))
    assert check_placement(Region(9, 9), [a, b], items=items) == []
    for placed in ([a], [a, b, c], [a, c]):
        assert len(check_placement(Region(9, 9), placed, items=items)) == 1
    assert len(check_placement(Region(9, 9), [a, a], items=items)) == 2  # and it overlaps itself


@pytest.mark.parametrize("sizes", [(0, 3), (3, 0), (-1, 3)])
def test_things_without_size_are_refused(sizes: tuple[int, int]) -> None:
    """An item must have a length and a width; a region may be empty but not negative."""
    with pytest.raises(ValueError, match="above zero"):
        Item("a", *sizes)
    with pytest.raises(ValueError, match="smaller than nothing"):
        Region(-1, 4)


RECTANGLES = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7), st.integers(0, 9), st.integers(0, 9)), max_size=6)


@settings(deadline=None, max_examples=300)
@given(RECTANGLES)
def test_disjoint_rectangles_cover_the_same_cells_once(rectangles: list[tuple[int, int, int, int]]) -> None:
    """Cell by cell: what the union covers is covered exactly once, and nothing else is."""
    pieces = disjoint(rectangles)
    for x, y in product(range(10), repeat=2):
        within = [r for r in rectangles if r[0] <= x < r[2] and r[1] <= y < r[3]]
        times = sum(1 for r in pieces if r[0] <= x < r[2] and r[1] <= y < r[3])
        assert times == bool(within)


def test_disjoint_joins_what_can_be_one() -> None:
    """Two halves side by side become one rectangle, and one inside another vanishes."""
    assert disjoint([(0, 0, 2, 3), (2, 0, 5, 3), (1, 1, 2, 2)]) == ((0, 0, 5, 3),)


@settings(deadline=None, max_examples=300)
@given(
    extent=st.integers(0, 25),
    edges=st.lists(st.integers(0, 25), max_size=3),
    others=st.lists(st.lists(st.integers(1, 9), min_size=1, max_size=2), max_size=5),
)
def test_normal_starts_are_all_sums(extent: int, edges: list[int], others: list[list[int]]) -> None:
    """The coordinates tried are exactly the sums of an edge and of one size or none of each other thing."""
    runs = normal_starts(extent, edges, [tuple(sizes) for sizes in others])
    tried = [value for first, last in runs for value in range(first, last + 1)]
    chosen = product([0, *edges], *([0, *sizes] for sizes in others))
    assert tried == sorted({total for total in map(sum, chosen) if total < extent})
    assert all(last + 1 < first for (_, last), (first, _) in pairwise(runs))


def test_rounding_is_against_the_kit() -> None:
    """On a grid of 10 with a gap of 1: a roof of 109 to 118 counts 11, a panel of 30 takes 4, one of 29 takes 3."""
    assert snap_region(Region(109, 98), 1, 10) == snap_region(Region(118, 89), 1, 10)
    assert (snap_region(Region(109, 98), 1, 10).length, snap_region(Region(109, 98), 1, 10).width) == (11, 9)
    assert snap_item(Item("a", 30, 29), 1, 10) == (4, 3)
    snapped = snap_region(Region(100, 100, (Placed("o", 15, 29, 20, 40), Placed("p", -5, 95, 9, 30))), 5, 10)
    assert snapped.blocks == ((0, 9, 1, 10), (1, 2, 4, 8))
    assert snapped.free_area == 100 - 1 - 18


def test_first_attempts_are_right_and_refusals_too() -> None:
    """On random small regions: places found at once pass the check; what is plainly impossible has no room."""
    dice = random.Random(4)
    found = refused = 0
    for _ in range(300):
        region = Region(dice.randint(2, 9), dice.randint(2, 9), (Placed("o", dice.randint(0, 8), 1, 2, 2),))
        items = [Item(f"i{k}", dice.randint(1, 5), dice.randint(1, 4), dice.random() < 0.6) for k in range(4)]
        snapped = snap_region(region, 0, 1)
        ways = [lies(item.length, item.width, item.turnable) for item in items]
        corners = first_attempt(snapped, ways)
        if corners is not None:
            found += 1
            placed = [
                Placed(i.id, x, y, *((i.width, i.length) if t else (i.length, i.width)))
                for i, (x, y, t) in zip(items, corners, strict=True)
            ]
            assert check_placement(region, placed, items=items) == []
            assert not plainly_impossible(snapped, ways)
        elif plainly_impossible(snapped, ways):
            refused += 1
    assert found > 50
    assert refused > 50


def test_checks_need_no_solver() -> None:
    """The records and their checks load without the solver, so the verdict cannot lean on it."""
    code = (
        "import sys, optimizer.packing.shapes, optimizer.packing.bays, optimizer.packing.grid,"
        " optimizer.packing.quick, optimizer.packing.standing; sys.exit('ortools' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
