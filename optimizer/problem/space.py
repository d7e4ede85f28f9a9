"""Where things can be: roof, bays, axles, and the things of a kit that need a place there.

On the road: inside ``problem``, made by ``problem.placing``, read by ``rules`` and ``places``. All
lengths are whole millimetres and all masses whole grams, rounded against the kit: things up, room down, and
a position that is not a whole millimetre is kept as the two around it, of which the worse counts.

Each thing counts at the middle of its place: a bay's, or the roof's. What has no place that is known (a
person without a seat, gear, insulation) counts in full on both axles, whichever it really rests on.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.packing.bays import Bay, Stowed
from optimizer.packing.shapes import Placed, Region

STATES = ("departure", "driver alone", "return")
"""How the van is loaded: all full and all in; nobody but the driver and all tanks empty; on the way back."""


@dataclass(frozen=True, order=True)
class Thing:
    """Parts of one sort that need a place, so many of them. Sizes and masses are those of one."""

    part: str
    count: int
    length: int
    width: int
    height: int
    mass: int
    """Empty [g]."""
    contents: int = 0
    """Full, what is in it [g]."""
    filling: str = ""
    """'supply' is full at departure (water, fuel), 'waste' is full on the return."""
    tags: tuple[str, ...] = ()
    upright: bool = False
    clearance: int = 0
    on_roof: bool = False
    opening: str = ""
    skill: str = ""

    def mass_in(self, state: int) -> int:
        """Mass of one in a loading state [g]."""
        full = self.filling == ("supply", "", "waste")[state]
        return self.mass + (self.contents if full and self.filling else 0)

    @property
    def heaviest(self) -> int:
        """Mass of one in the state in which it is heaviest [g]."""
        return self.mass + self.contents


@dataclass(frozen=True)
class At:
    """A position: ``x`` aft of the front axle, or unknown; ``y`` right of the middle; each from low to high."""

    x_low: int | None = None
    x_high: int | None = None
    y_low: int = 0
    y_high: int = 0


NOWHERE = At()


@dataclass(frozen=True)
class Ballast:
    """Something that is aboard whatever is chosen."""

    name: str
    mass: int
    at: At
    states: tuple[int, ...]
    """In which loading states it is aboard."""


@dataclass(frozen=True)
class BayPlace:
    """A bay, where its middle is, and what it adds to the van's length when something is in it."""

    bay: Bay
    at: At
    floor: int
    """Above the ground."""
    hangs_out: int = 0


@dataclass(frozen=True)
class RoofPlace:
    """The roof inside its margins. The region's origin is the corner of the margins."""

    region: Region
    gap: int
    margin: tuple[int, int]
    """Of the roof's own corner: what to add to a place on the region to get one on the roof."""
    size: tuple[int, int]
    """Of the whole roof."""
    at: At
    fan: tuple[int, int] | None = None
    """Where the fan's corner must be on the region; it may lie in the margins."""
    fan_side: int = 0
    """Side of the fan's opening."""


@dataclass(frozen=True)
class Space:
    """Everything about the van that decides where things can be."""

    roof: RoofPlace
    bays: tuple[BayPlace, ...]
    wheelbase: tuple[int, int]
    """Rounded down and up."""
    track: int
    weighed: tuple[int, int]
    """On the front axle and on the rear axle, as weighed [g]."""
    weighed_sides: tuple[int, int]
    """Right less left, and left less right, of the weighed mass [g]."""
    ballast: tuple[Ballast, ...]
    food: At
    """Where food is; its mass goes by the nights."""
    may_split: bool = False
    """Whether a bank or a set of containers may be spread over bays."""

    @property
    def has_bays(self) -> bool:
        """Whether the brief names bays at all; without any, bays bind nothing."""
        return bool(self.bays)


@dataclass(frozen=True)
class Placement:
    """Where everything of a kit is: on the roof's region, and in the bays."""

    roof: tuple[Placed, ...] = ()
    stowed: tuple[Stowed, ...] = ()
