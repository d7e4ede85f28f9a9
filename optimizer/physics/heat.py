"""Heat through the body, with the air, and from people: what a heater must make up.

On the road: under ``problem`` (heat loss, heat on the coldest night) and ``trips`` (heat hour by hour).

References
----------
.. [1] ISO 6946:2017, section 6.8, Table 7: conventional surface resistances; section 6.7.1: layers in
   a row. Outside 0.04 m2 K/W from the same table.
.. [2] D. V. Chadderton, Building Services Engineering, 5th ed., pp. 68 and 69: single glass and its
   doors at U 5.7, air at 0.33 Wh/(m3 K), heat loss of a room.
.. [3] ISO 6946:2017, section 6.7.2: parts side by side add as conductances (its upper limit of
   resistance, the only limit that fits bare ribs beside insulation; heat that spreads sideways in
   the steel skin is left out, and a covered share taken a little small makes up for it).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, Protocol

import numpy as np

from optimizer.physics import N

Facing = Literal["side", "up", "down"]

INSIDE_RESISTANCE: dict[str, float] = {"side": 0.13, "up": 0.10, "down": 0.17}
"""Surface resistance inside by the way the heat leaves [m2 K/W] [1]_."""

OUTSIDE_RESISTANCE = 0.04
"""Surface resistance outside [m2 K/W] [1]_."""

GLASS_U = 5.7
"""Single glass in a wall, and a door of glass and bare metal [W/(m2 K)] [2]_."""

AIR_HEAT = 0.33
"""Heat that a cubic metre of air takes along [Wh/(m3 K)] [2]_."""

CONDUCTIVITY: dict[str, float] = {
    "steel": 50.0,
    "stainless steel": 17.0,
    "aluminium": 160.0,
    "plywood 500 kg/m3": 0.13,
    "plywood 700 kg/m3": 0.17,
    "foam rubber": 0.06,
    "still air": 0.025,
}
"""Design values [W/(m K)], DIN EN 12524:2000."""

SENSIBLE_BODY_HEAT = 70.0
"""Heat a seated adult gives to the air, without moisture [W]: ASHRAE Handbook of Fundamentals 2009,
ch. 18, Table 1 (130 W, of which 70 sensible, for a man at very light work)."""

_GLASS_RESISTANCE = 1 / GLASS_U - INSIDE_RESISTANCE["side"] - OUTSIDE_RESISTANCE


class BodySurface(Protocol):
    """What is read of a part of the body: ``brief.vehicle.Surface`` has it."""

    @property
    def area(self) -> float: ...
    @property
    def kind(self) -> str: ...
    @property
    def facing(self) -> str: ...


class Lining(Protocol):
    """What is read of an insulation: ``parts.records.Insulation`` has it."""

    @property
    def thickness_mm(self) -> float: ...
    @property
    def conductivity_w_mk(self) -> float: ...
    @property
    def covered_share(self) -> float: ...


def layer_resistance(thickness_mm: N, conductivity_w_mk: float) -> N:
    """Resistance of a layer, thickness over conductivity. [m2 K/W]

    Parameters
    ----------
    thickness_mm : thickness [mm]
    conductivity_w_mk : thermal conductivity [W/(m K)]

    Reference: ISO 6946:2017, section 6.7.1 [1]_.
    """
    resistance: N = thickness_mm / 1000.0 / conductivity_w_mk
    return resistance


def u_value(resistance: N, facing: str = "side") -> N:
    """Heat transmission of layers in a row between inside and outside air. [W/(m2 K)]

    ``1 / (Rsi + R + Rse)``.

    Parameters
    ----------
    resistance : the layers' resistances added up; 0 for bare sheet metal [m2 K/W]
    facing : way the heat leaves: 'side', 'up' or 'down'

    Reference: ISO 6946:2017 [1]_.
    """
    transmission: N = 1.0 / (INSIDE_RESISTANCE[facing] + resistance + OUTSIDE_RESISTANCE)
    return transmission


def insulated_u(thickness_mm: N, conductivity_w_mk: float, covered_share: float, facing: str = "side") -> N:
    """Heat transmission of a lined metal body whose ribs stay bare. [W/(m2 K)]

    The covered part and the bare metal beside it, weighted by their areas.

    Parameters
    ----------
    thickness_mm : thickness of the insulation [mm]
    conductivity_w_mk : its thermal conductivity [W/(m K)]
    covered_share : share of the surface it covers [-]
    facing : way the heat leaves: 'side', 'up' or 'down'

    Reference: [3]_.
    """
    covered = u_value(layer_resistance(thickness_mm, conductivity_w_mk), facing)
    total: N = covered_share * covered + (1.0 - covered_share) * u_value(0.0, facing)
    return total


def surface_u(kind: str, facing: str, insulation: Lining | None) -> float:
    """Heat transmission of one part of the body. [W/(m2 K)]

    Parameters
    ----------
    kind : 'insulated', 'floor', 'glass', 'door' or 'bare'; only the first two take the insulation.
        A floor always loses its heat downwards, whatever ``facing`` says.
    facing : way the heat leaves: 'side', 'up' or 'down'
    insulation : the insulation chosen, or None

    Raises ValueError for another kind. References: [1]_, [2]_, [3]_.
    """
    way = "down" if kind == "floor" else facing
    if kind in ("glass", "door"):
        return u_value(_GLASS_RESISTANCE, way)
    if kind not in ("insulated", "floor", "bare"):
        raise ValueError(f"no kind of surface: {kind!r}")
    if kind == "bare" or insulation is None:
        return u_value(0.0, way)
    return insulated_u(insulation.thickness_mm, insulation.conductivity_w_mk, insulation.covered_share, way)


def ventilation_loss(air_volume_m3: N, air_changes: float) -> N:
    """Heat that leaves with the air. [W/K]

    ``0.33 * air changes * volume``. Thinner air at altitude takes less; that gain is not counted on.

    Parameters
    ----------
    air_volume_m3 : air inside [m3]
    air_changes : how often an hour it is replaced [1/h]

    Reference: Chadderton, p. 68 [2]_.
    """
    loss: N = AIR_HEAT * air_changes * air_volume_m3
    return loss


def fabric_loss(surfaces: Iterable[BodySurface], insulation: Lining | None) -> float:
    """Heat that leaves through the body: areas times transmissions, added up. [W/K]

    Reference: Chadderton, Example 3.6 [2]_.
    """
    return float(sum(part.area * surface_u(part.kind, part.facing, insulation) for part in surfaces))


def heat_loss(
    surfaces: Iterable[BodySurface],
    insulation: Lining | None,
    air_volume_m3: float,
    air_changes: float,
) -> float:
    """Heat loss of the van for each kelvin between inside and outside, air included. [W/K]

    Parameters
    ----------
    surfaces : parts of the body (``area`` [m2], ``kind``, ``facing``)
    insulation : the insulation chosen (thickness, conductivity, covered share), or None for bare metal
    air_volume_m3 : air inside [m3]
    air_changes : how often an hour it is replaced [1/h]
    """
    return fabric_loss(surfaces, insulation) + ventilation_loss(air_volume_m3, air_changes)


def body_heat(people: float, watts_each: float = SENSIBLE_BODY_HEAT) -> float:
    """Heat the people inside give to the air. [W]

    Reference: ``SENSIBLE_BODY_HEAT``.
    """
    return people * watts_each


def heat_demand(loss_w_k: float, inside_c: N, outside_c: N, gains_w: float = 0.0) -> N:
    """Heat to be supplied to hold a temperature, never below 0. [W]

    ``loss * (inside - outside) - gains``, steady: the van's own warmth is small and left out.

    Parameters
    ----------
    loss_w_k : heat loss [W/K]
    inside_c, outside_c : air temperatures [degC]
    gains_w : heat from people and appliances that can be counted on [W]
    """
    demand: N = np.maximum(loss_w_k * (inside_c - outside_c) - gains_w, 0.0)
    return demand


def inside_surface_temperature(u_w_m2k: N, inside_c: float, outside_c: float, facing: str = "side") -> N:
    """Temperature of a wall's inner face. [degC]

    ``inside - U * (inside - outside) * Rsi``.

    Parameters
    ----------
    u_w_m2k : heat transmission of the wall [W/(m2 K)]
    inside_c, outside_c : air temperatures [degC]
    facing : way the heat leaves

    Reference: Chadderton, p. 78 [2]_ (the same relation solved for U).
    """
    face: N = inside_c - u_w_m2k * (inside_c - outside_c) * INSIDE_RESISTANCE[facing]
    return face
