"""The whole tool as functions, for notebooks and scripts.

On the road: all of it, from brief to answer. Every function takes a brief's file or a ``Job`` already opened,
changes nothing, and gives back a record that a notebook shows by itself.

    from optimizer.notebook import choose, frontier
    answer = choose("brief.toml")
    points = frontier("brief.toml", ["price", "mass"], at_most=8)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.errors import UsageError
from optimizer.job import Job, Result, open_job

if TYPE_CHECKING:
    from optimizer.batch.run import BatchResult
    from optimizer.choosing.store import LevelStore
    from optimizer.frontier.records import Frontier
    from optimizer.problem.records import Kit
    from optimizer.trips.replay import Replay

Source = str | Path | Job


def opened(source: Source) -> Job:
    """A brief's file opened; a job as it is. Raises FaultsFound with every fault of every file."""
    return source if isinstance(source, Job) else open_job(Path(source))


@dataclass(frozen=True, eq=False)
class Told:
    """An answer in words, with the record behind it."""

    text: str
    data: Any

    def __str__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return f"<pre>{escape(self.text)}</pre>"


@dataclass(frozen=True, eq=False)
class Chosen(Told):
    """The best kit: ``data`` is the result, ``kit`` the kit, if there is one."""

    data: Result

    @property
    def kit(self) -> Kit | None:
        """The kit, if there is one."""
        return self.data.kit

    @property
    def job(self) -> Job:
        """The job it answers."""
        return self.data.job


@dataclass(frozen=True, eq=False)
class Replayed(Told):
    """Every trip of a kit: ``data`` is the replay."""

    data: Replay


def choose(
    source: Source, *, seconds: float | None = None, seed: int = 1, store: LevelStore | None = None
) -> Chosen:
    """The best kit for a brief, proven; below it what is odd about the brief, and whether the van will drip.

    Parameters
    ----------
    source : a brief's file, or a job
    seconds : stop after so long [s]; None = never
    seed : of the search; changes speed, never the kit
    store : what earlier questions with the same weather and loads learnt; makes the next ones quick
    """
    from optimizer.choosing.solve import Settings
    from optimizer.damp import damp_warning
    from optimizer.job import choose_kit, remarks
    from optimizer.telling import tell

    job = opened(source)
    result = choose_kit(job, Settings(seconds=seconds, seed=seed), store)
    notes = [*remarks(job), damp_warning(job, result.kit) if result.kit is not None else None]
    return Chosen("\n\n".join([tell(result), *(f"Note: {note}" for note in notes if note)]), result)


def replay(source: Source, kit: Kit) -> Replayed:
    """Every trip of a kit, hour by hour. Raises UsageError for a kit that this brief does not offer."""
    from optimizer.job import replay_kit
    from optimizer.telling import tell_trips

    job = _offering(source, kit)
    found = replay_kit(job, kit)
    return Replayed(tell_trips(found, job.brief.units), found)


def _offering(source: Source, kit: Kit) -> Job:
    """The job, once it is sure that the kit is one of its own."""
    from optimizer.check import structure_faults

    job = opened(source)
    faults = structure_faults(job.problem, kit)
    if faults:
        raise UsageError(f"The kit is none of this brief: {'; '.join(faults)}. Choose one for it.")
    return job


def why(source: Source, kit: Kit | None = None, *, part: str | None = None, seconds: float | None = None) -> Told:
    """Why a kit is the best, or with ``part`` why that part is in or not; without a kit why there is none.

    ``data`` is the same as plain data. Raises UsageError for a kit that this brief does not offer.
    """
    from optimizer.choosing.solve import Settings
    from optimizer.explain.why import Wanted, bench_for, why_none
    from optimizer.explain.why import why as answer

    job = opened(source) if kit is None else _offering(source, kit)
    bench = bench_for(job, Settings(seconds=seconds))
    text, data = why_none(bench, job) if kit is None else answer(bench, job, kit, Wanted(part=part))
    return Told(text, data)


def frontier(
    source: Source,
    goals: Sequence[str],
    *,
    within: str = "",
    at_most: int | None = None,
    seconds: float | None = None,
    store: LevelStore | None = None,
    workers: int = 1,
) -> Frontier:
    """Every trade-off between two or three goals.

    Parameters
    ----------
    goals : of price, mass, nights, coverage, battery, array, roof, bays, 'most:COLUMN', 'least:COLUMN'
    within : leave out what is hardly better: '2%', or steps such as 'mass=5'
    at_most : no more points than this
    workers : processes on this machine, two at most for two goals; a script that uses more than one needs the usual
        ``if __name__ == "__main__":``
    """
    from optimizer.choosing.solve import Settings
    from optimizer.frontier.run import Wanted, find_frontier

    wanted = Wanted(within, at_most)
    return find_frontier(opened(source), goals, wanted, Settings(seconds=seconds), store, workers=workers)


def batch(
    source: str | Path,
    variants: str | Path | Sequence[Mapping[str, Any]],
    result: str | Path | None = None,
    *,
    workers: int | None = None,
    cluster: str | None = None,
    seconds: float | None = None,
    conflicts: bool = True,
) -> BatchResult:
    """Every variant of a brief solved.

    Parameters
    ----------
    source : a brief's file
    variants : a file (CSV, XLSX, Parquet, or a grid in TOML), or rows as mappings from keys of the brief
    result : file for the table; finished rows are kept beside it, and the same call goes on from there.
        Without it nothing is kept.
    workers : processes on this machine; a script that uses more than one needs the usual
        ``if __name__ == "__main__":``
    cluster : address of a Dask scheduler
    seconds : for each variant [s]
    """
    from optimizer.batch.run import How, rows_batch, run_batch
    from optimizer.choosing.solve import Settings

    settings, how = Settings(seconds=seconds), How(workers, cluster, conflicts)
    if result is not None and isinstance(variants, (str, Path)):
        return run_batch(Path(source), Path(variants), Path(result), settings, how)
    return rows_batch(Path(source), variants, None if result is None else Path(result), settings, how)
