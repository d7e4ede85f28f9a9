"""A whole batch: duplicates once, finished rows kept, the same file whether it was broken off or not.

On the road: variants -> workers -> journal -> *result file*.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.batch.ground import Ground, lay_ground
from optimizer.batch.journal import Journal
from optimizer.batch.reuse import solving_order
from optimizer.batch.solving import trips_key
from optimizer.batch.variants import Variant, Variants, read_variants, variants_from_rows
from optimizer.batch.workers import by_cluster, by_processes, one_by_one
from optimizer.machine import cores

if TYPE_CHECKING:
    import pandas as pd

    from optimizer.batch.workers import Finished
    from optimizer.brief.brief import Brief
    from optimizer.choosing.solve import Settings

Row = dict[str, Any]
FIRST = (
    "status", "goal", "value", "bound", "price_usd", "mass_kg", "nights", "voltage", "battery_wh", "array_w",
    "coverage_pct",
)  # fmt: skip
LAST = ("binding", "conflict", "kit")


@dataclass(frozen=True)
class How:
    """How a batch is worked through; the rows do not hang on it."""

    workers: int | None = None
    """Processes on this machine; 1 = this one; None = as many as there are cores."""
    cluster: str | None = None
    """Address of a Dask scheduler."""
    conflicts: bool = True
    """Tell the conflict of impossible variants (this does change a column)."""


@dataclass(frozen=True)
class Progress:
    """How far a batch is."""

    done: int
    total: int
    """Different variants, duplicates counted once."""
    seconds_left: float | None


@dataclass(frozen=True, eq=False)
class BatchResult:
    """The rows of a batch, in the order of the variants."""

    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    def frame(self) -> pd.DataFrame:
        """The table as a data frame."""
        from optimizer.frames import frame_of

        return frame_of(self.rows, self.columns)

    def __str__(self) -> str:
        short = [c for c in self.columns if c not in LAST and not c.startswith("count_")]
        return str(self.frame()[short].to_string(index=False, na_rep="", max_rows=60))

    def _repr_html_(self) -> str:
        html: str = self.frame().to_html(index=False, na_rep="", max_rows=60)
        return html


def run_batch(
    brief: Path,
    variants: Path,
    result: Path,
    settings: Settings | None = None,
    how: How | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> BatchResult:
    """Solve every variant of a brief and write the table of results.

    Finished rows are kept beside ``result`` until it is written; the same call goes on from there.

    Raises
    ------
    FaultsFound
        With the faults of all variants, before any work.
    UsageError
        For a result file of unknown ending.
    """
    return rows_batch(brief, variants, result, settings, how, progress)


def rows_batch(
    brief: Path,
    variants: str | Path | Sequence[Mapping[str, Any]],
    result: Path | None,
    settings: Settings | None = None,
    how: How | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> BatchResult:
    """The same with variants from memory, or without a file to keep anything in."""
    from optimizer.brief.reading import brief_data, read_brief
    from optimizer.frames import known_table, write_rows
    from optimizer.rules import limit_names

    how, limits = how or How(), limit_names()
    if result is not None:
        known_table(result)
    read_brief(brief, limits)
    if isinstance(variants, (str, Path)):
        table, file = read_variants(Path(variants), brief_data(brief), limits), str(variants)
    else:
        table, file = variants_from_rows(variants, brief_data(brief), limits), "variants"
    ground = lay_ground(table.rows, brief.parent, file)
    mark = mark_of(table, ground, settings, how)
    if result is None:
        rows: dict[str, Row] = {}
        solve_all(table, ground, settings, how, mark, dict(rows), rows.__setitem__, progress)
        return result_of(table, rows)
    with Journal(result.with_name(f"{result.name}.journal"), mark) as journal:
        solve_all(table, ground, settings, how, mark, journal.rows, journal.add, progress)
        found = result_of(table, journal.rows)
        write_rows(found.rows, found.columns, result)
    journal.remove()
    return found


def solve_all(
    table: Variants,
    ground: Ground,
    settings: Settings | None,
    how: How,
    mark: str,
    known: Mapping[str, Row],
    keep: Callable[[str, Row], None],
    progress: Callable[[Progress], None] | None = None,
) -> None:
    """Solve what is not known yet; ``keep`` is told each row as it is finished."""
    every = {key_of(row.brief): row.brief for row in table.rows}
    left_over = [key for key in every if key not in known]
    left_over.sort(key=lambda key: solving_order(every[key], trips_key(every[key])))
    open_ones = {key: every[key] for key in left_over}
    begun, done, total = time.monotonic(), len(every) - len(open_ones), len(every)
    rows = _finished(open_ones, ground, settings, how, mark)
    try:
        for count, (key, row) in enumerate(rows, start=1):
            keep(key, row)
            if progress is not None:
                left = (time.monotonic() - begun) / count * (len(open_ones) - count)
                progress(Progress(done + count, total, left))
    finally:
        if hasattr(rows, "close"):
            rows.close()


def _finished(
    briefs: Mapping[str, Brief], ground: Ground, settings: Settings | None, how: How, mark: str
) -> Finished:
    if how.cluster is not None:
        return by_cluster(briefs, ground, settings, how.conflicts, how.cluster, mark)
    workers = min(how.workers or cores(), max(1, len(briefs)))
    if workers == 1:
        return one_by_one(briefs, ground, settings, how.conflicts)
    return by_processes(briefs, ground, settings, how.conflicts, workers)


def key_of(brief: Brief) -> str:
    """The same for briefs that ask the same, however they are written."""
    return hashlib.sha256(brief.model_dump_json().encode()).hexdigest()[:24]


def mark_of(table: Variants, ground: Ground, settings: Settings | None, how: How) -> str:
    """What the rows of a batch hang on."""
    from optimizer.kitfile import versions

    content = [
        [key_of(row.brief) for row in table.rows],
        list(table.columns),
        {key: catalog.hash for key, catalog in ground.catalogs.items()},
        {name: _year_hash(year) for name, year in ground.years.items()},
        repr(settings), how.conflicts, versions(),
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:24]


def _year_hash(year: Any) -> str:
    content = hashlib.sha256()
    for hours in (year.ghi, year.dni, year.air_c):
        content.update(hours.tobytes())
    return content.hexdigest()[:16]


def result_of(table: Variants, rows: Mapping[str, Row]) -> BatchResult:
    """Rows in the order of the variants, columns in a fixed order."""
    every = [_joined(row, rows[key_of(row.brief)]) for row in table.rows]
    counts = sorted({name for row in every for name in row if name.startswith("count_")})
    return BatchResult(("variant", *table.columns, *FIRST, *counts, *LAST), tuple(every))


def _joined(variant: Variant, row: Row) -> Row:
    cells = {column: _cell(value) for column, value in variant.cells.items()}
    return {"variant": variant.number, **cells, **row}


def _cell(value: Any) -> Any:
    return value if isinstance(value, (int, float, str, bool)) else json.dumps(value, default=str)

