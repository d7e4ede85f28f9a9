"""Quantities in, scaled integers out: the only room that converts units or rounds.

On the road: at the door of ``brief`` and ``parts`` (text with a unit becomes a number in the
documented unit) and of ``problem`` (numbers become integers that never flatter a kit).

References
----------
NIST Special Publication 811 (2008), Appendix B, for the conversion factors (through pint).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any

from pydantic import BeforeValidator

MONEY_SCALE = 100  # cents
MASS_SCALE = 1000  # grams
VOLUME_SCALE = 1000  # millilitres


@dataclass(frozen=True)
class Measure:
    """Marks a field: the documented unit of a bare number, and a word for what is measured."""

    unit: str
    what: str


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # slow to import, and needed only where text carries a unit

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


# Words people write that pint knows under another name.
_SPELLINGS = {
    "gal": "US_liquid_gallon",
    "gallon": "US_liquid_gallon",
    "gallons": "US_liquid_gallon",
    "us gal": "US_liquid_gallon",
    "imp gal": "imperial_gallon",
    "qt": "US_liquid_quart",
    "fl oz": "US_fluid_ounce",
    "c": "degC",
    "°c": "degC",
    "f": "degF",
    "°f": "degF",
    "degc": "degC",
    "degf": "degF",
    "lbs": "lb",
    "%": "percent",
    "l": "liter",
    "litre": "liter",
    "litres": "liter",
    "liters": "liter",
    "″": "inch",
    '"': "inch",
    "'": "foot",
    "′": "foot",
    "kwh": "kilowatt_hour",
    "wh": "watt_hour",
    "w": "watt",
    "kw": "kilowatt",
    "hr": "hour",
    "hrs": "hour",
    "h": "hour",
    "min": "minute",
    "btu/h": "Btu/hour",
    "sq ft": "foot**2",
    "ft2": "foot**2",
    "sqft": "foot**2",
    "m2": "meter**2",
    "m3": "meter**3",
    "ft3": "foot**3",
    "cu ft": "foot**3",
}
_TERM = re.compile(r"\s*([-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)\s*([^\d\s+-][^\d+-]*[23]?)")
_ISO_UNITS = {"": "dimensionless", "%": "percent", "USD": "dimensionless"}


def quantity(text: str, unit: str) -> float:
    """Read ``text`` such as ``"17 ft 6 in"`` and return it as a number in ``unit``.

    Raises ValueError with a sentence when the text is no quantity or measures something else.
    """
    terms = _TERM.findall(text)
    if not terms or "".join(_TERM.sub("", text).split()):
        raise ValueError(f"a number, or text with a unit such as '2 {unit}'")
    registry = _registry()
    total = 0.0
    sign = -1.0 if len(terms) > 1 and text.strip().startswith("-") else 1.0
    for index, (number, written) in enumerate(terms):
        name = _SPELLINGS.get(written.strip().lower(), written.strip())
        try:
            value = registry.Quantity(float(number), name)
            converted = value.to(_ISO_UNITS.get(unit, unit)).magnitude
        except Exception as error:  # pint raises many kinds; each means the same to a person
            raise ValueError(f"a quantity that can be given in {unit}") from error
        total += sign * float(converted) if index else float(converted)
    return total


def _reader(unit: str) -> BeforeValidator:
    def read(value: object) -> object:
        if isinstance(value, bool):
            raise ValueError(f"a number in {unit}, or text with a unit")
        if isinstance(value, str):
            number = quantity(value, unit)
            if not math.isfinite(number):
                raise ValueError(f"a finite number in {unit}")
            return number
        if isinstance(value, float) and not math.isfinite(value):
            raise ValueError(f"a finite number in {unit}")
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
