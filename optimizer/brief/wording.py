"""What a key of the brief takes, in a builder's words, from the record itself.

On the road: inside ``brief``. Because the words come from the same bounds that check the value, they
cannot drift apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, get_args, get_origin

from optimizer.brief.brief import Brief
from optimizer.brief.findings import KeyPath
from optimizer.brief.topic import Shape, Topic, Wording, shapes
from optimizer.units import asked


def find_shape(path: KeyPath) -> tuple[Shape | None, bool]:
    """The shape of the field at ``path``, and whether the path ends in an entry of its list."""
    topic: type[Topic] | None = Brief
    shape: Shape | None = None
    entry = False
    for step in path:
        if isinstance(step, int):
            if shape is None or not shape.listed or entry:
                return None, False
            entry = True
            continue
        if topic is None or step not in shapes(topic):
            return None, False
        shape, entry = shapes(topic)[step], False
        topic = shape.topic
    return shape, entry


def heading(path: KeyPath) -> str:
    """The dotted name of a table as its heading has it, without list places."""
    return ".".join(step for step in path if isinstance(step, str))


def joined(words: Sequence[str]) -> str:
    """'a', 'b' or 'c'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def choices(shape: Shape) -> tuple[Any, ...]:
    """The values a choice allows; empty when the field is no choice."""
    return get_args(shape.kind) if get_origin(shape.kind) is Literal else ()


def expectation(path: KeyPath) -> str:
    """The end of "expected ..." for the value at ``path``."""
    shape, entry = find_shape(path)
    if shape is None:
        return "a value of the brief"
    name = heading(path)
    if shape.topic is not None:
        if not shape.listed:
            return f"a table [{name}]"
        return f"a table [[{name}]]" if entry else f"{_count(shape)} tables [[{name}]]"
    one = _value(shape)
    return one if entry or not shape.listed else f"a list of {_count(shape)} entries, each {one}"


def _value(shape: Shape) -> str:
    """One value of a field that is no table."""
    worded = next((mark.text for mark in shape.marks if isinstance(mark, Wording)), "")
    if worded:
        return worded
    if choices(shape):
        return joined([f"'{one}'" if isinstance(one, str) else str(one) for one in choices(shape)])
    if shape.measure is not None:
        return asked(shape.measure.unit, bounds(shape))
    if shape.kind is bool:
        return "true or false"
    if shape.kind is int:
        return f"a whole number{bounds(shape)}"
    if shape.kind is float:
        return f"a number{bounds(shape)}"
    longest = _mark(shape.marks, "max_length")
    return f"text of at most {longest} characters" if longest is not None else "text"


def _mark(marks: tuple[Any, ...], name: str) -> Any:
    return next((getattr(mark, name) for mark in marks if getattr(mark, name, None) is not None), None)


def _count(shape: Shape) -> str:
    least, most = _mark(shape.counts, "min_length") or 0, _mark(shape.counts, "max_length")
    if most is None:
        return f"at least {least}"
    return f"{least} to {most}" if least else f"at most {most}"


def bounds(shape: Shape) -> str:
    """The bounds of a number, with a space before them: " above 0 and at most 6000"."""
    above, least, below, most = (_mark(shape.marks, name) for name in ("gt", "ge", "lt", "le"))
    if least is not None and most is not None:
        return f" from {least:.10g} to {most:.10g}"
    parts = [
        f"{word} {limit:.10g}"
        for word, limit in (("above", above), ("of at least", least), ("below", below), ("at most", most))
        if limit is not None
    ]
    return " " + " and ".join(parts) if parts else ""
