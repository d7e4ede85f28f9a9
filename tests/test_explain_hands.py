"""Questions asked in several processes: the same answers, and nothing lost with a process."""

from __future__ import annotations

import multiprocessing
import os
import random
import threading
import time
from dataclasses import replace
from typing import Any

import pytest
from explain_truth import rows
from explain_worlds import impossible
from small_worlds import small_problem, small_world

from optimizer.choosing.choose import choose
from optimizer.choosing.solve import Deadline, Settings
from optimizer.choosing.store import Level
from optimizer.explain.bench import Bench
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found, Knowledge
from optimizer.explain.limits import stories
from optimizer.explain.ways_out import ways_out
from optimizer.problem.records import Kit

SEED = 3
SCARCE = 28
TANGLED = (28, 41, 43, 52)
"""Worlds whose impossible versions have conflicts of three or four members."""
A_LEVEL = Level(1, 2, (("battery", ((0, (1.0,)),)),))
TURNS = 20
"""So often the other process has something to do at least once: each turn waits for it."""


def a_bench() -> Bench:
    return Bench(replace(small_problem(*small_world(SEED)), space=None))


def elsewhere() -> bool:
    return multiprocessing.parent_process() is not None


def squared(bench: Bench, item: int) -> tuple[int, bool]:
    return item * item, elsewhere()


def dies_elsewhere(bench: Bench, item: int) -> int:
    if elsewhere():
        os._exit(1)
    return item


def fails_elsewhere(bench: Bench, item: int) -> int:
    if elsewhere():
        raise ValueError("no answer")
    return item


def learns(bench: Bench, item: int) -> bool:
    """Learns one level elsewhere, and says whether it had been handed over already."""
    known = A_LEVEL in list(bench.store)
    if elsewhere():
        bench.store.add([A_LEVEL])
    return known


def never_ends_elsewhere(bench: Bench, item: int) -> int:
    """Hangs elsewhere; here it stops everything after the first item."""
    while elsewhere():
        time.sleep(1)
    bench.stop.asked = True
    return item


def said_elsewhere(bench: Bench, item: int) -> tuple[float | None, bool]:
    """The same, the first item waiting here until another process had the time to begin."""
    if not elsewhere():
        time.sleep(1)
    return bench.left(), elsewhere()


@pytest.mark.parametrize("seconds", [1000.0, None])
def test_the_time_for_all_questions_holds_in_every_process(seconds: float | None) -> None:
    """What all questions have together is what another process has too; without an end none has one."""
    bench = Bench(a_bench().problem, in_all=Deadline(seconds))
    with Hands(bench, 2) as hands:
        for _ in range(TURNS):
            there = [left for left, away in hands.each(said_elsewhere, [1, 2]) if away]
            if there:
                break
    assert there
    assert all(left is None if seconds is None else left is not None and 0 < left < seconds for left in there)


def test_nobody_minds_the_other_processes_any_more_once_they_have_ended() -> None:
    """No thread of theirs is left to close its pipes while the interpreter ends."""
    before = set(threading.enumerate())
    with Hands(a_bench(), 2) as hands:
        for _ in range(TURNS):
            if any(away for _, away in hands.each(said_elsewhere, [1, 2])):
                break
        assert set(threading.enumerate()) - before
    assert not set(threading.enumerate()) - before


def test_stopped_hands_do_not_wait_for_the_others() -> None:
    """What another process is at is asked here, where nothing is found any more; later ones begin none."""
    with Hands(a_bench(), 2) as hands:
        assert hands.each(never_ends_elsewhere, [1, 2, 3, 4]) == [1, 2, 3, 4]
        assert hands.each(squared, [1, 2]) == [(1, False), (4, False)]
        assert hands.bench.ask().status == "unproven"


def test_answers_come_in_the_order_of_the_items_and_some_from_elsewhere() -> None:
    items = list(range(400))
    with Hands(a_bench(), 2) as hands:
        found = hands.each(squared, items)
        # The other process may begin after this one has answered all; then it is there for the next.
        again = hands.each(squared, items)
    assert [value for value, _ in found] == [item * item for item in items]
    assert [value for value, _ in again] == [item * item for item in items]


def test_one_pair_of_hands_asks_here() -> None:
    with Hands(a_bench(), 1) as hands:
        assert hands.each(squared, [1, 2, 3]) == [(1, False), (4, False), (9, False)]


