"""Briefs, weather years and kits for the tests of trips: some told by hand, many drawn by chance."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from optimizer.brief.brief import Brief
from optimizer.physics.battery import CAPACITY_CURVES
from optimizer.trips.numbers import (
    FUELS,
    ArrayNumbers,
    BankNumbers,
    HeaterNumbers,
    KitNumbers,
    MealNumbers,
)
from optimizer.weather.year import WeatherYear

VEHICLE: dict[str, Any] = {
    "gross_mass": 2200, "front_axle_rating": 1100, "rear_axle_rating": 1300, "front_axle_mass": 800,
    "rear_axle_mass": 700, "wheelbase": 2900, "length": 4800, "height": 1850, "alternator_current": 120,
    "air_volume": 5.5, "surfaces": [{"name": "walls", "area": 14}], "roof": {"length": 2200, "width": 1200,
    "load": 75},
}
PANEL_CLASSES = ((-0.35, 46.0), (-0.4, 60.0), (-0.29, 45.0), (0.0, 45.0))


def a_brief(**tables: Any) -> Brief:
    """A small brief: two people, ten nights, no uses; any table may be replaced."""
    base: dict[str, Any] = {
        "people": [{}, {}],
        "trip": {"nights": 10, "season_from": "01-01", "season_to": "12-31", "coverage": 95},
        "place": {"weather": ["station:723170"]},
        "vehicle": VEHICLE,
        "limits": {"budget": 8000},
    }
    return Brief.model_validate({**base, **tables})


def flat_year(ghi: float = 0.0, air_c: float = 20.0, name: str = "flat") -> WeatherYear:
    """A year in which every hour is alike."""
    return straight_above(year_of(np.full(8760, ghi), np.full(8760, air_c), name))


def straight_above(year: WeatherYear) -> WeatherYear:
    """The same year with a clear sun in the zenith, so that glass throws nothing back: for sums by hand."""
    zenith = np.where(year.ghi > 0, 90.0, -10.0)
    return replace(year, dni=year.ghi, dhi=np.zeros(8760), sun_elevation_deg=zenith)


def year_of(ghi: np.ndarray, air_c: np.ndarray, name: str = "made up") -> WeatherYear:
    """A year with this sun and this air, and no more than a guess at the rest."""
    return WeatherYear(
        name=name, latitude=45.0, longitude=0.0, altitude_m=0.0, utc_offset_h=0.0, ghi=ghi, dni=0.7 * ghi,
        dhi=0.3 * ghi, air_c=air_c, dew_c=np.full(8760, np.nan), wind_ms=np.full(8760, np.nan),
        sun_elevation_deg=np.where(ghi > 0, 30.0, -10.0),
    )


def random_year(rng: np.random.Generator, name: str = "chance") -> WeatherYear:
    """A believable year: short grey winters, runs of dark days, cold nights."""
    hour, day = np.arange(8760) % 24, np.arange(8760) // 24
    season = -np.cos(2 * np.pi * (day - 10) / 365)
    height = np.sin(np.pi * (hour - 6 + 1.5 * season + 0.5) / (12 + 3 * season) - np.pi * 1.5 * season / 24)
    clear = np.clip(height, 0, None) * (620 + 330 * season)
    cloud = np.ones(365)
    for number in range(1, 365):
        cloud[number] = np.clip(0.6 * cloud[number - 1] + 0.4 * rng.uniform(-0.2, 1.4), 0.05, 1.0)
    mild = rng.uniform(0, 16)
    air = mild + 11 * season + 5 * np.sin(2 * np.pi * (hour - 9) / 24) + rng.normal(0, 4, 365)[day]
    return year_of(clear * cloud[day], air, name)


def random_brief(rng: np.random.Generator) -> Brief:
    """Any brief the trips may meet: odd seasons, drives, uses and meals."""
    def maybe(chance: float) -> bool:
        return bool(rng.random() < chance)

    def use(number: int) -> dict[str, Any]:
        return {
            "name": f"use {number}", "power": rng.uniform(1, 120), "hours": round(rng.uniform(0.1, 24), 2),
            "start_hour": int(rng.integers(24)) if maybe(0.7) else None, "count": int(rng.integers(1, 3)),
            "supply": str(rng.choice(["dc", "ac"], p=[0.8, 0.2])),
            "when": str(rng.choice(["parked", "driving", "always"])),
            "every_days": int(rng.integers(1, 5)) if maybe(0.4) else 1,
        }

    def meal(number: int) -> dict[str, Any]:
        return {
            "name": f"meal {number}", "ability": "boil", "heat": 300, "hour": int(rng.integers(24)),
            "every_days": int(rng.integers(1, 4)) if maybe(0.3) else 1,
        }

    return a_brief(
        people=[{} for _ in range(int(rng.integers(1, 4)))],
        trip={
            "nights": 10, "season_from": f"{rng.integers(1, 13):02d}-{rng.integers(1, 29):02d}",
            "season_to": f"{rng.integers(1, 13):02d}-{rng.integers(1, 29):02d}",
            "driving": {
                "every_days": int(rng.integers(0, 5)), "hours": round(rng.uniform(0, 6), 1),
                "start_hour": int(rng.integers(24)),
            },
        },
        place={
            "weather": ["station:723170"], "colder_by": float(rng.choice([0.0, 3.5])),
            "sun_stress": float(rng.choice([100.0, 80.0, 110.0])), "shading": float(rng.choice([0.0, 25.0])),
        },
        uses=[use(number) for number in range(int(rng.integers(0, 5)))],
        meals=[meal(number) for number in range(int(rng.integers(0, 4)))],
        comfort={
            "heating": maybe(0.8), "night_from": int(rng.integers(24)), "night_to": int(rng.integers(24)),
            "fan_hours": round(rng.uniform(0, 24), 1), "day_temperature": rng.uniform(8, 22),
            "night_temperature": rng.uniform(4, 18),
        },
        supplies={"toilet": maybe(0.5), "grey_share": rng.uniform(0, 1)},
    )


def random_kit(rng: np.random.Generator, meals: int) -> KitNumbers:
    """A kit by chance, from hopeless to plenty."""
    def array() -> ArrayNumbers:
        power = rng.uniform(50, 700)
        coefficient, noct = PANEL_CLASSES[rng.integers(len(PANEL_CLASSES))]
        return ArrayNumbers(
            power_w=power, switching_w=power * rng.uniform(0.5, 0.9), tracking=bool(rng.random() < 0.6),
            coefficient_pct_k=coefficient, noct_c=noct, output_w=rng.uniform(100, 600),
            efficiency=rng.uniform(0.9, 0.99),
        )

    def meal() -> MealNumbers:
        kind = rng.integers(3)
        return MealNumbers(
            dc_wh=rng.uniform(50, 400) * (kind == 0), ac_wh=rng.uniform(50, 400) * (kind == 1),
            fuel=str(rng.choice(FUELS)) if kind == 2 else "", fuel_l=rng.uniform(0.01, 0.1) * (kind == 2),
            while_driving=bool(rng.random() < 0.4),
        )

    cold = [rng.uniform(0, 20) * (rng.random() < 0.7) for _ in range(2)]
    generous = rng.choice([1.0, 3.0, 10.0])
    return KitNumbers(
        bank=BankNumbers(
            usable_wh=generous * rng.uniform(300, 2500), charge_w=rng.uniform(100, 2000),
            charge_efficiency=rng.uniform(0.85, 1), discharge_efficiency=rng.uniform(0.9, 1),
            self_use_w=rng.uniform(0, 2), chemistry=str(rng.choice(sorted(CAPACITY_CURVES))),
            charges_cold=bool(rng.random() < 0.5), warm=bool(rng.random() < 0.5),
        ),
        arrays=tuple(array() for _ in range(int(rng.integers(0, 3)))),
        alternator_w=rng.uniform(0, 800),
        inverter_efficiency=rng.uniform(0.85, 0.95), inverter_idle_w=rng.uniform(0, 15),
        converter_efficiency=rng.uniform(0.9, 1), idle_w=rng.uniform(0, 6),
        cold_dc=(cold[0], cold[0] * rng.uniform(0.9, 1.8)), cold_ac=(cold[1], cold[1] * 1.4),
        heater=_random_heater(rng), fan_w=rng.uniform(0, 30), heat_loss_w_k=rng.uniform(15, 60),
        meals=tuple(meal() for _ in range(meals)),
        fuel_l={fuel: rng.uniform(0, 8 * generous) for fuel in FUELS if rng.random() < 0.8},
        water_l=_random_store(rng), grey_l=_random_store(rng), toilet_visits=_random_store(rng),
    )


def _random_store(rng: np.random.Generator) -> float:
    return float(rng.uniform(0, 60) if rng.random() < 0.15 else 2000.0)


def _random_heater(rng: np.random.Generator) -> HeaterNumbers | None:
    if rng.random() < 0.1:
        return None
    fuel = str(rng.choice([*FUELS, ""]))
    return HeaterNumbers(
        output_w=rng.uniform(500, 4000), draw_per_w=rng.uniform(0.005, 0.02) if fuel else 1.0,
        supply=str(rng.choice(["dc", "ac"])), start_wh=rng.uniform(0, 15), fuel=fuel,
        fuel_l_per_wh=rng.uniform(0.0001, 0.0003) if fuel else 0.0,
    )


PLENTY = KitNumbers(
    bank=BankNumbers(
        usable_wh=1e7, charge_w=1e5, charge_efficiency=1.0, discharge_efficiency=1.0, self_use_w=0.0,
        chemistry="lfp", charges_cold=True, warm=True,
    ),
    arrays=(), alternator_w=0.0, inverter_efficiency=1.0, inverter_idle_w=0.0, converter_efficiency=1.0,
    idle_w=0.0, cold_dc=(0.0, 0.0), cold_ac=(0.0, 0.0),
    heater=HeaterNumbers(1e6, 0.0, "dc", 0.0, "diesel", 0.0), fan_w=0.0, heat_loss_w_k=30.0, meals=(),
    fuel_l=dict.fromkeys(FUELS, 1e6), water_l=1e6, grey_l=1e6, toilet_visits=1e6,
)
"""A kit that runs short of nothing, for tests that take one thing away."""


def with_bank(kit: KitNumbers, **changes: Any) -> KitNumbers:
    """The kit with some of its bank's numbers changed."""
    return replace(kit, bank=replace(kit.bank, **changes))
