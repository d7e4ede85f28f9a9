"""Frontiers over bare integers equal plain exhaustive search, with two and with three goals."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import pytest
from stopping import stop_each_solve_after

from optimizer.frontier.plain import PlainFrontier, Total, nondominated

WORLDS = 220
Kinds = list[list[dict[str, int]]]


def world(seed: int) -> tuple[Kinds, list[str], list[Total]]:
    """A few kinds of a few rows with small numbers, so that sums tie often."""
    rng = random.Random(seed)
    goals = [f"{rng.choice(('most', 'least'))}:{column}" for column in "abc"[: 2 + seed % 2]]
    top = rng.choice((3, 9, 30))
    kinds = [
        [{column: rng.randint(-2, top) for column in "abcde"} for _ in range(rng.randint(2, 4))]
        for _ in range(rng.randint(2, 6))
    ]
    middle = len(kinds) * top / 2
    limits = [Total("d", at_most=round(middle * rng.uniform(0.8, 1.4)))]
    limits += [Total("e", at_least=round(middle * rng.uniform(0.3, 0.9)))] * rng.randint(0, 1)
    return kinds, goals, limits


def enumerated(kinds: Kinds, goals: Sequence[str], limits: Sequence[Total]) -> set[tuple[int, ...]]:
    """Every choice looked at; a point stays when no other is at least as good in all goals."""
    points = set()
    for rows in itertools.product(*kinds):
        total = {column: sum(row[column] for row in rows) for column in "abcde"}
        if all(
            (limit.at_most is None or total[limit.column] <= limit.at_most)
            and (limit.at_least is None or total[limit.column] >= limit.at_least)
            for limit in limits
        ):
            points.add(tuple(total[goal[-1]] for goal in goals))

    def no_worse(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
        pairs = zip(one, other, goals, strict=True)
        return all(a >= b if goal.startswith("most") else a <= b for a, b, goal in pairs)

    return {p for p in points if not any(q != p and no_worse(q, p) for q in points)}


def test_frontiers_equal_enumeration() -> None:
    """Nothing missed, nothing dominated, nothing twice, in the order of the first goal, within the known cost."""
    sizes: dict[int, list[int]] = {2: [], 3: []}
    for seed in range(WORLDS):
        kinds, goals, limits = world(seed)
        frontier = PlainFrontier(kinds, goals, limits)
        found = [choice.values for choice in frontier]
        assert set(found) == enumerated(kinds, goals, limits), seed
        assert len(found) == len(set(found))
        first = [values[0] for values in found]
        assert first == sorted(first, reverse=goals[0].startswith("most"))
        assert frontier.complete
        assert frontier.questions <= 2 * len(found) + 1
        sizes[len(goals)].append(len(found))
    for goals_count in (2, 3):  # worth something only if frontiers are long enough, and some are empty
        assert sum(size >= 4 for size in sizes[goals_count]) >= 25
        assert 0 in sizes[goals_count]


def test_rows_add_up_to_the_values() -> None:
    """The choice that comes with a point is one that has its sums."""
    kinds, goals, limits = world(3)
    for choice in nondominated(kinds, goals, limits):
        picked = [rows[place] for rows, place in zip(kinds, choice.rows, strict=True)]
        assert choice.values == tuple(sum(row[goal[-1]] for row in picked) for goal in goals)


def test_equal_sums_always_give_the_same_rows() -> None:
    """With ties broken, the order in which the kinds' twin rows are asked about plays no part."""
    kinds = [[{"a": 1, "b": 1}] * 3, [{"a": 0, "b": 2}, {"a": 2, "b": 0}]]
    runs = {tuple(PlainFrontier(kinds, ["least:a", "least:b"], ties=True)) for _ in range(3)}
    assert len(runs) == 1


def test_numbers_too_large_to_join_are_asked_one_after_another() -> None:
    """Numbers near a billion leave no room for a joined objective; the answer is the same."""
    kinds, goals, limits = world(11)
    large = [[{c: v * 400_000_000 for c, v in row.items()} for row in rows] for rows in kinds]
    wide = [Total(t.column, *(None if b is None else b * 400_000_000 for b in (t.at_most, t.at_least))) for t in limits]
    small = [c.values for c in nondominated(kinds, goals, limits)]
    assert len(small) > 2
    assert [tuple(v // 400_000_000 for v in c.values) for c in nondominated(large, goals, wide)] == small


def test_time_that_is_over_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without time there is no complete frontier, and it does not claim to be."""
    rng = random.Random(1)
    kinds = [[{c: rng.randint(0, 99) for c in "abd"} for _ in range(10)] for _ in range(60)]
    stop_each_solve_after(monkeypatch, 1e-9)
    frontier = PlainFrontier(kinds, ["most:a", "least:b"], [Total("d", at_most=2400)])
    list(frontier)
    assert not frontier.complete


@pytest.mark.parametrize("goals", [[], ["most:a", "most:b", "most:c", "most:d"], ["more:a"], ["a"]])
def test_goals_that_are_none(goals: list[str]) -> None:
    """One to three goals, each with its direction."""
    with pytest.raises(ValueError, match="goal"):
        PlainFrontier([[{"a": 1}]], goals)


@pytest.mark.long
def test_hundreds_of_kinds() -> None:
    """300 kinds of 20 rows: the frontier's points are each feasible and none dominates another."""
    rng = random.Random(2)
    kinds = [[{c: rng.randint(0, 99) for c in "abd"} for _ in range(20)] for _ in range(300)]
    frontier = PlainFrontier(kinds, ["most:a", "least:b"], [Total("d", at_most=15_000)], seconds=30)
    found = [choice.values for choice in frontier]
    assert len(found) > 3
    for one, other in itertools.pairwise(found):
        assert other[0] < one[0]
        assert other[1] < one[1]
