"""The commands that solve many problems: frontier, batch, compare. Each parses, calls one function and prints.

On the road: both ends, beside ``cli``, which adds them.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

if TYPE_CHECKING:
    from optimizer.batch.run import Progress
    from optimizer.frontier.records import Frontier, Point

PROVEN, IMPOSSIBLE, UNPROVEN, INTERRUPTED = 0, 1, 3, 130
BriefPath = Annotated[Path, typer.Argument(help="The brief, a TOML file.", show_default=False)]
JsonFlag = Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")]


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (frontier, batch, compare):
        app.command()(command)


def frontier(
    brief: BriefPath,
    goals: Annotated[
        str,
        typer.Option(help="Two or three of price, mass, nights, coverage, battery, array, roof, bays, most:COLUMN,"
                          " least:COLUMN."),
    ] = "price,mass",
    within: Annotated[str, typer.Option(help="Leave out what is hardly better: 2%, or mass=5.")] = "",
    at_most: Annotated[Optional[int], typer.Option(help="No more points than this.", min=1)] = None,  # noqa: UP045
    table: Annotated[Optional[Path], typer.Option(help="Write the table (CSV, XLSX, Parquet or JSON).")] = None,  # noqa: UP045
    picture: Annotated[Optional[Path], typer.Option(help="Draw it (SVG or PNG).")] = None,  # noqa: UP045
    seconds: Annotated[Optional[float], typer.Option(help="Stop after so many seconds.", min=0.1)] = None,  # noqa: UP045
    workers: Annotated[Optional[int], typer.Option(help="Processes that ask; all cores, at most four.", min=1)] = None,  # noqa: UP045
    as_json: JsonFlag = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing while working.")] = False,
) -> None:
    """Every trade-off of BRIEF between two or three goals, each proven."""
    from optimizer.choosing.solve import Settings
    from optimizer.files import has_folder
    from optimizer.frames import known_picture, known_table
    from optimizer.frontier.picture import draw_frontier
    from optimizer.frontier.run import Wanted, find_frontier
    from optimizer.frontier.table import as_data, write_table
    from optimizer.frontier.telling import tell_frontier, tell_point
    from optimizer.job import open_job
    from optimizer.kitfile import dumps
    from optimizer.learnt import recall
    from optimizer.machine import hands

    def on_point(blank: Frontier, point: Point) -> None:
        if not quiet:
            typer.echo(f"proven: {tell_point(blank, point)}", err=True)

    for path, known in ((table, known_table), (picture, known_picture)):
        if path is not None:
            known(path)
            has_folder(path)
    job = open_job(brief)
    store = recall(job.scene) if job.brief.trip.coverage is not None else None
    wanted = Wanted(within, at_most)
    found = find_frontier(
        job, goals.split(","), wanted, Settings(seconds=seconds), store, on_point, workers=hands(workers)
    )
    typer.echo(dumps(as_data(found)) if as_json else tell_frontier(found), nl=not as_json)
    if table is not None:
        write_table(found, table)
        typer.echo(f"Wrote {table}.", err=True)
    if picture is not None:
        draw_frontier(found, picture)
        typer.echo(f"Drew {picture}.", err=True)
    if not found.complete or not found.proven:
        raise typer.Exit(UNPROVEN)
    raise typer.Exit(PROVEN if found.points else IMPOSSIBLE)


def batch(
    brief: BriefPath,
    variants: Annotated[
        Path, typer.Argument(help="A table of changes (CSV, XLSX, Parquet) or a grid (TOML).", show_default=False)
    ],
    out: Annotated[
        Path, typer.Option("-o", "--out", help="The table of results (CSV, XLSX, Parquet or JSON).")
    ] = Path("results.csv"),
    workers: Annotated[Optional[int], typer.Option(help="Processes; one a core when left out.", min=1)] = None,  # noqa: UP045
    cluster: Annotated[Optional[str], typer.Option(help="Address of a Dask scheduler, tcp://HOST:8786.")] = None,  # noqa: UP045
    seconds: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Seconds for each variant, and as many to ask why it has no kit.", min=0.1),
    ] = None,
    no_conflicts: Annotated[bool, typer.Option("--no-conflicts", help="Do not ask why there is no kit.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing while working.")] = False,
) -> None:
    """Solve every variant of BRIEF in a table; the same command goes on where it stopped."""
    from optimizer.batch.run import How, run_batch
    from optimizer.choosing.solve import Settings

    how = How(workers, cluster, conflicts=not no_conflicts)
    show = None if quiet else _show
    try:
        found = run_batch(brief, variants, out, Settings(seconds=seconds), how, show)
    except KeyboardInterrupt:
        typer.echo("\nStopped. Finished rows are kept; the same command goes on from there.", err=True)
        raise typer.Exit(INTERRUPTED) from None
    statuses = [row["status"] for row in found.rows]
    counts = ", ".join(f"{statuses.count(s)} {s}" for s in ("proven", "unproven", "impossible") if s in statuses)
    many = f"{len(statuses)} variant{'' if len(statuses) == 1 else 's'}"
    typer.echo(f"{many}: {counts}. Wrote {out}. Look at it with: kitwright compare {shlex.quote(str(out))}")
    raise typer.Exit(UNPROVEN if "unproven" in statuses else PROVEN)


def _show(progress: Progress) -> None:
    left = progress.seconds_left
    time_left = "" if left is None or progress.done == progress.total else f", about {_duration(left)} left"
    words = f"{progress.done} of {progress.total} different variants done{time_left}"
    if sys.stderr.isatty():
        typer.echo("\r" + words.ljust(70), nl=progress.done == progress.total, err=True)
    elif progress.done == progress.total or progress.done % max(1, progress.total // 20) == 0:
        typer.echo(words, err=True)


def _duration(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"


def compare(
    result: Annotated[Path, typer.Argument(help="A result of batch.", show_default=False)],
    measure: Annotated[str, typer.Option(help="The column looked at.")] = "value",
    picture: Annotated[Optional[Path], typer.Option(help="Draw it (SVG or PNG).")] = None,  # noqa: UP045
) -> None:
    """Tell which keys drive the value of a batch, where it turns impossible, and pivot it."""
    from optimizer.batch.compare import compared, draw_comparison, read_result, tell_comparison

    found = compared(read_result(result), measure)
    typer.echo(tell_comparison(found))
    if picture is not None:
        draw_comparison(found, picture)
        typer.echo(f"Drew {picture}.", err=True)