def test_what_a_dead_process_was_at_is_asked_here() -> None:
    with Hands(a_bench(), 2) as hands:
        assert hands.each(dies_elsewhere, list(range(50))) == list(range(50))


def test_an_error_elsewhere_is_told() -> None:
    def ask_often(hands: Hands) -> None:
        for _ in range(TURNS):
            hands.each(fails_elsewhere, [1, 2, 3, 4])

    with Hands(a_bench(), 2) as hands, pytest.raises(ValueError, match="no answer"):
        ask_often(hands)


def test_what_was_learnt_elsewhere_comes_back_and_is_handed_on() -> None:
    bench = a_bench()
    with Hands(bench, 2) as hands:
        for _ in range(TURNS):
            hands.each(learns, [1, 2])
        assert A_LEVEL in list(bench.store)
        assert all(hands.each(learns, [1, 2]))


def test_stories_are_the_same_with_two() -> None:
    alone, together = a_bench(), a_bench()
    kit = alone.ask().kit
    assert kit is not None
    with Hands(together, 2) as hands:
        told = stories(together, kit, hands=hands)
    assert told == stories(alone, kit)
    assert any(story.looser is not None for story in told.limits)


@pytest.mark.parametrize("many", [1, 2])
def test_what_this_process_does_itself_comes_first_and_more_comes_last(many: int) -> None:
    """Others begin with the items meanwhile; what is known to be asked only after its own work is asked too."""
    with Hands(a_bench(), many) as hands:
        for _ in range(TURNS):
            own, found = hands.beside(lambda: time.sleep(0.2) or "own", squared, [1, 2], lambda own: [3, len(own)])
            if any(away for _, away in found):
                break
        assert own == "own"
        assert [value for value, _ in found] == [1, 4, 9, 9]
        assert any(away for _, away in found) == (many == 2)
        assert hands.beside(lambda: 7, squared, [], lambda own: [own]) == (7, [(49, False)])
        assert hands.beside(lambda: 7, squared, []) == (7, [])


def test_others_wait_for_what_comes_late() -> None:
    """Another process that has answered all there is by then takes of what comes in later."""
    with Hands(a_bench(), 2) as hands:
        hands.each(said_elsewhere, [1, 2])  # the other has begun

        _, found = hands.beside(lambda: time.sleep(1), said_elsewhere, [1], lambda _: [2, 3])
    assert found[0][1]
    assert any(away for _, away in found[1:])


def test_an_error_of_its_own_work_ends_the_waiting() -> None:
    """Nobody waits for what will never come."""
    def own() -> int:
        raise ValueError("no answer here")

    with Hands(a_bench(), 2) as hands:
        with pytest.raises(ValueError, match="no answer here"):
            hands.beside(own, squared, [1, 2])
        assert hands.each(squared, [1])[0][0] == 1


def test_an_error_elsewhere_is_told_though_this_process_has_work() -> None:
    with Hands(a_bench(), 2) as hands:
        hands.each(said_elsewhere, [1, 2])
        with pytest.raises(ValueError, match="no answer"):
            hands.beside(lambda: time.sleep(1), fails_elsewhere, [1])


def knows_change(bench: Bench, item: Change) -> tuple[bool, bool]:
    """Whether it is known already what a change comes to; it is afterwards."""
    known = bench.known(item) is not None
    bench.possible(item)
    return known, elsewhere()


def test_what_was_found_possible_or_not_is_handed_on() -> None:
    """Kits met and what is impossible are known to whoever is asked next."""
    problem = replace(small_problem(*small_world(SCARCE)), space=None)
    made = impossible(random.Random(SCARCE), (problem, rows(problem)))
    assert made is not None
    bench = Bench(made[0])
    dropped = Change(without=bench.members())
    assert bench.possible(Change()).status == "impossible"
    assert bench.possible(dropped).kit is not None
    with Hands(bench, 2) as hands:
        for _ in range(TURNS):
            found = hands.each(knows_change, [Change(), dropped] * 20)
            assert all(known for known, _ in found)
            if any(away for _, away in found):
                return
    raise AssertionError("the other process never had anything to do")


