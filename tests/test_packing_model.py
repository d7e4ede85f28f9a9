"""Packing with the solver: published dissections, exhaustive placement, and what must never change."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from optimizer.packing import model as packing
from optimizer.packing.model import add_packing, new_solver, pack
from optimizer.packing.quick import lies
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, Item, NoPacking, Placed, Region, check_placement

MORON = (1, 4, 7, 8, 9, 10, 14, 15, 18)
ORDER_21 = (2, 4, 6, 7, 8, 9, 11, 15, 16, 17, 18, 19, 24, 25, 27, 29, 33, 35, 37, 42, 50)


def squares(sides: Sequence[int]) -> list[Item]:
    """A square of each side."""
    return [Item(f"square {side}", side, side) for side in sides]


def fits_by_hand(region: Region, items: Sequence[Item], gap: int = 0, placed: tuple[Placed, ...] = ()) -> bool:
    """Tries every cell and both ways of lying, in the items' order: slow, plain, and shares nothing."""
    if not items:
        return True
    item, rest = items[0], items[1:]
    for length, width in {(item.length, item.width)} | ({(item.width, item.length)} if item.turnable else set()):
        for x in range(region.length - length + 1):
            for y in range(region.width - width + 1):
                here = Placed(item.id, x, y, length, width)
                if any(here.overlaps(other, gap) for other in (*placed, *region.obstacles)):
                    continue
                if fits_by_hand(region, rest, gap, (*placed, here)):
                    return True
    return False


def random_case(dice: random.Random) -> tuple[Region, list[Item], int]:
    """A small region with up to two obstacles, one to five items near its size, and a gap."""
    region = Region(
        dice.randint(1, 7),
        dice.randint(1, 6),
        tuple(
            Placed(f"o{k}", dice.randint(-1, 6), dice.randint(-1, 5), dice.randint(1, 3), dice.randint(1, 3))
            for k in range(dice.choice((0, 0, 1, 2)))
        ),
    )
    sides = [(dice.randint(1, 4), dice.randint(1, 3)) for _ in range(dice.randint(1, 3))]
    items = [Item(f"i{k}", *dice.choice(sides), turnable=dice.random() < 0.7) for k in range(dice.randint(1, 5))]
    return region, items, dice.choice((0, 0, 1))


def test_a_published_rectangle_of_nine_squares() -> None:
    """Squares 1, 4, 7, 8, 9, 10, 14, 15, 18 fill 33 x 32: Z. Moron, Przeglad Mat. Fiz. 3 (1925)."""
    region = Region(33, 32)
    assert sum(side * side for side in MORON) == 33 * 32
    placed = pack(region, squares(MORON))
    assert not isinstance(placed, NoPacking)
    assert check_placement(region, placed, items=squares(MORON)) == []


def test_the_rectangle_of_nine_squares_with_one_too_large_is_refused() -> None:
    """With 15 grown to 16 and the region to 33 x 33 there is area to spare, and still no place."""
    sides = tuple(16 if side == 15 else side for side in MORON)
    assert sum(side * side for side in sides) < 33 * 33
    assert pack(Region(33, 33), squares(sides)) is IMPOSSIBLE


@pytest.mark.long
def test_the_smallest_perfect_squared_square() -> None:
    """21 unlike squares fill 112 x 112: A. J. W. Duijvestijn, J. Combin. Theory B 25 (1978) 240.

    It may stay undecided, but can never be impossible.
    """
    region = Region(112, 112)
    assert sum(side * side for side in ORDER_21) == 112 * 112
    answer = pack(region, squares(ORDER_21), effort=60, seconds=60)
    assert answer is not IMPOSSIBLE
    if answer is not UNDECIDED:
        assert not isinstance(answer, NoPacking)
        assert check_placement(region, answer, items=squares(ORDER_21)) == []


@pytest.mark.parametrize("batch", range(8))
def test_against_every_placement(batch: int) -> None:
    """Eight times fifty random cases: found exactly when trying every cell finds a place, and found right."""
    dice = random.Random(100 + batch)
    answers = set()
    for _ in range(50):
        region, items, gap = random_case(dice)
        answer = pack(region, items, gap)
        possible = fits_by_hand(region, items, gap)
        answers.add(possible)
        if possible:
            assert not isinstance(answer, NoPacking), (region, items, gap)
            assert check_placement(region, answer, gap, items) == []
        else:
            assert answer is IMPOSSIBLE, (region, items, gap)
    assert answers == {True, False}


