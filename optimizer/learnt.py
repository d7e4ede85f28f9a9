"""What runs learnt, kept in the cache folder between them, by choice.

On the road: beside choosing, at the file end of it. One file a scene: the levels in it hold for every
catalog, budget and rule with the same weather, loads and hours. A file that is not whole or not ours is
passed over; two runs that write at once leave one whole file.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.choosing.store import Level, LevelStore
from optimizer.files import read_bytes, replace_whole
from optimizer.problem.records import Kit
from optimizer.trips.scene import BANK_CLASSES, Scene
from optimizer.weather.cache import folder

FORMAT = 5
LARGEST_FILE = 200_000_000  # bytes; more is no work of ours
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
    return levels_in(_path(scene))


def levels_in(path: Path) -> LevelStore:
    """The levels in a file of the cache; none when it is not there or not just as it was written.

    A level taken in wrongly would cut off kits that pass, so a checksum stands before them.
    """
    try:
        check, _, text = read_bytes(path, LARGEST_FILE).partition(b"\n")
        if check != _check(text):
            return LevelStore()
        data = json.loads(text)
        return LevelStore(_levels(data), _kits(data))
    except (OSError, ValueError, KeyError, TypeError):
        return LevelStore()


def _check(text: bytes) -> bytes:
    return hashlib.sha256(text).hexdigest().encode()


def _levels(data: Any) -> Iterator[Level]:
    for short, nights, groups, pushed in data["levels"]:
        named = tuple(
            (str(name), tuple((int(cls), tuple(map(float, values))) for cls, values in points))
            for name, points in groups
        )
        yield Level(int(short), int(nights), named, bool(pushed))


def _kits(data: Any) -> Iterator[Kit]:
    for nights, voltage, choices in data["kits"]:
        yield Kit({str(group): str(key) for group, key in choices.items()}, int(voltage), int(nights))


def keep(scene: Scene, store: LevelStore) -> bool:
    """Keep a store's levels and kits for later runs; False when the cache folder cannot be written."""
    levels = list(store)[-KEEP:]
    rows = [(level.short, level.nights, level.groups, level.pushed) for level in levels]
    path = _path(scene)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        kits = [(kit.nights, kit.voltage, kit.choices) for kit in store.kits]
        text = json.dumps({"format": FORMAT, "levels": rows, "kits": kits}).encode()
        replace_whole(path, _check(text) + b"\n" + text)
    except (OSError, ValueError):
        return False
    return True
