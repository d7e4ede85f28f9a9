"""Reads a table of variants, or a grid that multiplies out, into changes of the brief; all faults at once.

On the road: variants file -> *changes* -> jobs.
"""

from __future__ import annotations

import csv
import io
import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optimizer.batch.paths import UNSET, PathError, changed, path_of, value_of
from optimizer.brief.brief import Brief
from optimizer.brief.findings import KeyPath, key_text
from optimizer.brief.reading import brief_from_dict
from optimizer.brief.syntax import load_toml
from optimizer.errors import MOST_TOLD, Fault, FaultsFound, MissingExtra
from optimizer.files import read_bytes

ENDINGS = (".csv", ".xlsx", ".parquet", ".toml")
MOST_VARIANTS = 100_000  # each is a whole brief in memory
LARGEST_FILE = 50_000_000  # bytes; a hundred thousand rows of fifty keys


@dataclass(frozen=True)
class Variant:
    """One row of the table."""

    number: int
    """Counted from 1."""
    cells: Mapping[str, Any]
    """What the row changes, by column; what it leaves as it is is absent."""
    brief: Brief


@dataclass(frozen=True)
class Variants:
    """All rows."""

    columns: tuple[str, ...]
    rows: tuple[Variant, ...]


@dataclass(frozen=True)
class _Raw:
    """A row as it stands in the file."""

    where: str
    line: int
    cells: dict[str, Any]


def read_variants(
    path: Path, data: Mapping[str, Any], known_limits: Sequence[str]
) -> Variants:
    """Every variant of the brief whose raw data is ``data``.

    Raises
    ------
    FaultsFound
        With every fault of every row.
    """
    columns, raw = _read(path)
    return variants_of(columns, raw, data, known_limits, str(path))


def variants_from_rows(
    rows: Sequence[Mapping[str, Any]], data: Mapping[str, Any], known_limits: Sequence[str]
) -> Variants:
    """The same from rows in memory."""
    columns = tuple(dict.fromkeys(str(column) for row in rows for column in row))
    raw = [_Raw(f"row {n}", 0, dict(_filled(row))) for n, row in enumerate(rows, start=1)]
    return variants_of(columns, raw, data, known_limits, "variants")


def variants_of(
    columns: Sequence[str], raw: Sequence[_Raw], data: Mapping[str, Any], known_limits: Sequence[str], file: str
) -> Variants:
    """Rows as they stand become briefs. Raises FaultsFound."""
    if len(raw) > MOST_VARIANTS:
        raise FaultsFound([Fault(file, 0, "", "", f"at most {MOST_VARIANTS:,} rows, and there are {len(raw):,}")])
    faults: list[Fault] = []
    paths: dict[str, KeyPath] = {}
    for column in columns:
        try:
            paths[column] = path_of(column)
        except PathError as error:
            faults.append(Fault(file, 0, f"column '{column}'", "", str(error), error.remedy))
            if len(faults) >= MOST_TOLD:
                raise FaultsFound(faults) from error
    twice = sorted(column for column, times in Counter(columns).items() if times > 1)
    faults += [Fault(file, 0, f"column '{column}'", "there twice", "each column once") for column in twice]
    if not raw and not faults:
        faults.append(Fault(file, 0, "", "", "at least one variant, and there is none"))
    rows = []
    for number, row in enumerate(raw, start=1):
        found = _variant(number, row, paths, data, known_limits, file)
        if isinstance(found, Variant):
            rows.append(found)
        else:
            faults += found
            if len(faults) >= MOST_TOLD:
                break
    if faults:
        raise FaultsFound(faults)
    return Variants(tuple(columns), tuple(rows))


def _variant(
    number: int, row: _Raw, paths: Mapping[str, KeyPath], data: Mapping[str, Any], limits: Sequence[str], file: str
) -> Variant | list[Fault]:
    changes: dict[KeyPath, Any] = {}
    cells: dict[str, Any] = {}
    faults = []
    for column, path in paths.items():
        if column in row.cells:
            value = value_of(row.cells[column], path)
            cells[column] = changes[path] = value
            try:
                changed(data, {path: value})
            except PathError as error:
                faults.append(Fault(file, row.line, f"{row.where}, {column}", "", str(error), error.remedy))
    if faults:
        return faults
    try:
        return Variant(number, cells, brief_from_dict(changed(data, changes), file, limits))
    except FaultsFound as found:
        return [
            Fault(file, row.line, f"{row.where}, {fault.place}", fault.value, fault.expected, fault.remedy)
            for fault in found.faults
        ]


# -- files --------------------------------------------------------------------------------------


