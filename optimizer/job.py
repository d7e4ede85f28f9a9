"""The whole road as functions: read a brief with its catalog and weather, choose, replay.

On the road: ties the rooms together for the commands and for notebooks; no rule, formula or sentence
of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.brief.brief import Brief
from optimizer.check import Verdict, check
from optimizer.errors import Fault, FaultsFound
from optimizer.parts.catalog import Catalog
from optimizer.problem.records import Kit, Problem
from optimizer.weather.year import WeatherYear

if TYPE_CHECKING:
    from optimizer.choosing.choose import Outcome
    from optimizer.choosing.lifting import Lifter
    from optimizer.choosing.solve import Settings
    from optimizer.choosing.store import LevelStore
    from optimizer.places.judge import Places
    from optimizer.trips.replay import Replay
    from optimizer.trips.scene import Scene


@dataclass(frozen=True, eq=False)
class Job:
    """A brief with everything it names, read and checked."""

    brief: Brief
    catalog: Catalog
    years: tuple[WeatherYear, ...]
    file: str = "brief"
    base: Path = Path()
    """Folder that the brief's relative paths start from."""

    @cached_property
    def problem(self) -> Problem:
        """What may be chosen. Raises FaultsFound where brief and catalog do not meet."""
        from optimizer.brief.reading import with_lines
        from optimizer.problem.build import build_problem

        try:
            return build_problem(self.brief, self.catalog, self.years, self.file)
        except FaultsFound as found:
            raise with_lines(found, Path(self.file)) from None

    @cached_property
    def scene(self) -> Scene:
        """The hours and departures of the trips."""
        from optimizer.trips.scene import build_scene

        panels = self.catalog.parts["solar_panel"]
        classes = {(p.power_coefficient_pct_k, p.noct_c) for p in panels}  # type: ignore[attr-defined]
        return build_scene(self.brief, self.years, sorted(classes))

    @property
    def allowed_short(self) -> int:
        """How many departures may fall short under the coverage asked for."""
        departures = int(self.scene.departures.size)
        coverage = self.brief.trip.coverage
        assert coverage is not None
        return departures - math.ceil(round(departures * coverage / 100, 9))


@dataclass(frozen=True, eq=False)
class Result:
    """What choosing brought, with the plain check and, where trips were asked for, their replay."""

    job: Job
    outcome: Outcome
    verdict: Verdict | None
    replay: Replay | None
    undecided: int = 0
    """Kits left aside though it was not decided whether they fit; then nothing is proven."""

    @property
    def kit(self) -> Kit | None:
        """The kit, if there is one."""
        return self.outcome.kit


def open_job(path: Path) -> Job:
    """Read a brief, its catalogs and its weather years.

    Raises
    ------
    FaultsFound
        With every fault of every file.
    """
    from optimizer.brief.reading import read_brief
    from optimizer.rules import limit_names

    try:
        brief = read_brief(path, limit_names())
    except FaultsFound as found:
        raise FaultsFound([*found.faults, *_faults_beside(path, {fault.place for fault in found.faults})]) from None
    return job_of(brief, str(path), path.parent)


def _faults_beside(path: Path, blamed: set[str]) -> tuple[Fault, ...]:
    """Faults of the catalogs and weather years that a faulty brief names, but for names that are ``blamed`` already."""
    from optimizer.brief.partial import partial
    from optimizer.brief.reading import brief_data

    try:
        brief = partial(Brief, brief_data(path), frozenset())
        told = {name for n, name in enumerate(brief.place.weather, 1) if f"place.weather[{n}]" in blamed}
        read_files(brief, path.parent)
    except FaultsFound as found:
        return tuple(fault for fault in found.faults if fault.file != str(path) and fault.file not in told)
    except AttributeError:  # what names them is itself at fault
        return ()
    return ()


def job_of(brief: Brief, file: str = "brief", base: Path | None = None) -> Job:
    """A brief already read, with its catalogs and weather years. Raises FaultsFound."""
    catalog, years = read_files(brief, base or Path())
    return Job(brief, catalog, years, file, base or Path())


