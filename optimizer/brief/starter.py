"""A starter brief: every table and every key of a brief, each explained in one line.

On the road: before everything else; a person begins by changing this file. The words, units and defaults
come from the records themselves, so that the file cannot say anything that reading does not do.

Lines that begin with '# ' are words; lines that begin with '#' and a key are keys that are left out.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from optimizer.brief.brief import Brief
from optimizer.brief.starter_values import ASIDE, SAMPLE
from optimizer.brief.topic import Topic, shapes
from optimizer.brief.wording import choices
from optimizer.errors import UsageError
from optimizer.files import replace_whole

STARTER_NAME = "brief.toml"
_PREFACE = """\
# What you ask for. Change the values, take the '#' off a key to set it, and leave out what does not
# matter: each key says its unit and what holds without it. All values here are invented.
# A quantity is a bare number in the unit named, or text with a unit: 5334 or "17 ft 6 in",
# 11.4 or "3 gal", -10 or "14 degF".
"""


def write_starter(directory: Path) -> Path:
    """Write the starter brief into ``directory`` (made when missing), whole or not at all.

    Returns its path. UsageError when there is such a file already, or it cannot be written.
    """
    target = directory / STARTER_NAME
    try:
        directory.mkdir(parents=True, exist_ok=True)
        if os.path.lexists(target):
            raise UsageError(
                f"{target} is there already; expected a folder without it. Move it, or name another folder."
            )
        replace_whole(target, starter_text().encode())
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise UsageError(
            f"{target} cannot be written ({reason}); expected a folder that takes files. Name another folder."
        ) from error
    return target


def starter_text() -> str:
    """The starter brief as TOML."""
    return _PREFACE + "\n" + "\n".join(_table(Brief, "", SAMPLE, ASIDE)) + "\n"


def _table(
    topic: type[Topic], path: str, sample: Mapping[str, Any] | None, aside: Mapping[str, Any]
) -> Iterator[str]:
    """The keys of one table, then its tables; everything behind '#' when there is no sample."""
    given = sample or {}
    for name, shape in shapes(topic).items():
        if shape.topic is None:
            yield f"# {_explained(topic, name)}"
            mark = "" if name in given else "#"
            yield f"{mark}{name} = {_value(given.get(name, _shown_aside(topic, name, aside)))}"
    for name, shape in shapes(topic).items():
        if shape.topic is not None:
            full = f"{path}.{name}" if path else name
            beside = aside.get(name, {})
            yield ""
            yield f"# {_explained(topic, name)}"
            if shape.listed:
                yield from _entries(shape.topic, full, given.get(name), beside)
            else:
                mark = "" if name in given else "#"
                yield f"{mark}[{full}]"
                yield from _table(shape.topic, full, given.get(name), beside)


def _entries(
    topic: type[Topic], path: str, entries: list[Mapping[str, Any]] | None, aside: Mapping[str, Any]
) -> Iterator[str]:
    """The first entry with its keys explained, the others bare."""
    if not entries:
        yield f"#[[{path}]]"
        yield from _table(topic, path, None, aside)
        return
    yield f"[[{path}]]"
    yield from _table(topic, path, entries[0], aside)
    for entry in entries[1:]:
        yield ""
        yield f"[[{path}]]"
        yield from (f"{name} = {_value(value)}" for name, value in entry.items())


def _explained(topic: type[Topic], name: str) -> str:
    """One line: what the key is, its unit, and what holds without it."""
    field, shape = topic.model_fields[name], shapes(topic)[name]
    words = field.description or name
    if shape.topic is not None:
        needed = field.is_required() and shape.listed
        return f"{words}: one heading for each{', at least one' if needed else ''}" if shape.listed else words
    allowed = [str(choice) for choice in choices(shape)]
    if not all(choice in words for choice in allowed):
        words += f": {', '.join(allowed[:-1])} or {allowed[-1]}"
    if field.is_required():
        return f"{words}; must be given"
    if field.default is not None:
        return f"{words}; default {_value(field.default)}"
    told = any(hint in words for hint in ("left out", "; else", "by default"))
    return words if told else f"{words}; left out by default"


def _shown_aside(topic: type[Topic], name: str, aside: Mapping[str, Any]) -> Any:
    """An example for a key that is left out: one made for it, or its default."""
    return aside[name] if name in aside else topic.model_fields[name].default


def _value(value: Any) -> str:
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(entry) for entry in value)}]"
    if isinstance(value, float):
        return f"{value:.10g}"
    return json.dumps(value, ensure_ascii=False)  # text, true, false and whole numbers look alike in TOML
