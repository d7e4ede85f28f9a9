"""A table of results looked at key by key: what drives the value, where it turns impossible.

On the road: result file -> words and pictures. Only rows that differ in one key alone are compared, so that
what is told of a key is its own doing.
"""

from __future__ import annotations

import io
import itertools
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optimizer.batch.paths import amount_of
from optimizer.batch.run import FIRST, LAST
from optimizer.errors import Fault, FaultsFound, KitwrightError, MissingExtra, UsageError, nearest
from optimizer.files import read_bytes
from optimizer.tables import aligned

Row = Mapping[str, Any]
Order = tuple[int, float, str]
LARGEST_FILE = 200_000_000  # bytes; as many variants as a batch takes, at 1 kB a row (1.7 kB as JSON)
KNOWN = frozenset(("variant", *FIRST, *LAST))
OWN = "the brief's own"
"""What a cell says that leaves a key as the brief has it."""
VALUES = {"cheapest": "price [USD]", "lightest": "mass [kg]", "longest": "nights"}
"""What the value is, by goal."""


@dataclass(frozen=True)
class Effect:
    """What one key does, all else equal."""

    key: str
    pairs: int
    """Pairs of proven rows that differ in this key alone, by neighbouring values."""
    mean: float
    """Mean change of the value from one of its values to the next, without sign."""
    most: float
    turns: tuple[tuple[Any, Any], ...]
    """Neighbouring values between which a kit becomes impossible, each once."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """A result table and what its keys do, the strongest first."""

    rows: tuple[Row, ...]
    keys: tuple[str, ...]
    measure: str
    effects: tuple[Effect, ...]

    def __str__(self) -> str:
        return tell_comparison(self)

    def _repr_html_(self) -> str:
        from html import escape

        return f"<pre>{escape(tell_comparison(self))}</pre>"


def read_result(path: Path) -> list[dict[str, Any]]:
    """The rows of a result file. Raises FaultsFound when it is none."""
    import pandas as pd

    ending = path.suffix.lower()
    try:
        content = read_bytes(path, LARGEST_FILE)
        if ending == ".json":
            frame = pd.DataFrame(json.loads(content))
        elif ending == ".csv":
            frame = pd.read_csv(io.BytesIO(content))
        elif ending == ".xlsx":
            frame = pd.read_excel(io.BytesIO(content))
        elif ending == ".parquet":
            frame = pd.read_parquet(io.BytesIO(content))
        else:
            raise UsageError(f"{path}: a result ends in .csv, .xlsx, .parquet or .json.")
    except ImportError as error:
        raise MissingExtra("openpyxl or pyarrow", "tables", f"Reading a {ending} table") from error
    except KitwrightError:
        raise
    except OSError as error:
        raise _no_result(path, f"not readable ({(error.strerror or str(error)).lower()})") from error
    except Exception as error:  # the readers raise whatever their formats bring
        raise _no_result(path, f"no {ending} table that can be read") from error
    if not {"variant", "status", "value"} <= set(frame.columns):
        raise _no_result(path, "without the columns variant, status and value")
    return [
        {str(name): None if value != value else value for name, value in row.items()}
        for row in frame.astype(object).to_dict("records")
    ]


def _no_result(path: Path, found: str) -> FaultsFound:
    return FaultsFound([Fault(str(path), 0, "the file", found, "a result of 'kitwright batch'")])


def compared(rows: Sequence[Row], measure: str = "value") -> Comparison:
    """What each key that varies does to ``measure``. Raises UsageError for a column that is none, or of words."""
    if not rows or measure not in rows[0]:
        remedy = nearest(measure, [name for name in FIRST if rows and _is_number(rows[0].get(name))])
        raise UsageError(f"The result has no column '{measure}'. {remedy}".rstrip())
    if any(row[measure] is not None and not _is_number(row[measure]) for row in rows):
        raise UsageError(f"The column '{measure}' holds words; expected one of numbers, such as value or mass_kg.")
    keys = tuple(
        key for key in rows[0]
        if key not in KNOWN and not key.startswith("count_") and len({_order(key, row[key]) for row in rows}) > 1
    )
    effects = sorted((_effect(rows, keys, key, measure) for key in keys), key=lambda e: (-e.mean, e.key))
    return Comparison(tuple(rows), keys, measure, tuple(effects))


def _effect(rows: Sequence[Row], keys: Sequence[str], key: str, measure: str) -> Effect:
    others = [other for other in keys if other != key]
    alike: dict[tuple[Order, ...], list[Row]] = {}
    for row in rows:
        alike.setdefault(tuple(_order(other, row[other]) for other in others), []).append(row)
    changes: list[float] = []
    turns: dict[tuple[Order, Order], tuple[Any, Any]] = {}
    for some in alike.values():
        ordered = sorted(some, key=lambda row: _order(key, row[key]))
        for one, two in itertools.pairwise(ordered):
            before, after = _order(key, one[key]), _order(key, two[key])
            if before == after:
                continue
            if _is_number(one[measure]) and _is_number(two[measure]):
                changes.append(abs(float(two[measure]) - float(one[measure])))
            if {one["status"], two["status"]} == {"proven", "impossible"}:
                turns.setdefault((before, after), (one[key], two[key]))
    mean = sum(changes) / len(changes) if changes else 0.0
    return Effect(key, len(changes), mean, max(changes, default=0.0), tuple(turns[at] for at in sorted(turns)))


def _text(value: Any) -> str:
    return OWN if value is None else f"{value:.10g}" if _is_number(value) else str(value)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _order(key: str, value: Any) -> Order:
    """Where a value of a key stands among others: the brief's own first, then amounts however written, then words."""
    if value is None:
        return (0, 0.0, "")
    amount = amount_of(value, key)
    return (1, amount, "") if amount is not None else (2, 0.0, str(value))


