"""Roof and bay plans with dimensions, and the holes that have to be cut.

On the road: facts + drawings -> *chapter*.
"""

from __future__ import annotations

import math

from optimizer.book.blocks import Block, Cell, Chapter, Figure, Para, Table
from optimizer.book.facts import Facts
from optimizer.book.look import inline
from optimizer.drawings import draw_bays, draw_kit
from optimizer.packing.shapes import Placed
from optimizer.places.openings import openings
from optimizer.places.things import frames
from optimizer.showing import show
from optimizer.telling import overload_sentences

_VIEWS = {
    "roof": (
        "Roof plan. Measure again on the roof before drilling.",
        "Roof seen from above, front of the van at the left, to scale, with panels, fan, obstacles and their places.",
    ),
    "side": (
        "Side view with the axle loads.",
        "The van from its left side with bays, seats and axle loads in each loading state.",
    ),
}


def plans(facts: Facts) -> Chapter | None:
    """The chapter; None where the kit's places are not known."""
    if facts.kit.places is None or facts.job.problem.space is None:
        return None
    drawn = draw_kit(facts.job, facts.kit)
    blocks: list[Block] = [_view(drawn, "roof"), *_on_roof(facts), *_holes(facts), _view(drawn, "side")]
    blocks += [Para(sentence, strong=True) for sentence in overload_sentences(facts.job, facts.kit)]
    used = {box.bay for box in facts.kit.places.stowed}
    bays = draw_bays(facts.job, facts.kit)
    for number, (name, svg) in enumerate(((name, svg) for name, svg in bays.items() if name in used), 1):
        alt = f"The bay {name} seen from above, to scale, with the boxes that stand in it, numbered and listed."
        stem = f"plan-bay-{number}"
        caption = f"{name}: front of the van at the left; dashed: air kept free."
        blocks.append(Figure(stem, caption, alt, inline(svg, stem, alt)))
    empty = [name for name in bays if name not in used]
    blocks += [Para(f"Nothing of the kit stands in: {'; '.join(empty)}.")] if empty else []
    blocks += _in_bays(facts)
    lead = (
        "Where everything goes. Lengths are outer sizes of the catalog's parts: measure what you bought before you cut."
    )
    return Chapter("plans", "Roof and bay plans", tuple(blocks), lead)


def _view(drawn: dict[str, str], stem: str) -> Figure:
    caption, alt = _VIEWS[stem]
    return Figure(f"plan-{stem}", caption, alt, inline(drawn[f"{stem}.svg"], f"plan-{stem}", alt))


def _named(facts: Facts, thing: str) -> str:
    parts = thing.split("/")
    known = len(parts) > 1 and parts[1] in facts.job.catalog
    name = facts.name_of(parts[1]) if known else thing.replace("_", " ")
    return f"{name} ({parts[2]})" if len(parts) > 2 and parts[2] != "1" else name


def _on_roof_name(facts: Facts, thing: Placed) -> str:
    """The name; said to be room only where more is kept than the part is large, as round a fan."""
    record = facts.job.catalog.any_part(thing.id.rsplit("/", 2)[1])
    kept = max(thing.length, thing.width) > max(math.ceil(record.length_mm), math.ceil(record.width_mm))
    return f"room for {_named(facts, thing.id)}" if kept else _named(facts, thing.id)


def _on_roof(facts: Facts) -> list[Block]:
    rows: list[tuple[Cell, ...]] = [
        (
            _on_roof_name(facts, thing), facts.num(thing.length, "mm"), facts.num(thing.width, "mm"),
            facts.num(thing.x, "mm"), facts.num(thing.y, "mm"),
        )
        for thing in sorted(frames(facts.job.problem, facts.kit))
    ]  # fmt: skip
    head = ("on the roof", "fore and aft", "across", "from the front edge", "from the left edge")
    return [Table("Places on the roof", head, tuple(rows))] if rows else []


def _in_bays(facts: Facts) -> list[Block]:
    assert facts.kit.places is not None
    rows: list[tuple[Cell, ...]] = [
        (
            _named(facts, box.id), box.bay, *(facts.num(side, "mm") for side in (box.length, box.width, box.height)),
            facts.num(box.x, "mm"), facts.num(box.y, "mm"),
        )
        for box in sorted(facts.kit.places.stowed, key=lambda one: (one.bay, one.x, one.y))
    ]  # fmt: skip
    head = ("what", "bay", "fore and aft", "across", "high", "from the bay's front", "from the bay's left")
    return [Table("Places in the bays", head, tuple(rows), small=True)] if rows else []


def _holes(facts: Facts) -> list[Block]:
    found = openings(facts.job.problem, facts.kit)
    rows: list[tuple[Cell, ...]] = []
    for hole in found:
        part = facts.job.catalog.any_part(hole["part"])
        sides = [show(getattr(part, f"{side}_mm", 0.0), "mm", facts.units) for side in ("length", "width")]
        rows.append((part.name, hole["opening"], hole["skill"].replace("_", " ") or "-", " x ".join(sides)))
    if not rows:
        return []
    note = (
        "The hole itself: by the template that comes with the part, never by its outer size or the room kept for it."
    )
    return [Table("Holes to cut", ("for", "through the", "skill", "outer size of the part"), tuple(rows), note=note)]
