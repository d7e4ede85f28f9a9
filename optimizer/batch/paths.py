"""A column of a variants table names a key of the brief; its cells become that key's values.

On the road: inside ``batch``. ``trip.nights``, ``limits.budget``, ``vehicle.bays[1].load``: dots go down into
tables, numbers in brackets into lists, counted from 1.
"""

from __future__ import annotations

import copy
import itertools
import re
from collections.abc import Mapping
from typing import Any

from optimizer.brief.brief import Brief
from optimizer.brief.findings import KeyPath
from optimizer.brief.syntax import load_toml
from optimizer.brief.topic import Shape, Topic, shapes
from optimizer.errors import nearest
from optimizer.quantities import quantity

UNSET = "(none)"
"""Cell that takes a key out of the brief."""
_STEP = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*)((?:\[[0-9]{1,4}\])*)")


class PathError(ValueError):
    """A column that names no key. The text says what was expected; ``remedy`` what to do."""

    def __init__(self, expected: str, remedy: str = "") -> None:
        super().__init__(expected)
        self.remedy = remedy


def path_of(column: str) -> KeyPath:
    """The key path of a column, list places counted from 0. Raises PathError."""
    path: list[str | int] = []
    for word in column.strip().split("."):
        match = _STEP.fullmatch(word.strip())
        if match is None:
            raise PathError("a key of the brief such as trip.nights or vehicle.bays[1].load")
        path.append(match[1])
        for number in re.findall(r"[0-9]+", match[2]):
            if int(number) < 1:
                raise PathError("a place in a list counted from 1")
            path.append(int(number) - 1)
    _shape(tuple(path))
    return tuple(path)


def _shape(path: KeyPath) -> Shape:
    """What stands at a path of the brief. Raises PathError."""
    topic: type[Topic] | None = Brief
    shape: Shape | None = None
    for step in path:
        if isinstance(step, int):
            if shape is None or not shape.listed:
                raise PathError("a key without [number], for it is no list")
            continue
        if topic is None:
            raise PathError(f"nothing behind a key that is no table, and '{step}' stands there")
        known = shapes(topic)
        if step not in known:
            raise PathError("a key of the brief", nearest(step, list(known)))
        shape = known[step]
        topic = shape.topic
    assert shape is not None
    return shape


def amount_of(cell: Any, column: str) -> float | None:
    """How much a cell is, in the documented unit of its key: '$2,300' is 2300. None where it is no amount."""
    if isinstance(cell, (int, float)):
        return None if isinstance(cell, bool) else float(cell)
    try:
        measure = _shape(path_of(column)).measure
        return quantity(str(cell), measure.unit) if measure is not None else float(cell)
    except (TypeError, ValueError):  # no key of the brief, or no amount
        return None


def value_of(cell: Any, path: KeyPath) -> Any:
    """A cell as the brief's TOML would have it: text stays text where the key is a text."""
    if not isinstance(cell, str):
        return int(cell) if isinstance(cell, float) and cell.is_integer() and _is_whole(path) else cell
    shape = _shape(path)
    text = cell.strip()
    single = not shape.listed or isinstance(path[-1], int)
    if single and shape.topic is None and shape.kind not in (int, float, bool) and not _is_number_choice(shape):
        return text
    lowered = text.lower()
    if lowered in ("true", "false"):
        return lowered == "true"
    try:
        return load_toml(f"value = {text}")["value"]
    except ValueError:
        return text


def _is_whole(path: KeyPath) -> bool:
    return _shape(path).kind is int


def _is_number_choice(shape: Shape) -> bool:
    """A choice among numbers, such as bank voltages."""
    options = getattr(shape.kind, "__args__", ())
    return bool(options) and all(isinstance(option, int) for option in options)


def changed(data: Mapping[str, Any], changes: Mapping[KeyPath, Any]) -> dict[str, Any]:
    """Raw brief data with other values. Raises PathError for a list without that place."""
    new = copy.deepcopy(dict(data))
    for path, value in changes.items():
        _put(new, path, value)
    return new


def _put(data: Any, path: KeyPath, value: Any) -> None:
    here = data
    for step, after in itertools.pairwise(path):
        if isinstance(step, int):
            here = _entry(here, step)
        else:
            here = here.setdefault(step, [] if isinstance(after, int) else {})
        if not isinstance(here, (dict, list)):
            raise PathError("a table or a list above it, and the brief has something else there")
    last = path[-1]
    if isinstance(last, int):
        _entry(here, last)
        here[last] = value
    elif not isinstance(here, dict):
        raise PathError("a place in the list, such as [1]")
    elif value == UNSET:
        here.pop(last, None)
    else:
        here[last] = value


def _entry(here: Any, step: int) -> Any:
    if not isinstance(here, list) or step >= len(here):
        count = len(here) if isinstance(here, list) else 0
        raise PathError(f"one of the {count} entries the brief's list has" if count else "a list in the brief")
    return here[step]
