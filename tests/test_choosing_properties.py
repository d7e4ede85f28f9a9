"""What must hold of choosing whatever the world: loosening never hurts, order never matters, twice is once."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import pytest
from enumeration import allowed_short, random_kit, signed, turned
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_worlds import small_problem, small_world
from test_enumeration_trips import World, made, world

from optimizer.brief.brief import Brief
from optimizer.check import check
from optimizer.choosing import solve
from optimizer.choosing.choose import Outcome, choose
from optimizer.choosing.plenty import plenty_aim
from optimizer.choosing.solve import Deadline, Settings, minimise
from optimizer.choosing.variables import ModelVariables
from optimizer.parts.catalog import Catalog
from optimizer.problem.records import Problem

GUARD = Settings(seconds=60)
SEEDS = st.integers(0, 199)
FEW = settings(deadline=None, max_examples=25, derandomize=True)
TRIPS = st.tuples(st.integers(0, 29), st.sampled_from(("723170", "703165")))
SUPPLIES = ("budget_cents", "payload_g", "roof_cm2", "roof_load_g", "height_mm", "alternator_ma", "own_diesel_ml")


@cache
def small(seed: int) -> tuple[Brief, Catalog, Problem, Outcome]:
    """A small world and its best kit."""
    brief, catalog = small_world(seed)
    problem = small_problem(brief, catalog)
    return brief, catalog, problem, chosen(problem)


def chosen(problem: Problem, how: Settings = GUARD) -> Outcome:
    outcome = choose(problem, settings=how)
    assert outcome.status in ("proven", "impossible")
    return outcome


def no_worse(problem: Problem, one: Outcome, other: Outcome) -> bool:
    """Whether one answer is at least as good as another by the goal."""
    if other.kit is None:
        return True
    return one.kit is not None and signed(problem, one.kit, problem.goal) <= signed(problem, other.kit, problem.goal)


@FEW
@given(seed=SEEDS)
def test_every_kit_passes_the_check_and_its_value_is_its_own(seed: int) -> None:
    """The kit keeps every rule by the plain check, and the value told is the kit's."""
    _, _, problem, outcome = small(seed)
    assume(outcome.kit is not None)
    assert outcome.kit is not None
    assert outcome.value is not None
    assert check(problem, outcome.kit).ok
    sign = -1 if problem.goal.maximise else 1
    assert signed(problem, outcome.kit, problem.goal) == sign * outcome.value


@FEW
@given(seed=SEEDS, need=st.sampled_from(SUPPLIES), more=st.integers(1, 200_000))
def test_more_of_what_is_allowed_never_costs(seed: int, need: str, more: int) -> None:
    """A larger budget, payload, roof, height, spare current or tank never makes the best kit worse."""
    _, _, problem, outcome = small(seed)
    roomy = replace(problem, needs={**problem.needs, need: problem.need(need) + more})
    assert no_worse(problem, chosen(roomy), outcome)


@FEW
@given(seed=SEEDS, less=st.floats(0.3, 1.0))
def test_a_smaller_budget_or_payload_never_helps(seed: int, less: float) -> None:
    """The other way: drawn tighter, the answer is no better, and where its own kit still fits it is the same."""
    _, _, problem, outcome = small(seed)
    for need in ("budget_cents", "payload_g"):
        tight = replace(problem, needs={**problem.needs, need: int(problem.need(need) * less)})
        again = chosen(tight)
        assert no_worse(problem, outcome, again)
        if outcome.kit is not None and check(tight, outcome.kit).ok:
            assert again.kit == outcome.kit


@FEW
@given(seed=SEEDS, more=st.integers(1, 3))
def test_more_nights_are_never_cheaper(seed: int, more: int) -> None:
    """A longer trip asks at least as much of everything."""
    brief, catalog, problem, outcome = small(seed)
    assume(problem.goal.slug in ("cheapest", "lightest"))
    trip = brief.trip.model_copy(update={"nights": brief.trip.nights + more})
    longer = small_problem(brief.model_copy(update={"trip": trip}), catalog)
    again = chosen(longer)
    if again.kit is not None:
        assert outcome.kit is not None
        assert signed(problem, outcome.kit, problem.goal) <= signed(longer, again.kit, problem.goal)


@FEW
@given(seed=SEEDS, order=st.integers(0, 10**6))
def test_the_order_of_catalog_rows_never_matters(seed: int, order: int) -> None:
    """A catalog of the same parts in any order brings the same kit."""
    brief, catalog, _, outcome = small(seed)
    parts, own = list(catalog.all_parts), {kind: list(some) for kind, some in catalog.own.items()}
    for some in (parts, *own.values()):
        random.Random(order).shuffle(some)
    assert chosen(small_problem(brief, Catalog.of(parts, own, catalog.columns))) == outcome


@FEW
@given(seed=SEEDS)
def test_the_same_run_twice_gives_the_same_kit(seed: int) -> None:
    """Nothing of a run hangs on the one before."""
    _, _, problem, outcome = small(seed)
    assert chosen(problem) == outcome


@FEW
@given(seed=SEEDS, number=st.integers(0, 1000))
def test_other_search_parameters_give_the_same_kit(seed: int, number: int) -> None:
    """The second opinion, and any random seed of the solver, come to the same kit."""
    _, _, problem, outcome = small(seed)
    for how in (Settings(60, second_opinion=True), Settings(60, seed=number), Settings(60, sums_only=True)):
        again = chosen(problem, how)
        assert (again.status, again.kit, again.value) == (outcome.status, outcome.kit, outcome.value)


