"""What a battery gives: capacity in the cold, when and how far it may charge, energy, and Peukert's law.

On the road: under ``problem`` (usable energy) and ``trips`` (capacity hour by hour).

References
----------
.. [1] IEEE Std 485, Recommended Practice for Sizing Lead-Acid Batteries for Stationary Applications,
   Table 1 (cell size correction factors, 25 degC base): values from memory, the standard was not read.
.. [2] Lithium iron phosphate in the cold: common practice, no source.
.. [3] W. Peukert, Elektrotechnische Zeitschrift 20 (1897); the 20-hour form is the usual textbook one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from optimizer.physics import N

_LEAD_TEMPERATURES = (-3.9, -1.1, 1.7, 4.4, 7.2, 10.0, 12.8, 15.6, 18.3, 21.1, 25.0)
_LEAD_SIZE_FACTORS = (1.52, 1.43, 1.35, 1.30, 1.25, 1.19, 1.15, 1.11, 1.08, 1.04, 1.00)


@dataclass(frozen=True)
class CapacityCurve:
    """Share of the rated capacity by temperature: straight between points, flat above the last."""

    temperatures_c: tuple[float, ...]
    shares: tuple[float, ...]


def _lead_curve() -> CapacityCurve:
    """The table's factors turned over (a cell 1.52 times as large gives 1 / 1.52 of its rating).

    Below the table (-3.9 degC) its last slope is carried on down to nothing: no source, and against
    the kit. Above 25 degC the table's gain is not counted on.
    """
    shares = tuple(1 / factor for factor in _LEAD_SIZE_FACTORS)
    slope = (shares[1] - shares[0]) / (_LEAD_TEMPERATURES[1] - _LEAD_TEMPERATURES[0])
    empty = _LEAD_TEMPERATURES[0] - shares[0] / slope
    return CapacityCurve((empty, *_LEAD_TEMPERATURES), (0.0, *shares))


_LEAD = _lead_curve()
# Down to -20 degC as packs are commonly rated; nothing is counted on from -30 degC.
_LFP = CapacityCurve((-30.0, -20.0, -10.0, 0.0, 20.0), (0.0, 0.70, 0.80, 0.95, 1.0))

CAPACITY_CURVES: dict[str, CapacityCurve] = {
    "lfp": _LFP,
    "lfp_heated": _LFP,
    "agm": _LEAD,
    "gel": _LEAD,
    "flooded": _LEAD,
}
"""By chemistry: lead-acid from [1]_, lithium iron phosphate from [2]_."""

CHARGE_WINDOWS_C: dict[str, tuple[float, float]] = {
    "lfp": (0.0, 45.0),
    "lfp_heated": (-20.0, 45.0),
    "agm": (-20.0, 50.0),
    "gel": (-20.0, 50.0),
    "flooded": (-20.0, 50.0),
}
"""Cell temperatures between which charging is allowed [degC]: common practice, no source. Below 0 degC
lithium plates out of a charging cell and ruins it; a heated pack warms its cells first."""

LAST_SHARES: dict[str, float] = {"lfp": 0.0, "lfp_heated": 0.0, "agm": 0.15, "gel": 0.15, "flooded": 0.15}
"""Share of the rating, at the top, that a day does not count on being filled again: common practice, no source. From
about 85 % full on a lead-acid battery takes less and less current, and the rest takes hours that a day of sun or a
drive has not; so away from a hook-up it works between what must stay in it and there. Lithium iron phosphate takes its
full current almost to the end."""

CELL_VOLTS: dict[str, float] = {"lfp": 3.2, "lfp_heated": 3.2, "agm": 2.0, "gel": 2.0, "flooded": 2.0}
"""Nominal voltage of one cell [V]: common practice, no source."""


def capacity_factor(chemistry: str, temp_c: N) -> N:
    """Share of the rated capacity a battery gives at a temperature, 0 to 1. [-]

    Parameters
    ----------
    chemistry : 'lfp', 'lfp_heated', 'agm', 'gel' or 'flooded'
    temp_c : temperature of the battery [degC]

    Raises KeyError for another chemistry. References: ``CAPACITY_CURVES``.
    """
    curve = CAPACITY_CURVES[chemistry]
    share: N = np.interp(temp_c, curve.temperatures_c, curve.shares)
    return share


def may_charge(chemistry: str, temp_c: N) -> N:
    """1 where a battery may be charged at its temperature, 0 where it must not. [-]

    Parameters
    ----------
    chemistry : 'lfp', 'lfp_heated', 'agm', 'gel' or 'flooded'
    temp_c : temperature of the battery [degC]

    Raises KeyError for another chemistry. Reference: ``CHARGE_WINDOWS_C``.
    """
    coldest, hottest = CHARGE_WINDOWS_C[chemistry]
    allowed: N = np.logical_and(np.greater_equal(temp_c, coldest), np.less_equal(temp_c, hottest)) * 1.0
    return allowed


def nominal_energy(nominal_v: float, capacity_ah: float, series: int = 1, parallel: int = 1) -> float:
    """Energy of a bank by its rating: voltage times charge. [Wh]

    Parameters
    ----------
    nominal_v, capacity_ah : of one battery [V], [Ah]
    series, parallel : how many one after another, and how many strings side by side
    """
    return nominal_v * capacity_ah * series * parallel


def usable_energy(nominal_wh: N, usable_share: float, reserve_pct: float = 0.0, last_share: float = 0.0) -> N:
    """Energy that may be used at 25 degC with the reserve kept back. [Wh]

    Parameters
    ----------
    nominal_wh : energy by the rating [Wh]
    usable_share : share that may be used without harm [-]
    reserve_pct : share of the usable part that is kept back [%]
    last_share : share of the rating that is not counted on being filled, see ``LAST_SHARES`` [-]
    """
    usable: N = nominal_wh * max(0.0, usable_share - last_share) * (1 - reserve_pct / 100)
    return usable


def rated_capacity_needed(used_ah: float, usable_share: float, factor: float = 1.0) -> float:
    """Rated capacity that leaves ``used_ah`` within its usable share in the cold. [Ah]

    Parameters
    ----------
    used_ah : charge taken between full and recharge [Ah]
    usable_share : share that may be used [-]
    factor : ``capacity_factor`` at the coldest battery temperature [-]

    Reference: Masters (2004), cold-climate battery example (from memory).
    """
    return used_ah / usable_share / factor


def peukert_hours(current_a: N, capacity_ah: float, exponent: float, rated_hours: float = 20.0) -> N:
    """Hours a battery lasts at a steady current, ``H * (C / (I * H)) ** k``. [h]

    Parameters
    ----------
    current_a : steady current, above 0 [A]
    capacity_ah : capacity at the rated time [Ah]
    exponent : Peukert's exponent k; 1 for an ideal battery [-]
    rated_hours : time H of the rating [h]

    Reference: Peukert's law in the rated-hour form [3]_. Not to be mixed with ``peukert_hours_1a``:
    the two use different meanings of the capacity.
    """
    hours: N = rated_hours * (capacity_ah / (current_a * rated_hours)) ** exponent
    return hours


def peukert_hours_1a(current_a: N, peukert_capacity_ah: float, exponent: float) -> N:
    """Hours a battery lasts at a steady current, ``Cp / I ** k`` with Cp measured at 1 A. [h]

    Parameters
    ----------
    current_a : steady current, above 0 [A]
    peukert_capacity_ah : capacity at a current of 1 A [Ah]
    exponent : Peukert's exponent k [-]

    Reference: Peukert's law in its first form [3]_.
    """
    hours: N = peukert_capacity_ah / current_a**exponent
    return hours


def peukert_exponent(current_1_a: float, hours_1: float, current_2_a: float, hours_2: float) -> float:
    """Peukert's exponent from two discharges, ``ln(t1/t2) / ln(I2/I1)``. [-]

    Reference: Peukert's law [3]_ solved for k.
    """
    return log(hours_1 / hours_2) / log(current_2_a / current_1_a)
