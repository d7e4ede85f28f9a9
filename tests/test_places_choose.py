"""Choosing with places in force, against trying every kit in every place."""

from __future__ import annotations

from functools import partial

import pytest

from optimizer.check import check, goal_value
from optimizer.choosing.choose import choose, order_of
from optimizer.places.finding import place, placed
from optimizer.places.judge import Places
from optimizer.problem.dominance import without_dominated
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement
from tests.place_cases import fits, kits, tiny_problem

SEEDS = [seed if seed < 24 else pytest.param(seed, marks=pytest.mark.long) for seed in range(120)]
JUDGED = [seed if seed < 24 else pytest.param(seed, marks=pytest.mark.long) for seed in range(0, 120, 4)]
WALLED = [pytest.param(seed, marks=pytest.mark.long) if 24 < seed != 117 else seed for seed in range(1, 120, 4)]


def signed(problem: Problem, kit: Kit) -> tuple[int, int]:
    """Goal and tie-break, less is better."""
    values = []
    for goal in (problem.goal, problem.tie_break):
        value = goal_value(problem, kit, goal)
        values.append(-value if goal.maximise else value)
    return values[0], values[1]


def by_hand(problem: Problem) -> tuple[int, int] | None:
    """Goal and tie-break of the best kit that keeps every rule and fits, by trying all."""
    best: tuple[int, int] | None = None
    for kit in sorted(kits(problem), key=partial(signed, problem)):
        if best is not None:
            break
        if check(problem, kit).ok and fits(problem, kit):
            best = signed(problem, kit)
    return best


@pytest.mark.parametrize("seed", SEEDS)
def test_the_choice_is_the_best_of_all_kits_that_fit(seed: int) -> None:
    """The kit chosen with places in force is as good as the best that exhaustive placing finds."""
    problem = tiny_problem(seed)
    expected = by_hand(problem)
    smaller = without_dominated(problem, order_of(problem)).problem
    judge = Places(smaller)
    outcome = choose(smaller, [judge])
    assert judge.undecided == 0
    if expected is None:
        assert outcome.status == "impossible"
        return
    assert outcome.status == "proven"
    assert outcome.kit is not None
    assert signed(problem, outcome.kit) == expected
    assert check(problem, placed(problem, outcome.kit)).ok


@pytest.mark.parametrize("seed", JUDGED)
def test_every_kit_is_judged_as_exhaustive_placing_judges_it(seed: int) -> None:
    """Whatever the kit, the judge and the trying of all places agree, and what is placed passes the check."""
    problem = tiny_problem(seed)
    for kit in list(kits(problem))[::7]:
        found = place(problem, kit)
        assert isinstance(found, Placement) == fits(problem, kit), kit
        if isinstance(found, Placement):
            faults = check(problem, placed(problem, kit)).faults
            assert not [fault for fault in faults if not fault.startswith("roof_area")]


@pytest.mark.parametrize("seed", WALLED)
def test_no_wall_stops_a_kit_that_fits(seed: int) -> None:
    """A wall stops the kit it was named for, and every kit that it stops does not fit."""
    problem = tiny_problem(seed)
    judge = Places(problem)
    every = list(kits(problem))
    right = {id(kit): fits(problem, kit) for kit in every[::5]}
    for kit in every[::3]:
        if judge.passes(kit):
            continue
        walls = judge.walls(kit)
        assert any(not wall.passed_by(kit) for wall in walls)
        for wall in walls:
            for other in every[::5]:
                assert wall.passed_by(other) or not right[id(other)], (kit, other, wall)
