"""Every published row of ``reference/physics_rows.csv`` against the formula that stands for it.

Each row names its source and whether the value was found in a public copy, comes from a library, or is
recalled from memory; a row's note says why a tolerance is wider than the print.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from optimizer.physics import air, battery, cold, fuel, heat, sun, water
from optimizer.physics import sun_geometry as geometry

REFERENCE = Path(__file__).parent / "reference" / "physics_rows.csv"
ROWS = list(csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines()))
MJ = 3.6e-3  # a watt-hour in megajoules
PLACE = (39.742476, -105.1786, 1830.14)  # of the report's example, SOL-065 and SOL-066


def read(text: str) -> Any:
    """'1 2' as an array, '1' as a number, words as text."""
    try:
        numbers = [float(part) for part in text.split()]
    except ValueError:
        return text
    return numbers[0] if len(numbers) == 1 else np.array(numbers)


def allowance(row: dict[str, str]) -> dict[str, float]:
    """A row's tolerance: absolute, in percent of the value, or 0 for exact."""
    text = row["tolerance"]
    if text.endswith("%"):
        return {"rel": float(text[:-1]) / 100, "abs": 0.0}
    return {"rel": 1e-9, "abs": float(text)}


def position(x: Any) -> tuple[float, float]:
    """Full-precision elevation and azimuth at a solar time, on the prime meridian in 2013."""
    clock = x.hour - geometry.equation_of_time(x.day) / 60
    moment = pd.Timestamp("2013-01-01", tz="UTC") + pd.Timedelta(days=x.day - 1, hours=clock)
    elevation, azimuth = sun.sun_position(pd.DatetimeIndex([moment]), x.latitude, 0.0)
    return float(elevation[0]), float(azimuth[0])


def spa_example() -> tuple[float, float]:
    """Elevation and azimuth at the moment of the report's example."""
    moment = pd.DatetimeIndex(["2003-10-17 12:30:30"]).tz_localize("Etc/GMT+7")
    elevation, azimuth = sun.sun_position(moment, *PLACE)
    return float(elevation[0]), float(azimuth[0])


def spa_zenith(x: Any) -> float:
    """Zenith with refraction, as pvlib's own algorithm has it."""
    from pvlib.solarposition import spa_python

    moment = pd.DatetimeIndex(["2003-10-17 12:30:30"]).tz_localize("Etc/GMT+7")
    where = spa_python(moment, *PLACE, pressure=82000, temperature=11, delta_t=67, atmos_refract=0.5667)
    return float(where["apparent_zenith"].iloc[0])


def beam_ratio(x: Any) -> float:
    """Beam on a slope over beam on the level, from the irradiance of a beam alone."""
    elevation = geometry.sun_elevation(x.latitude, x.day, x.hour)
    azimuth = position(x)[1]
    on_level = np.sin(np.radians(elevation))
    on_slope = sun.plane_of_array(on_level, 1.0, 0.0, elevation, azimuth, x.slope, x.facing, albedo=0.0)
    return float(on_slope / on_level)


def hour_beam(x: Any) -> float:
    """Beam part of an hour's sun by the Erbs split that PVGIS files without parts get [MJ/m2]."""
    from pvlib.irradiance import erbs

    zenith = 90 - geometry.sun_elevation(x.latitude, x.day, x.hour)
    return float(x.ghi - erbs(x.ghi / MJ, zenith, x.day)["dhi"] * MJ)


def noct_not_colder(x: Any) -> float:
    """The NOCT model at a row's irradiance and air."""
    return sun.cell_temperature(x.poa, x.air, x.noct)


def fabric(x: Any) -> float:
    """The office's fabric: glass and doors as ours, the rest with the U-values of the print."""
    panes = [SimpleNamespace(area=x.glass, kind="glass", facing="side"),
             SimpleNamespace(area=x.door, kind="door", facing="side")]
    return heat.fabric_loss(panes, None) + x.net * 0.5 + x.roof * 0.3 + x.floor * 0.6


def face_u(x: Any) -> float:
    """The U-value that cools the inner face to the print's temperature, by halving."""
    low, high = 0.0, 5.0
    for _ in range(50):
        middle = (low + high) / 2
        # 'up' has the print's inside resistance of 0.10
        cold_face = heat.inside_surface_temperature(middle, x.inside, x.outside, "up") < x.face
        low, high = (low, middle) if cold_face else (middle, high)
    return low


