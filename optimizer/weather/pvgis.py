"""PVGIS CSV files, hourly or typical year: moments in universal time.

On the road: text of a weather file -> ``RawYear``. A PVGIS number is the irradiance of one moment, told by
its label (hourly files: minutes past the hour) or by the head's "Irradiance Time Offset" (typical years);
with neither, the full hour itself. The zone of the local clock is not in the file, so it is taken from
the longitude, 15 degrees an hour.

References
----------
.. [1] PVGIS user manual, European Commission, Joint Research Centre: hourly radiation and TMY formats.
.. [2] D. G. Erbs, S. A. Klein and J. A. Duffie (1982), through pvlib: diffuse share when a file tells
   the global irradiance alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optimizer.errors import nearest
from optimizer.physics.air import dew_point
from optimizer.physics.sun import sun_position
from optimizer.weather.clock import reference_times
from optimizer.weather.raw import (
    Column,
    FaultSheet,
    Floats,
    Header,
    Ints,
    RawYear,
    cell,
    header_of,
    number,
    read_columns,
)

_LABEL = re.compile(r"(\d{4})(\d\d)(\d\d):(\d\d)(\d\d)")
_HEAD = re.compile(r"\s*([A-Za-z][^:]*?)\s*(?:\([^)]*\))?\s*:\s*(.*?)\s*$")
_TMY_TITLES = {
    "ghi": "G(h)", "dni": "Gb(n)", "dhi": "Gd(h)", "air_c": "T2m", "humidity": "RH", "wind_ms": "WS10m",
}
_GLOBAL_TITLES = {"ghi": "G(i)", "air_c": "T2m", "wind_ms": "WS10m"}
_PARTS_TITLES = {"beam": "Gb(i)", "dhi": "Gd(i)", "ground": "Gr(i)", "air_c": "T2m", "wind_ms": "WS10m"}
_LOWEST_BEAM_SUN = 3.0
"""Below this elevation [deg] the beam on the flat is too small to be divided by the sine of it."""
_STRONGEST_BEAM = 1361.0
"""No beam is stronger than the solar constant [W/m2]; at sunrise the division may make it so."""


def read_pvgis(sheet: FaultSheet, lines: Sequence[str]) -> RawYear | None:
    """A PVGIS CSV file [1]_; None (and faults) if its head is broken."""
    starts = [index for index, line in enumerate(lines[:60]) if re.match(r"time(\(UTC\))?,", line)]
    if not starts:
        sheet.add(0, "head", "cut short", "a line of column names that begins with 'time'",
                  "Fetch the file again as CSV.")
        return None
    start = starts[0]
    head = _head(lines[:start])
    titles = [title.strip() for title in lines[start].split(",")]
    wanted = _wanted(titles)
    absent = [title for title in wanted.values() if title not in titles]
    for title in absent:
        sheet.add(start + 1, "columns", "", f"a column '{title}'", nearest(title, titles))
    _check_flat(sheet, head, titles)
    if absent:
        return None
    rows, numbers, stamps = _rows(sheet, lines, start + 1, len(titles))
    calendar = np.asarray(stamps, dtype=np.int64).reshape(-1, 5)
    columns = {name: Column(title, cell(titles.index(title))) for name, title in wanted.items()}
    header = _header(sheet, head)
    offset = _offset(sheet, head, calendar)
    return RawYear(
        header=header,
        lines=np.asarray(numbers, dtype=np.int64),
        month=calendar[:, 1],
        day=calendar[:, 2],
        hour=calendar[:, 3],
        columns=read_columns(sheet, rows, numbers, columns),
        titles={name: column.title for name, column in columns.items()},
        sun_after_label_h=offset,
    )


def _head(lines: Sequence[str]) -> dict[str, tuple[int, str]]:
    """The head's entries without their units: line and text."""
    entries: dict[str, tuple[int, str]] = {}
    for index, line in enumerate(lines):
        match = _HEAD.match(line)
        if match:
            entries.setdefault(match[1].strip().lower(), (index + 1, match[2]))
    return entries


def _wanted(titles: Sequence[str]) -> dict[str, str]:
    """The columns to read, by what the file says it has."""
    if titles[0] == "time(UTC)":
        return _TMY_TITLES
    return _PARTS_TITLES if "Gb(i)" in titles else _GLOBAL_TITLES


