"""Looking through a catalog: filters such as ``price_usd<500`` and a plain-text table.

On the road: beside it; what ``kitwright parts`` shows. Makes text, prints nothing.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar

from optimizer.errors import UsageError, nearest
from optimizer.parts.catalog import Catalog
from optimizer.parts.cells import EMPTY, WORDS, CellError, Column, Value, any_number, columns_of
from optimizer.parts.records import KINDS, OwnPart, Part

AnyPart = Part | OwnPart
V = TypeVar("V")
SOLD_BY: Mapping[str, str] = MappingProxyType(
    {"cable": "for one metre", "fitting": "for one piece or one metre, as its unit says",
     "insulation": "for one square metre"}
)  # fmt: skip
BASE = ("id", "name", "price_usd", "mass_kg")

_FILTER = re.compile(r"\s*([A-Za-z_][A-Za-z0-9_]*)\s*(<=|>=|!=|=|<|>|~)(.*)", re.DOTALL)
_ORDER: Mapping[str, Callable[[float, float], bool]] = MappingProxyType(
    {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge,
     "=": operator.eq, "!=": operator.ne}
)  # fmt: skip


@dataclass(frozen=True)
class Filter:
    """One condition on a column: a number compared, a word equalled, or text contained (``~``)."""

    column: str
    sign: str
    text: str

    @classmethod
    def of(cls, written: str) -> Filter:
        """``'price_usd<500'``, ``'chemistry=lfp'``, ``'name~slim'``. Raises UsageError otherwise."""
        found = _FILTER.fullmatch(written)
        if not found:
            raise UsageError(
                f"The filter '{written}' is not understood; write a column, one of < <= > >= = != ~ and a"
                " value, such as 'price_usd<500' or 'chemistry=lfp'."
            )
        return cls(found[1], found[2], found[3].strip())

    def holds(self, value: Value, column: Column | None) -> bool:
        """Whether a value passes; ``column`` is None for one of the author's own.

        Raises UsageError when the two cannot be compared.
        """
        if self.sign == "~":
            return self.text.lower() in _shown(value).lower()
        if isinstance(value, (bool, str)):
            if self.sign not in ("=", "!="):
                raise UsageError(
                    f"The column '{self.column}' holds words, so it can only be asked for with =, != or ~."
                )
            return self._names(value, column) == (self.sign == "=")
        return _ORDER[self.sign](value, self._read(lambda text: any_number(text, column.unit if column else "")))

    def _names(self, value: bool | str, column: Column | None) -> bool:
        empty = not isinstance(value, bool) and self.text in (EMPTY, "none")
        wanted = "" if empty or column is None else self._read(column.read)
        # one word of several is enough: bank_v=24 finds 12|24
        several = isinstance(value, str) and self.column in WORDS and wanted in value.split("|")
        return wanted == value or several

    def _read(self, read: Callable[[str], V]) -> V:
        try:
            return read(self.text)
        except CellError as bad:
            remedy = f" {bad.remedy}" if bad.remedy else ""
            raise UsageError(
                f"The filter on '{self.column}' has the value '{self.text}'; expected {bad.expected}.{remedy}"
            ) from None


def rows(catalog: Catalog, kind: str | None = None, where: Sequence[str] = ()) -> tuple[AnyPart, ...]:
    """The parts of ``kind`` (None: of every kind) that pass all filters, kind by kind, sorted by id.

    Parts without a column that is asked for do not pass. Raises UsageError for an unknown kind, a column
    that no part of it has, or a filter that is not understood.
    """
    groups = _groups(catalog, kind)
    filters = [Filter.of(written) for written in where]
    known = {name for some in groups for part in some for name, _ in values(catalog, part)}
    names = sorted(known | set(columns_of(KINDS[kind]) if kind in KINDS else ()))
    for one in filters:
        if one.column not in names:
            place = f"the kind '{kind}'" if kind else "the catalog"
            raise UsageError(f"There is no column '{one.column}' in {place}. {nearest(one.column, names)}")
    return tuple(part for some in groups for part in some if _passes(catalog, part, filters))


def values(catalog: Catalog, part: AnyPart) -> Iterator[tuple[str, Value]]:
    """Every column of a part with its value: fields, columns of the author's own, the note."""
    for name in columns_of(type(part)):
        if name != "note":
            yield name, getattr(part, name)
    if isinstance(part, OwnPart):
        yield from sorted(part.columns.items())
    else:
        yield from catalog.columns.get(part.id, {}).items()
        yield "note", part.note


def table(catalog: Catalog, kind: str | None = None, where: Sequence[str] = ()) -> str:
    """The parts that pass, as a plain-text table: with every column of the kind, or a short one of all.

    What is the same in all of them is said once below the table. Raises as ``rows`` does.
    """
    found = rows(catalog, kind, where)
    if not found:
        return "No part passes."
    if kind is None:
        short = [(catalog.kind_of(part.id), *(_shown(getattr(part, name)) for name in BASE)) for part in found]
        sold = _sold_by({catalog.kind_of(part.id) for part in found})
        return _aligned(("kind", *BASE), short) + f"\n{_counted(len(found))}{sold}"
    cells = [{name: _shown(value) for name, value in values(catalog, part)} for part in found]
    names = list(dict.fromkeys(name for row in cells for name in row))
    same = [name for name in names if name not in BASE and len({row.get(name, "") for row in cells}) == 1]
    kept = [name for name in names if name not in same or len(found) == 1]
    text = _aligned(kept, [[row.get(name, "") for name in kept] for row in cells])
    alike = ", ".join(f"{name} {cells[0][name]}" for name in same if cells[0][name] != EMPTY)
    said = f"\nThe same in all: {alike}." if alike and len(found) > 1 else ""
    return f"{text}\n{_counted(len(found))}{_sold_by([kind])}{said}"


def _sold_by(kinds: Collection[str]) -> str:
    """A line for each kind whose price and mass are not those of one piece."""
    return "".join(f"\nOf {kind}, price and mass are {by}." for kind, by in SOLD_BY.items() if kind in kinds)


def _groups(catalog: Catalog, kind: str | None) -> list[tuple[AnyPart, ...]]:
    groups: dict[str, tuple[AnyPart, ...]] = {**catalog.parts, **catalog.own}
    if kind is None:
        return list(groups.values())
    if kind not in groups:
        raise UsageError(f"There is no kind '{kind}'. {nearest(kind, tuple(groups))}")
    return [groups[kind]]


def _passes(catalog: Catalog, part: AnyPart, filters: Sequence[Filter]) -> bool:
    if not filters:
        return True
    known, columns = dict(values(catalog, part)), columns_of(type(part))
    return all(one.column in known and one.holds(known[one.column], columns.get(one.column)) for one in filters)


def _shown(value: Value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    return str(value) or EMPTY


def _counted(count: int) -> str:
    return "1 part." if count == 1 else f"{count} parts."


def _aligned(header: Sequence[str], body: Sequence[Sequence[str]]) -> str:
    """Columns two blanks apart; numbers to the right."""
    widths = [max(len(row[at]) for row in [header, *body]) for at in range(len(header))]
    right = [all(_is_number(row[at]) for row in body) for at in range(len(header))]
    lines = []
    for row in [header, *body]:
        cells = [
            cell.rjust(width) if flush else cell.ljust(width)
            for cell, width, flush in zip(row, widths, right, strict=True)
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines) + "\n"


def _is_number(text: str) -> bool:
    try:
        float(text or "0")  # a blank is no reason to move numbers to the left
    except ValueError:
        return False
    return True
