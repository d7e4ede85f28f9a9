"""The record's own complaints become Findings in a builder's words.

On the road: inside ``brief``. Only the place and the sort of a complaint are used, never its wording.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from optimizer.brief.brief import Brief
from optimizer.brief.findings import Finding, KeyPath, at, written
from optimizer.brief.topic import Shape, Topic, shapes
from optimizer.brief.wording import choices, expectation, find_shape, heading
from optimizer.errors import did_you_mean, nearest
from optimizer.quantities import QuantityError, quantity

_OUT_OF_BOUNDS = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")


def findings_of(
    error: ValidationError, data: Any, skipped: frozenset[str] = frozenset()
) -> Iterator[Finding]:
    """Each complaint as a Finding; ``skipped`` keys were there but could not be read, so are not missing."""
    for complaint in error.errors(include_url=False, include_context=True):
        path: KeyPath = tuple(complaint["loc"])
        kind = complaint["type"]
        if kind in ("extra_forbidden", "invalid_key"):
            yield _unknown_key(path)
        elif kind == "missing":
            if path[-1] not in skipped:
                yield Finding(path, expectation(path), _missing_remedy(path), "missing")
        elif not (kind == "too_short" and _long_enough(complaint, data, path)):
            yield Finding(path, expectation(path), _remedy(path, complaint, at(data, path)))


def _long_enough(complaint: Any, data: Any, path: KeyPath) -> bool:
    """A list whose entries are refused one by one looks too short besides; once is enough."""
    given = at(data, path)
    return isinstance(given, list | tuple) and len(given) >= complaint["ctx"]["min_length"]


def _unknown_key(path: KeyPath) -> Finding:
    *above, last = path
    key = last if isinstance(last, str) else str(last)
    shape, _ = find_shape(tuple(above))
    topic = Brief if not above or shape is None or shape.topic is None else shape.topic
    table = heading(tuple(above))
    bracketed = f"[[{table}]]" if shape is not None and shape.listed else f"[{table}]"
    where = f"a key of {bracketed}" if table else "a key of the brief"
    homes = sorted(set(_homes(key)))
    remedy = did_you_mean(key, list(topic.model_fields))
    if not remedy:
        remedy = f"It belongs in {' or '.join(homes)}." if homes else nearest(key, list(topic.model_fields))
    return Finding((*above, key), where, remedy, "an unknown key")


def _homes(key: str, topic: type[Topic] = Brief, above: str = "") -> Iterator[str]:
    """The headings of the tables that do have such a key."""
    for name, shape in shapes(topic).items():
        full = f"{above}.{name}" if above else name
        if shape.topic is None:
            continue
        if key in shape.topic.model_fields:
            yield f"[[{full}]]" if shape.listed else f"[{full}]"
        yield from _homes(key, shape.topic, full)


def _missing_remedy(path: KeyPath) -> str:
    shape, _ = find_shape(path)
    if shape is not None and shape.topic is not None:
        return "Add it; the starter brief shows how."
    return ""


def _remedy(path: KeyPath, complaint: Any, given: Any) -> str:
    shape, entry = find_shape(path)
    if shape is None:
        return ""
    name = heading(path)
    if shape.topic is not None:
        if isinstance(given, list) and not shape.listed:
            return f"Write one heading [{name}] and not [[{name}]]."
        return f"Write each heading as [[{name}]]." if isinstance(given, Mapping) and shape.listed else ""
    if shape.listed and not entry and not isinstance(given, list | tuple):
        return _bracketed(str(path[-1]), shape, given) if _scalar(given) else ""
    cause = complaint.get("ctx", {}).get("error")
    if isinstance(cause, QuantityError):
        return cause.remedy
    if complaint["type"] in _OUT_OF_BOUNDS and shape.measure is not None:
        return _converted(given, shape.measure.unit)
    return _retyped(shape, given)


def _bracketed(key: str, shape: Shape, given: str | float) -> str:
    """What was given as a list; where it names no entries that there can be, a list of those that there can."""
    allowed = choices(shape)
    words = re.split(r"[^\w.-]+", str(given).strip("[](){} ")) if allowed else []
    named = [choice for word in words for choice in allowed if str(choice) == word]
    if len(named) < len(words):
        return f"Write a list such as {key} = [{', '.join(map(written, allowed))}]."
    return f"Put it in square brackets: {key} = [{', '.join(map(written, named)) or written(given)}]."


def _scalar(given: Any) -> bool:
    return isinstance(given, str | int | float)


def _converted(given: Any, unit: str) -> str:
    """How the number that was refused came about: which unit a bare number has, or what the text came to."""
    word = {"delta_degC": "K", "USD": "US dollars"}.get(unit, unit)
    if isinstance(given, str):
        return f"It comes to {quantity(given, unit):.9g} {word}."
    return f"A bare number is in {word}."


def _retyped(shape: Shape, given: Any) -> str:
    """What to do when the value is of the wrong sort, or no choice."""
    if isinstance(given, str):
        if choices(shape):
            allowed = [str(choice) for choice in choices(shape)]
            return "Leave out the quotes." if given in allowed else did_you_mean(given, allowed)
        if shape.kind is bool:
            return "Write true or false without quotes."
        if shape.kind in (int, float):
            return "Write a bare number without quotes."
    elif shape.kind is str and _scalar(given):
        return "Put text in quotes."
    return ""
