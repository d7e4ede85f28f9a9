"""A weather year by its name in the brief: a station that ships with pvlib, or a file.

On the road: brief (``place.weather``) -> weather year. The format is told by the file's content: EPW,
TMY2, TMY3 or PVGIS CSV. All faults of a file are told at once.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path

from optimizer.errors import Fault, FaultsFound, nearest
from optimizer.files import read_bytes
from optimizer.weather import cache
from optimizer.weather.raw import FaultSheet, RawYear
from optimizer.weather.year import WeatherYear

STATIONS: dict[str, str] = {
    "12839": "12839.tm2",
    "703165": "703165TY.csv",
    "723170": "723170TYA.CSV",
}
"""Stations by their number, and the file in pvlib's data folder."""

STATION_PREFIX = "station:"
LARGEST_FILE = 20_000_000  # bytes; a year has a tenth of it
MOST_LINES = 400_000  # forty-five years of hours
FORMATS = "EPW, TMY2, TMY3 CSV or PVGIS CSV"

_LONGEST_HEAD = 20_000
"""No format's first line is longer than this many characters."""

_Reader = Callable[[FaultSheet, Sequence[str]], RawYear | None]


def read_year(spec: str, base: Path | None = None) -> WeatherYear:
    """Read, check and prepare a weather year, or take it from the cache.

    Parameters
    ----------
    spec : ``'station:723170'`` (see ``STATIONS``), or the path of a file
    base : folder that a relative path starts from: the brief's own; left out, the current folder

    Raises
    ------
    FaultsFound
        With every fault of the file: not there, not readable, no known format, not one whole year, a
        missing or impossible value.
    """
    content = _content(spec, base)
    key = cache.key_of(content)
    kept = cache.load(key, spec)
    if kept is not None:
        return kept
    year = prepare(spec, content)
    cache.store(key, year)
    return year


def prepare(spec: str, content: bytes) -> WeatherYear:
    """A file's content as a weather year called ``spec``. Raises FaultsFound."""
    from optimizer.weather.assembling import assemble
    from optimizer.weather.checking import check_calendar, check_values

    lines = _text(spec, content).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    read, complete = _format(spec, lines)
    sheet = FaultSheet(spec)
    raw = read(sheet, lines)
    if raw is not None and not sheet.gathered():
        raw = check_calendar(sheet, raw)
        if not sheet.gathered():
            raw = check_values(sheet, complete(raw))
    faults = sheet.gathered()
    if raw is None or faults:
        raise FaultsFound(faults)
    return assemble(spec, raw)


def _content(spec: str, base: Path | None) -> bytes:
    """The bytes of the file a name stands for."""
    path = _station_file(spec) if spec.startswith(STATION_PREFIX) else _file(spec, base)
    try:
        return read_bytes(path, LARGEST_FILE)
    except FileNotFoundError:
        raise _whole(spec, "no such file", f"a weather file: {FORMATS}", _neighbour(path, base)) from None
    except IsADirectoryError:
        raise _whole(spec, "a folder", f"a weather file: {FORMATS}", "Name the file inside it.") from None
    except OSError as error:
        said = f"The system says: {(error.strerror or str(error)).lower()}."
        raise _whole(spec, "not readable", "a file that may be read", said) from error


def _file(spec: str, base: Path | None) -> Path:
    try:
        return (base or Path()) / Path(spec).expanduser()
    except RuntimeError as error:  # '~somebody/' whom the system does not know
        remedy = "Write its whole path, without ~."
        raise _whole(spec, "in a home that nobody knows", f"a weather file: {FORMATS}", remedy) from error


def _station_file(spec: str) -> Path:
    """The file of a station in pvlib's data folder, found without importing pvlib."""
    station = spec.removeprefix(STATION_PREFIX).strip()
    if station not in STATIONS:
        raise _whole(spec, "no such station", "a station that comes along", nearest(station, list(STATIONS)))
    found = find_spec("pvlib")
    if found is None or found.origin is None:
        raise _whole(spec, "not installed", "the library pvlib, which brings the stations", "Install it.")
    return Path(found.origin).parent / "data" / STATIONS[station]


def _neighbour(path: Path, base: Path | None) -> str:
    """A remedy that names the most similar file of the folder."""
    try:
        names = sorted(entry.name for entry in path.parent.iterdir() if entry.is_file())
    except OSError:
        return f"There is no folder '{path.parent.name}'."
    close = difflib.get_close_matches(path.name, names, n=1, cutoff=0.6)
    start = "the current folder" if base is None else "the brief's folder"
    return f"Did you mean '{close[0]}'?" if close else f"A relative path starts from {start}."


def _text(spec: str, content: bytes) -> str:
    """The content as text; weather files are ASCII with at most a place name that is not."""
    if not content.strip():
        raise _whole(spec, "empty", f"a weather file: {FORMATS}", "Fetch the file again.")
    if b"\0" in content[:65536] or content[:2] in (b"PK", b"\x1f\x8b"):
        raise _whole(spec, "not a text file", f"text: {FORMATS}", "Unpack an archive first.")
    if content.count(b"\n") + content.count(b"\r") > MOST_LINES:
        raise _whole(spec, "too long", f"at most {MOST_LINES:,} lines", "Give one year, one row an hour.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _unchanged(raw: RawYear) -> RawYear:
    return raw


def _format(spec: str, lines: Sequence[str]) -> tuple[_Reader, Callable[[RawYear], RawYear]]:
    """The reader for a file, told by its first lines, and what completes its columns."""
    from optimizer.weather import pvgis, typical

    first = lines[0] if len(lines[0]) < _LONGEST_HEAD else ""
    if first.startswith("LOCATION,"):
        return typical.read_epw, _unchanged
    if re.match(r"\s*Latitude\b.*:", first):
        return pvgis.read_pvgis, pvgis.complete
    if first and len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return typical.read_tmy3, _unchanged
    if typical.TMY2_HEADER.match(first):
        return typical.read_tmy2, _unchanged
    remedy = "PVGIS: fetch it as CSV, not JSON." if first.lstrip().startswith("{") else ""
    raise _whole(spec, "of an unknown format", f"a weather file: {FORMATS}", remedy)


def _whole(spec: str, value: str, expected: str, remedy: str = "") -> FaultsFound:
    """One fault of the file as a whole."""
    return FaultsFound([Fault(spec, 0, "weather year", value, expected, remedy)])
