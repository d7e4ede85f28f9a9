"""A job's frontier: its goals, its trips, its places, and how much of it is asked for.

On the road: job -> *frontier* -> words, tables, pictures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from optimizer.errors import UsageError
from optimizer.frontier.goals import Axis, axes_of, with_goals
from optimizer.frontier.records import Frontier, Point
from optimizer.frontier.zones import NO_BOUND
from optimizer.job import Job
from optimizer.quantities import QuantityError, quantity
from optimizer.showing import System, show

if TYPE_CHECKING:
    from optimizer.choosing.solve import Settings
    from optimizer.choosing.store import LevelStore
    from optimizer.frontier.zones import Sweep
    from optimizer.problem.records import Kit

Gap = Callable[[int, int], int]


@dataclass(frozen=True)
class Wanted:
    """Which part of a frontier is wanted."""

    within: str = ""
    """Leave out what is hardly better: '2%', or goals with steps such as 'mass=5,roof=0.2' or 'mass=10 lb'."""
    at_most: int | None = None
    """No more points than this, spread over the range."""


def find_frontier(
    job: Job,
    goals: Sequence[str],
    wanted: Wanted | None = None,
    settings: Settings | None = None,
    store: LevelStore | None = None,
    on_point: Callable[[Frontier, Point], None] | None = None,
    report: Callable[[str], None] | None = None,
    workers: int = 1,
) -> Frontier:
    """Every trade-off of a job over two or three goals.

    Parameters
    ----------
    goals : names as in ``goals.NAMED``, 'most:COLUMN' or 'least:COLUMN'
    wanted : which part of it; all when left out
    settings : ``seconds`` counts for the whole frontier
    store : levels learnt earlier and later
    on_point : is told each point as soon as it is proven, with a frontier that knows its units
    report : is told in a few words what is going on
    workers : processes on this machine; two goals take two at most. A script that uses more than one needs the usual
        ``if __name__ == "__main__":``

    Raises
    ------
    UsageError
        For goals that are none, or coverage where the brief asks for no trips.
    """
    return _Finder(job, axes_of(goals), wanted or Wanted(), settings, store, on_point, report, workers).run()


class _Finder:
    def __init__(
        self,
        job: Job,
        axes: tuple[Axis, ...],
        wanted: Wanted,
        settings: Settings | None,
        store: LevelStore | None,
        on_point: Callable[[Frontier, Point], None] | None,
        report: Callable[[str], None] | None,
        workers: int,
    ) -> None:
        from optimizer.choosing.solve import Settings
        from optimizer.choosing.store import LevelStore
        from optimizer.frontier.hands import Together
        from optimizer.frontier.making import Making, smaller
        from optimizer.job import places_for

        if job.brief.trip.coverage is None and any(axis.judged for axis in axes):
            raise UsageError("Coverage can be a goal only where the brief asks for trips: give trip.coverage.")
        if wanted.at_most is not None and wanted.within:
            raise UsageError("Give --within or --at-most, not both.")
        self.job, self.axes, self.wanted, self._on_point = job, axes, wanted, on_point
        # Only trips know coverage, so it cannot be what the solver makes small first.
        self._order = sorted(range(len(axes)), key=lambda place: (axes[place].judged, place))
        self._inner = [axes[place] for place in self._order]
        self._step = _steps(wanted.within, self._inner)
        self.problem = with_goals(job.problem, job.catalog, axes, job.brief.trip.nights_at_most)
        asked = job.brief.trip.coverage is not None
        making = Making(
            smaller(self.problem, self._inner), tuple(self._inner), job.scene if asked else None,
            job.allowed_short if asked else 0, settings or Settings(),
        )  # fmt: skip
        store = store if store is not None else LevelStore()
        self._places = places_for(making.problem)
        self._asker = making.asker(self._places, store, report)
        self._together = Together(making, self._asker, store, workers)
        self._blank = Frontier(
            job, self.problem, axes, (), False, None, self._inner[0],
            departures=int(job.scene.departures.size) if asked else 0,
        )

    def run(self) -> Frontier:
        with self._together:
            if self.wanted.at_most is None:
                return self._sweep(self._step, self._on_point)
            return self._spread(self.wanted.at_most)

    def _sweep(self, gap: Gap | None, on_point: Callable[[Frontier, Point], None] | None) -> Frontier:
        from optimizer.frontier.shape import finished
        from optimizer.frontier.zones import Sweep

        sweep: Sweep[Kit] = Sweep(len(self.axes), self._together, gap, self._together)
        try:
            for taken in sweep.points():
                if on_point is not None:
                    on_point(self._blank, Point(self._outward(taken.vector), taken.thing))
        except KeyboardInterrupt:
            pass  # the sweep knows how far it came
        points = [Point(self._outward(taken.vector), self._with_places(taken.thing)) for taken in sweep.taken]
        points.sort(key=lambda point: point.values)
        return self._closed(sweep, finished(self.problem, points))

    def _closed(self, sweep: Sweep[Kit], points: tuple[Point, ...]) -> Frontier:
        return replace(
            self._blank,
            points=points,
            complete=sweep.complete_below is None,
            complete_below=sweep.complete_below,
            gaps=_gap_words(self.wanted.within, self._inner, self.job.brief.units) if self.wanted.within else (),
            undecided=self._together.undecided + (self._places.undecided if self._places is not None else 0),
        )

    def _outward(self, vector: Sequence[int]) -> tuple[int, ...]:
        """Inner order of goals back to the order asked for."""
        values = dict(zip(self._order, vector, strict=True))
        return tuple(values[place] for place in range(len(self.axes)))

    def _with_places(self, kit: Kit) -> Kit:
        if self._places is None:
            return kit
        from optimizer.places.finding import placed

        return placed(self.problem, kit)

    # -- so many points at most -----------------------------------------------------------------

    def _spread(self, most: int) -> Frontier:
        """At most so many points: cells over the range, one point a cell, made coarser until they suffice."""
        if most < 1:
            raise UsageError("--at-most needs a number from 1 on.")
        try:
            cells = self._cells(most)
        except KeyboardInterrupt:
            return replace(self._blank, complete_below=-NO_BOUND)
        while True:
            found = self._sweep(partial(_within_cell, tuple(cells)), None)
            if not found.complete:
                found = self._first(found, most)
            if len(found.points) <= most:
                break
            cells = [2 * cell for cell in cells]
        gaps = tuple(
            f"{_amount(axis, cell - 1, self.job.brief.units)} in {axis.called}"
            for axis, cell in zip(self._inner[1:], cells[1:], strict=True) if cell > 1
        )
        if self._on_point is not None:
            for point in found.points:
                self._on_point(self._blank, point)
        return replace(found, gaps=gaps)

    def _first(self, found: Frontier, most: int) -> Frontier:
        """Of a frontier stopped early no more than so many points, the first; complete as far as they go."""
        from optimizer.frontier.shape import finished

        place = self._order[0]
        ordered = sorted(found.points, key=lambda point: (point.values[place], point.values))
        if len(ordered) <= most:
            return found
        kept = sorted(ordered[:most], key=lambda point: point.values)
        return replace(
            found, points=finished(self.problem, kept), complete_below=ordered[most].values[place],
        )

    def _cells(self, most: int) -> list[int]:
        """Size of a cell, goal by goal (the first has none)."""
        each = most if len(self.axes) == 2 else max(1, math.isqrt(most))
        known = [vector for place in range(len(self.axes)) if (vector := self._asker.extreme(place)) is not None]
        cells = [1]
        for place in range(1, len(self.axes)):
            values = [vector[place] for vector in known] + ([0] if self._inner[place].judged else [])
            span = max(values) - min(values) + 1 if values else 1
            cells.append(max(1, -(-span // each)))
        return cells


def _within_cell(cells: Sequence[int], place: int, _: int) -> int:
    return cells[place] - 1


def _steps(within: str, axes: Sequence[Axis]) -> Gap | None:
    """The gap that ``--within`` asks for; None when it asks for none. Raises UsageError."""
    if not within:
        return None
    share = _share(within)
    if share is not None:
        part = share
        return lambda place, value: math.floor(abs(value) * part) if not axes[place].judged else 0
    steps = dict(_named_steps(within, axes))
    return lambda place, _: steps.get(place, 0)


def _share(within: str) -> float | None:
    if not within.endswith("%"):
        return None
    try:
        share = float(within.removesuffix("%")) / 100
    except ValueError:
        share = -1.0
    if not 0 < share < 1:
        raise UsageError(f"--within '{within}': expected a share such as 2%, between 0 and 100 %.")
    return share


def _named_steps(within: str, axes: Sequence[Axis]) -> list[tuple[int, int]]:
    places = {axis.slug: place for place, axis in enumerate(axes)}
    steps = []
    for word in within.split(","):
        name, _, number = word.partition("=")
        name = name.strip()
        if places.get(name, 0) == 0:
            others = " or ".join(axis.slug for axis in axes[1:] if not axis.judged)
            steps_for = f", or steps for {others}" if others else ""
            first = f"; {name} comes first and takes none" if name in places else ""
            raise UsageError(f"--within '{within}': expected a share such as 2%{steps_for}{first}.")
        axis = axes[places[name]]
        try:
            size = quantity(number.strip(), axis.unit) if axis.unit else float(number)
            step = math.floor(round(size * axis.scale, 6))
        except QuantityError as error:
            raise UsageError(f"--within '{within}', {name}: expected {error}. {error.remedy}".rstrip()) from error
        except (ValueError, OverflowError) as error:
            raise UsageError(f"--within '{within}': '{number}' is no number.") from error
        if step < 0 or axis.judged:
            raise UsageError(f"--within '{within}': a step is a number from 0 on, and coverage takes none.")
        steps.append((places[name], step))
    return steps


def _gap_words(within: str, axes: Sequence[Axis], units: System) -> tuple[str, ...]:
    if within.endswith("%"):
        return tuple(f"{within} in {axis.called}" for axis in axes[1:] if not axis.judged)
    steps = _named_steps(within, axes)
    return tuple(f"{_amount(axes[place], step, units)} in {axes[place].called}" for place, step in steps)


def _amount(axis: Axis, step: int, units: System) -> str:
    """A step in words, rounded up: no more than that is left out."""
    return show(step, "departures") if axis.judged else show(step / axis.scale, axis.unit, units, up=True)
