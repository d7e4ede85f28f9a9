"""By how much what containers hold can fall short: every number that is possible, and no other."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
from enumeration import random_kit
from sampled_worlds import sampled_job
from test_enumeration_trips import PLACES, world

from optimizer.choosing.aims import Giving, excess, slack_aim
from optimizer.choosing.solve import Deadline, Settings, minimise
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Wall
from optimizer.explain.bench import Bench
from optimizer.explain.break_evens import least_give
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.members import Member
from optimizer.explain.ways_out import WayOut, ways_out
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG
from optimizer.rules.money import price_cents
from optimizer.rules.provisions import shortfalls

SLUGS = ("water", "grey_water", "toilet", "chilled", "frozen")
HELD = {"water": "hold_water_ml", "chilled": "chilled_ml"}


def thirsty(problem: Problem) -> Problem:
    """For a single number of nights, with far more asked for than small kits hold."""
    asked = {name: 6 * amount if name.endswith("_ml_night") else amount for name, amount in problem.needs.items()}
    return replace(problem, nights=problem.nights[-1:], needs=asked)


def test_what_kits_lack_is_among_the_shortfalls() -> None:
    """Any kit's excess over such a limit, and the numbers are few."""
    seen: dict[str, set[int]] = {slug: set() for slug in SLUGS}
    for number in range(6):
        problem, rng = thirsty(sampled_job(number, coverage=80).problem), random.Random(number)
        for slug in set(SLUGS) & set(problem.rules):
            possible = shortfalls(problem, slug)
            assert possible is not None
            assert list(possible) == sorted(set(possible))
            for _ in range(60):
                kit = random_kit(problem, rng)
                assert kit is not None
                lacks = max(0, excess(problem, kit, slug))
                assert lacks in possible
                seen[slug].add(lacks)
    assert all(len(seen[slug]) > 2 for slug in ("water", "toilet")), seen


@pytest.mark.parametrize(("needed", "slug"), [(True, "water"), (False, "water"), (False, "chilled")])
def test_shortfalls_are_all_sums_there_are(needed: bool, slug: str) -> None:
    """Written out: two groups of containers, one of which may be left out."""
    problem = few(needed, slug)
    held = [[2000, 5000], [3000, 7000] if needed else [0, 3000, 7000]]
    sums = {max(0, 10_000 - sum(pair)) for pair in product(*held)}
    assert shortfalls(problem, slug) == tuple(sorted(sums))


def few(needed: bool, slug: str) -> Problem:
    some = world(0, PLACES[0]).problem
    groups = tuple(
        Group(name=name, kind="x", options=tuple(option(f"{name}-{ml}", slug, ml) for ml in sizes), needed=must)
        for name, sizes, must in (("a", (2000, 5000), True), ("b", (3000, 7000), needed))
    )
    needs = {"water_ml_night": 2500, "chilled_ml": 10_000}
    return replace(some, groups=groups, nights=(4,), needs=needs, rules=(slug,), gives={}, owned=())


def option(key: str, slug: str, ml: int) -> Option:
    base = world(0, PLACES[0]).problem.groups[0].options[0]
    priced = replace(base, price_cents=20_000 - ml, mass_g=ml)  # what holds less is dearer
    return replace(priced, key=key, parts=((key, 1),), voltage=0, amounts={HELD[slug]: ml})


def test_what_a_toilet_flushes_is_lacking_as_well() -> None:
    """Each night takes its share of the water, on top of what the brief asks for."""
    problem = few(True, "water")
    flushing = replace(option("flush", "water", 0), amounts={"flush_ml_night": 300})
    toilet = Group(name="toilet", kind="x", options=(flushing,), needed=False)
    sums = {10_000 - sum(both) + flushed for both in product([2000, 5000], [3000, 7000]) for flushed in (0, 4 * 300)}
    found = shortfalls(replace(problem, groups=(*problem.groups, toilet)), "water")
    assert found == tuple(sorted({max(0, lack) for lack in sums}))


