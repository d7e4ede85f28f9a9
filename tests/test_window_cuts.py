"""Two ways that share no search find the same cheapest kit at a coverage of 100 %: walls and window cuts."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pytest
from enumeration import part_id_number, random_kit, signed
from sampled_worlds import STATIONS, sampled_job
from small_worlds import small_problem, small_world, station
from window_cuts import Spell, cuts, search

from optimizer.check import check
from optimizer.choosing.choose import choose
from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.order import cost_of
from optimizer.kit_numbers import PLENTY, kit_numbers
from optimizer.problem.records import Kit, Problem
from optimizer.trips.flows import flows
from optimizer.trips.run import Layout, short_departures
from optimizer.trips.scene import Scene, build_scene

FEW_SAMPLED, MANY_SAMPLED = 4, 46


@dataclass(frozen=True, eq=False)
class World:
    """A problem with its trips."""

    problem: Problem
    scene: Scene

    def survives(self, kit: Kit, stores: bool = True) -> bool:
        """The compiled trips' word, by the kit's own numbers; without ``stores`` water, waste and toilet never fail."""
        numbers = kit_numbers(self.problem, kit)
        if not stores:
            numbers = replace(numbers, water_l=PLENTY, grey_l=PLENTY, toilet_visits=PLENTY)
        return short_departures(self.scene, Layout(self.scene).vector(numbers), kit.nights, 0) == 0


def sampled_world(number: int) -> World:
    """One of the sampled jobs."""
    job = sampled_job(number)
    return World(job.problem, job.scene)


def small(number: int, place: str) -> World:
    """A small world with trips."""
    brief, catalog = small_world(number, place, 100.0)
    return World(small_problem(brief, catalog), build_scene(brief, [station(place)]))


def by_walls(world: World) -> tuple[int, int, int] | None:
    """Goal, tie-break and part-id number that choosing with walls comes to; None for no kit."""
    problem = world.problem
    lifter = Lifter(Effects(problem, world.scene), 0, partial(cost_of, problem.goal))
    outcome = choose(problem, [lifter])
    if outcome.kit is None:
        assert outcome.status == "impossible"
        return None
    assert (outcome.status, outcome.ties_broken) == ("proven", True)
    goal, tie = (signed(problem, outcome.kit, goal) for goal in (problem.goal, problem.tie_break))
    return goal, tie, part_id_number(outcome.kit)


def compared(world: World) -> tuple[bool, int]:
    """Both ways looked at one world: whether there is a kit, and how many cuts it took."""
    found = search(world.problem, world.scene)
    assert found.rank == by_walls(world)
    if found.kit is not None:
        assert check(world.problem, found.kit).ok
        assert world.survives(found.kit)
    return found.rank is not None, len(found.cuts)


def test_a_few_worlds_have_the_same_best_kit_both_ways() -> None:
    """Window cuts and walls come to the same goal, tie-break and part-id number."""
    seen = [compared(sampled_world(number)) for number in range(FEW_SAMPLED)]
    assert any(kit and many for kit, many in seen), "no world in which cuts mattered"


@pytest.mark.long
def test_many_sampled_worlds_have_the_same_best_kit_both_ways() -> None:
    """The same on more of them; the worlds bite: most have a kit, and most need cuts to find it."""
    seen = [compared(sampled_world(number)) for number in range(FEW_SAMPLED, MANY_SAMPLED)]
    assert sum(kit for kit, _ in seen) >= len(seen) // 2
    assert sum(kit and many > 0 for kit, many in seen) >= len(seen) // 3


@pytest.mark.long
@pytest.mark.parametrize("place", STATIONS)
@pytest.mark.parametrize("number", range(20))
def test_small_worlds_have_the_same_best_kit_both_ways(number: int, place: str) -> None:
    """The worlds that enumeration looks at too, of two stations."""
    compared(small(number, place))


def failing(world: World, rng: random.Random, tries: int = 60) -> Iterator[Kit]:
    """Kits drawn by chance that fall short somewhere."""
    for _ in range(tries):
        kit = random_kit(world.problem, rng)
        if kit is not None and not world.survives(kit, stores=False):
            yield kit


@pytest.mark.parametrize("number", [0, 3, *(pytest.param(n, marks=pytest.mark.long) for n in (1, 2, 4, 5))])
def test_a_cut_leaves_out_its_kit_and_none_that_survives(number: int) -> None:
    """Cuts of kits drawn by chance: broken by their own kit, kept by every kit that survives its trips."""
    world, rng = sampled_world(number), random.Random(number)
    drawn = [kit for kit in (random_kit(world.problem, rng) for _ in range(400)) if kit is not None]
    alive = [kit for kit in drawn if world.survives(kit, stores=False)][:150]
    best = search(world.problem, world.scene).kit
    alive += [best] if best is not None else []
    for kit in list(failing(world, rng))[:15]:
        found = cuts(world.problem, world.scene, kit)
        assert found
        for cut in found:
            assert not cut.holds(kit)
            assert all(cut.holds(other) for other in alive)


def test_a_cut_is_as_deep_as_the_shortfall() -> None:
    """At its own kit a spell's cut misses by exactly the energy the trip runs short by."""
    seen = 0
    for number in range(3):
        world, rng = sampled_world(number), random.Random(number)
        for kit in failing(world, rng):
            every = np.arange(world.scene.departures.size)
            run = flows(world.scene, kit_numbers(world.problem, kit), kit.nights, every)
            room = run.capacity_wh - run.depth_wh
            departure, end = (int(place) for place in np.unravel_index(int(room.argmin()), room.shape))
            if room[departure, end] >= 0:
                continue
            full = np.flatnonzero(run.depth_wh[departure, :end] == 0)
            cut = Spell(world.problem, world.scene, kit, departure, int(full[-1]) + 1 if full.size else 0, end).cut()
            worth = sum(options.get(kit.choices.get(group, ""), 0) for group, options in cut.worth.items())
            assert (worth + cut.constant) / 1000 == pytest.approx(room[departure, end], abs=0.1)
            seen += 1
    assert seen >= 20
