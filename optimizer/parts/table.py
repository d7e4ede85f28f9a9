"""The bytes of one CSV file as a header and rows with their line numbers.

On the road: between a catalog's file and ``reading``; knows the form of a table, not its meaning.
Pure: takes bytes, gives rows, and adds what is wrong to the list of faults it is handed.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from optimizer.errors import Fault
from optimizer.parts.cells import shown

MOST_COLUMNS = 200
MOST_ROWS = 100_000
SPLIT = "Split it over several folders."
COMMENT = "#"  # a row whose first cell starts with it is for people, not for the reader


@dataclass(frozen=True)
class Row:
    """One record: the line it starts on, and its cells that are not blank, by column."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True)
class Table:
    """A whole file; ``file`` is its name as a person gave it."""

    file: str
    header_line: int
    names: tuple[str, ...]
    rows: tuple[Row, ...]


def read_table(data: bytes, file: str, faults: list[Fault]) -> Table | None:
    """The table in ``data`` (UTF-8, commas, one header row), or None when it cannot be read at all."""
    if not data.strip():
        faults.append(Fault(file, 0, "", "empty", "a header row with the names of the columns"))
        return None
    text = _decoded(data, file, faults)
    if text is None:
        return None
    header: tuple[int, list[str]] | None = None
    rows: list[Row] = []
    taken = 0
    try:
        for line, cells in _records(text):
            if header is None:
                header = (line, cells)
                if not _good_header(line, cells, file, faults):
                    return None
            elif taken == MOST_ROWS:
                faults.append(Fault(file, line, "row", "one too many", f"at most {MOST_ROWS:,} rows", SPLIT))
                return None
            else:
                taken += 1
                _take(line, cells, header[1], file, rows, faults)
    except _TornError as torn:
        faults.append(
            Fault(
                file,
                torn.line,
                "",
                "no whole row",
                "cells with commas between",
                "A quote is open or out of place on this line, or a cell is far too long.",
            )
        )
        return None
    if header is None:
        faults.append(Fault(file, 0, "", "without a header", "a header row with the names of the columns"))
        return None
    return Table(file, header[0], tuple(header[1]), tuple(rows))


def _decoded(data: bytes, file: str, faults: list[Fault]) -> str | None:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        faults.append(
            Fault(
                file,
                line,
                "",
                f"not UTF-8 (byte 0x{data[error.start]:02x})",
                "text in UTF-8",
                "Save the file as 'CSV UTF-8'.",
            )
        )
        return None


class _TornError(Exception):
    """A malformed record, with the line it starts on."""

    def __init__(self, line: int) -> None:
        super().__init__(line)
        self.line = line


def _records(text: str) -> Iterator[tuple[int, list[str]]]:
    """Records that say anything, with their first line; trailing blank cells are cut off."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            record = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise _TornError(line) from error
        cells = [cell.strip() for cell in record]
        while cells and not cells[-1]:
            cells.pop()
        if cells and not cells[0].startswith(COMMENT):
            yield line, cells


def _good_header(line: int, names: list[str], file: str, faults: list[Fault]) -> bool:
    before = len(faults)
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if len(names) == 1 and mark in names[0]:
            faults.append(
                Fault(
                    file,
                    line,
                    "header",
                    shown(names[0]),
                    "columns with commas between",
                    f"The file has {word} between: export it again with commas and decimal points.",
                )
            )
            return False
    if len(names) > MOST_COLUMNS:
        faults.append(Fault(file, line, "header", f"{len(names)} columns long", f"at most {MOST_COLUMNS} columns"))
        return False
    if "id" not in names:
        faults.append(
            Fault(
                file,
                line,
                "header",
                shown(", ".join(names)),
                "a column named id",
                "The first row must name the columns, in lower case.",
            )
        )
    for index, name in enumerate(names):
        if not name:
            faults.append(Fault(file, line, f"header, cell {index + 1}", "blank", "the name of a column"))
        elif name in names[:index]:
            faults.append(Fault(file, line, f"header, cell {index + 1}", shown(name), "each column once"))
    return len(faults) == before


def _take(line: int, cells: list[str], names: list[str], file: str, rows: list[Row], faults: list[Fault]) -> None:
    if len(cells) > len(names):
        faults.append(
            Fault(
                file,
                line,
                "row",
                f"{len(cells)} cells long",
                f"at most {len(names)} cells, as in the header",
                "Put quotes round a text with a comma in it; decimals take a point.",
            )
        )
        return
    rows.append(Row(line, {name: cell for name, cell in zip(names, cells, strict=False) if cell}))
