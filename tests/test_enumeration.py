"""Choosing against plain enumeration: for hundreds of small problems the same best kit, or none, exactly."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest
from enumeration import Found, combinations, search, turned
from small_worlds import MOST_KITS, small_problem, small_world

from optimizer.check import check, goal_value
from optimizer.choosing.choose import Outcome, choose, order_of
from optimizer.choosing.solve import Settings
from optimizer.problem.dominance import without_dominated
from optimizer.problem.records import Problem
from optimizer.rules import BY_SLUG

SEEDS = 200
CHUNK = 20
CHUNKS = [0, CHUNK, *(pytest.param(first, marks=pytest.mark.long) for first in range(2 * CHUNK, SEEDS, CHUNK))]
GUARD = Settings(seconds=60)
NEVER_ALONE = {"front_axle", "rear_axle", "side_balance", "roof_plan", "bay_space", "bay_load", "array_pair"}
"""Limits of places, which these worlds leave out; and panels without a controller break others as well."""


@cache
def world(seed: int) -> tuple[Problem, Found]:
    """A small problem, and what looking at every kit of it finds."""
    problem = small_problem(*small_world(seed))
    return problem, search(problem)


def assert_same(problem: Problem, outcome: Outcome, found: Found) -> None:
    """The same best value, tie-break, part-id number and parts; or no kit on both sides."""
    assert outcome.status == ("impossible" if found.best is None else "proven")
    if found.best is None:
        assert outcome.kit is None
        return
    assert outcome.kit is not None
    assert outcome.ties_broken
    assert outcome.value == goal_value(problem, found.best, problem.goal) == outcome.bound
    assert goal_value(problem, outcome.kit, problem.goal) == outcome.value
    assert goal_value(problem, outcome.kit, problem.tie_break) == goal_value(problem, found.best, problem.tie_break)
    assert check(problem, outcome.kit).ok
    if found.equals == 1:
        assert outcome.kit == found.best


@pytest.mark.parametrize("first", CHUNKS)
def test_choosing_finds_what_enumeration_finds(first: int) -> None:
    """Goal, tie-break and last tie-break of small problems of every sort, and the same verdict where none is."""
    for seed in range(first, first + CHUNK):
        problem, found = world(seed)
        assert found.in_any_order == (None if found.rank is None else found.rank[:2]), seed
        assert_same(problem, choose(problem, settings=GUARD), found)


@pytest.mark.parametrize("first", CHUNKS[::2])
def test_leaving_out_dominated_options_changes_nothing(first: int) -> None:
    """The problem without dominated options has the same best kit, to the letter."""
    for seed in range(first, first + CHUNK):
        problem, found = world(seed)
        smaller = without_dominated(problem, order_of(problem)).problem
        assert_same(problem, choose(smaller, settings=GUARD), found)


@pytest.mark.long
def test_the_worlds_are_worth_looking_at() -> None:
    """Some problems have no kit, most have many; every goal is met; and nearly every limit decides somewhere."""
    kits, alone, goals = [], Counter[str](), Counter[tuple[str, bool]]()
    for seed in range(SEEDS):
        problem, found = world(seed)
        kits.append(combinations(problem))
        alone.update(slug.split(":")[0] for slug in found.alone)
        goals[problem.goal.slug.split(":")[0], found.best is not None] += 1
    print(sorted(alone.items()), goals, sorted(kits)[len(kits) // 2], max(kits))
    assert max(kits) <= MOST_KITS
    none = sum(many for (_, possible), many in goals.items() if not possible)
    assert SEEDS * 0.2 < none < SEEDS * 0.55
    assert {goal for goal, possible in goals if possible} == {"cheapest", "lightest", "longest", "most"}
    decided = {"own_limit" if slug == "own" else slug for slug in alone}
    assert len(BY_SLUG.keys() - decided - NEVER_ALONE) <= 7, sorted(BY_SLUG.keys() - decided)


@pytest.mark.long
def test_twins_in_either_order_are_one_kit() -> None:
    """Of two arrays or two cold boxes the model takes one order; the kit with them turned is as good."""
    pairs = 0
    for seed in range(SEEDS):
        problem, found = world(seed)
        if found.best is not None and any(group.twin and group.name in found.best.choices for group in problem.groups):
            pairs += 1
            assert turned(problem, found.best) == found.best
    assert pairs > 3
