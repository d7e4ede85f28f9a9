"""Trade-offs looked for in several processes: the same ones with the same kits, and nothing lost with a process."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Sequence
from concurrent.futures import Future
from typing import Any

import pytest
from test_frontier_kits import COVERAGE, enumerated, job_of_world

from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.frontier import hands
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.goals import axes_of, with_goals
from optimizer.frontier.hands import Hand, Together
from optimizer.frontier.making import Making, smaller
from optimizer.frontier.run import find_frontier
from optimizer.frontier.zones import NO_BOUND, Reply
from optimizer.job import Job
from optimizer.problem.records import Kit

SEED = 12
BOTH = ["price", "mass"]


def making_of(job: Job, goals: Sequence[str]) -> Making:
    axes = axes_of(goals)
    problem = with_goals(job.problem, job.catalog, axes, job.brief.trip.nights_at_most)
    return Making(smaller(problem, axes), axes, job.scene, job.allowed_short, Settings())


class AtOnce:
    """Stands for another process: answers here and at once, with an asker of its own."""

    made: list[AtOnce]
    dies = False
    turned_away = 0

    def __init__(self, making: Making) -> None:
        self.ready, self.undecided, self.ended = True, 0, False
        self.asked: list[Any] = []
        self.handed: list[int] = []
        self._store = LevelStore()
        self._asker = making.asker(None, self._store)
        self.made.append(self)

    def ask(self, question: Any, about: Sequence[int], known: Sequence[Any]) -> Future[Any]:
        self.asked.append((question, tuple(about)))
        self.handed.append(len(known))
        self._asker.take_in(known)
        answer: Future[Any] = Future()
        answer.set_result(question(self._asker, about))
        return answer

    def told(self, answer: Future[Any]) -> Any:
        if self.dies:
            return None
        self.undecided = self.turned_away
        return hands.Told(answer.result(), tuple(self._store), self.turned_away)

    def end(self) -> None:
        self.ended = True


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> type[AtOnce]:
    class Fresh(AtOnce):
        pass

    Fresh.made = []
    monkeypatch.setattr(hands, "Hand", Fresh)
    return Fresh


@pytest.mark.parametrize("goals", [BOTH, ["mass", "price"], ["price", "mass", "coverage"], ["price", "coverage"]])
@pytest.mark.parametrize("dies", [False, True])
def test_the_same_trade_offs_with_the_same_kits(at_once: type[AtOnce], goals: list[str], dies: bool) -> None:
    """Two and three goals, coverage among them; whether the other process lives or dies at its first question."""
    at_once.dies = dies
    job = job_of_world(SEED, COVERAGE, 2000)
    alone, together = find_frontier(job, goals), find_frontier(job, goals, workers=2)
    assert [(p.values, p.kit) for p in together.points] == [(p.values, p.kit) for p in alone.points]
    assert {p.values for p in together.points} == enumerated(job, goals)
    assert together.complete
    (other,) = at_once.made
    assert other.ended
    if goals != ["price", "coverage"]:  # a single zone at a time, and only the trips know the other end
        assert other.asked


def test_what_the_trips_taught_one_is_handed_to_the_other(at_once: type[AtOnce]) -> None:
    job = job_of_world(SEED, COVERAGE, 2000)
    store = LevelStore()
    find_frontier(job, BOTH, store=store, workers=2)
    (other,) = at_once.made
    assert max(other.handed) > 0
    theirs = set(other._store)
    assert theirs
    assert theirs <= set(store)


def test_what_the_other_could_not_decide_counts_too(at_once: type[AtOnce]) -> None:
    at_once.turned_away = 2
    found = find_frontier(job_of_world(SEED, COVERAGE, 2000), BOTH, workers=2)
    assert found.undecided == 2
    assert not found.proven


def from_far(asker: KitAsker, limits: Sequence[int]) -> Reply[Kit]:
    return hands._from_far(asker, limits)


def dies(asker: KitAsker, limits: Sequence[int]) -> Reply[Kit]:
    os._exit(1)


def test_another_process_answers_as_this_one_would() -> None:
    job = job_of_world(SEED, COVERAGE, 2000)
    making = making_of(job, BOTH)
    hand = Hand(making.turned())
    try:
        told = hand.told(hand.ask(from_far, (NO_BOUND, NO_BOUND), ()))
        asker = making.turned().asker(None, LevelStore())
        assert told is not None
        assert told.reply == from_far(asker, (NO_BOUND, NO_BOUND))
        assert told.reply.vector == min(enumerated(job, BOTH), key=lambda point: point[::-1])
        assert told.reply.proven
        assert told.reply.thing is not None
        assert hand.ready
        assert hand.told(hand.ask(dies, (0, 0), ())) is None
        assert hand.ask(from_far, (0, 0), ()) is None
        assert hand.told(None) is None
    finally:
        hand.end()


def test_the_other_processes_end_with_the_search() -> None:
    job = job_of_world(SEED, COVERAGE, 2000)
    making = making_of(job, ["price", "mass", "coverage"])
    store = LevelStore()
    with Together(making, making.asker(None, store), store, 3) as together:
        together.least((NO_BOUND, NO_BOUND))
        assert not multiprocessing.active_children(), "one question is answered sooner than another process begins"
        together.least((NO_BOUND, NO_BOUND))
        begun = multiprocessing.active_children()
        assert len(begun) == 2
    for process in begun:
        process.join(10)
        assert not process.is_alive()


def test_where_there_is_much_to_choose_from_the_others_begin_at_once(
    at_once: type[AtOnce], monkeypatch: pytest.MonkeyPatch
) -> None:
    making = making_of(job_of_world(SEED, COVERAGE, 2000), BOTH)
    monkeypatch.setattr(hands, "MANY_OPTIONS", 2)
    with Together(making, making.asker(None, LevelStore()), LevelStore(), 2) as together:
        together.least((NO_BOUND,))
    assert len(at_once.made) == 1


def test_two_goals_take_no_more_than_two_processes() -> None:
    making = making_of(job_of_world(SEED, COVERAGE, 2000), BOTH)
    store = LevelStore()
    with Together(making, making.asker(None, store), store, 4) as together:
        assert together.many == 1
        for _ in range(2):
            together.least((NO_BOUND,))
        assert len(multiprocessing.active_children()) == 1
