"""Prepared weather years, kept so that the slow reading happens once.

On the road: beside ``reading``. Kept by the content of the file and the version of the preparation, so a
changed file or a changed tool never meets an old year. A year that cannot be kept is no fault, and
one that was spoilt on the disk is prepared again.
"""

from __future__ import annotations

import hashlib
import io
import os
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.files import read_bytes, replace_whole
from optimizer.weather.year import SERIES, WeatherYear

VERSION = "1"
"""Raised whenever the same file would give another year."""

FOLDER_VARIABLE = "KITWRIGHT_CACHE"
"""Environment variable that names another folder for prepared years, and for what runs learnt."""

LARGEST_FILE = 20_000_000  # bytes; a year has half a million
_NUMBERS = ("latitude", "longitude", "altitude_m", "utc_offset_h")


def folder() -> Path:
    """Where prepared years are kept and, in a folder of its own there, what runs learnt (see ``optimizer.learnt``)."""
    told = os.environ.get(FOLDER_VARIABLE)
    if told:
        with suppress(RuntimeError):  # a home that nobody knows
            return Path(told).expanduser()
        return Path(told)
    from platformdirs import user_cache_path

    return user_cache_path("kitwright", appauthor=False) / "weather"


def key_of(content: bytes) -> str:
    """Name under which the year prepared from a file is kept."""
    return hashlib.sha256(VERSION.encode() + b"\0" + content).hexdigest()


def load(key: str, name: str) -> WeatherYear | None:
    """The year kept under ``key``, called ``name``; None when there is none, or it was spoilt."""
    return year_in(folder() / f"{key}.npz", name)


def year_in(path: Path, name: str) -> WeatherYear | None:
    """The year in a file of the cache, called ``name``; None when it is not there or not whole (it has checksums)."""
    try:
        with np.load(io.BytesIO(read_bytes(path, LARGEST_FILE)), allow_pickle=False) as kept:
            fields: dict[str, Any] = {number: float(kept[number]) for number in _NUMBERS}
            fields |= {series: kept[series] for series in SERIES}
            return WeatherYear(name=name, **fields)
    except Exception:  # a spoilt archive makes its readers raise anything, down to SyntaxError
        return None


def store(key: str, year: WeatherYear) -> None:
    """Keep a year. It appears whole or not at all, also when two runs keep it at once."""
    place = folder()
    content = io.BytesIO()
    np.savez(content, **{name: getattr(year, name) for name in (*_NUMBERS, *SERIES)})
    with suppress(OSError, ValueError):
        place.mkdir(parents=True, exist_ok=True)
        replace_whole(place / f"{key}.npz", content.getvalue())
