"""The catalog: every part on offer, by kind and by id, frozen.

On the road: the second input (brief + CATALOG + weather -> problem). ``reading`` builds it from
files; nothing here touches a file.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import TypeVar

from optimizer.parts.records import KINDS, OwnPart, Part

P = TypeVar("P", bound=Part)

KIND_OF_RECORD: Mapping[type[Part], str] = MappingProxyType({record: kind for kind, record in KINDS.items()})


@dataclass(frozen=True, eq=False)
class Catalog:
    """Parts by kind (all of ``KINDS``, in that order), each kind sorted by id.

    ``own`` holds the author's own kinds by name. ``columns`` holds the author's ``own_...`` columns of
    ordinary parts: part id -> column -> value. Build one with ``Catalog.of`` or ``with_parts``, which
    sort and refuse an id given twice.
    """

    parts: Mapping[str, tuple[Part, ...]]
    own: Mapping[str, tuple[OwnPart, ...]] = field(default_factory=dict)
    columns: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        parts: Iterable[Part] = (),
        own: Mapping[str, Iterable[OwnPart]] | None = None,
        columns: Mapping[str, Mapping[str, float]] | None = None,
    ) -> Catalog:
        """A catalog of these parts, in any order. Raises ValueError for an id given twice."""
        by_kind: dict[str, list[Part]] = {kind: [] for kind in KINDS}
        for part in parts:
            by_kind[KIND_OF_RECORD[type(part)]].append(part)
        kept = {
            part_id: MappingProxyType({name: values[name] for name in sorted(values)})
            for part_id, values in sorted((columns or {}).items())
            if values
        }
        catalog = cls(
            parts=MappingProxyType({kind: tuple(sorted(some, key=_id)) for kind, some in by_kind.items()}),
            own=MappingProxyType({kind: tuple(sorted(some, key=_id)) for kind, some in sorted((own or {}).items())}),
            columns=MappingProxyType(kept),
        )
        catalog._refuse_twins()
        return catalog

    @classmethod
    def empty(cls) -> Catalog:
        """A catalog with every kind and no part."""
        return cls.of()

    def with_parts(self, *parts: Part, **own: Iterable[OwnPart]) -> Catalog:
        """This catalog with further parts; a part with a known id takes the other's place.

        Keyword arguments name own kinds: ``with_parts(battery, rack=[own_part])``.
        """
        new = {part.id: part for part in parts}
        if len(new) < len(parts):
            raise ValueError("an id is given twice")
        kept = [part for part in self.all_parts if part.id not in new]
        return Catalog.of([*kept, *parts], {**self.own, **own}, self.columns)

    def without(self, *ids: str) -> Catalog:
        """This catalog less some parts, whichever of them it has."""
        gone = set(ids)
        return Catalog.of(
            [part for part in self.all_parts if part.id not in gone],
            {kind: [part for part in some if part.id not in gone] for kind, some in self.own.items()},
            {part_id: values for part_id, values in self.columns.items() if part_id not in gone},
        )

    @property
    def all_parts(self) -> tuple[Part, ...]:
        """Every ordinary part, kind by kind."""
        return tuple(part for some in self.parts.values() for part in some)

    @cached_property
    def _kinds_by_id(self) -> dict[str, str]:
        kinds = {part.id: kind for kind, some in self.parts.items() for part in some}
        kinds.update({part.id: kind for kind, some in self.own.items() for part in some})
        return kinds

    @cached_property
    def _by_id(self) -> dict[str, Part | OwnPart]:
        found: dict[str, Part | OwnPart] = {part.id: part for part in self.all_parts}
        found.update({part.id: part for some in self.own.values() for part in some})
        return found

    @property
    def ids(self) -> tuple[str, ...]:
        """Every id, own kinds included, sorted."""
        return tuple(sorted(self._kinds_by_id))

    def __contains__(self, part_id: object) -> bool:
        return part_id in self._kinds_by_id

    def __len__(self) -> int:
        return len(self._kinds_by_id)

    def part(self, part_id: str) -> Part:
        """The ordinary part with this id. Raises KeyError when there is none (or it is of an own kind)."""
        found = self._by_id[part_id]
        if isinstance(found, OwnPart):
            raise KeyError(part_id)
        return found

    def own_part(self, part_id: str) -> OwnPart:
        """The part of an own kind with this id. Raises KeyError when there is none."""
        found = self._by_id[part_id]
        if isinstance(found, OwnPart):
            return found
        raise KeyError(part_id)

    def any_part(self, part_id: str) -> Part | OwnPart:
        """The part with this id, ordinary or of an own kind. Raises KeyError when there is none."""
        return self._by_id[part_id]

    def kind_of(self, part_id: str) -> str:
        """The kind of the part with this id. Raises KeyError when there is none."""
        return self._kinds_by_id[part_id]

    def find(self, record: type[P], **wanted: object) -> tuple[P, ...]:
        """The parts of one record class whose fields equal ``wanted``, sorted by id.

        ``catalog.find(Battery, chemistry="lfp", managed=False)``. Raises AttributeError for a field
        the record does not have.
        """
        unknown = sorted(set(wanted) - set(record.model_fields))
        if unknown:
            raise AttributeError(f"{record.__name__} has no field {unknown[0]}")
        some = (part for part in self.parts[KIND_OF_RECORD[record]] if isinstance(part, record))
        return tuple(part for part in some if all(getattr(part, name) == value for name, value in wanted.items()))

    def column(self, part_id: str, name: str) -> float:
        """The number in any column of any part: a field, an ``own_...`` column, a column of an own kind.

        0.0 where the part has no such column, so that a column can be summed over a whole kit.
        Raises KeyError for an unknown part.
        """
        part = self._by_id[part_id]
        if isinstance(part, OwnPart) and name in part.columns:
            return part.columns[name]
        if name in self.columns.get(part_id, {}):
            return self.columns[part_id][name]
        value = getattr(part, name, None) if name in type(part).model_fields else None
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else 0.0

    @cached_property
    def column_names(self) -> tuple[str, ...]:
        """Every column that can be summed over a kit, sorted: what ``column`` knows."""
        names = {
            name
            for record in KINDS.values()
            for name, info in record.model_fields.items()
            if info.annotation in (int, float)
        }
        names.update(name for values in self.columns.values() for name in values)
        names.update(name for some in self.own.values() for part in some for name in part.columns)
        return tuple(sorted(names))

    @cached_property
    def hash(self) -> str:
        """First 16 hex digits of the SHA-256 of the content; the order of rows in files plays no part."""
        content = {
            "parts": {kind: [_plain(part.model_dump()) for part in some] for kind, some in self.parts.items()},
            "own": {kind: [_plain(part.model_dump()) for part in some] for kind, some in self.own.items()},
            "columns": {part_id: dict(values) for part_id, values in self.columns.items()},
        }
        text = json.dumps(content, sort_keys=True, ensure_ascii=True, allow_nan=False)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Catalog):
            return NotImplemented
        return (self.parts, self.own, self.columns) == (other.parts, other.own, other.columns)

    def __hash__(self) -> int:
        return hash(self.hash)

    def __reduce__(self) -> tuple[object, ...]:
        # read-only mappings do not pickle, and catalogs travel to worker processes
        return (
            _rebuilt,
            (
                self.all_parts,
                {kind: list(some) for kind, some in self.own.items()},
                {part_id: dict(values) for part_id, values in self.columns.items()},
            ),
        )

    def _refuse_twins(self) -> None:
        total = sum(map(len, self.parts.values())) + sum(map(len, self.own.values()))
        if len(self._kinds_by_id) < total:
            raise ValueError("an id is given twice")


def _rebuilt(
    parts: Iterable[Part], own: Mapping[str, Iterable[OwnPart]], columns: Mapping[str, Mapping[str, float]]
) -> Catalog:
    return Catalog.of(parts, own, columns)


def _plain(content: dict[str, object]) -> dict[str, object]:
    """The same content with every number a float: 0 and 0.0 are equal and must hash alike."""
    return {key: float(value) if type(value) is int else value for key, value in content.items()}


def _id(part: Part | OwnPart) -> str:
    return part.id
