"""Jobs that bite: a few parts of each kind of the catalog that comes along, the example's van, other trips.

Too many kits to look at every one, as the small worlds allow, but most have an answer that the trips shape.
"""

from __future__ import annotations

import random
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from optimizer.brief.brief import Brief
from optimizer.job import Job
from optimizer.parts.catalog import Catalog
from optimizer.parts.reading import read_catalog
from optimizer.weather.reading import read_year

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "examples" / "high_plains_spring.toml"
STATIONS = ("723170", "703165")
KEPT = {"battery": (4, 7), "solar_panel": (2, 3), "charge_controller": (3, 5), "cold_box": (3, 5), "heater": (3, 6),
        "insulation": (2, 3), "cooker": (3, 6), "inverter": (5, 8), "alternator_charger": (1, 3),
        "dc_converter": (2, 4), "roof_fan": (4, 5), "toilet": (5, 7), "water_container": (4, 5),
        "grey_container": (1, 1), "mains_charger": (1, 1)}  # fmt: skip



@cache
def generic() -> Catalog:
    """The catalog that comes along."""
    return read_catalog(["generic"], base=Path())


def sampled_job(number: int, coverage: float = 100, more_nights: int = 0) -> Job:
    """The same job whatever the coverage and the nights on top of its own."""
    rng = random.Random(f"sampled/{number}")
    catalog = generic()
    dropped = [
        part.id for kind, kept in KEPT.items()
        for part in rng.sample(catalog.parts[kind], max(0, len(catalog.parts[kind]) - rng.randint(*kept)))
    ]  # fmt: skip
    tables = _another_trip(rng, tomllib.loads(EXAMPLE.read_text(encoding="utf-8")))
    tables["trip"]["coverage"] = coverage
    tables["trip"]["nights"] += more_nights
    brief = Brief.model_validate(tables)
    years = tuple(read_year(spec, Path()) for spec in brief.place.weather)
    return Job(brief, catalog.without(*dropped), years)


def _another_trip(rng: random.Random, tables: dict[str, Any]) -> dict[str, Any]:
    month = rng.randint(1, 12)
    tables["trip"] |= {
        "nights": rng.randint(2, 5), "nights_at_most": 7, "season_from": f"{month:02d}-03",
        "season_to": f"{month:02d}-27", "coverage": 100, "sunless_days": 0,
        "driving": rng.choice(({}, {"every_days": 2, "hours": 1.5}, {"every_days": 3, "hours": 2})),
    }  # fmt: skip
    tables["place"] |= {"weather": [f"station:{rng.choice(STATIONS)}"], "coldest_night": None, "hottest_day": None}
    tables["meals"] = rng.sample(tables["meals"], rng.randint(0, 2))
    tables["uses"] = rng.sample(tables["uses"], rng.randint(1, 6))
    tables["supplies"] |= {"water_per_person_day": 1, "grey_share": 0, "chilled": rng.choice((0, 15)), "gear": 0}
    tables["comfort"] |= {"heating": rng.random() < 0.7, "day_temperature": 12, "night_temperature": 6}
    tables["vehicle"] |= {"gross_mass": 6000, "front_axle_rating": 4000, "rear_axle_rating": 4000}
    tables["limits"] |= {"budget": 30000, "panels": 3, "arrays": rng.randint(1, 2)}
    tables["preferences"] |= {
        "voltages": rng.choice(([12], [12], [12, 24])), "refused": [], "hookup_charger": False,
        "skills": ["mains_wiring", "gas_fitting", "roof_cutting", "body_cutting"],
        "goal": rng.choice(("cheapest", "cheapest", "cheapest", "lightest", "longest")),
        "tie_break": rng.choice(("lightest", "cheapest")),
    }  # fmt: skip
    return tables
