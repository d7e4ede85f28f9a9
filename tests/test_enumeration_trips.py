"""Choosing with trips against plain enumeration: the same best kit that survives them, or none, exactly."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache, partial

import pytest
from enumeration import Found, Rank, SlowTrips, allowed_short, first_survivor, ranked
from small_worlds import small_problem, small_world, station
from test_enumeration import assert_same

from optimizer.brief.brief import Brief
from optimizer.choosing.choose import Outcome, choose
from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.order import cost_of, order_of
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import SolarPanel
from optimizer.problem.dominance import without_dominated
from optimizer.problem.records import Kit, Problem
from optimizer.trips.scene import Scene, build_scene

PLACES = ("723170", "703165")
COVERAGES = (100.0, 90.0, 70.0)
SEEDS = 100
CHUNK = 10
MOST = 4000
GUARD = Settings(seconds=60)
CASES = [
    pytest.param(place, first, marks=[pytest.mark.long] if first else [])
    for place in PLACES for first in range(0, SEEDS, CHUNK)
]  # fmt: skip


@dataclass(frozen=True)
class World:
    """A small problem with its trips, and every kit that keeps its rules."""

    brief: Brief
    catalog: Catalog
    problem: Problem
    scene: Scene
    trips: SlowTrips
    kits: list[tuple[Rank, Kit]]

    def best(self, coverage: float) -> Found:
        """What looking at every kit finds."""
        return first_survivor(self.problem, self.kits, self.trips.survives(coverage))

    def choose(
        self, coverage: float, store: LevelStore | None = None, lean: bool = False, how: Settings = GUARD
    ) -> Outcome:
        """What choosing finds; ``lean`` leaves dominated options out first, as the command does."""
        problem = without_dominated(self.problem, order_of(self.problem)).problem if lean else self.problem
        allowed, cost = allowed_short(self.scene, coverage), partial(cost_of, problem.goal)
        lifter = Lifter(Effects(problem, self.scene), allowed, cost, store)
        return choose(problem, [lifter], how, lifter.known())


def made(brief: Brief, catalog: Catalog, scene: Scene | None = None) -> World:
    """The world of a brief and a catalog; a scene may be shared by all that differ in no load or hour."""
    problem = small_problem(brief, catalog)
    panels = [p for p in catalog.parts["solar_panel"] if isinstance(p, SolarPanel)]
    classes = {(p.power_coefficient_pct_k, p.noct_c) for p in panels}
    years = [station(name.removeprefix("station:")) for name in brief.place.weather]
    scene = scene or build_scene(brief, years, classes)
    return World(brief, catalog, problem, scene, SlowTrips(problem, scene), ranked(problem))


@cache
def world(seed: int, place: str) -> World:
    """The world of a seed at a station; the coverage changes nothing of it."""
    return made(*small_world(seed, place, coverage=90.0, most=MOST))


def assert_found(some: World, coverage: float, store: LevelStore | None = None, lean: bool = False) -> Outcome:
    """Choosing and enumeration say the same."""
    found = some.best(coverage)
    assert found.in_any_order == (None if found.rank is None else found.rank[:2])
    outcome = some.choose(coverage, store, lean)
    assert_same(some.problem, outcome, found)
    if outcome.kit is not None:
        assert some.trips.short(outcome.kit) <= allowed_short(some.scene, coverage)
    return outcome


@pytest.mark.parametrize(("place", "first"), CASES)
def test_choosing_with_trips_finds_what_enumeration_finds(place: str, first: int) -> None:
    """At three coverages of each world, afresh; in half of them with one store of levels for all three too."""
    for seed in range(first, first + CHUNK):
        some, store = world(seed, place), LevelStore()
        for coverage in COVERAGES:
            outcome = assert_found(some, coverage)
            if seed % 2 == 0:
                again = assert_found(some, coverage, store)
                assert (again.kit, again.value) == (outcome.kit, outcome.value)


@pytest.mark.long
@pytest.mark.parametrize("place", PLACES)
def test_levels_hold_without_the_dominated_options_too(place: str) -> None:
    """Choosing as the command does it: dominated options left out, levels kept, from loose to tight coverage."""
    for seed in range(1, SEEDS, 2):
        some, store = world(seed, place), LevelStore()
        for number, coverage in enumerate(reversed(COVERAGES)):
            assert_found(some, coverage, store, lean=number != 1)


@pytest.mark.long
@pytest.mark.parametrize("narrow_first", [True, False])
def test_levels_hold_for_other_catalogs_and_limits(narrow_first: bool) -> None:
    """What was learnt with fewer parts, panels, arrays and voltages never cuts off a kit of more, or the reverse."""
    learnt = 0
    for seed in range(0, SEEDS, 2):
        whole = world(seed, PLACES[0])
        narrow = made(*narrower(whole.brief, whole.catalog), whole.scene)
        store = LevelStore()
        for some in (narrow, whole) if narrow_first else (whole, narrow):
            assert_found(some, 90.0, store)
        learnt += len(store) > 0
    assert learnt > SEEDS / 8


def narrower(brief: Brief, catalog: Catalog) -> tuple[Brief, Catalog]:
    """A brief and a catalog that offer less: one array, one panel, one string of the cheaper half of the parts."""
    limits = brief.limits.model_copy(update={"arrays": 1, "panels": 1, "parallel_batteries": 1})
    wishes = brief.preferences.model_copy(update={"required": (), "owned": (), "refused": ()})
    kinds = ("battery", "charge_controller", "alternator_charger", "fuel_tank", "solar_panel")
    gone = [part.id for kind in kinds for part in catalog.parts[kind][1::2]]
    return brief.model_copy(update={"limits": limits, "preferences": wishes}), catalog.without(*gone)


@pytest.mark.long
def test_the_trips_are_worth_asking() -> None:
    """Trips rule kits out that are better than the best, for each goal; and coverage changes answers."""
    ruled_out: Counter[str] = Counter()
    none = changed = 0
    for place in PLACES:
        for seed in range(SEEDS):
            some = world(seed, place)
            found = [some.best(coverage) for coverage in COVERAGES]
            none += found[0].best is None
            changed += len({one.rank for one in found}) > 1
            if found[0].best is not None and found[0].alone["trips"]:
                ruled_out[some.problem.goal.slug.split(":")[0]] += 1
    print(ruled_out, none, changed)
    assert set(ruled_out) == {"cheapest", "lightest", "longest", "most"}
    assert ruled_out.total() > 40
    assert changed > 10
    assert 0.2 < none / (2 * SEEDS) < 0.7


@pytest.mark.long
@pytest.mark.parametrize("place", PLACES)
def test_larger_worlds(place: str) -> None:
    """Worlds of some ten thousand kits, where levels have more to say, at 95 %."""
    walls = 0
    for seed in range(SEEDS, SEEDS + 14):
        some = made(*small_world(seed, place, coverage=95.0, most=20_000))
        walls += assert_found(some, 95.0).walls
    assert walls > 5
