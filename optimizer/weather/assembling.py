"""Sound rows of a file to a weather year: the right hour for every number, and the sun's elevation.

On the road: ``RawYear`` -> ``WeatherYear``.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.sun import sun_position
from optimizer.weather.clock import reference_times
from optimizer.weather.raw import Floats, RawYear
from optimizer.weather.year import HOURS, WeatherYear

_SUN = ("ghi", "dni", "dhi")


def assemble(name: str, raw: RawYear) -> WeatherYear:
    """The weather year of 8,760 sound rows."""
    head = raw.header
    columns = raw.columns
    if raw.sun_after_label_h is not None:
        columns = {
            key: at_mid_hours(
                values,
                raw.sun_after_label_h if key in _SUN else raw.air_after_label_h,
                head.utc_offset_h,
            )
            for key, values in columns.items()
        }
    mid_hours = reference_times(head.utc_offset_h, 0.5)
    elevation, _ = sun_position(mid_hours, head.latitude, head.longitude, head.altitude_m)
    return WeatherYear(
        name=name,
        latitude=head.latitude,
        longitude=head.longitude,
        altitude_m=head.altitude_m,
        utc_offset_h=head.utc_offset_h,
        sun_elevation_deg=elevation,
        **columns,
    )


def at_mid_hours(values: Floats, after_h: float, utc_offset_h: float) -> Floats:
    """Moments of universal time to the middle of each hour of local time, on a straight line between two.

    Parameters
    ----------
    values : moment ``after_h`` past each hour of universal time, length 8,760; the year is a ring
    after_h : hours from the beginning of the hour to the moment [h]
    utc_offset_h : local standard time less universal time [h]

    Returns
    -------
    array of length 8,760
        The value half an hour into each hour of local time: the mean of the hour as far as moments an
        hour apart can tell it. Their sum over the year is kept.
    """
    wanted = np.arange(HOURS) + 0.5 - utc_offset_h - after_h
    before = np.floor(wanted).astype(np.int64)
    weight = wanted - before
    middle: Floats = values[before % HOURS] * (1 - weight) + values[(before + 1) % HOURS] * weight
    return middle
