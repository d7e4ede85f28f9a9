"""Levels grown for another question: true of every kit, and telling of what was out of play before."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from enumeration import allowed_short
from test_effects import drawn, failing, lifter_of, rows_of
from test_enumeration_trips import PLACES, World, world

from optimizer.choosing.growing import Grower, Options, out_of_play
from optimizer.choosing.lifting import Lifter, wall
from optimizer.choosing.store import LevelStore
from optimizer.choosing.walls import Outlook, Wall, telling
from optimizer.problem.records import Problem
from optimizer.trips.run import short_departures


def refusing(problem: Problem, seed: int) -> Problem:
    """The problem with one part refused of each of two groups that have others."""
    rng = random.Random(seed)
    wide = [group for group in problem.groups if len(group.options) > 1 and not group.hidden]
    refused = (rng.choice(group.options).parts[0][0] for group in rng.sample(wide, min(2, len(wide))))
    return replace(problem, refused=tuple(refused))


def taught(some: World, seed: int, coverage: float, out: Options) -> LevelStore:
    """What failing kits teach while some options are out of play."""
    lifter = lifter_of(some, coverage)
    store = LevelStore()
    kits = [kit for kit in failing(some, lifter, seed, 60) if not out.intersection(kit.choices.items())]
    for kit in kits[:4]:
        store.add([lifter.lift(kit, Outlook(out))])
    return store


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("before", "then"), [(90.0, 90.0), (100.0, 80.0), (80.0, 100.0)])
def test_grown_levels_are_true_and_say_more(place: str, before: float, then: float) -> None:
    """Their kits fall short as often as they say, no kit that survives stands before their walls, and fewer get past.

    Learnt with some parts refused and grown for all parts, at the same, a lower and a higher coverage.
    """
    levels = shut = 0
    for seed in range(12):
        some = world(seed, place)
        less = refusing(some.problem, seed)
        store = taught(some, seed, before, out_of_play(less))
        lifter = lifter_of(some, then)
        plain = sum(open_ways(found) for found in walls_of(store, lifter))
        grower = Grower(less, store)
        grower.ready(lifter, some.problem)
        kits = list(drawn(some, seed + 1, 60)) + [kit for _, kit in some.kits[::7]]
        for level in store.fitting(lifter.allowed):
            levels += 1
            for row in rows_of(lifter.effects, level):
                assert short_departures(some.scene, row, level.nights) >= level.short
        found = walls_of(store, lifter)
        for one in found:
            for kit in kits:
                assert one.passed_by(kit) or some.trips.short(kit) > lifter.allowed
        if before == then:
            assert sum(map(open_ways, found)) <= plain
            shut += plain - sum(map(open_ways, found))
        known = list(store)
        grower.learnt(some.problem)
        grower.ready(lifter, some.problem)
        assert list(store) == known
    assert levels > 10
    assert shut > 0 or before != then


def walls_of(store: LevelStore, lifter: Lifter) -> list[Wall]:
    found = (wall(level, lifter.effects) for level in store.fitting(lifter.allowed))
    return [one for one in found if one is not None]


def open_ways(one: Wall) -> int:
    return sum(len(keys) for _, keys in one.ways)


def test_more_short_departures_are_learnt_from_fewer() -> None:
    """What was learnt where none may fall short teaches walls for a few that may, though none of it fits as it is."""
    fitting = 0
    for seed in range(12):
        some = world(seed, PLACES[0])
        store = taught(some, seed, 100.0, frozenset())
        lifter = lifter_of(some, 80.0)
        assert allowed_short(some.scene, 80.0) > 0
        assert not store.fitting(lifter.allowed)
        Grower(some.problem, store).ready(lifter, some.problem)
        fitting += len(store.fitting(lifter.allowed))
    assert fitting > 10


def test_only_walls_that_say_something_are_told() -> None:
    """Of walls of which one has all the ways out of another, only the other is told; nights count as ways out too."""
    narrow = Wall((("battery", ("a",)),))
    wide = Wall((("battery", ("a", "b")), ("heater", ("h",))))
    gone = Wall((("battery", ("a", "z")),))
    nights = Wall((("battery", ("a",)),), fewer_nights=3)
    apart = Wall((("battery", ("b",)),))
    told = telling([wide, narrow, gone, nights, apart], lambda _, keys: tuple(key for key in keys if key != "z"))
    assert len(told) == 2
    assert set(told) <= {narrow, gone, apart}
    assert telling([nights, wide], lambda _, keys: keys) == [nights, wide]
