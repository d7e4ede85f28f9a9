"""EPW, TMY3 and TMY2 files: typical years whose numbers are means of the hour, in local standard time.

On the road: text of a weather file -> ``RawYear``. The trap is the label. In all three formats hour 1 is
the hour from 00:00 to 01:00; EPW readers often label it with its beginning, TMY3 with its end. Here
it becomes hour 0, the hour that begins at 00:00. The readers are our own so that a fault names its
line; tests hold them to pvlib's readers, number by number.

References
----------
.. [1] EnergyPlus documentation, Auxiliary Programs: EPW data dictionary.
.. [2] S. Wilcox and W. Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008).
.. [3] W. Marion and K. Urban, User's Manual for TMY2s, NREL (1995), Tables 3-1 and 3-2.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence

import numpy as np

from optimizer.errors import nearest
from optimizer.weather.raw import (
    Column,
    FaultSheet,
    RawYear,
    cell,
    header_of,
    read_columns,
    read_whole,
)

_EPW_COLUMNS = {
    "air_c": Column("dry bulb temperature (field 7)", cell(6), missing=lambda v: v >= 99.9),
    "dew_c": Column("dew point temperature (field 8)", cell(7), missing=lambda v: v >= 99.9),
    "ghi": Column("global horizontal radiation (field 14)", cell(13), missing=lambda v: v >= 9999),
    "dni": Column("direct normal radiation (field 15)", cell(14), missing=lambda v: v >= 9999),
    "dhi": Column("diffuse horizontal radiation (field 16)", cell(15), missing=lambda v: v >= 9999),
    "wind_ms": Column("wind speed (field 22)", cell(21), missing=lambda v: v >= 999),
}

_TMY3_TITLES = {
    "ghi": "GHI (W/m^2)",
    "dni": "DNI (W/m^2)",
    "dhi": "DHI (W/m^2)",
    "air_c": "Dry-bulb (C)",
    "dew_c": "Dew-point (C)",
    "wind_ms": "Wspd (m/s)",
}
_TMY3_DATE = "Date (MM/DD/YYYY)"
_TMY3_TIME = "Time (HH:MM)"


def _span(start: int, stop: int) -> Callable[[Sequence[str]], str]:
    """The characters of a fixed-width row from ``start`` up to ``stop``."""
    return lambda cells: cells[0][start:stop]


# Temperatures and wind are in tenths [3].
_TMY2_COLUMNS = {
    "ghi": Column("global horizontal radiation (columns 18-21)", _span(17, 21), missing=lambda v: v >= 9999),
    "dni": Column("direct normal radiation (columns 24-27)", _span(23, 27), missing=lambda v: v >= 9999),
    "dhi": Column("diffuse horizontal radiation (columns 30-33)", _span(29, 33), missing=lambda v: v >= 9999),
    "air_c": Column("dry bulb temperature (columns 68-71)", _span(67, 71), 10, lambda v: v >= 9999),
    "dew_c": Column("dew point temperature (columns 74-77)", _span(73, 77), 10, lambda v: v >= 9999),
    "wind_ms": Column("wind speed (columns 96-98)", _span(95, 98), 10, lambda v: v >= 999),
}
_TMY2_WIDTH = 98
TMY2_HEADER = re.compile(
    r"\s*(?P<id>\d{5})\s+(?P<city>\S.*?)\s+(?P<state>[A-Z]{2})\s+(?P<zone>-?\d+)"
    r"\s+(?P<ns>[NS])\s*(?P<lat_deg>\d+)\s+(?P<lat_min>\d+)"
    r"\s+(?P<ew>[EW])\s*(?P<lon_deg>\d+)\s+(?P<lon_min>\d+)\s+(?P<alt>-?\d+)"
)


def _data_rows(
    sheet: FaultSheet, lines: Sequence[str], first: int, fields: int, separator: str | None
) -> tuple[list[list[str]], list[int]]:
    """Cells and line numbers of the rows from index ``first``; short rows are faults, blank lines not."""
    rows, numbers = [], []
    for index in range(first, len(lines)):
        text = lines[index]
        if not text.strip():
            continue
        cells = text.split(separator) if separator else [text]
        size = len(cells) if separator else len(text)
        if size < fields:
            unit = "fields" if separator else "characters"
            sheet.repeat(index + 1, "row", f"{size} {unit} long", f"a row of at least {fields} {unit}")
            continue
        rows.append(cells)
        numbers.append(index + 1)
    return rows, numbers


def _raw(
    sheet: FaultSheet,
    place: Sequence[str],
    rows: Sequence[Sequence[str]],
    numbers: Sequence[int],
    columns: dict[str, Column],
    dates: Sequence[tuple[str, str, str]],
) -> RawYear:
    """Put header, dates (month, day, hour 1 to 24, as text) and columns together."""
    parts = ("month", "day", "hour")
    whole = [
        [read_whole(sheet, line, part, text) for part, text in zip(parts, date, strict=True)]
        for line, date in zip(numbers, dates, strict=True)
    ]
    calendar = np.asarray(whole, dtype=np.int64).reshape(-1, 3)
    return RawYear(
        header=header_of(sheet, 1, place),
        lines=np.asarray(numbers, dtype=np.int64),
        month=calendar[:, 0],
        day=calendar[:, 1],
        hour=calendar[:, 2] - 1,
        columns=read_columns(sheet, rows, numbers, columns),
        titles={name: column.title for name, column in columns.items()},
    )


def read_epw(sheet: FaultSheet, lines: Sequence[str]) -> RawYear | None:
    """An EPW file [1]_; None (and faults) if its head is broken."""
    place = lines[0].split(",")
    if len(place) < 10:
        sheet.add(1, "LOCATION", f"{len(place)} fields long", "10 fields, the last four the station's place")
        return None
    starts = [index for index, line in enumerate(lines[:40]) if line.startswith("DATA PERIODS")]
    if not starts:
        sheet.add(0, "head", "cut short", "a line that begins with 'DATA PERIODS' before the hours",
                  "Fetch the file again.")
        return None
    rows, numbers = _data_rows(sheet, lines, starts[0] + 1, 22, ",")
    dates = [(cells[1], cells[2], cells[3]) for cells in rows]
    return _raw(sheet, (place[6], place[7], place[9], place[8]), rows, numbers, _EPW_COLUMNS, dates)


def read_tmy3(sheet: FaultSheet, lines: Sequence[str]) -> RawYear | None:
    """A TMY3 file [2]_; None (and faults) if its head is broken."""
    place = next(csv.reader([lines[0]]))
    if len(place) < 7:
        sheet.add(1, "station", f"{len(place)} fields long",
                  "7 fields: id, name, state, time zone, latitude, longitude, altitude")
        return None
    titles = [title.strip() for title in next(csv.reader([lines[1]]))]
    absent = [title for title in (_TMY3_DATE, _TMY3_TIME, *_TMY3_TITLES.values()) if title not in titles]
    for title in absent:
        sheet.add(2, "columns", "", f"a column '{title}'", nearest(title, titles))
    if absent:
        return None
    rows, numbers = _data_rows(sheet, lines, 2, len(titles), ",")
    columns = {
        name: Column(title, cell(titles.index(title)), missing=lambda v: v <= -9900)
        for name, title in _TMY3_TITLES.items()
    }
    day, time = titles.index(_TMY3_DATE), titles.index(_TMY3_TIME)
    dates = [_tmy3_date(cells[day], cells[time]) for cells in rows]
    return _raw(sheet, (place[4], place[5], place[6], place[3]), rows, numbers, columns, dates)


def _tmy3_date(date: str, time: str) -> tuple[str, str, str]:
    """Month, day and hour of ``MM/DD/YYYY`` and ``HH:MM``."""
    month, _, rest = date.partition("/")
    return month, rest.partition("/")[0], time.partition(":")[0]


def read_tmy2(sheet: FaultSheet, lines: Sequence[str]) -> RawYear | None:
    """A TMY2 file [3]_; its first line must match ``TMY2_HEADER``."""
    head = TMY2_HEADER.match(lines[0])
    assert head is not None  # the format was recognised by it
    place = (
        _degrees(head["lat_deg"], head["lat_min"], head["ns"] == "S"),
        _degrees(head["lon_deg"], head["lon_min"], head["ew"] == "W"),
        head["alt"],
        head["zone"],
    )
    rows, numbers = _data_rows(sheet, lines, 1, _TMY2_WIDTH, None)
    dates = [(cells[0][3:5], cells[0][5:7], cells[0][7:9]) for cells in rows]
    return _raw(sheet, place, rows, numbers, _TMY2_COLUMNS, dates)


def _degrees(whole: str, minutes: str, negative: bool) -> str:
    """Degrees and minutes as text of a decimal number; south and west are negative."""
    value = int(whole) + int(minutes) / 60
    return repr(-value if negative else value)
