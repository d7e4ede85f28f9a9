"""Boxes into bays in two steps: which box goes to which bay, then each bay by itself.

On the road: under ``packing.stowing``. One model of all bays at once is bad at proving that boxes do not fit: for
each way to deal them out it shuffles every bay anew. Here a first model deals them out, by floor, load and whatever
is asked of where boxes are, and each bay is laid out alone, mostly at the first attempt or from memory. What does
not go into a bay together is shrunk to few boxes that do not, and neither these nor any that take as much are dealt
there again, nor to a bay that holds no more. When nothing is left to deal, nothing fits.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from optimizer.packing.bays import Bay, Box, Stowed, Sum
from optimizer.packing.model import new_solver, verdict
from optimizer.packing.nearness import Near, add_barred
from optimizer.packing.shapes import IMPOSSIBLE, UNDECIDED, NoPacking
from optimizer.packing.standing import floor_of, stands
from optimizer.packing.waste import Floors, Waste

ALONE = 1.0
"""Effort for one bay by itself; what is not settled by then is taken for undecided."""


@dataclass(frozen=True)
class Alone:
    """What becomes of a bay by itself, and the effort that it took: the same whether or not it came from memory."""

    answer: tuple[Stowed, ...] | NoPacking
    spent: float


LayOut = Callable[[Bay, tuple[Box, ...]], Alone]


def stow_by_bay(
    bays: Sequence[Bay],
    boxes: Sequence[Box],
    may_split: Collection[str],
    grid: int,
    effort: float,
    seconds: float,
    sums: Sequence[Sum],
    nears: Sequence[Near],
    lay_out: LayOut,
) -> tuple[Stowed, ...] | NoPacking:
    """Places for all boxes, in their order; or IMPOSSIBLE (on the grid), or UNDECIDED within the effort.

    Boxes of one kind are alike. Of ``nears`` only bays that lie too far apart count. ``lay_out`` says how boxes go
    into one bay.
    """
    return _Dealing(bays, boxes, may_split, grid, sums, nears, lay_out).run(effort, seconds)


class _Dealing:
    def __init__(
        self, bays: Sequence[Bay], boxes: Sequence[Box], may_split: Collection[str], grid: int, sums: Sequence[Sum],
        nears: Sequence[Near], lay_out: LayOut,
    ) -> None:  # fmt: skip
        self.bays, self.boxes, self.lay_out, self.grid = bays, boxes, lay_out, grid
        self.model = cp_model.CpModel()
        self.spent = 0.0
        """Effort, as the solver counts it; what came from memory counts as when it was found."""
        self.unsure = False
        """Whether a bay was left out though it is not known that its boxes do not go in."""
        self.kinds: dict[str, list[int]] = {}
        for index, box in enumerate(boxes):
            self.kinds.setdefault(box.kind, []).append(index)
        self.stands = {kind: stands(bays, boxes[alike[0]], grid) for kind, alike in self.kinds.items()}
        self.homes = [self._homes_of(box) for box in boxes]
        self._fill()
        self._keep_together(may_split)
        self._order()
        add_barred(self.model, self.homes, nears)
        for total in sums:
            self.model.add(
                sum(
                    value * self.homes[box][bay]
                    for box, row in enumerate(total.rows) for bay, value in enumerate(row)
                    if value and bay in self.homes[box]
                ) <= total.most
            )  # fmt: skip
        self._waste = [
            Waste.of(floor_of(bay, grid), [self._floors(kind, k) for kind in self.kinds])
            for k, bay in enumerate(bays)
        ]
        self._effort = 0.0

    # -- the dealing ----------------------------------------------------------------------------

    def _homes_of(self, box: Box) -> dict[int, Any]:
        takers = sorted(set[int]().union(*(stand.bays for stand in self.stands[box.kind])))
        homes = {k: self.model.new_bool_var("") for k in takers}
        self.model.add_exactly_one(homes.values())
        return homes

    def _fill(self) -> None:
        """Floor and load of each bay."""
        for k, bay in enumerate(self.bays):
            inside = [(box, home[k]) for box, home in zip(self.boxes, self.homes, strict=True) if k in home]
            length, width = floor_of(bay, self.grid)
            least = {kind: min((a * b for a, b in self._floors(kind, k)), default=0) for kind in self.kinds}
            self.model.add(sum(least[box.kind] * home for box, home in inside) <= length * width)
            self.model.add(sum(box.mass * home for box, home in inside) <= bay.load)

    def _keep_together(self, may_split: Collection[str]) -> None:
        groups: dict[str, list[int]] = {}
        for index, box in enumerate(self.boxes):
            if box.group and box.group not in may_split:
                groups.setdefault(box.group, []).append(index)
        for members in groups.values():
            for one, other in pairwise(members):
                for k in self.homes[one].keys() | self.homes[other].keys():
                    here, there = self.homes[one].get(k), self.homes[other].get(k)
                    if here is not None and there is not None:
                        self.model.add(here == there)
                    else:
                        self.model.add_bool_and([~home for home in (here, there) if home is not None])

    def _order(self) -> None:
        """Of like boxes the earlier go to an earlier bay."""
        for alike in self.kinds.values():
            for one, other in pairwise(alike):
                first, second = (sum(k * home for k, home in self.homes[i].items()) for i in (one, other))
                self.model.add(first <= second)

    def _at_most_alone(self) -> None:
        """Of each kind no more in a bay than go in by themselves."""
        for kind, alike in self.kinds.items():
            for k in self.homes[alike[0]] if len(alike) > 1 else ():
                count = len(alike)
                length, width = floor_of(self.bays[k], self.grid)
                least = min(a * b for a, b in self._floors(kind, k))
                most = min(count, length * width // least)
                while most > 1 and self.spent < self._effort:
                    if self._alone(k, Counter({kind: most})) is not IMPOSSIBLE:
                        break
                    most -= 1
                if most < count:
                    self._never(k, Counter({kind: most + 1}))

    # -- bays by themselves ---------------------------------------------------------------------

    def _alone(self, k: int, held: Counter[str]) -> tuple[Stowed, ...] | NoPacking:
        """So many of each kind in a bay."""
        if self._waste[k].refuses([held[kind] for kind in self.kinds]) is not None:
            return IMPOSSIBLE
        boxes = [self.boxes[index] for kind, count in sorted(held.items()) for index in self.kinds[kind][:count]]
        found = self.lay_out(self.bays[k], tuple(boxes))
        self.spent += found.spent
        return found.answer

    def _floors(self, kind: str, k: int) -> Floors:
        return tuple(stand.floor for stand in self.stands[kind] if k in stand.bays)

    def _takes_as_much(self, large: str, small: str, k: int) -> bool:
        """Whether wherever the first stands in a bay the second can stand in its place."""
        return all(
            any(a <= c and b <= d for a, b in self._floors(small, k)) for c, d in self._floors(large, k)
        )

    def _shrunk(self, k: int, held: Counter[str], settled: Counter[str] | None) -> Counter[str] | None:
        """Few of these that do not go into a bay together, as far as that is known; the smallest are left out first."""
        size = {kind: min(a * b for a, b in self._floors(kind, k)) for kind in held}
        for kind in sorted(held, key=lambda kind: (size[kind], kind)):
            while held[kind] and self.spent < self._effort:
                fewer = held - Counter({kind: 1})
                answer = self._alone(k, fewer)
                if not isinstance(answer, NoPacking):
                    break
                held = fewer
                settled = held if answer is IMPOSSIBLE else settled
        return settled

    def _never(self, k: int, held: Counter[str]) -> None:
        """Deal no such boxes, nor any that take as much, to this bay again, nor to one that holds no more."""
        for other in range(len(self.bays)):
            if other == k or self._holds_no_more(other, k, held):
                self._forbid(other, held)

    def _holds_no_more(self, other: int, k: int, held: Counter[str]) -> bool:
        small, large = floor_of(self.bays[other], self.grid), floor_of(self.bays[k], self.grid)
        if small[0] > large[0] or small[1] > large[1]:
            return False
        return all(
            self._floors(kind, other) and set(self._floors(kind, other)) <= set(self._floors(kind, k)) for kind in held
        )

    def _forbid(self, k: int, held: Counter[str]) -> None:
        there = {
            kind: [self.homes[index][k] for index in alike if k in self.homes[index]]
            for kind, alike in self.kinds.items()
        }
        members: dict[str, list[Any]] = {kind: list(there[kind]) for kind in held}
        for other, homes in there.items():
            covered = [kind for kind in held if homes and other not in held and self._takes_as_much(other, kind, k)]
            if covered:
                largest = max(covered, key=lambda kind: (min(a * b for a, b in self._floors(kind, k)), kind))
                members[largest] += homes
        ways = []
        for kind, count in sorted(held.items()):
            if len(held) == 1:
                self.model.add(sum(members[kind]) <= count - 1)
                return
            fewer = self.model.new_bool_var("")
            self.model.add(sum(members[kind]) <= count - 1).only_enforce_if(fewer)
            ways.append(fewer)
        self.model.add_bool_or(ways)

    def _settled(self, k: int, held: Counter[str]) -> tuple[Stowed, ...] | NoPacking:
        """A bay laid out; or why not, which the model is told."""
        answer = self._alone(k, held)
        if isinstance(answer, NoPacking) and not self._told(k, held):
            fewer = self._shrunk(k, held, held if answer is IMPOSSIBLE else None)
            self.unsure = self.unsure or fewer is None
            self._never(k, fewer or held)
        return answer

    def _told(self, k: int, held: Counter[str]) -> bool:
        """Whether a sum says that these do not go into a bay; then the model is told it, of all boxes."""
        worth = self._waste[k].refuses([held[kind] for kind in self.kinds])
        if worth is None:
            return False
        areas, room = worth
        inside = [
            (area, self.homes[index][k])
            for area, alike in zip(areas, self.kinds.values(), strict=True) for index in alike if k in self.homes[index]
        ]
        self.model.add(sum(area * home for area, home in inside) <= room)
        return True

    # -- round and round ------------------------------------------------------------------------

    def run(self, effort: float, seconds: float) -> tuple[Stowed, ...] | NoPacking:
        """Deal, lay out, learn, until all bays are laid out or nothing is left to deal."""
        end, self._effort = time.monotonic() + seconds, effort
        self._at_most_alone()
        while True:
            left = effort - self.spent
            if left <= 0 or time.monotonic() >= end:
                return UNDECIDED
            solver = new_solver(left, max(0.1, end - time.monotonic()))
            solver.parameters.linearization_level = 1  # sums only: the relaxation says at once that there is too much
            refused = verdict(solver.solve(self.model))
            self.spent += float(solver.response_proto.deterministic_time)
            if refused is not None:
                return UNDECIDED if self.unsure else refused
            dealt = [next(k for k, home in homes.items() if solver.boolean_value(home)) for homes in self.homes]
            found = self._laid(dealt)
            if found is not None:
                return found

    def _laid(self, dealt: Sequence[int]) -> tuple[Stowed, ...] | None:
        """Every bay laid out; None where one is not, which is learnt from."""
        places: dict[int, Stowed] = {}
        failed = False
        for k in sorted(set(dealt)):
            inside: dict[str, list[int]] = {}
            for index, home in enumerate(dealt):
                if home == k:
                    inside.setdefault(self.boxes[index].kind, []).append(index)
            held = Counter({kind: len(members) for kind, members in inside.items()})
            answer = self._settled(k, held)
            if isinstance(answer, NoPacking):
                failed = True
                continue
            order = [index for kind in sorted(inside) for index in inside[kind]]
            places |= dict(zip(order, answer, strict=True))
        return None if failed else tuple(places[index] for index in range(len(self.boxes)))
