"""Going through kits in place of asking the solver: none that holds is passed over, frontiers stay what they are."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest
from enumeration import SlowTrips, kits, twins_in_order
from test_frontier_kits import COVERAGE, agree, job_of_world

from optimizer.check import check
from optimizer.choosing import comb_kernel, combing
from optimizer.choosing.combing import Comb, TooManyError, Walk, combed, rest_points
from optimizer.choosing.solve import Settings
from optimizer.choosing.sums import RuleSum, rule_sums
from optimizer.choosing.walls import NONE
from optimizer.frontier import combed as combed_questions
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.goals import axes_of
from optimizer.frontier.making import Making
from optimizer.job import Job
from optimizer.problem.records import Kit

SEEDS = (1, 7, 12, 22, 34)
BOUNDLESS = 1 << 58


def asker_of(job: Job, goals: Sequence[str] = ("price", "mass")) -> KitAsker:
    """An asker of a small world, nothing left out beforehand."""
    making = Making(job.problem, axes_of(goals), job.scene, job.allowed_short, Settings())
    return making.asker(None, None)


def holding(job: Job) -> Iterator[Kit]:
    """Every kit that keeps the rules."""
    return (kit for kit in kits(job.problem) if twins_in_order(job.problem, kit) and check(job.problem, kit).ok)


def comb_of(asker: KitAsker) -> Comb:
    """A comb for the asker's goals."""
    costs, numbers = (asker.axes[0].cost, asker.axes[1].cost), (asker.expressions[0], asker.expressions[1])
    rest = rest_points(asker.variables, numbers, costs, asker.settings, asker.deadline)
    assert rest is not None
    return Comb(asker.problem, costs, rule_sums(asker.variables), rest, asker.scout.tables, asker.ruled_out)


def met(comb: Comb, most_other: int, below: int) -> list[tuple[tuple[str, ...], int]]:
    """What a walk meets: keys of the combed groups in their order, and the voltage."""
    walk, found = Walk(comb, most_other, below), []
    while (kit := walk.next()) is not None:
        found.append((tuple(kit.choices[group.name] for group in comb.groups), kit.voltage))
    return found


def groups_of(comb: Comb, kit: Kit) -> tuple[tuple[str, ...], int]:
    """The same of a kit."""
    return tuple(kit.choices.get(group.name, NONE) for group in comb.groups), kit.voltage


@pytest.mark.parametrize("seed", SEEDS)
def test_no_kit_that_holds_and_survives_is_passed_over(seed: int) -> None:
    """Whatever the limits, and whatever was learnt: its groups are met, and none twice."""
    job = job_of_world(seed, COVERAGE, 2000)
    asker, trips, dice = asker_of(job), SlowTrips(job.problem, job.scene), random.Random(seed)
    assert asker.trips is not None
    lifter, every = asker.trips.judge(job.allowed_short), list(holding(job))
    surviving = [kit for kit in every if trips.short(kit) <= job.allowed_short]
    comb, failing = comb_of(asker), [kit for kit in every if not lifter.passes(kit)]
    assert surviving
    met_before = -1
    for lessons in (0, 3, 12):
        for kit in dice.sample(failing, min(lessons, len(failing))):
            asker.learn(lifter.walls(kit), lifter.allowed)
        whole = met(comb, BOUNDLESS, BOUNDLESS)
        assert len(whole) == len(set(whole))
        assert met_before < 0 or len(whole) <= met_before
        met_before = len(whole)
        for limit in dice.sample(surviving, min(6, len(surviving))):
            below, most = (number + 1 for number in asker.vector(limit))
            found = set(met(comb, most, below))
            assert found <= set(whole)
            inside = [kit for kit in surviving if asker.vector(kit)[0] < below and asker.vector(kit)[1] <= most]
            assert inside
            assert {groups_of(comb, kit) for kit in inside} <= found


