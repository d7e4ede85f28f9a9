"""What a frontier is once it is found.

On the road: frontier -> words, tables, pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.frontier.goals import Axis
from optimizer.frontier.zones import NO_BOUND
from optimizer.job import Job
from optimizer.problem.records import Kit, Problem


@dataclass(frozen=True)
class Point:
    """One trade-off."""

    values: tuple[int, ...]
    """The goals in whole steps, less always better (a goal that wants more is negated; coverage is
    departures that fall short)."""
    kit: Kit
    knee: bool = False
    """Whether little is given for much just here."""
    neighbour: int | None = None
    """Place of the point it is compared with; None for the first."""
    changes: tuple[str, ...] = ()
    """What is different from the neighbour's kit."""


@dataclass(frozen=True, eq=False)
class Frontier:
    """Trade-offs in the order of the first goal, best first."""

    job: Job
    problem: Problem
    axes: tuple[Axis, ...]
    points: tuple[Point, ...]
    complete: bool
    """Whether every trade-off is there, or with gaps every one beyond them."""
    complete_below: int | None
    """When stopped early: every trade-off with less of ``sweep_goal`` than this is there."""
    sweep_goal: Axis
    gaps: tuple[str, ...] = ()
    """How much better, goal by goal, a trade-off left out may be; empty when none is left out."""
    undecided: int = 0
    """Kits passed over because it stayed open whether they fit their places."""
    departures: int = 0

    @property
    def proven(self) -> bool:
        """Whether every point is proven to be a trade-off."""
        return not self.undecided

    @property
    def edge(self) -> float | None:
        """When stopped early: ``complete_below`` in the unit of ``sweep_goal``; None where nothing is known yet."""
        below = self.complete_below
        return None if below is None or below <= -NO_BOUND else self.sweep_goal.shown(below)

    def shown(self, place: int, value: int) -> float:
        """A goal's number in its unit."""
        axis = self.axes[place]
        if axis.judged:
            return round(100 * (self.departures - value) / self.departures, 6)
        return axis.shown(value)

    def numbers(self, point: Point) -> tuple[float, ...]:
        """A point's goals in their units."""
        return tuple(self.shown(place, value) for place, value in enumerate(point.values))

    def __str__(self) -> str:
        from optimizer.frontier.telling import tell_frontier

        return tell_frontier(self)

    def _repr_html_(self) -> str:
        from optimizer.frontier.telling import as_html

        return as_html(self)
