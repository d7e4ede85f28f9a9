"""Rectangles on a region with the CP-SAT solver: inside a larger model, or by themselves.

On the road: called by ``choosing`` (roof and bay floors); ``packing.shapes`` checks what is found here.

The whole region is one two-dimensional no-overlap with the obstacles as fixed rectangles; a thing that may
be turned has one pair of intervals whose sizes hang on a Boolean; the areas are summed under the same
presence literals; coordinates are confined to normal patterns (see ``packing.grid``); like things are
ordered. Proving that a tight packing is impossible can take very long: then the answer is undecided.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from optimizer.packing.grid import Snapped, normal_starts, snap_item, snap_region
from optimizer.packing.quick import Lie, first_attempt, lies, plainly_impossible
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, Item, NoPacking, Placed, Region

GRID = 1  # [mm] exact; a coarser grid is a little faster and refuses some things that would just fit
EFFORT = 20.0  # deterministic seconds of the solver
SECONDS = 120.0  # a guard only: a run that meets it may end otherwise on another machine

Literal = Any
"""A Boolean variable of the solver or its negation, or True."""

Corner = tuple[int, int, bool]
"""x, y in grid units, and whether the thing is turned."""


@dataclass(frozen=True)
class Spot:
    """The variables of one thing: is it present, where is its corner [grid units], is it turned."""

    present: Literal
    x: Any
    y: Any
    turned: Any


@dataclass(frozen=True)
class Packing:
    """The items asked about with their variables."""

    items: tuple[Item, ...]
    spots: tuple[Spot, ...]
    grid: int

    def read(self, solver: Any) -> tuple[Placed, ...]:
        """The places of the present items in a solution, in the unit of the region."""
        return tuple(
            _place(item, (solver.value(spot.x), solver.value(spot.y), bool(solver.value(spot.turned))), self.grid)
            for item, spot in zip(self.items, self.spots, strict=True)
            if solver.boolean_value(spot.present)
        )


def _place(item: Item, corner: Corner, grid: int) -> Placed:
    x, y, turned = corner
    length, width = (item.width, item.length) if turned else (item.length, item.width)
    return Placed(item.id, x * grid, y * grid, length, width)


def add_packing(
    model: Any,
    region: Region,
    items: Sequence[Item],
    presence: Sequence[Literal],
    gap: int = 0,
    grid: int = GRID,
) -> Packing:
    """Demand in ``model`` that the present items lie on the region, clear of each other and of obstacles.

    ``presence`` holds one literal an item, or True for one that is there anyway. Lengths, ``gap`` and
    ``grid`` are in one unit [mm]. Of the items of one kind the earlier are present first, so the model must
    not care which of them is. An item that can nowhere lie is never present. ValueError when items of one
    kind are not alike.
    """
    snapped = snap_region(region, gap, grid)
    ways = [lies(*snap_item(item, gap, grid), item.turnable) for item in items]
    literals = [model.new_constant(1) if present is True else present for present in presence]
    spots = _add(model, snapped, ways, literals)
    kinds: dict[str, list[int]] = {}
    for index, item in enumerate(items):
        kinds.setdefault(item.kind or f" {index}", []).append(index)
    for kind, alike in kinds.items():
        if len({ways[index] for index in alike}) > 1:
            raise ValueError(f"the items of kind {kind} are not alike")
        _order(model, [spots[index] for index in alike])
    return Packing(tuple(items), tuple(spots), grid)


def _add(model: Any, region: Snapped, ways: Sequence[tuple[Lie, ...]], literals: Sequence[Literal]) -> list[Spot]:
    """The no-overlap and the sum of areas, for things that can lie in these ways."""
    spots, flat, upright = [], [], []
    xs, ys = _starts(region, ways, 0), _starts(region, ways, 1)
    for way, present in zip(ways, literals, strict=True):
        fitting = [lie for lie in way if lie[0] <= region.length and lie[1] <= region.width]
        if not fitting:
            model.add_bool_and([~present])
            nowhere = model.new_constant(0)
            spots.append(Spot(present, nowhere, nowhere, nowhere))
            continue
        turned = model.new_bool_var("") if len(fitting) > 1 else model.new_constant(int(fitting[0] != way[0]))
        x, along = _axis(model, xs[way], region.length, way, 0, turned, present)
        y, across = _axis(model, ys[way], region.width, way, 1, turned, present)
        # an absent thing has one place only, or the search would try them all
        model.add(x == 0).only_enforce_if(~present)
        model.add(y == 0).only_enforce_if(~present)
        model.add(turned == int(fitting[0] != way[0])).only_enforce_if(~present)
        spots.append(Spot(present, x, y, turned))
        flat.append(along)
        upright.append(across)
    for left, near, right, far in region.blocks:
        flat.append(model.new_fixed_size_interval_var(left, right - left, ""))
        upright.append(model.new_fixed_size_interval_var(near, far - near, ""))
    model.add_no_overlap_2d(flat, upright)
    areas = [way[0][0] * way[0][1] * present for way, present in zip(ways, literals, strict=True)]
    model.add(sum(areas) <= region.free_area)
    return spots


def _starts(
    region: Snapped, ways: Sequence[tuple[Lie, ...]], axis: int
) -> dict[tuple[Lie, ...], list[tuple[int, int]]]:
    """For each way of lying, the runs of coordinates worth trying along an axis."""
    extent = (region.length, region.width)[axis]
    edges = sorted({block[2 + axis] for block in region.blocks})
    starts = {}
    for way in sorted(set(ways)):
        others = list(ways)
        others.remove(way)
        starts[way] = normal_starts(extent, edges, [tuple(lie[axis] for lie in other) for other in others])
    return starts


def _axis(
    model: Any,
    starts: list[tuple[int, int]],
    extent: int,
    way: tuple[Lie, ...],
    axis: int,
    turned: Any,
    present: Any,
) -> tuple[Any, Any]:
    """Start variable and optional interval of one thing along one axis; the size hangs on ``turned``."""
    straight, other = way[0][axis], way[-1][axis]
    start = model.new_int_var_from_domain(cp_model.Domain.from_intervals(starts), "")
    end = model.new_int_var(0, extent, "")
    size = straight + (other - straight) * turned
    return start, model.new_optional_interval_var(start, size, end, present, "")


def _order(model: Any, alike: Sequence[Spot]) -> None:
    """Of like things the earlier are present first and lie nearer to the front."""
    for first, second in pairwise(alike):
        model.add_implication(second.present, first.present)
        model.add(first.x <= second.x).only_enforce_if(second.present)


def new_solver(effort: float = EFFORT, seconds: float = SECONDS) -> Any:
    """A solver that gives the same answer to the same question: one worker, a deterministic limit.

    Timetabling on and linear relaxation off proved tight roofs impossible in half the time, measured on 400
    random ones. The work limit of 0 avoids a presolve fault reported of this solver version, the relations
    limit of 0 one seen here: with optional rectangles of no size it took a plain model for impossible. Symmetries
    are not looked for: presolve was seen to call a model of sums impossible for them.
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.linearization_level = 0
    solver.parameters.use_timetabling_in_no_overlap_2d = True
    solver.parameters.presolve_inclusion_work_limit = 0
    solver.parameters.symmetry_level = 0
    solver.parameters.no_overlap_2d_boolean_relations_limit = 0
    # Ctrl-C belongs to whoever asked: caught in here, it would end one packing and be forgotten.
    solver.parameters.catch_sigint_signal = False
    return solver