def _read(path: Path) -> tuple[tuple[str, ...], list[_Raw]]:
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise _unreadable(path, f"a name that ends in {', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}")
    try:
        content = read_bytes(path, LARGEST_FILE)
    except OSError as error:
        raise _unreadable(path, f"a file that can be read ({(error.strerror or str(error)).lower()})") from error
    if ending == ".toml":
        return _grid(path, content)
    if ending == ".csv":
        return _csv(path, content)
    return _frame(path, content, ending)


def _unreadable(path: Path, expected: str) -> FaultsFound:
    return FaultsFound([Fault(str(path), 0, "", "", expected)])


def _filled(cells: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Cells that say something; an empty one leaves the brief's own value."""
    for column, value in cells.items():
        if value is None or (isinstance(value, float) and value != value):
            continue
        if isinstance(value, str) and not value.strip():
            continue
        yield str(column), value


def _csv(path: Path, content: bytes) -> tuple[tuple[str, ...], list[_Raw]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unreadable(path, "text in UTF-8") from error
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        raise _unreadable(path, f"cells with commas between ({error})") from error
    rows = [(line, row) for line, row in rows if any(row)]
    if not rows:
        raise _unreadable(path, "a heading row with keys of the brief, and the file is empty")
    columns = tuple(rows[0][1])
    faults, raw = [], []
    for number, (line, row) in enumerate(rows[1:], start=1):
        if len(row) > len(columns):
            expected = f"{len(columns)} cell{'' if len(columns) == 1 else 's'}, as the heading has"
            remedy = "A cell with a comma in it stands in quotes, such as \"1,200\"."
            faults.append(Fault(str(path), line, f"row {number}", f"{len(row)} cells long", expected, remedy))
        raw.append(_Raw(f"row {number}", line, dict(_filled(dict(zip(columns, row, strict=False))))))
    if faults:
        raise FaultsFound(faults)
    return columns, raw


def _frame(path: Path, content: bytes, ending: str) -> tuple[tuple[str, ...], list[_Raw]]:
    import pandas as pd

    try:
        if ending == ".xlsx":
            frame = pd.read_excel(io.BytesIO(content), dtype=object)
        else:
            frame = pd.read_parquet(io.BytesIO(content))
    except ImportError as error:
        library = "openpyxl" if ending == ".xlsx" else "pyarrow"
        raise MissingExtra(library, "tables", f"Reading a {ending} table") from error
    except Exception as error:  # the readers raise whatever their formats bring
        raise _unreadable(path, f"a {ending} table, and it cannot be read as one") from error
    columns = tuple(str(column) for column in frame.columns)
    raw = []
    for number, values in enumerate(frame.itertuples(index=False, name=None), start=1):
        cells = {c: _plain(v) for c, v in zip(columns, values, strict=True)}
        raw.append(_Raw(f"row {number}", number + 1 if ending == ".xlsx" else 0, dict(_filled(cells))))
    return columns, raw


def _plain(value: Any) -> Any:
    """A cell as plain Python: arrays become lists, numbers of other libraries plain ones."""
    if hasattr(value, "tolist"):
        return value.tolist()
    return None if type(value).__name__ in ("NAType", "NaTType") else value


def _grid(path: Path, content: bytes) -> tuple[tuple[str, ...], list[_Raw]]:
    """A TOML file of keys with lists of values; every combination is a variant, the last key turning fastest."""
    try:
        data = load_toml(content.decode("utf-8"))
    except ValueError as error:
        raise _unreadable(path, f"a grid in TOML ({error})") from error
    lists: dict[str, list[Any]] = {}
    faults = []
    for key, values in _leaves(data, ()):
        column = key_text(key) if not any("." in str(step) for step in key) else ".".join(map(str, key))
        if not isinstance(values, list) or not values:
            faults.append(Fault(str(path), 0, column, str(values), "a list of values, such as [7, 10, 14]"))
        else:
            lists[column] = values
    many = 1
    for values in lists.values():
        many *= len(values)
    if many > MOST_VARIANTS:
        faults.append(Fault(str(path), 0, "the grid", f"{many} variants", f"at most {MOST_VARIANTS}"))
    if faults:
        raise FaultsFound(faults)
    rows = itertools.product(*lists.values())
    raw = [_Raw(f"variant {n}", 0, dict(zip(lists, row, strict=True))) for n, row in enumerate(rows, start=1)]
    return tuple(lists), raw if lists else []


def _leaves(data: Mapping[str, Any], above: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    for key, value in data.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, (*above, key))
        else:
            yield (*above, key), value


__all__ = ["UNSET", "Variant", "Variants", "read_variants", "variants_from_rows"]
