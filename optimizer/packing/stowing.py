"""Boxes into bays with the CP-SAT solver: inside a larger model, or by themselves.

On the road: called by ``choosing``; ``packing.bays`` checks what is found here.

Each present box goes to one bay and has its place on that floor; the ways in which it can stand are
listed beforehand (see ``packing.standing``); whoever wants balance ties ``Stowage.home`` to the axles. By
themselves boxes are tried by simple rules first, then dealt out to the bays (see ``packing.bay_by_bay``), and put to
one model of everything where lengths within bays count, or where the dealing did not settle it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from optimizer.packing.bay_by_bay import ALONE, Alone, stow_by_bay
from optimizer.packing.bays import Bay, Box, Stowed, Sum
from optimizer.packing.corners import lay
from optimizer.packing.grid import normal_starts
from optimizer.packing.model import EFFORT, GRID, SECONDS, Literal, new_solver, verdict
from optimizer.packing.nearness import Near, add_nears, all_near
from optimizer.packing.quick_stowing import quick_stowings
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, NoPacking
from optimizer.packing.standing import Stand, floor_of, stands

Runs = list[tuple[int, int]]
"""First and last of each run of coordinates."""


@dataclass(frozen=True)
class Extent:
    """Where a box with its air starts, how far it reaches and where it ends along an axis [grid units]."""

    start: Any
    size: Any
    end: Any


@dataclass(frozen=True)
class BoxSpot:
    """The variables of one box: present, in which bay, how it stands, and its extents along and across."""

    present: Literal
    homes: dict[int, Any]
    stands: tuple[Stand, ...]
    chosen: tuple[Any, ...]
    extents: tuple[Extent, Extent]


@dataclass(frozen=True)
class Stowage:
    """The boxes asked about with their variables."""

    bays: tuple[Bay, ...]
    boxes: tuple[Box, ...]
    spots: tuple[BoxSpot, ...]
    grid: int

    def home(self, box: int, bay: int) -> Any:
        """Literal (or 0) that is true when the box of that index lies in the bay of that index."""
        return self.spots[box].homes.get(bay, 0)

    def read(self, solver: Any) -> tuple[Stowed, ...]:
        """Where the present boxes are in a solution [mm]."""
        found = []
        for box, spot in zip(self.boxes, self.spots, strict=True):
            if not solver.boolean_value(spot.present):
                continue
            bay = next(index for index, home in spot.homes.items() if solver.boolean_value(home))
            stand = next(s for s, c in zip(spot.stands, spot.chosen, strict=True) if solver.boolean_value(c))
            x, y = (solver.value(extent.start) * self.grid + box.clearance for extent in spot.extents)
            found.append(Stowed(box.id, self.bays[bay].name, x, y, *stand.sizes))
        return tuple(found)


def add_bays(
    model: Any,
    bays: Sequence[Bay],
    boxes: Sequence[Box],
    presence: Sequence[Literal],
    may_split: Collection[str] = (),
    grid: int = GRID,
    anywhere: bool = False,
) -> Stowage:
    """Demand in ``model`` that every present box has a bay and a place on its floor.

    ``presence`` holds one literal a box, or True for one that is there anyway. A box that no bay takes is
    never present. Of the boxes of one kind the earlier are present first, so the model must not care which
    of them is. Groups stay in one bay unless named in ``may_split``. ``anywhere`` tries every coordinate and
    every way to stand, for when it matters where in a bay a box is. ValueError when boxes of one kind are not alike.
    """
    literals = [model.new_constant(1) if present is True else present for present in presence]
    ways = [stands(bays, box, grid, every=anywhere) for box in boxes]
    starts = list(zip(*(_starts(bays, ways, axis, grid, anywhere) for axis in (0, 1)), strict=True))
    spots = [
        _spot(model, bays, way, present, start, grid)
        for way, present, start in zip(ways, literals, starts, strict=True)
    ]
    for index, bay in enumerate(bays):
        _fill(model, index, bay, boxes, spots, grid)
    _keep_together(model, len(bays), boxes, spots, may_split)
    _order(model, bays, boxes, spots, grid)
    return Stowage(tuple(bays), tuple(boxes), tuple(spots), grid)


def _starts(
    bays: Sequence[Bay], ways: Sequence[tuple[Stand, ...]], axis: int, grid: int, anywhere: bool
) -> list[Runs]:
    """For each box the runs of coordinates worth trying along an axis (see ``packing.grid``)."""
    extent = max((floor_of(bay, grid)[axis] for bay in bays), default=0)
    if anywhere:
        return [[(0, extent)] for _ in ways]
    sizes = [tuple(sorted({stand.floor[axis] for stand in way})) for way in ways]
    return [normal_starts(extent, (), sizes[:index] + sizes[index + 1 :]) for index in range(len(ways))]


def _spot(
    model: Any,
    bays: Sequence[Bay],
    way: tuple[Stand, ...],
    present: Literal,
    starts: tuple[Runs, ...],
    grid: int,
) -> BoxSpot:
    """The variables of one box, and what binds its bay, its way of standing and its sizes together.

    An absent box stands in its first way at the corner, or the search would try all its places; so a size
    is never nothing, which this solver version has been seen to take for a contradiction.
    """
    if not way:
        model.add_bool_and([~present])
        nowhere = model.new_constant(0)
        return BoxSpot(present, {}, (), (), (Extent(nowhere, nowhere, nowhere), Extent(nowhere, nowhere, nowhere)))
    homes = {k: model.new_bool_var("") for k in sorted(set().union(*(stand.bays for stand in way)))}
    model.add(sum(homes.values()) == present)
    chosen = tuple(model.new_bool_var("") for _ in way)
    model.add_exactly_one(chosen)
    model.add_implication(~present, chosen[0])
    for stand, literal in zip(way, chosen, strict=True):
        for k in sorted(set(homes) - stand.bays):
            model.add_bool_or([~literal, ~homes[k]])
    floors = {k: floor_of(bays[k], grid) for k in homes}
    along, across = (
        _extent(
            model,
            starts[axis],
            [(stand.floor[axis], literal) for stand, literal in zip(way, chosen, strict=True)],
            [(floors[k][axis], home) for k, home in homes.items()],
            present,
        )
        for axis in (0, 1)
    )
    return BoxSpot(present, homes, way, chosen, (along, across))


def _extent(
    model: Any, starts: Runs, sizes: list[tuple[int, Any]], ends: list[tuple[int, Any]], present: Literal
) -> Extent:
    """Start, size and end along an axis: the size by the way of standing, the end within the bay's floor."""
    start = model.new_int_var_from_domain(cp_model.Domain.from_intervals(starts), "")
    size = model.new_int_var_from_domain(cp_model.Domain.from_values([size for size, _ in sizes]), "")
    end = model.new_int_var(0, max(last for last, _ in ends), "")
    model.add(size == sum(value * literal for value, literal in sizes))
    model.add(end == start + size)
    for last, home in ends:
        model.add(end <= last).only_enforce_if(home)
    model.add(start == 0).only_enforce_if(~present)
    return Extent(start, size, end)


