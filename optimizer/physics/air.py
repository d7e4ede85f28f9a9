"""Air: thinner with height, and the dew it carries.

On the road: under ``fuel`` (burners at altitude), ``weather`` (dew point) and ``explain`` (condensation).

References
----------
.. [1] ISO 2533:1975, Standard Atmosphere: troposphere, -2 to 11 km of geopotential height.
.. [2] Magnus formula with the coefficients of O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35
   (1996): 17.625 and 243.04 degC, saturation over water, -40 to 50 degC; from memory.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics import N

SEA_LEVEL_KELVIN = 288.15
SEA_LEVEL_PASCAL = 101325.0
SEA_LEVEL_DENSITY = 1.225
"""Standard atmosphere at sea level [K], [Pa], [kg/m3] [1]_."""

_LAPSE = 0.0065  # [K/m] [1]
_GRAVITY = 9.80665  # [m/s2] [1]
_GAS_CONSTANT = 287.05287  # of dry air [J/(kg K)] [1]
_EARTH_RADIUS = 6356766.0  # [m] [1]
_EXPONENT = _GRAVITY / (_LAPSE * _GAS_CONSTANT)

_MAGNUS_A = 17.625
_MAGNUS_B = 243.04  # [degC]
_MAGNUS_PASCAL = 610.94


def air_temperature(altitude_m: N) -> N:
    """Temperature of the standard atmosphere. [K]

    Parameters
    ----------
    altitude_m : geometric height above sea level, up to 11 000 [m]

    Reference: ISO 2533:1975 [1]_.
    """
    geopotential = _EARTH_RADIUS * altitude_m / (_EARTH_RADIUS + altitude_m)
    kelvin: N = SEA_LEVEL_KELVIN - _LAPSE * geopotential
    return kelvin


def air_pressure(altitude_m: N) -> N:
    """Pressure of the standard atmosphere. [Pa]

    Parameters
    ----------
    altitude_m : geometric height above sea level, up to 11 000 [m]

    Reference: ISO 2533:1975 [1]_.
    """
    pascal: N = SEA_LEVEL_PASCAL * (air_temperature(altitude_m) / SEA_LEVEL_KELVIN) ** _EXPONENT
    return pascal


def air_density(altitude_m: N) -> N:
    """Density of the standard atmosphere. [kg/m3]

    Parameters
    ----------
    altitude_m : geometric height above sea level, up to 11 000 [m]

    Reference: ISO 2533:1975 [1]_.
    """
    density: N = air_pressure(altitude_m) / (_GAS_CONSTANT * air_temperature(altitude_m))
    return density


def density_ratio(altitude_m: N) -> N:
    """Density against sea level. [-]

    Reference: ISO 2533:1975 [1]_.
    """
    ratio: N = air_density(altitude_m) / SEA_LEVEL_DENSITY
    return ratio


def saturation_pressure(air_c: N) -> N:
    """Pressure of water vapour that air can hold. [Pa]

    Parameters
    ----------
    air_c : air temperature, -40 to 50 [degC]

    Reference: Magnus formula [2]_.
    """
    pascal: N = _MAGNUS_PASCAL * np.exp(_MAGNUS_A * air_c / (_MAGNUS_B + air_c))
    return pascal


def dew_point(air_c: N, humidity_pct: N) -> N:
    """Temperature at which the air's moisture condenses. [degC]

    Parameters
    ----------
    air_c : air temperature, -40 to 50 [degC]
    humidity_pct : relative humidity, above 0 to 100 [%]

    Reference: Magnus formula [2]_ solved for the temperature.
    """
    log_ratio = np.log(humidity_pct / 100.0) + _MAGNUS_A * air_c / (_MAGNUS_B + air_c)
    dew: N = _MAGNUS_B * log_ratio / (_MAGNUS_A - log_ratio)
    return dew


def relative_humidity(air_c: N, dew_c: N) -> N:
    """Relative humidity from air temperature and dew point. [%]

    Reference: Magnus formula [2]_.
    """
    share: N = 100.0 * saturation_pressure(dew_c) / saturation_pressure(air_c)
    return share


def condenses(surface_c: N, air_c: N, humidity_pct: N) -> N:
    """1 where water condenses on a surface: it is no warmer than the air's dew point; else 0. [-]

    Parameters
    ----------
    surface_c : temperature of the surface, such as ``heat.inside_surface_temperature`` [degC]
    air_c, humidity_pct : temperature and relative humidity of the air in front of it [degC], [%]

    Reference: Magnus formula [2]_.
    """
    wet: N = np.less_equal(surface_c, dew_point(air_c, humidity_pct)) * 1.0
    return wet
