"""Does a weather year fit its own place? Hints, not errors: a person decides.

On the road: weather year -> warnings of the terminal and the book. A file can be whole and its numbers
possible, and yet stand in the wrong hemisphere or under the wrong clock.
"""

from __future__ import annotations

import numpy as np

from optimizer.errors import Fault
from optimizer.physics import Array
from optimizer.physics.sun_geometry import extraterrestrial_daily, solar_hour
from optimizer.weather.year import HOURS, WeatherYear, month_of_hour

_TROPICS = 12.0
"""Nearer to the equator than this [deg] the seasons of the sun are too weak to tell a hemisphere."""

_CLOCK_SLACK = 0.4
"""How far the middle of the sun's day may lie from solar noon [h]: clouds shift it by less
than 0.2 h at nineteen US stations; a label wrong by an hour shifts it by 1 h. Common practice,
no source."""

_CLEAREST = 0.85
"""No month brings more than this share of the sun above the air: clear skies pass 0.75 (FAO-56, eq. 37,
at sea level) and up to 0.83 at 4,000 m."""


_TWILIGHT_WH = 50.0
"""So much more a day passes [Wh/m2]: in twilight the closed form sees no sun at all."""


def season_faults(year: WeatherYear) -> tuple[Fault, ...]:
    """Is the summer where the latitude puts it? One hint if it is not, none near the equator."""
    if abs(year.latitude) < _TROPICS:
        return ()
    months = month_of_hour()
    middle, turn = np.isin(months, (5, 6, 7)), np.isin(months, (11, 12, 1))
    north = _northern(year.ghi, middle, turn) + _northern(year.air_c, middle, turn)
    if north * year.latitude >= 0:
        return ()
    summer = "June" if north > 0 else "December"
    return (
        Fault(
            year.name, 0, "season", f"latitude {year.latitude:g} with its summer around {summer}",
            "the summer of its hemisphere",
            "The latitude's sign or the order of the months may be wrong; south is negative.",
        ),
    )


def _northern(values: Array, middle: np.ndarray, turn: np.ndarray) -> int:
    """1 when the middle of the year has more than the turn of the year, -1 when less."""
    return int(np.sign(values[middle].mean() - values[turn].mean()))


def sun_shift(year: WeatherYear) -> float:
    """How long after solar noon the middle of the year's sun lies, -12 to 12 [h]; 0 without any sun.

    The middle is taken on the ring of the day, so that a clock half a day off shows as such.
    """
    hour = np.arange(HOURS)
    day = (hour // 24 + 1).astype(np.float64)
    clock = (hour % 24 + 0.5).astype(np.float64)
    solar = solar_hour(clock, day, year.longitude, year.utc_offset_h)
    turn = np.pi / 12 * (solar - 12)
    middle = np.arctan2((year.ghi * np.sin(turn)).sum(), (year.ghi * np.cos(turn)).sum())
    return float(12 / np.pi * middle)


def clock_faults(year: WeatherYear) -> tuple[Fault, ...]:
    """Does the sun stand highest at noon? One hint if the labels, zone or longitude seem to be wrong."""
    shift = sun_shift(year)
    if abs(shift) <= _CLOCK_SLACK:
        return ()
    way = "after" if shift > 0 else "before"
    return (
        Fault(
            year.name, 0, "clock", f"the middle of its sun {abs(shift):.1f} h {way} solar noon",
            "the sun to be highest at noon",
            "The longitude's sign, the time zone or the labels of the hours may be wrong.",
        ),
    )


def sun_faults(year: WeatherYear) -> tuple[Fault, ...]:
    """Does any month bring more sun than a clear sky lets through? One hint for each such month."""
    day = np.arange(1.0, 366.0)
    most = _CLEAREST * extraterrestrial_daily(year.latitude, day)
    months = month_of_hour()[::24]
    daily = year.ghi.reshape(365, 24).sum(axis=1)
    hints = []
    for month in range(1, 13):
        here = months == month
        found, limit = daily[here].mean(), most[here].mean()
        if found > limit + _TWILIGHT_WH:
            hints.append(
                Fault(
                    year.name, 0, f"month {month}", f"{found / 1000:.2f} kWh/m2 a day on the level",
                    f"at most {limit / 1000:.2f}, a clear sky at latitude {year.latitude:g}",
                    "The unit or the latitude may be wrong.",
                )
            )
    return tuple(hints)


def hints(year: WeatherYear) -> tuple[Fault, ...]:
    """Everything about a weather year that a person should look at twice."""
    # In the wrong hemisphere half of the months have too much sun: that is one hint, not six more.
    return (season_faults(year) or sun_faults(year)) + clock_faults(year)
