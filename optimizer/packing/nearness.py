"""Boxes that must stand near each other: within the reach of the cable between them.

On the road: under ``packing.stowing``; knows no solver of its own, only the model it is handed.

A reach is told in one of two ways: by pairs of bays that are too far apart wherever in them the boxes stand
(``barred``), or as a length between the middles of the boxes themselves, along the three directions (``most``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from optimizer.packing.bays import Stowed

Corner = tuple[int, int, int]
"""Twice where a bay's corner is: along, across, up [mm]."""


@dataclass(frozen=True, order=True)
class Near:
    """One box at the end of a cable, and those it may come from; boxes and bays by their numbers."""

    end: int
    sources: tuple[int, ...]
    barred: tuple[tuple[int, int], ...] = ()
    """Bay of a source and bay of the end that lie too far apart."""
    most: int = 0
    """Farthest from the middle of its nearest source [mm]; 0 where only ``barred`` counts."""
    corners: tuple[Corner, ...] = ()
    """Of each bay, where ``most`` counts."""

    def renumbered(self, numbers: Mapping[int, int]) -> Near:
        """The same with boxes called by other numbers."""
        return replace(self, end=numbers[self.end], sources=tuple(sorted(numbers[s] for s in self.sources)))

    def role_of(self, box: int) -> tuple[object, ...]:
        """What the box is to it; equal for boxes that may stand for one another."""
        if box == self.end:
            return ("end", self.sources, self.barred, self.most)
        return ("source", replace(self, sources=())) if box in self.sources else ()


def all_near(nears: Sequence[Near], homes: Sequence[int], stowed: Sequence[Stowed]) -> bool:
    """Whether boxes in these bays, standing so, are all within reach."""
    return all(_is_near(near, homes, stowed) for near in nears)


def _is_near(near: Near, homes: Sequence[int], stowed: Sequence[Stowed]) -> bool:
    if any((homes[source], homes[near.end]) in near.barred for source in near.sources):
        return False
    if not near.corners:
        return True
    end = middle(stowed[near.end], near.corners[homes[near.end]])
    ways = (apart(middle(stowed[s], near.corners[homes[s]]), end) for s in near.sources)
    return min(ways) <= 2 * near.most


def middle(stowed: Stowed, corner: Corner) -> Corner:
    """Twice where the middle of a box is [mm]."""
    return (
        corner[0] + 2 * stowed.x + stowed.length,
        corner[1] + 2 * stowed.y + stowed.width,
        corner[2] + stowed.height,
    )


def apart(one: Corner, other: Corner) -> int:
    """The way along the three directions, twice as long as it is when both are told twice [mm]."""
    return sum(abs(a - b) for a, b in zip(one, other, strict=True))


def barred_bays(nears: Sequence[Near], box: int, bay: int, homes: Mapping[int, int]) -> bool:
    """Whether a box in a bay would be out of reach of what has its bay already."""
    for near in nears:
        if box == near.end and any((homes[s], bay) in near.barred for s in near.sources if s in homes):
            return True
        if box in near.sources and near.end in homes and (bay, homes[near.end]) in near.barred:
            return True
    return False


def add_barred(model: Any, homes: Sequence[Mapping[int, Any]], nears: Sequence[Near]) -> None:
    """Keep out of a model the bays that lie too far apart; ``homes`` has a literal for each bay a box may be in."""
    for near in nears:
        for source, (one, other) in product(near.sources, near.barred):
            here, there = homes[source].get(one), homes[near.end].get(other)
            if here is not None and there is not None:
                model.add_bool_or([~here, ~there])


def add_nears(model: Any, stowage: Any, nears: Sequence[Near]) -> None:
    """Demand it in a model of ``packing.stowing``, in which every box is present."""
    add_barred(model, [spot.homes for spot in stowage.spots], nears)
    for near in nears:
        if near.corners:
            _add_lengths(model, stowage, near)


def _add_lengths(model: Any, stowage: Any, near: Near) -> None:
    """At least one of the sources is within the length, by each of the eight ways to sign three differences."""
    close = [model.new_bool_var("") for _ in near.sources]
    model.add_bool_or(close)
    end = _middle_of(stowage, near.end, near.corners)
    for source, literal in zip(near.sources, close, strict=True):
        start = _middle_of(stowage, source, near.corners)
        for signs in product((1, -1), repeat=3):
            way = sum(sign * (a - b) for sign, a, b in zip(signs, start, end, strict=True))
            model.add(way <= 2 * near.most).only_enforce_if(literal)


def _middle_of(stowage: Any, box: int, corners: Sequence[Corner]) -> tuple[Any, Any, Any]:
    spot, air, grid = stowage.spots[box], stowage.boxes[box].clearance, stowage.grid

    def by_stand(axis: int) -> Any:
        return sum(stand.sizes[axis] * chosen for stand, chosen in zip(spot.stands, spot.chosen, strict=True))

    def by_bay(axis: int) -> Any:
        return sum(corners[bay][axis] * home for bay, home in spot.homes.items())

    along, across = (2 * (grid * spot.extents[axis].start + air) + by_stand(axis) + by_bay(axis) for axis in (0, 1))
    return along, across, by_stand(2) + by_bay(2)
