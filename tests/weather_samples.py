"""Weather files written from a weather year, for the tests of reading: invented, in each known format."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from optimizer.weather.reading import STATIONS
from optimizer.weather.year import MONTH_DAYS, WeatherYear

CALENDAR = [
    (month, day, hour)
    for month, days in enumerate(MONTH_DAYS, start=1)
    for day in range(1, days + 1)
    for hour in range(24)
]


def station_file(number: str) -> Path:
    """A station's file in pvlib's data folder."""
    found = find_spec("pvlib")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "data" / STATIONS[number]


def epw(year: WeatherYear) -> str:
    """An EPW file: eight lines of head, hours 1 to 24, 35 fields; whole W/m2 as EPW files have them."""
    head = [
        f"LOCATION,Somewhere,-,-,invented,999999,{year.latitude},{year.longitude},"
        f"{year.utc_offset_h},{year.altitude_m}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    rows = [
        f"2001,{month},{day},{hour + 1},0,?9?9,{year.air_c[h]:.1f},{year.dew_c[h]:.1f},50,101325,0,0,300,"
        f"{year.ghi[h]:.0f},{year.dni[h]:.0f},{year.dhi[h]:.0f},0,0,0,0,180,{year.wind_ms[h]:.1f},"
        "5,5,20,2000,9,999999999,10,0.1,0,88,0.2,0,0"
        for h, (month, day, hour) in enumerate(CALENDAR)
    ]
    return "\n".join([*head, *rows]) + "\n"


def pvgis_tmy(year: WeatherYear, offset: str | None = None) -> str:
    """A PVGIS typical year; the year's hours are taken for moments of universal time."""
    head = [
        f"Latitude (decimal degrees): {year.latitude}",
        f"Longitude (decimal degrees): {year.longitude}",
        f"Elevation (m): {year.altitude_m}",
        *([f"Irradiance Time Offset (h): {offset}"] if offset else []),
        "month,year",
        *(f"{month},{2004 + month}" for month in range(1, 13)),
        "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP",
    ]
    rows = [
        f"{2004 + month}{month:02d}{day:02d}:{hour:02d}00,{year.air_c[h]:.2f},80.0,{year.ghi[h]:.1f},"
        f"{year.dni[h]:.1f},{year.dhi[h]:.1f},300,{year.wind_ms[h]:.2f},180,101325"
        for h, (month, day, hour) in enumerate(CALENDAR)
    ]
    return "\r\n".join([*head, *rows, "", "T2m: 2-m air temperature (degree Celsius)", ""])


def pvgis_hourly(
    year: WeatherYear, parts: bool, minute: int = 10, slope: str = "0 deg.", leap: bool = False
) -> str:
    """A PVGIS hourly file on the level, with or without the sun's parts; one calendar year."""
    calendar = list(enumerate(CALENDAR))
    if leap:
        # 29 February repeats the day before it.
        day_before = [(h, (2, 29, hour)) for h, (m, d, hour) in calendar if (m, d) == (2, 28)]
        at = 24 * (31 + 28)
        calendar = calendar[:at] + day_before + calendar[at:]
    diffuse = np.minimum(year.dhi, year.ghi)
    beam = year.ghi - diffuse
    sun_of = (
        (lambda h: f"{beam[h]:.2f},{diffuse[h]:.2f},0.0") if parts else (lambda h: f"{year.ghi[h]:.2f}")
    )
    head = [
        f"Latitude (decimal degrees):\t{year.latitude}",
        f"Longitude (decimal degrees):\t{year.longitude}",
        f"Elevation (m):\t{year.altitude_m}",
        "Radiation database:\tinvented",
        "",
        "",
        f"Slope: {slope}",
        "Azimuth: 0 deg.",
        f"time,{'Gb(i),Gd(i),Gr(i)' if parts else 'G(i)'},H_sun,T2m,WS10m,Int",
    ]
    rows = [
        f"2004{month:02d}{day:02d}:{hour:02d}{minute:02d},{sun_of(h)},{year.sun_elevation_deg[h]:.2f},"
        f"{year.air_c[h]:.2f},{year.wind_ms[h]:.2f},0.0"
        for h, (month, day, hour) in calendar
    ]
    return "\r\n".join([*head, *rows, "", "G(i): Global irradiance on the inclined plane (W/m2)", ""])


def change_line(number: int, change: Callable[[str], str]) -> Callable[[str], str]:
    """An edit of one line, counted from 1."""

    def edit(text: str) -> str:
        lines = text.split("\n")
        lines[number - 1] = change(lines[number - 1])
        return "\n".join(lines)

    return edit


def change_cell(number: int, field: int, value: str) -> Callable[[str], str]:
    """An edit of one cell, line and field counted from 1."""

    def change(line: str) -> str:
        cells = line.split(",")
        cells[field - 1] = value
        return ",".join(cells)

    return change_line(number, change)


def without_lines(first: int, last: int) -> Callable[[str], str]:
    """An edit that takes out lines, counted from 1, both ends included."""

    def edit(text: str) -> str:
        lines = text.split("\n")
        return "\n".join(lines[: first - 1] + lines[last:])

    return edit


def replaced(pattern: str, by: str) -> Callable[[str], str]:
    """An edit by pattern, everywhere."""
    return lambda text: re.sub(pattern, by, text)
