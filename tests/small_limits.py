"""Wishes and limits of a small world, drawn around a kit of its own so that they bite from both sides."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from enumeration import random_kit
from small_catalogs import crowded
from small_parts import COLUMN

from optimizer.check import check
from optimizer.parts.catalog import Catalog
from optimizer.problem.records import Kit, Problem
from optimizer.rules import Limit

Tables = dict[str, Any]
Build = Callable[[], Problem]
"""Makes the problem of the tables as they are now."""
RARE = ("roof_area", "alternator_spare", "frozen", "toilet", "overall_height")
"""Limits that few kits come near by chance."""
ELECTRIC = ("power_w", "output_a", "continuous_w")
ANY_COLUMN = (COLUMN, "capacity_ah", "volume_l", "mass_kg", "price_usd", *ELECTRIC)


def wish(rng: random.Random, tables: Tables, catalog: Catalog) -> None:
    """Goals, and parts owned, required and refused."""
    wishes = tables["preferences"]
    columns = [column for column in ANY_COLUMN if column in catalog.column_names]
    most = f"most:{rng.choice(columns)}"
    if wishes["goal"] != "longest":
        wishes["goal"] = rng.choice(("cheapest", "cheapest", "lightest", most))
    wishes["tie_break"] = rng.choice(("lightest", "cheapest", "cheapest", f"most:{rng.choice(columns)}"))
    ids = list(catalog.ids)
    if rng.random() < 0.3:
        wishes["owned"] = [{"part": part, "count": rng.randint(1, 2)} for part in rng.sample(ids, min(3, len(ids)))]
    if rng.random() < 0.1:
        wishes["required"] = [rng.choice(ids)]
    if rng.random() < 0.15:
        refused = {rng.choice(crowded(catalog) or ids)} - set(wishes.get("required", []))
        wishes["refused"] = sorted(refused)


def ease(rng: random.Random, tables: Tables, build: Build) -> None:
    """Ease what stands in the way of a kit drawn by chance, most of it, so that many worlds have one."""
    for _ in range(3):
        problem = build()
        anchor = _anchor(rng, problem)
        if anchor is None:
            return
        for limit in check(problem, anchor).limits:
            if not limit.met and rng.random() < _OFTEN.get(limit.slug, 0.9):
                if limit.slug in _EASED:
                    _EASED[limit.slug](tables)
                elif limit.slug in _DRAWN_TO:
                    _DRAWN_TO[limit.slug](tables, limit, rng.uniform(0.6, 0.95))


def drop_hopeless_meals(rng: random.Random, tables: Tables, build: Build) -> None:
    """Take out meals that no cooker can cook, nearly always."""
    hopeless = {group.name for group in build().of_kind("meal") if not group.options and rng.random() < 0.9}
    tables["meals"] = [meal for meal in tables["meals"] if f"meal {meal['name']}" not in hopeless]


def _anchor(rng: random.Random, problem: Problem) -> Kit | None:
    """A kit that breaks few limits: the best of some by chance, then swapped option by option."""
    drawn = [kit for kit in (random_kit(problem, rng) for _ in range(8)) if kit is not None]
    best = min(drawn, key=lambda kit: _broken(problem, kit), default=None)
    if best is None:
        return None
    broken = _broken(problem, best)
    for group in problem.groups:
        for option in rng.sample(group.options, min(3, len(group.options))):
            if broken == 0:
                return best
            trial = replace(best, choices={**best.choices, group.name: option.key})
            if option.voltage in (0, best.voltage) and _broken(problem, trial) < broken:
                best, broken = trial, _broken(problem, trial)
    return best


def _broken(problem: Problem, kit: Kit) -> int:
    return len(check(problem, kit).faults)


def tighten(rng: random.Random, tables: Tables, catalog: Catalog, build: Build) -> None:
    """Draw some limits close around a kit that breaks few of them, or just too close."""
    problem = build()
    anchor = _anchor(rng, problem)
    if anchor is None or ("coverage" in tables["trip"] and rng.random() < 0.7):
        return
    limits = {limit.slug: limit for limit in check(problem, anchor).limits if limit.used > 0 and limit.allowed > 0}
    slugs = sorted(slug for slug in limits if slug in _DRAWN_TO)
    drawn = {slug for slug in RARE if slug in slugs and rng.random() < 0.6}
    drawn |= set(rng.sample(slugs, min(len(slugs), rng.randint(0, 3))))
    for slug in sorted(drawn):
        _DRAWN_TO[slug](tables, limits[slug], rng.uniform(0.75, 1.01))
    if rng.random() < 0.35:
        _limit_a_column(rng, tables, catalog, anchor.counts(problem))


def _limit_a_column(rng: random.Random, tables: Tables, catalog: Catalog, counts: Mapping[str, int]) -> None:
    """An own limit close to what a kit has; of power and current at least so much, since that costs most."""
    sums = {c: sum(n * catalog.column(part, c) for part, n in counts.items()) for c in ANY_COLUMN}
    column = rng.choice([c for c in ANY_COLUMN if sums[c]] or [COLUMN])
    at_least = column in ELECTRIC or rng.random() < 0.5
    total = sums[column] * (rng.uniform(0.7, 1.03) if at_least else rng.uniform(0.95, 1.2))
    bound = {"at_least" if at_least else "at_most": round(total, 3)}
    tables["limits"]["own"] = [{"name": "mine", "column": column, **bound}]


def _people_nights(tables: Tables) -> float:
    return len(tables["people"]) * float(tables["trip"]["nights"])


def _budget(tables: Tables, limit: Limit, tight: float) -> None:
    tables["limits"]["budget"] = round(limit.used / 100 / tight, 2)


def _payload(tables: Tables, limit: Limit, tight: float) -> None:
    tables["vehicle"]["gross_mass"] = 1500.5 + limit.used / 1000 / tight


def _roof_area(tables: Tables, limit: Limit, tight: float) -> None:
    tables["vehicle"]["roof"]["length"] = 60 + max(10.0, limit.used * 100 / tight / 1940)


def _roof_load(tables: Tables, limit: Limit, tight: float) -> None:
    tables["vehicle"]["roof"]["load"] = limit.used / 1000 / tight


def _height(tables: Tables, limit: Limit, tight: float) -> None:
    tables["limits"]["overall_height"] = max(1850.0, limit.used + 100 * (1 - tight))


def _alternator(tables: Tables, limit: Limit, tight: float) -> None:
    tables["vehicle"]["alternator_spare"] = min(100.0, limit.used / 1000 / tight / 2)


def _water(tables: Tables, limit: Limit, tight: float) -> None:
    tables["supplies"]["water_per_person_day"] = limit.allowed / 1000 * tight / _people_nights(tables)


def _grey(tables: Tables, limit: Limit, tight: float) -> None:
    water = tables["supplies"]["water_per_person_day"] * _people_nights(tables)
    tables["supplies"]["grey_share"] = min(1.0, limit.allowed / 1000 * tight / max(water, 0.1))


def _toilet(tables: Tables, limit: Limit, tight: float) -> None:
    tables["supplies"]["toilet_visits_per_person_day"] = min(
        20.0, limit.allowed / 1000 * tight / _people_nights(tables)
    )


def _chilled(tables: Tables, limit: Limit, tight: float) -> None:
    tables["supplies"]["chilled"] = limit.allowed / 1000 * tight


def _frozen(tables: Tables, limit: Limit, tight: float) -> None:
    tables["supplies"]["frozen"] = limit.allowed / 1000 * tight


def _sunless(tables: Tables, limit: Limit, tight: float) -> None:
    tables["trip"]["sunless_days"] = min(14.0, tables["trip"]["sunless_days"] * limit.allowed / limit.used * tight)


_DRAWN_TO: dict[str, Callable[[Tables, Limit, float], None]] = {
    "budget": _budget, "payload": _payload, "roof_area": _roof_area, "roof_load": _roof_load,
    "overall_height": _height, "alternator_spare": _alternator, "water": _water, "grey_water": _grey,
    "toilet": _toilet, "chilled": _chilled, "frozen": _frozen, "sunless_energy": _sunless,
}  # fmt: skip
"""What draws a limit to a kit's own number: above 1 it no longer holds, below it has that much room."""


def _without_ac(tables: Tables) -> None:
    for use in tables["uses"]:
        use["supply"] = "dc"


def _with_less_power(tables: Tables) -> None:
    for use in tables["uses"]:
        use["power"] = use["power"] / 2


def _warmer(tables: Tables) -> None:
    tables["comfort"] |= {"day_temperature": 9, "night_temperature": 6}
    tables["place"]["coldest_night"] = 0
    tables["vehicle"]["fuel_for_heater"] = 20


def _able(tables: Tables) -> None:
    tables["preferences"]["skills"] = ["mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting"]


def _unbalanced(tables: Tables) -> None:
    tables["trip"]["daily_balance"] = False


_EASED: dict[str, Callable[[Tables], None]] = {
    "inverter_continuous": _without_ac, "inverter_starting": _without_ac, "converter_power": _with_less_power,
    "discharge_power": _with_less_power, "fuel": _warmer, "heat_output": _warmer, "skills": _able,
    "daily_balance": _unbalanced,
}  # fmt: skip
"""What makes a limit easier for any kit."""
_OFTEN = {"skills": 0.6, "daily_balance": 0.5}
"""How often a limit in the way is eased, where that is not nearly always."""