def _fill(model: Any, index: int, bay: Bay, boxes: Sequence[Box], spots: Sequence[BoxSpot], grid: int) -> None:
    """What binds the boxes of one bay: no two overlap, floor area, load."""
    inside = [(box, s, s.homes[index]) for box, s in zip(boxes, spots, strict=True) if index in s.homes]
    if not inside:
        return
    intervals = [
        [
            model.new_optional_interval_var(e.start, e.size, e.end, home, "")
            for e, home in ((spot.extents[axis], home) for _, spot, home in inside)
        ]
        for axis in (0, 1)
    ]
    model.add_no_overlap_2d(*intervals)
    length, width = floor_of(bay, grid)
    least = [min(s.floor[0] * s.floor[1] for s in spot.stands if index in s.bays) for _, spot, _ in inside]
    model.add(sum(a * home for a, (_, _, home) in zip(least, inside, strict=True)) <= length * width)
    model.add(sum(box.mass * home for box, _, home in inside) <= bay.load)


def _keep_together(
    model: Any, count: int, boxes: Sequence[Box], spots: Sequence[BoxSpot], may_split: Collection[str]
) -> None:
    """One bay a group; a literal a bay says which."""
    groups: dict[str, list[BoxSpot]] = {}
    for box, spot in zip(boxes, spots, strict=True):
        if box.group and box.group not in may_split:
            groups.setdefault(box.group, []).append(spot)
    for _, members in sorted(groups.items()):
        here = [model.new_bool_var("") for _ in range(count)]
        model.add_at_most_one(here)
        for spot in members:
            for k, home in spot.homes.items():
                model.add_implication(home, here[k])


def _order(model: Any, bays: Sequence[Bay], boxes: Sequence[Box], spots: Sequence[BoxSpot], grid: int) -> None:
    """Of like boxes the earlier are present first, in an earlier bay, nearer to its front."""
    kinds: dict[str, list[int]] = {}
    for index, box in enumerate(boxes):
        if box.kind:
            kinds.setdefault(box.kind, []).append(index)
    step = max((floor_of(bay, grid)[0] for bay in bays), default=0) + 1
    for kind, alike in sorted(kinds.items()):
        if len({replace(boxes[index], id="") for index in alike}) > 1:
            raise ValueError(f"the boxes of kind {kind} are not alike")
        for a, b in pairwise(alike):
            model.add_implication(spots[b].present, spots[a].present)
            place = [
                sum(k * step * home for k, home in s.homes.items()) + s.extents[0].start for s in (spots[a], spots[b])
            ]
            model.add(place[0] <= place[1]).only_enforce_if(spots[b].present)