def read_files(brief: Brief, base: Path) -> tuple[Catalog, tuple[WeatherYear, ...]]:
    """The catalogs and weather years that a brief names. Raises FaultsFound with every fault of all of them."""
    from optimizer.parts.reading import read_catalog
    from optimizer.weather.reading import read_year

    faults: list[FaultsFound] = []
    catalog: Catalog | None = None
    try:
        catalog = read_catalog(brief.catalogs, brief.preferences.own_kinds, base)
    except FaultsFound as found:
        faults.append(found)
    years = []
    for spec in brief.place.weather:
        try:
            years.append(read_year(spec, base))
        except FaultsFound as found:
            faults.append(found)
    if faults or catalog is None:
        raise FaultsFound(fault for found in faults for fault in found.faults)
    return catalog, tuple(years)


def remarks(job: Job) -> list[str]:
    """What is odd about a brief and its weather though nothing is wrong with either, a sentence each."""
    from optimizer.brief.oddities import oddities
    from optimizer.problem.season import season_of
    from optimizer.weather.plausible import hints

    odd = oddities(job.brief, season_of(job.brief, job.years).coldest_hour_c)
    return odd + [hint.sentence() for year in job.years for hint in hints(year)]


def choose_kit(
    job: Job,
    settings: Settings | None = None,
    store: LevelStore | None = None,
    report: Callable[[str], None] | None = None,
) -> Result:
    """The best kit for a job, proven, with its check and its trips."""
    from optimizer.choosing.choose import choose
    from optimizer.choosing.order import order_of
    from optimizer.problem.dominance import without_dominated

    problem = job.problem
    smaller = without_dominated(problem, order_of(problem)).problem
    lifter = lifter_for(job, smaller, store)
    places = places_for(smaller)
    judges = [judge for judge in (lifter, places) if judge is not None]
    known = lifter.known() if lifter is not None else []
    start = _best_of(store.kits, smaller) if store is not None else None
    outcome = settled(choose(smaller, judges, settings, known, report, start=start), problem, places)
    if store is not None and outcome.kit is not None:
        store.add_kits([outcome.kit])
    undecided = places.undecided if places is not None else 0
    if outcome.kit is None:
        return Result(job, outcome, None, None, undecided)
    replay = replay_kit(job, outcome.kit) if lifter else None
    return Result(job, outcome, check(problem, outcome.kit), replay, undecided)


def _best_of(kits: Iterable[Kit], problem: Problem) -> Kit | None:
    """The best of those kits that a problem has the options for and whose rules they keep."""
    from optimizer.choosing.aims import goal_number

    kept = [kit for kit in kits if check(problem, kit).ok]
    return min(kept, key=lambda kit: goal_number(problem, kit, problem.goal), default=None)


def places_for(problem: Problem) -> Places | None:
    """The judge of places for a problem; None when nothing of it needs a place."""
    from optimizer.places.judge import Places

    return Places(problem) if problem.space is not None else None


def settled(outcome: Outcome, problem: Problem, places: Places | None) -> Outcome:
    """The outcome with places in its kit; not proven where it was not decided whether some kit fits."""
    if places is None:
        return outcome
    from optimizer.places.finding import placed

    if outcome.kit is not None:
        outcome = replace(outcome, kit=placed(problem, outcome.kit))
    return replace(outcome, status="unproven", bound=None) if places.undecided else outcome


def lifter_for(job: Job, problem: Problem, store: LevelStore | None = None) -> Lifter | None:
    """The judge of trips for a problem of this job; None when the brief asks for no trips."""
    if job.brief.trip.coverage is None:
        return None
    from optimizer.choosing.effects import Effects
    from optimizer.choosing.lifting import Lifter
    from optimizer.choosing.order import cost_of

    return Lifter(Effects(problem, job.scene), job.allowed_short, partial(cost_of, problem.goal), store)


def replay_kit(job: Job, kit: Kit) -> Replay:
    """Every trip of a kit, hour by hour."""
    from optimizer.kit_numbers import kit_numbers
    from optimizer.trips.replay import replay_scene

    return replay_scene(job.scene, kit_numbers(job.problem, kit), kit.nights)
