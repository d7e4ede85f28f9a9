"""One cell of a catalog: text in, a checked value out.

On the road: the door of ``parts``. The columns of a kind, their bounds and their words come from the
fields of its record, so a record and the reading of it cannot drift apart.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from optimizer.errors import nearest
from optimizer.units import quantity

Value = float | int | bool | str

EMPTY = "-"  # a cell that says "none" on purpose; a blank cell is a cell left out

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "bay_tags": ("inside", "warm", "vented", "outside", "gas_locker", "drained", "rear_hang", "roof"),
    "bank_v": ("12", "24", "48"),
    "dc_v": ("12", "24", "48"),
    "abilities": ("boil", "fry", "grill", "slow_cook", "bake"),
})
MAY_BE_EMPTY = frozenset({"bay_tags"})

# Units in which a cell may also be written as text; the others take bare numbers only.
_UNITS = frozenset({"mm", "kg", "W", "Wh", "L", "A", "Ah", "V", "m", "degC", "m3/h"})
_UNIT = re.compile(r"\[([^\]]+)\]")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
_COMMA = re.compile(r"[+-]?[0-9]+(,[0-9]+)+(\.[0-9]+)?")
_TRUE = frozenset({"true", "yes", "1"})
_FALSE = frozenset({"false", "no", "0"})
_LONGEST_QUANTITY = 40


class CellError(ValueError):
    """The text of a cell is not what its column takes: what was expected, and what to do."""

    def __init__(self, expected: str, remedy: str = "") -> None:
        super().__init__(expected)
        self.expected = expected
        self.remedy = remedy


@dataclass(frozen=True)
class Column:
    """A column as its record's field describes it, with the function that reads its cells."""

    name: str
    description: str
    required: bool
    default: Value | None
    read: Callable[[str], Value] = field(repr=False)


def shown(text: str) -> str:
    """The text of a cell in quotes, short and printable, for a fault."""
    quoted = repr(text)
    return quoted if len(quoted) <= 60 else quoted[:56] + "...'"


@cache
def columns_of(record: type[BaseModel]) -> Mapping[str, Column]:
    """The columns of a record, in the order of its fields (a field of free columns is left out)."""
    found = {}
    for name, info in record.model_fields.items():
        if get_origin(info.annotation) is not dict:
            found[name] = Column(
                name, info.description or "", info.is_required(),
                None if info.is_required() else info.default, _reader(name, info),
            )
    return MappingProxyType(found)


def own_number(text: str) -> float:
    """A cell of a column of the author's own: any finite number."""
    return float(number_reader("", -1e9, 1e9, False, False)(text))


def _reader(name: str, info: Any) -> Callable[[str], Value]:
    kind = info.annotation
    if name in WORDS:
        return _words_reader(WORDS[name], name in MAY_BE_EMPTY)
    if get_origin(kind) is Literal:
        return _choice_reader(get_args(kind))
    if kind is bool:
        return read_flag
    if kind is str:
        pattern = next((m.pattern for m in info.metadata if getattr(m, "pattern", None)), None)
        longest = next((m.max_length for m in info.metadata if hasattr(m, "max_length")), 300)
        return _id_reader(pattern, longest) if pattern else _text_reader(longest, info.is_required())
    low, high, open_low = _bounds(info.metadata)
    unit = _UNIT.findall(info.description or "")
    return number_reader(unit[-1] if unit else "", low, high, open_low, kind is int)


def _bounds(metadata: list[Any]) -> tuple[float, float, bool]:
    low, high, open_low = -1e9, 1e9, False
    for mark in metadata:
        if getattr(mark, "ge", None) is not None:
            low = mark.ge
        if getattr(mark, "gt", None) is not None:
            low, open_low = mark.gt, True
        if getattr(mark, "le", None) is not None:
            high = mark.le
    return low, high, open_low


def number_reader(
    unit: str, low: float, high: float, open_low: bool, whole: bool
) -> Callable[[str], Value]:
    """A reader of numbers between two bounds; ``unit`` as written in a description, without brackets."""
    if abs(low) >= 1e9:
        span = "a number"
    else:
        what = "a whole number" if whole else "a number"
        span = f"{what} above {low:g} and at most {high:g}" if open_low else f"{what} from {low:g} to {high:g}"
    expected = f"{span} [{unit}]" if unit and unit != "-" else span

    def read(text: str) -> Value:
        number = _number(text, unit, expected)
        if not (low < number if open_low else low <= number) or not number <= high:
            raise CellError(expected)
        if whole:
            if number != int(number):
                raise CellError(expected)
            return int(number)
        return number + 0.0  # no negative zero

    return read


def _number(text: str, unit: str, expected: str) -> float:
    if _NUMBER.fullmatch(text):
        return float(text)
    if _COMMA.fullmatch(text):
        raise CellError(expected, "Use a point for decimals, and nothing between thousands.")
    if unit in _UNITS and len(text) <= _LONGEST_QUANTITY and any(mark.isalpha() for mark in text):
        try:
            return float(quantity(text, unit))
        except (ValueError, OverflowError, ArithmeticError):
            raise CellError(expected, f"Text with a unit must be convertible to {unit}.") from None
    raise CellError(expected)


def read_flag(text: str) -> bool:
    """true, yes, 1 or false, no, 0."""
    word = text.lower()
    if word in _TRUE:
        return True
    if word in _FALSE:
        return False
    raise CellError("true or false (yes or no, 1 or 0)")


def _choice_reader(choices: tuple[str, ...]) -> Callable[[str], Value]:
    valid = tuple(choice for choice in choices if choice)
    expected = "one of " + ", ".join(valid) + (f", or '{EMPTY}' for none" if "" in choices else "")

    def read(text: str) -> Value:
        if text in valid:
            return text
        if text == EMPTY and "" in choices:
            return ""
        raise CellError(expected, _close(text, valid))

    return read


def _words_reader(valid: tuple[str, ...], may_be_empty: bool) -> Callable[[str], Value]:
    expected = "any of " + ", ".join(valid) + " with '|' between" + (
        f", or '{EMPTY}' for none" if may_be_empty else "")

    def read(text: str) -> Value:
        if text == EMPTY and may_be_empty:
            return ""
        words = [word.strip() for word in text.split("|")]
        for word in words:
            if word not in valid:
                raise CellError(expected, _close(word, valid))
        if len(set(words)) < len(words):
            raise CellError(expected, "Name each word once.")
        return "|".join(words)

    return read


def _id_reader(pattern: str, longest: int) -> Callable[[str], Value]:
    rule = re.compile(pattern.rstrip("$") + r"\Z")

    def read(text: str) -> Value:
        if not rule.match(text) or len(text) > longest:
            raise CellError(f"an id of at most {longest} of a-z 0-9 . _ - that starts with a letter or digit")
        return text

    return read


def _text_reader(longest: int, required: bool) -> Callable[[str], Value]:
    def read(text: str) -> Value:
        line = " ".join(text.split())
        if line == EMPTY and not required:
            return ""
        if not line.isprintable():
            raise CellError("printable text", "Remove the control characters.")
        if len(line) > longest:
            raise CellError(f"at most {longest} characters")
        return line

    return read


def _close(word: str, valid: tuple[str, ...]) -> str:
    # the expectation lists them all already, so only a close one is worth saying again
    remedy = nearest(word, valid)
    return remedy if remedy.startswith("Did") else ""
