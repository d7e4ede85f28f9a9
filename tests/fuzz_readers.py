"""The doors that take a person's files, each with good files to spoil: what ``fuzzing`` throws bytes at.

Every reader is handed a file on the disk, as the commands hand it, and what is read is carried on as far as the
commands carry it before any choosing.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from brief_samples import GOOD
from weather_samples import epw, pvgis_tmy, station_file

from optimizer.batch.compare import compared, read_result, tell_comparison
from optimizer.batch.journal import Journal
from optimizer.batch.variants import read_variants
from optimizer.brief.oddities import oddities
from optimizer.brief.reading import brief_data, read_brief
from optimizer.brief.starter import starter_text
from optimizer.kitfile import load
from optimizer.learnt import levels_in
from optimizer.parts.listing import table as listing
from optimizer.parts.reading import catalog_home, read_catalog
from optimizer.rules import limit_names
from optimizer.weather.cache import year_in
from optimizer.weather.reading import read_year

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
HEAD = 3_000  # bytes of a whole year's file that most tries spoil: a whole one takes a quarter of a second


@dataclass(frozen=True)
class Reader:
    """One door: its name, its share of the tries, the name of its file, good files, and the reading."""

    name: str
    share: int
    files: Callable[[], tuple[tuple[str, bytes], ...]]
    """Names and contents of good files."""
    read: Callable[[Path], Any]


def _brief(path: Path) -> None:
    brief = read_brief(path, limit_names())
    oddities(brief, -5.0)


def _briefs() -> tuple[tuple[str, bytes], ...]:
    texts = [GOOD, starter_text(), *(path.read_text() for path in sorted(EXAMPLES.glob("*.toml")))]
    return tuple(("brief.toml", text.encode()) for text in texts)


def _catalog(path: Path) -> None:
    catalog = read_catalog([path.parent.name], base=path.parent.parent)
    assert catalog.hash
    listing(catalog, None, [])


def _catalogs() -> tuple[tuple[str, bytes], ...]:
    home = catalog_home() / "generic"
    return tuple((path.name, path.read_bytes()) for path in sorted(home.glob("*.csv")))


def _overlay(path: Path) -> None:
    read_catalog(["generic", path.parent.name], base=path.parent.parent)


def _weather(path: Path) -> None:
    read_year(path.name, path.parent)


@cache
def _years() -> tuple[tuple[str, bytes], ...]:
    year = read_year("station:723170", Path())
    whole = [epw(year).encode(), pvgis_tmy(year).encode()]
    whole += [station_file(number).read_bytes() for number in ("723170", "12839")]
    return tuple(("year.txt", text) for text in (*whole, *(text[:HEAD] for text in whole for _ in range(9))))


def _variants(path: Path) -> None:
    read_variants(path, brief_data(EXAMPLES / "gulf_autumn.toml"), limit_names())


@cache
def _tables() -> tuple[tuple[str, bytes], ...]:
    import pandas as pd

    rows = {
        "trip.nights": [5, 7, 10], "limits.budget": ["4000", "(none)", "5000"], "place.altitude_m": [0.0, 100.5, None],
        "vehicle.bays[1].load": ["80", "100", "90 kg"],
    }  # fmt: skip
    frame = pd.DataFrame(rows)
    workbook, columns = io.BytesIO(), io.BytesIO()
    frame.to_excel(workbook, index=False)
    frame.to_parquet(columns)
    grid = "[trip]\nnights = [5, 7, 10]\n[limits]\nbudget = [4000, 5000.5]\n'place.altitude' = ['1 ft', -3]\n"
    text = frame.to_csv(index=False)
    return (
        ("variants.csv", text.encode()), ("variants.csv", text.replace("\n", "\r\n").encode()),
        ("variants.toml", grid.encode()), ("variants.toml", b"trip.nights = [1]\n"),
        ("variants.xlsx", workbook.getvalue()), ("variants.parquet", columns.getvalue()),
    )  # fmt: skip


KIT = {
    "format": 1, "status": "proven", "goal": "cheapest", "unit": "USD", "value": 2691.27, "bound": 2691.27,
    "catalog_hash": "0123456789abcdef", "nights": 10, "voltage": 12, "choices": {"battery": "bat x 1", "heater": "-"},
    "places": {
        "roof": [{"id": "pv", "x": 1, "y": 2, "length": 3, "width": 4}],
        "stowed": [{"id": "b", "bay": "left", "x": 1, "y": 2, "length": 3, "width": 4, "height": 5}],
    },
    "brief_file": "brief.toml", "brief_hash": "0123456789abcdef",
}  # fmt: skip


def _kits() -> tuple[tuple[str, bytes], ...]:
    kits = (KIT, {**KIT, "places": None})
    return tuple(("kit.json", json.dumps(kit, indent=2).encode()) for kit in kits)


def _result(path: Path) -> None:
    tell_comparison(compared(read_result(path)))


@cache
def _results() -> tuple[tuple[str, bytes], ...]:
    import pandas as pd

    rows = [
        {"variant": n, "trip.nights": 5 + n % 3, "limits.budget": 4000 + 500 * (n // 3), "status": "proven",
         "value": 2000.5 + n, "kit": "a, b", "count_battery": 1}
        for n in range(6)
    ]  # fmt: skip
    rows[2] |= {"status": "impossible", "value": None}
    frame = pd.DataFrame(rows)
    workbook, columns = io.BytesIO(), io.BytesIO()
    frame.to_excel(workbook, index=False)
    frame.to_parquet(columns)
    return (
        ("results.csv", frame.to_csv(index=False).encode()), ("results.json", frame.to_json(orient="records").encode()),
        ("results.xlsx", workbook.getvalue()), ("results.parquet", columns.getvalue()),
    )  # fmt: skip


def _journal(path: Path) -> None:
    with Journal(path, "mark"):
        pass


@cache
def _journals() -> tuple[tuple[str, bytes], ...]:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal"
        with Journal(path, "mark") as journal:
            for n in range(3):
                journal.add(str(n), {"status": "proven", "value": n})
        return (("results.csv.journal", path.read_bytes()),)


def _kept(path: Path) -> None:
    """What the cache folder holds: spoilt files are passed over in silence."""
    if path.suffix == ".npz":
        year_in(path, "kept")
    else:
        levels_in(path)


@cache
def _caches() -> tuple[tuple[str, bytes], ...]:
    from optimizer.weather import cache as kept_years

    read_year("station:723170", Path())
    year = min(kept_years.folder().glob("*.npz"))
    levels = {"format": 3, "levels": [[3, 10, [["bank", [[0, [1000.0, 2000.0]]]], ["sun", [[1, [5.0]]]]]]]}
    text = json.dumps(levels).encode()
    kept = hashlib.sha256(text).hexdigest().encode() + b"\n" + text
    return (("year.npz", year.read_bytes()), *(("levels.json", kept) for _ in range(9)))


READERS = (
    Reader("brief", 30, _briefs, _brief),
    Reader("catalog", 20, _catalogs, _catalog),
    Reader("catalog on top", 10, _catalogs, _overlay),
    Reader("weather", 10, _years, _weather),
    Reader("variants", 10, _tables, _variants),
    Reader("kit file", 10, _kits, lambda path: load(path)),
    Reader("batch result", 5, _results, _result),
    Reader("batch journal", 2, _journals, _journal),
    Reader("cache folder", 3, _caches, _kept),
)
