"""Break-evens, conflicts, ways out and next-best of small random worlds, against looking at every kit."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from enumeration import SlowTrips
from explain_truth import Row, allowed, best, is_conflict, least, minimal_sets, rows
from explain_worlds import World, impossible, just_out, loosened, turned
from small_worlds import small_problem, small_world, station

from optimizer.choosing.aims import goal_number
from optimizer.explain import break_evens
from optimizer.explain.bench import Bench, Trips
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.giving import step_of
from optimizer.explain.knowledge import Change
from optimizer.explain.limits import stories
from optimizer.explain.next_best import next_best
from optimizer.explain.ways_out import Early, ways_out
from optimizer.problem.records import Kit, Problem
from optimizer.trips.scene import Scene, build_scene

WORLDS = 300
WITH_TRIPS = (3, 7, 11, 17, 22)
"""Worlds in which fewer departures asked for would let a better kit in; in the last two only step by step."""
TURNS, MORE_WITH_TRIPS = 4, 150


@cache
def world(seed: int) -> tuple[Problem, list[Row]] | None:
    """A small problem without places, and every kit of it; None when it cannot be made small enough."""
    try:
        problem = replace(small_problem(*small_world(seed)), space=None)
    except IndexError:
        return None
    return problem, rows(problem)


def value(problem: Problem, kit: Kit | None) -> tuple[int, int] | None:
    if kit is None:
        return None
    return goal_number(problem, kit, problem.goal), goal_number(problem, kit, problem.tie_break)


def check_stories(
    problem: Problem, every: list[Row], tally: Counter[str], tight: bool = True, trips: Trips | None = None
) -> None:
    bench = Bench(problem, trips)
    kit = bench.ask().kit
    assert kit is not None
    today = value(problem, kit)
    assert today == min(row.value for row in allowed(every))
    told = stories(bench, kit, together=tight, tight=tight)
    for story in told.limits:
        name = story.member.name
        true = least(every, name, today)
        assert story.proven
        if true is None:
            assert story.looser is None, name
        else:
            assert story.looser is not None, name
            give = true[0] if story.member.numbers else 0
            assert (story.looser.give, value(problem, story.looser.kit)) == (give, true[1]), name
        tally["looser" if true else "no looser"] += 1
        if story.tighter is not None:
            assert story.tighter.give == bench.excess(kit, name) - 1
            then = best(allowed(every, gives={name: story.tighter.give}))
            assert value(problem, story.tighter.kit) == (None if then is None else then.value), name
            tally["tighter"] += 1
    for together in told.together or ():
        names = [member.name for member in together]
        assert any(row.value < today for row in allowed(every, names))
        for name in names:
            assert not any(row.value < today for row in allowed(every, set(names) - {name}))
        tally["together"] += 1


def check_conflict(
    problem: Problem, every: list[Row], tally: Counter[str], trips: Trips | None = None, early: Early | None = None
) -> None:
    bench = Bench(problem, trips)
    members = bench.members()
    names = [member.name for member in members]
    if early is not None:  # as after a choosing that ended so: what the trips turned away then is known
        assert bench.ask().status == "impossible"
        tally["missed"] += bool(bench.store.missed)
    conflict = find_conflict(bench, beside=early)
    assert conflict is not None
    if not allowed(every, names):
        assert not conflict.members
        tally["hard"] += 1
        return
    assert conflict.minimal
    found = [member.name for member in conflict.members]
    assert is_conflict(every, found, names)
    for name in found:
        assert not is_conflict(every, set(found) - {name}, names)
    for name, witness in zip(found, conflict.witnesses, strict=True):
        assert witness is not None
        kept = allowed(every, set(names) - set(found) | {name})
        assert any(replace(row.kit, places=None) == replace(witness, places=None) for row in kept)
    if trips is not None:  # nothing that was learnt before has a say in it
        again = find_conflict(Bench(problem, trips, store=bench.store))
        assert again is not None
        assert again.members == conflict.members
    tally["conflict"] += 1
    tally["conflict with the coverage"] += "coverage" in found
    tally["known early"] += early is not None and bool(early.alone)
    ways = ways_out(bench, conflict, known=early)
    true = minimal_sets(every, names)
    assert {way.names for way in ways if len(way.steps) == 1} == {names for names in true if len(names) == 1}
    assert {names for names in true if len(names) == 2} == {
        way.names for way in ways if len(way.steps) == 2 and not any(one <= way.names for one in true if len(one) == 1)
    }
    alone = [way.steps[0] for way in ways if len(way.steps) == 1]
    adding = {
        step.member.name: step.give - 1
        for step in alone if step.give > 1 and not step_of(problem, step.member.name)
    }  # fmt: skip
    for pair in combinations(sorted(adding), 2):
        shared = bool(allowed(every, (), {name: adding[name] for name in pair}))
        assert (frozenset(pair) in {way.names for way in ways}) == shared, pair
        tally["sharing" if shared else "not sharing"] += 1
        tally["of several"] += len(adding) > 2
    for way in ways:
        dropped = [step.member.name for step in way.steps if not step.member.numbers]
        gives = {step.member.name: step.give for step in way.steps if step.member.numbers}
        then = best(allowed(every, dropped, gives))
        assert then is not None
        assert value(problem, way.kit) == then.value
        if len(gives) == 1:
            (name,) = gives
            inside = [max(0, row.over.get(name, 0)) for row in allowed(every, [*dropped, name])]
            assert gives[name] == min(inside)
        for name, give in gives.items():
            assert not allowed(every, dropped, {**gives, name: give - 1})
        tally["way out"] += 1


def check_next(problem: Problem, every: list[Row], tally: Counter[str], count: int = 5) -> None:
    bench = Bench(problem)
    kit = bench.ask(Change(whole=True)).kit
    assert kit is not None
    rivals = next_best(bench, kit, count).kits
    past = [kit.counts(problem)]
    left = allowed(every)
    for number in range(count):
        left = [row for row in left if any(row.counts.get(part, 0) < many for part, many in past[-1].items())]
        if not left:
            assert len(rivals) == number
            break
        assert rivals[number].proven
        assert value(problem, rivals[number].kit) == min(row.value for row in left)
        assert any(row.counts == rivals[number].kit.counts(problem) for row in left)
        past.append(rivals[number].kit.counts(problem))
        tally["next"] += 1


def check_with_trips(seed: int, tally: Counter[str]) -> None:
    """The stories of a small world with hour-by-hour trips, of which as many as half may fall short."""
    problem, scene = trips_world(seed)
    slow = SlowTrips(problem, scene)
    allowed_short = random.Random(seed).randrange(scene.departures.size // 2)
    every = rows(problem, lambda kit: slow.short(kit) - allowed_short)
    if allowed(every):
        found: Counter[str] = Counter()
        check_stories(problem, every, found, tight=seed % 3 == 0, trips=Trips(scene, allowed_short))
        tally.update(found)
        tally["coverage gives"] += least(every, "coverage", min(row.value for row in allowed(every))) is not None


def check_conflict_with_trips(seed: int, tally: Counter[str]) -> None:
    """Why a small world with trips is impossible when two of its limits are drawn too tight, or the coverage is."""
    problem, scene = trips_world(seed)
    problem = replace(problem, space=None)
    slow, rng = SlowTrips(problem, scene), random.Random(seed)
    plain = rows(problem, slow.short)
    shorts = sorted({row.over["coverage"] for row in allowed(plain, ["coverage"])})
    for number in range(TURNS):
        many = 0 if not shorts else shorts[rng.randrange(len(shorts))]
        every = [replace(row, over={**row.over, "coverage": row.over["coverage"] - many}) for row in plain]
        made: World | None = (problem, every)
        if allowed(every):
            made = impossible(rng, (problem, every))
        if made is not None:
            check_conflict(*made, tally, Trips(scene, many), Early() if number % 2 else None)


def trips_world(seed: int) -> tuple[Problem, Scene]:
    brief, catalog = small_world(seed, coverage=90, most=300)
    return small_problem(brief, catalog), build_scene(brief, [station("723170")])


def run(first: int, last: int) -> Counter[str]:
    """Worlds as they are drawn, and each possible one with limits moved: looser, just too tight, impossible."""
    tally: Counter[str] = Counter()
    for seed in range(first, last):
        made = world(seed)
        if made is None:
            continue
        if not allowed(made[1]):
            check_conflict(*made, tally)
            continue
        rng = random.Random(seed)
        check_stories(*made, tally)
        check_next(*loosened(made), tally)
        check_next(*turned(loosened(made)), tally)
        for _ in range(2):
            if (tight := just_out(rng, made)) is not None:
                check_stories(*tight, tally, tight=False)
            if (none := impossible(rng, made)) is not None:
                check_conflict(*none, tally)
    return tally


def test_a_few_small_worlds_are_explained_exactly() -> None:
    """Every break-even, conflict, way out and next-best of a few random worlds is what enumeration finds."""
    tally = run(0, 12)
    assert all(tally[sort] for sort in ("looser", "tighter", "conflict", "way out", "next"))


@pytest.mark.parametrize("swaps", [True, False])
def test_coverage_gives_exactly_as_much_as_it_must(swaps: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """With trips, every break-even of a few worlds, the coverage's too, is what enumeration finds.

    Swaps towards kits that survive more only save questions: without them it is the same.
    """
    if not swaps:
        monkeypatch.setattr(break_evens, "_surviving", lambda bench, kit, better, base: kit)
    tally: Counter[str] = Counter()
    for seed in WITH_TRIPS:
        check_with_trips(seed, tally)
    assert tally["coverage gives"] == len(WITH_TRIPS), tally


def test_conflicts_with_trips_are_exact() -> None:
    """With trips, conflicts and ways out of a few worlds are what enumeration finds, asked early or late."""
    tally: Counter[str] = Counter()
    for seed in WITH_TRIPS:
        check_conflict_with_trips(seed, tally)
    print(dict(tally))
    assert all(tally[sort] for sort in ("conflict with the coverage", "known early", "missed", "way out")), tally


@pytest.mark.long
def test_many_conflicts_with_trips_are_exact() -> None:
    """The same for many worlds."""
    tally: Counter[str] = Counter()
    for seed in range(MORE_WITH_TRIPS):
        try:
            check_conflict_with_trips(seed, tally)
        except IndexError:  # it cannot be made small enough
            continue
    print(dict(tally))
    assert tally["conflict with the coverage"] >= 50, tally


@pytest.mark.long
def test_many_small_worlds_are_explained_exactly() -> None:
    """The same for hundreds, with at least two hundred of each sort of answer."""
    tally = run(12, WORLDS)
    print(dict(tally))
    for sort in ("looser", "tighter", "conflict", "way out", "next"):
        assert tally[sort] >= 200, (sort, tally)
