"""What runs learnt, kept in the cache folder between them, by choice.

On the road: beside choosing, at the file end of it. One file a scene: the levels in it hold for every
catalog, budget and rule with the same weather, loads and hours. A file that is not whole or not ours is
passed over; two runs that write at once leave one whole file.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.choosing.store import Level, LevelStore
from optimizer.trips.scene import BANK_CLASSES, Scene
from optimizer.weather.cache import folder

FORMAT = 2
KEEP = 3000
"""Levels kept for a scene, the newest; walls cost the solver time, so a longer memory would not pay."""


def scene_key(scene: Scene) -> str:
    """A name for everything the levels hang on: hours, loads, departures, classes. 24 hex digits."""
    digest = hashlib.sha256(f"levels {FORMAT}".encode())
    kinds = scene.kinds
    arrays = (
        scene.departures, scene.day_type, scene.sun, scene.weather_air_c, scene.air_c,
        scene.inside_c, scene.heat_gap_k, scene.heat_gain_w, scene.around_over_k, scene.around_under_k,
        kinds.drive, kinds.fan, kinds.uses_dc, kinds.uses_ac, kinds.meals, kinds.meals_driving,
    )  # fmt: skip
    for array in arrays:
        digest.update(np.ascontiguousarray(array).tobytes())
    brief = scene.brief
    words = {
        "meals": [meal.name for meal in brief.meals],
        "comfort": brief.comfort.model_dump(),
        "heater_fuel": [brief.vehicle.fuel, brief.vehicle.fuel_for_heater],
        "panels": sorted(scene.panel_classes.items()),
        "banks": BANK_CLASSES,
    }
    digest.update(json.dumps(words, sort_keys=True, default=str).encode())
    return digest.hexdigest()[:24]


def _path(scene: Scene) -> Path:
    return folder() / "learnt" / f"{scene_key(scene)}.json"


def recall(scene: Scene) -> LevelStore:
    """The levels kept for a scene; an empty store when there are none."""
    try:
        data = json.loads(_path(scene).read_text(encoding="utf-8"))
        return LevelStore(_levels(data))
    except (OSError, ValueError, KeyError, TypeError):
        return LevelStore()


def _levels(data: Any) -> Iterator[Level]:
    for short, nights, groups in data["levels"]:
        named = tuple(
            (str(name), tuple((int(cls), tuple(map(float, values))) for cls, values in points))
            for name, points in groups
        )
        yield Level(int(short), int(nights), named)


def keep(scene: Scene, store: LevelStore) -> bool:
    """Keep a store's levels for later runs; False when the cache folder cannot be written."""
    levels = list(store)[-KEEP:]
    rows = [(level.short, level.nights, level.groups) for level in levels]
    path = _path(scene)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".learnt.")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump({"format": FORMAT, "levels": rows}, file)
        os.replace(name, path)
    except OSError:
        return False
    return True
