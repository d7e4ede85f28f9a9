"""Answers to packing questions that need no search: plainly too much, or placed at the first attempt.

On the road: under ``packing.model``; knows no solver.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.packing.grid import Rectangle, Snapped

Lie = tuple[int, int]
"""Length and width of a thing as it lies, in grid units."""

Way = tuple[Lie, ...]
"""The one or two ways in which a thing can lie."""

MOST_TRIED = 12  # beyond so many things a first attempt costs more than it saves


def lies(length: int, width: int, turnable: bool) -> Way:
    """The ways in which a thing can lie, straight first."""
    return ((length, width), (width, length)) if turnable and length != width else ((length, width),)


def plainly_impossible(region: Snapped, ways: Sequence[Way]) -> bool:
    """Whether the areas are too much, or one thing is too long for the region by itself."""
    if sum(way[0][0] * way[0][1] for way in ways) > region.free_area:
        return True
    return any(all(lie[0] > region.length or lie[1] > region.width for lie in way) for way in ways)


def first_attempt(region: Snapped, ways: Sequence[Way]) -> tuple[tuple[int, int, bool], ...] | None:
    """Corners for all things, and whether turned, when a simple rule finds some; None says nothing.

    Things go in turn, largest first in several senses, to the first free corner along or across.
    """
    if len(ways) > MOST_TRIED:
        return None
    for ranked in _orders(ways):
        for across in (False, True):
            for turn_first in (False, True):
                found = _fill(region, [ways[index] for index in ranked], across, turn_first)
                if found is not None:
                    corners = dict(zip(ranked, found, strict=True))
                    return tuple(_corner_of(corners[index], way) for index, way in enumerate(ways))
    return None


def _corner_of(place: Rectangle, way: Way) -> tuple[int, int, bool]:
    return place[0], place[1], (place[2] - place[0], place[3] - place[1]) != way[0]


def _orders(ways: Sequence[Way]) -> list[list[int]]:
    """Things by area, by longer side and by shorter side, largest first; each order once."""
    senses = (
        [(-way[0][0] * way[0][1], 0) for way in ways],
        [(-max(way[0]), -min(way[0])) for way in ways],
        [(-min(way[0]), -max(way[0])) for way in ways],
    )
    orders = [[index for _, index in sorted(zip(sense, range(len(ways)), strict=True))] for sense in senses]
    return [order for position, order in enumerate(orders) if order not in orders[:position]]


def _fill(region: Snapped, ways: Sequence[Way], across: bool, turn_first: bool) -> list[Rectangle] | None:
    taken = list(region.blocks)
    for way in ways:
        for lie in way[::-1] if turn_first else way:
            place = first_corner(region, taken, lie, across)
            if place is not None:
                taken.append(place)
                break
        else:
            return None
    return taken[len(region.blocks) :]


def first_corner(region: Snapped, taken: Sequence[Rectangle], lie: Lie, across: bool) -> Rectangle | None:
    """The first free corner for one thing, counting across the region first, or along it."""
    length, width = lie
    xs = sorted(x for x in {0} | {r[2] for r in taken} if x + length <= region.length)
    ys = sorted(y for y in {0} | {r[3] for r in taken} if y + width <= region.width)
    corners = ((x, y) for x in xs for y in ys) if across else ((x, y) for y in ys for x in xs)
    for x, y in corners:
        far_x, far_y = x + length, y + width
        if not any(r[0] < far_x and x < r[2] and r[1] < far_y and y < r[3] for r in taken):
            return x, y, far_x, far_y
    return None