def test_the_search_alone_against_every_placement(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same without the answers that need no search, so that the solver's model stands by itself."""
    monkeypatch.setattr(packing, "first_attempt", lambda *_: None)
    monkeypatch.setattr(packing, "plainly_impossible", lambda *_: False)
    dice = random.Random(7)
    packing._pack.cache_clear()
    for _ in range(150):
        region, items, gap = random_case(dice)
        answer = pack(region, items, gap)
        assert isinstance(answer, NoPacking) != fits_by_hand(region, items, gap), (region, items, gap)
        assert isinstance(answer, NoPacking) or check_placement(region, answer, gap, items) == []
    packing._pack.cache_clear()


@pytest.mark.long
def test_against_every_placement_many_times() -> None:
    """Two thousand more random cases against trying every cell."""
    dice = random.Random(17)
    for _ in range(2000):
        region, items, gap = random_case(dice)
        answer = pack(region, items, gap)
        assert isinstance(answer, NoPacking) != fits_by_hand(region, items, gap), (region, items, gap)


@pytest.mark.long
def test_nothing_laid_is_always_a_solution() -> None:
    """With every item optional a model can never be impossible, under the solver's own settings too."""
    dice = random.Random(23)
    for _ in range(1500):
        region, items, gap = random_case(dice)
        model = cp_model.CpModel()
        add_packing(model, region, items, [model.new_bool_var("") for _ in items], gap)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL, (region, items, gap)


def test_the_most_worth_among_optional_items() -> None:
    """Inside a larger model: the best set of items to lay is that found by trying every set by hand."""
    dice = random.Random(11)
    for _ in range(60):
        region, items, gap = random_case(dice)
        worth = [dice.randint(1, 9) for _ in items]
        model = cp_model.CpModel()
        presence = [model.new_bool_var("") for _ in items]
        spots = add_packing(model, region, items, presence, gap)
        model.maximize(sum(w * p for w, p in zip(worth, presence, strict=True)))
        solver = new_solver()
        assert solver.solve(model) == cp_model.OPTIMAL
        placed = spots.read(solver)
        there = [i for i, p in zip(items, presence, strict=True) if solver.boolean_value(p)]
        assert check_placement(region, placed, gap, there) == []
        best = max(
            sum(worth[k] for k in chosen)
            for size in range(len(items) + 1)
            for chosen in combinations(range(len(items)), size)
            if fits_by_hand(region, [items[k] for k in chosen], gap)
        )
        assert sum(worth[items.index(i)] for i in there) == best


def test_like_items_come_in_order() -> None:
    """Of four of a kind where three have room, the first three are laid, from front to back."""
    items = [Item(f"p{k}", 3, 2, turnable=False, kind="p") for k in range(4)]
    model = cp_model.CpModel()
    presence = [model.new_bool_var("") for _ in items]
    spots = add_packing(model, Region(9, 3), items, presence)
    model.maximize(sum(presence))
    solver = new_solver()
    assert solver.solve(model) == cp_model.OPTIMAL
    placed = spots.read(solver)
    assert [p.id for p in placed] == ["p0", "p1", "p2"]
    assert [p.x for p in placed] == [0, 3, 6]


def test_unlike_items_of_one_kind_are_refused() -> None:
    """A kind says that its items stand for one another, so a slip must not pass in silence."""
    model = cp_model.CpModel()
    items = [Item("a", 3, 2, kind="p"), Item("b", 4, 2, kind="p")]
    with pytest.raises(ValueError, match="not alike"):
        add_packing(model, Region(9, 9), items, [True, True])


def test_an_item_that_lies_nowhere_is_absent() -> None:
    """Too long for the region either way: an optional one stays out, one that must be there is impossible."""
    for presence, status in ((None, cp_model.OPTIMAL), (True, cp_model.INFEASIBLE)):
        model = cp_model.CpModel()
        literal = model.new_bool_var("") if presence is None else True
        add_packing(model, Region(5, 5), [Item("a", 6, 1)], [literal])
        if presence is None:
            model.maximize(literal)
        solver = new_solver()
        assert solver.solve(model) == status
        if presence is None:
            assert solver.objective_value == 0


def test_obstacles_that_overlap_or_stick_out_are_no_contradiction() -> None:
    """Two obstacles one over the other and half off the roof leave the rest of it free."""
    region = Region(10, 4, (Placed("a", 3, -2, 3, 8), Placed("b", 4, 1, 3, 2)))
    items = [Item("left", 3, 4, turnable=False), Item("right", 4, 3, turnable=True)]
    placed = pack(region, items)
    assert not isinstance(placed, NoPacking)
    assert check_placement(region, placed, items=items) == []
    assert pack(region, [*items, Item("more", 1, 2)]) is IMPOSSIBLE  # two cells are left, not side by side


def test_a_wall_of_obstacle_divides_the_roof() -> None:
    """Enough area but split in two: a panel longer than either half has no place."""
    region = Region(10, 4, (Placed("rail", 5, 0, 1, 4),))
    assert pack(region, [Item("a", 6, 1, turnable=False)]) is IMPOSSIBLE
    assert not isinstance(pack(region, [Item("a", 5, 4), Item("b", 4, 4)]), NoPacking)


def test_a_panel_may_lie_on_its_only_fitting_side() -> None:
    """An item that fits turned alone is laid turned, optional or not."""
    placed = pack(Region(3, 8), [Item("a", 8, 3)])
    assert placed == (Placed("a", 0, 0, 3, 8),)
    assert pack(Region(3, 8), [Item("a", 8, 3, turnable=False)]) is IMPOSSIBLE


def test_no_items_and_no_roof() -> None:
    """Nothing always fits; something does not fit on nothing."""
    assert pack(Region(0, 0), []) == ()
    assert pack(Region(0, 0), [Item("a", 1, 1)], gap=20) is IMPOSSIBLE


CASES = st.integers(0, 10**6).map(lambda number: random_case(random.Random(number)))


@settings(deadline=None, max_examples=100)
@given(case=CASES, more=st.tuples(st.integers(0, 3), st.integers(0, 3)), grid=st.integers(1, 4))
def test_a_larger_region_never_refuses_what_fitted(
    case: tuple[Region, list[Item], int], more: tuple[int, int], grid: int
) -> None:
    """Growing the region, dropping an obstacle or an item, or no gap to keep leaves a packing possible."""
    region, items, gap = case
    assume(not isinstance(pack(region, items, gap, grid), NoPacking))
    larger = Region(region.length + more[0], region.width + more[1], region.obstacles)
    bare = Region(region.length, region.width, region.obstacles[1:])
    easier = [pack(larger, items, gap, grid), pack(bare, items, gap, grid), pack(region, items[1:], gap, grid)]
    if grid == 1:  # on a coarser one the region with its gap may round down further than the items do
        easier.append(pack(region, items, 0, grid))
    assert not any(isinstance(answer, NoPacking) for answer in easier)


@settings(deadline=None, max_examples=150)
@given(case=CASES, grid=st.integers(2, 4))
def test_a_coarse_grid_is_never_kinder(case: tuple[Region, list[Item], int], grid: int) -> None:
    """What is found on a grid is right in truth, and what is impossible in truth stays so on the grid."""
    region, items, gap = case
    answer = pack(region, items, gap, grid)
    if isinstance(answer, NoPacking):
        return
    assert check_placement(region, answer, gap, items) == []
    assert fits_by_hand(region, items, gap)


def test_names_and_order_do_not_matter() -> None:
    """The same sizes under other names, listed otherwise, get the same answer, from memory and afresh."""
    dice = random.Random(3)
    for _ in range(30):
        region, items, gap = random_case(dice)
        first = pack(region, items, gap)
        again = [Item(f"other {i.id}", i.length, i.width, i.turnable) for i in reversed(items)]
        before = packing._pack.cache_info().hits
        second = pack(region, again, gap)
        assert packing._pack.cache_info().hits == before + 1
        assert isinstance(first, NoPacking) == isinstance(second, NoPacking)
        if not isinstance(first, NoPacking) and not isinstance(second, NoPacking):
            assert sorted((p.x, p.y, p.length) for p in first) == sorted((p.x, p.y, p.length) for p in second)
            assert [p.id for p in second] == [item.id for item in again]
        packing._pack.cache_clear()
        assert pack(region, items, gap) == first


def test_too_little_effort_is_undecided_and_not_impossible() -> None:
    """A hard question with next to no effort allowed is left open, never answered wrongly."""
    assert pack(Region(112, 112), squares(ORDER_21), effort=1e-6) is UNDECIDED


def test_ways_of_lying() -> None:
    """A square or a fixed thing lies in one way, others in two, straight first."""
    assert lies(3, 2, True) == ((3, 2), (2, 3))
    assert lies(3, 2, False) == ((3, 2),)
    assert lies(3, 3, True) == ((3, 3),)