@pytest.mark.parametrize(("nights", "held"), [(2, 2000 + 500), (3, 2000)])
def test_what_ice_keeps_counts_while_the_ice_lasts(nights: int, held: int) -> None:
    """Two nights; later the room with ice is none."""
    problem = few(True, "chilled")
    box = replace(option("box", "chilled", 0), amounts={"chilled_ml": 2000, "ice_chilled_ml": 500})
    boxes = Group(name="boxes", kind="x", options=(box,), needed=True)
    assert shortfalls(replace(problem, groups=(boxes,), nights=(nights,)), "chilled") == (10_000 - held,)


def test_more_than_one_number_of_nights_tells_nothing() -> None:
    """Nor does a limit that no container fills."""
    problem = few(False, "water")
    assert shortfalls(replace(problem, nights=(3, 4)), "water") is None
    assert shortfalls(problem, "payload") is None


@pytest.mark.parametrize("slug", ["water", "chilled"])
def test_giving_exactly_a_step_finds_the_kits_that_lack_just_that(slug: str) -> None:
    """For each step the kit of least price that lacks just so much, as looking at all pairs finds it."""
    problem = few(False, slug)
    pairs = product(keys(problem, 0), [*keys(problem, 1), ""])
    volts = problem.voltages[0]
    every = [Kit({"a": a, **({"b": b} if b else {})}, volts, 4) for a, b in pairs]
    steps = [step for step in shortfalls(problem, slug) or () if step]
    assert len(steps) > 1
    for step in steps:
        variables = ModelVariables(replace(problem, gives={slug: step}), slack={slug: step})
        BY_SLUG[slug].add(variables)
        demand = Giving(problem, {slug: step}, slug, {slug: 1}, step)
        demand.add(variables)
        answer = minimise(variables, variables.price(), Settings(), Deadline(None))
        lacking = [kit for kit in every if excess(problem, kit, slug) == step]
        assert answer.kit is not None
        assert demand.holds(answer.kit)
        assert answer.value == min(price_cents(problem, kit) for kit in lacking)
        assert not any(demand.holds(kit) for kit in every if kit not in lacking)


@pytest.mark.parametrize("slug", ["water", "chilled"])
def test_giving_more_than_a_step_leaves_out_the_kits_that_lack_less(slug: str) -> None:
    """The kit of least price of those that lack more, and how much it lacks is counted as it is."""
    problem = few(False, slug)
    pairs = product(keys(problem, 0), [*keys(problem, 1), ""])
    every = [Kit({"a": a, **({"b": b} if b else {})}, problem.voltages[0], 4) for a, b in pairs]
    steps = shortfalls(problem, slug) or ()
    for step in (-1, *steps[:-1]):
        variables = ModelVariables(replace(problem, gives={slug: steps[-1]}), slack={slug: steps[-1]})
        BY_SLUG[slug].add(variables)
        demand = Giving(problem, {slug: steps[-1]}, more_than=step)
        demand.add(variables)
        more = [kit for kit in every if max(0, excess(problem, kit, slug)) > step]
        aim = slack_aim(problem, {slug: 1})
        for least, value in ((variables.price(), lambda kit: price_cents(problem, kit)),
                             (aim.expression(variables), aim.value)):  # fmt: skip
            answer = minimise(variables, least, Settings(), Deadline(None))
            assert answer.kit is not None
            assert demand.holds(answer.kit)
            assert answer.value == value(answer.kit) == min(value(kit) for kit in more)
        assert not any(demand.holds(kit) for kit in every if kit not in more)


class Picky:
    """Stands for trips: only kits with the small first container pass."""

    allowed = 0

    def __init__(self, remembers: bool) -> None:
        self.learnt: list[Wall] = []
        self.remembers = remembers

    def passes(self, kit: Kit) -> bool:
        return kit.choices["a"] == "a-2000"

    def walls(self, kit: Kit, outlook: object = None) -> list[Wall]:
        self.learnt.append(Wall((("a", ("a-2000",)),)))
        return self.learnt[-1:]

    def known(self) -> list[Wall]:
        return self.learnt if self.remembers else []


