"""What is wrong with a brief, by key path, before it is known which line that is.

On the road: inside ``brief``. ``translating`` and ``consistency`` give Findings; ``reading`` turns them
into Faults with the file, the line and the value as written.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from optimizer.errors import Fault

if TYPE_CHECKING:
    from optimizer.brief.positions import Positions

KeyPath = tuple[str | int, ...]
LONGEST_VALUE = 60
_SINGULAR = {
    "people": "person", "uses": "use", "meals": "meal", "bays": "bay", "seats": "seat", "surfaces": "surface",
    "fittings": "fitting", "obstacles": "obstacle", "flats": "flat part", "lanes": "lane",
    "own": "own limit", "own_kinds": "own kind",
}  # fmt: skip


@dataclass(frozen=True)
class Finding:
    """One thing wrong at one key path (list places counted from 0).

    ``value`` is None when the value as written is to be shown.
    """

    path: KeyPath
    expected: str
    remedy: str = ""
    value: str | None = None


def shorten(text: str, longest: int = LONGEST_VALUE) -> str:
    """``text`` on one line and printable, cut to ``longest`` characters."""
    line = "".join(char if char.isprintable() else " " for char in text[: 4 * longest])
    line = " ".join(line.split())
    return line if len(line) <= longest else line[: longest - 3] + "..."


def written(value: Any) -> str:
    """A value as it would stand in a brief, cut short."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return shorten(f'"{value[: 2 * LONGEST_VALUE]}"')
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of more than 60 digits"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        if any(isinstance(entry, Mapping) for entry in value[:5]):
            return "a list of tables"
        return shorten(f"[{', '.join(written(entry) for entry in value[:20])}]")
    return shorten(str(value)) if isinstance(value, int | float) else shorten(repr(value))


def at(data: Any, path: KeyPath) -> Any:
    """What stands at ``path`` in raw data; None when nothing does."""
    for step in path:
        if isinstance(data, Mapping):
            data = data.get(step)
        elif isinstance(data, list | tuple) and isinstance(step, int) and step < len(data):
            data = data[step]
        else:
            return None
    return data


def key_text(path: KeyPath) -> str:
    """A key path as a person reads it, list places counted from 1: ``vehicle.bays[2].length``."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            key = step if re.fullmatch(r"[A-Za-z0-9_-]+", step) else f'"{step}"'
            text += ("." if text else "") + shorten(key, 40)
    return text


def place_of(path: KeyPath, data: Any) -> str:
    """The key path, with the name of the bay, use, ... it lies in when that has one."""
    for end in range(len(path) - 1, 0, -1):
        if isinstance(path[end], int) and path[-1] != "name":
            name = at(data, (*path[: end + 1], "name"))
            if isinstance(name, str) and name.strip():
                noun = _SINGULAR.get(str(path[end - 1]), "entry")
                return f"{key_text(path)} ({noun} '{shorten(name, 30)}')"
    return key_text(path)


def as_fault(finding: Finding, file: str, data: Any, positions: Positions | None) -> Fault:
    """The finding with its file, its line (0 without positions) and the value as written."""
    value = finding.value
    if value is None:
        found = at(data, finding.path)
        source = "" if isinstance(found, Mapping) or positions is None else positions.text(finding.path)
        value = shorten(source) if source else written(found)
    line = positions.line(finding.path) if positions is not None else 0
    return Fault(file, line, place_of(finding.path, data), value, finding.expected, finding.remedy)