@FEW
@given(seed=SEEDS)
def test_where_the_search_begins_changes_nothing(seed: int) -> None:
    """From the best kit, from its twin, from any kit that keeps every rule and from one that does not."""
    _, _, problem, outcome = small(seed)
    assume(outcome.kit is not None)
    assert outcome.kit is not None
    rng = random.Random(seed)
    tried = [kit for kit in (random_kit(problem, rng) for _ in range(300)) if kit is not None]
    allowed = [kit for kit in tried if check(problem, kit).ok][:3]
    foreign = replace(outcome.kit, choices={**outcome.kit.choices, "no such group": "no such part"})
    gone = [replace(outcome.kit, choices={**outcome.kit.choices, name: "no such part"}) for name in outcome.kit.choices]
    for start in (outcome.kit, turned(problem, outcome.kit), *allowed, *tried[:1], foreign, *gone[:2]):
        again = choose(problem, settings=GUARD, start=start)
        assert (again.status, again.kit, again.value) == (outcome.status, outcome.kit, outcome.value)


@FEW
@given(seed=SEEDS)
def test_begun_with_a_kit_as_good_the_last_tie_break_still_decides(seed: int) -> None:
    """Two options alike in all but the name: whichever of the two kits it begins with, the same one is given."""
    _, _, problem, outcome = small(seed)
    assume(outcome.kit is not None)
    assert outcome.kit is not None
    name, key = min(outcome.kit.choices.items())
    groups = tuple(
        replace(g, options=(*g.options, replace(g.option(key), key=f"{key} again"))) if g.name == name else g
        for g in problem.groups
    )
    wider = replace(problem, groups=groups)
    best = chosen(wider)
    for of_two in (key, f"{key} again"):
        start = replace(outcome.kit, choices={**outcome.kit.choices, name: of_two})
        again = choose(wider, settings=GUARD, start=start)
        assert (again.status, again.kit, again.ties_broken) == ("proven", best.kit, True)


@FEW
@given(seed=SEEDS)
def test_wishes_that_the_kit_meets_already_change_nothing(seed: int) -> None:
    """Refusing a part that is not in the kit, or requiring one that is, leaves the kit as it is."""
    _, catalog, problem, outcome = small(seed)
    assume(outcome.kit is not None)
    assert outcome.kit is not None
    there = outcome.kit.counts(problem)
    refused = tuple(sorted({*problem.refused, *(part for part in catalog.ids if part not in there)}))
    required = tuple(sorted({*problem.required, *(part for part in there if part in catalog)}))
    again = chosen(replace(problem, refused=refused, required=required))
    assert (again.kit, again.value) == (outcome.kit, outcome.value)


@FEW
@given(which=TRIPS, looser=st.sampled_from((70.0, 80.0, 90.0)), tighter=st.sampled_from((95.0, 98.0, 100.0)))
def test_more_coverage_is_never_better(which: tuple[int, str], looser: float, tighter: float) -> None:
    """Asking that more departures are covered never improves the best kit; each keeps to its coverage."""
    some = world(*which)
    loose, tight = some.choose(looser), some.choose(tighter)
    assert no_worse(some.problem, loose, tight)
    for outcome, coverage in ((loose, looser), (tight, tighter)):
        if outcome.kit is not None:
            assert check(some.problem, outcome.kit).ok
            assert some.trips.short(outcome.kit) <= allowed_short(some.scene, coverage)


@FEW
@given(which=TRIPS, more=st.integers(1, 2))
def test_more_nights_with_trips_are_never_cheaper(which: tuple[int, str], more: int) -> None:
    """A longer trip runs short wherever its beginning does."""
    some = world(*which)
    assume(some.problem.goal.slug in ("cheapest", "lightest"))
    longer = _longer(some, more)
    outcome, again = some.choose(90.0), longer.choose(90.0)
    if again.kit is not None:
        assert outcome.kit is not None
        goal = some.problem.goal
        assert signed(some.problem, outcome.kit, goal) <= signed(longer.problem, again.kit, goal)


def _longer(some: World, more: int) -> World:
    trip = some.brief.trip.model_copy(update={"nights": some.brief.trip.nights + more})
    return made(some.brief.model_copy(update={"trip": trip}), some.catalog)


@FEW
@given(which=TRIPS)
def test_other_search_parameters_give_the_same_kit_with_trips(which: tuple[int, str]) -> None:
    """Other solver parameters walk other ways through the walls, to the same kit."""
    some = world(*which)
    first = some.choose(90.0)
    for how in (Settings(60, second_opinion=True), Settings(60, seed=7)):
        again = some.choose(90.0, how=how)
        assert (again.status, again.kit, again.value) == (first.status, first.kit, first.value)


def test_what_one_adds_to_the_price_is_not_in_the_next_ones() -> None:
    """The solver's sums grow in place: whoever adds fines to the price must not raise it for all who come after."""
    tried = 0
    for seed in range(40):
        problem = small_problem(*small_world(seed))
        if not problem.owned:
            continue
        tried += 1
        variables = ModelVariables(problem)
        alone = minimise(variables, variables.price(), Settings(), Deadline(None)).value
        grown = variables.price()
        grown += 1_000_000
        plenty_aim(problem).expression(variables)
        assert minimise(variables, variables.price(), Settings(), Deadline(None)).value == alone
    assert tried >= 5


def test_models_of_any_size_are_solved_to_the_same_kit_with_cuts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Large models have cuts; small ones must come to the same with them."""
    problems = [small_problem(*small_world(seed)) for seed in range(20)]
    plain = [choose(problem) for problem in problems]
    monkeypatch.setattr(solve, "LARGE", 0)
    for problem, before in zip(problems, plain, strict=True):
        after = choose(problem)
        assert (after.status, after.value, after.kit) == (before.status, before.value, before.kit)