@pytest.mark.parametrize("remembers", [True, False])
@pytest.mark.parametrize("slug", ["cheapest", "lightest"])
def test_where_trips_ask_for_more_than_rules_the_next_step_is_tried(
    slug: str, remembers: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 13 litres the rules alone could spare one; with the small container that passes it is four."""
    problem = few(False, "water")
    goal = replace(problem.goal, slug=slug)
    needs = {**world(0, PLACES[0]).problem.needs, **problem.needs, "water_ml_night": 3250}
    problem = replace(problem, needs=needs, goal=goal, tie_break=goal)
    picky = Picky(remembers)
    monkeypatch.setattr(Bench, "_lifter", lambda *_: picky)
    known = Kit({"a": "a-2000"}, problem.voltages[0], 4)
    least, settled = least_give(Bench(problem), Member("water", True), known)
    assert settled
    assert least is not None
    assert (least.give, least.proven) == (4000, True)
    assert least.kit is not None
    assert least.kit.choices == {"a": "a-2000", "b": "b-7000"}


def keys(problem: Problem, number: int) -> list[str]:
    return [option.key for option in problem.groups[number].options]


def test_limits_share_what_must_give_step_by_step_as_all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Water gives in the sizes of containers: gone through one by one, the least with the budget is the same.

    The same as asked all at once, and by looking at every kit none gives less of one and no more of the other.
    """
    shared = 0
    for seed in range(40):
        problem = thirsty_and_poor(random.Random(seed))
        answers = []
        for steps in (shortfalls, lambda *_: None):
            monkeypatch.setattr("optimizer.explain.ways_out.shortfalls", steps)
            bench = Bench(problem)
            conflict = find_conflict(bench)
            assert conflict is not None
            assert {member.name for member in conflict.members} == {"water", "budget"}
            answers.append(sorted(told(way) for way in ways_out(bench, conflict)))
        assert answers[0] == answers[1]
        every = [
            tuple(max(0, excess(problem, kit, slug)) for slug in ("budget", "water")) for kit in all_kits(problem)
        ]
        for way in answers[0]:
            gives = tuple(dict(way[0]).get(slug, 0) for slug in ("budget", "water"))
            assert gives in every
            assert not any(a <= gives[0] and b <= gives[1] and (a, b) != gives for a, b in every)
            shared += all(gives)
    assert shared > 10


def told(way: WayOut) -> tuple[tuple[tuple[str, int], ...], tuple[tuple[str, str], ...]]:
    assert way.proven
    return tuple((step.member.name, step.give) for step in way.steps), tuple(sorted(way.kit.choices.items()))


def thirsty_and_poor(rng: random.Random) -> Problem:
    """Three groups of containers by chance, more water asked for than the budget buys."""
    problem = few(True, "water")
    groups = []
    for name in "abc":
        sizes = sorted(rng.sample(range(1, 10), 3))
        options = (option(f"{name}-{size}", "water", 1000 * size) for size in sizes)
        priced = (
            replace(made, price_cents=900 * size + rng.randrange(2000))
            for made, size in zip(options, sizes, strict=True)
        )
        groups.append(Group(name=name, kind="x", options=tuple(priced), needed=True))
    most = sum(max(option.amounts["hold_water_ml"] for option in group.options) for group in groups)
    least = sum(min(option.price_cents for option in group.options) for group in groups)
    needs = {"water_ml_night": most // 4, "budget_cents": least + 1500}
    return replace(problem, groups=tuple(groups), needs=needs, rules=("water", "budget"))


def all_kits(problem: Problem) -> list[Kit]:
    names = [group.name for group in problem.groups]
    every = product(*([option.key for option in group.options] for group in problem.groups))
    return [Kit(dict(zip(names, chosen, strict=True)), problem.voltages[0], 4) for chosen in every]