def verdict(status: Any) -> NoPacking | None:
    """None when there is a solution, else what the solver's status means."""
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    if status == cp_model.INFEASIBLE:
        return IMPOSSIBLE
    if status == cp_model.UNKNOWN:
        return UNDECIDED
    raise RuntimeError(f"the packing model was refused by the solver ({status.name})")


def pack(
    region: Region,
    items: Sequence[Item],
    gap: int = 0,
    grid: int = GRID,
    effort: float = EFFORT,
    seconds: float = SECONDS,
) -> tuple[Placed, ...] | NoPacking:
    """Places for all items on a region, in the items' order; or IMPOSSIBLE (on the grid), or UNDECIDED.

    ``effort`` bounds the search in the solver's deterministic seconds, ``seconds`` is a guard by the clock.
    Equal questions, whatever the items are called and however they are listed, are answered from memory.
    """
    snapped = snap_region(region, gap, grid)
    ways = [lies(*snap_item(item, gap, grid), item.turnable) for item in items]
    ranked = sorted(range(len(items)), key=lambda index: (ways[index], index))
    answer = _pack(snapped, tuple(ways[index] for index in ranked), effort, seconds)
    if isinstance(answer, NoPacking):
        return answer
    corners = dict(zip(ranked, answer, strict=True))
    return tuple(_place(item, corners[index], grid) for index, item in enumerate(items))


@lru_cache(maxsize=65536)
def _pack(
    region: Snapped, ways: tuple[tuple[Lie, ...], ...], effort: float, seconds: float
) -> tuple[Corner, ...] | NoPacking:
    if plainly_impossible(region, ways):
        return IMPOSSIBLE
    at_once = first_attempt(region, ways)
    if at_once is not None:
        return at_once
    return _search(region, ways, effort, seconds)


def _search(
    region: Snapped, ways: Sequence[tuple[Lie, ...]], effort: float, seconds: float
) -> tuple[Corner, ...] | NoPacking:
    model = cp_model.CpModel()
    spots = _add(model, region, ways, [model.new_constant(1)] * len(ways))
    for way in sorted(set(ways)):
        _order(model, [spot for spot, other in zip(spots, ways, strict=True) if other == way])
    _corner_one(model, region, ways, spots)
    solver = new_solver(effort, seconds)
    refused = verdict(solver.solve(model))
    if refused is not None:
        return refused
    return tuple((solver.value(s.x), solver.value(s.y), bool(solver.value(s.turned))) for s in spots)


def _corner_one(model: Any, region: Snapped, ways: Sequence[tuple[Lie, ...]], spots: Sequence[Spot]) -> None:
    """Without obstacles a packing may be mirrored: keep the largest one of its sort in one quarter."""
    single = [index for index, way in enumerate(ways) if ways.count(way) == 1]
    if region.blocks or not single:
        return
    index = max(single, key=lambda i: (ways[i][0][0] * ways[i][0][1], -i))
    way, spot = ways[index], spots[index]
    for axis, extent, start in ((0, region.length, spot.x), (1, region.width, spot.y)):
        size = way[0][axis] + (way[-1][axis] - way[0][axis]) * spot.turned
        model.add(2 * start + size <= extent)