def _values(comparison: Comparison, key: str) -> dict[Order, str]:
    """The values of a key in their order, each as it was written first."""
    written: dict[Order, str] = {}
    for row in comparison.rows:
        written.setdefault(_order(key, row[key]), _text(row[key]))
    return dict(sorted(written.items()))


def _called(comparison: Comparison) -> str:
    """What the measure is, with its unit where that is known."""
    goals = {str(row.get("goal")) for row in comparison.rows}
    if comparison.measure != "value" or len(goals) > 1:
        return comparison.measure
    return VALUES.get(goals.pop(), "value")


def tell_comparison(comparison: Comparison) -> str:
    """The keys by what they do, where it turns impossible, and a pivot over the two strongest."""
    statuses = [str(row["status"]) for row in comparison.rows]
    counts = ", ".join(f"{statuses.count(s)} {s}" for s in ("proven", "unproven", "impossible") if s in statuses)
    parts = [f"{len(statuses)} variant{'' if len(statuses) == 1 else 's'}: {counts}."]
    if comparison.effects:
        rows = [("key", f"mean change of {_called(comparison)}", "most", "pairs")]
        rows += [
            (e.key, f"{e.mean:,.2f}" if e.pairs else "-", f"{e.most:,.2f}" if e.pairs else "-", str(e.pairs))
            for e in comparison.effects
        ]
        lead = "What drives it, from one value of a key to the next, all else equal"
        if not all(effect.pairs for effect in comparison.effects):
            lead += "; '-' = no two variants with a kit differ in it alone"
        parts.append(f"{lead}:\n{aligned(rows)}")
    turns = [
        f"  {effect.key}: between " + ", or ".join(f"{_text(a)} and {_text(b)}" for a, b in effect.turns)
        for effect in comparison.effects if effect.turns
    ]
    if turns:
        parts.append("\n".join(["Where it turns impossible:", *turns]))
    if len(comparison.keys) >= 2:
        parts.append(_pivot(comparison))
    return "\n\n".join(parts)


def _pivot(comparison: Comparison) -> str:
    """The best value for each pair of values of the two strongest keys."""
    down, across = (effect.key for effect in comparison.effects[:2])
    cells: dict[tuple[Order, Order], list[Any]] = {}
    for row in comparison.rows:
        cells.setdefault((_order(down, row[down]), _order(across, row[across])), []).append(row[comparison.measure])
    downs, acrosses = _values(comparison, down), _values(comparison, across)
    best = max if _more_is_better(comparison) else min
    table = [(f"{down} \\ {across}", *acrosses.values())]
    table += [(said, *(_best(cells.get((d, a)), best) for a in acrosses)) for d, said in downs.items()]
    legend = "'-' = no kit" + ("; empty = no such variant" if any("" in line for line in table) else "")
    return f"{'Most' if best is max else 'Least'} {_called(comparison)}; {legend}:\n" + aligned(table)


def _more_is_better(comparison: Comparison) -> bool:
    goals = {str(row.get("goal")) for row in comparison.rows}
    return comparison.measure == "value" and all(goal == "longest" or goal.startswith("most:") for goal in goals)


def _best(values: Sequence[Any] | None, best: Callable[[list[float]], float]) -> str:
    known = [float(value) for value in values or () if _is_number(value)]
    return "" if values is None else f"{best(known):,.2f}" if known else "-"


def draw_comparison(comparison: Comparison, path: Path) -> None:
    """One small chart a key: the value over it, a line for each set of the other keys, crosses where no kit is."""
    from optimizer.frames import write_picture

    keys = [effect.key for effect in comparison.effects][:6]
    if not keys:
        raise UsageError("No key of the brief varies in this result, so there is nothing to draw.")
    write_picture(path, lambda figure: _draw(figure, comparison, keys), (8.0, 2.6 * len(keys) + 0.6))


def _draw(figure: Any, comparison: Comparison, keys: Sequence[str]) -> None:
    charts = figure.subplots(len(keys), 1, squeeze=False)
    for chart, key in zip(charts[:, 0], keys, strict=True):
        values = _values(comparison, key)
        chart.set_xticks(range(len(values)), list(values.values()))
        chart.set_xlabel(key)
        chart.set_ylabel(_called(comparison))
        _draw_lines(chart, comparison, key, list(values))


def _draw_lines(chart: Any, comparison: Comparison, key: str, values: Sequence[Order]) -> None:
    others = [other for other in comparison.keys if other != key]
    lines: dict[tuple[Order, ...], list[tuple[int, float]]] = {}
    nothing: dict[int, int] = {}
    for row in comparison.rows:
        place = values.index(_order(key, row[key]))
        if _is_number(row[comparison.measure]):
            group = tuple(_order(other, row[other]) for other in others)
            lines.setdefault(group, []).append((place, float(row[comparison.measure])))
        elif row["status"] == "impossible":
            nothing[place] = nothing.get(place, 0) + 1
    for points in lines.values():
        points.sort()
        chart.plot(*zip(*points, strict=True), color="#0072B2", marker="o", markersize=3, linewidth=0.8, alpha=0.6)
    chart.margins(y=0.12)
    for place, count in sorted(nothing.items()):  # on the axis, where no value is
        on_axis = chart.get_xaxis_transform()
        chart.plot([place], [0], marker="x", color="black", markersize=8, clip_on=False, transform=on_axis)
        chart.annotate(
            f"{count} impossible", (place, 0), xycoords=on_axis, xytext=(5, 4), textcoords="offset points", fontsize=7
        )
