"""A region and its items on a grid, always rounded against the kit, and where things need to be tried.

On the road: under ``packing.model``; knows no solver.

The gap is folded in: each item grows by it at its far sides, each obstacle too, and so does the region, so
that what is left is plain "no two overlap". Items round up, the region down, obstacles outward: whatever
fits here fits in truth; on a grid of 1 the reverse holds too.

References
----------
.. [1] N. Christofides, C. Whitlock, An Algorithm for Two-Dimensional Cutting Problems, Operations Research
   25 (1977): normal patterns. Anything that can be placed can be pushed towards the corner until each
   thing touches an edge or another thing, so only sums of sizes need be tried as coordinates.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from optimizer.packing.shapes import Item, Region

Rectangle = tuple[int, int, int, int]
"""x, y, far x, far y, in grid units."""


@dataclass(frozen=True)
class Snapped:
    """A region on a grid [grid units]: sizes, disjoint blocks that nothing may cover, area left free."""

    length: int
    width: int
    blocks: tuple[Rectangle, ...]

    @property
    def free_area(self) -> int:
        """Area not covered by blocks."""
        return self.length * self.width - sum((fx - x) * (fy - y) for x, y, fx, fy in self.blocks)


def up(value: int, grid: int) -> int:
    """``value`` in grid units, rounded up."""
    return -(-value // grid)


def snap_region(region: Region, gap: int, grid: int) -> Snapped:
    """The region on a grid: its sizes down, its obstacles outward and made disjoint, the gap folded in."""
    length, width = (region.length + gap) // grid, (region.width + gap) // grid
    rounded = [
        (
            max(0, o.x // grid),
            max(0, o.y // grid),
            min(length, up(o.x + o.length + gap, grid)),
            min(width, up(o.y + o.width + gap, grid)),
        )
        for o in region.obstacles
    ]
    return Snapped(length, width, disjoint(rounded))


def snap_item(item: Item, gap: int, grid: int) -> tuple[int, int]:
    """The item's length and width on a grid, rounded up, the gap folded in."""
    return up(item.length + gap, grid), up(item.width + gap, grid)


def disjoint(rectangles: Iterable[Rectangle]) -> tuple[Rectangle, ...]:
    """The union of rectangles as rectangles that do not overlap, in order; empty ones vanish.

    Cut into slabs at every edge along x; within a slab the spans along y are merged; slabs with equal
    spans are joined again.
    """
    solid = [r for r in rectangles if r[0] < r[2] and r[1] < r[3]]
    edges = sorted({edge for r in solid for edge in (r[0], r[2])})
    return _joined([(left, right, _spans(solid, left, right)) for left, right in pairwise(edges)])


def uncovered(length: int, width: int, rectangles: Iterable[Rectangle]) -> tuple[Rectangle, ...]:
    """What of a length by a width the rectangles leave bare, as rectangles that do not overlap, in order."""
    inside = [(max(0, x), max(0, y), min(length, fx), min(width, fy)) for x, y, fx, fy in rectangles]
    solid = [r for r in inside if r[0] < r[2] and r[1] < r[3]]
    edges = sorted({0, length} | {edge for r in solid for edge in (r[0], r[2])})
    slabs = []
    for left, right in pairwise(edges):
        marks = [0, *(mark for span in _spans(solid, left, right) for mark in span), width]
        slabs.append((left, right, [(a, b) for a, b in zip(marks[::2], marks[1::2], strict=True) if a < b]))
    return _joined(slabs)


def _spans(solid: Sequence[Rectangle], left: int, right: int) -> list[tuple[int, int]]:
    return _merged([(r[1], r[3]) for r in solid if r[0] <= left and r[2] >= right])


def _joined(slabs: Sequence[tuple[int, int, list[tuple[int, int]]]]) -> tuple[Rectangle, ...]:
    """Slabs that follow each other, each with its spans along y, as few rectangles."""
    done: list[Rectangle] = []
    running: dict[tuple[int, int], int] = {}
    for left, _, spans in slabs:
        ended = [span for span in running if span not in spans]
        done += [(running.pop(span), span[0], left, span[1]) for span in ended]
        for span in spans:
            running.setdefault(span, left)
    done += [(start, span[0], slabs[-1][1], span[1]) for span, start in running.items()]
    return tuple(sorted(done))


def _merged(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def normal_starts(extent: int, edges: Iterable[int], others: Sequence[tuple[int, ...]]) -> list[tuple[int, int]]:
    """Runs of coordinates from 0 to below ``extent`` at which something pushed to the corner can start [1].

    ``edges`` are far sides of fixed blocks; ``others`` gives, for each other thing that may be there, the
    sizes it can have along this axis. The answer is a list of (first, last) runs.
    """
    inside = (1 << max(extent, 0)) - 1
    reached = 1
    for edge in edges:
        reached |= 1 << edge
    for sizes in others:
        before = reached
        for size in sizes:
            reached |= before << size
        reached &= inside
    return _runs(reached & inside)


def _runs(bits: int) -> list[tuple[int, int]]:
    """First and last index of each run of ones."""
    runs = []
    low = 0
    while bits:
        zeros = (bits & -bits).bit_length() - 1
        bits >>= zeros
        ones = (~bits & (bits + 1)).bit_length() - 1
        runs.append((low + zeros, low + zeros + ones - 1))
        bits >>= ones
        low += zeros + ones
    return runs
