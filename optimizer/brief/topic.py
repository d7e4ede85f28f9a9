"""The ground every topic of the brief stands on: frozen, no key it does not know, nothing guessed.

On the road: the first room of ``brief``; every table of the brief is a Topic.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic.fields import FieldInfo

from optimizer.quantities import LARGEST
from optimizer.units import Measure


@dataclass(frozen=True)
class Wording:
    """Marks a field whose contents are best asked for in words: the end of "expected ..."."""

    text: str


Name = Annotated[str, Field(pattern=r"\S", max_length=80), Wording("a name of 1 to 80 characters")]
ShortName = Annotated[
    str,
    Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=40),
    Wording("a short name of a-z, 0-9 and _, a letter first"),
]


@dataclass(frozen=True)
class Shape:
    """What a field holds, with optionality and markings peeled off.

    ``kind`` is the bare type (for a list: of one entry) and ``marks`` its metadata; ``counts`` is the
    metadata of the list itself.
    """

    kind: Any
    listed: bool
    optional: bool
    marks: tuple[Any, ...]
    counts: tuple[Any, ...]

    @property
    def measure(self) -> Measure | None:
        """The documented unit, when the field is a quantity."""
        return next((mark for mark in self.marks if isinstance(mark, Measure)), None)

    @property
    def topic(self) -> type[Topic] | None:
        """The table's record, when the field is a table or a list of tables."""
        return self.kind if isinstance(self.kind, type) and issubclass(self.kind, Topic) else None


def shape_of(field: FieldInfo) -> Shape:
    """Peel ``Annotated``, ``... | None`` and ``tuple[..., ...]`` off a field."""
    kind, marks, counts = field.annotation, list(field.metadata), []
    listed = optional = False
    while (origin := get_origin(kind)) in (Annotated, Union, UnionType, tuple):
        inner, *rest = get_args(kind)
        if origin is Annotated:
            marks += rest
        elif origin is tuple:
            listed, counts, marks = True, marks, []
        else:
            optional = True
        kind = inner
    for mark in tuple(marks):
        marks += mark.metadata if isinstance(mark, FieldInfo) else ()
    return Shape(kind, listed, optional, tuple(marks), tuple(counts))


class Topic(BaseModel):
    """A table of the brief. Unknown keys are faults, so that a slip of the pen never goes unseen."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _as_written(cls, value: Any, info: ValidationInfo) -> Any:
        """Refuse what would be turned into something else: true as 1, "7" as 7, 1 as true."""
        shape = shapes(cls)[str(info.field_name)]
        if shape.listed:
            fits = isinstance(value, list | tuple)
        elif shape.kind is bool:
            fits = isinstance(value, bool)
        elif shape.kind in (int, float):
            fits = _is_number(value) or (shape.measure is not None and isinstance(value, str))
        else:
            fits = True
        if not fits and not (shape.optional and value is None):
            raise ValueError("something else")
        return value


@cache
def shapes(topic: type[Topic]) -> dict[str, Shape]:
    """The shape of each field of a topic, in the order of the record."""
    return {name: shape_of(field) for name, field in topic.model_fields.items()}


def _is_number(value: object) -> bool:
    """A number of ordinary size; what is no bool, int, float or text is left to the field itself."""
    if isinstance(value, bool | str):
        return False
    return not isinstance(value, int | float) or abs(value) <= LARGEST
