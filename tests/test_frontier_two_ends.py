"""Two goals from both ends: whoever pauses when, the points are those that nothing is better than in both."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from hypothesis import given
from hypothesis import strategies as st

from optimizer.choosing.solve import Answer
from optimizer.frontier.question import Paused
from optimizer.frontier.two_ends import Ask, Pause, TwoEnds
from optimizer.frontier.zones import NO_BOUND, Reply, Sweep, Vector
from optimizer.problem.records import Kit

POINTS = st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)), max_size=25)


def kit_of(vector: Vector) -> Kit:
    return Kit({"first": str(vector[0]), "second": str(vector[1])}, 12, 1)


def vector_of(kit: Kit) -> Vector:
    return int(kit.choices["first"]), int(kit.choices["second"])


def end(points: Sequence[Vector], order: tuple[int, int], pauses: Callable[[], bool]) -> Ask:
    """The least point within limits by one goal, then the other; sometimes it pauses."""

    def ask(limits: Sequence[int], pause: Pause | None) -> Answer:
        if pause is not None and pauses():
            return Paused("unproven", None, None, None)
        inside = [p for p in points if p[0] <= limits[0] and p[1] <= limits[1]]
        if not inside:
            return Answer("impossible", None, None, None)
        best = min(inside, key=lambda point: (point[order[0]], point[order[1]]))
        return Answer("proven", kit_of(best), 0, 0)

    return ask


class Asking:
    """What a sweep asks: the zone below a corner."""

    def __init__(self, ends: TwoEnds) -> None:
        self.ends = ends

    def least(self, corner: tuple[int, ...]) -> object:
        return self.ends.least([NO_BOUND, corner[0] - 1 if corner[0] < NO_BOUND else NO_BOUND])


def swept(points: Sequence[Vector], pauses: list[bool], gap: int = 0) -> tuple[list[Vector], bool]:
    left = list(pauses)
    ends = TwoEnds(
        end(points, (0, 1), lambda: bool(left) and left.pop()), end(points, (1, 0), lambda: bool(left) and left.pop()),
        lambda kit: kit, vector_of,
    )  # fmt: skip
    sweep: Sweep[Kit] = Sweep(2, Asking(ends), (lambda place, value: gap) if gap else None)  # type: ignore[arg-type]
    found = [taken.vector for taken in sweep.points()]
    assert all(vector_of(taken.thing) == taken.vector for taken in sweep.taken)
    return found, sweep.complete_below is None


def unbeaten(points: Sequence[Vector]) -> list[Vector]:
    return sorted({p for p in points if not any(q != p and q[0] <= p[0] and q[1] <= p[1] for q in points)})


@given(points=POINTS, pauses=st.lists(st.booleans(), max_size=40))
def test_every_point_is_found_in_order_whoever_pauses(points: list[Vector], pauses: list[bool]) -> None:
    assert swept(points, pauses) == (unbeaten(points), True)


@given(points=POINTS, pauses=st.lists(st.booleans(), max_size=40), gap=st.integers(1, 5))
def test_with_a_gap_the_same_points_as_from_one_end(points: list[Vector], pauses: list[bool], gap: int) -> None:
    assert swept(points, pauses, gap) == swept(points, [], gap)


def test_an_answer_without_proof_ends_the_sweep_with_its_bound() -> None:
    def stopped(limits: Sequence[int], pause: Pause | None) -> Answer:
        return Answer("unproven", None, None, 3)

    ends = TwoEnds(stopped, stopped, lambda kit: kit, vector_of)
    sweep: Sweep[Kit] = Sweep(2, Asking(ends))  # type: ignore[arg-type]
    assert (list(sweep.points()), sweep.complete_below, sweep.stopped) == ([], 3, True)


def test_the_other_end_has_its_turn_only_where_the_first_pauses() -> None:
    turns: list[str] = []

    def named(name: str, ask: Ask) -> Ask:
        def told(limits: Sequence[int], pause: Pause | None) -> Answer:
            turns.append(name)
            return ask(limits, pause)

        return told

    points, pauses = [(1, 5), (2, 4), (5, 1)], [False, True]
    near = named("near", end(points, (0, 1), lambda: bool(pauses) and pauses.pop()))
    far = named("far", end(points, (1, 0), lambda: False))
    ends = TwoEnds(near, far, lambda kit: kit, vector_of)
    assert ends.least([NO_BOUND, NO_BOUND]).vector == (1, 5)
    assert turns == ["near", "far", "near"]
    assert [ends.least([NO_BOUND, second - 1]).vector for second in (5, 4, 1)] == [(2, 4), (5, 1), None]


def test_points_at_the_far_end_that_a_gap_leaves_out_are_passed_over() -> None:
    points, pauses = [(1, 9), (4, 5), (5, 3), (9, 0)], [True, True, True, True]
    near = end(points, (0, 1), lambda: bool(pauses) and pauses.pop())
    ends = TwoEnds(near, end(points, (1, 0), lambda: False), lambda kit: kit, vector_of)
    assert ends.least([NO_BOUND, NO_BOUND]).vector == (1, 9)
    assert [ends.least([NO_BOUND, second]).vector for second in (3, 2, -1)] == [(5, 3), (9, 0), None]


class Elsewhere:
    """The other end, asked somewhere else: its answers come when ``late`` says so, to what was asked by then."""

    def __init__(self, points: Sequence[Vector], late: Callable[[], bool], dies: Callable[[], bool]) -> None:
        self.works = True
        self.given = 0
        self._ask, self._late, self._dies = end(points, (1, 0), lambda: False), late, dies
        self._within: tuple[int, ...] | None = None

    def has_news(self) -> bool:
        return self._within is not None and not self._late()

    def news(self, limits: Sequence[int]) -> Reply[Kit] | None:
        if self._dies():
            self.works = False
            return None
        reply: Reply[Kit] | None = None
        if self._within is not None and all(a >= b for a, b in zip(self._within, limits, strict=True)):
            kit = self._ask(self._within, None).kit
            reply = Reply(None) if kit is None else Reply(vector_of(kit), kit)
            self.given += 1
        self._within = (limits[0] if reply is None or reply.vector is None else reply.vector[0] - 1, limits[1])
        return reply


def drawn(words: list[bool]) -> Callable[[], bool]:
    left = list(words)
    return lambda: bool(left) and left.pop()


@given(
    points=POINTS, pauses=st.lists(st.booleans(), max_size=40), late=st.lists(st.booleans(), max_size=40),
    dies=st.lists(st.sampled_from((False, False, False, True)), max_size=10), gap=st.integers(0, 4),
)  # fmt: skip
def test_every_point_is_found_whenever_the_other_end_answers(
    points: list[Vector], pauses: list[bool], late: list[bool], dies: list[bool], gap: int
) -> None:
    """The first end pauses at any time, as it would for news; answers are to what was asked long ago, or never come."""
    near = end(points, (0, 1), drawn(pauses))
    ends = TwoEnds(near, end(points, (1, 0), lambda: False), lambda kit: kit, vector_of)
    ends.other = Elsewhere(points, drawn(late), drawn(dies))
    sweep: Sweep[Kit] = Sweep(2, Asking(ends), (lambda place, value: gap) if gap else None)  # type: ignore[arg-type]
    assert [taken.vector for taken in sweep.points()] == swept(points, [], gap)[0]
    assert sweep.complete_below is None


def test_points_from_elsewhere_are_taken_up_and_not_asked_for_again() -> None:
    points = [(1, 9), (4, 5), (5, 3), (9, 0)]
    asked: list[tuple[int, ...]] = []
    near = end(points, (0, 1), lambda: False)

    def counted(limits: Sequence[int], pause: Pause | None) -> Answer:
        asked.append(tuple(limits))
        return near(limits, pause)

    ends = TwoEnds(counted, end(points, (1, 0), lambda: False), lambda kit: kit, vector_of)
    ends.other = other = Elsewhere(points, lambda: False, lambda: False)
    assert [ends.least([NO_BOUND, second]).vector for second in (NO_BOUND, 8, 4, 2, -1)] == [*points, None]
    assert other.given > 1
    assert len(asked) < len(points)
