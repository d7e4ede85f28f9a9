"""Choosing against plain enumeration: for hundreds of small problems the same best kit, or none, exactly."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from enumeration import Found, combinations, part_id_number, random_kit, search, signed, turned
from sampled_worlds import sampled_job
from small_worlds import MOST_KITS, small_problem, small_world

from optimizer.check import check, goal_value
from optimizer.choosing.choose import Outcome, choose
from optimizer.choosing.order import order_of
from optimizer.choosing.solve import Settings
from optimizer.problem.dominance import ALONE, LESS, MORE, without_dominated
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG

SEEDS = 200
CHUNK = 20
CHUNKS = [0, CHUNK, *(pytest.param(first, marks=pytest.mark.long) for first in range(2 * CHUNK, SEEDS, CHUNK))]
GUARD = Settings(seconds=60)
PLACES = {"front_axle", "rear_axle", "side_balance", "roof_plan", "bay_space", "bay_load", "cable_reach", "fuel_apart"}
NEVER_ALONE = {*PLACES, "array_pair"}
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


def test_a_stand_in_leaves_as_much_room_everywhere_and_ranks_no_later() -> None:
    """Swap an option that was left out for what stands in for it: no limit of any kit loses room, no rank is lost."""
    swapped, names = 0, set[str]()
    problems = [replace(sampled_job(number).problem, space=None) for number in range(8)]
    problems += [small_problem(*small_world(seed)) for seed in range(40)]
    for number, problem in enumerate(problems):
        rng = random.Random(number)
        drawn = [kit for kit in (random_kit(problem, rng) for _ in range(4)) if kit is not None]
        stand_ins = sorted(without_dominated(problem, order_of(problem)).stand_ins.items())
        for (group, lost), winner in rng.sample(stand_ins, min(len(stand_ins), 150)):
            for kit in drawn:
                if problem.group(group).option(lost).voltage not in (0, kit.voltage):
                    continue
                worse, better = (replace(kit, choices={**kit.choices, group: key}) for key in (lost, winner))
                rooms = rooms_of(problem, better)
                for name, room in rooms_of(problem, worse).items():
                    assert rooms.get(name, room) >= room, (number, group, lost, winner, name)
                    names.add(name)
                assert rank_of(problem, better, group) <= rank_of(problem, worse, group)
                swapped += 1
    assert swapped > 500
    assert len(names) > 40


@pytest.mark.long
def test_each_number_taken_for_better_leaves_as_much_room_everywhere() -> None:
    """Push one number of one chosen option the way that counts as better there: no limit of any kit loses room."""
    problems = [replace(sampled_job(number).problem, space=None) for number in range(4)]
    problems += [small_problem(*small_world(seed)) for seed in range(30)]
    pushed: set[str] = set()
    for number, problem in enumerate(problems):
        rng = random.Random(number)
        drawn = [kit for kit in (random_kit(problem, rng) for _ in range(6)) if kit is not None]
        for kit in drawn:
            rooms = rooms_of(problem, kit)
            for group, option in kit.options(problem):
                for name, value in option.amounts.items():
                    more, less = MORE.fullmatch(name), LESS.fullmatch(name)
                    if group.kind in ALONE or not (more or less):
                        continue
                    better = {**option.amounts, name: 3 * value + 1 if more else value // 3}
                    changed = replace(option, amounts=better)
                    after = rooms_of(_with(problem, group, changed), Kit(kit.choices, kit.voltage, kit.nights))
                    for limit, room in rooms.items():
                        assert after.get(limit, room) >= room, (group.kind, name, limit)
                    pushed.add(name)
    assert len(pushed) > 60


def _with(problem: Problem, group: Group, changed: Option) -> Problem:
    options = tuple(changed if option.key == changed.key else option for option in group.options)
    groups = (replace(one, options=options) if one.name == group.name else one for one in problem.groups)
    return replace(problem, groups=tuple(groups))


def rooms_of(problem: Problem, kit: Kit) -> dict[str, int]:
    return {limit.name: limit.room for slug in problem.rules for limit in BY_SLUG[slug].holds(problem, kit)}


def rank_of(problem: Problem, kit: Kit, group: str) -> tuple[int, ...]:
    """Goal and tie-break; the part-id number too, but for twins, which are judged under the first one's name."""
    goals = signed(problem, kit, problem.goal), signed(problem, kit, problem.tie_break)
    return goals if problem.group(group).twin else (*goals, part_id_number(kit))


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
