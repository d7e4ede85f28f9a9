"""Boxes in bays: each fault named by the check, every small case against trying all places by hand."""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from optimizer.packing import stowing
from optimizer.packing.bays import Bay, Box, Stowed, check_bays
from optimizer.packing.model import new_solver
from optimizer.packing.shapes import IMPOSSIBLE, NoPacking
from optimizer.packing.standing import stands
from optimizer.packing.stowing import add_bays, stow

BENCH = Bay("bench", 900, 400, 350, 60_000, ("inside", "warm"))
LOCKER = Bay("locker", 500, 400, 600, 30_000, ("outside", "gas_locker"), door_width=300, door_height=400)
BANK = Box("bank", 330, 173, 220, 11_000, ("warm",), upright=True, clearance=10)


def stowed_by_hand(
    bays: Sequence[Bay],
    boxes: Sequence[Box],
    may_split: Collection[str] = (),
    done: tuple[Stowed, ...] = (),
    given: Sequence[Box] = (),
) -> bool:
    """Tries every bay, way of standing and cell for each box in turn; judged whole by the solver-free check."""
    if not boxes:
        return True
    box, rest = boxes[0], boxes[1:]
    given = [*given, box]
    for bay in bays:
        for length, width, height in sorted(set(permutations((box.length, box.width, box.height)))):
            for x in range(bay.length - length + 1):
                for y in range(bay.width - width + 1):
                    here = (*done, Stowed(box.id, bay.name, x, y, length, width, height))
                    if not check_bays(bays, given, here, may_split) and stowed_by_hand(
                        bays, rest, may_split, here, given
                    ):
                        return True
    return False


def random_case(dice: random.Random) -> tuple[list[Bay], list[Box], tuple[str, ...]]:
    """One or two tiny bays, one to four boxes with every sort of wish, and groups that may be split or not."""
    bays = [
        Bay(
            f"bay {k}",
            dice.randint(1, 4),
            dice.randint(1, 4),
            dice.randint(1, 4),
            dice.randint(2, 9),
            dice.choice((("in",), ("out",), ("in", "out"))),
            dice.choice((None, None, 1, 2, 3)),
            dice.choice((None, None, 1, 2, 3)),
        )
        for k in range(dice.randint(1, 2))
    ]
    sizes = [(dice.randint(1, 3), dice.randint(1, 3), dice.randint(1, 3)) for _ in range(2)]
    boxes = [
        Box(
            f"box {k}",
            *dice.choice(sizes),
            dice.randint(0, 4),
            dice.choice((("in",), ("in", "out"))),
            upright=dice.random() < 0.4,
            clearance=dice.choice((0, 0, 0, 1)),
            group=dice.choice(("", "g", "h")),
        )
        for k in range(dice.randint(1, 4))
    ]
    return bays, boxes, dice.choice(((), ("g",), ("g", "h")))


@pytest.mark.parametrize("batch", range(4))
def test_against_every_place(batch: int) -> None:
    """Four times a hundred random cases: found exactly when trying everything finds places, and found right."""
    dice = random.Random(200 + batch)
    answers = {True: 0, False: 0}
    for _ in range(100):
        bays, boxes, may_split = random_case(dice)
        answer = stow(bays, boxes, may_split)
        possible = stowed_by_hand(bays, boxes, may_split)
        answers[possible] += 1
        if possible:
            assert not isinstance(answer, NoPacking), (bays, boxes, may_split)
            assert check_bays(bays, boxes, answer, may_split) == []
        else:
            assert answer is IMPOSSIBLE, (bays, boxes, may_split)
    assert min(answers.values()) > 10


@pytest.mark.long
def test_nothing_stowed_is_always_a_solution() -> None:
    """With every box optional a model can never be impossible, whatever the solver's presolve makes of it.

    Run with the solver's own settings, as inside a larger model: sizes that could be nothing once made it
    find a contradiction where there is none.
    """
    dice = random.Random(0)
    for _ in range(1500):
        bays, boxes, may_split = random_case(dice)
        model = cp_model.CpModel()
        presence = [model.new_bool_var("") for _ in boxes]
        add_bays(model, bays, boxes, presence, may_split)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL, (bays, boxes, may_split)


@pytest.mark.long
def test_against_every_place_many_times() -> None:
    """Fifteen hundred more random cases against trying everything."""
    dice = random.Random(31)
    for _ in range(1500):
        bays, boxes, may_split = random_case(dice)
        impossible = isinstance(stow(bays, boxes, may_split), NoPacking)
        assert impossible != stowed_by_hand(bays, boxes, may_split), (bays, boxes, may_split)


