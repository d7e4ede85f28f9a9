"""Prepared weather years, kept so that the slow reading happens once.

On the road: beside ``reading``. Kept by the content of the file and the version of the preparation, so a
changed file or a changed tool never meets an old year. A year that cannot be kept is no fault, and
one that was spoilt on the disk is prepared again.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from optimizer.weather.year import SERIES, WeatherYear

VERSION = "1"
"""Raised whenever the same file would give another year."""

FOLDER_VARIABLE = "KITWRIGHT_CACHE"
"""Environment variable that names another folder for prepared years."""

_NUMBERS = ("latitude", "longitude", "altitude_m", "utc_offset_h")


def folder() -> Path:
    """Where prepared years are kept."""
    told = os.environ.get(FOLDER_VARIABLE)
    if told:
        return Path(told)
    from platformdirs import user_cache_path

    return user_cache_path("kitwright", appauthor=False) / "weather"


def key_of(content: bytes) -> str:
    """Name under which the year prepared from a file is kept."""
    return hashlib.sha256(VERSION.encode() + b"\0" + content).hexdigest()


def load(key: str, name: str) -> WeatherYear | None:
    """The year kept under ``key``, called ``name``; None when there is none, or it was spoilt."""
    try:
        with np.load(folder() / f"{key}.npz", allow_pickle=False) as kept:
            fields: dict[str, Any] = {number: float(kept[number]) for number in _NUMBERS}
            fields |= {series: kept[series] for series in SERIES}
            return WeatherYear(name=name, **fields)
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile):
        return None


def store(key: str, year: WeatherYear) -> None:
    """Keep a year. It appears whole or not at all, also when two runs keep it at once."""
    place = folder()
    with suppress(OSError):
        place.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f"{key[:12]}-", suffix=".part", dir=place)
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, **{name: getattr(year, name) for name in (*_NUMBERS, *SERIES)})
            os.replace(temporary, place / f"{key}.npz")
        except BaseException:
            with suppress(OSError):
                os.unlink(temporary)
            raise
