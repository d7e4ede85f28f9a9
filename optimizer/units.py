"""Quantities in, scaled integers out: the only room that converts units or rounds.

On the road: at the door of ``brief`` and ``parts`` (text with a unit becomes a number in the
documented unit: ``quantities``), of ``problem`` (numbers become integers that never flatter a kit)
and of everything printed (``showing``). Other rooms import from here.

References
----------
NIST Special Publication 811 (2008), Appendix B, for the conversion factors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator

from optimizer.quantities import LARGEST, QuantityError, ordinary, quantity
from optimizer.showing import System, show
from optimizer.spellings import asked

__all__ = [
    "MASS_SCALE", "MONEY_SCALE", "VOLUME_SCALE",
    "Amperes", "Angle", "CubicMetres", "Degrees", "Dollars", "Hours", "Kelvins", "Kilograms", "Litres",
    "Measure", "Metres", "Millimetres", "Percent", "QuantityError", "SquareMetres", "System", "UValue",
    "Volts", "WattHours", "Watts", "WattsPerKelvin",
    "asked", "demand_up", "quantity", "show", "supply_down",
]  # fmt: skip

MONEY_SCALE = 100  # cents
MASS_SCALE = 1000  # grams
VOLUME_SCALE = 1000  # millilitres


@dataclass(frozen=True)
class Measure:
    """Marks a field: the documented unit of a bare number, and a word for what is measured."""

    unit: str
    what: str


def _reader(unit: str) -> BeforeValidator:
    def read(value: object) -> object:
        if isinstance(value, bool):
            raise QuantityError(asked(unit))
        if isinstance(value, str):
            return quantity(value, unit)
        if isinstance(value, int):
            if abs(value) > LARGEST:
                raise QuantityError(asked(unit), "The number must be of ordinary size.")
            return value
        if isinstance(value, float):
            return ordinary(value, unit)
        return value

    return BeforeValidator(read)


def _measure(unit: str, what: str) -> tuple[BeforeValidator, Measure]:
    return (_reader(unit), Measure(unit, what))


Millimetres = Annotated[float, *_measure("mm", "length")]
Metres = Annotated[float, *_measure("m", "length")]
SquareMetres = Annotated[float, *_measure("m2", "area")]
CubicMetres = Annotated[float, *_measure("m3", "volume of air")]
Kilograms = Annotated[float, *_measure("kg", "mass")]
Litres = Annotated[float, *_measure("L", "volume")]
Watts = Annotated[float, *_measure("W", "power")]
WattHours = Annotated[float, *_measure("Wh", "energy")]
Amperes = Annotated[float, *_measure("A", "current")]
Volts = Annotated[float, *_measure("V", "voltage")]
Hours = Annotated[float, *_measure("h", "time")]
Degrees = Annotated[float, *_measure("degC", "temperature")]
Kelvins = Annotated[float, *_measure("delta_degC", "temperature difference")]
Percent = Annotated[float, *_measure("%", "share")]
Dollars = Annotated[float, *_measure("USD", "money")]
WattsPerKelvin = Annotated[float, *_measure("W/K", "heat loss")]
UValue = Annotated[float, *_measure("W/(m2 K)", "heat transmission")]
Angle = Annotated[float, *_measure("deg", "angle")]


def demand_up(value: float, scale: int = 1) -> int:
    """What the trip asks for, as an integer: rounded up, so that a kit is never flattered."""
    return math.ceil(round(value * scale, 6))


def supply_down(value: float, scale: int = 1) -> int:
    """What a kit gives, as an integer: rounded down, so that a kit is never flattered."""
    return math.floor(round(value * scale, 6))
