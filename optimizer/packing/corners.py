"""Boxes on the floor of one bay, exactly: every layout there can be, corner by corner.

On the road: under ``packing.stowing``; knows no solver. What lies on a floor can be put there one by one, each left of
and below nothing that lies already, and pushed to the left and down as far as that lets it: then each comes to lie in
a corner of the outline of all that lies below or left of something. So a search over corners misses no layout ([1]_,
[2]_). It is cut short where what is left cannot lie in what is open: a corner where nothing fits is closed; each strip
is filled by lengths of what is left, which seldom add up to all of it; and what failed once, the same things left
before the same outline, fails again. A layout may be mirrored, so the middle of one thing is kept in one quarter.

References
----------
.. [1] S. Martello, D. Pisinger, D. Vigo, The Three-Dimensional Bin Packing Problem, Operations Research 48 (2000):
   corner points of the envelope. From memory.
.. [2] E. den Boef, J. Korst, S. Martello, D. Pisinger, D. Vigo, Erratum to "The Three-Dimensional Bin Packing Problem":
   Robot-Packable and Orthogonal Variants of Packing Problems, Operations Research 53 (2005): in three dimensions such
   an order need not exist, in two it does. From memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from types import ModuleType

import numpy as np

from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, NoPacking

Floors = tuple[tuple[int, int], ...]
"""The floors that a box may take [grid units]."""
A_SECOND = 5_000_000
"""States that count as one unit of effort: about a second."""


def lay(
    extent: tuple[int, int], boxes: Sequence[Floors], effort: float
) -> tuple[tuple[tuple[int, int, int], ...] | NoPacking, float]:
    """Places on a floor, and the effort that it took.

    Parameters
    ----------
    extent : length and width of the floor [grid units]
    boxes : for each box the floors that it may take, all of them within the extent
    effort : the most, in units of some five million states looked at

    Returns
    -------
    For each box which of its floors it takes, and its x and y; or IMPOSSIBLE, or UNDECIDED within the effort.
    """
    if not boxes:
        return (), 0.0
    length, width = extent
    if not all(boxes) or any(a > length or b > width for floors in boxes for a, b in floors):
        raise ValueError("a box must have floors, each within the extent")
    named: dict[Floors, list[int]] = {}
    for index, floors in enumerate(boxes):
        named.setdefault(_least(floors), []).append(index)
    kinds = sorted(named, key=lambda floors: (-min(a * b for a, b in floors), floors))
    counts = [len(named[floors]) for floors in kinds]
    every = [(kind, a, b) for kind, floors in enumerate(kinds) for a, b in floors]
    areas = [min(a * b for a, b in floors) for floors in kinds]
    table = np.zeros((len(kinds) + 1, 4), dtype=np.int64)
    table[:, 0] = np.cumsum([0, *map(len, kinds)])
    table[:-1, 1], table[:-1, 2] = areas, counts
    placed = np.zeros((len(boxes), 3), dtype=np.int64)
    kernel, lead = _kernel(), counts.index(1) if 1 in counts else -1
    most = max(1, int(effort * A_SECOND))
    ended, looked = kernel.lay(np.array(every, dtype=np.int64), table, lead, length, width, most, placed)
    if ended != kernel.FOUND:
        return (IMPOSSIBLE if ended == kernel.NOTHING else UNDECIDED), looked / A_SECOND
    places: dict[int, tuple[int, int, int]] = {}
    for floor, x, y in placed.tolist():
        kind, *taken = every[floor]
        index = named[kinds[kind]].pop()
        places[index] = boxes[index].index((taken[0], taken[1])), x, y
    return tuple(places[index] for index in range(len(boxes))), looked / A_SECOND


def _least(floors: Floors) -> Floors:
    """The floors that no other goes into."""
    every = set(floors)
    return tuple(sorted(
        one for one in every if not any(other != one and other[0] <= one[0] and other[1] <= one[1] for other in every)
    ))  # fmt: skip


@cache
def _kernel() -> ModuleType:
    from optimizer.packing import corner_kernel

    return corner_kernel