def stow(
    bays: Sequence[Bay],
    boxes: Sequence[Box],
    may_split: Collection[str] = (),
    grid: int = GRID,
    effort: float = EFFORT,
    seconds: float = SECONDS,
    sums: Sequence[Sum] = (),
    nears: Sequence[Near] = (),
) -> tuple[Stowed, ...] | NoPacking:
    """Places for all boxes, in their order; or IMPOSSIBLE (on the grid), or UNDECIDED within the effort.

    ``sums`` must hold too (axle loads, say), and so must ``nears``, cables that reach. Equal questions, whatever
    the boxes are called and however they are listed, are answered from memory.
    """
    anonymous = [replace(box, id="", kind="") for box in boxes]
    rows = [tuple(total.rows[index] for total in sums) for index in range(len(boxes))]
    ranked = sorted(range(len(boxes)), key=lambda index: (anonymous[index], rows[index], index))
    ordered = tuple(Sum(tuple(total.rows[i] for i in ranked), total.most) for total in sums)
    numbers = {index: place for place, index in enumerate(ranked)}
    answer = _stow(
        tuple(bays), tuple(anonymous[i] for i in ranked), tuple(sorted(set(may_split))), grid, effort, seconds, ordered,
        tuple(sorted(near.renumbered(numbers) for near in nears)),
    )  # fmt: skip
    if isinstance(answer, NoPacking):
        return answer
    places = dict(zip(ranked, answer, strict=True))
    return tuple(replace(places[index], id=box.id) for index, box in enumerate(boxes))


@lru_cache(maxsize=16384)
def _stow(
    bays: tuple[Bay, ...],
    boxes: tuple[Box, ...],
    may_split: tuple[str, ...],
    grid: int,
    effort: float,
    seconds: float,
    sums: tuple[Sum, ...],
    nears: tuple[Near, ...],
) -> tuple[Stowed, ...] | NoPacking:
    if any(not stands(bays, box, grid) for box in boxes) or any(not boxes and total.most < 0 for total in sums):
        return IMPOSSIBLE
    number = {bay.name: index for index, bay in enumerate(bays)}
    for quick in quick_stowings(bays, boxes, may_split, grid, nears):
        homes = [number[stowed.bay] for stowed in quick]
        if all(_sum_of(total, homes) <= total.most for total in sums) and all_near(nears, homes, quick):
            return quick
    kinds: dict[object, str] = {}
    like = []
    for index, box in enumerate(boxes):
        alike = (box, tuple(total.rows[index] for total in sums), tuple(near.role_of(index) for near in nears))
        like.append(replace(box, kind=kinds.setdefault(alike, f"{len(kinds)}")))
    measured = any(near.corners for near in nears)
    if bays and not measured:
        found = stow_by_bay(bays, like, may_split, grid, effort, seconds, sums, nears, partial(_alone, grid=grid))
        if found is not UNDECIDED or effort < EFFORT:
            return found
    model = cp_model.CpModel()
    stowage = add_bays(model, bays, like, [True] * len(like), may_split, grid, anywhere=measured)
    add_nears(model, stowage, nears)
    for total in sums:
        if boxes:
            model.add(
                sum(
                    value * stowage.home(box, bay)
                    for box, row in enumerate(total.rows) for bay, value in enumerate(row) if value
                ) <= total.most
            )  # fmt: skip
    solver = new_solver(effort, seconds)
    refused = verdict(solver.solve(model))
    return stowage.read(solver) if refused is None else refused


def _alone(bay: Bay, boxes: Sequence[Box], grid: int) -> Alone:
    """One bay by itself, whatever else the boxes are bound by; they all may stand in it."""
    bare = [replace(box, id="", kind="", group="", mass=0, tags=bay.tags) for box in boxes]
    ranked = sorted(range(len(boxes)), key=lambda index: (bare[index], index))
    found = _lone_bay(replace(bay, name=""), tuple(bare[index] for index in ranked), grid)
    if isinstance(found.answer, NoPacking):
        return found
    places = dict(zip(ranked, found.answer, strict=True))
    named = (replace(places[index], id=box.id, bay=bay.name) for index, box in enumerate(boxes))
    return Alone(tuple(named), found.spent)


@lru_cache(maxsize=65536)
def _lone_bay(bay: Bay, boxes: tuple[Box, ...], grid: int) -> Alone:
    ways = [stands((bay,), box, grid) for box in boxes]
    places, spent = lay(floor_of(bay, grid), [tuple(stand.floor for stand in way) for way in ways], ALONE)
    if isinstance(places, NoPacking):
        return Alone(places, spent)
    laid = []
    for box, way, (number, x, y) in zip(boxes, ways, places, strict=True):
        laid.append(Stowed(box.id, bay.name, x * grid + box.clearance, y * grid + box.clearance, *way[number].sizes))
    return Alone(tuple(laid), spent)


def _sum_of(total: Sum, homes: Sequence[int]) -> int:
    return sum(row[home] for row, home in zip(total.rows, homes, strict=True))