def test_the_most_mass_among_optional_boxes() -> None:
    """Inside a larger model: the heaviest set stowed is that found by trying every set by hand."""
    dice = random.Random(5)
    for _ in range(60):
        bays, boxes, may_split = random_case(dice)
        model = cp_model.CpModel()
        presence = [model.new_bool_var("") for _ in boxes]
        spots = add_bays(model, bays, boxes, presence, may_split)
        model.maximize(sum((box.mass + 1) * p for box, p in zip(boxes, presence, strict=True)))
        solver = new_solver()
        assert solver.solve(model) == cp_model.OPTIMAL
        there = [box for box, p in zip(boxes, presence, strict=True) if solver.boolean_value(p)]
        places = spots.read(solver)
        assert check_bays(bays, there, places, may_split) == []
        for index, box in enumerate(boxes):
            homes = [k for k in range(len(bays)) if solver.value(spots.home(index, k))]
            assert [bays[k].name for k in homes] == [s.bay for s in places if s.id == box.id]
        best = max(
            sum(box.mass + 1 for k, box in enumerate(boxes) if chosen >> k & 1)
            for chosen in range(1 << len(boxes))
            if stowed_by_hand(bays, [box for k, box in enumerate(boxes) if chosen >> k & 1], may_split)
        )
        assert sum(box.mass + 1 for box in there) == best


def good() -> list[Stowed]:
    """The bank with its air in the bench's corner."""
    return [Stowed("bank", "bench", 10, 10, 330, 173, 220)]


def test_a_right_place_has_nothing_wrong() -> None:
    """The bank in the bench with its air kept: no sentence."""
    assert check_bays([BENCH, LOCKER], [BANK], good()) == []


@pytest.mark.parametrize(
    ("place", "word"),
    [
        (Stowed("bank", "bench", 9, 10, 330, 173, 220), "does not fit"),
        (Stowed("bank", "bench", 10, 218, 330, 173, 220), "does not fit"),
        (Stowed("bank", "bench", 561, 10, 330, 173, 220), "does not fit"),
        (Stowed("bank", "bench", 10, 10, 330, 220, 173), "upright"),
        (Stowed("bank", "bench", 10, 10, 330, 172, 220), "which it is not"),
        (Stowed("bank", "locker", 10, 10, 330, 173, 220), "may not live"),
        (Stowed("bank", "attic", 10, 10, 330, 173, 220), "no bay called attic"),
        (Stowed("bonk", "bench", 10, 10, 330, 173, 220), "not the boxes"),
    ],
)
def test_each_fault_of_a_place_is_named(place: Stowed, word: str) -> None:
    """Air over an edge, lying down, other sizes, a bay for other things or none: one sentence each."""
    wrong = check_bays([BENCH, LOCKER], [BANK], [place])
    assert len(wrong) == 1
    assert word in wrong[0]


@pytest.mark.parametrize(
    ("length", "width", "height", "passes"),
    [(490, 300, 400, True), (300, 390, 400, True), (490, 301, 400, False), (490, 300, 401, False)],
)
def test_openings(length: int, width: int, height: int, passes: bool) -> None:
    """Through an opening 300 wide and 400 high goes what is no wider one way round and no higher."""
    bottle = Box("bottle", length, width, height, 9_000, ("gas_locker",), upright=True)
    place = [Stowed("bottle", "locker", 0, 0, length, width, height)]
    assert (check_bays([LOCKER], [bottle], place) == []) == passes
    assert isinstance(stow([LOCKER], [bottle]), NoPacking) != passes
    assert not isinstance(stow([replace(LOCKER, door_width=None, door_height=None)], [bottle]), NoPacking)


def test_neighbours_keep_the_air_of_both() -> None:
    """Two banks with 10 mm of air each stand 20 mm apart; 19 is too near; in another bay it does not matter."""
    two = [BANK, replace(BANK, id="other")]
    for gap, faults in ((20, 0), (19, 1)):
        places = [*good(), Stowed("other", "bench", 10 + 330 + gap, 10, 330, 173, 220)]
        assert len(check_bays([BENCH], two, places)) == faults
    twin = replace(BENCH, name="twin")
    assert check_bays([BENCH, twin], two, [*good(), replace(good()[0], id="other", bay="twin")]) == []


def test_loads_and_groups_are_checked() -> None:
    """Too much mass for a floor, and a bank of batteries in two bays without leave, are found."""
    heavy = [replace(BANK, id=f"b{k}", mass=31_000, group="bank") for k in range(2)]
    twin = replace(BENCH, name="twin")
    beside = [Stowed("b0", "bench", 10, 10, 330, 173, 220), Stowed("b1", "bench", 360, 10, 330, 173, 220)]
    apart = [beside[0], replace(beside[1], bay="twin")]
    assert check_bays([BENCH, twin], heavy, beside) == ["bench bears 60000 but holds 62000"]
    assert check_bays([BENCH, twin], heavy, apart) == ["bank is spread over bench, twin"]
    assert check_bays([BENCH, twin], heavy, apart, may_split=["bank"]) == []
    assert stow([BENCH, twin], heavy) is IMPOSSIBLE
    assert not isinstance(stow([BENCH, twin], heavy, may_split=["bank"]), NoPacking)


