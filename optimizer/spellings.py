"""The units that text may carry, by what they measure, and how each quantity is asked for.

On the road: behind ``quantities``. Case does not matter, except where M would be mega. A gallon, quart,
pint or fluid ounce is the US liquid one; a horsepower is 550 ft lbf/s; a Btu is the International Table
one. Money and shares need no pint: their number is the factor.

References
----------
NIST Special Publication 811 (2008), Appendix B.8, for which unit a name means.
"""

from __future__ import annotations

# Spelling -> name in pint, or a plain factor to the documented unit where pint is not needed.
Spellings = dict[str, "str | float"]


def _same(target: str, *spellings: str) -> Spellings:
    return dict.fromkeys(spellings, target)


_LENGTH: Spellings = {
    **_same("millimeter", "mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    **_same("centimeter", "cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    **_same("meter", "m", "metre", "metres", "meter", "meters"),
    **_same("kilometer", "km"),
    **_same("inch", "in", "inch", "inches", '"', "''"),
    **_same("foot", "ft", "foot", "feet", "'"),
    **_same("yard", "yd", "yard", "yards"),
    **_same("mile", "mi", "mile", "miles"),
}
_AREA: Spellings = {
    **_same("meter**2", "m2", "sq m", "square metres", "square meters"),
    **_same("centimeter**2", "cm2"),
    **_same("millimeter**2", "mm2"),
    **_same("foot**2", "ft2", "sq ft", "sqft", "square feet"),
    **_same("inch**2", "in2", "sq in"),
    **_same("circular_mil", "circular mil", "circular mils"),
}
_VOLUME: Spellings = {
    **_same("liter", "l", "litre", "litres", "liter", "liters"),
    **_same("milliliter", "ml", "millilitre", "millilitres", "milliliters"),
    **_same("meter**3", "m3", "cubic metres", "cubic meters"),
    **_same("centimeter**3", "cm3"),
    **_same("foot**3", "ft3", "cu ft", "cubic feet"),
    **_same("inch**3", "in3", "cu in"),
    **_same("US_liquid_gallon", "gal", "gallon", "gallons", "us gal", "us gallon", "us gallons"),
    **_same("imperial_gallon", "imp gal", "imperial gallon", "imperial gallons"),
    **_same("US_liquid_quart", "qt", "quart", "quarts"),
    **_same("US_pint", "pt", "pint", "pints"),
    **_same("US_fluid_ounce", "fl oz"),
}
_MASS: Spellings = {
    **_same("kilogram", "kg", "kilogram", "kilograms"),
    **_same("gram", "g", "gram", "grams"),
    **_same("metric_ton", "t", "tonne", "tonnes"),
    **_same("pound", "lb", "lbs", "pound", "pounds"),
    **_same("ounce", "oz", "ounce", "ounces"),
    **_same("US_ton", "short ton", "short tons"),
}
_POWER: Spellings = {
    **_same("watt", "w", "watt", "watts"),
    **_same("milliwatt", "mw"),
    **_same("kilowatt", "kw", "kilowatt", "kilowatts"),
    **_same("horsepower", "hp"),
    **_same("Btu_it/hour", "btu/h", "btu/hr", "btuh"),
}
_ENERGY: Spellings = {
    **_same("watt*hour", "wh", "watt hour", "watt hours", "watt-hours"),
    **_same("kilowatt*hour", "kwh"),
    **_same("joule", "j"),
    **_same("kilojoule", "kj"),
    **_same("megajoule", "mj"),
    **_same("Btu_it", "btu"),
    **_same("kilocalorie", "kcal"),
}
_CURRENT: Spellings = {**_same("ampere", "a", "amp", "amps", "ampere", "amperes"), "ma": "milliampere"}
_VOLTAGE: Spellings = {**_same("volt", "v", "volt", "volts"), "mv": "millivolt", "kv": "kilovolt"}
_CHARGE: Spellings = {**_same("ampere*hour", "ah", "amp hours", "amp-hours"), "mah": "milliampere*hour"}
_TIME: Spellings = {
    **_same("hour", "h", "hr", "hrs", "hour", "hours"),
    **_same("minute", "min", "mins", "minute", "minutes"),
    **_same("second", "s", "sec", "second", "seconds"),
    **_same("day", "d", "day", "days"),
}
_CELSIUS = ("degc", "deg c", "°c", "° c", "c", "celsius", "degrees c")
_FAHRENHEIT = ("degf", "deg f", "°f", "° f", "f", "fahrenheit", "degrees f")
_TEMPERATURE: Spellings = {
    **_same("degC", *_CELSIUS), **_same("degF", *_FAHRENHEIT), **_same("kelvin", "k", "kelvin"),
}
_DIFFERENCE: Spellings = {
    **_same("delta_degC", *_CELSIUS), **_same("delta_degF", *_FAHRENHEIT), **_same("kelvin", "k", "kelvin"),
    "delta_degc": "delta_degC", "delta_degf": "delta_degF",
}
_HEAT_LOSS: Spellings = {
    **_same("watt/kelvin", "w/k"),
    **_same("Btu_it/hour/delta_degF", "btu/(h °f)", "btu/(h f)", "btu/h/f"),
}
_TRANSMISSION: Spellings = {
    **_same("watt/meter**2/kelvin", "w/(m2 k)", "w/m2k", "w/m2/k"),
    **_same("Btu_it/hour/foot**2/delta_degF", "btu/(h ft2 °f)", "btu/(h ft2 f)"),
}
_RESISTANCE: Spellings = {
    **_same("meter**2*kelvin/watt", "m2 k/w"),
    **_same("hour*foot**2*delta_degF/Btu_it", "h ft2 °f/btu", "h ft2 f/btu"),
}
_CONDUCTIVITY: Spellings = {
    **_same("watt/meter/kelvin", "w/(m k)", "w/mk"),
    **_same("Btu_it*inch/hour/foot**2/delta_degF", "btu in/(h ft2 °f)", "btu in/(h ft2 f)"),
}
_AIRFLOW: Spellings = {
    **_same("meter**3/hour", "m3/h"), **_same("liter/hour", "l/h"),
    **_same("foot**3/minute", "cfm", "ft3/min"),
}
_PRESSURE: Spellings = {"pa": "pascal", "kpa": "kilopascal", "bar": "bar", "psi": "psi", "atm": "atm"}
_ANGLE: Spellings = {**_same("degree", "deg", "°", "degrees"), "rad": "radian"}
_SHARE: Spellings = dict.fromkeys(("%", "percent", "per cent"), 1.0)
_MONEY: Spellings = {
    **dict.fromkeys(("usd", "us$", "$", "dollar", "dollars"), 1.0), **dict.fromkeys(("cent", "cents"), 0.01),
}

FAMILIES: dict[str, Spellings] = {
    "length": _LENGTH, "area": _AREA, "volume": _VOLUME, "mass": _MASS, "power": _POWER, "energy": _ENERGY,
    "current": _CURRENT, "voltage": _VOLTAGE, "charge": _CHARGE, "time": _TIME, "temperature": _TEMPERATURE,
    "temperature difference": _DIFFERENCE, "heat loss": _HEAT_LOSS, "heat transmission": _TRANSMISSION,
    "thermal resistance": _RESISTANCE, "thermal conductivity": _CONDUCTIVITY, "airflow": _AIRFLOW,
    "pressure": _PRESSURE, "angle": _ANGLE, "share": _SHARE, "money": _MONEY,
}

# How a documented unit is asked for, and a text that would do.
_ASKED: dict[str, tuple[str, str]] = {
    "mm": ("a number of mm", "17 ft 6 in"), "m": ("a number of m", "5000 ft"),
    "m2": ("a number of m2", "30 sq ft"), "m3": ("a number of m3", "280 cu ft"),
    "kg": ("a number of kg", "165 lb"), "L": ("a number of L", "3 gal"),
    "W": ("a number of W", "1.5 kW"), "Wh": ("a number of Wh", "1.2 kWh"),
    "A": ("a number of A", "900 mA"), "V": ("a number of V", "12.8 V"),
    "h": ("a number of hours", "1 h 30 min"), "degC": ("a number of degC", "14 degF"),
    "delta_degC": ("a number of degrees (K)", "8 degF"), "%": ("a number of %", "45 %"),
    "USD": ("a number of US dollars", "$1,200"), "W/K": ("a number of W/K", "80 Btu/(h F)"),
    "W/(m2 K)": ("a number of W/(m2 K)", "0.5 Btu/(h ft2 F)"), "deg": ("a number of degrees", "0.5 rad"),
}  # fmt: skip


def asked(unit: str, bounds: str = "") -> str:
    """What to write for a quantity documented in ``unit``, as the end of "expected ..."."""
    words, example = _ASKED.get(unit, (f"a number of {unit}", f"2 {unit}"))
    return f"{words}{bounds}, or text with a unit such as '{example}'"


def family_of(unit: str) -> str:
    """What ``unit`` measures, or '' when it is in no family."""
    if unit in ("delta_degC", "K"):
        return "temperature difference"
    return next((what for what, spellings in FAMILIES.items() if unit.lower() in spellings), "")
