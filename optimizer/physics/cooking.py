"""Cooking: energy and time from the useful heat a meal asks for.

On the road: under ``problem`` and ``trips``.

References
----------
.. [1] Energy balance: what goes in is the useful heat over the efficiency.
"""

from __future__ import annotations

from optimizer.physics import N
from optimizer.physics.water import heat_to_warm


def energy_for_heat(heat_wh: N, efficiency: float) -> N:
    """Energy a cooker takes for the useful heat of a meal. [Wh]

    Parameters
    ----------
    heat_wh : useful heat into the food [Wh]
    efficiency : useful heat for each energy in [-]

    Reference: [1]_.
    """
    energy: N = heat_wh / efficiency
    return energy


def cooking_hours(heat_wh: N, efficiency: float, power_w: float) -> N:
    """Time a cooker runs at full power for a meal. [h]

    Parameters
    ----------
    heat_wh : useful heat into the food [Wh]
    efficiency : useful heat for each energy in [-]
    power_w : electric power or heat of the flame [W]

    Reference: [1]_.
    """
    hours: N = energy_for_heat(heat_wh, efficiency) / power_w
    return hours


def heat_to_boil(litres: N, from_c: float = 15.0, boiling_c: float = 100.0) -> N:
    """Useful heat to bring cold water to the boil. [Wh]

    Parameters
    ----------
    litres : water, taken at 1 kg a litre [L]
    from_c, boiling_c : temperatures [degC]

    Reference: IAPWS-95 through ``water.heat_to_warm``.
    """
    return heat_to_warm(litres, from_c, boiling_c)
