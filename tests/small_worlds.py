"""Small random briefs, each with a small catalog: few enough kits to look at every one.

A world is drawn in four steps: what is wanted at all, a few parts of each kind for it, parts and counts
taken away until few enough kits are left, and last some limits drawn tight around a kit of its own, so
that limits bite from both sides and about a third of the worlds have no kit at all.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from enumeration import SlowTrips, combinations, random_kit
from small_catalogs import small_catalog, smaller, with_wiring
from small_limits import drop_hopeless_meals, ease, tighten, wish

from optimizer.brief.brief import Brief
from optimizer.parts.catalog import Catalog
from optimizer.problem.build import build_problem
from optimizer.problem.records import Problem
from optimizer.trips.scene import build_scene
from optimizer.weather.reading import read_year
from optimizer.weather.year import WeatherYear

MOST_KITS = 5000
STEPS = 20
"""Steps in which a world is made small enough, or is given up."""
OTHER_SEEDS = 1_000_000
Tables = dict[str, Any]


@cache
def station(number: str) -> WeatherYear:
    """A weather year that comes along."""
    return read_year(f"station:{number}", Path())


def small_problem(brief: Brief, catalog: Catalog) -> Problem:
    """The problem of a small world, in its station's year. Places are left out: they have their own tests."""
    years = [station(name.removeprefix("station:")) for name in brief.place.weather]
    return replace(build_problem(brief, with_wiring(catalog), years), space=None)


def small_world(
    seed: int, place: str = "723170", coverage: float | None = None, most: int = MOST_KITS
) -> tuple[Brief, Catalog]:
    """A brief and a catalog. With ``coverage``, hour-by-hour trips of a short season are asked for; the
    world is else the same at every coverage."""
    rng = random.Random(f"{seed}/{place}/{coverage is not None}")
    tables = _tables(rng, place, trips=coverage is not None)
    if coverage is not None:
        tables["trip"]["coverage"] = coverage
    catalog = small_catalog(rng, tables)

    def problem() -> Problem:
        return small_problem(Brief.model_validate(tables), catalog)

    drop_hopeless_meals(rng, tables, problem)
    size = min(most, rng.choice((300, 600, 1000, 1000, 2000, most)) if coverage is None else most)
    for _ in range(STEPS):
        many = combinations(problem())
        if many <= size:
            break
        for _ in range(many.bit_length() - size.bit_length() + 1):
            catalog = smaller(rng, tables, catalog)
    else:
        return small_world(seed + OTHER_SEEDS, place, coverage, most)
    wish(rng, tables, catalog)
    ease(rng, tables, problem)
    tighten(rng, tables, with_wiring(catalog), problem)
    if coverage is not None:
        _ease_trips(rng, tables, problem, [station(place)])
    return Brief.model_validate(tables), catalog


def _ease_trips(rng: random.Random, tables: Tables, build: Callable[[], Problem], years: list[WeatherYear]) -> None:
    """Less load, shorter trips and more fuel until some kit drawn by chance survives half of the departures."""
    for _ in range(5):
        problem, brief = build(), Brief.model_validate(tables)
        drawn = [kit for kit in (random_kit(problem, rng) for _ in range(20)) if kit is not None]
        trips = SlowTrips(problem, build_scene(brief, years))
        if any(2 * trips.short(kit) < trips.scene.departures.size for kit in drawn):
            return
        for use in tables["uses"]:
            use["power"] = round(use["power"] / 2, 2)
        tables["trip"]["nights"] = max(2, tables["trip"]["nights"] - 1)
        tables["vehicle"]["fuel_for_heater"] += 5


def _tables(rng: random.Random, place: str, trips: bool) -> Tables:
    """A brief with ample limits; one with trips asks for less of what trips do not see."""
    tables = _any_tables(rng, place, trips)
    if trips:
        tables["trip"] |= {"sunless_days": 0, "nights": rng.randint(2, 5), "nights_at_most": 6}
        tables["supplies"] |= {"toilet": False, "water_per_person_day": 0}
        tables["comfort"]["roof_fan"] &= rng.random() < 0.3
        tables["limits"] |= {"panels": rng.randint(1, 3), "parallel_batteries": 2}
        tables["preferences"] |= {
            "own_kinds": [], "hookup_charger": False, "voltages": rng.choice(([12], [12], [12], [24], [12, 24])),
        }
        tables["uses"].append({"name": "always", "power": rng.choice((2, 5, 12, 20)), "hours": 24})
    return tables


