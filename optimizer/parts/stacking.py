"""Catalogs on top of each other: what a later folder changes, adds and drops.

On the road: between the tables of ``reading`` and the records of ``Catalog``.

A row with a new id adds a part. A row with an id of an earlier folder changes it: cells given replace
the earlier ones, cells left blank and columns left out keep them. ``drop`` = true takes the part out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from pydantic import ValidationError

from optimizer.errors import Fault, did_you_mean, nearest
from optimizer.parts.cells import CellError, Value, columns_of, own_number, read_flag, shown
from optimizer.parts.records import KINDS, Part
from optimizer.parts.sense import oddities
from optimizer.parts.table import Row, Table

DROP = "drop"
OWN_PREFIX = "own_"
_OWN_COLUMN = re.compile(rf"{OWN_PREFIX}[a-z0-9_]+")
MOST_FAULTS = 10_000  # nobody reads more, and a large file of nonsense would have millions
MOST_HINTS = 50  # comparing an id with thousands is slow, and nobody reads the hundredth hint


@dataclass
class Entry:
    """A part on its way: its cells so far, and the row that touched it last."""

    kind: str
    file: str
    line: int
    values: dict[str, Value] = field(default_factory=dict)
    sound: bool = True


class Stack:
    """Gathers folders one after the other; ``faults`` is the list that all findings go to."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = faults
        self.entries: dict[str, Entry] = {}
        self.columns: dict[str, dict[str, float]] = {}
        self._hints_left = MOST_HINTS

    def add_folder(self, tables: list[tuple[str, Table]]) -> None:
        """Lay one folder's tables on top: drops first, so that a dropped id may return in any file."""
        earlier = dict(self.entries)
        layers = [(kind, table, *self._split(kind, table)) for kind, table in tables]
        for kind, table, _, dropped in layers:
            for part_id, row in dropped.items():
                self._drop(kind, table, row, part_id, earlier)
        for kind, table, kept, _ in layers:
            self._add_table(kind, table, kept, earlier)

    def parts(self) -> list[Part]:
        """Every part whose rows are sound, as records; the rest have been reported."""
        found = []
        for entry in self.entries.values():
            if entry.sound:
                part = self._record(entry)
                if part is not None:
                    found.append(part)
        return found

    def _record(self, entry: Entry) -> Part | None:
        try:
            part = KINDS[entry.kind].model_validate(entry.values)
        except ValidationError as error:  # cells are checked one by one, so this is a second net
            for item in error.errors():
                place = ".".join(map(str, item["loc"]))
                self.faults.append(Fault(entry.file, entry.line, place, shown(str(item["input"])), item["msg"]))
            return None
        for column, value, expected in oddities(part):
            self.faults.append(Fault(entry.file, entry.line, column, value, expected))
        return part

    def _split(self, kind: str, table: Table) -> tuple[dict[str, Row], dict[str, Row]]:
        """Rows by id: those that give something, and those that drop their part."""
        self._check_header(kind, table)
        rows = rows_by_id(table, columns_of(KINDS[kind])["id"].read, self.faults)
        dropped = {part_id: row for part_id, row in rows.items() if self._drops(table, row)}
        return {part_id: row for part_id, row in rows.items() if part_id not in dropped}, dropped

    def _check_header(self, kind: str, table: Table) -> None:
        known = columns_of(KINDS[kind])
        for name in table.names:
            if name not in known and name != DROP and not _OWN_COLUMN.fullmatch(name):
                self.faults.append(
                    Fault(
                        table.file,
                        table.header_line,
                        "column",
                        shown(name),
                        f"a column of {kind}, or one of your own: {OWN_PREFIX} and a-z 0-9 _",
                        nearest(name.lower(), (*known, DROP)),
                    )
                )

    def _drops(self, table: Table, row: Row) -> bool:
        text = row.cells.get(DROP)
        if text is None:
            return False
        try:
            return read_flag(text)
        except CellError as bad:
            self.faults.append(Fault(table.file, row.line, DROP, shown(text), bad.expected, bad.remedy))
            return False

    def _drop(self, kind: str, table: Table, row: Row, part_id: str, earlier: Mapping[str, Entry]) -> None:
        if part_id in earlier and earlier[part_id].kind == kind:
            del self.entries[part_id]
            self.columns.pop(part_id, None)
            return
        ids = tuple(key for key, entry in earlier.items() if entry.kind == kind)
        self.faults.append(
            Fault(
                table.file,
                row.line,
                "id",
                shown(part_id),
                f"the id of a {kind} of an earlier catalog, since the row drops it",
                self._hint(part_id, ids),
            )
        )

    def _hint(self, part_id: str, ids: tuple[str, ...]) -> str:
        self._hints_left -= 1
        return did_you_mean(part_id, ids) if self._hints_left >= 0 else ""

    def _add_table(self, kind: str, table: Table, rows: Mapping[str, Row], earlier: Mapping[str, Entry]) -> None:
        readers = {name: column.read for name, column in columns_of(KINDS[kind]).items()}
        known: dict[str, dict[str, Value]] = {name: {} for name in table.names}
        fresh: list[tuple[str, Row]] = []
        for part_id, row in rows.items():
            entry = self.entries.get(part_id)
            if entry is not None and entry.kind != kind:
                self.faults.append(taken_by(entry, table, row, part_id))
                continue
            if entry is None:
                fresh.append((part_id, row))
                entry = self.entries[part_id] = Entry(kind, table.file, row.line)
            entry.file, entry.line = table.file, row.line
            self._fill(entry, part_id, row, readers, known)
            if len(self.faults) > MOST_FAULTS:
                return
        self._check_complete(kind, table, fresh, earlier)

    def _fill(
        self,
        entry: Entry,
        part_id: str,
        row: Row,
        readers: Mapping[str, Callable[[str], Value]],
        known: dict[str, dict[str, Value]],
    ) -> None:
        for name, text in row.cells.items():
            own = name.startswith(OWN_PREFIX)
            read = own_number if own else readers.get(name)
            if read is None:
                continue  # an unknown column, reported with the header, or the drop column
            value = known[name].get(text)
            if value is None:
                try:
                    value = read(text)
                except CellError as bad:
                    self.faults.append(Fault(entry.file, row.line, name, shown(text), bad.expected, bad.remedy))
                    entry.sound = False
                    continue
                known[name][text] = value
            if own:
                self.columns.setdefault(part_id, {})[name] = float(value)
            else:
                entry.values[name] = value

    def _check_complete(
        self, kind: str, table: Table, fresh: list[tuple[str, Row]], earlier: Mapping[str, Entry]
    ) -> None:
        """A new part needs a cell in every column that has no default."""
        if not fresh:
            return
        required = [column for column in columns_of(KINDS[kind]).values() if column.required]
        absent = [column.name for column in required if column.name not in table.names]
        if absent:
            first_id, first = min(fresh, key=lambda pair: pair[1].line)
            hint = self._hint(first_id, tuple(key for key, entry in earlier.items() if entry.kind == kind))
            self.faults.append(
                Fault(
                    table.file,
                    table.header_line,
                    "header",
                    "without " + ", ".join(absent),
                    "a column for each" if len(absent) > 1 else "that column",
                    f"Line {first.line} adds {shown(first_id)}, which is new. {hint}".rstrip(),
                )
            )
        for part_id, row in fresh:
            lacking = [column for column in required if column.name not in row.cells]
            if lacking:
                self.entries[part_id].sound = False
            for column in lacking:
                if column.name in table.names:
                    self.faults.append(Fault(table.file, row.line, column.name, "blank", column.accepts))


def taken_by(entry: Entry, table: Table, row: Row, part_id: str) -> Fault:
    """The fault of a row whose id a part of another kind has already."""
    return Fault(
        table.file,
        row.line,
        "id",
        shown(part_id),
        "an id that no part of another kind has",
        f"It is taken by a {entry.kind} in {entry.file}, line {entry.line}.",
    )


def rows_by_id(table: Table, read_id: Callable[[str], Value], faults: list[Fault]) -> dict[str, Row]:
    """The rows of a table by id; rows with a bad id, or one given before, are reported and left out."""
    found: dict[str, Row] = {}
    for row in table.rows:
        text = row.cells.get("id")
        if text is None:
            faults.append(Fault(table.file, row.line, "id", "blank", "an id"))
            continue
        try:
            part_id = str(read_id(text))
        except CellError as bad:
            faults.append(Fault(table.file, row.line, "id", shown(text), bad.expected, bad.remedy))
            continue
        if part_id in found:
            faults.append(
                Fault(
                    table.file,
                    row.line,
                    "id",
                    shown(part_id),
                    f"an id not given before; line {found[part_id].line} has it",
                )
            )
            continue
        found[part_id] = row
    return found
