"""Units: text with a unit in, text with a unit out, and integers that never flatter a kit.

Published values: NIST Special Publication 811 (2008), Appendix B (as tabulated in scipy.constants);
the R-value, conductivity and circular mil rows follow from their definitions in the same units.
"""

from __future__ import annotations

import contextlib
import math
import subprocess
import sys
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from optimizer.quantities import LONGEST_TEXT
from optimizer.spellings import FAMILIES, asked
from optimizer.units import (
    Dollars,
    Kilograms,
    Millimetres,
    QuantityError,
    demand_up,
    quantity,
    show,
    supply_down,
)

# text, documented unit, published value, relative tolerance as published
NIST = [
    ("1 US gal", "L", 3.785411784, 1e-8),
    ("1 imp gal", "L", 4.54609, 1e-8),
    ("1 ft", "m", 0.3048, 1e-8),
    ("1 in", "mm", 25.4, 1e-8),
    ("1 mile", "m", 1609.344, 1e-8),
    ("1 lb", "kg", 0.45359237, 1e-8),
    ("1 oz", "g", 28.349523125, 1e-8),
    ("1 fl oz", "ml", 29.5735295625, 1e-8),
    ("1 hp", "W", 745.69987158, 1e-8),
    ("1 psi", "Pa", 6894.757293, 1e-8),
    ("1 atm", "Pa", 101325.0, 1e-8),
    ("1 cu ft", "L", 28.316846592, 1e-8),
    ("1 Btu", "J", 1055.05585262, 1e-8),
    ("1 kcal", "J", 4184.0, 1e-12),
    ("1 kWh", "MJ", 3.6, 1e-12),
    ("1 kWh", "Btu", 3412.14, 1e-6),
    ("1 Btu/(h ft2 F)", "W/(m2 K)", 5.678263, 1e-6),
    ("1 W/(m2 K)", "Btu/(h ft2 F)", 0.176110, 3e-6),
    ("1 h ft2 F/Btu", "m2 K/W", 0.17611, 3e-6),
    ("13 h ft2 F/Btu", "m2 K/W", 2.289, 3e-4),
    ("1 Btu in/(h ft2 F)", "W/(m K)", 0.144228, 2e-6),
    ("0 degF", "degC", -17.7778, 1e-5),
    ("40 degF", "degC", 4.4444, 1e-4),
    ("-40 degF", "degC", -40.0, 1e-9),
    ("1 circular mil", "mm2", 0.0005067075, 1e-6),
]

# text, documented unit, value worked out by hand from the exact definitions
READ = [
    ("17 ft 6 in", "mm", 5334.0),  # 17 * 304.8 + 6 * 25.4
    ("17' 6\"", "mm", 5334.0),
    ("17'6''", "mm", 5334.0),
    ("17ft6in", "mm", 5334.0),
    ("+17 FT 6 IN", "mm", 5334.0),
    ("-1 ft 6 in", "mm", -457.2),  # the sign is the whole text's
    ("5 1/2 in", "mm", 139.7),
    ("5-1/2 in", "mm", 139.7),
    ("5½ in", "mm", 139.7),
    ("1 ft 5/8 in", "mm", 320.675),
    ("1/2 gal", "L", 1.89270589),
    ("30 sq ft", "m2", 2.7870912),
    ("30 ft²", "m2", 2.7870912),
    ("280 cu ft", "m3", 7.92871705),
    ("1,200 mm", "mm", 1200.0),
    ("1,234,567.5 mm", "mm", 1234567.5),
    ("1200", "mm", 1200.0),
    ("5e3 mm", "mm", 5000.0),
    (".5 m", "mm", 500.0),
    ("$5", "USD", 5.0),
    ("5 USD", "USD", 5.0),
    ("US$ 5", "USD", 5.0),
    ("$1,234.50", "USD", 1234.5),
    ("-$5", "USD", -5.0),
    ("$-5", "USD", -5.0),
    ("75 cents", "USD", 0.75),
    ("8 degF", "delta_degC", 4.44444444),  # 8 * 5/9: a difference, not a temperature
    ("8 K", "delta_degC", 8.0),
    ("8 °C", "delta_degC", 8.0),
    ("−10 °C", "degC", -10.0),
    ("14 F", "degC", -10.0),
    ("283.15 K", "degC", 10.0),
    ("45%", "%", 45.0),
    ("1 h 30 min", "h", 1.5),
    ("1.5 kW", "W", 1500.0),
    ("900 mA", "A", 0.9),
    ("2 tonnes", "kg", 2000.0),
    ("1 short ton", "kg", 907.18474),
    ("9000 BTU/h", "W", 2637.63963),
    ("3 lb 4 oz", "kg", 1.4741752),
    ("12", "furlongs of the author's own", 12.0),
    ("-0", "mm", 0.0),
    ("-0 degC", "degC", 0.0),
]

