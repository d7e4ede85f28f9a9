"""What a kit does on a trip, as plain numbers: the only thing trips know of a kit.

On the road: between ``choosing`` (or ``replay``) and ``trips``. A kit is turned into these numbers in
one place, ``optimizer/kit_numbers.py``; the trips never look at parts.

Every number has a good direction, and each is monotone: more usable energy, charge power, array,
controller output, efficiency, alternator charge, heat output or fuel never makes a trip fall short;
more draw, heat loss, cooking energy or fuel use never helps. A cold box's two rated draws are monotone
together; ``trips.layout`` tells them as a draw and two slopes, each with a direction of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.physics import fuel

FUELS = fuel.FUELS


@dataclass(frozen=True)
class BankNumbers:
    """The battery bank as the trips see it."""

    usable_wh: float
    """Usable stored energy at 25 degC, reserve already taken off [Wh]."""
    charge_w: float
    """Largest power into the bank [W]."""
    charge_efficiency: float
    discharge_efficiency: float
    self_use_w: float
    """Own draw of its electronics [W]."""
    chemistry: str
    """Capacity-against-temperature curve, a key of ``physics.battery``."""
    charges_cold: bool
    """May be charged below 0 degC."""
    warm: bool
    """Lives inside (temperature of the heated van) or outside."""


@dataclass(frozen=True)
class ArrayNumbers:
    """One controller with its panels."""

    power_w: float
    """Rated power of its panels together [W]."""
    switching_w: float
    """Rated working current of its strings together times bank voltage [W]: what a switching (PWM)
    controller can take from them at full sun; never more than ``power_w``."""
    tracking: bool
    coefficient_pct_k: float
    """Power coefficient [%/K]."""
    noct_c: float
    output_w: float
    """Largest power out of the controller [W]."""
    efficiency: float


@dataclass(frozen=True)
class HeaterNumbers:
    """The heater at the place's altitude."""

    output_w: float
    """Heat at that altitude [W]."""
    draw_per_w: float
    """Electric power a watt of heat [W/W]."""
    supply: str
    """'dc' or 'ac'."""
    start_wh: float
    """Electric energy of one start [Wh]."""
    fuel: str
    """One of ``FUELS``, or empty."""
    fuel_l_per_wh: float
    """Fuel a watt-hour of heat [L/Wh]; 0 for electric ones."""


@dataclass(frozen=True)
class MealNumbers:
    """How one meal of the brief is cooked, each time it is cooked."""

    dc_wh: float
    ac_wh: float
    fuel: str
    fuel_l: float
    while_driving: bool
    """It can be cooked on the drive (then the alternator helps to carry it)."""


@dataclass(frozen=True)
class KitNumbers:
    """A whole kit as the trips see it."""

    bank: BankNumbers
    arrays: tuple[ArrayNumbers, ...]
    alternator_w: float
    """Power into the bank's side while driving [W]."""
    inverter_efficiency: float
    """1 when there is none (then nothing runs on AC)."""
    inverter_idle_w: float
    """Own draw while switched on [W]: in hours in which something runs on AC."""
    converter_efficiency: float
    """DC converter between bank and DC uses; 1 when there is none."""
    idle_w: float
    """Own draws of controllers, chargers and converters, all day [W]."""
    cold_dc: tuple[float, float]
    """Mean draw of the DC cold boxes together at 25 and at 32 degC around them [W]."""
    cold_ac: tuple[float, float]
    heater: HeaterNumbers | None
    fan_w: float
    """Roof fan, while it runs [W]."""
    heat_loss_w_k: float
    """Heat loss of the insulated van, air changes included [W/K]."""
    meals: tuple[MealNumbers, ...]
    """In the order of the brief's meals."""
    fuel_l: dict[str, float]
    """Litres on board for heating and cooking, by fuel."""
    water_l: float
    grey_l: float
    toilet_visits: float
