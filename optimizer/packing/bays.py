"""Boxes in bays, and a check of their places that knows no solver.

On the road: under ``problem`` and ``check``; ``packing.stowing`` finds the places checked here.

Lengths are whole millimetres, masses whole grams. In a bay ``x`` runs along its length and ``y`` along its
width, both to the box's corner nearest the bay's own. Boxes stand on the floor and never on each other:
what is stacked must be lifted off to reach what is under it and lashed against the road, and the load
rating is the floor's.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations


@dataclass(frozen=True, order=True)
class Bay:
    """A box-shaped space: inner sizes, load it bears, what it is good for, and the opening things pass.

    A ``door_width`` or ``door_height`` of None bars nothing that fits inside.
    """

    name: str
    length: int
    width: int
    height: int
    load: int
    tags: tuple[str, ...]
    door_width: int | None = None
    door_height: int | None = None


@dataclass(frozen=True, order=True)
class Box:
    """A thing to be stowed.

    ``tags``: any one of them in common with the bay will do. ``upright`` keeps its height up; else any side
    may be down. ``clearance`` is air of its own, kept on all four sides and above. Boxes of one ``group``
    stay in one bay unless the group may be split; an empty group binds nothing. Boxes of one ``kind`` are
    alike and stand for one another; an empty kind stands for itself alone.
    """

    id: str
    length: int
    width: int
    height: int
    mass: int
    tags: tuple[str, ...]
    upright: bool = False
    clearance: int = 0
    group: str = ""
    kind: str = ""

    def __post_init__(self) -> None:
        if min(self.length, self.width, self.height) <= 0 or min(self.mass, self.clearance) < 0:
            raise ValueError(f"box {self.id}: sizes must be above zero, mass and clearance not below it")


@dataclass(frozen=True, order=True)
class Stowed:
    """A box in its place: bay, corner, and sizes as it stands there, without its air."""

    id: str
    bay: str
    x: int
    y: int
    length: int
    width: int
    height: int


@dataclass(frozen=True, order=True)
class Sum:
    """A sum over where boxes are that may not pass ``most``: a row a box, with what it adds in each bay."""

    rows: tuple[tuple[int, ...], ...]
    most: int


def check_bays(
    bays: Sequence[Bay], boxes: Sequence[Box], stowed: Sequence[Stowed], may_split: Collection[str] = ()
) -> list[str]:
    """Everything wrong with how boxes are stowed, a sentence each; an empty list means that it is right.

    ``boxes`` are those that must be there, each of them once and no others; ``may_split`` names the groups
    that may be spread over several bays.
    """
    if sorted(s.id for s in stowed) != sorted(box.id for box in boxes):
        return ["the boxes stowed are not the boxes asked for"]
    spaces = {bay.name: bay for bay in bays}
    unknown = sorted({s.bay for s in stowed} - set(spaces))
    if unknown:
        return [f"there is no bay called {name}" for name in unknown]
    wanted = {box.id: box for box in boxes}
    wrong: list[str] = []
    for s in stowed:
        wrong += _check_one(spaces[s.bay], wanted[s.id], s)
    wrong += _check_pairs(wanted, stowed)
    wrong += _check_loads(bays, wanted, stowed)
    return wrong + _check_groups(wanted, stowed, may_split)


def _check_one(bay: Bay, box: Box, s: Stowed) -> list[str]:
    """Sizes, room, opening and use of one box in its bay."""
    wrong = []
    if sorted((s.length, s.width, s.height)) != sorted((box.length, box.width, box.height)):
        wrong.append(f"{s.id} stands as {s.length} x {s.width} x {s.height}, which it is not")
    if box.upright and s.height != box.height:
        wrong.append(f"{s.id} must stand upright")
    air = box.clearance
    sides = s.x < air or s.y < air or s.x + s.length + air > bay.length or s.y + s.width + air > bay.width
    if sides or s.height + air > bay.height:
        wrong.append(f"{s.id} with the air around it does not fit into {bay.name}")
    too_wide = bay.door_width is not None and s.length > bay.door_width and s.width > bay.door_width
    if too_wide or (bay.door_height is not None and s.height > bay.door_height):
        wrong.append(f"{s.id} does not pass the opening of {bay.name}")
    if not set(box.tags) & set(bay.tags):
        wrong.append(f"{s.id} may not live in {bay.name}")
    return wrong


def _check_pairs(wanted: Mapping[str, Box], stowed: Sequence[Stowed]) -> list[str]:
    """Boxes of one bay keep the air of both between them along one axis."""
    wrong = []
    for a, b in combinations(stowed, 2):
        air = wanted[a.id].clearance + wanted[b.id].clearance
        beside = a.x + a.length + air <= b.x or b.x + b.length + air <= a.x
        behind = a.y + a.width + air <= b.y or b.y + b.width + air <= a.y
        if a.bay == b.bay and not beside and not behind:
            wrong.append(f"{a.id} and {b.id} overlap or lack the air between them")
    return wrong


def _check_loads(bays: Sequence[Bay], wanted: Mapping[str, Box], stowed: Sequence[Stowed]) -> list[str]:
    wrong = []
    for bay in bays:
        mass = sum(wanted[s.id].mass for s in stowed if s.bay == bay.name)
        if mass > bay.load:
            wrong.append(f"{bay.name} bears {bay.load} but holds {mass}")
    return wrong


def _check_groups(wanted: Mapping[str, Box], stowed: Sequence[Stowed], may_split: Collection[str]) -> list[str]:
    places: dict[str, set[str]] = {}
    for s in stowed:
        places.setdefault(wanted[s.id].group, set()).add(s.bay)
    return [
        f"{group} is spread over {', '.join(sorted(names))}"
        for group, names in sorted(places.items())
        if group and group not in may_split and len(names) > 1
    ]
