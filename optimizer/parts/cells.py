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

from optimizer.errors import did_you_mean
from optimizer.spellings import family_of
from optimizer.units import QuantityError, quantity

Value = float | int | bool | str

Reader = tuple[str, Callable[[str], Value]]  # what is expected of a cell, and the function that reads it

EMPTY = "-"  # a cell that says "none" on purpose; a blank cell is a cell left out

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "bay_tags": ("inside", "warm", "vented", "outside", "gas_locker", "drained", "rear_hang", "roof"),
        "bank_v": ("12", "24", "48"),
        "dc_v": ("12", "24", "48"),
        "abilities": ("boil", "fry", "grill", "slow_cook", "bake"),
    }
)
MAY_BE_EMPTY = frozenset({"bay_tags"})

_UNIT = re.compile(r"\[([^\]]+)\]")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
_COMMA = re.compile(r"[+-]?[0-9]+(,[0-9]+)+(\.[0-9]+)?")
_TRUE = frozenset({"true", "yes", "1"})
_FALSE = frozenset({"false", "no", "0"})
LARGEST = 1e9  # a number of the author's own beyond this is a slip
FLAG_WORDS = "true or false (yes or no, 1 or 0)"


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
    accepts: str
    unit: str
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
            accepts, read = _reader(name, info)
            found[name] = Column(
                name,
                info.description or "",
                info.is_required(),
                None if info.is_required() else info.default,
                accepts,
                _unit(info),
                read,
            )
    return MappingProxyType(found)


def own_number(text: str) -> float:
    """A cell of a column of the author's own: any finite number."""
    return any_number(text, "")


def any_number(text: str, unit: str) -> float:
    """Any finite number of ordinary size, in ``unit`` where it carries none. Raises CellError."""
    return float(number_reader(unit, -LARGEST, LARGEST, False, False)[1](text))


def _reader(name: str, info: Any) -> Reader:
    kind = info.annotation
    if name in WORDS:
        return _words_reader(WORDS[name], name in MAY_BE_EMPTY)
    if get_origin(kind) is Literal:
        return _choice_reader(get_args(kind))
    if kind is bool:
        return FLAG_WORDS, read_flag
    if kind is str:
        pattern = next((m.pattern for m in info.metadata if getattr(m, "pattern", None)), None)
        longest = next((m.max_length for m in info.metadata if hasattr(m, "max_length")), 300)
        return _id_reader(pattern, longest) if pattern else _text_reader(longest, info.is_required())
    low, high, open_low = _bounds(info.metadata)
    return number_reader(_unit(info), low, high, open_low, kind is int)


def _unit(info: Any) -> str:
    """The unit at the end of a field's description, or ''."""
    found = _UNIT.findall(info.description or "")
    return str(found[-1]) if found and found[-1] != "-" else ""


def _bounds(metadata: list[Any]) -> tuple[float, float, bool]:
    low, high, open_low = -LARGEST, LARGEST, False
    for mark in metadata:
        if getattr(mark, "ge", None) is not None:
            low = mark.ge
        if getattr(mark, "gt", None) is not None:
            low, open_low = mark.gt, True
        if getattr(mark, "le", None) is not None:
            high = mark.le
    return low, high, open_low


def number_reader(unit: str, low: float, high: float, open_low: bool, whole: bool) -> Reader:
    """The reader of numbers between two bounds; ``unit`` as in a description, without its brackets."""
    if low <= -LARGEST:
        span = "a number"
    else:
        what = "a whole number" if whole else "a number"
        span = f"{what} above {low:g} and at most {high:g}" if open_low else f"{what} from {low:g} to {high:g}"
    expected = f"{span} [{unit}]" if unit else span

    def read(text: str) -> Value:
        number = _number(text, unit, expected)
        if not (low < number if open_low else low <= number) or not number <= high:
            raise CellError(expected)
        if whole:
            if number != int(number):
                raise CellError(expected)
            return int(number)
        return number + 0.0  # no negative zero

    return expected, read


def _number(text: str, unit: str, expected: str) -> float:
    if _NUMBER.fullmatch(text):
        return float(text)
    if _COMMA.fullmatch(text):
        raise CellError(expected, "Use a point for decimals, and nothing between thousands.")
    if family_of(unit) and text.isprintable() and any(mark.isalpha() or mark == "$" for mark in text):
        try:
            return quantity(text, unit)
        except QuantityError as bad:
            raise CellError(expected, bad.remedy) from None
    raise CellError(expected)


def read_flag(text: str) -> bool:
    """true, yes, 1 or false, no, 0."""
    word = text.lower()
    if word in _TRUE:
        return True
    if word in _FALSE:
        return False
    raise CellError(FLAG_WORDS)


def _choice_reader(choices: tuple[str, ...]) -> Reader:
    valid = tuple(choice for choice in choices if choice)
    expected = "one of " + ", ".join(valid) + (f", or '{EMPTY}' for none" if "" in choices else "")

    def read(text: str) -> Value:
        if text in valid:
            return text
        if text == EMPTY and "" in choices:
            return ""
        raise CellError(expected, did_you_mean(text, valid))

    return expected, read


def _words_reader(valid: tuple[str, ...], may_be_empty: bool) -> Reader:
    none = f", or '{EMPTY}' for none" if may_be_empty else ""
    expected = f"any of {', '.join(valid)} with '|' between{none}"

    def read(text: str) -> Value:
        if text == EMPTY and may_be_empty:
            return ""
        words = [word.strip() for word in text.split("|")]
        for word in words:
            if word not in valid:
                raise CellError(expected, did_you_mean(word, valid))
        if len(set(words)) < len(words):
            raise CellError(expected, "Name each word once.")
        return "|".join(words)

    return expected, read


def _id_reader(pattern: str, longest: int) -> Reader:
    rule = re.compile(pattern.rstrip("$") + r"\Z")
    expected = f"an id of at most {longest} of a-z 0-9 . _ - that starts with a letter or digit"

    def read(text: str) -> Value:
        if not rule.match(text) or len(text) > longest:
            raise CellError(expected)
        return text

    return expected, read


def _text_reader(longest: int, required: bool) -> Reader:
    expected = f"text of at most {longest} characters"

    def read(text: str) -> Value:
        line = " ".join(text.split())
        if line == EMPTY and not required:
            return ""
        if not line.isprintable():
            raise CellError("printable text", "Remove the control characters.")
        if len(line) > longest:
            raise CellError(expected)
        return line

    return expected, read
