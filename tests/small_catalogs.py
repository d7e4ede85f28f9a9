"""A small catalog for a brief: a few parts of each kind it can use, made fewer until few kits are left."""

from __future__ import annotations

import random
from functools import cache
from typing import Any

from small_parts import COLUMN, cell, manager, own_part, small_part

from optimizer.circuits.shelf import WIRING_KINDS
from optimizer.parts.catalog import Catalog
from optimizer.parts.reading import read_catalog
from optimizer.parts.records import FuelTank, OwnPart, Part, SafetyItem
from optimizer.problem.living import SAFETY_ROLES

Tables = dict[str, Any]


@cache
def _wiring() -> tuple[Part, ...]:
    generic = read_catalog(["generic"])
    return tuple(part for kind in WIRING_KINDS for part in generic.parts[kind])


def with_wiring(catalog: Catalog) -> Catalog:
    """The catalog with the generic cables, fuses and fittings: they are nobody's choice and make no kits more."""
    return catalog.with_parts(*_wiring())


def small_catalog(rng: random.Random, tables: Tables) -> Catalog:
    """Parts of every kind that these tables of a brief may use."""
    names = [f"{letter}{number}" for letter in "abcdefghkmnp" for number in range(1, 10)]
    rng.shuffle(names)
    few = ("alternator_charger", "water_container", "grey_container")
    counts = {
        "battery": rng.randint(1, 3), "solar_panel": rng.randint(1, 2), "charge_controller": rng.randint(1, 3),
        "heater": rng.randint(1, 3), "insulation": rng.randint(1, 3) if tables["comfort"]["heating"] else 1,
        "toilet": rng.randint(1, 3), "cold_box": rng.randint(1, 3), "cooker": rng.randint(1, 2),
        "roof_fan": rng.randint(1, 2), "mains_charger": 1, "dc_converter": rng.randint(1, 2),
        "inverter": rng.randint(1, 2), **{kind: rng.choice((0, 1, 1, 2)) for kind in few},
    }
    if "coverage" in tables["trip"]:
        counts |= {
            "battery": 3, "solar_panel": 2, "charge_controller": 3, "alternator_charger": 1, "cooker": 1,
            "inverter": 1, "dc_converter": 1, "water_container": 0, "grey_container": 0,
        }
    parts: list[Part] = [small_part(rng, kind, names.pop()) for kind in counts for _ in range(counts[kind])]
    parts = _useful(rng, parts, tables["preferences"]["inverter"])
    if rng.random() < 0.2:
        parts.append(cell(rng, names.pop()))
        parts += [manager(rng, names.pop(), rng.choice((4, 4, 8, 15))) for _ in range(rng.randint(1, 2))]
    wanted = {"Heater": tables["comfort"]["heating"], "Cooker": bool(tables["meals"])}
    burnt = {str(getattr(part, "fuel", "")) for part in parts if wanted.get(type(part).__name__)} - {""}
    parts += [_tank(rng, names.pop(), fuel) for fuel in sorted(burnt) for _ in range(rng.choice((0, 1, 1, 1, 1, 2)))]
    parts += _safety(rng, names, "propane" in burnt)
    own: dict[str, list[OwnPart]] = {
        kind["name"]: [own_part(rng, names.pop()) for _ in range(rng.randint(1, 2))]
        for kind in tables["preferences"]["own_kinds"]
    }
    scores = {part.id: {COLUMN: rng.choice((0.5, 1.0, 3.0005))} for part in parts if rng.random() < 0.3}
    return Catalog.of(parts, own, scores)


_USEFUL: dict[str, Tables] = {
    "Battery": {"series_max": 4, "parallel_max": 2, "discharge_a": 100},
    "Cooker": {"abilities": "boil|fry|bake", "power_w": 700},
    "Inverter": {"bank_v": "12|24|48", "continuous_w": 2000, "peak_w": 3000},
    "DcConverter": {"bank_v": "24|48", "continuous_w": 360}, "Heater": {"output_w": 2000, "fuel": "diesel"},
    "WaterContainer": {"volume_l": 20, "at_most": 3}, "GreyContainer": {"volume_l": 20, "at_most": 2},
    "ColdBox": {"chilled_l": 40, "frozen_l": 15, "style": "chest", "wh_day_25": 250, "wh_day_32": 320},
    "Toilet": {"visits": 60},
}  # fmt: skip


