"""Choosing with places in force, against trying every kit in every place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from optimizer.check import check, goal_value
from optimizer.choosing.choose import choose
from optimizer.choosing.order import order_of
from optimizer.choosing.walls import Outlook
from optimizer.job import choose_kit, open_job, settled
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED
from optimizer.places import finding, judge
from optimizer.places.finding import place, placed
from optimizer.places.judge import Places
from optimizer.problem.dominance import without_dominated
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement
from tests.place_cases import REACHING, fits, kits, no_wall_stops_what_fits, tiny_problem

EVERY = [*range(120), *range(REACHING, REACHING + 120)]
SEEDS = [seed if seed % REACHING < 24 else pytest.param(seed, marks=pytest.mark.long) for seed in EVERY]
JUDGED = [seed if seed % REACHING < 24 else pytest.param(seed, marks=pytest.mark.long) for seed in EVERY[::4]]
WALLED = [pytest.param(s, marks=pytest.mark.long) if s != 117 and s % REACHING > 24 else s for s in EVERY[1::4]]


def signed(problem: Problem, kit: Kit) -> tuple[int, int]:
    """Goal and tie-break, less is better."""
    values = []
    for goal in (problem.goal, problem.tie_break):
        value = goal_value(problem, kit, goal)
        values.append(-value if goal.maximise else value)
    return values[0], values[1]


def by_hand(problem: Problem) -> tuple[int, int] | None:
    """Goal and tie-break of the best kit that keeps every rule and fits, by trying all."""
    best: tuple[int, int] | None = None
    for kit in sorted(kits(problem), key=partial(signed, problem)):
        if best is not None:
            break
        if check(problem, kit).ok and fits(problem, kit):
            best = signed(problem, kit)
    return best


@pytest.mark.parametrize("seed", SEEDS)
def test_the_choice_is_the_best_of_all_kits_that_fit(seed: int) -> None:
    """The kit chosen with places in force is as good as the best that exhaustive placing finds."""
    problem = tiny_problem(seed)
    expected = by_hand(problem)
    smaller = without_dominated(problem, order_of(problem)).problem
    places = Places(smaller)
    outcome = choose(smaller, [places])
    assert places.undecided == 0
    if expected is None:
        assert outcome.status == "impossible"
        return
    assert outcome.status == "proven"
    assert outcome.kit is not None
    assert signed(problem, outcome.kit) == expected
    assert check(problem, placed(problem, outcome.kit)).ok


@pytest.mark.parametrize("seed", JUDGED)
def test_every_kit_is_judged_as_exhaustive_placing_judges_it(seed: int) -> None:
    """Whatever the kit, the judge and the trying of all places agree, and what is placed passes the check."""
    problem = tiny_problem(seed)
    for kit in list(kits(problem))[::7]:
        found = place(problem, kit)
        assert isinstance(found, Placement) == fits(problem, kit), kit
        if isinstance(found, Placement):
            faults = check(problem, placed(problem, kit)).faults
            assert not [fault for fault in faults if not fault.startswith("roof_area")]


@pytest.mark.parametrize("seed", WALLED)
def test_no_wall_stops_a_kit_that_fits(seed: int) -> None:
    """A wall stops the kit it was named for, and every kit that it stops does not fit."""
    problem = tiny_problem(seed)
    no_wall_stops_what_fits(problem, list(kits(problem)), 5)


@pytest.mark.parametrize("seed", [seed for seed in EVERY[::8] if seed % REACHING < 24])
def test_a_wall_told_when_the_time_is_up_is_true_and_told_at_once(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """No question is asked to narrow it down, it still stops its own kit, and never one that fits."""
    problem = tiny_problem(seed)
    asked: list[object] = []
    monkeypatch.setattr(judge, "stow", lambda *words, **named: asked.append(words))
    no_wall_stops_what_fits(problem, list(kits(problem)), 5, Outlook(over=lambda: True))
    assert not asked


def test_what_is_not_decided_is_told_as_not_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the search never settles a refusal, nothing is proven, least of all that nothing fits."""

    def at_a_loss(ask: Callable[..., Any]) -> Callable[..., Any]:
        def asked(*arguments: Any, **named: Any) -> Any:
            found = ask(*arguments, **named)
            return UNDECIDED if found is IMPOSSIBLE else found

        return asked

    for room, name in ((finding, "pack"), (finding, "stow"), (judge, "stow")):
        monkeypatch.setattr(room, name, at_a_loss(getattr(room, name)))
    doubtful = 0
    for seed in range(12):
        problem = tiny_problem(seed)
        places = Places(problem)
        outcome = settled(choose(problem, [places]), problem, places)
        if places.undecided:
            doubtful += 1
            assert outcome.status == "unproven"
            assert outcome.bound is None
        else:
            expected = by_hand(problem)
            assert outcome.status == ("impossible" if expected is None else "proven")
        if outcome.kit is not None:
            assert check(problem, outcome.kit).ok
    assert doubtful


@pytest.mark.long
def test_the_answer_by_areas_alone_would_not_fit() -> None:
    """With the fan in the middle of the first example's roof, the cheapest kit by sums has a panel that fits nowhere;
    with places in force another kit is proven, and it is dearer (regression values)."""
    job = open_job(Path(__file__).parent.parent / "examples" / "high_plains_spring.toml")
    roof = job.brief.vehicle.roof.model_copy(update={"fan_x": 1100.0})
    brief = job.brief.model_copy(update={"vehicle": job.brief.vehicle.model_copy(update={"roof": roof})})
    moved = replace(job, brief=brief)
    by_areas = replace(job, brief=brief)
    by_areas.__dict__["problem"] = replace(moved.problem, space=None)
    loose, right = choose_kit(by_areas), choose_kit(moved)
    assert loose.outcome.status == right.outcome.status == "proven"
    assert loose.kit is not None
    assert place(moved.problem, loose.kit) is IMPOSSIBLE
    assert right.kit is not None
    assert isinstance(right.kit.places, Placement)
    assert check(moved.problem, right.kit).ok
    # Of 2026-11-26, since cables are bought for the way between the places of their ends.
    assert (loose.outcome.value, right.outcome.value) == (272590, 293796)
