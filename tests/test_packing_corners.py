"""Layouts of one floor, corner by corner: the same answers as the solver and as trying every place."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from optimizer.packing import corner_kernel
from optimizer.packing.corners import A_SECOND, Floors, lay
from optimizer.packing.model import new_solver
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, NoPacking

Extent = tuple[int, int]


def boxes_of(dice: random.Random, extent: Extent, fill: float, sizes: int, most: int) -> list[Floors]:
    """Boxes of a few sorts that cover about this share of a floor; some may be turned or stood up, some not."""
    sorts: list[Floors] = []
    for _ in range(sizes):
        a, b, c = (dice.randint(1, max(2, extent[k % 2] * 2 // 3)) for k in range(3))
        ways = {0: ((a, b),), 1: ((a, b), (b, a)), 2: ((a, b), (b, a), (a, c), (c, a))}[dice.randint(0, 2)]
        inside = tuple(sorted({way for way in ways if way[0] <= extent[0] and way[1] <= extent[1]}))
        sorts += [inside] if inside else []
    found: list[Floors] = []
    left = fill * extent[0] * extent[1]
    while sorts and left > 0 and len(found) < most:
        found.append(dice.choice(sorts))
        left -= min(a * b for a, b in found[-1])
    return found


def is_layout(extent: Extent, boxes: list[Floors], laid: tuple[tuple[int, int, int], ...]) -> bool:
    """Whether every box takes one of its floors inside the extent, and no two overlap."""
    taken = [(x, y, x + boxes[k][way][0], y + boxes[k][way][1]) for k, (way, x, y) in enumerate(laid)]
    inside = all(min(x, y) >= 0 and right <= extent[0] and far <= extent[1] for x, y, right, far in taken)
    apart = all(
        one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        for k, one in enumerate(taken) for other in taken[:k]
    )
    return inside and apart and len(taken) == len(boxes)


def by_trying(extent: Extent, todo: list[Floors], taken: tuple[tuple[int, int, int, int], ...] = ()) -> bool:
    """Whether boxes lie on a floor, by trying every place for each."""
    if not todo:
        return True
    for (a, b), x, y in product(todo[0], range(extent[0]), range(extent[1])):
        clear = x + a <= extent[0] and y + b <= extent[1]
        clear = clear and all(x + a <= p or r <= x or y + b <= q or s <= y for p, q, r, s in taken)
        if clear and by_trying(extent, todo[1:], (*taken, (x, y, x + a, y + b))):
            return True
    return False


def by_solver(extent: Extent, boxes: list[Floors]) -> bool:
    """Whether the solver finds a layout, every coordinate tried."""
    model = cp_model.CpModel()
    along, across = [], []
    for floors in boxes:
        ways = [model.new_bool_var("") for _ in floors]
        model.add_exactly_one(ways)
        for axis, intervals in ((0, along), (1, across)):
            start = model.new_int_var(0, extent[axis], "")
            size = model.new_int_var_from_domain(cp_model.Domain.from_values(sorted({f[axis] for f in floors})), "")
            end = model.new_int_var(0, extent[axis], "")
            model.add(size == sum(floor[axis] * way for floor, way in zip(floors, ways, strict=True)))
            model.add(start + size == end)
            intervals.append(model.new_interval_var(start, size, end, ""))
    model.add_no_overlap_2d(along, across)
    status = new_solver().solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    return status != cp_model.INFEASIBLE


def test_small_floors_are_as_trying_every_place_says() -> None:
    """Up to five boxes on floors of up to seven by seven, half of them not to be laid."""
    dice, answers = random.Random(1), {True: 0, False: 0}
    for _ in range(700):
        extent = dice.randint(2, 7), dice.randint(2, 7)
        boxes = boxes_of(dice, extent, dice.uniform(0.6, 1.1), 3, 5)
        laid, spent = lay(extent, boxes, 1.0)
        possible = by_trying(extent, boxes)
        answers[possible] += 1
        assert isinstance(laid, NoPacking) != possible, (extent, boxes)
        assert laid is IMPOSSIBLE if isinstance(laid, NoPacking) else is_layout(extent, boxes, laid)
        assert spent >= 0
    assert min(answers.values()) > 60


def tight(dice: random.Random) -> tuple[Extent, list[Floors]]:
    """A floor of many millimetres with up to ten boxes that take nearly all of it."""
    extent = dice.randint(20, 60), dice.randint(15, 40)
    return extent, boxes_of(dice, extent, dice.uniform(0.75, 0.97), dice.randint(2, 6), 10)


@pytest.mark.parametrize("batch", range(3))
def test_tight_floors_are_as_the_solver_says(batch: int) -> None:
    """Thirty each, found and not found."""
    dice, answers = random.Random(40 + batch), {True: 0, False: 0}
    for _ in range(30):
        extent, boxes = tight(dice)
        laid, _ = lay(extent, boxes, 2.0)
        possible = by_solver(extent, boxes)
        answers[possible] += 1
        assert isinstance(laid, NoPacking) != possible, (extent, boxes)
        assert laid is IMPOSSIBLE if isinstance(laid, NoPacking) else is_layout(extent, boxes, laid)
    assert min(answers.values()) > 3


@pytest.mark.long
def test_tight_floors_are_as_the_solver_says_many_times() -> None:
    """A thousand more."""
    dice = random.Random(8)
    for _ in range(1000):
        extent, boxes = tight(dice)
        laid, _ = lay(extent, boxes, 4.0)
        assert laid is not UNDECIDED
        assert isinstance(laid, NoPacking) != by_solver(extent, boxes), (extent, boxes)
        assert isinstance(laid, NoPacking) or is_layout(extent, boxes, laid)


def cut_up(dice: random.Random, extent: Extent, pieces: int) -> list[tuple[int, int]]:
    """A floor sawn through again and again: these pieces cover it without a gap."""
    found = [extent]
    while len(found) < pieces:
        found.sort()
        a, b = found.pop(dice.randrange(len(found)))
        if a > 1 and (dice.random() < 0.5 or b == 1):
            cut = dice.randint(1, a - 1)
            found += [(cut, b), (a - cut, b)]
        elif b > 1:
            cut = dice.randint(1, b - 1)
            found += [(a, cut), (a, b - cut)]
        else:
            found.append((a, b))
    return found


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 10**6))
def test_what_was_sawn_from_a_floor_goes_back(seed: int) -> None:
    """Without a gap to spare, pieces turned or not; and with one piece a little longer it does not."""
    dice = random.Random(seed)
    extent = dice.randint(6, 40), dice.randint(6, 40)
    pieces = cut_up(dice, extent, dice.randint(2, 7))
    turned = [tuple(sorted({(a, b), (b, a)})) if dice.random() < 0.4 else ((a, b),) for a, b in pieces]
    inside = [tuple(floor for floor in floors if floor[0] <= extent[0] and floor[1] <= extent[1]) for floors in turned]
    laid, _ = lay(extent, inside, 4.0)
    assert laid is not IMPOSSIBLE
    assert isinstance(laid, NoPacking) or is_layout(extent, inside, laid)
    if inside[0][0][0] < extent[0]:
        longer = [((inside[0][0][0] + 1, inside[0][0][1]),), *inside[1:]]
        if sum(min(a * b for a, b in floors) for floors in longer) > extent[0] * extent[1]:
            assert lay(extent, longer, 4.0)[0] in (IMPOSSIBLE, UNDECIDED)


def test_a_pinwheel_is_found() -> None:
    """Four boards around a hole: no saw cut goes through, so no layout of rows and columns has it."""
    boards: list[Floors] = [((5, 3),), ((3, 5),), ((3, 5),), ((5, 3),)]
    laid, _ = lay((8, 8), boards, 1.0)
    assert not isinstance(laid, NoPacking)
    assert is_layout((8, 8), boards, laid)
    assert lay((8, 7), boards, 1.0)[0] is IMPOSSIBLE
    assert lay((8, 8), [*boards, ((2, 2),)], 1.0)[0] is not IMPOSSIBLE
    assert lay((8, 8), [*boards, ((3, 1),)], 1.0)[0] is IMPOSSIBLE


@pytest.mark.parametrize("tables", [corner_kernel.MOST_SUMS, 1])
def test_what_lengths_of_what_is_left_come_to(tables: int) -> None:
    """Within each extent the most that a side of each of some boxes adds up to, none taken twice; of all boxes at once
    where there is one table only.
    """
    kernel, dice = corner_kernel, random.Random(13)
    for _ in range(60):
        many = [dice.randint(1, 2) for _ in range(3 if tables > 1 else 13)]
        sizes = [[dice.randint(2, 9) for _ in range(dice.randint(1, 2))] for _ in many]
        floors = np.array([(k, size, size + 1) for k, some in enumerate(sizes) for size in some])
        kinds = np.zeros((len(many) + 1, 4), dtype=np.int64)
        kinds[:, kernel.FIRST] = np.cumsum([0, *map(len, sizes)])
        kinds[:-1, kernel.COUNT] = many
        along, across = kernel.new_sums(kinds, 20, 20)
        assert (len(along) > 1) == (tables > 1)
        board = np.zeros((1, kernel.LEFT + len(many)), dtype=np.int64)
        for left in ([dice.randint(0, most) for most in many], many):
            board[0, kernel.LEFT :] = left
            number = kernel.remainder(board, 0, floors, kinds, along, across)
            for more, table in ((0, along[number]), (1, across[number])):
                sums = {0}
                for count, some in zip(left if tables > 1 else many, sizes, strict=True):
                    for _ in range(count):
                        sums |= {total + size + more for total in sums for size in some}
                assert table.tolist() == [max(total for total in sums if total <= extent) for extent in range(21)]


def test_effort_ends_a_search_and_says_so() -> None:
    """What is not settled is undecided; the same question takes the same effort each time; boxes in any order too."""
    dice = random.Random(5)
    ended = 0
    for _ in range(40):
        extent, boxes = tight(dice)
        laid, spent = lay(extent, boxes, 2.0)
        assert lay(extent, boxes, 2.0) == (laid, spent)
        again, as_long = lay(extent, boxes[::-1], 2.0)
        assert (isinstance(again, NoPacking), as_long) == (isinstance(laid, NoPacking), spent)
        short, less = lay(extent, boxes, 20 / A_SECOND)
        if spent > 21 / A_SECOND:
            ended += 1
            assert (short, less) == (UNDECIDED, 21 / A_SECOND)
        else:
            assert short == laid
    assert ended > 5


def test_many_sorts_of_boxes_share_one_table_of_sums() -> None:
    """Thirteen boxes of which no two are alike leave more remainders than there are tables for."""
    dice, answers = random.Random(12), {True: 0, False: 0}
    while sum(answers.values()) < 12:
        extent = dice.randint(16, 24), dice.randint(12, 18)
        sizes = dice.sample([(a, b) for a in range(2, 9) for b in range(2, 8) if a != b], 13)
        if not 0.75 < sum(a * b for a, b in sizes) / (extent[0] * extent[1]) < 0.99:
            continue
        boxes: list[Floors] = [(size,) for size in sizes]
        assert 2 ** len(boxes) > corner_kernel.MOST_SUMS
        laid, _ = lay(extent, boxes, 1.0)
        if laid is UNDECIDED:
            continue
        answers[not isinstance(laid, NoPacking)] += 1
        assert isinstance(laid, NoPacking) != by_solver(extent, boxes), (extent, boxes)
        assert isinstance(laid, NoPacking) or is_layout(extent, boxes, laid)
    assert answers[True] > 2


@pytest.mark.parametrize("boxes", [[()], [((9, 1),)], [((1, 9),), ((1, 1),)]])
def test_a_box_that_has_no_floor_within_the_extent_is_refused(boxes: list[Floors]) -> None:
    """Whoever asks leaves such out, or says that there is no layout."""
    with pytest.raises(ValueError, match="each within the extent"):
        lay((8, 8), boxes, 1.0)
    assert lay((8, 8), [], 1.0) == ((), 0.0)
