"""A number in a documented unit becomes text that a person reads, in metric or US customary units.

On the road: behind ``optimizer.units`` for everything that is printed or written: explanations,
tables, drawings, the book. Nothing is rounded for or against a kit here; that has happened before.

References
----------
NIST Special Publication 811 (2008), Appendix B.8: inch, foot, pound, US gallon, degree Fahrenheit,
Btu(IT). The factors below are the exact definitions or products of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

System = Literal["metric", "us"]

MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048
KG_PER_POUND = 0.45359237
L_PER_US_GALLON = 3.785411784
W_PER_BTU_H = 1055.05585262 / 3600  # Btu(IT)
K_PER_DEGREE_F = 5 / 9
INCH_PARTS = 16  # finer than a saw cut; common practice, no source


@dataclass(frozen=True)
class Style:
    """How a unit is shown: label, usual decimals, factor and offset from the documented unit."""

    label: str
    decimals: int
    factor: float = 1.0
    offset: float = 0.0


COUNTS = frozenset(("arrays", "circuits", "departures", "items", "meals", "nights", "parts", "things", "visits"))
"""Units that are the things counted themselves."""
_METRIC = {
    "mm": Style("mm", 0), "m": Style("m", 0), "m2": Style("m²", 2), "m3": Style("m³", 2),
    "kg": Style("kg", 1), "L": Style("L", 1), "W": Style("W", 0), "Wh": Style("Wh", 0),
    "A": Style("A", 1), "V": Style("V", 1),
    "h": Style("h", 1), "degC": Style("°C", 1), "delta_degC": Style("K", 1), "K": Style("K", 1),
    "%": Style("%", 1), "W/K": Style("W/K", 1), "W/(m2 K)": Style("W/(m² K)", 2), "deg": Style("°", 0),
}  # fmt: skip
_US = {
    "m": Style("ft", 0, 1 / M_PER_FOOT),
    "m2": Style("sq ft", 1, M_PER_FOOT**-2),
    "m3": Style("cu ft", 1, M_PER_FOOT**-3),
    "kg": Style("lb", 1, 1 / KG_PER_POUND),
    "L": Style("US gal", 1, 1 / L_PER_US_GALLON),
    "degC": Style("°F", 1, 1 / K_PER_DEGREE_F, 32.0),
    "delta_degC": Style("°F", 1, 1 / K_PER_DEGREE_F),
    "K": Style("°F", 1, 1 / K_PER_DEGREE_F),
    "W/K": Style("Btu/(h °F)", 1, K_PER_DEGREE_F / W_PER_BTU_H),
    "W/(m2 K)": Style("Btu/(h ft² °F)", 3, K_PER_DEGREE_F * M_PER_FOOT**2 / W_PER_BTU_H),
}


def plain(value: float, decimals: int, up: bool = False) -> str:
    """``value`` with at most ``decimals`` decimals, no trailing zeros and never '-0'; ``up``: never less than it."""
    text = f"{_up(value, 10**decimals) if up else value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _decimals(value: float, usual: int) -> int:
    """More decimals for small numbers, so that something small is not shown as nothing."""
    size = abs(value)
    if size == 0 or size >= 10:
        return usual
    return max(usual, min(6, 1 - math.floor(math.log10(size))))


def _up(value: float, parts: int) -> float:
    """The next whole number of so many parts of one; what only computing adds (a billionth) does not count."""
    return math.ceil(round(value * parts, 9)) / parts


def _dollars(value: float, up: bool) -> str:
    cents = round((_up(value, 100) if up else value) * 100)
    sign = "-" if cents < 0 else ""
    whole, part = divmod(abs(cents), 100)
    return f"{sign}${whole:,}.{part:02d}" if part else f"{sign}${whole:,}"


def _feet_and_inches(millimetres: float, up: bool) -> str:
    inches_in_all = abs(millimetres) / MM_PER_INCH
    parts = round((_up(inches_in_all, INCH_PARTS) if up else inches_in_all) * INCH_PARTS)
    sign = "-" if millimetres < 0 and parts else ""
    inches, sixteenths = divmod(parts, INCH_PARTS)
    feet, inches = divmod(inches, 12)
    words = [f"{feet} ft"] if feet else []
    if inches or sixteenths or not feet:
        shared = math.gcd(sixteenths, INCH_PARTS)
        fraction = f"{sixteenths // shared}/{INCH_PARTS // shared}" if sixteenths else ""
        number = " ".join(word for word in (str(inches) if inches or not fraction else "", fraction) if word)
        words.append(f"{number} in")
    return sign + " ".join(words)


def show(value: float, unit: str, system: System = "metric", up: bool = False) -> str:
    """``value``, a number in the documented ``unit``, as text in ``system`` ("metric" or "us").

    Lengths in mm become feet and inches to the nearest 1/16 inch; kg lb, L US gallons, m2 square feet,
    degC degF, differences in K degrees F. W, Wh, A, V, h and % stay; US dollars are "$1,234". A unit not
    known here is shown as it is. Infinity is "no limit"; ValueError for something that is no number.
    ``up`` rounds to what is no less, in the unit that is shown: for an amount above zero that must be enough.
    """
    if math.isnan(value):
        raise ValueError("not a number cannot be shown")
    if math.isinf(value):
        return "no limit" if value > 0 else "no lower limit"
    if unit == "USD":
        return _dollars(value, up)
    if unit == "mm" and system == "us":
        return _feet_and_inches(value, up)
    style = (_US.get(unit) if system == "us" else None) or _METRIC.get(unit) or Style(unit, 2)
    number = value * style.factor + style.offset
    gap = "" if style.label in ("", "°") else " "
    decimals = _decimals(number, style.decimals)
    if up:  # a whole visit, and nothing finer than a hundredth: nobody gives way by a drop
        decimals = 0 if unit in COUNTS else min(decimals, max(style.decimals, 2))
    shown = plain(number, decimals, up)
    return f"{shown}{gap}{counted(style.label, shown)}"


def in_system(value: float, unit: str, system: System = "metric") -> tuple[float, str]:
    """``value``, a number in the documented ``unit``, as a bare number for an axis or a cell, with its unit's label.

    Lengths in mm stay: feet and inches are no one number.
    """
    style = (_US.get(unit) if system == "us" else None) or _METRIC.get(unit)
    return (value, unit) if style is None else (value * style.factor + style.offset, style.label)


def counted(unit: str, shown: str) -> str:
    """What is counted, in the singular for just one: '1 part', '0 parts', '2 parts'."""
    return unit.removesuffix("s") if shown in ("1", "-1") and unit in COUNTS else unit