def _check_flat(sheet: FaultSheet, head: dict[str, tuple[int, str]], titles: Sequence[str]) -> None:
    """An hourly file must tell the sun on a level plane."""
    if titles[0] == "time(UTC)" or "slope" not in head:
        return
    line, text = head["slope"]
    slope = number(text.split()[0].rstrip("°")) if text else None
    if slope != 0:
        sheet.add(line, "slope", f"'{text}'", "0 (a level plane)", "Fetch the file again with slope 0.")


def _header(sheet: FaultSheet, head: dict[str, tuple[int, str]]) -> Header:
    """Where the station stands; the clock's zone from the longitude."""
    texts, line = [], 1
    for name in ("latitude", "longitude", "elevation"):
        line, text = head.get(name, (1, ""))
        texts.append(text.split()[0] if text else "")
    longitude = number(texts[1])
    return header_of(sheet, line, [*texts, str(round((longitude or 0.0) / 15.0))])


def _rows(
    sheet: FaultSheet, lines: Sequence[str], first: int, fields: int
) -> tuple[list[list[str]], list[int], list[tuple[int, ...]]]:
    """Cells, line numbers and year, month, day, hour, minute of the rows, up to the first blank line."""
    rows, numbers, stamps = [], [], []
    for index in range(first, len(lines)):
        if not lines[index].strip():
            break
        cells = lines[index].split(",")
        label = _LABEL.fullmatch(cells[0].strip())
        if len(cells) < fields:
            sheet.repeat(index + 1, "row", f"{len(cells)} fields long", f"a row of at least {fields} fields")
        elif label is None:
            sheet.repeat(index + 1, "time", f"'{cells[0].strip()}'", "a moment such as '20050101:0010'")
        else:
            rows.append(cells)
            numbers.append(index + 1)
            stamps.append(tuple(int(part) for part in label.groups()))
    return rows, numbers, stamps


def _offset(sheet: FaultSheet, head: dict[str, tuple[int, str]], calendar: Ints) -> float:
    """Hours from the beginning of the labelled hour to the moment of the irradiance."""
    minutes = float(calendar[0, 4]) / 60 if len(calendar) else 0.0
    line, text = head.get("irradiance time offset", (0, "0"))
    told = number(text)
    if told is None or not -1 <= told <= 1:
        sheet.add(line, "irradiance time offset", f"'{text}'", "a number of hours from -1 to 1")
        return minutes
    return minutes + told


def complete(raw: RawYear) -> RawYear:
    """Global, direct and diffuse irradiance and dew point, whatever of them the file tells.

    ``raw`` holds the 8,760 sound hours of a year from the first of January, universal time.
    """
    columns = dict(raw.columns)
    humidity = columns.pop("humidity", np.full(len(raw.lines), np.nan))
    columns["dew_c"] = dew_point(columns["air_c"], np.clip(humidity, 1.0, 100.0))
    if "dni" not in columns:
        columns |= _split(columns, raw)
        columns.pop("beam", None)
        columns.pop("ground", None)
    return replace(raw, columns=columns, titles={name: raw.titles.get(name, name) for name in columns})


def _split(columns: dict[str, Floats], raw: RawYear) -> dict[str, Floats]:
    """The missing ones of global, direct and diffuse irradiance of an hourly file on the level [W/m2]."""
    times = reference_times(0.0, raw.sun_after_label_h or 0.0)
    head = raw.header
    elevation, _ = sun_position(times, head.latitude, head.longitude, head.altitude_m)
    if "beam" not in columns:
        from pvlib.irradiance import erbs

        split = erbs(columns["ghi"], 90.0 - elevation, times)
        return {"dni": np.minimum(split["dni"], _STRONGEST_BEAM), "dhi": np.asarray(split["dhi"])}
    sine = np.sin(np.radians(np.maximum(elevation, _LOWEST_BEAM_SUN)))
    return {
        "dni": np.minimum(columns["beam"] / sine, _STRONGEST_BEAM),
        "ghi": columns["beam"] + columns["dhi"] + columns["ground"],
    }
