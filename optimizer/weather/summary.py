"""A weather year at a glance: months, the greyest week, the coldest night, a picture.

On the road: weather year -> terminal and book.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.frames import write_picture
from optimizer.showing import System, in_system
from optimizer.weather.year import MONTH_DAYS, WeatherYear, date_of, month_of_hour


@dataclass(frozen=True)
class Month:
    """One month of a weather year."""

    month: int
    sun_kwh_m2_day: float
    """Sun on the level, mean day [kWh/m2]."""
    coldest_c: float
    mean_c: float
    hottest_c: float
    """Lowest, mean and highest hour of air temperature [degC]."""


@dataclass(frozen=True)
class Week:
    """Seven days in a row; the year is a ring, so they may run over its end."""

    month: int
    day: int
    """The first day."""
    sun_kwh_m2_day: float
    """Sun on the level, mean day [kWh/m2]."""


@dataclass(frozen=True)
class Night:
    """From one noon to the next."""

    month: int
    day: int
    """The day of its evening."""
    lowest_c: float
    """Its coldest hour [degC]."""
    mean_c: float
    """Mean of its twelve hours from 18:00 [degC]."""


def monthly(year: WeatherYear) -> tuple[Month, ...]:
    """The twelve months, from January."""
    months = month_of_hour()
    rows = []
    for month, days in enumerate(MONTH_DAYS, start=1):
        here = months == month
        air = year.air_c[here]
        sun = float(year.ghi[here].sum()) / 1000 / days
        rows.append(Month(month, sun, float(air.min()), float(air.mean()), float(air.max())))
    return tuple(rows)


def yearly_sun(year: WeatherYear) -> float:
    """Sun of the year on the level. [kWh/m2]"""
    return float(year.ghi.sum()) / 1000


def greyest_week(year: WeatherYear) -> Week:
    """The seven days in a row with the least sun; the earliest if several have the same."""
    daily = year.ghi.reshape(365, 24).sum(axis=1)
    ring = np.concatenate([daily, daily[:6]])
    weekly = np.convolve(ring, np.ones(7), mode="valid")
    first = int(np.argmin(np.round(weekly, 6)))
    month, day = date_of(first)
    return Week(month, day, float(weekly[first]) / 7000)


def coldest_night(year: WeatherYear) -> Night:
    """The night with the coldest hour; the earliest if several have the same."""
    nights = np.roll(year.air_c, -12).reshape(365, 24)  # each row from noon to noon
    first = int(np.argmin(nights.min(axis=1)))
    month, day = date_of(first)
    return Night(month, day, float(nights[first].min()), float(nights[first, 6:18].mean()))


def draw_year(year: WeatherYear, path: Path, units: System = "metric") -> None:
    """Draw sun and temperature of every day into a file (PNG or SVG by its ending), temperatures in ``units``.

    The file appears whole or not at all, and the same year always gives the same picture. Raises UsageError for
    another ending, MissingExtra without matplotlib, FaultsFound when it cannot be written.
    """
    write_picture(path, lambda figure: _draw_days(figure, year, units), (9.0, 6.0))


def _draw_days(figure: Any, year: WeatherYear, units: System) -> None:
    """Two panels over the days of the year: sun, and coldest to hottest hour."""
    sun, air = figure.subplots(2, 1, sharex=True)
    days = np.arange(365)
    temperatures = np.array([in_system(hour, "degC", units)[0] for hour in year.air_c]).reshape(365, 24)
    frost, degrees = in_system(0.0, "degC", units)
    sun.bar(days, year.ghi.reshape(365, 24).sum(axis=1) / 1000, width=1.0, color="#d9a400")
    sun.set_ylabel("sun on the level\n[kWh/m² a day]")
    sun.set_title(f"{year.name}: {yearly_sun(year):,.0f} kWh/m² a year")
    air.fill_between(days, temperatures.min(axis=1), temperatures.max(axis=1), color="#9db8d2")
    air.plot(days, temperatures.mean(axis=1), color="#23415f", linewidth=0.9)
    air.axhline(frost, color="#777777", linewidth=0.6)
    air.set_ylabel(f"air, coldest to hottest hour\n[{degrees}]")
    starts = np.cumsum((0, *MONTH_DAYS[:-1]))
    air.set_xticks(starts, ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"])
    air.set_xlim(-0.5, 364.5)