def test_bounds_and_walls_turn_kits_away() -> None:
    """A walk that met everything would be sound and useless: either limit and walls each leave fewer."""
    whole, cheaper, lighter, taught = 0, 0, 0, 0
    for seed in SEEDS:
        job = job_of_world(seed, COVERAGE, 2000)
        asker = asker_of(job)
        assert asker.trips is not None
        lifter, every = asker.trips.judge(job.allowed_short), list(holding(job))
        comb, vectors = comb_of(asker), [asker.vector(kit) for kit in every]
        whole += len(met(comb, BOUNDLESS, BOUNDLESS))
        cheaper += len(met(comb, BOUNDLESS, min(vector[0] for vector in vectors)))
        lighter += len(met(comb, min(vector[1] for vector in vectors) - 1, BOUNDLESS))
        for kit in [kit for kit in every if not lifter.passes(kit)][:40]:
            asker.learn(lifter.walls(kit), lifter.allowed)
        taught += len(met(comb, BOUNDLESS, BOUNDLESS))
    assert max(cheaper, lighter) < whole // 10
    assert taught < whole


def test_a_walk_can_be_narrowed_on_the_way() -> None:
    """What is met after a limit was lowered, or a wall was learnt, is what a new walk meets from there on."""
    job = job_of_world(7, COVERAGE, 2000)
    asker = asker_of(job)
    comb, walk = comb_of(asker), None
    whole = met(comb, BOUNDLESS, BOUNDLESS)
    middle = sorted(asker.vector(kit)[0] for kit in holding(job))[len(whole) // 2]
    walk = Walk(comb, BOUNDLESS, BOUNDLESS)
    first = walk.next()
    assert first is not None
    walk.below = middle
    rest = []
    while (kit := walk.next()) is not None:
        rest.append((tuple(kit.choices[group.name] for group in comb.groups), kit.voltage))
    behind = groups_of(comb, Kit({k: v for k, v in first.choices.items() if v}, first.voltage, 1))
    assert {*rest, behind} == {*met(comb, BOUNDLESS, middle), behind}


def test_sums_of_the_model_are_what_rules_ask() -> None:
    """Each sum read back holds for every kit that keeps the rules, and some kit breaks one."""
    job = job_of_world(12, COVERAGE, 2000)
    asker = asker_of(job)
    sums, broken = rule_sums(asker.variables), 0
    assert len(sums) > 20

    def keeps(rule: RuleSum, kit: Kit) -> bool:
        if rule.voltage not in (0, kit.voltage):
            return True
        return sum(w.get(kit.choices.get(group, NONE), 0) for group, w in rule.weights.items()) <= rule.at_most

    for kit in kits(job.problem):
        kept = all(keeps(rule, kit) for rule in sums)
        if twins_in_order(job.problem, kit) and check(job.problem, kit).ok:
            assert kept
        broken += not kept
    assert broken


def test_what_fails_whatever_else_is_chosen_does() -> None:
    """By the slow simulator; and every kit that survives gets past the walls learnt from it."""
    assert sum(map(dead_ends, SEEDS)) > 10


def dead_ends(seed: int) -> int:
    """How many kits of the combed groups fail whatever else is chosen; each is looked at."""
    job = job_of_world(seed, COVERAGE, 2000)
    asker, trips = asker_of(job), SlowTrips(job.problem, job.scene)
    assert asker.trips is not None
    lifter, names = asker.trips.judge(job.allowed_short), [group.name for group in combed(job.problem)]
    by_groups: dict[tuple[str, ...], list[Kit]] = {}
    for kit in holding(job):
        by_groups.setdefault(tuple(kit.choices.get(name, NONE) for name in names), []).append(kit)
    surviving = [kit for some in by_groups.values() for kit in some if trips.short(kit) <= job.allowed_short]
    dead = 0
    for keys, some in by_groups.items():
        choices = dict(zip(names, keys, strict=True))
        if lifter.fail_whatever(choices, some[0].nights):
            dead += 1
            assert not any(kit in surviving for kit in some)
            if dead % 10 == 1:
                walls = lifter.walls_whatever(choices, some[0].nights)
                assert walls
                assert all(wall.passed_by(kit) for wall in walls for kit in surviving)
                assert not any(all(wall.passed_by(kit) for wall in walls) for kit in some)
    return dead


def eager(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Comb from the first kit known on, with many lessons; gives back how questions ended."""
    ended: list[str] = []
    least = combed_questions.CombedQuestions.least

    def noted(questions: combed_questions.CombedQuestions, limits: Sequence[int]) -> object:
        answer = least(questions, limits)
        ended.append("left" if answer is None else answer.status)
        return answer

    monkeypatch.setattr(combed_questions.CombedQuestions, "least", noted)
    monkeypatch.setattr(combed_questions, "NEAR", 10**6)
    monkeypatch.setattr(combed_questions, "LESSON_EVERY", 3)
    return ended


def test_frontiers_by_combing_equal_enumeration(monkeypatch: pytest.MonkeyPatch) -> None:
    """Price against mass; and each of a few other pairs of sums once."""
    ended = eager(monkeypatch)
    assert max(agree(SEEDS, ("price", "mass"), COVERAGE)) > 1
    assert ended.count("proven") >= 3
    for pair in (("battery", "price"), ("mass", "array"), ("roof", "mass"), ("price", "bays")):
        agree((7, 22), pair, COVERAGE)


@pytest.mark.long
def test_many_frontiers_by_combing_equal_enumeration(monkeypatch: pytest.MonkeyPatch) -> None:
    """More worlds, more pairs."""
    ended = eager(monkeypatch)
    agree(range(40, 100), ("price", "mass"), COVERAGE)
    agree(range(100, 120), ("price", "battery", "array", "roof"), COVERAGE)
    assert ended.count("proven") > 10


def test_questions_within_limits_are_answered_as_looking_at_every_kit_does(monkeypatch: pytest.MonkeyPatch) -> None:
    """The least kit within limits of both numbers, or that there is none; also where none is known beforehand."""
    eager(monkeypatch)
    told, alone = [], 0
    for seed in SEEDS:
        job, dice = job_of_world(seed, COVERAGE, 2000), random.Random(seed)
        asker, trips = asker_of(job), SlowTrips(job.problem, job.scene)
        vectors = sorted({asker.vector(kit) for kit in holding(job) if trips.short(kit) <= job.allowed_short})
        least = asker.least((BOUNDLESS,))
        assert least.vector == vectors[0]
        questions = asker.combed
        assert questions is not None
        alone += len(questions.alone)
        for vector in dice.sample(vectors, min(8, len(vectors))):
            limits = [vector[0] + dice.choice((-1, 0, 1, 5000)), vector[1] + dice.choice((-1, 0, 1))]
            answer = questions.least(limits)
            inside = [(a, b) for a, b in vectors if a <= limits[0] and b <= limits[1]]
            if answer is None:
                continue
            told.append(answer.status)
            assert answer.status == ("proven" if inside else "impossible")
            if answer.kit is not None:
                assert asker.vector(answer.kit) == min(inside)
    assert {"proven", "impossible"} <= set(told)
    assert alone, "nothing else has a kit's numbers, yet it was not seen"


@pytest.mark.parametrize(("where", "name"), [(combed_questions, "MOST_FAILED"), (combed_questions, "MOST_BARREN"),
                                             (combing, "MOST_STEPS"), (combing, "REST_POINTS")])  # fmt: skip
def test_what_is_too_much_to_go_through_is_left_to_the_solver(
    monkeypatch: pytest.MonkeyPatch, where: object, name: str
) -> None:
    """The same frontiers, whichever bound it is that ends a walk."""
    ended = eager(monkeypatch)
    monkeypatch.setattr(where, name, -1 if name == "MOST_BARREN" else 0)
    assert max(agree(SEEDS, ("price", "mass"), COVERAGE)) > 1
    assert name in ("MOST_FAILED", "MOST_BARREN") or "proven" not in ended
    assert name == "REST_POINTS" or "left" in ended


def test_what_was_too_much_is_tried_more_and_more_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """After the first time once is left out, then twice; after an answer it is tried each time again."""
    eager(monkeypatch)
    asker = asker_of(job_of_world(7, COVERAGE, 2000))
    questions, anything = asker.combed, [BOUNDLESS, BOUNDLESS]
    assert questions is not None
    assert asker.least((BOUNDLESS,)).proven
    with monkeypatch.context() as ending:
        ending.setattr(combing, "MOST_STEPS", 0)
        for left_out in (1, 2, 3):
            assert questions.least(anything) is None
            assert [questions.worth_asking(anything, None) for _ in range(left_out + 1)] == [False] * left_out + [True]
    assert questions.least(anything) is not None
    assert questions.worth_asking(anything, None)


def test_a_walk_that_is_too_long_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """After as many candidates as are allowed."""
    comb = comb_of(asker_of(job_of_world(7, COVERAGE, 2000)))
    monkeypatch.setattr(combing, "MOST_STEPS", 3)
    with pytest.raises(TooManyError):
        met(comb, BOUNDLESS, BOUNDLESS)


def test_equal_kits_are_told_apart_as_the_solver_tells_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each part thrice, under other names: the kit is the one that an asker without combing ends in."""
    ended = eager(monkeypatch)
    for seed in SEEDS:
        job = job_of_world(seed, COVERAGE, 60)
        more = replace(job, catalog=job.catalog.with_parts(*(
            part.model_copy(update={"id": f"{part.id}.{number}"})
            for kind in ("battery", "insulation", "toilet") for part in job.catalog.parts[kind] for number in (1, 2)
        )))  # fmt: skip
        more.__dict__["problem"] = replace(more.problem, space=None)
        combed_through = asker_of(more).least((BOUNDLESS,))
        with monkeypatch.context() as without:
            without.setattr(combing, "REST_POINTS", 0)
            asked = asker_of(more).least((BOUNDLESS,))
        assert combed_through.proven
        assert combed_through.thing == asked.thing
    assert "proven" in ended


def test_points_ahead_may_be_thinned(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no more than two of them still nothing that holds is passed over."""
    monkeypatch.setattr(combing, "MOST_POINTS", 2)
    for seed in SEEDS:
        test_no_kit_that_holds_and_survives_is_passed_over(seed)


def test_a_sum_that_is_just_reached_gets_past_its_wall() -> None:
    """By hand: two groups of two, one wall that only a sum of seven gets past; three and four make it, three and three
    do not.
    """
    candidates = comb_kernel.Candidates(
        np.array([0, 2, 4]), np.array([1, 2, 1, 2]), np.zeros(4, np.int64), np.zeros((4, 0), np.int64),
        np.zeros(0, np.int64),
    )  # fmt: skip
    known = comb_kernel.Known(
        np.zeros((4, 1), np.uint64), np.ones(1, np.uint64), np.array([[2], [3], [3], [4]]), np.array([7]),
        np.array([0, 1]), np.array([0]),
    )  # fmt: skip
    ahead = comb_kernel.Ahead(
        np.zeros((3, 1), np.uint64), np.array([[7], [4], [0]]), np.ones(3, np.int64), np.zeros((3, 1), np.int64),
        np.zeros((3, 1), np.int64),
    )  # fmt: skip
    at = np.zeros(3, np.int64)
    met, _ = comb_kernel.walk(candidates, known, ahead, 0, 100, 1000, at)
    assert met
    assert at[:2].tolist() == [2, 4]  # one behind what was taken: the second of each
    assert not comb_kernel.walk(candidates, known, ahead, 0, 100, 1000, at)[0]


def test_no_time_is_no_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the time is up on the way, the answer says so."""
    asker = asker_of(job_of_world(7, COVERAGE, 2000))
    questions = asker.combed
    assert questions is not None
    reply = asker.least((BOUNDLESS,))
    assert reply.proven
    monkeypatch.setattr(type(questions._house), "over", lambda _: True)
    answer = questions.least([BOUNDLESS, BOUNDLESS])
    assert answer is not None
    assert answer.status == "unproven"
