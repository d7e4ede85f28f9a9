"""The ways in which a box can stand in the bays: room, height, opening, load and use, bay by bay.

On the road: under ``packing.stowing``; knows no solver.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from optimizer.packing.bays import Bay, Box
from optimizer.packing.grid import up


@dataclass(frozen=True)
class Stand:
    """A way to stand: floor taken with the air [grid units], true sizes, and the bays that take it so."""

    floor: tuple[int, int]
    sizes: tuple[int, int, int]
    bays: frozenset[int]


def floor_of(bay: Bay, grid: int) -> tuple[int, int]:
    """A bay's floor in whole grid units, rounded down."""
    return bay.length // grid, bay.width // grid


def stands(bays: Sequence[Bay], box: Box, grid: int, every: bool = False) -> tuple[Stand, ...]:
    """Every way for a box to stand in any of the bays, less (unless ``every``) those that gain nothing over another.

    Through an opening a box goes as it will stand, turned about the upright axis as need be.
    """
    found: list[Stand] = []
    for length, width, height in sorted(set(permutations((box.length, box.width, box.height)))):
        if box.upright and height != box.height:
            continue
        sizes = (length, width, height)
        floor = (up(length + 2 * box.clearance, grid), up(width + 2 * box.clearance, grid))
        takers = frozenset(k for k, bay in enumerate(bays) if _takes(bay, box, sizes, floor, grid))
        if takers:
            found.append(Stand(floor, sizes, takers))
    if every:
        return tuple(found)
    return tuple(
        stand
        for place, stand in enumerate(found)
        if not any(_beats(other, stand, earlier=rank < place) for rank, other in enumerate(found) if rank != place)
    )


def _takes(bay: Bay, box: Box, sizes: tuple[int, int, int], floor: tuple[int, int], grid: int) -> bool:
    length, width, height = sizes
    room = all(mine <= theirs for mine, theirs in zip(floor, floor_of(bay, grid), strict=True))
    low = height + box.clearance <= bay.height and (bay.door_height is None or height <= bay.door_height)
    passes = bay.door_width is None or min(length, width) <= bay.door_width
    return room and low and passes and box.mass <= bay.load and bool(set(box.tags) & set(bay.tags))


def _beats(other: Stand, stand: Stand, earlier: bool) -> bool:
    """Whether another way takes no more floor along and across, in every bay; of equals the earlier does."""
    if other.floor[0] > stand.floor[0] or other.floor[1] > stand.floor[1] or not other.bays >= stand.bays:
        return False
    return earlier or (other.floor, other.bays) != (stand.floor, stand.bays)