def test_knowledge_has_everything_once() -> None:
    other = replace(A_LEVEL, nights=3)
    kit, change = Kit({}, 12, 7), Change(gives={"budget": 1})
    lent = Found(kit, "proven")
    one = Knowledge((A_LEVEL,), (kit,), (Change(),))
    both = one.and_also([Knowledge((A_LEVEL, other), (kit,), (Change(), change), lent)])
    assert both == Knowledge((A_LEVEL, other), (kit,), (Change(), change), lent)
    assert both.beyond(one) == Knowledge((other,), (), (change,), lent)
    assert both.beyond(both) == Knowledge()


def test_a_conflict_does_not_hang_on_what_was_learnt_elsewhere() -> None:
    """The search for it goes on by itself; what it learnt is known afterwards."""
    bench = a_bench()
    bench.store.add([A_LEVEL])
    aside = bench.aside()
    assert A_LEVEL not in list(aside.store)
    kit = aside.possible(Change()).kit
    assert kit is not None
    assert bench.known(Change()) is None
    bench.take_in(aside.knows())
    assert bench.known(Change()) == Found(kit, "proven")


class InTurn(Hands):
    """As many hands as are said, asked here one after another: what is left out must not hang on who asks when."""

    def each(self, ask: Any, items: Any) -> Any:
        """In order."""
        return [ask(self.bench, item) for item in items]

    def beside(self, own: Any, ask: Any, items: Any, more: Any = None) -> Any:
        """The items first."""
        found = [ask(self.bench, item) for item in items]
        done = own()
        return done, [*found, *(ask(self.bench, item) for item in (more(done) if more else ()))]

    def begin(self) -> None:
        """Nobody else is needed."""


@pytest.mark.parametrize("many", [3, 7])
def test_a_conflict_is_the_same_however_many_ask_at_once(many: int) -> None:
    """Members of which either could go, but not both, are asked about at once; one of them stays."""
    for seed in TANGLED:
        problem = replace(small_problem(*small_world(seed)), space=None)
        made = impossible(random.Random(seed), (problem, rows(problem)))
        assert made is not None
        at_once = Bench(made[0])
        one, other = find_conflict(Bench(made[0])), find_conflict(at_once, hands=InTurn(at_once, many))
        assert one is not None
        assert other is not None
        assert (other.members, other.minimal) == (one.members, True)
        assert len(one.members) > 1


def test_ways_out_are_the_same_with_two() -> None:
    problem = replace(small_problem(*small_world(SCARCE)), space=None)
    made = impossible(random.Random(SCARCE), (problem, rows(problem)))
    assert made is not None
    alone, together = Bench(made[0]), Bench(made[0])
    conflict = find_conflict(alone)
    assert conflict is not None
    with Hands(together, 2) as hands:
        found = find_conflict(together, hands=hands)
        ways = ways_out(together, conflict, hands=hands)
    assert found is not None
    assert (found.members, found.minimal) == (conflict.members, True)
    assert ways == ways_out(alone, conflict)
    assert len(conflict.members) > 2
    assert ways


def test_when_the_time_for_all_questions_has_passed_nothing_more_is_asked() -> None:
    """A conflict is then what is known: all that may be in it, not proven to be the smallest."""
    problem = replace(small_problem(*small_world(SEED)), space=None)
    fresh, late = Bench(problem, in_all=Deadline(None)), Bench(problem, in_all=Deadline(0.0))
    assert not fresh.over
    assert fresh.ask().status == "proven"
    assert late.over
    assert late.without(late.members()[0]).over
    assert late.ask().status == "unproven"
    assert late.asked == 0
    conflict = find_conflict(late, known=True)
    assert conflict is not None
    assert not conflict.proven


def test_no_question_has_longer_than_is_left_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question ends when its own time has passed or that of all, whichever is sooner."""
    given: list[float | None] = []

    def noted(*words: Any, **named: Any) -> Any:
        given.append(words[2].seconds)
        return choose(*words, **named)

    monkeypatch.setattr("optimizer.explain.bench.choose", noted)
    problem = replace(small_problem(*small_world(SEED)), space=None)
    for own, in_all in ((50.0, 500.0), (500.0, 50.0), (None, 50.0), (50.0, None), (None, None)):
        Bench(problem, settings=Settings(seconds=own), in_all=Deadline(in_all)).ask()
    assert [seconds is not None and seconds <= 50.0 for seconds in given] == [True] * 4 + [False]
