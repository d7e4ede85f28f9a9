"""Options of the kinds that the brief's author added."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.brief.preferences import OwnKind
from optimizer.parts.records import OwnPart
from optimizer.problem.context import Context, ordered
from optimizer.problem.placing import roof_taken_cm2
from optimizer.problem.records import Group, Option
from optimizer.units import demand_up


def own_groups(context: Context) -> Iterator[Group]:
    """A group for each own kind, for each number of its column ``each``, or for each part where any may be chosen."""
    for kind in context.brief.preferences.own_kinds:
        if kind.choose == "any":
            for part in context.catalog.own[kind.name]:
                options = [_own(context, part, n) for n in range(1, kind.at_most + 1)]
                yield Group(f"{kind.name} {part.id}", f"own:{kind.name}", ordered(options), needed=False)
        else:
            for name, parts in _choices(kind, context.catalog.own[kind.name]):
                options = [_own(context, part, 1) for part in parts]
                yield Group(name, f"own:{kind.name}", ordered(options), needed=kind.choose == "exactly_one")


def _choices(kind: OwnKind, parts: Sequence[OwnPart]) -> Iterator[tuple[str, list[OwnPart]]]:
    """What is chosen from, with the name of each choice: the whole table, or its rows number by number."""
    if not kind.each:
        yield kind.name, list(parts)
        return
    rows: dict[float, list[OwnPart]] = {}
    for part in parts:
        rows.setdefault(part.columns[kind.each], []).append(part)
    for number in sorted(rows):
        yield f"{kind.name} {number:.12g}", rows[number]


def _own(context: Context, part: OwnPart, count: int) -> Option:
    key = part.id if count == 1 else f"{part.id} x{count:02d}"
    return context.option(key, [(part, count)], _on_roof(context, part, count))


def _on_roof(context: Context, part: OwnPart, count: int) -> dict[str, int]:
    """What parts that lie on the roof ask of it."""
    if part.bay_tags.strip() != "roof" or not part.length_mm or not part.width_mm:
        return {}
    return {
        "area_cm2": count * roof_taken_cm2(context.space, part.length_mm, part.width_mm),
        "roof_g": count * demand_up(part.mass_kg, 1000),
        "height_mm": demand_up(part.height_mm),
    }
