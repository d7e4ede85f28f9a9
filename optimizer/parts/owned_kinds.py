"""Kinds of the author's own: any further numeric columns are welcome.

On the road: between the table of an own kind, read by ``reading``, and ``OwnPart``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable

from pydantic import ValidationError

from optimizer.errors import Fault
from optimizer.parts.cells import CellError, Value, columns_of, own_number, shown
from optimizer.parts.records import OwnPart
from optimizer.parts.stacking import Entry, rows_by_id, taken_by
from optimizer.parts.table import Row, Table

SLIP = 0.85  # likeness above which a new column is taken for a known one misspelt
_NAME = re.compile(r"[a-z][a-z0-9_]*")


def own_parts(table: Table, kind: str, taken: dict[str, Entry], faults: list[Fault]) -> list[OwnPart]:
    """The parts of the own kind ``kind``; their ids join ``taken``, and one already there is a fault."""
    further = _further_columns(table, faults)
    found = []
    for part_id, row in rows_by_id(table, columns_of(OwnPart)["id"].read, faults).items():
        if part_id in taken:
            faults.append(taken_by(taken[part_id], table, row, part_id))
            continue
        taken[part_id] = Entry(kind, table.file, row.line)
        part = _own_part(table, row, further, faults)
        if part is not None:
            found.append(part)
    return found


def _further_columns(table: Table, faults: list[Fault]) -> tuple[str, ...]:
    known = columns_of(OwnPart)
    if "name" not in table.names:
        faults.append(Fault(table.file, table.header_line, "column name", "missing", "this column"))
    further = []
    for name in table.names:
        if name in known:
            continue
        if not _NAME.fullmatch(name) or name == "drop":
            faults.append(
                Fault(
                    table.file,
                    table.header_line,
                    "column",
                    shown(name),
                    "a name of a-z 0-9 _ that starts with a letter, other than drop",
                )
            )
        elif slip := difflib.get_close_matches(name, tuple(known), n=1, cutoff=SLIP):
            faults.append(
                Fault(
                    table.file,
                    table.header_line,
                    "column",
                    shown(name),
                    "a known column, or a name less like one",
                    f"Did you mean '{slip[0]}'?",
                )
            )
        else:
            further.append(name)
    return tuple(further)


def _own_part(table: Table, row: Row, further: tuple[str, ...], faults: list[Fault]) -> OwnPart | None:
    before = len(faults)
    values: dict[str, Value] = {}
    for name, column in columns_of(OwnPart).items():
        text = row.cells.get(name)
        if text is not None:
            values.update(_read(column.read, name, text, table, row, faults))
        elif column.required and name in table.names:
            faults.append(Fault(table.file, row.line, name, "blank", column.accepts))
    numbers: dict[str, Value] = {}
    for name in further:
        text = row.cells.get(name)
        if text is None:
            faults.append(Fault(table.file, row.line, name, "blank", "a number", "Write 0 where there is none of it."))
        else:
            numbers.update(_read(own_number, name, text, table, row, faults))
    if len(faults) > before or "name" not in values:
        return None
    try:
        return OwnPart.model_validate({**values, "columns": numbers})
    except ValidationError as error:  # a second net, as for ordinary parts
        faults.extend(
            Fault(table.file, row.line, ".".join(map(str, item["loc"])), shown(str(item["input"])), item["msg"])
            for item in error.errors()
        )
        return None


def _read(
    read: Callable[[str], Value], name: str, text: str, table: Table, row: Row, faults: list[Fault]
) -> dict[str, Value]:
    """The cell's value under its column's name, or nothing and a fault."""
    try:
        return {name: read(text)}
    except CellError as bad:
        faults.append(Fault(table.file, row.line, name, shown(text), bad.expected, bad.remedy))
        return {}
