"""One weather year, hour by hour: the frozen record every later room reads.

On the road: weather file -> weather year -> problem and trips.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

HOURS = 8760
"""Hours of a year without a leap day."""

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

SERIES = ("ghi", "dni", "dhi", "air_c", "dew_c", "wind_ms", "sun_elevation_deg")
"""The fields of a weather year that have a value for every hour."""


@dataclass(frozen=True, eq=False)
class WeatherYear:
    """8,760 hours; hour ``h`` begins ``h`` hours after the first of January 00:00, local standard time.

    Arrays are float64 of length 8,760 and read-only. There is no leap day.
    """

    name: str
    latitude: float
    """North is positive [deg]."""
    longitude: float
    """East is positive [deg]."""
    altitude_m: float
    """Height above sea level [m]."""
    utc_offset_h: float
    """Local standard time less universal time [h]."""
    ghi: NDArray[np.float64]
    """Global horizontal irradiance, mean of the hour [W/m2]."""
    dni: NDArray[np.float64]
    """Direct normal irradiance, mean of the hour [W/m2]."""
    dhi: NDArray[np.float64]
    """Diffuse horizontal irradiance, mean of the hour [W/m2]."""
    air_c: NDArray[np.float64]
    """Air temperature [degC]."""
    dew_c: NDArray[np.float64]
    """Dew point [degC]; nan where the file has none."""
    wind_ms: NDArray[np.float64]
    """Wind speed [m/s]; nan where the file has none."""
    sun_elevation_deg: NDArray[np.float64]
    """Sun above the horizon in the middle of the hour, without refraction [deg]."""

    def __post_init__(self) -> None:
        """Hold the arrays still, so that nobody changes a year that others share."""
        for name in SERIES:
            series = np.ascontiguousarray(getattr(self, name), dtype=np.float64)
            if series.shape != (HOURS,):
                raise ValueError(f"{name} has shape {series.shape}, not ({HOURS},)")
            if series.flags.writeable:
                series = series.copy()
                series.flags.writeable = False
            object.__setattr__(self, name, series)

    def __eq__(self, other: object) -> bool:
        """Same place, same hours; missing values are equal to each other."""
        if not isinstance(other, WeatherYear):
            return NotImplemented
        return all(
            np.array_equal(getattr(self, field.name), getattr(other, field.name), equal_nan=True)
            if field.name in SERIES
            else getattr(self, field.name) == getattr(other, field.name)
            for field in fields(self)
        )

    def __hash__(self) -> int:
        """By place and by the hours of sun and air."""
        return hash((self.name, self.latitude, self.longitude, self.ghi.tobytes(), self.air_c.tobytes()))


def month_of_hour() -> NDArray[np.int64]:
    """Month of each hour, 1 to 12, length 8,760."""
    return np.repeat(np.arange(1, 13), np.asarray(MONTH_DAYS) * 24)


def date_of(day_index: int) -> tuple[int, int]:
    """Month and day of the day of the year that counts from 0; the year is a ring."""
    left = day_index % 365
    for month, days in enumerate(MONTH_DAYS, start=1):
        if left < days:
            return month, left + 1
        left -= days
    raise AssertionError("a year has 365 days")


def day_index(month: int, day: int) -> int:
    """The day of the year, counted from 0, of a month and day."""
    return sum(MONTH_DAYS[: month - 1]) + day - 1
