"""Boxes dealt out to bays: the same answers as one model of everything, and bounds that are true."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from optimizer.packing import stowing
from optimizer.packing.bay_by_bay import Alone, stow_by_bay
from optimizer.packing.bays import Bay, Box, Stowed, Sum, check_bays
from optimizer.packing.model import new_solver
from optimizer.packing.nearness import Near, add_nears
from optimizer.packing.quick_stowing import quick_stowings
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, NoPacking
from optimizer.packing.stowing import add_bays, stow
from optimizer.packing.waste import Floors, Waste, ways_to_count

Case = tuple[list[Bay], list[Box], tuple[str, ...], list[Sum], list[Near]]


def tight_case(dice: random.Random) -> Case:
    """Two or three bays nearly full of boxes of a few sizes, with a sum over where they are and a pair kept near."""
    bays = [
        Bay(f"bay {k}", dice.randint(5, 9), dice.randint(4, 6), dice.randint(2, 4), dice.randint(20, 60), ("in",))
        for k in range(dice.randint(2, 3))
    ]
    sizes = [(dice.randint(1, 5), dice.randint(1, 4), dice.randint(1, 3)) for _ in range(3)]
    boxes: list[Box] = []
    floor = sum(bay.length * bay.width for bay in bays) * dice.uniform(0.7, 1.0)
    while floor > 0 and len(boxes) < 12:
        size = dice.choice(sizes)
        floor -= size[0] * size[1]
        group = dice.choice(("", "", "", "g", "h"))
        upright = dice.random() < 0.7
        boxes.append(Box(f"box {len(boxes)}", *size, dice.randint(1, 6), ("in",), upright=upright, group=group))
    rows = tuple(tuple(dice.randint(-3, 3) for _ in bays) for _ in boxes)
    sums = [Sum(rows, dice.randint(-2, 6))] if dice.random() < 0.6 else []
    nears = [Near(0, (len(boxes) - 1,), ((0, 1), (1, 0)))] if len(boxes) > 1 and dice.random() < 0.3 else []
    return bays, boxes, dice.choice(((), ("g",), ("g", "h"))), sums, nears


def in_one_model(case: Case) -> bool:
    """Whether one model of all bays at once finds places."""
    bays, boxes, may_split, sums, nears = case
    model = cp_model.CpModel()
    stowage = add_bays(model, bays, boxes, [True] * len(boxes), may_split)
    add_nears(model, stowage, nears)
    for total in sums:
        added = [v * stowage.home(box, bay) for box, row in enumerate(total.rows) for bay, v in enumerate(row)]
        model.add(sum(added) <= total.most)
    status = new_solver().solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    return status != cp_model.INFEASIBLE


def kept(case: Case, stowed: tuple[Stowed, ...]) -> bool:
    """Whether places keep everything asked of them."""
    bays, boxes, may_split, sums, nears = case
    homes = [[bay.name for bay in bays].index(one.bay) for one in stowed]
    within = all(sum(row[home] for row, home in zip(t.rows, homes, strict=True)) <= t.most for t in sums)
    near = all((homes[s], homes[one.end]) not in one.barred for one in nears for s in one.sources)
    return within and near and check_bays(bays, boxes, stowed, may_split) == []


def dealt(case: Case, monkeypatch: pytest.MonkeyPatch) -> tuple[Stowed, ...] | NoPacking:
    """What dealing out says by itself, without simple rules first."""
    monkeypatch.setattr(
        stowing, "quick_stowings", lambda bays, *rest: quick_stowings(bays, *rest) if len(bays) == 1 else iter(())
    )
    bays, boxes, may_split, sums, nears = case
    return stow(bays, boxes, may_split, sums=sums, nears=nears, effort=stowing.EFFORT * 0.9)


@pytest.mark.parametrize("batch", range(3))
def test_dealing_out_says_what_one_model_says(batch: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Forty tight cases each: places found are right, and none are found only where there are none."""
    dice = random.Random(70 + batch)
    answers = {True: 0, False: 0}
    for _ in range(40):
        case = tight_case(dice)
        found, possible = dealt(case, monkeypatch), in_one_model(case)
        answers[possible] += 1
        if isinstance(found, NoPacking):
            assert found is IMPOSSIBLE, case
            assert not possible, case
        else:
            assert possible, case
            assert kept(case, found), case
    assert min(answers.values()) > 5


