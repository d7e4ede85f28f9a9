"""Water: its mass, and the heat to warm, boil, melt and freeze it.

On the road: under ``problem`` (water carried) and ``cooking``.

References
----------
.. [1] G. S. Kell, J. Chem. Eng. Data 20 (1975), eq. 16, from memory: density, 0 to 150 degC.
.. [2] International Association for the Properties of Water and Steam, IAPWS-95 and IAPWS-06, through the
   library iapws: the constants.
"""

from __future__ import annotations

from optimizer.physics import N

WATER_KG_L = 1.0
"""Mass of a litre when weight is counted [kg/L]: the densest water (0.99997 at 4 degC), rounded up."""

HEAT_CAPACITY = 4.186
"""Specific heat [kJ/(kg K)]: mean from 0 to 100 degC; it is within 0.6 % of this from 4 to 80 degC [2]_."""

MELTING_HEAT = 333.4
"""Latent heat of fusion of ice [kJ/kg] [2]_."""

BOILING_HEAT = 2256.5
"""Latent heat of vaporisation at 100 degC [kJ/kg] [2]_."""


def water_density(water_c: N) -> N:
    """Density at atmospheric pressure. [kg/m3]

    Parameters
    ----------
    water_c : temperature, 0 to 100 [degC]

    Reference: Kell [1]_.
    """
    above: N = water_c * 0.0
    for factor in (-280.54253e-12, 105.56302e-9, -46.170461e-6, -7.9870401e-3, 16.945176, 999.83952):
        above = above * water_c + factor
    density: N = above / (1 + 16.879850e-3 * water_c)
    return density


def heat_to_warm(mass_kg: N, from_c: float, to_c: float) -> N:
    """Heat to warm water, without losses. [Wh]

    Parameters
    ----------
    mass_kg : mass of the water [kg]
    from_c, to_c : temperatures [degC]

    Reference: specific heat of [2]_.
    """
    heat: N = mass_kg * HEAT_CAPACITY * (to_c - from_c) / 3.6
    return heat
