"""The same method for bare integers: own kinds, own limits, own goals, no vehicle.

On the road: beside ``run``; for anyone with a table of choices and for holding the method against published
multi-objective results. From each kind exactly one row is chosen; columns are summed over the choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from optimizer.choosing.solve import Settings
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.goals import column_axis
from optimizer.frontier.zones import Sweep
from optimizer.problem.records import Goal, Group, Kit, Option, OwnLimitNeed, Problem

Row = Mapping[str, int]


@dataclass(frozen=True)
class Total:
    """A limit on the sum of a column."""

    column: str
    at_most: int | None = None
    at_least: int | None = None


@dataclass(frozen=True)
class Choice:
    """One trade-off: the goals' sums, and which row of each kind was chosen (counted from 0)."""

    values: tuple[int, ...]
    rows: tuple[int, ...]


class PlainFrontier:
    """Every trade-off between up to three sums.

    Parameters
    ----------
    kinds : for each kind its rows, each with whole numbers by column; a column left out is 0
    goals : 'most:COLUMN' or 'least:COLUMN', one to three
    limits : on sums of columns
    seconds : stop after so long; None = never
    ties : of equal sums take the choice with the least part-id number, so that rows are the same each time
    """

    def __init__(
        self,
        kinds: Sequence[Sequence[Row]],
        goals: Sequence[str],
        limits: Sequence[Total] = (),
        seconds: float | None = None,
        *,
        ties: bool = False,
    ) -> None:
        if not 1 <= len(goals) <= 3:
            raise ValueError("one to three goals")
        ways = [goal.split(":", 1) for goal in goals]
        if any(len(way) != 2 or way[0] not in ("most", "least") for way in ways):
            raise ValueError("a goal is 'most:COLUMN' or 'least:COLUMN'")
        self._signs = [-1 if way == "most" else 1 for way, _ in ways]
        problem = plain_problem(kinds, limits)
        axes = [column_axis(column, maximise=way == "most", scale=1) for way, column in ways]
        self._places = [{o.key: int(o.key) for o in group.options} for group in problem.groups]
        self._names = [group.name for group in problem.groups]
        asker = KitAsker(problem, axes, settings=Settings(seconds, sums_only=True), ties=ties)
        self._sweep: Sweep[Kit] = Sweep(len(axes), asker)

    def __iter__(self) -> Iterator[Choice]:
        """The trade-offs in the order of the first goal, best first, each as soon as it is proven."""
        for point in self._sweep.points():
            values = tuple(sign * value for sign, value in zip(self._signs, point.vector, strict=True))
            rows = tuple(
                places[point.thing.choices[name]] for places, name in zip(self._places, self._names, strict=True)
            )
            yield Choice(values, rows)

    @property
    def complete(self) -> bool:
        """Whether every trade-off has been given out."""
        return self._sweep.complete_below is None

    @property
    def questions(self) -> int:
        """Zones asked for so far."""
        return self._sweep.questions


def nondominated(
    kinds: Sequence[Sequence[Row]], goals: Sequence[str], limits: Sequence[Total] = ()
) -> list[Choice]:
    """Every trade-off, all at once; see ``PlainFrontier``."""
    return list(PlainFrontier(kinds, goals, limits))


def plain_problem(kinds: Sequence[Sequence[Row]], limits: Sequence[Total]) -> Problem:
    """Kinds and limits as a problem with no rule but own limits."""
    digits = max((len(str(len(rows))) for rows in kinds), default=1)
    groups = []
    for number, rows in enumerate(kinds):
        options = tuple(_option(f"{place:0{digits}d}", row) for place, row in enumerate(rows))
        groups.append(Group(f"kind {number:05d}", f"own:k{number}", options, needed=True))
    goal = Goal("cheapest", "", 1)
    return Problem(
        groups=tuple(groups), owned=(), voltages=(12,), nights=(1,), months=(1,), needs={}, goal=goal, tie_break=goal,
        rules=("own_limit",),
        own_limits=tuple(OwnLimitNeed(t.column, t.column, "", t.at_most, t.at_least) for t in limits),
    )


def _option(key: str, row: Row) -> Option:
    amounts = {f"column_{name}": value for name, value in row.items() if value}
    amounts |= {f"column_{name}_down": value for name, value in row.items() if value}
    return Option(key, (), amounts=amounts)