def test_ways_of_standing() -> None:
    """A free box stands on its smallest side where the height allows, so only that side's two turns are kept."""
    free = Box("box", 300, 200, 100, 1_000, ("inside",))
    tall = Bay("tall", 900, 400, 350, 60_000, ("inside",))
    low = Bay("low", 900, 400, 150, 60_000, ("inside",))
    assert sorted(s.sizes for s in stands([tall], free, 1)) == [(100, 200, 300), (200, 100, 300)]
    assert sorted(s.sizes for s in stands([low], free, 1)) == [(200, 300, 100), (300, 200, 100)]
    both = stands([tall, low], free, 1)
    assert sorted(s.sizes[2] for s in both) == [100, 100, 300, 300]
    assert sorted(s.sizes for s in stands([tall], replace(free, upright=True), 1)) == [(200, 300, 100), (300, 200, 100)]
    assert stands([replace(tall, load=999)], free, 1) == ()


def test_boxes_do_not_stand_on_each_other() -> None:
    """Two flat boxes as large as the floor do not go into a bay that is high enough for both."""
    bay = Bay("chest", 4, 4, 10, 100, ("in",))
    flat = Box("a", 4, 4, 1, 1, ("in",), upright=True)
    assert not isinstance(stow([bay], [flat]), NoPacking)
    assert stow([bay], [flat, replace(flat, id="b")]) is IMPOSSIBLE


def test_no_boxes_and_no_bays() -> None:
    """Nothing always fits; something does not fit nowhere, and an optional thing then stays away."""
    assert stow([], []) == ()
    assert stow([BENCH], []) == ()
    assert stow([], [BANK]) is IMPOSSIBLE
    model = cp_model.CpModel()
    wanted = model.new_bool_var("")
    add_bays(model, [], [BANK], [wanted])
    model.maximize(wanted)
    solver = new_solver()
    assert solver.solve(model) == cp_model.OPTIMAL
    assert solver.objective_value == 0


def test_like_boxes_come_in_order_and_unlike_ones_are_refused() -> None:
    """Of three like cans where two have room the first two are stowed, in bay order."""
    cans = [Box(f"can {k}", 2, 2, 2, 1, ("in",), upright=True, kind="can") for k in range(3)]
    bays = [Bay(f"bay {k}", 2, 2, 2, 5, ("in",)) for k in range(2)]
    model = cp_model.CpModel()
    presence = [model.new_bool_var("") for _ in cans]
    spots = add_bays(model, bays, cans, presence)
    model.maximize(sum(presence))
    solver = new_solver()
    assert solver.solve(model) == cp_model.OPTIMAL
    assert [(s.id, s.bay) for s in spots.read(solver)] == [("can 0", "bay 0"), ("can 1", "bay 1")]
    with pytest.raises(ValueError, match="not alike"):
        add_bays(cp_model.CpModel(), bays, [cans[0], replace(cans[1], mass=2)], [True, True])


@pytest.mark.parametrize("change", [{"length": 0}, {"height": -1}, {"mass": -1}, {"clearance": -1}])
def test_senseless_boxes_are_refused(change: dict[str, int]) -> None:
    """A box has sizes above zero, and neither mass nor air below it."""
    with pytest.raises(ValueError, match="box bank"):
        replace(BANK, **change)  # type: ignore[arg-type]


CASES = st.integers(0, 10**6).map(lambda number: random_case(random.Random(number)))


@settings(deadline=None, max_examples=80)
@given(case=CASES, more=st.tuples(*[st.integers(0, 2)] * 4), grid=st.integers(1, 3))
def test_easier_never_refuses_what_fitted(
    case: tuple[list[Bay], list[Box], tuple[str, ...]], more: tuple[int, ...], grid: int
) -> None:
    """Larger bays, no openings to pass, fewer boxes or groups set free keep stowing possible; a grid is right."""
    bays, boxes, may_split = case
    answer = stow(bays, boxes, may_split, grid)
    if isinstance(answer, NoPacking):
        return
    assert check_bays(bays, boxes, answer, may_split) == []
    larger = [
        replace(b, length=b.length + more[0], width=b.width + more[1], height=b.height + more[2], load=b.load + more[3])
        for b in bays
    ]
    open_ = [replace(bay, door_width=None, door_height=None) for bay in bays]
    for easier in (
        stow(larger, boxes, may_split, grid),
        stow(open_, boxes, may_split, grid),
        stow(bays, boxes[1:], may_split, grid),
        stow(bays, boxes, ("g", "h"), grid),
    ):
        assert not isinstance(easier, NoPacking)


def test_names_and_order_do_not_matter() -> None:
    """The same boxes under other names, listed otherwise, are answered from memory; afresh the same again."""
    dice = random.Random(9)
    for _ in range(20):
        bays, boxes, may_split = random_case(dice)
        first = stow(bays, boxes, may_split)
        again = [replace(box, id=f"other {box.id}") for box in reversed(boxes)]
        hits = stowing._stow.cache_info().hits
        second = stow(bays, again, may_split)
        assert stowing._stow.cache_info().hits == hits + 1
        assert isinstance(first, NoPacking) == isinstance(second, NoPacking)
        if not isinstance(second, NoPacking):
            assert check_bays(bays, again, second, may_split) == []
            assert [s.id for s in second] == [box.id for box in again]
        stowing._stow.cache_clear()
        assert stow(bays, boxes, may_split) == first