POINT = "Write decimals with a point, such as '1.5'."
REFUSED = [
    ("", "mm", ""),
    ("   ", "mm", ""),
    ("mm", "mm", ""),
    ("--5 mm", "mm", ""),
    ("٣ mm", "mm", ""),  # digits of other scripts are not read
    ("1,5 m", "mm", POINT),
    ("0,200 m", "mm", POINT),
    ("12,34 kg", "kg", POINT),
    ("$1,5", "USD", POINT),
    ("1.2.3 mm", "mm", "'1.2.3' is no number of ordinary size."),
    ("1e999 mm", "mm", "'1e999' is no number of ordinary size."),
    ("1e99 mm", "mm", "The number must be of ordinary size."),
    ("1e-99 mm", "mm", "The number must be of ordinary size."),
    ("1/0 in", "mm", "A fraction cannot be over 0."),
    ("1 h 30", "h", "Write a unit behind each number."),
    ("5 mm 3 mm", "mm", "Write the larger unit first and each unit once."),
    ("6 in 17 ft", "mm", "Write the larger unit first and each unit once."),
    ("5 degC 3 degC", "degC", "Write one temperature only."),
    ("5 lb", "mm", "'lb' is a unit of mass, not of length."),
    ("9000 BTU", "W", "'BTU' is a unit of energy, not of power."),
    ("5 ton", "kg", "Write 'tonne' for 1000 kg or 'short ton' for 2000 lb."),
    ("5 MA", "A", "Write 'mA' if a thousandth is meant."),
    ("5 fot", "mm", "The unit 'fot' is not known. Did you mean 'foot'?"),
    ("5 zorkmids", "mm", "The unit 'zorkmids' is not known."),
    ("5 €", "USD", "Convert the amount to US dollars."),
    ("nan", "mm", ""),
    ("inf mm", "mm", ""),
    ("5 mm; 6 mm", "mm", "'; 6 mm' is not understood."),
    ("9" * 61, "mm", "Text of at most 60 characters is read."),
    ("5 m**9**9**9", "mm", "'**9**9**9' is not understood."),
]


@pytest.mark.parametrize(("text", "unit", "published", "tolerance"), NIST)
def test_published_factors(text: str, unit: str, published: float, tolerance: float) -> None:
    """Every conversion factor agrees with NIST SP 811, Appendix B."""
    assert quantity(text, unit) == pytest.approx(published, rel=max(tolerance, 1e-8))


@pytest.mark.parametrize(("text", "unit", "value"), READ)
def test_text_is_read(text: str, unit: str, value: float) -> None:
    """What people write is read to nine significant digits, exactly."""
    found = quantity(text, unit)
    assert found == value
    assert math.copysign(1.0, found) == math.copysign(1.0, value)


@pytest.mark.parametrize(("text", "unit", "remedy"), REFUSED)
def test_text_is_refused(text: str, unit: str, remedy: str) -> None:
    """What could mean something else is refused, with what was expected and what to do."""
    with pytest.raises(QuantityError) as caught:
        quantity(text, unit)
    assert str(caught.value) == asked(unit)
    assert caught.value.remedy == remedy