def _any_tables(rng: random.Random, place: str, trips: bool) -> Tables:
    heating, cold = rng.random() < 0.5, rng.random() < 0.45
    month = rng.randint(1, 12)
    far, day = (1, rng.randint(1, 15)) if trips else (rng.randint(0, 1), 28)
    last = f"{(month - 1 + far) % 12 + 1:02d}-{day:02d}"
    drives = rng.random() < 0.6
    return {
        "people": [{"mass": rng.choice((60, 75.5))} for _ in range(rng.randint(1, 2))],
        "trip": {
            "nights": rng.randint(2, 6), "nights_at_most": rng.randint(6, 8),
            "season_from": f"{month:02d}-{rng.randint(5, 20):02d}", "season_to": last,
            "sunless_days": rng.choice((0, 0.5, 1, 1.5)), "daily_balance": rng.choice((None, False)),
            "driving": {"every_days": rng.randint(1, 3), "hours": rng.choice((1, 2.5))} if drives else {},
        },
        "place": {
            "weather": [f"station:{place}"], "altitude": rng.choice((None, 2000)),
            "coldest_night": rng.choice((None, None, -15, 5)), "sun_stress": rng.choice((100, 85)),
            "colder_by": rng.choice((0, 0, 2.5, 20) if trips else (0, 2.5)), "shading": rng.choice((0, 10)),
        },
        "uses": [_use(rng, number) for number in range(rng.randint(0, 3))],
        "meals": [_meal(rng, number) for number in range(rng.choice((0, 0, 1, 2)))],
        "supplies": {
            "water_per_person_day": rng.choice((0, 2, 4)), "grey_share": rng.choice((0, 0, 0.4)),
            "toilet": rng.random() < 0.3, "chilled": rng.choice((8, 20)) * cold, "frozen": rng.choice((0, 0, 8)) * cold,
            "gear": rng.choice((0, 30)),
        },
        "comfort": {
            "heating": heating, "roof_fan": rng.random() < 0.25, "fan_hours": rng.choice((0, 3)),
            **rng.choice(({}, {"day_temperature": 10, "night_temperature": 5})),
        },
        "vehicle": {
            "gross_mass": 6000, "front_axle_rating": 4000, "rear_axle_rating": 4000, "front_axle_mass": 800,
            "rear_axle_mass": 700.5, "wheelbase": 2900, "length": 4800, "height": 1850, "air_volume": 5.5,
            "alternator_current": 200, "alternator_spare": 90, "fuel": rng.choice(("diesel", "petrol")),
            "fuel_for_heater": rng.choice((0, 0, 3)), "surfaces": [{"name": "walls", "area": rng.choice((8, 14))}],
            "roof": {"length": 9000, "width": 2000, "load": 400, "rack_mass": rng.choice((0, 0, 0, 4.25))},
        },
        "limits": {
            "budget": 100_000, "parking_length": 5000 if rng.random() < 0.99 else 4700,
            "arrays": rng.choice((1, 1, 2)), "panels": rng.randint(0, 3), "parallel_batteries": rng.randint(1, 2),
        },
        "preferences": {
            "voltages": rng.choice(([12], [12], [12, 24], [24], [24, 48], [12, 48])), "reserve": rng.choice((0, 10)),
            "hookup_charger": rng.random() < 0.12, "inverter": rng.random() < (0.3 if trips else 0.75),
            "own_kinds": _own_kinds(rng), "skills": _skills(rng), "goal": rng.choice(("cheapest",) * 6 + ("longest",)),
        },
    }  # fmt: skip


def _use(rng: random.Random, number: int) -> Tables:
    power = rng.choice((5, 12, 30, 60))
    return {
        "name": f"use {number}", "power": power, "hours": rng.choice((0.5, 2, 5)), "count": rng.randint(1, 2),
        "start_hour": rng.choice((None, 8, 20)), "supply": rng.choice(("dc", "dc", "dc", "ac")),
        "when": rng.choice(("always", "always", "parked", "driving")), "starting_power": rng.choice((0, 3 * power)),
        "every_days": rng.choice((1, 1, 2)), "alone": rng.random() < 0.3,
    }


def _meal(rng: random.Random, number: int) -> Tables:
    return {
        "name": f"meal {number}", "ability": rng.choice(("boil", "boil", "fry")), "heat": rng.choice((80, 200)),
        "hour": rng.choice((8, 18)), "every_days": rng.choice((1, 1, 2)),
    }


def _own_kinds(rng: random.Random) -> list[Tables]:
    names = [name for name in ("rack", "awning") if rng.random() < 0.1]
    ways = ("exactly_one", "at_most_one", "any")
    return [{"name": n, "file": f"{n}.csv", "choose": rng.choice(ways), "at_most": rng.randint(1, 2)} for n in names]


def _skills(rng: random.Random) -> list[str]:
    every = ["mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting"]
    return [skill for skill in every if rng.random() < 0.75]
