"""One variant solved: the row it gives. A worker keeps what helps the next variant, never what changes it.

On the road: inside ``batch``, in each worker. Scenes, levels and the last kit are kept by what the trips
hang on; limits, wishes and the masses of the van are no part of that, so most tables share one store.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, TypeVar

from optimizer.batch.binding import binding
from optimizer.batch.ground import Ground, catalog_key
from optimizer.batch.reuse import Answered, Solved
from optimizer.brief.brief import Brief
from optimizer.choosing.store import LevelStore
from optimizer.explain.stopping import Stop
from optimizer.job import Job

if TYPE_CHECKING:
    from optimizer.choosing.choose import Outcome
    from optimizer.choosing.lifting import Lifter
    from optimizer.choosing.solve import Settings
    from optimizer.problem.records import Group, Kit, Problem
    from optimizer.trips.scene import Scene

Row = dict[str, Any]
SCENES, MOST_LEVELS = 8, 400
NO_MATTER = frozenset(("name", "units", "limits", "preferences"))
NO_MATTER_TRIP = frozenset(("nights", "nights_at_most", "coverage", "sunless_days", "daily_balance"))
NO_MATTER_VEHICLE = frozenset((
    "name", "gross_mass", "front_axle_rating", "rear_axle_rating", "front_axle_mass", "rear_axle_mass", "wheelbase",
    "track", "length", "front_overhang", "height", "roof", "bays", "seats", "fittings",
))  # fmt: skip
Kept = TypeVar("Kept")


def trips_key(brief: Brief) -> str:
    """What the trips of a brief hang on, as text: briefs with the same key share scenes and levels."""
    data = brief.model_dump(mode="json")
    data = {name: value for name, value in data.items() if name not in NO_MATTER}
    for table, left_out in (("trip", NO_MATTER_TRIP), ("vehicle", NO_MATTER_VEHICLE)):
        data[table] = {name: value for name, value in data[table].items() if name not in left_out}
    return json.dumps([data, catalog_key(brief)], sort_keys=True)


@dataclass
class _Shared:
    """What variants with the same trips share."""

    store: LevelStore = field(default_factory=LevelStore)
    scene: Scene | None = None
    kit: Kit | None = None


@dataclass
class _Smaller:
    """The last problem without its dominated options: the next is often the same but for a limit."""

    whole: Problem
    smaller: Problem

    def fits(self, problem: Problem) -> bool:
        names = ("groups", "goal", "tie_break", "owned", "required", "refused", "skills", "rules", "own_limits")
        return all(getattr(problem, name) == getattr(self.whole, name) for name in names)


class VariantSolver:
    """Solves one variant after another."""

    def __init__(self, ground: Ground, settings: Settings | None = None, conflicts: bool = True) -> None:
        self._ground = ground
        self._settings = settings
        self._conflicts = conflicts
        self._shared: OrderedDict[str, _Shared] = OrderedDict()
        self._groups: OrderedDict[str, tuple[Group, ...]] = OrderedDict()
        self._smaller: _Smaller | None = None
        self._answered = Answered()
        self.stop = Stop()
        """Whether it was asked to stop: then the variant it was at has no row."""

    def row(self, brief: Brief) -> Row:
        """Everything the table says of a variant, without its number and its own cells."""
        from optimizer.choosing.choose import choose
        from optimizer.job import lifter_for, places_for, settled

        job = self._job(brief)
        shared = self._share(job)
        smaller = self._without_dominated(job.problem)
        lifter = lifter_for(job, smaller, shared.store)
        places = places_for(smaller)
        judges = [judge for judge in (lifter, places) if judge is not None]
        trips, allowed = trips_key(brief), job.allowed_short if lifter is not None else 0
        outcome = self._answered.answer(smaller, trips, allowed, judges)
        if outcome is None:
            known = lifter.known() if lifter is not None else []
            with self.stop.question():
                found = choose(smaller, judges, self._settings, known, start=shared.kit)
            if self.stop.asked:  # choosing takes Ctrl-C as the end of its one question, and answers
                raise KeyboardInterrupt
            outcome = settled(found, job.problem, places)
            self._answered.keep(Solved(smaller, trips, allowed, outcome))
        if outcome.kit is not None:
            shared.kit = outcome.kit
        row = self._told(job, smaller, outcome, lifter)
        if len(shared.store) > MOST_LEVELS:
            shared.store = LevelStore(list(shared.store)[-MOST_LEVELS:])
        return row

    def _job(self, brief: Brief) -> Job:
        """The job of a brief, its options taken from an earlier one where they are the same."""
        from optimizer.problem.build import build_problem
        from optimizer.problem.sameness import options_key

        job, key = self._ground.job(brief), options_key(brief)
        groups = self._groups.get(key)
        problem = build_problem(brief, job.catalog, job.years, job.file, groups)
        self._groups[key] = problem.groups
        self._groups.move_to_end(key)
        while len(self._groups) > SCENES:
            self._groups.popitem(last=False)
        job.__dict__["problem"] = problem
        return job

    def _share(self, job: Job) -> _Shared:
        key = trips_key(job.brief)
        shared = self._shared.setdefault(key, _Shared())
        self._shared.move_to_end(key)
        while len(self._shared) > SCENES:
            self._shared.popitem(last=False)
        if job.brief.trip.coverage is not None:
            if shared.scene is None:
                shared.scene = job.scene
            job.__dict__["scene"] = replace(shared.scene, brief=job.brief)
        return shared

    def _without_dominated(self, problem: Problem) -> Problem:
        from optimizer.choosing.order import order_of
        from optimizer.problem.dominance import without_dominated

        if self._smaller is None or not self._smaller.fits(problem):
            self._smaller = _Smaller(problem, without_dominated(problem, order_of(problem)).problem)
        return replace(problem, groups=self._smaller.smaller.groups)

    # -- telling --------------------------------------------------------------------------------

    def _told(self, job: Job, smaller: Problem, outcome: Outcome, lifter: Lifter | None) -> Row:
        goal = outcome.goal
        row: Row = {
            "status": outcome.status,
            "goal": goal.slug,
            "value": None if outcome.value is None else outcome.value / goal.scale,
            "bound": None if outcome.bound is None else outcome.bound / goal.scale,
        }
        if outcome.kit is not None:
            row |= _kit_row(job, outcome.kit)
            if outcome.status == "proven":
                row["binding"] = ", ".join(binding(smaller, outcome.kit, lifter))
        elif outcome.status == "impossible" and self._conflicts:
            row["conflict"] = self._conflict(job)
        return row

    def _conflict(self, job: Job) -> str:
        """The smallest conflict in a sentence."""
        from optimizer.explain.conflicts import find_conflict
        from optimizer.explain.telling import tell_conflict
        from optimizer.explain.why import bench_for

        seconds = self._settings.seconds if self._settings is not None else None
        bench = bench_for(job, self._settings, self._shared[trips_key(job.brief)].store, in_all=seconds)
        bench.stop = self.stop
        found = find_conflict(bench, known=True)
        if found is None:
            return ""
        head, *lines = tell_conflict(job, found).splitlines()
        return " ".join([head, "; ".join(line.strip() for line in lines if line.strip())]).strip()


def _kit_row(job: Job, kit: Kit) -> Row:
    from optimizer.job import replay_kit
    from optimizer.rules.mass import kit_mass_g
    from optimizer.rules.money import price_cents

    problem = job.problem
    row: Row = {
        "price_usd": price_cents(problem, kit) / 100,
        "mass_kg": kit_mass_g(problem, kit) / 1000,
        "nights": kit.nights,
        "voltage": kit.voltage,
        "battery_wh": kit.sum(problem, "usable_wh", "battery"),
        "array_w": kit.sum(problem, "array_w", "solar_panel"),
    }
    if job.brief.trip.coverage is not None:
        row["coverage_pct"] = round(replay_kit(job, kit).coverage_pct, 6)
    counts: dict[str, int] = {}
    for group, option in kit.options(problem):
        if not group.hidden:
            for part, count in option.parts:
                kind = job.catalog.kind_of(part)
                counts[f"count_{kind}"] = counts.get(f"count_{kind}", 0) + count
    row |= dict(sorted(counts.items()))
    row["kit"] = ", ".join(f"{count} {part}" for part, count in kit.counts(problem).items())
    return row