def test_every_spelling_converts() -> None:
    """Each unit listed can be read in each family that lists it, and twice as much is twice as much."""
    for what, spellings in FAMILIES.items():
        unit = "delta_degC" if what == "temperature difference" else next(iter(spellings))
        if what == "temperature":
            continue  # an offset unit: covered by the published values
        for spelling in spellings:
            one = quantity(f"1000 {spelling}", unit)
            assert one > 0
            assert quantity(f"2000 {spelling}", unit) == pytest.approx(2 * one, rel=1e-8)


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=80), st.sampled_from(["mm", "kg", "degC", "USD", "h", "delta_degC", "%"]))
def test_any_text_is_read_or_refused(text: str, unit: str) -> None:
    """Any text at all gives an ordinary number or a QuantityError, nothing else."""
    with contextlib.suppress(QuantityError):
        assert math.isfinite(quantity(text, unit))
        assert len(text) <= LONGEST_TEXT


@settings(deadline=None, max_examples=300)
@given(
    st.text(alphabet="0123456789.,/ -+'\"eE$%ftinlbgamLhW°CFK²", max_size=30),
    st.sampled_from(["mm", "degC", "h"]),
)
def test_any_likely_text_is_read_or_refused(text: str, unit: str) -> None:
    """Text made of the characters of quantities never breaks the reader."""
    with contextlib.suppress(QuantityError):
        assert math.isfinite(quantity(text, unit))


SHOWN = [
    (5334.0, "mm", "5334 mm", "17 ft 6 in"),
    (139.7, "mm", "140 mm", "5 1/2 in"),
    (1.5875, "mm", "1.6 mm", "1/16 in"),
    (0.0, "mm", "0 mm", "0 in"),
    (-457.2, "mm", "-457 mm", "-1 ft 6 in"),
    (304.79, "mm", "305 mm", "1 ft"),
    (1524.0, "m", "1524 m", "5000 ft"),
    (2.7870912, "m2", "2.79 m²", "30 sq ft"),
    (7.92871705, "m3", "7.93 m³", "280 cu ft"),
    (75.0, "kg", "75 kg", "165.3 lb"),
    (0.04, "kg", "0.04 kg", "0.088 lb"),
    (18.92705892, "L", "18.9 L", "5 US gal"),
    (-10.0, "degC", "-10 °C", "14 °F"),
    (8.0, "delta_degC", "8 K", "14.4 °F"),
    (8.0, "K", "8 K", "14.4 °F"),
    (1234.0, "USD", "$1,234", "$1,234"),
    (-12.5, "USD", "-$12.50", "-$12.50"),
    (0.001, "USD", "$0", "$0"),
    (0.52752793, "W/K", "0.53 W/K", "1 Btu/(h °F)"),
    (5.678263, "W/(m2 K)", "5.68 W/(m² K)", "1 Btu/(h ft² °F)"),
    (1500.0, "W", "1500 W", "1500 W"),
    (1279.6, "Wh", "1280 Wh", "1280 Wh"),
    (12.8, "V", "12.8 V", "12.8 V"),
    (30.0, "A", "30 A", "30 A"),
    (45.0, "%", "45 %", "45 %"),
    (5.0, "deg", "5°", "5°"),
    (3.0, "", "3", "3"),
    (3.25, "smiles", "3.25 smiles", "3.25 smiles"),
    (1.0, "parts", "1 part", "1 part"),
    (1.0, "departures", "1 departure", "1 departure"),
    (1.5, "nights", "1.5 nights", "1.5 nights"),
    (0.0, "circuits", "0 circuits", "0 circuits"),
    (-1e-9, "W", "0 W", "0 W"),
    (math.inf, "kg", "no limit", "no limit"),
]


@pytest.mark.parametrize(("value", "unit", "metric", "us"), SHOWN)
def test_numbers_are_shown(value: float, unit: str, metric: str, us: str) -> None:
    """A number is shown in the documented unit or in US customary units, by the same definitions."""
    assert show(value, unit, "metric") == metric
    assert show(value, unit, "us") == us


