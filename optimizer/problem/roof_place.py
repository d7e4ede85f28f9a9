"""The roof: its flat parts, margins, lanes and obstacles, and the region that is left to lay things on.

On the road: inside ``problem``, under ``problem.space``. Whole millimetres from the roof's front left corner
throughout, except for what is laid on the region, which counts from the region's corner: ``margin`` is
the way from the one to the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from optimizer.packing.grid import uncovered
from optimizer.packing.shapes import Placed, Region


@dataclass(frozen=True)
class At:
    """A position: ``x`` aft of the front axle, or unknown; ``y`` right of the middle; each from low to high."""

    x_low: int | None = None
    x_high: int | None = None
    y_low: int = 0
    y_high: int = 0


@dataclass(frozen=True)
class Lane:
    """A strip kept free along the whole roof, so far from one side of it and so wide."""

    name: str
    side: str
    """'front' and 'rear': it runs across; 'left' and 'right': fore and aft."""
    start: int
    width: int


@dataclass(frozen=True)
class RoofPlace:
    """The roof of the van."""

    size: tuple[int, int]
    edge: int
    """Margin along every edge of every flat part."""
    gap: int
    at: At
    curve: int = 0
    """Strip along the left and the right side where the roof falls away; the margin begins behind it."""
    parts: tuple[Placed, ...] = ()
    """Flat parts that do not overlap; none: it is flat as a whole."""
    obstacles: tuple[Placed, ...] = ()
    lanes: tuple[Lane, ...] = ()
    fan: tuple[int, int] | None = None
    """Where the fan's corner must be, from the region's; it may lie in the margins, not beyond them."""
    fan_side: int = 0
    """Side of the fan's opening."""

    @property
    def margin(self) -> tuple[int, int]:
        """From the roof's corner to the region's."""
        return self.edge, self.edge + self.curve

    @property
    def flats(self) -> tuple[Placed, ...]:
        """The flat parts with their margins, less the strips that curve away."""
        level = Placed("roof", 0, self.curve, self.size[0], max(0, self.size[1] - 2 * self.curve))
        return tuple(_common(part, level) for part in self.parts) or (level,)

    @property
    def part_edge(self) -> int:
        """The margin of a flat part: with several, things on two of them keep their gap as well."""
        return max(self.edge, self.gap + 1) if self.parts else self.edge

    @property
    def kept_free(self) -> tuple[Placed, ...]:
        """The lanes as rectangles, running over the whole roof."""
        return tuple(self._strip(lane, 0) for lane in self.lanes)

    def fan_at(self, side: int) -> Placed | None:
        """A fan that takes a square of that side where it is pinned, on the region's coordinates.

        Whatever is kept free around it is in the square, so of two fans the one that takes more covers the other:
        what is ruled out because of one is ruled out for all that take more.
        """
        return Placed("roof_fan", *self.fan, side, side) if self.fan is not None else None

    @cached_property
    def region(self) -> Region:
        """What things are laid on: the roof inside its margins, less all that is in their way.

        Things keep their gap from whatever is in their way, but need none from a lane or from where a flat part
        ends. So these are drawn in by the gap beforehand.
        """
        x, y = self.margin
        length, width = max(0, self.size[0] - 2 * x), max(0, self.size[1] - 2 * y)
        blocked = [*self.obstacles, *(self._strip(lane, self.gap) for lane in self.lanes)]
        if self.parts:
            blocked += self._not_flat()
        return Region(length, width, tuple(thing.moved(-x, -y) for thing in blocked))

    def _not_flat(self) -> list[Placed]:
        """All that lies between and around the flat parts, drawn in by the gap: as far as things could be too near."""
        flats = [flat.grown(self.gap - self.part_edge).moved(self.gap, self.gap) for flat in self.flats]
        corners = [(flat.x, flat.y, flat.x + flat.length, flat.y + flat.width) for flat in flats]
        bare = uncovered(self.size[0] + 2 * self.gap, self.size[1] + 2 * self.gap, corners)
        return [
            Placed("not flat", x - self.gap, y - self.gap, far_x - x, far_y - y) for x, y, far_x, far_y in bare
        ]

    def _strip(self, lane: Lane, drawn_in: int) -> Placed:
        """A lane with so much taken off along both its sides; a millimetre is always left."""
        along = lane.side in ("left", "right")
        whole = self.size[1 if along else 0]
        start = whole - lane.start - lane.width if lane.side in ("right", "rear") else lane.start
        off = min(drawn_in, (lane.width - 1) // 2)
        start, width = start + off, lane.width - 2 * off
        if along:
            return Placed(lane.name, 0, start, self.size[0], width)
        return Placed(lane.name, start, 0, width, self.size[1])

    def longer(self, more: int) -> RoofPlace:
        """The roof with so much more at its rear end, or less: the flat parts that reach furthest change with it."""
        end = max((part.x + part.length for part in self.parts), default=0)
        parts = []
        for part in self.parts:
            far = part.x + part.length
            far = end + more if far == end else min(far, end + more)
            parts.append(replace(part, length=max(0, far - part.x)))
        return replace(self, size=(max(0, self.size[0] + more), self.size[1]), parts=tuple(parts))


def _common(one: Placed, other: Placed) -> Placed:
    """What two rectangles have in common; nothing of it where they lie apart."""
    x, y = max(one.x, other.x), max(one.y, other.y)
    far_x, far_y = min(one.x + one.length, other.x + other.length), min(one.y + one.width, other.y + other.width)
    return Placed(one.id, x, y, max(0, far_x - x), max(0, far_y - y))