CHECKS: dict[str, Callable[[Any], Any]] = {
    "declination": lambda x: geometry.declination(x.day),
    "sunset_angle": lambda x: geometry.sunset_hour_angle(x.latitude, x.day),
    "daily_sun": lambda x: geometry.extraterrestrial_daily(x.latitude, x.day) * MJ,
    "daylight": lambda x: geometry.daylight_hours(x.latitude, x.day),
    "clear_day": lambda x: 0.75 * geometry.extraterrestrial_daily(x.latitude, x.day) * MJ,
    "sunny_hours": lambda x: (0.25 + 0.50 * x.sunny / geometry.daylight_hours(x.latitude, x.day))
    * geometry.extraterrestrial_daily(x.latitude, x.day) * MJ,
    "pressure": lambda x: air.air_pressure(x.altitude) / 1000,
    "solar_hour": lambda x: geometry.solar_hour(x.clock, x.day, x.longitude, x.zone),
    "sun_zenith": lambda x: 90 - geometry.sun_elevation(x.latitude, x.day, x.hour),
    "sun_azimuth": lambda x: position(x)[1] - 180,
    "beam_ratio": beam_ratio,
    "hour_above_air": lambda x: geometry.hourly_diffuse_share(x.latitude, x.day, x.hour)
    * geometry.extraterrestrial_daily(x.latitude, x.day) * MJ,
    "normal_above_air": lambda x: geometry.SOLAR_CONSTANT * geometry.distance_factor(x.day),
    "hour_beam": hour_beam,
    "hour_share": lambda x: geometry.hourly_share(x.latitude, x.day, x.hour),
    "hour_of_day": lambda x: geometry.hourly_share(x.latitude, x.day, x.hour) * x.daily,
    "spa_elevation": lambda x: spa_example()[0],
    "spa_zenith": spa_zenith,
    "noct_not_colder": noct_not_colder,
    "cell_temperature": lambda x: sun.cell_temperature(x.poa, x.air, x.noct),
    "panel_power": lambda x: sun.array_power(x.poa, x.air, x.rated, x.coefficient, x.noct),
    "voc_at": lambda x: sun.voc_cold(x.voc, x.coefficient, x.cell),
    "nec_factor": lambda x: np.array([sun.nec_690_7_factor(float(at)) for at in x.coldest]),
    "string_by_table": lambda x: x.voc * x.panels * sun.nec_690_7_factor(x.coldest),
    "vmp_hot": lambda x: sun.vmp_hot(x.vmp, x.coefficient, x.cell),
    "current_factor": lambda x: sun.CURRENT_FACTOR**x.power,
    "battery_needed": lambda x: battery.rated_capacity_needed(x.used, x.usable, x.factor),
    "capacity": lambda x: battery.capacity_factor(x.chemistry, x.temperature),
    "size_factor": lambda x: 1 / battery.capacity_factor(x.chemistry, x.temperature),
    "peukert": lambda x: battery.peukert_hours(x.current, x.capacity, x.k, x.hours),
    "peukert_1a": lambda x: battery.peukert_hours_1a(x.current, x.capacity, x.k),
    "peukert_exponent": lambda x: battery.peukert_exponent(x.i1, x.t1, x.i2, x.t2),
    "cell_volts": lambda x: battery.CELL_VOLTS[x.chemistry],
    "charge_window": lambda x: np.array(battery.CHARGE_WINDOWS_C[x.chemistry]),
    "nominal_energy": lambda x: battery.nominal_energy(x.volts, x.ah),
    "inside_resistance": lambda x: heat.INSIDE_RESISTANCE[x.facing],
    "layer": lambda x: heat.layer_resistance(x.thickness, x.conductivity),
    "fabric": fabric,
    "ventilation": lambda x: heat.ventilation_loss(x.volume, x.changes),
    "face_u": face_u,
    "air_heat": lambda x: heat.AIR_HEAT,
    "conductivity": lambda x: heat.CONDUCTIVITY[x.material],
    "body_heat": lambda x: heat.body_heat(x.people),
    "lhv_mass": lambda x: fuel.FUEL_LHV_MJ_KG[x.fuel],
    "lhv_volume": lambda x: fuel.FUEL_LHV_WH_L[x.fuel] / 1000,
    "density": lambda x: np.array([fuel.FUEL_DENSITY_KG_L[name] for name in x.fuel.split()]),
    "atmosphere": lambda x: np.array(
        [air.air_density(x.altitude), air.air_pressure(x.altitude), air.air_temperature(x.altitude)]
    ),
    "water_density": lambda x: water.water_density(x.temperature),
    "water_heat_capacity": lambda x: water.HEAT_CAPACITY,
    "heat_to_warm": lambda x: water.heat_to_warm(x.mass, x.__dict__["from"], x.to) * 3.6,
    "melting_heat": lambda x: water.MELTING_HEAT,
    "boiling_heat": lambda x: water.BOILING_HEAT,
    "defrost_energy": lambda x: cold.daily_energy_with_defrost(x.steady, x.defrost, x.between),
    "label_energy": lambda x: cold.label_daily_energy(x.at16, x.at32),
    "target": lambda x: cold.TARGET_TEMPERATURES_C[x.compartment],
    "thermodynamic": lambda x: cold.thermodynamic_parameter(cold.TARGET_TEMPERATURES_C[x.compartment]),
}


