"""Boxes stowed at a few attempts: by simple rules, without search.

On the road: under ``packing.stowing``; knows no solver. What it finds is right; that it finds nothing says
nothing.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterable, Iterator, Sequence

from optimizer.packing.bays import Bay, Box, Stowed
from optimizer.packing.grid import Rectangle, Snapped
from optimizer.packing.nearness import Near, barred_bays
from optimizer.packing.quick import first_corner
from optimizer.packing.standing import Stand, floor_of, stands

TRIES = 60
Taken = dict[int, list[tuple[int, Rectangle, Stand]]]
"""By bay: box, floor taken, and how it stands."""


def quick_stowings(
    bays: Sequence[Bay], boxes: Sequence[Box], may_split: Collection[str], grid: int, nears: Sequence[Near] = ()
) -> Iterator[tuple[Stowed, ...]]:
    """Places for all boxes in their order, the pickiest or the largest sets first; several, where the rules find any.

    The first four tries prefer small bays and large ones, the others an order for each set drawn by chance, the
    same whenever it is asked: where balance counts, one of many will do. No box goes into a bay out of reach of
    what it must be near to; lengths within bays are left to whoever asks.
    """
    ways = [stands(bays, box, grid) for box in boxes]
    bundles: dict[str, list[int]] = {}
    for index, box in enumerate(boxes):
        bound = box.group and box.group not in may_split
        bundles.setdefault(f"set {box.group}" if bound else f"single {index}", []).append(index)
    pickiest = sorted(bundles.values(), key=lambda members: _rank(ways, members))
    largest = sorted(bundles.values(), key=lambda members: _rank(ways, members)[1:])
    by_room = sorted(range(len(bays)), key=lambda k: (bays[k].length * bays[k].width, k))
    chance = random.Random(1)
    for number in range(TRIES):
        sets = (pickiest, largest)[number // 2 % 2]
        if number < 4:
            orders = [by_room[:: 1 - 2 * (number % 2)]] * len(sets)
        else:
            orders = [chance.sample(by_room, len(by_room)) for _ in sets]
        found = _place_all(bays, boxes, ways, sets, orders, grid, number % 3 > 0, nears)
        if found is not None:
            yield found


def _rank(ways: Sequence[tuple[Stand, ...]], members: Iterable[int]) -> tuple[int, int, int]:
    """Few bays first, then much floor, then order."""
    members = list(members)
    homes = set.intersection(*({bay for stand in ways[m] for bay in stand.bays} for m in members))
    floor = sum(min((s.floor[0] * s.floor[1] for s in ways[m]), default=0) for m in members)
    return len(homes), -floor, members[0]


def _place_all(
    bays: Sequence[Bay], boxes: Sequence[Box], ways: Sequence[tuple[Stand, ...]], sets: Sequence[list[int]],
    orders: Sequence[Sequence[int]], grid: int, along: bool, nears: Sequence[Near],
) -> tuple[Stowed, ...] | None:  # fmt: skip
    taken: Taken = {k: [] for k in range(len(bays))}
    homes: dict[int, int] = {}
    loads = dict.fromkeys(taken, 0)
    for members, rooms in zip(sets, orders, strict=True):
        for k in rooms:
            if any(barred_bays(nears, member, k, homes) for member in members):
                continue
            added = _place_set(bays[k], boxes, ways, members, k, taken[k], grid, along)
            if added is not None and loads[k] + sum(boxes[m].mass for m in members) <= bays[k].load:
                taken[k] += added
                loads[k] += sum(boxes[m].mass for m in members)
                homes |= dict.fromkeys(members, k)
                break
        else:
            return None
    places: dict[int, Stowed] = {}
    for k, there in taken.items():
        for index, (x, y, _, _), stand in there:
            air = boxes[index].clearance
            places[index] = Stowed(boxes[index].id, bays[k].name, x * grid + air, y * grid + air, *stand.sizes)
    return tuple(places[index] for index in range(len(boxes)))


def _place_set(
    bay: Bay, boxes: Sequence[Box], ways: Sequence[tuple[Stand, ...]], members: Sequence[int], k: int,
    there: list[tuple[int, Rectangle, Stand]], grid: int, along: bool,
) -> list[tuple[int, Rectangle, Stand]] | None:  # fmt: skip
    region = Snapped(*floor_of(bay, grid), ())
    added: list[tuple[int, Rectangle, Stand]] = []
    for index in sorted(members, key=lambda m: (-boxes[m].length * boxes[m].width, m)):
        taken = [rectangle for _, rectangle, _ in (*there, *added)]
        fits = (
            (place, stand)
            for stand in sorted(ways[index], key=lambda s: (s.floor[0] * s.floor[1], s.floor[int(along)], s.sizes))
            if k in stand.bays and (place := first_corner(region, taken, stand.floor, across=True)) is not None
        )
        first = next(fits, None)
        if first is None:
            return None
        added.append((index, *first))
    return added
