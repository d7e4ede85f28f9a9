"""What a panel gives: sun on its plane, warmth of its cells, power and voltage.

On the road: weather year -> problem and trips (hourly power) and problem (voltages, currents).
Panels lie flat on a van's roof, so the sun on them is the global horizontal irradiance itself; what their glass lets
through of it is told in ``glass``.

References
----------
.. [1] R. G. Ross, "Interface design considerations for terrestrial solar cell modules", 12th IEEE
   Photovoltaic Specialists Conference, 1976: the linear NOCT model of the cell temperature.
.. [2] NFPA 70 (National Electrical Code), section 690.7 and Table 690.7(A): voltage on the coldest
   morning; section 690.8(A): current.
.. [3] pvlib python, for sun position (NREL/TP-560-34302) and tilted planes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from optimizer.physics import Array, N

if TYPE_CHECKING:
    import pandas as pd

STANDARD_SUN = 1000.0
"""Irradiance at which a panel is rated [W/m2] (standard test conditions, IEC 61215)."""

STANDARD_CELL = 25.0
"""Cell temperature at which a panel is rated [degC] (standard test conditions, IEC 61215)."""

CURRENT_FACTOR = 1.25
"""Largest current of a source circuit over its short-circuit current [-], NEC 690.8(A) [2]_."""

LINEAR_SHORT = 1.02
"""The linear coefficient tells up to 2 % too little voltage at -20 degC against pvlib's single-diode model [-]."""

BEYOND_TABLE_PCT_K = -0.4
"""Open-circuit voltage by temperature below the table's end [%/K]: the steepest that its steps come to."""

_NEC_DOWN_TO_C = (20, 15, 10, 5, 0, -5, -10, -15, -20, -25, -30, -35, -40)
_NEC_FACTORS = (1.02, 1.04, 1.06, 1.08, 1.10, 1.12, 1.14, 1.16, 1.18, 1.20, 1.21, 1.23, 1.25)


def sun_position(
    times: pd.DatetimeIndex, latitude: float, longitude: float, altitude_m: float = 0.0
) -> tuple[Array, Array]:
    """Where the sun stands, without refraction.

    Parameters
    ----------
    times : pandas.DatetimeIndex
        Moments with a time zone, length n.
    latitude, longitude : float
        North and east are positive. [deg]
    altitude_m : float
        Height above sea level. [m]

    Returns
    -------
    (elevation, azimuth) : two arrays of length n
        Above the horizon, and clockwise from north. [deg]

    Reference: solar position algorithm NREL/TP-560-34302, through pvlib [3]_.
    """
    from pvlib.solarposition import spa_python

    where = spa_python(times, latitude, longitude, altitude=altitude_m)
    return (
        where["elevation"].to_numpy(dtype=np.float64),
        where["azimuth"].to_numpy(dtype=np.float64),
    )


def plane_of_array(
    ghi: N,
    dni: N,
    dhi: N,
    sun_elevation_deg: N,
    sun_azimuth_deg: N,
    tilt_deg: float = 0.0,
    facing_deg: float = 180.0,
    albedo: float = 0.2,
) -> N:
    """Irradiance on a panel's plane, isotropic sky. [W/m2]

    Parameters
    ----------
    ghi, dni, dhi : global horizontal, direct normal and diffuse horizontal irradiance [W/m2]
    sun_elevation_deg, sun_azimuth_deg : where the sun stands [deg, azimuth clockwise from north]
    tilt_deg, facing_deg : the panel's slope and the way it faces, clockwise from north [deg]
    albedo : share of light the ground throws back [-]

    At no tilt the measured global irradiance is returned as it is: nothing is gained by taking it
    apart and putting it together again.

    Reference: B. Y. H. Liu and R. C. Jordan (1963), as in Duffie & Beckman, eq. 2.15.1, through
    pvlib [3]_.
    """
    if tilt_deg == 0:
        return ghi
    from pvlib.irradiance import aoi_projection

    toward = aoi_projection(tilt_deg, facing_deg, 90.0 - sun_elevation_deg, sun_azimuth_deg)
    # A sun below the horizon lights no plane, however steep it stands.
    beam: N = dni * np.maximum(toward, 0.0) * np.greater(sun_elevation_deg, 0.0)
    slope = np.cos(np.radians(tilt_deg))
    total: N = beam + dhi * (1 + slope) / 2 + ghi * albedo * (1 - slope) / 2
    return total


def cell_temperature(poa: N, air_c: N, noct_c: float) -> N:
    """Cell temperature from the panel's NOCT. [degC]

    ``air + (NOCT - 20) * poa / 800``: the nominal operating cell temperature is defined at 800 W/m2,
    20 degC air and 1 m/s wind, open rack. A panel glued to a roof runs hotter; its NOCT *as mounted*
    belongs here.

    Parameters
    ----------
    poa : irradiance on the plane [W/m2]
    air_c : air temperature [degC]
    noct_c : nominal operating cell temperature as mounted [degC]

    Reference: Ross [1]_.
    """
    cell: N = air_c + (noct_c - 20.0) / 800.0 * poa
    return cell


def power_ratio(cell_c: N, coefficient_pct_k: float) -> N:
    """Power against the rating at equal sun, linear in the cell's temperature, never below 0. [-]

    Parameters
    ----------
    cell_c : cell temperature [degC]
    coefficient_pct_k : change of power a kelvin, negative [%/K]

    Reference: linear temperature coefficient of IEC 60891, as in Masters (2004), Example 8.5.
    """
    ratio: N = np.maximum(1.0 + coefficient_pct_k / 100.0 * (cell_c - STANDARD_CELL), 0.0)
    return ratio


