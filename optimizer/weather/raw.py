"""Rows of a weather file as numbers, with the line each came from.

On the road: between the text of a weather file (``typical``, ``pvgis``) and the checks on it
(``checking``). Every number that cannot be read becomes a fault with its line and column.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault

LARGEST_WHOLE = 10**6  # years, hours and minutes are smaller
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Column:
    """One quantity in the file: its name there, where it stands, and what means that it is missing."""

    title: str
    cut: Callable[[Sequence[str]], str]
    """Takes the row's cells and gives this column's text."""
    parts: float = 1.0
    """How many of the file's units make one of the weather year's: 10 for tenths of a degree."""
    missing: Callable[[float], bool] = math.isnan
    """Whether the file's number is its mark for a missing value."""


@dataclass(frozen=True)
class Header:
    """Where the station stands."""

    latitude: float
    longitude: float
    altitude_m: float
    utc_offset_h: float


@dataclass(frozen=True)
class RawYear:
    """All rows of a file, one array a quantity, length n; ``hour`` is the hour's beginning, 0 to 23."""

    header: Header
    lines: Ints
    month: Ints
    day: Ints
    hour: Ints
    columns: dict[str, Floats]
    """By field of the weather year; nan where the file marks a missing value."""
    titles: dict[str, str]
    """The file's own name of each column."""
    sun_after_label_h: float | None = None
    """None: values are means of the hour. Else they are moments, so long after the hour's beginning."""
    air_after_label_h: float = 0.0
    """For moments: the same for air temperature, dew point and wind."""


@dataclass
class FaultSheet:
    """Gathers faults; the same fault in many lines is told once, with the number of lines."""

    file: str
    faults: list[Fault] = field(default_factory=list)
    _repeated: dict[tuple[str, str], tuple[int, str, int]] = field(default_factory=dict)
    """Line and value where it was met first, and how many lines it was met in."""

    def add(self, line: int, place: str, value: str, expected: str, remedy: str = "") -> None:
        """One fault by itself."""
        self.faults.append(Fault(self.file, line, place, value, expected, remedy))

    def repeat(self, line: int, place: str, value: str, expected: str) -> None:
        """A fault that may well occur in many lines."""
        first, shown, lines = self._repeated.get((place, expected), (line, value, 0))
        self._repeated[place, expected] = (first, shown, lines + 1)

    def gathered(self) -> tuple[Fault, ...]:
        """Everything found so far, in the order of the file."""
        told = list(self.faults)
        for (place, expected), (line, value, lines) in self._repeated.items():
            others = lines - 1
            more = f"The same holds for {others} more line{'s' if others > 1 else ''}." if others else ""
            told.append(Fault(self.file, line, place, value, expected, more))
        return tuple(sorted(told, key=lambda fault: (fault.line, fault.place)))


def cell(index: int) -> Callable[[Sequence[str]], str]:
    """The cell at an index."""
    return lambda cells: cells[index]


def number(text: str) -> float | None:
    """The number a text stands for, or None; words such as ``nan`` and ``inf`` are no numbers."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def header_number(sheet: FaultSheet, line: int, place: str, text: str, low: float, high: float) -> float:
    """A number of the header within its possible span; a fault (and 0) if it is none."""
    value = number(text)
    if value is None or not low <= value <= high:
        sheet.add(line, place, f"'{text.strip()}'", f"a number from {low:g} to {high:g}")
        return 0.0
    return value


def header_of(sheet: FaultSheet, line: int, texts: Sequence[str]) -> Header:
    """The station's place from the texts of latitude, longitude, altitude and time zone."""
    latitude, longitude, altitude, zone = texts
    return Header(
        latitude=header_number(sheet, line, "latitude", latitude, -90, 90),
        longitude=header_number(sheet, line, "longitude", longitude, -180, 180),
        altitude_m=header_number(sheet, line, "altitude", altitude, -430, 9000),
        utc_offset_h=header_number(sheet, line, "time zone", zone, -12, 14),
    )


def read_columns(
    sheet: FaultSheet, rows: Sequence[Sequence[str]], lines: Sequence[int], columns: dict[str, Column]
) -> dict[str, Floats]:
    """Each column as an array of length n, in the weather year's units; nan where marked missing."""
    read: dict[str, Floats] = {}
    for name, column in columns.items():
        values = np.full(len(rows), np.nan)
        for index, cells in enumerate(rows):
            text = column.cut(cells)
            value = number(text)
            if value is None:
                sheet.repeat(lines[index], column.title, f"'{text.strip()}'", "a number")
            elif not column.missing(value):
                values[index] = value / column.parts
        read[name] = values
    return read


def read_whole(sheet: FaultSheet, line: int, place: str, text: str) -> int:
    """A whole number of a date; a fault (and 0) if it is none."""
    try:
        found = int(text)
    except ValueError:
        found = None
    if found is None or abs(found) > LARGEST_WHOLE:
        sheet.repeat(line, place, f"'{text.strip()[:40]}'", "a whole number")
        return 0
    return found
