"""What stands beneath a frontier's questions: joined numbers, walls told once, ties broken by the part-id number."""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import Any

import pytest
from batch_cases import folder_with
from hypothesis import given
from hypothesis import strategies as st
from stopping import stop_each_solve_after

from optimizer.choosing.order import id_weight
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Wall
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.goals import NAMED, column_axis
from optimizer.frontier.plain import PlainFrontier, Total, plain_problem
from optimizer.frontier.question import Joined
from optimizer.frontier.walls_met import WallsMet
from optimizer.frontier.zones import NO_BOUND
from optimizer.job import open_job


@given(
    first=st.integers(-50, 50), rest=st.lists(st.integers(-9, 9), min_size=1, max_size=2), below=st.integers(0, 400)
)
def test_a_bound_on_the_joined_number_bounds_the_first_goal(first: int, rest: list[int], below: int) -> None:
    """Whatever the point: its first goal is not below what the bound says, and a tight bound says the goal itself."""
    high = 9 * len(rest)
    joined = Joined(None, 2 * high + 1, 0, tuple(range(1, len(rest) + 1)), high)
    value = joined.value((first, *rest))
    assert joined.first_at_least(value - below) <= first
    assert joined.first_at_least(value) == first


def test_walls_that_say_nothing_new_are_dropped() -> None:
    """Fewer ways out say more; but only where it stands for as many departures, and no fewer nights get past it."""
    rows = [{"a": place} for place in range(4)]
    problem = plain_problem([rows, rows], [])
    one, two = (group.name for group in problem.groups)
    met = WallsMet(ModelVariables(problem))
    wide, narrow = Wall(((one, ("1", "2")), (two, ("3",)))), Wall(((one, ("2",)), (two, ("3",))))
    met.add(wide, 5)
    met.add(wide, 5)
    assert len(met) == 1
    met.add(narrow, 3)  # says more, but for fewer short departures only: both stay
    assert (len(met), len(met.clauses(5)), len(met.clauses(2))) == (2, 1, 2)
    met.add(narrow, 6)
    assert (len(met), len(met.clauses(6))) == (1, 1)
    met.add(Wall(narrow.ways, fewer_nights=4), 6)
    met.add(wide, 5)
    assert len(met) == 1


def test_ties_are_broken_by_the_part_id_number() -> None:
    """Many choices with equal sums: of each point the rows with the least number, as enumeration has it."""
    rng = random.Random(3)
    kinds = [[{c: rng.randint(0, 2) for c in "ab"} for _ in range(4)] for _ in range(4)]
    names = [group.name for group in plain_problem(kinds, []).groups]
    least: dict[tuple[int, ...], tuple[int, tuple[int, ...]]] = {}
    for rows in itertools.product(*(range(len(kind)) for kind in kinds)):
        sums = tuple(sum(kind[row][c] for kind, row in zip(kinds, rows, strict=True)) for c in "ab")
        number = sum(id_weight(name, str(row)) for name, row in zip(names, rows, strict=True))
        least[sums] = min(least.get(sums, (number, rows)), (number, rows))
    found = list(PlainFrontier(kinds, ["most:a", "most:b"], ties=True))
    assert len(found) > 2
    assert [choice.rows for choice in found] == [least[choice.values][1] for choice in found]


def test_one_number_for_two_goals_has_as_much_work_as_two_questions_took(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first question goes goal by goal, the next by one number; where that does not do, goal by goal again, and one
    number is tried more and more seldom. The points are the same.
    """
    rng = random.Random(4)
    kinds = [[{c: rng.randint(0, 5) for c in "abw"} for _ in range(5)] for _ in range(12)]
    limits = [Total("w", at_most=20)]
    works: list[float | None] = []
    stage = KitAsker.stage

    def noted(asker: KitAsker, objective: Any, value: Any, *others: Any, **named: Any) -> Any:
        works.append(named.get("work"))
        if named.get("work") is not None and starved:
            named["work"] = 0.0
        return stage(asker, objective, value, *others, **named)

    monkeypatch.setattr(KitAsker, "stage", noted)
    found = {}
    for starved in (False, True):
        works.clear()
        found[starved] = [choice.values for choice in PlainFrontier(kinds, ["most:a", "most:b"], limits)]
        assert works[:2] == [None, None]
        tried = [place for place, work in enumerate(works) if work is not None]
        assert tried[0] == 2
        waits = [later - earlier for earlier, later in itertools.pairwise(tried)]
        assert max(waits) > 4 if starved else set(waits) <= {1, 3}
    assert found[True] == found[False]
    assert len(found[True]) > 6


def test_one_of_a_kind_is_seen_to_be_alone() -> None:
    """Where no other choice is as good no second question is needed; where one is, it is asked."""
    kinds = [[{"a": 1, "b": 5}, {"a": 2, "b": 2}, {"a": 7, "b": 0}], [{"a": 3, "b": 3}, {"a": 9, "b": 9}]]
    axes = [column_axis(column, maximise=False, scale=1) for column in "ab"]
    asker = KitAsker(plain_problem(kinds, []), axes)
    assert asker.least((NO_BOUND,)).vector == (4, 8)
    assert asker.rounds == 3  # the question, goal by goal the first time, and that it is alone
    twins = KitAsker(plain_problem([*kinds, [{"a": 0}, {"a": 0}]], []), axes)
    assert twins.least((NO_BOUND,)).vector == (4, 8)
    assert twins.rounds == 4


def test_stopped_in_the_middle_the_bound_is_of_the_first_goal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wherever it is stopped the bound is told in the first goal's own steps, and never above the best there is."""
    rng = random.Random(5)
    kinds = [[{c: rng.randint(0, 99) for c in "ab"} for _ in range(12)] for _ in range(60)]
    axes = [column_axis(column, maximise=True, scale=1) for column in "ab"]
    best = -sum(max(row["a"] for row in rows) for rows in kinds)
    replies = []
    for effort in (1e-9, 1e-4, 1e-3, 1e-2):
        with monkeypatch.context() as patch:
            stop_each_solve_after(patch, effort)
            replies.append(KitAsker(plain_problem(kinds, []), axes).least((NO_BOUND,)))
    assert not replies[0].proven
    assert all(reply.bound is None or reply.bound <= best for reply in replies)
    whole = KitAsker(plain_problem(kinds, []), axes).least((NO_BOUND,))
    assert whole.vector is not None
    assert whole.vector[0] == best


def test_a_zone_rules_out_what_breaks_its_bound(tmp_path: Path) -> None:
    """Options too heavy for a zone are out of it, and only for it."""
    problem = open_job(folder_with(tmp_path)[0]).problem
    asker = KitAsker(problem, [NAMED["price"], NAMED["mass"]])
    first = asker.least((NO_BOUND,))
    assert first.vector is not None
    heavy = asker._impossible([asker.expressions[1] <= first.vector[1] - 1])
    assert asker.ruled_out < heavy
    for name, key in heavy - asker.ruled_out:
        assert problem.group(name).option(key).mass_g > 0
