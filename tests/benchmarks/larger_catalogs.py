"""Catalogs many times as long: plausible rows that no other row beats, for measuring how cost grows.

Each row of the generic catalog gets neighbours of other sizes and makes. Along a kind's neighbours price grows with
size and with lightness, so of two neighbours the one that is larger and no heavier is always dearer: none is beaten.
Voltages, efficiencies and where a part may live stay as they are. All of it is invented.
"""

from __future__ import annotations

import math
import random
from typing import Any

from optimizer.parts.catalog import Catalog
from optimizer.parts.records import KINDS, Part

SIZES: dict[str, tuple[str, ...]] = {
    "battery": ("capacity_ah", "charge_a", "discharge_a", "peak_a"),
    "cell_manager": ("charge_a", "discharge_a"),
    "solar_panel": ("power_w", "isc_a", "imp_a"),
    "charge_controller": ("output_a", "array_a_max"),
    "alternator_charger": ("output_a",),
    "mains_charger": ("output_a",),
    "inverter": ("continuous_w", "peak_w"),
    "dc_converter": ("continuous_w",),
    "heater": ("output_w", "draw_w"),
    "fuel_tank": ("volume_l",),
    "water_container": ("volume_l",),
    "grey_container": ("volume_l",),
    "toilet": ("visits",),
    "cold_box": ("chilled_l", "frozen_l", "wh_day_25", "wh_day_32"),
    "cooker": ("power_w", "starting_w"),
    "roof_fan": ("draw_w", "airflow_m3_h"),
    "insulation": ("thickness_mm",),
}
"""What grows with size, by kind. Cables, fuses, fittings and safety items come in standard steps and stay."""
FLAT = ("solar_panel",)
"""Kinds that grow in two directions, not three."""


def larger(catalog: Catalog, times: int, seed: int = 1) -> Catalog:
    """``catalog`` with every row that comes in sizes ``times`` times."""
    made: list[Part] = []
    for kind, fields in SIZES.items():
        for part in catalog.parts[kind]:
            made += [neighbour(kind, part, fields, n, seed) for n in range(1, times)]
    return catalog.with_parts(*made)


def neighbour(kind: str, part: Part, fields: tuple[str, ...], number: int, seed: int) -> Part:
    """One more make of a part: another size, and lighter and dearer or heavier and cheaper for it."""
    dice = random.Random(f"{seed}/{part.id}/{number}")
    size, lightness = math.exp(dice.uniform(-0.25, 0.25)), dice.uniform(-0.2, 0.2)
    values: dict[str, Any] = part.model_dump()
    side = size ** (0.5 if kind in FLAT else 1 / 3)
    values |= {
        "id": f"{part.id}.{number}", "name": f"{part.name}, make {number}",
        "price_usd": round(part.price_usd * size**0.95 * math.exp(lightness), 2),
        "mass_kg": round(part.mass_kg * size * math.exp(-lightness), 3),
    }  # fmt: skip
    for field in fields:
        values[field] = min(_rounded(values[field] * size), _most(KINDS[kind], field))
    for field in ("length_mm", "width_mm") + (() if kind in FLAT else ("height_mm",)):
        values[field] = float(round(values[field] * side))
    return KINDS[kind].model_validate(values)


def _most(record: type[Part], field: str) -> float:
    """The largest value that a field may have."""
    return min((mark.le for mark in record.model_fields[field].metadata if hasattr(mark, "le")), default=math.inf)


def _rounded(value: float) -> float:
    """To four digits, as data sheets have it."""
    return float(f"{value:.4g}")
