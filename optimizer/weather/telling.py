"""A weather year in plain words: months, greyest week, coldest night, and what looks wrong.

On the road: weather year -> *terminal*. Only text is made here; the command prints it.
"""

from __future__ import annotations

from optimizer.errors import Fault
from optimizer.showing import System, show
from optimizer.tables import aligned
from optimizer.weather.plausible import hints
from optimizer.weather.summary import coldest_night, greyest_week, monthly, yearly_sun
from optimizer.weather.year import MONTHS, WeatherYear


def tell_year(year: WeatherYear, units: System = "metric") -> str:
    """A weather year at a glance: where, sun and air by month, the hardest stretches, hints."""
    week, night = greyest_week(year), coldest_night(year)
    lines = [
        _place(year, units),
        "",
        _months(year, units),
        "",
        f"Sun on the level: {yearly_sun(year):,.0f} kWh/m2 in the year.",
        f"Greyest week: from {week.month:02d}-{week.day:02d}, {week.sun_kwh_m2_day:.2f} kWh/m2 a day.",
        f"Coldest night: of {night.month:02d}-{night.day:02d}, down to {show(night.lowest_c, 'degC', units)},"
        f" {show(night.mean_c, 'degC', units)} in the mean of its twelve hours.",
        *hint_lines(hints(year)),
    ]
    return "\n".join(lines)


def hint_lines(found: tuple[Fault, ...]) -> list[str]:
    """Each hint as a line of its own."""
    return [f"Look twice: {hint.sentence()}" for hint in found]


def _place(year: WeatherYear, units: System) -> str:
    latitude = f"{abs(year.latitude):.2f}° {'N' if year.latitude >= 0 else 'S'}"
    longitude = f"{abs(year.longitude):.2f}° {'E' if year.longitude >= 0 else 'W'}"
    height = show(year.altitude_m, "m", units)
    return f"{year.name}: {latitude}, {longitude}, {height} above the sea, UTC{year.utc_offset_h:+g} h"


def _months(year: WeatherYear, units: System) -> str:
    rows: list[tuple[str, ...]] = [("month", "sun kWh/m2 a day", "coldest hour", "mean", "hottest hour")]
    rows += [
        (
            MONTHS[row.month - 1],
            f"{row.sun_kwh_m2_day:.2f}",
            *(show(value, "degC", units) for value in (row.coldest_c, row.mean_c, row.hottest_c)),
        )
        for row in monthly(year)
    ]
    return aligned(rows)
