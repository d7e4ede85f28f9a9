"""Closed-form sun: day length, sun above the air, solar time, hours of a day's total.

On the road: under the plausibility checks of ``weather``. Good to about a degree, and needing numpy alone;
hour-by-hour positions come from ``sun.sun_position``.

References
----------
.. [1] R. G. Allen et al., FAO Irrigation and Drainage Paper 56 (1998), chapter 3, eqs. 21 to 25 and 34.
.. [2] J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed. (2013), sections
   1.5, 1.6, 1.10 and 2.13.
.. [3] M. Collares-Pereira and A. Rabl, Solar Energy 22 (1979), with B. Y. H. Liu and R. C. Jordan
   (1960) for the diffuse part; as in [2]_, eqs. 2.13.1 and 2.13.4.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics import N

SOLAR_CONSTANT = 0.0820 * 1e6 / 60
"""Irradiance above the air at the mean distance: FAO-56's 0.0820 MJ/(m2 min) in [W/m2] [1]_."""


def declination(day: N) -> N:
    """Latitude at which the sun stands overhead. [rad]

    ``0.409 sin(2 pi day / 365 - 1.39)``, [1]_ eq. 24.

    Parameters
    ----------
    day : day of the year, 1 to 365 [-]
    """
    angle: N = 0.409 * np.sin(2 * np.pi * day / 365 - 1.39)
    return angle


def distance_factor(day: N) -> N:
    """Inverse relative distance to the sun, squared: ``1 + 0.033 cos(2 pi day / 365)``, [1]_ eq. 23. [-]"""
    factor: N = 1 + 0.033 * np.cos(2 * np.pi * day / 365)
    return factor


def sunset_hour_angle(latitude_deg: float, day: N) -> N:
    """Hour angle at sunset: 0 in the polar night, pi at midnight sun. [rad]

    ``arccos(-tan(latitude) tan(declination))``, [1]_ eq. 25.

    Parameters
    ----------
    latitude_deg : north is positive [deg]
    day : day of the year [-]
    """
    angle: N = np.arccos(np.clip(-np.tan(np.radians(latitude_deg)) * np.tan(declination(day)), -1.0, 1.0))
    return angle


def daylight_hours(latitude_deg: float, day: N) -> N:
    """Time between sunrise and sunset, ``24 / pi * sunset angle``, [1]_ eq. 34. [h]"""
    hours: N = 24 / np.pi * sunset_hour_angle(latitude_deg, day)
    return hours


def extraterrestrial_daily(latitude_deg: float, day: N) -> N:
    """Sun of a day on a horizontal plane above the air, [1]_ eq. 21. [Wh/m2]

    Parameters
    ----------
    latitude_deg : north is positive [deg]
    day : day of the year [-]
    """
    latitude = np.radians(latitude_deg)
    low_sun = declination(day)
    sunset = sunset_hour_angle(latitude_deg, day)
    swept = sunset * np.sin(latitude) * np.sin(low_sun) + np.cos(latitude) * np.cos(low_sun) * np.sin(sunset)
    sun: N = 24 / np.pi * SOLAR_CONSTANT * distance_factor(day) * swept
    return sun


def sun_elevation(latitude_deg: float, day: N, solar_hour: N) -> N:
    """Sun above the horizon, [2]_ eq. 1.6.5. [deg]

    Parameters
    ----------
    latitude_deg : north is positive [deg]
    day : day of the year [-]
    solar_hour : hour of the day in solar time, 12 when the sun stands highest [h]
    """
    latitude, low_sun = np.radians(latitude_deg), declination(day)
    turn = np.cos(np.radians(15 * (solar_hour - 12)))
    height = np.cos(latitude) * np.cos(low_sun) * turn + np.sin(latitude) * np.sin(low_sun)
    elevation: N = np.degrees(np.arcsin(np.clip(height, -1.0, 1.0)))
    return elevation


def equation_of_time(day: N) -> N:
    """Solar time less mean time, J. W. Spencer (1971) as in [2]_, eq. 1.5.3. [min]"""
    turn = 2 * np.pi * (day - 1) / 365
    minutes: N = 229.2 * (
        0.000075
        + 0.001868 * np.cos(turn)
        - 0.032077 * np.sin(turn)
        - 0.014615 * np.cos(2 * turn)
        - 0.04089 * np.sin(2 * turn)
    )
    return minutes


def solar_hour(clock_hour: N, day: N, longitude_deg: float, utc_offset_h: float) -> N:
    """Solar time from local standard time, [2]_ eq. 1.5.2. [h]

    Parameters
    ----------
    clock_hour : local standard time [h]
    day : day of the year [-]
    longitude_deg : east is positive [deg]
    utc_offset_h : local standard time less universal time [h]
    """
    hour: N = clock_hour + (4 * (longitude_deg - 15 * utc_offset_h) + equation_of_time(day)) / 60
    return hour


def hourly_share(latitude_deg: float, day: N, solar_hour_middle: N) -> N:
    """Share of a day's sun that falls in the hour around a solar time, 0 at night. [-]

    Parameters
    ----------
    latitude_deg : north is positive [deg]
    day : day of the year [-]
    solar_hour_middle : middle of the hour in solar time [h]

    Reference: Collares-Pereira and Rabl [3]_.
    """
    sunset = sunset_hour_angle(latitude_deg, day)
    bend = np.sin(sunset - np.pi / 3)
    turn = np.radians(15 * (solar_hour_middle - 12))
    share: N = (0.409 + 0.5016 * bend + (0.6609 - 0.4767 * bend) * np.cos(turn)) * hourly_diffuse_share(
        latitude_deg, day, solar_hour_middle
    )
    return share


def hourly_diffuse_share(latitude_deg: float, day: N, solar_hour_middle: N) -> N:
    """Share of a day's diffuse sun that falls in the hour around a solar time, 0 at night. [-]

    Parameters as for ``hourly_share``. Reference: Liu and Jordan [3]_.
    """
    sunset = sunset_hour_angle(latitude_deg, day)
    turn = np.radians(15 * (solar_hour_middle - 12))
    whole = np.sin(sunset) - sunset * np.cos(sunset)
    lit = np.greater(sunset, np.abs(turn))
    share: N = lit * np.pi / 24 * (np.cos(turn) - np.cos(sunset)) / np.where(whole > 0, whole, 1.0)
    return share
