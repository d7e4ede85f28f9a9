"""Is it one whole year, and can its numbers be? Every fault with its line.

On the road: ``RawYear`` -> ``RawYear`` of exactly 8,760 sound rows.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.weather.raw import FaultSheet, Floats, Ints, RawYear
from optimizer.weather.year import HOURS, MONTH_DAYS, month_of_hour

_LEAP_ROWS = HOURS + 24
_ESSENTIAL = ("ghi", "dni", "dhi", "air_c")

POSSIBLE: dict[str, tuple[float, float, str]] = {
    "ghi": (0.0, 1500.0, "W/m2"),
    "dni": (0.0, 1500.0, "W/m2"),
    "dhi": (0.0, 1000.0, "W/m2"),
    "air_c": (-90.0, 60.0, "degC"),
    "dew_c": (-110.0, 50.0, "degC"),
    "wind_ms": (0.0, 110.0, "m/s"),
}
"""What an hour can have. Common practice, no source: the solar constant is 1,361 W/m2, and clouds beside
the sun can lift a moment somewhat above it; the coldest and hottest air on record are -89 and 57 degC."""

_NIGHT_OFFSET = -10.0
"""Pyranometers read a little below nothing at night [W/m2]; so little is taken as nothing."""


def check_calendar(sheet: FaultSheet, raw: RawYear) -> RawYear:
    """The rows of one year from its first hour, in order; a leap day is left out."""
    if len(raw.lines) == _LEAP_ROWS:
        raw = _without_leap_day(raw)
    month, day, hour = _calendar()
    rows = min(len(raw.lines), HOURS)
    wrong = np.flatnonzero(
        (raw.month[:rows] != month[:rows]) | (raw.day[:rows] != day[:rows]) | (raw.hour[:rows] != hour[:rows])
    )
    if len(wrong):
        at = wrong[0]
        sheet.add(
            int(raw.lines[at]), "hour", _moment(raw.month[at], raw.day[at], raw.hour[at]),
            f"{_moment(month[at], day[at], hour[at])} next, hour after hour from 1 January",
            "An hour is missing, doubled or out of order.",
        )
    elif len(raw.lines) != HOURS:
        sheet.add(
            int(raw.lines[-1]) if len(raw.lines) else 0, "hours", f"{len(raw.lines)} rows",
            f"{HOURS} rows, every hour of one year", _remedy(len(raw.lines)),
        )
    return raw


def _calendar() -> tuple[Ints, Ints, Ints]:
    """Month, day and hour (0 to 23) of every hour of a year."""
    days = np.concatenate([np.arange(1, length + 1) for length in MONTH_DAYS])
    return month_of_hour(), np.repeat(days, 24), np.tile(np.arange(24), 365)


def _moment(month: int, day: int, hour: int) -> str:
    """An hour of the year as a person writes it."""
    return f"{month:02d}-{day:02d} {hour:02d}:00"


def _remedy(rows: int) -> str:
    """What to do about a wrong number of rows."""
    if rows > _LEAP_ROWS:
        return "Give one year at a time, one row an hour; a brief may name several files."
    return "The file is cut short; fetch it again."


def _without_leap_day(raw: RawYear) -> RawYear:
    """The rows that are not on 29 February."""
    keep = ~((raw.month == 2) & (raw.day == 29))
    return replace(
        raw,
        lines=raw.lines[keep],
        month=raw.month[keep],
        day=raw.day[keep],
        hour=raw.hour[keep],
        columns={name: values[keep] for name, values in raw.columns.items()},
    )


def check_values(sheet: FaultSheet, raw: RawYear) -> RawYear:
    """Sun and air temperature for every hour, and nothing that cannot be."""
    columns = {name: _settled(name, values) for name, values in raw.columns.items()}
    for name, values in columns.items():
        low, high, unit = POSSIBLE[name]
        title = raw.titles[name]
        if name in _ESSENTIAL:
            for at in np.flatnonzero(np.isnan(values)):
                sheet.repeat(int(raw.lines[at]), title, "missing", f"a value in {unit} for every hour")
        for at in np.flatnonzero((values < low) | (values > high)):
            sheet.repeat(int(raw.lines[at]), title, f"{values[at]:g} {unit}", f"{low:g} to {high:g} {unit}")
    if not sheet.gathered() and not columns["ghi"].any():
        sheet.add(int(raw.lines[0]), raw.titles["ghi"], "0 in every hour of the year", "a year with some sun")
    return replace(raw, columns=columns)


def _settled(name: str, values: Floats) -> Floats:
    """Irradiance with the little that instruments read below nothing taken as nothing."""
    if name not in ("ghi", "dni", "dhi"):
        return values
    return np.where((values < 0) & (values >= _NIGHT_OFFSET), 0.0, values)