def _useful(rng: random.Random, parts: list[Part], inverter: bool) -> list[Part]:
    """Make the first of a kind good for something, most of the time."""
    made: list[Part] = []
    seen: set[type[Part]] = set()
    for drawn in parts:
        hopeless = not inverter and getattr(drawn, "supply", "") == "ac" and rng.random() < 0.9
        part = drawn.model_copy(update={"supply": "dc"} if hopeless else {})
        changes = _USEFUL.get(type(part).__name__, {}) if type(part) not in seen and rng.random() < 0.9 else {}
        seen.add(type(part))
        made.append(part.model_copy(update=changes | {"note": "useful"} if changes else {}))
    return made


def _tank(rng: random.Random, part_id: str, fuel: str) -> Part:
    return small_part(rng, "fuel_tank", part_id).model_copy(update={"fuel": fuel})


def _safety(rng: random.Random, names: list[str], gas: bool) -> list[Part]:
    parts: list[Part] = []
    chosen = rng.choice(SAFETY_ROLES)
    for role in SAFETY_ROLES:
        if role == "gas_alarm" and rng.random() < (0.05 if gas else 0.7):
            continue
        for _ in range(2 if role == chosen and rng.random() < 0.5 else 1):
            part = small_part(rng, "safety", names.pop())
            rating = rng.choice((400, 400, 400, 300) if role == "disconnect" else (300, 300, 300, 200))
            fits = {} if rng.random() < 0.06 else {"bank_v_max": 60, "rating_a": rating}
            parts.append(SafetyItem.model_validate({**part.model_dump(), **fits, "role": role}))
    return parts


def smaller(rng: random.Random, tables: Tables, catalog: Catalog) -> Catalog:
    """One part or one count less, a part that others stand in for as long as there is one."""
    limits, wishes = tables["limits"], tables["preferences"]
    counts = [(limits, key) for key in ("panels", "parallel_batteries") if limits[key] > 1]
    counts += [(limits, "arrays")] if limits["arrays"] > 1 and rng.random() < 0.15 else []
    containers = [part for part in catalog.all_parts if getattr(part, "at_most", 1) > 1]
    spare, spared = crowded(catalog), [part.id for kind in _SPARED for part in catalog.parts[kind]]
    lists = [*tables["meals"], *wishes["voltages"][1:], *wishes["own_kinds"]]
    if counts and rng.random() < 0.15:
        table, key = rng.choice(counts)
        table[key] -= 1
    elif containers and rng.random() < 0.2:
        return catalog.with_parts(rng.choice(containers).model_copy(update={"at_most": 1}))
    elif spare:
        dull = [part for part in spare if catalog.kind_of(part) not in _TRIED_BY_TRIPS]
        dull += [part for part in spared if catalog.kind_of(part) not in _TRIED_BY_TRIPS]
        return catalog.without(rng.choice(dull if dull and "coverage" in tables["trip"] else spare))
    elif spared and (not lists or rng.random() < 0.5):
        return catalog.without(rng.choice(spared))
    else:
        for key in rng.sample(("voltages", "own_kinds", "meals"), 3):
            some = tables["meals"] if key == "meals" else wishes[key]
            if len(some) > (key == "voltages"):
                some.pop()
                break
    return catalog


_SPARED = ("solar_panel", "alternator_charger", "grey_container")
"""Kinds of which a world may have none."""
_TRIED_BY_TRIPS = ("battery", "solar_panel", "charge_controller", "alternator_charger", "heater", "fuel_tank")
"""Kinds that a world with trips keeps longest."""


def crowded(catalog: Catalog) -> list[str]:
    """Parts that are one of several of their kind, role or fuel, and not the one made useful."""
    crowds: dict[str, list[str]] = {}
    for part in catalog.all_parts:
        sort = getattr(part, "role", "") or (part.fuel if isinstance(part, FuelTank) else catalog.kind_of(part.id))
        crowds.setdefault(sort, []).append(part.id)
    crowds |= {kind: [part.id for part in some] for kind, some in catalog.own.items()}
    useful = {part.id for part in catalog.all_parts if part.note}
    return sorted(part for some in crowds.values() if len(some) > 1 for part in some if part not in useful)
