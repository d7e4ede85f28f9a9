"""A brief with holes: what could be read of one that has faults.

On the road: inside ``brief``. It lets the cross-key checks run beside other faults, so that one report
has them all. A key that is not known is an attribute that is not there.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, TypeVar, cast

from pydantic import TypeAdapter, ValidationError

from optimizer.brief.topic import Topic, shapes

AnyTopic = TypeVar("AnyTopic", bound=Topic)


@cache
def _adapter(topic: type[Topic], name: str) -> TypeAdapter[Any]:
    field = topic.model_fields[name]
    annotated: Any = Annotated[field.annotation, field]
    return TypeAdapter(annotated)


def partial(topic: type[AnyTopic], data: Any, skipped: frozenset[str] = frozenset()) -> AnyTopic:
    """``topic`` from raw ``data``, without the fields that are faulty, missing or named in ``skipped``."""
    given: Mapping[str, Any] = data if isinstance(data, Mapping) else {}
    faulty = _faulty(topic, given) | skipped
    values: dict[str, Any] = {}
    for name, shape in shapes(topic).items():
        if name not in given:
            continue
        if shape.topic is not None and not shape.listed:
            values[name] = partial(shape.topic, given[name], skipped)
        elif shape.topic is not None and isinstance(given[name], list | tuple):
            values[name] = tuple(partial(shape.topic, entry, skipped) for entry in given[name])
        elif name not in faulty and shape.topic is None:
            values[name] = _adapter(topic, name).validate_python(given[name])
    made = topic.model_construct(**values)
    for name, field in topic.model_fields.items():
        if name not in values and (name in given or name in skipped or field.is_required()):
            made.__dict__.pop(name, None)
    return cast(AnyTopic, made)


def _faulty(topic: type[Topic], given: Mapping[str, Any]) -> set[str]:
    try:
        topic.model_validate(given)
    except ValidationError as error:
        return {str(complaint["loc"][0]) for complaint in error.errors(include_url=False) if complaint["loc"]}
    return set()
