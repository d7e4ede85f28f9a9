"""The method alone, on lists of points: nothing missed, and what gaps leave out is hardly better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.frontier.zones import Corner, Reply, Sweep, Vector


@dataclass
class Listed:
    """Answers from a list."""

    points: list[Vector]
    limit: int | None = None
    asked: int = 0

    def least(self, corner: Corner) -> Reply[str]:
        """The least of those below the corner; no answer after ``limit`` questions."""
        self.asked += 1
        if self.limit is not None and self.asked > self.limit:
            return Reply(None, proven=False)
        inside = [p for p in self.points if all(v < c for v, c in zip(p[1:], corner, strict=True))]
        best = min(inside, key=lambda p: (p[0], sum(p[1:]), p), default=None)
        return Reply(best, "it")


def nondominated(points: list[Vector]) -> set[Vector]:
    """By comparing each with each."""
    return {
        p for p in points
        if not any(q != p and all(a <= b for a, b in zip(q, p, strict=True)) for q in points)
    }


SMALL = st.integers(-4, 6)
POINTS = st.one_of(*(st.lists(st.tuples(*[SMALL] * goals), max_size=40) for goals in (1, 2, 3, 4)))


@settings(deadline=None, max_examples=400)
@given(points=POINTS)
def test_every_point_once_in_order_and_few_questions(points: list[Vector]) -> None:
    """Any list: each non-dominated point comes once, by the first goal, for at most twice as many questions and one."""
    goals = len(points[0]) if points else 2
    sweep = Sweep(goals, Listed(points))
    found = [taken.vector for taken in sweep.points()]
    assert set(found) == nondominated(points)
    assert len(found) == len(set(found))
    assert [v[0] for v in found] == sorted(v[0] for v in found)
    assert sweep.complete_below is None
    if goals <= 3:
        assert sweep.questions <= 2 * len(found) + 1


@dataclass
class Crowded(Listed):
    """Answers for several zones at once."""

    many: int = 2
    at_once: int = 0

    def least_each(self, corners: Sequence[Corner]) -> list[Reply[str]]:
        """In turn, which nobody sees from outside."""
        assert 1 < len(corners) <= self.many
        assert len(set(corners)) == len(corners)
        self.at_once += 1
        return [self.least(corner) for corner in corners]


@settings(deadline=None, max_examples=300)
@given(points=POINTS, many=st.integers(1, 4), gap=st.integers(0, 3))
def test_several_zones_at_once_say_the_same_as_one_after_another(points: list[Vector], many: int, gap: int) -> None:
    goals = len(points[0]) if points else 2
    step = (lambda place, value: gap) if gap else None
    alone, crowd = Sweep(goals, Listed(points), step), Crowded(points, many=many)
    together = Sweep(goals, crowd, step, crowd)
    assert [taken.vector for taken in together.points()] == [taken.vector for taken in alone.points()]
    assert together.complete_below is None


def test_zones_are_asked_about_at_once_where_there_are_several() -> None:
    points = [(k, 9 - k, (k * 7) % 10) for k in range(10)]
    crowd = Crowded(points, many=3)
    assert len(list(Sweep(3, crowd, None, crowd).points())) == 10
    assert crowd.at_once > 2


def test_one_answer_without_proof_among_several_stops_but_loses_none() -> None:
    points = [(k, 9 - k, (k * 7) % 10) for k in range(10)]
    crowd = Crowded(points, limit=4, many=2)
    sweep = Sweep(3, crowd, None, crowd)
    found = [taken.vector for taken in sweep.points()]
    assert sweep.stopped
    assert sweep.complete_below is not None
    assert {p for p in nondominated(points) if p[0] < sweep.complete_below} <= set(found)
    assert set(found) < nondominated(points)


@settings(deadline=None, max_examples=300)
@given(points=POINTS, gap=st.integers(0, 5))
def test_gaps_leave_out_only_what_is_hardly_better(points: list[Vector], gap: int) -> None:
    """What is listed is non-dominated; what is not is at most the gap better than one that has no more of the first."""
    goals = len(points[0]) if points else 2
    sweep = Sweep(goals, Listed(points), lambda place, value: gap)
    found = [taken.vector for taken in sweep.points()]
    assert set(found) <= nondominated(points)
    for point in points:
        assert any(
            f[0] <= point[0] and all(a <= b + gap for a, b in zip(f[1:], point[1:], strict=True)) for f in found
        )


@settings(deadline=None, max_examples=300)
@given(points=POINTS, limit=st.integers(0, 8))
def test_stopped_early_the_range_said_complete_is(points: list[Vector], limit: int) -> None:
    """Below the edge nothing is missing, whenever the answers stop."""
    goals = len(points[0]) if points else 2
    sweep = Sweep(goals, Listed(points, limit))
    found = {taken.vector for taken in sweep.points()}
    every = nondominated(points)
    assert found <= every
    edge = sweep.complete_below
    assert (edge is None) == (not sweep.stopped)
    assert {p for p in every if edge is None or p[0] < edge} <= found
