"""A frontier as a table: rows of numbers and words for CSV, XLSX, Parquet and JSON.

On the road: frontier -> files.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from optimizer.frontier.goals import Axis
from optimizer.frontier.records import Frontier
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

UNITS_IN_NAMES = {"USD": "usd", "kg": "kg", "nights": "", "%": "pct", "Wh": "wh", "W": "w", "m2": "m2", "L": "l"}


def column_name(axis: Axis) -> str:
    """A goal's column, its unit in its name."""
    unit = UNITS_IN_NAMES.get(axis.unit, "")
    return f"{axis.slug}_{unit}" if unit else axis.slug


def rows_of(frontier: Frontier) -> list[dict[str, Any]]:
    """One row a point, in the order of the first goal."""
    rows = []
    for number, point in enumerate(frontier.points, start=1):
        row: dict[str, Any] = {"point": number}
        for axis, value in zip(frontier.axes, frontier.numbers(point), strict=True):
            row[column_name(axis)] = int(value) if axis.scale == 1 and not axis.judged else value
        row.setdefault("price_usd", price_cents(frontier.problem, point.kit) / 100)
        row.setdefault("mass_kg", kit_mass_g(frontier.problem, point.kit) / 1000)
        row |= {
            "knee": point.knee,
            "compared_with": 0 if point.neighbour is None else point.neighbour + 1,
            "changes": ", ".join(point.changes),
            "kit": ", ".join(f"{n} {part}" for part, n in point.kit.counts(frontier.problem).items()),
        }
        rows.append(row)
    return rows


def as_data(frontier: Frontier) -> dict[str, Any]:
    """A frontier as plain data, ready for ``json.dumps``."""
    until = {"goal": frontier.sweep_goal.slug, "value": frontier.edge}
    return {
        "format": 1,
        "goals": [{"goal": axis.slug, "unit": axis.unit, "more_is_better": axis.maximise} for axis in frontier.axes],
        "complete": frontier.complete,
        "complete_until": None if frontier.complete_below is None else until,
        "proven": frontier.proven,
        "left_out_within": list(frontier.gaps),
        "points": [
            {**row, "nights": point.kit.nights, "voltage": point.kit.voltage,
             "choices": dict(sorted(point.kit.choices.items()))}
            for row, point in zip(rows_of(frontier), frontier.points, strict=True)
        ],
    }  # fmt: skip


def write_table(frontier: Frontier, path: Path) -> None:
    """Write the table whole, by the ending of its name: .csv, .xlsx, .parquet or .json. Raises UsageError."""
    from optimizer.files import write_whole
    from optimizer.frames import write_rows
    from optimizer.kitfile import dumps

    if path.suffix.lower() == ".json":
        write_whole(path, dumps(as_data(frontier)))
        return
    rows = rows_of(frontier)
    write_rows(rows, list(rows[0]) if rows else ["point", *map(column_name, frontier.axes)], path)