def inputs_of(row: dict[str, str]) -> SimpleNamespace:
    """A row's inputs by name."""
    pairs = (part.split("=", 1) for part in row["inputs"].split("; ") if part)
    return SimpleNamespace(**{name: read(text) for name, text in pairs})


def rows_for(check: str) -> list[dict[str, str]]:
    """The rows of one check."""
    return [row for row in ROWS if row["check"] == check]


PLAIN = [row for row in ROWS if row["check"] in CHECKS and row["check"] != "noct_not_colder"]


@pytest.mark.parametrize("row", PLAIN, ids=[row["row"] for row in PLAIN])
def test_formula_gives_the_published_value(row: dict[str, str]) -> None:
    """Each formula meets its published value within the row's tolerance."""
    expected = np.atleast_1d(read(row["expected"]))
    found = np.atleast_1d(CHECKS[row["check"]](inputs_of(row)))
    assert found.tolist() == pytest.approx(expected.tolist(), **allowance(row)), row["source"]


@pytest.mark.parametrize("row", rows_for("noct_not_colder"), ids=lambda row: row["row"])
def test_noct_cell_is_never_colder_than_a_windy_one(row: dict[str, str]) -> None:
    """Against models that know of 5 m/s wind, the NOCT cell is warmer: power is never flattered."""
    found = noct_not_colder(inputs_of(row))
    assert float(row["expected"]) < found < float(row["expected"]) + float(row["tolerance"])


@pytest.mark.parametrize("row", rows_for("size_factor_capped"), ids=lambda row: row["row"])
def test_warm_lead_acid_gains_nothing(row: dict[str, str]) -> None:
    """Above 25 degC the table's gain (a factor below 1) is not counted on."""
    x = inputs_of(row)
    assert float(row["expected"]) < 1
    assert battery.capacity_factor(x.chemistry, x.temperature) == 1.0


@pytest.mark.parametrize("row", rows_for("lhv_below_hhv"), ids=lambda row: row["row"])
def test_lower_heating_value_lies_below_the_higher_by_the_water_of_the_flue(row: dict[str, str]) -> None:
    """The heat left in the flue's steam is what the fuel's hydrogen makes of it."""
    lower = fuel.FUEL_LHV_MJ_KG[inputs_of(row).fuel]
    assert lower / float(row["expected"]) == pytest.approx(1 - float(row["tolerance"]), abs=0.005)


def test_every_row_is_checked_and_sourced() -> None:
    """No row lies idle: each has a check, a source and a status, and its name once."""
    others = {"size_factor_capped", "lhv_below_hhv"}
    assert {row["check"] for row in ROWS} == set(CHECKS) | others
    assert all(row["source"] and row["status"] in {"found", "library", "from memory"} for row in ROWS)
    assert len({row["row"] for row in ROWS}) == len(ROWS) >= 120