def array_power(poa: N, air_c: N, rated_w: float, coefficient_pct_k: float, noct_c: float) -> N:
    """Power of an array at its best working point, before any controller. [W]

    ``rated * poa / 1000 * power_ratio(cell_temperature)``.

    Parameters
    ----------
    poa : irradiance on the plane [W/m2]
    air_c : air temperature [degC]
    rated_w : rated power of all panels together [W]
    coefficient_pct_k : change of power a kelvin [%/K]
    noct_c : nominal operating cell temperature as mounted [degC]

    Reference: the PVWatts form (NREL/TP-6A20-62641, eq. 8) with the NOCT cell temperature [1]_.
    """
    cell = cell_temperature(poa, air_c, noct_c)
    power: N = rated_w / STANDARD_SUN * np.maximum(poa, 0.0) * power_ratio(cell, coefficient_pct_k)
    return power


def switching_power(
    poa: N,
    air_c: N,
    rated_w: float,
    coefficient_pct_k: float,
    noct_c: float,
    working_current_a: float,
    bank_v: float,
) -> N:
    """Power that a switching (PWM) controller takes: working current at the bank's voltage. [W]

    The panel is tied to the bank, so its current flows at the bank's voltage: ``Imp * poa / 1000 * V``,
    and never more than the panel has to give at its best point.

    Parameters
    ----------
    poa, air_c, rated_w, coefficient_pct_k, noct_c : as for ``array_power``
    working_current_a : rated working current of all strings side by side [A]
    bank_v : voltage of the bank while it charges [V]

    Reference: common practice, no source; the cap is energy conservation.
    """
    current = working_current_a / STANDARD_SUN * np.maximum(poa, 0.0)
    best = array_power(poa, air_c, rated_w, coefficient_pct_k, noct_c)
    power: N = np.minimum(current * bank_v, best)
    return power


def loss_factor(soiling_pct: float = 0.0, shading_pct: float = 0.0, sun_stress_pct: float = 100.0) -> float:
    """Share of the weather year's sun that is counted on. [-]

    Losses follow one another, so their remainders multiply (as PVWatts does, NREL/TP-6A20-62641,
    section 9).

    Parameters
    ----------
    soiling_pct, shading_pct : shares lost to dirt, and to trees and hills [%]
    sun_stress_pct : share of the typical year's sun to count on [%]
    """
    return (1 - soiling_pct / 100) * (1 - shading_pct / 100) * sun_stress_pct / 100


def voc_cold(voc_v: N, coefficient_pct_k: float, coldest_c: N) -> N:
    """Open-circuit voltage on the coldest morning, cells as cold as the air. [V]

    Parameters
    ----------
    voc_v : open-circuit voltage at 25 degC [V]
    coefficient_pct_k : its change a kelvin, negative [%/K]
    coldest_c : lowest air temperature expected [degC]

    The straight line lies up to 2 % below the single-diode model at -20 degC for some silicon panels;
    ``nec_690_7_factor`` lies above it.

    Reference: NEC 690.7 with the maker's coefficient [2]_.
    """
    volts: N = voc_v * (1.0 + coefficient_pct_k / 100.0 * (coldest_c - STANDARD_CELL))
    return volts


def voc_coldest(voc_v: float, coefficient_pct_k: float, coldest_c: float) -> float:
    """Open-circuit voltage to plan with on the coldest morning: never too low. [V]

    Parameters
    ----------
    voc_v : open-circuit voltage at 25 degC [V]
    coefficient_pct_k : its change a kelvin, negative; 0 when the maker gives none [%/K]
    coldest_c : lowest air temperature expected [degC]

    With a coefficient its straight line and 2 % on top; without one the code's table, and where that ends a
    straight line of 0.4 %/K, which nowhere lies below the table at the cold end of its steps.

    Reference: NEC 690.7 and Table 690.7(A) [2]_; the 2 % are what pvlib's single-diode model has above the line.
    """
    if coefficient_pct_k:
        return float(voc_cold(voc_v, coefficient_pct_k, coldest_c)) * LINEAR_SHORT
    if coldest_c < _NEC_DOWN_TO_C[-1]:
        return float(voc_cold(voc_v, BEYOND_TABLE_PCT_K, coldest_c))
    return voc_v * nec_690_7_factor(coldest_c)


def vmp_hot(vmp_v: N, coefficient_pct_k: float, hottest_cell_c: N) -> N:
    """Working voltage with hot cells, never below 0. [V]

    Parameters
    ----------
    vmp_v : working voltage at 25 degC [V]
    coefficient_pct_k : its change a kelvin, negative [%/K]; the power coefficient serves when no other
        is known, since the working current hardly changes with temperature
    hottest_cell_c : highest cell temperature expected [degC]

    Reference: linear coefficient, as in the GSES design training text (2011).
    """
    volts: N = vmp_v * np.maximum(1.0 + coefficient_pct_k / 100.0 * (hottest_cell_c - STANDARD_CELL), 0.0)
    return volts


def nec_690_7_factor(coldest_c: float) -> float:
    """Correction of the open-circuit voltage by lowest expected air temperature. [-]

    Parameters
    ----------
    coldest_c : lowest air temperature expected [degC], down to -40; at 25 and above the factor is 1

    Raises
    ------
    ValueError
        Below -40 degC, where the table ends.

    Reference: NEC Table 690.7(A), crystalline silicon [2]_. Readings between two of its whole-degree
    steps go to the colder one.
    """
    if coldest_c >= STANDARD_CELL:
        return 1.0
    for down_to, factor in zip(_NEC_DOWN_TO_C, _NEC_FACTORS, strict=True):
        if coldest_c >= down_to:
            return factor
    raise ValueError(f"the table ends at {_NEC_DOWN_TO_C[-1]} degC; use the panel's own coefficient")
