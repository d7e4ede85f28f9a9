"""What boxes take of a bay's floor at the least, counted in many ways: by one of them mostly too much is plain.

On the road: under ``packing.bay_by_bay``; knows no solver. Floor left in strips that nothing fits into is lost, and a
plain sum of areas does not see it.

References
----------
.. [1] S. P. Fekete, J. Schepers, A General Framework for Bounds for Higher-Dimensional Orthogonal Packing Problems,
   Mathematical Methods of Operations Research 60 (2004): dual feasible functions, and that the product of one along
   and one across bounds what goes into a rectangle. From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

Floors = tuple[tuple[int, int], ...]
"""The floors that a box may take in a bay [grid units]."""
Count = Callable[[int], int]
PARTS = 4
"""Most parts that a length is counted by."""


@dataclass(frozen=True)
class Waste:
    """What kinds of boxes take of a bay's floor at the least, counted in many ways."""

    areas: NDArray[np.int64]
    """A row for each way to count, a column for each kind."""
    room: NDArray[np.int64]
    """What the bay has, counted so."""

    @classmethod
    def of(cls, extent: tuple[int, int], kinds: Sequence[Floors]) -> Waste:
        """By every pair of ways to count lengths along and across a floor; a kind without floors takes nothing."""
        return _waste(extent, tuple(kinds))

    def refuses(self, counts: Sequence[int]) -> tuple[list[int], int] | None:
        """A way to count by which so many of each kind take more than there is; None where there is none."""
        over = (self.areas @ np.array(counts, dtype=np.int64) - self.room) / np.maximum(self.room, 1)
        worst = int(np.argmax(over))
        return (self.areas[worst].tolist(), int(self.room[worst])) if over[worst] > 0 else None


@lru_cache(maxsize=1024)
def _waste(extent: tuple[int, int], kinds: tuple[Floors, ...]) -> Waste:
    sizes = [sorted({floor[axis] for floors in kinds for floor in floors}) for axis in (0, 1)]
    along, across = (
        {size: np.array([count(size) for count in ways_to_count(extent[axis], sizes[axis])], dtype=np.int64)
         for size in (*sizes[axis], extent[axis])}
        for axis in (0, 1)
    )  # fmt: skip
    room = np.outer(along[extent[0]], across[extent[1]]).ravel()
    least = [
        np.min([np.outer(along[a], across[b]).ravel() for a, b in floors], axis=0) if floors else np.zeros_like(room)
        for floors in kinds
    ]
    every = np.unique(np.stack([*least, room], axis=1), axis=0)
    return Waste(np.ascontiguousarray(every[:, :-1]), every[:, -1])


def ways_to_count(extent: int, sizes: Sequence[int]) -> list[Count]:
    """Ways to count lengths: what lies side by side within ``extent`` counts no more together than the extent does [1].

    ``sizes`` are those that something has along this axis.
    """
    found: list[Count] = [lambda size: size]
    for least in sizes:
        if 0 < least <= extent // 2:
            found.append(partial(_without_small, extent, least))
            found.append(partial(_by_halves, extent, least))
    found += [partial(_by_parts, extent, parts) for parts in range(1, PARTS + 1)]
    return found


def _without_small(extent: int, least: int, size: int) -> int:
    """What is smaller counts nothing, what leaves no room beside it for anything counts as all of it."""
    return extent if size > extent - least else size if size >= least else 0


def _by_halves(extent: int, least: int, size: int) -> int:
    """More than half counts for as many of the least as do not go beside it, half or less for one."""
    if 2 * size > extent:
        return extent // least - (extent - size) // least
    return int(size >= least)


def _by_parts(extent: int, parts: int, size: int) -> int:
    """Of one part more than the extent counts for only whole ones count; what is just so many counts as it is."""
    whole, rest = divmod((parts + 1) * size, extent)
    return whole * extent if rest else parts * size
