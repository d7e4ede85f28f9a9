"""Effects and levels: a kit's row is the trips' own, and everything behind a wall really fails."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial
from itertools import product

import numpy as np
import pytest
from enumeration import allowed_short, random_kit, turned
from test_enumeration_trips import PLACES, World, made, narrower, world

from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter, wall
from optimizer.choosing.order import cost_of
from optimizer.choosing.store import Level, LevelStore
from optimizer.kit_numbers import kit_numbers
from optimizer.problem.records import Kit
from optimizer.trips.run import short_departures

BY_RULES = {"water_l", "grey_l", "toilet_visits"}
"""Entries that do not hang on the hour: effects leave them to rules, and stand for plenty."""


def drawn(some: World, seed: int, count: int) -> Iterator[Kit]:
    """Kits by chance, whether or not they keep their rules; a second array only beside a first."""
    rng = random.Random(seed)
    for _ in range(count):
        kit = random_kit(some.problem, rng)
        if kit is not None and ("panels_2" not in kit.choices or "panels_1" in kit.choices):
            yield kit


def lifter_of(some: World, coverage: float, store: LevelStore | None = None) -> Lifter:
    allowed, cost = allowed_short(some.scene, coverage), partial(cost_of, some.problem.goal)
    return Lifter(Effects(some.problem, some.scene), allowed, cost, store)


@pytest.mark.parametrize("place", PLACES)
def test_effects_fold_into_the_row_of_the_trips(place: str) -> None:
    """A kit's row by effects is its row by its numbers, entry by entry."""
    compared = twice = 0
    for seed in range(20):
        some = world(seed, place)
        effects = Effects(some.problem, some.scene)
        names = [dim.name for dim in effects.layout.dims]
        kept = np.array([name not in BY_RULES for name in names])
        for kit in drawn(some, seed, 40):
            row = effects.layout.vector(kit_numbers(some.problem, kit))
            np.testing.assert_allclose(effects.kit_row(kit)[kept], row[kept], rtol=1e-12, atol=1e-12)
            compared += 1
            twice += "panels_2" in kit.choices
    assert compared > 300
    assert twice > 5


@pytest.mark.parametrize("place", PLACES)
def test_twins_turned_round_fall_short_alike(place: str) -> None:
    """Two arrays, or two cold boxes, in the other order leave exactly the same departures short."""
    turned_round = 0
    for seed in range(40):
        some = world(seed, place)
        if any(group.twin for group in some.problem.groups):
            for kit in drawn(some, seed, 30):
                other = turned(some.problem, kit)
                turned_round += other != kit
                assert some.trips.short(other) == some.trips.short(kit)
    assert turned_round > 5


def failing(some: World, lifter: Lifter, seed: int, most: int) -> Iterator[Kit]:
    found = [kit for kit in drawn(some, seed, 60) if not lifter.passes(kit)]
    yield from found[:most]


@pytest.mark.parametrize("coverage", [100.0, 80.0])
@pytest.mark.parametrize("place", PLACES)
def test_every_level_fails_at_its_own_numbers(place: str, coverage: float) -> None:
    """Each kit of a level's points leaves at least as many departures short as the level says."""
    levels = 0
    for seed in range(16):
        some = world(seed, place)
        lifter = lifter_of(some, coverage)
        for kit in failing(some, lifter, seed, 3):
            level = lifter.lift(kit)
            assert level.short == lifter.allowed + 1
            levels += 1
            for row in rows_of(lifter.effects, level):
                assert short_departures(some.scene, row, level.nights) >= level.short
    assert levels > 30


def rows_of(effects: Effects, level: Level) -> Iterator[np.ndarray]:
    names = [name for name, _ in level.groups]
    assert names == [group.group.name for group in effects.groups]
    for points in product(*(points for _, points in level.groups)):
        yield effects.row([np.array(values) for _, values in points], [cls for cls, _ in points])


@pytest.mark.parametrize("coverage", [100.0, 80.0])
@pytest.mark.parametrize("place", PLACES)
def test_every_kit_before_a_wall_fails(place: str, coverage: float) -> None:
    """Whatever the kit, when it takes none of a wall's ways out it falls short too often; so does the wall's own."""
    before = past = 0
    for seed in range(16):
        some = world(seed, place)
        lifter = lifter_of(some, coverage)
        others = list(drawn(some, seed + 1, 60)) + [kit for _, kit in some.kits[::7]]
        for kit in failing(some, lifter, seed, 3):
            walls = lifter.walls(kit)
            assert any(not found.passed_by(kit) for found in walls)
            for found in walls:
                for other in others:
                    if found.passed_by(other):
                        past += 1
                    else:
                        before += 1
                        assert some.trips.short(other) > lifter.allowed
    assert before > 300
    assert past > 100


@pytest.mark.parametrize("widen", [True, False])
def test_walls_hold_in_a_problem_that_offers_more_or_less(widen: bool) -> None:
    """Levels found with some parts, panels and strings, told as walls among others, cut off no kit that survives."""
    before = none = 0
    for seed in range(24):
        whole = world(seed, PLACES[0])
        narrow = made(*narrower(whole.brief, whole.catalog), whole.scene)
        taught, told = (narrow, whole) if widen else (whole, narrow)
        lifter = lifter_of(taught, 90.0)
        effects = Effects(told.problem, told.scene)
        kits = failing(taught, lifter, seed, 4)
        found = [wall(lifter.lift(kit), effects) for kit in kits]
        others = list(drawn(told, seed + 1, 60)) + [kit for _, kit in told.kits[::5]]
        none += found.count(None)
        for one in found:
            for other in others:
                if one is not None and not one.passed_by(other):
                    before += 1
                    assert told.trips.short(other) > lifter.allowed
    assert before > 100
    assert widen or none > 0