@pytest.mark.long
def test_dealing_out_says_what_one_model_says_many_times(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six hundred more."""
    dice = random.Random(7)
    for _ in range(600):
        case = tight_case(dice)
        found, possible = dealt(case, monkeypatch), in_one_model(case)
        assert isinstance(found, NoPacking) != possible, case
        assert isinstance(found, NoPacking) or kept(case, found), case


def test_what_is_not_settled_is_not_called_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    """With next to no effort it is undecided, or right."""
    dice = random.Random(3)
    seen = set()
    for _ in range(40):
        bays, boxes, may_split, sums, nears = case = tight_case(dice)
        monkeypatch.setattr(stowing, "quick_stowings", lambda *_: iter(()))
        found = stow(bays, boxes, may_split, sums=sums, nears=nears, effort=1e-6)
        seen.add(found if isinstance(found, NoPacking) else None)
        assert found is not IMPOSSIBLE or not in_one_model(case), case
    assert UNDECIDED in seen


def test_a_bay_left_unsettled_leaves_the_whole_unsettled() -> None:
    """Where it is never known how boxes go into one bay, nothing is called impossible, though all is dealt in vain."""
    bays = [Bay(name, 6, 4, 3, 40, ("in",)) for name in ("left", "right")]
    boxes = [Box(f"box {k}", 3, 4, 2, 1, ("in",), upright=True, kind="board") for k in range(3)]
    asked = []

    def never_known(bay: Bay, some: tuple[Box, ...]) -> Alone:
        asked.append((bay.name, len(some)))
        return Alone(UNDECIDED, 0.01)

    assert stow_by_bay(bays, boxes, (), 1, 20.0, 60.0, (), (), never_known) is UNDECIDED
    assert ("left", 2) in asked


def test_a_bay_as_small_but_higher_holds_what_may_stand_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two boards lie in the low bay at most; in one of the same floor they stand on edge, and more go in."""
    bays = [Bay("low", 9, 6, 1, 40, ("in",)), Bay("high", 9, 6, 5, 40, ("in",))]
    boards = [Box(f"board {k}", 4, 4, 1, 1, ("in",)) for k in range(7)]
    found = dealt((bays, boards, (), [], []), monkeypatch)
    assert not isinstance(found, NoPacking)
    assert check_bays(bays, boards, found) == []
    assert sum(one.bay == "high" for one in found) > 2


@settings(deadline=None, max_examples=200)
@given(extent=st.integers(1, 60), sizes=st.lists(st.integers(1, 60), min_size=1, max_size=8))
def test_what_lies_side_by_side_counts_no_more_than_the_whole(extent: int, sizes: list[int]) -> None:
    """Of any lengths as many as go within the extent, counted in each of the ways."""
    row: list[int] = []
    for size in sizes:
        if sum(row) + size <= extent:
            row.append(size)
    for count in ways_to_count(extent, sorted(set(sizes))):
        assert sum(map(count, row)) <= count(extent)


def test_a_strip_too_narrow_for_anything_is_counted_as_lost() -> None:
    """Of two boards of 6 by 5, not to be turned, on a floor of 10 by 9 but one lies there: 60 of 90 by area."""
    waste = Waste.of((10, 9), [((6, 5),)])
    assert waste.refuses([1]) is None
    told = waste.refuses([2])
    assert told is not None
    areas, room = told
    assert areas[0] <= room < 2 * areas[0]


def test_counting_never_refuses_what_fits() -> None:
    """Every set of up to four boxes that brute force lays on small floors is let through, each way of counting."""
    dice = random.Random(11)
    refused = 0
    for _ in range(300):
        extent = dice.randint(3, 8), dice.randint(3, 8)
        sizes = [(dice.randint(1, 6), dice.randint(1, 6)) for _ in range(2)]
        kinds = [tuple(sorted({(a, b), (b, a)})) if dice.random() < 0.5 else ((a, b),) for a, b in sizes]
        counts = [dice.randint(0, 2), dice.randint(0, 2)]
        todo = [kind for kind, count in zip(kinds, counts, strict=True) for _ in range(count)]
        if Waste.of(extent, kinds).refuses(counts) is not None:
            refused += 1
            assert not _lies(extent, todo, [])
    assert refused > 30


def _lies(extent: tuple[int, int], todo: list[Floors], taken: list[tuple[int, int, int, int]]) -> bool:
    if not todo:
        return True
    for (a, b), x, y in product(todo[0], range(extent[0]), range(extent[1])):
        clear = x + a <= extent[0] and y + b <= extent[1]
        clear = clear and all(x + a <= p or p + c <= x or y + b <= q or q + d <= y for p, q, c, d in taken)
        if clear and _lies(extent, todo[1:], [*taken, (x, y, a, b)]):
            return True
    return False


def test_names_and_order_change_nothing_but_names() -> None:
    """Boxes under other names and listed otherwise get the same places; like boxes may change theirs."""
    dice = random.Random(5)
    for _ in range(10):
        bays, boxes, may_split, _, _ = tight_case(dice)
        first = stow(bays, boxes, may_split)
        other = stow(bays, [replace(box, id=f"x {box.id}") for box in boxes[::-1]], may_split)
        if isinstance(first, NoPacking):
            assert other is first
        else:
            assert not isinstance(other, NoPacking)
            assert sorted(replace(one, id="") for one in first) == sorted(replace(one, id="") for one in other)
