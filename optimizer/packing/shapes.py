"""Rectangles on a flat region, and a check of their places that knows no solver.

On the road: under ``problem`` and ``check``; ``packing.model`` finds the places checked here.

All lengths are whole numbers of one unit, millimetres throughout the project. ``x`` runs along the
region's length and ``y`` along its width, both to the corner nearest the origin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations


class NoPacking(Enum):
    """Why there is no list of places: proven impossible, or not decided within the effort allowed."""

    IMPOSSIBLE = "impossible"
    UNDECIDED = "undecided"


IMPOSSIBLE = NoPacking.IMPOSSIBLE
UNDECIDED = NoPacking.UNDECIDED


@dataclass(frozen=True, order=True)
class Item:
    """A rectangle to be placed, ``turnable`` by a quarter turn.

    Items of one ``kind`` stand for one another: which of them is present makes no difference to whoever
    asks. An empty kind stands for itself alone.
    """

    id: str
    length: int
    width: int
    turnable: bool = True
    kind: str = ""

    def __post_init__(self) -> None:
        if min(self.length, self.width) <= 0:
            raise ValueError(f"item {self.id}: length and width must be above zero")


@dataclass(frozen=True, order=True)
class Placed:
    """A rectangle in its place: corner, and sizes as it lies there. Also used for obstacles."""

    id: str
    x: int
    y: int
    length: int
    width: int

    def moved(self, x: int, y: int) -> Placed:
        """The same further along and across by so much."""
        return Placed(self.id, self.x + x, self.y + y, self.length, self.width)

    def grown(self, by: int) -> Placed:
        """The same with so much more on all four sides, or less where that is below zero."""
        return Placed(self.id, self.x - by, self.y - by, self.length + 2 * by, self.width + 2 * by)

    def within(self, other: Placed) -> bool:
        """Whether it lies whole inside the other."""
        along = other.x <= self.x and self.x + self.length <= other.x + other.length
        return along and other.y <= self.y and self.y + self.width <= other.y + other.width

    def overlaps(self, other: Placed, gap: int = 0) -> bool:
        """Whether less than ``gap`` is free between the two, along both axes."""
        return (
            self.x < other.x + other.length + gap
            and other.x < self.x + self.length + gap
            and self.y < other.y + other.width + gap
            and other.y < self.y + self.width + gap
        )


@dataclass(frozen=True)
class Region:
    """A rectangle to place things on, and its obstacles, which may stick out and overlap each other."""

    length: int
    width: int
    obstacles: tuple[Placed, ...] = ()

    def __post_init__(self) -> None:
        if min(self.length, self.width) < 0:
            raise ValueError("a region cannot be smaller than nothing")


def check_placement(
    region: Region, placed: Sequence[Placed], gap: int = 0, items: Sequence[Item] | None = None
) -> list[str]:
    """Everything wrong with a placement, a sentence each; an empty list means that it is right.

    ``gap`` is kept between things, and between things and obstacles, not along the region's edges. With
    ``items``, the placed must be those and no others, in their sizes, turned only where they may be.
    """
    wrong = [
        f"{p.id} reaches beyond the edge"
        for p in placed
        if p.x < 0 or p.y < 0 or p.x + p.length > region.length or p.y + p.width > region.width
    ]
    for first, second in combinations(placed, 2):
        if first.overlaps(second, gap):
            wrong.append(f"{first.id} and {second.id} are less than {gap} apart or overlap")
    for p in placed:
        wrong += [
            f"{p.id} and obstacle {obstacle.id} are less than {gap} apart or overlap"
            for obstacle in region.obstacles
            if p.overlaps(obstacle, gap)
        ]
    return wrong if items is None else wrong + _check_items(placed, items)


def _check_items(placed: Sequence[Placed], items: Sequence[Item]) -> list[str]:
    if sorted(p.id for p in placed) != sorted(item.id for item in items):
        return ["the things placed are not the things asked for"]
    wanted = {item.id: item for item in items}
    wrong = []
    for p in placed:
        item = wanted[p.id]
        straight = (p.length, p.width) == (item.length, item.width)
        turned = (p.length, p.width) == (item.width, item.length)
        if not straight and not (turned and item.turnable):
            wrong.append(f"{p.id} lies as {p.length} x {p.width}, which it is not")
    return wrong
