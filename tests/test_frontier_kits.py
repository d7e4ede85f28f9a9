"""Frontiers of whole small briefs equal exhaustive search, trips and coverage included."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from batch_cases import BRIEF, folder_with
from enumeration import SlowTrips, kits, twins_in_order
from small_catalogs import with_wiring
from small_worlds import small_world, station
from stopping import stop_each_solve_after

from optimizer.check import check
from optimizer.errors import UsageError
from optimizer.frontier import two_ends
from optimizer.frontier.goals import NAMED, axes_of
from optimizer.frontier.picture import _four_digits, _with_room, draw_frontier
from optimizer.frontier.records import Frontier, Point
from optimizer.frontier.run import Wanted, _steps, find_frontier
from optimizer.frontier.shape import knees, shares_of
from optimizer.frontier.table import as_data, rows_of, write_table
from optimizer.frontier.telling import tell_frontier
from optimizer.frontier.zones import NO_BOUND
from optimizer.job import Job, open_job
from optimizer.problem.records import Kit

PLAIN = ("price", "mass", "nights", "battery", "array", "roof", "bays", "least:price_usd", "most:mass_kg")
COVERAGE = 50.0


def job_of_world(seed: int, coverage: float | None = None, most: int = 700) -> Job:
    """A small world as a job."""
    brief, catalog = small_world(seed, coverage=coverage, most=most)
    years = tuple(station(name.removeprefix("station:")) for name in brief.place.weather)
    job = Job(brief, with_wiring(catalog), years, "brief", Path())
    job.__dict__["problem"] = replace(job.problem, space=None)  # places have their own tests
    return job


def goals_for(seed: int, names: tuple[str, ...]) -> list[str]:
    """Two or three goals by chance."""
    rng = random.Random(seed)
    return rng.sample(names, min(len(names), rng.choice((2, 2, 3))))


def enumerated(job: Job, goals: list[str]) -> set[tuple[int, ...]]:
    """Every kit that holds, its goals in plain arithmetic; those that no other is as good as in all."""
    from optimizer.frontier.goals import with_goals
    from optimizer.job import places_for

    axes = axes_of(goals)
    problem = with_goals(job.problem, job.catalog, axes, job.brief.trip.nights_at_most)
    trips = SlowTrips(problem, job.scene) if job.brief.trip.coverage is not None else None
    places = places_for(problem)
    points: dict[tuple[int, ...], None] = {}

    def holding() -> Iterator[Kit]:
        for kit in kits(problem):
            if twins_in_order(problem, kit) and check(problem, kit).ok:
                yield kit

    def beaten(vector: tuple[int, ...]) -> bool:
        return any(all(a <= b for a, b in zip(p, vector, strict=True)) for p in points)

    for kit in holding():
        short = trips.short(kit) if trips is not None else 0
        if trips is not None and short > job.allowed_short:
            continue
        vector = tuple(short if axis.judged else axis.value(problem, kit) for axis in axes)
        if beaten(vector) or (places is not None and not places.passes(kit)):
            continue
        points = {p: None for p in points if not all(a <= b for a, b in zip(vector, p, strict=True))}
        points[vector] = None
    return set(points)


def agree(seeds: Sequence[int], names: tuple[str, ...], coverage: float | None) -> list[int]:
    """Compare frontiers with enumeration; gives back how long they are."""
    lengths = []
    for seed in seeds:
        job = job_of_world(seed, coverage, 700 if coverage is None else 2000)
        goals = goals_for(seed, names)
        found = find_frontier(job, goals)
        assert found.complete
        assert found.proven
        vectors = [point.values for point in found.points]
        assert set(vectors) == enumerated(job, goals), (seed, goals)
        assert len(vectors) == len(set(vectors))
        for point in found.points:
            assert check(found.problem, point.kit).ok
        lengths.append(len(vectors))
    return lengths


def test_how_far_a_frontier_came_is_told_where_that_is_known() -> None:
    """In the goal's unit, also without a point; nothing before the first answer, nor when all is there."""
    nobody: Any = None
    for below, until in ((150_000, {"goal": "price", "value": 1500.0}), (-NO_BOUND, {"goal": "price", "value": None}),
                         (None, None)):
        stopped = Frontier(nobody, nobody, axes_of(["price", "mass"]), (), below is None, below, NAMED["price"])
        assert as_data(stopped)["complete_until"] == until


