"""A few invented parts of a kind, drawn by chance: the catalogs of the small worlds.

Numbers come from coarse grids, so that prices and masses often tie; ids are shuffled letters, so that the
order in which parts are drawn says nothing. Nothing here is, or stands for, a real product.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from optimizer.parts import records
from optimizer.parts.records import KINDS, OwnPart, Part

Columns = dict[str, Any]
VOLTAGES = ("12", "24", "48", "12|24", "24|48", "12|24|48")
SKILLS = ("mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting")
COLUMN = "own_score"
"""A further column that some parts of the small worlds have."""


def small_part(rng: random.Random, kind: str, part_id: str) -> Part:
    """One part of that kind."""
    return KINDS[kind].model_validate({**_common(rng, part_id), **_DRAWN[kind](rng)})


def own_part(rng: random.Random, part_id: str) -> OwnPart:
    """A part of an own kind, with a column of its own."""
    return OwnPart(
        id=part_id, name="invented", price_usd=rng.choice((0, 10, 20, 40)), mass_kg=rng.choice((0, 0.5, 2)),
        skill=_skill(rng, "body_cutting", 0.1), columns={COLUMN: rng.choice((0.0, 1.0, 2.5, -1.0))},
    )


def cell(rng: random.Random, part_id: str) -> Part:
    """A loose cell; a bank of them needs a manager for as many as stand in series."""
    drawn = _battery(rng) | {
        "chemistry": "lfp", "nominal_v": 3.2, "series_max": 16, "managed": False, "skill": "cell_assembly",
    }
    return records.Battery.model_validate({**_common(rng, part_id), "price_usd": rng.choice((20, 30)), **drawn})


def manager(rng: random.Random, part_id: str, cells: int) -> Part:
    """A manager for so many cells in series."""
    return small_part(rng, "cell_manager", part_id).model_copy(update={"cells": cells})


def _common(rng: random.Random, part_id: str) -> Columns:
    return {
        "id": part_id, "name": "invented", "price_usd": rng.choice((10, 20, 50, 50, 100, 149.99, 200, 333.335)),
        "mass_kg": rng.choice((0.5, 1, 1, 2, 5, 7.0005)),
    }


def _skill(rng: random.Random, skill: str, chance: float) -> str:
    return skill if rng.random() < chance else ""


def _battery(rng: random.Random) -> Columns:
    chemistry = rng.choice(("lfp", "lfp", "lfp_heated", "agm", "gel", "flooded"))
    light = chemistry.startswith("lfp")
    capacity = rng.choice((30, 60, 100, 150, 200))
    return {
        "price_usd": rng.choice((2, 3, 3.5)) * capacity, "mass_kg": capacity * (0.11 if light else 0.28),
        "chemistry": chemistry, "nominal_v": 12.8 if light else 12.0, "capacity_ah": capacity,
        "usable_share": 0.9 if light else 0.65, "charge_a": capacity * rng.choice((0.15, 0.3, 0.5)),
        "discharge_a": capacity * rng.choice((0.5, 1.0)), "peak_a": 2 * capacity,
        "charge_efficiency": 0.97 if light else 0.87, "discharge_efficiency": 0.98 if light else 0.95,
        "self_use_w": rng.choice((0, 0.3, 0.5)), "series_max": rng.choice((2, 4, 4)),
        "parallel_max": rng.choice((1, 2, 4)), "managed": True,
        "bay_tags": rng.choice(("inside|warm", "vented", "outside")),
    }


def _cell_manager(rng: random.Random) -> Columns:
    return {
        "cells": 4, "charge_a": rng.choice((30, 60, 100)), "discharge_a": rng.choice((60, 100, 200)),
        "self_use_w": rng.choice((0.2, 0.5)), "skill": _skill(rng, "cell_assembly", 0.8),
    }


def _solar_panel(rng: random.Random) -> Columns:
    power, cells = rng.choice((80, 120, 200, 320)), rng.choice((32, 36, 66))
    vmp = 0.53 * cells
    return {
        "price_usd": power * rng.choice((0.8, 1.0)), "mass_kg": power * rng.choice((0.02, 0.06)), "power_w": power,
        "vmp_v": vmp, "imp_a": power / vmp, "voc_v": 1.2 * vmp, "isc_a": 1.07 * power / vmp,
        "length_mm": rng.choice((700, 1000, 1500)), "width_mm": rng.choice((500, 670)),
        "height_mm": rng.choice((5, 60, 110)), "noct_c": rng.choice((45, 47, 60)), "flexible": False,
        "power_coefficient_pct_k": rng.choice((-0.3, -0.35, -0.4)), "voc_coefficient_pct_k": -0.28,
        "bracket_price_usd": rng.choice((0, 20)), "bracket_mass_kg": rng.choice((0, 1.1)),
    }


def _charge_controller(rng: random.Random) -> Columns:
    tracking = rng.random() < 0.6
    return {
        "tracking": tracking, "output_a": rng.choice((10, 15, 20, 30, 50)), "efficiency": 0.96 if tracking else 0.98,
        "array_v_max": rng.choice((30, 50, 75, 100, 150)), "array_a_max": rng.choice((10, 15, 30, 50)),
        "bank_v": rng.choice(("12", "12|24", "24|48", "12|24|48", "12|24|48")),
        "headroom_v": rng.choice((0.5, 1, 5)), "idle_w": rng.choice((0.1, 0.5, 1.5)),
    }


def _alternator_charger(rng: random.Random) -> Columns:
    return {
        "output_a": rng.choice((12, 20, 30, 50)), "bank_v": rng.choice(VOLTAGES),
        "efficiency": rng.choice((0.87, 0.92)), "idle_w": rng.choice((0, 0.3)),
    }


def _mains_charger(rng: random.Random) -> Columns:
    return {
        "output_a": rng.choice((10, 30)), "bank_v": rng.choice(VOLTAGES), "efficiency": 0.9,
        "skill": _skill(rng, "mains_wiring", 0.3),
    }


def _inverter(rng: random.Random) -> Columns:
    watts = rng.choice((300, 600, 1200, 2000))
    return {
        "bank_v": rng.choice(VOLTAGES), "continuous_w": watts, "peak_w": watts * rng.choice((1.2, 2)),
        "efficiency": rng.choice((0.86, 0.9, 0.94)), "idle_w": rng.choice((1, 5, 12)),
        "skill": _skill(rng, "mains_wiring", 0.2),
    }


def _dc_converter(rng: random.Random) -> Columns:
    return {
        "bank_v": rng.choice(("24", "48", "24|48")), "continuous_w": rng.choice((60, 120, 240, 360)),
        "efficiency": rng.choice((0.88, 0.93, 0.955)), "idle_w": rng.choice((0.2, 1)),
    }


def _heater(rng: random.Random) -> Columns:
    fuel = rng.choice(("diesel", "diesel", "propane", "petrol", "kerosene", ""))
    watts = rng.choice((500, 1000, 2000, 4000)) if fuel else rng.choice((300, 800))
    return {
        "fuel": fuel, "output_w": watts, "efficiency": rng.choice((0.75, 0.85)) if fuel else rng.choice((1.0, 2.5)),
        "draw_w": 0.01 * watts if fuel else watts, "start_wh": rng.choice((0, 7)) if fuel else 0,
        "supply": "ac" if not fuel and rng.random() < 0.6 else rng.choice(("dc", "dc", "dc", "ac")),
        "altitude_max_m": rng.choice((1500, 2500, 5000)), "room_sealed": rng.random() < 0.93,
        "skill": _skill(rng, "gas_fitting" if fuel == "propane" else "body_cutting", 0.3),
    }


def _fuel_tank(rng: random.Random) -> Columns:
    return {
        "fuel": rng.choice(("diesel", "propane", "petrol", "kerosene", "alcohol")), "volume_l": rng.choice((2, 5, 11)),
    }


def _water_container(rng: random.Random) -> Columns:
    return {"volume_l": rng.choice((5, 10, 20, 33.3)), "fixed": False, "at_most": rng.choice((1, 2, 3))}


def _grey_container(rng: random.Random) -> Columns:
    return {"volume_l": rng.choice((10, 20, 30)), "at_most": rng.choice((1, 2, 3))}


def _toilet(rng: random.Random) -> Columns:
    return {
        "visits": rng.choice((12, 20, 40, 60)), "usd_per_visit": rng.choice((0, 0.35, 0.6)),
        "kg_per_visit": rng.choice((0, 0.06)), "water_l_per_visit": rng.choice((0, 0, 0.35)),
    }


def _cold_box(rng: random.Random) -> Columns:
    style = rng.choice(("chest", "chest", "upright", "drawer", "passive"))
    draw = 0 if style == "passive" else rng.choice((150, 250, 400))
    return {
        "style": style, "chilled_l": rng.choice((10, 20, 40)), "frozen_l": rng.choice((0, 0, 8, 15)),
        "wh_day_25": draw, "wh_day_32": draw * rng.choice((0.95, 1.3, 1.6)), "peak_w": 45 if draw else 0,
        "supply": "ac" if draw and rng.random() < 0.25 else "dc",
    }


def _cooker(rng: random.Random) -> Columns:
    fuel = rng.choice(("", "", "propane", "alcohol", "diesel"))
    watts = rng.choice((300, 500, 800))
    return {
        "abilities": rng.choice(("boil", "boil|fry", "boil|fry|bake", "fry|grill", "boil|slow_cook")), "fuel": fuel,
        "supply": rng.choice(("ac", "dc")), "power_w": watts, "starting_w": rng.choice((0, 2 * watts)),
        "efficiency": rng.choice((0.4, 0.6)) if fuel else 0.85, "while_driving": rng.random() < 0.3,
        "skill": _skill(rng, "gas_fitting", 0.3) if fuel == "propane" else "",
    }


def _roof_fan(rng: random.Random) -> Columns:
    return {
        "draw_w": rng.choice((4, 14, 24)), "airflow_m3_h": 300, "length_mm": rng.choice((230, 420)), "width_mm": 360,
        "height_mm": rng.choice((60, 120)), "skill": _skill(rng, "roof_cutting", 0.3),
    }


def _insulation(rng: random.Random) -> Columns:
    return {
        "material": "foam", "thickness_mm": rng.choice((0, 20, 40)), "conductivity_w_mk": 0.035,
        "price_usd": rng.choice((0, 8.5, 15)), "mass_kg": rng.choice((0.3, 1.1)),
        "covered_share": rng.choice((0.75, 0.9)),
    }


def _safety(rng: random.Random) -> Columns:
    return {
        "role": "co_alarm", "price_usd": rng.choice((15, 20, 30)), "bank_v_max": rng.choice((15, 32, 60, 60)),
        "rating_a": rng.choice((300, 400, 400, 400)), "interrupt_a": rng.choice((9000, 30_000, 90_000)),
        "ways": rng.choice((4, 12, 12)),
    }


_DRAWN: dict[str, Callable[[random.Random], Columns]] = {
    "battery": _battery, "cell_manager": _cell_manager, "solar_panel": _solar_panel,
    "charge_controller": _charge_controller, "alternator_charger": _alternator_charger,
    "mains_charger": _mains_charger, "inverter": _inverter, "dc_converter": _dc_converter, "heater": _heater,
    "fuel_tank": _fuel_tank, "water_container": _water_container, "grey_container": _grey_container,
    "toilet": _toilet, "cold_box": _cold_box, "cooker": _cooker, "roof_fan": _roof_fan,
    "insulation": _insulation, "safety": _safety,
}