def test_not_a_number_is_not_shown() -> None:
    """Not a number never reaches a reader's eye."""
    with pytest.raises(ValueError, match="not a number"):
        show(math.nan, "kg")


@settings(deadline=None, max_examples=200)
@given(st.floats(min_value=-20000, max_value=20000))
def test_lengths_shown_in_inches_read_back(millimetres: float) -> None:
    """Feet and inches read back to within half of a sixteenth of an inch."""
    assert abs(quantity(show(millimetres, "mm", "us"), "mm") - millimetres) <= 25.4 / 32 + 1e-4


@settings(deadline=None, max_examples=200)
@given(
    st.floats(min_value=1e-6, max_value=5000),
    st.sampled_from(["mm", "kg", "L", "m2", "USD", "A", "Wh"]),
    st.sampled_from(["metric", "us"]),
)
def test_what_is_shown_rounded_up_is_enough(value: float, unit: str, system: Literal["metric", "us"]) -> None:
    """An amount that must be enough reads back as no less, in the units in which it is shown."""
    shown = show(value, unit, system, up=True)
    assert quantity(shown, unit) >= value * (1 - 1e-9) - 1e-8


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (10.0, "mm", "10 mm", "7/16 in"),
        (1.0, "L", "1 L", "0.27 US gal"),
        (0.001, "L", "0.01 L", "0.01 US gal"),
        (40.001, "visits", "41 visits", "41 visits"),
        (100.0, "kg", "100 kg", "220.5 lb"),
        (2.3, "USD", "$2.30", "$2.30"),
    ],
)
def test_amounts_are_rounded_up_as_they_are_shown(value: float, unit: str, metric: str, us: str) -> None:
    """Up in the unit that is read, to a hundredth at most; what can be counted is counted whole."""
    assert show(value, unit, up=True) == metric
    assert show(value, unit, "us", up=True) == us


@settings(deadline=None, max_examples=200)
@given(
    st.floats(min_value=10, max_value=5000),
    st.sampled_from(["kg", "L", "degC", "m2", "USD", "delta_degC", "W/K"]),
)
def test_numbers_shown_in_us_units_read_back(value: float, unit: str) -> None:
    """What is shown in US units reads back to the same number, to the decimals shown."""
    assert quantity(show(value, unit, "us"), unit) == pytest.approx(value, rel=0.02)


def test_fields_take_numbers_and_text() -> None:
    """A field of a record takes a bare number in its unit or text with a unit, and nothing else."""
    length, mass, money = TypeAdapter(Millimetres), TypeAdapter(Kilograms), TypeAdapter(Dollars)
    assert length.validate_python("17 ft 6 in") == 5334.0
    assert length.validate_python(5334) == 5334.0
    assert math.copysign(1.0, length.validate_python(-0.0)) == 1.0
    assert mass.validate_python("165 lb") == pytest.approx(74.8427411)
    assert money.validate_python("$1,200") == 1200.0
    for bad in (True, math.nan, math.inf, 1e300, 10**400, "5 lb", [1], None):
        with pytest.raises(ValidationError):
            length.validate_python(bad)


def test_rounding_goes_against_the_kit() -> None:
    """Demands round up and supplies down, but a float's last digit does not move an integer."""
    assert demand_up(1.001, 1000) == 1001
    assert demand_up(1.0011, 1000) == 1002
    assert supply_down(1.0019, 1000) == 1001
    assert demand_up(0.1 + 0.2, 10) == 3
    assert supply_down(0.3 - 1e-12, 10) == 3


@settings(deadline=None)
@given(st.floats(min_value=-1e6, max_value=1e6))
def test_supply_is_never_above_demand(value: float) -> None:
    """The same number as a supply is never more than as a demand, and at most one apart."""
    assert 0 <= demand_up(value, 100) - supply_down(value, 100) <= 1


def test_units_are_cheap_to_import() -> None:
    """The units room does not load the slow conversion library until text needs it."""
    code = "import sys, optimizer.units; assert 'pint' not in sys.modules"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