def test_frontiers_of_small_briefs_equal_enumeration() -> None:
    """A few worlds without trips, any two or three goals."""
    assert max(agree(range(12), PLAIN, None)) > 2


def test_frontiers_with_trips_equal_enumeration() -> None:
    """A few worlds with trips, coverage among the goals."""
    assert max(agree((1, 7, 12), ("price", "coverage"), COVERAGE)) > 1


def test_frontiers_from_both_ends_equal_enumeration(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same where each end has one round at a time, so that the far one finds points too."""
    monkeypatch.setattr(two_ends, "TURN", 1)
    far: list[int] = []
    closed = two_ends.TwoEnds._nearest
    monkeypatch.setattr(two_ends.TwoEnds, "_nearest", lambda ends: far.append(len(ends._beyond)) or closed(ends))
    assert max(agree((1, 7, 12, 22, 34), ("price", "mass"), COVERAGE)) > 1
    assert any(far), "no point was taken from the far end"


@pytest.mark.long
def test_many_frontiers_equal_enumeration() -> None:
    """Many more worlds without trips."""
    assert sum(length > 1 for length in agree(range(12, 130), PLAIN, None)) >= 6


@pytest.mark.long
def test_more_frontiers_with_trips_equal_enumeration() -> None:
    """More worlds with trips, known to have kits that trade coverage off."""
    lengths = agree((22, 34, 42), ("price", "mass", "coverage"), COVERAGE)
    assert sum(length > 1 for length in lengths) >= 2


def long_job(tmp_path: Path) -> tuple[Job, list[str]]:
    """A quick brief whose price and battery trade off over several points."""
    brief, _ = folder_with(tmp_path)
    brief.write_text(BRIEF.replace("budget = 4000", "budget = 1100"), encoding="utf-8")
    return open_job(brief), ["price", "battery"]


def test_part_of_a_frontier_keeps_its_word(tmp_path: Path) -> None:
    """With steps or a count, what is listed is of the frontier, and what is not is hardly better."""
    job, goals = long_job(tmp_path)
    every = [point.values for point in find_frontier(job, goals).points]
    assert len(every) >= 4
    step = max(1, (every[0][1] - every[-1][1]) // 3)
    some = [point.values for point in find_frontier(job, goals, Wanted(within=f"battery={step}")).points]
    assert set(some) < set(every)
    for price, energy in every:
        assert any(p <= price and e <= energy + step for p, e in some)
    few = find_frontier(job, goals, Wanted(at_most=2))
    assert len(few.points) <= 2
    assert {point.values for point in few.points} <= set(every)
    assert few.gaps


def test_points_come_as_they_are_proven_and_the_same_each_time(tmp_path: Path) -> None:
    """The reports are the points, in the order of the first goal; two runs agree kit by kit."""
    job, goals = long_job(tmp_path)
    told: list[tuple[int, ...]] = []
    one = find_frontier(job, goals, on_point=lambda _, point: told.append(point.values))
    assert told == [point.values for point in one.points]
    other = find_frontier(long_job(tmp_path)[0], goals)
    assert [point.kit for point in one.points] == [point.kit for point in other.points]


@pytest.mark.parametrize(
    ("goals", "wanted"),
    [
        (["price"], Wanted()), (["price", "price"], Wanted()), (["price", "weight"], Wanted()),
        (["price", "coverage"], Wanted()), (["price", "most:nothing_such"], Wanted()),
        (["price", "mass"], Wanted(within="much")), (["price", "mass"], Wanted(within="price=3")),
        (["price", "mass"], Wanted(within="mass=x")), (["price", "mass"], Wanted(within="200%")),
        (["price", "mass"], Wanted(within="1%", at_most=3)), (["price", "mass"], Wanted(at_most=0)),
    ],
)  # fmt: skip
def test_what_cannot_be_asked(goals: list[str], wanted: Wanted) -> None:
    """A sentence for each, before any work."""
    with pytest.raises(UsageError):
        find_frontier(job_of_world(0), goals, wanted)


def test_told_drawn_and_written(tmp_path: Path) -> None:
    """Words, knees, table in each format, and a picture that repeats to the byte; the notebook shows it."""
    job, goals = long_job(tmp_path)
    found = find_frontier(job, goals)
    told = tell_frontier(found)
    assert "These are all there are; each is proven." in told
    assert told.count("from ") == len(found.points) - 1
    assert any(point.knee for point in found.points)
    assert "<table" in found._repr_html_()
    for ending in (".csv", ".xlsx", ".parquet", ".json"):
        write_table(found, tmp_path / f"t{ending}")
    frame = pd.read_csv(tmp_path / "t.csv")
    assert list(frame["battery_wh"]) == [-point.values[1] for point in found.points]
    assert list(frame["price_usd"]) == [point.values[0] / 100 for point in found.points]
    assert list(pd.read_parquet(tmp_path / "t.parquet")["point"]) == list(frame["point"])
    assert json.loads((tmp_path / "t.json").read_text())["complete"] is True
    for ending in (".svg", ".png"):
        for name in ("one", "two"):
            draw_frontier(found, tmp_path / f"{name}{ending}")
        assert (tmp_path / f"one{ending}").read_bytes() == (tmp_path / f"two{ending}").read_bytes()


def drawn(found: Frontier) -> Any:
    """The chart of a frontier, still in memory."""
    from matplotlib.figure import Figure

    from optimizer.frontier.picture import _draw

    figure = Figure()
    _draw(figure, found)
    return figure.axes[0]


def in_us_units(job: Job) -> Job:
    """The same job asked in US customary units."""
    return Job(job.brief.model_copy(update={"units": "us"}), job.catalog, job.years, job.file)


@pytest.mark.parametrize("goals", [["price", "battery"], ["battery", "price"], ["price", "mass"]])
def test_the_line_through_the_points_promises_no_more_than_there_is(tmp_path: Path, goals: list[str]) -> None:
    """Between two points the line is at the one that is better in the first goal, whichever way better is."""
    found = find_frontier(long_job(tmp_path)[0], goals)
    assert len(found.points) > 1
    (line,) = drawn(found).lines
    assert line.get_drawstyle() == "steps-post"
    assert list(line.get_xdata()) == [found.numbers(point)[0] for point in found.points]


def test_words_and_pictures_are_in_the_units_of_the_brief(tmp_path: Path) -> None:
    """Pounds on the axis and in what may be left out, and a step may be given in pounds; the table stays in kg."""
    job = in_us_units(long_job(tmp_path)[0])
    found = find_frontier(job, ["price", "mass"], Wanted(within="mass=2 lb"))
    assert found.gaps == ("2 lb in mass",)
    assert "one listed is no worse in price and at most 2 lb worse in mass." in tell_frontier(found)
    chart = drawn(found)
    assert chart.get_ylabel() == "mass [lb]"
    kilograms = [found.numbers(point)[1] for point in found.points]
    assert list(chart.lines[0].get_ydata()) == pytest.approx([mass / 0.45359237 for mass in kilograms])
    assert [row["mass_kg"] for row in rows_of(found)] == kilograms
    same = find_frontier(job, ["price", "mass"], Wanted(within="mass=0.90718474"))
    assert [point.values for point in same.points] == [point.values for point in found.points]


def test_what_changes_is_told_by_name(tmp_path: Path) -> None:
    """Parts have their names, cables and fuses that follow are left to the table, and nights are said once."""
    brief, _ = folder_with(tmp_path)
    brief.write_text(BRIEF.replace("nights = 4\n", "nights = 4\nnights_at_most = 5\n"), encoding="utf-8")
    job = open_job(brief)
    found = find_frontier(job, ["price", "nights"])
    told = tell_frontier(found)
    assert len(found.points) > 1
    assert "nights 5 nights" not in told
    assert ", 5 nights" in told
    assert "from 1: 2 nights instead of 1" in told
    assert "in comes" in told
    assert "+1 " not in told
    assert not any(part.id in told for kind in ("cable", "fuse", "fitting") for part in job.catalog.parts[kind])
    assert "from 1: " in found._repr_html_()
    assert drawn(found).get_ylabel() == "nights, more is better"
    assert all(isinstance(row["nights"], int) for row in rows_of(found))


@pytest.mark.parametrize(
    ("within", "word"),
    [("price=3", "price comes first and takes none"), ("mass=3 m", "expected a number of kg"),
     ("mass=1e999", "ordinary size"), ("most:worth=1e999", "is no number")],
)  # fmt: skip
def test_steps_that_are_none_say_what_was_expected(within: str, word: str) -> None:
    """The first goal takes no step, and a step of another sort or size is a sentence."""
    axes = axes_of(["price", "mass", "most:worth"])
    with pytest.raises(UsageError, match=word):
        _steps(within, axes)


def test_numbers_beside_points_are_never_in_powers_of_ten() -> None:
    """A third goal is written beside its points in digits."""
    assert [_four_digits(value) for value in (0.5, 93.336, 2153.98, 12345.6, -250)] == [
        "0.5", "93.34", "2154", "12346", "-250",
    ]  # fmt: skip


def test_numbers_beside_points_do_not_cover_each_other() -> None:
    """Of points that crowd one has its number; those with room have theirs."""
    assert _with_room([0, 1, 50, 100], [100, 99, 50, 0]) == [0, 2, 3]
    assert _with_room([0, 1, 2], [100, 50, 0]) == [0, 1, 2]
    assert _with_room([5], [5]) == [0]


def test_stopped_early_says_how_far(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without time nothing is claimed."""
    job, goals = long_job(tmp_path)
    stop_each_solve_after(monkeypatch, 1e-9)
    found = find_frontier(job, goals)
    assert not found.complete
    assert "Stopped early" in tell_frontier(found)


@pytest.mark.parametrize("goes", [1, 2, 5])
def test_ctrl_c_keeps_what_is_proven(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, goes: int) -> None:
    """Wherever it breaks in (a solve, or while a point is told), the range said complete is, and nothing is lost."""
    from optimizer.frontier import asking

    job, goals = long_job(tmp_path)
    every = [point.values for point in find_frontier(job, goals).points]
    told: list[tuple[int, ...]] = []

    def stop(_: object, point: Point) -> None:
        told.append(point.values)
        if len(told) == goes:
            raise KeyboardInterrupt

    broken = find_frontier(job, goals, on_point=stop)
    assert not broken.complete
    assert [point.values for point in broken.points] == every[:goes] == told
    assert broken.complete_below is not None
    assert {p for p in every if p[0] < broken.complete_below} <= set(told)
    assert "Stopped early: complete below price" in tell_frontier(broken)
    solves = iter(range(goes))
    solve = asking.minimise

    def interrupted(*given: Any, **named: Any) -> Any:
        if next(solves, None) is None:
            raise KeyboardInterrupt
        return solve(*given, **named)

    monkeypatch.setattr(asking, "minimise", interrupted)
    broken = find_frontier(job, goals)
    assert not broken.complete
    known = [point.values for point in broken.points]
    assert known == every[: len(known)]
    assert {p for p in every if broken.complete_below is not None and p[0] < broken.complete_below} <= set(known)
    few = find_frontier(job, goals, Wanted(at_most=2))
    assert not few.complete
    assert len(few.points) <= 2


def test_knees_of_a_bent_line() -> None:
    """A line with one sharp bend has its knee there; a straight one has none."""
    bent = shares_of([(0, 100), (10, 20), (55, 10), (100, 0)])
    assert knees(bent) == {1}
    straight = shares_of([(0, 100), (50, 50), (100, 0)])
    assert knees(straight) == set()
