"""Fuels: energy and mass of a litre, litres for heat, and burners at altitude.

On the road: under ``problem`` (fuel for the trip, heat on the coldest night) and ``trips``.

References
----------
.. [1] Hydrogen Analysis Resource Center (US DOE), Lower and Higher Heating Values of Fuels (GREET basis):
   low-sulphur diesel, conventional gasoline.
.. [2] I. Staffell, The Energy and Fuel Data Sheet, University of Birmingham (2011): kerosene density.
.. [3] E. W. Lemmon, M. O. McLinden and W. Wagner (2009), through CoolProp: liquid propane at 15 degC.
.. [4] Handbook values, from memory: lower heating values of kerosene, propane and ethanol, density of
   ethanol.
.. [5] ISO 2533:1975, Standard Atmosphere: density with height.
"""

from __future__ import annotations

from optimizer.physics import N
from optimizer.physics.air import density_ratio

FUEL_LHV_MJ_KG: dict[str, float] = {
    "diesel": 42.602,  # [1]
    "petrol": 43.438,  # [1]
    "kerosene": 43.1,  # [4]
    "propane": 46.35,  # [4]
    "alcohol": 26.8,  # ethanol [4]
}
"""Lower heating value, the flue gas leaving as vapour [MJ/kg]."""

FUEL_DENSITY_KG_L: dict[str, float] = {
    "diesel": 0.8469,  # [1]
    "petrol": 0.7447,  # [1]
    "kerosene": 0.807,  # [2]
    "propane": 0.5075,  # [3]
    "alcohol": 0.789,  # ethanol at 20 degC [4]
}
"""Mass of a litre [kg/L]."""

FUEL_LHV_WH_L: dict[str, float] = {
    fuel: FUEL_LHV_MJ_KG[fuel] * FUEL_DENSITY_KG_L[fuel] / 3.6 * 1000 for fuel in FUEL_LHV_MJ_KG
}
"""Lower heating value of a litre [Wh/L]."""

FUELS = tuple(FUEL_LHV_MJ_KG)


def fuel_litres(heat_wh: N, efficiency: float, fuel: str) -> N:
    """Fuel burnt for an amount of heat. [L]

    ``heat / (efficiency * heating value)``.

    Parameters
    ----------
    heat_wh : useful heat [Wh]
    efficiency : useful heat for each energy of the fuel, on the lower heating value [-]
    fuel : one of ``FUELS``; KeyError for another

    References: [1]_ to [4]_.
    """
    litres: N = heat_wh / (efficiency * FUEL_LHV_WH_L[fuel])
    return litres


def fuel_mass(litres: N, fuel: str) -> N:
    """Mass of a fuel. [kg]

    References: [1]_ to [4]_.
    """
    mass: N = litres * FUEL_DENSITY_KG_L[fuel]
    return mass


def burner_output(output_w: float, altitude_m: float) -> float:
    """Heat of a burner at altitude. [W]

    Its fan moves the same volume of air, so with the air's density the oxygen, and to the first order the
    heat, goes down; nothing is gained below sea level.

    Parameters
    ----------
    output_w : heat at sea level [W]
    altitude_m : height above sea level [m]

    Reference: density of ISO 2533 [5]_; that heat follows it is common practice, no source.
    """
    return output_w * min(1.0, density_ratio(float(altitude_m)))
