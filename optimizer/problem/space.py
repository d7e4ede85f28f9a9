"""Where things can be: roof, bays, axles, and the things of a kit that need a place there.

On the road: inside ``problem``, made by ``problem.placing``, read by ``rules`` and ``places``. All
lengths are whole millimetres and all masses whole grams, rounded against the kit: things up, room down, and
a position that is not a whole millimetre is kept as the two around it, of which the worse counts.

Each thing counts at the middle of its place: a bay's, or the roof's (``problem.roof_place``). What has no
place that is known (a person without a seat, gear, insulation) counts in full on both axles, whichever it
really rests on.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.packing.bays import Bay, Stowed
from optimizer.packing.shapes import Placed
from optimizer.problem.roof_place import At, RoofPlace

__all__ = ["NOWHERE", "STATES", "At", "Ballast", "BayPlace", "Placement", "RoofPlace", "Space", "Thing"]

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
    hazard: str = ""
    """'vapour' is fuel that burns at room temperature, 'spark' is what can light it: never in one bay."""

    def mass_in(self, state: int) -> int:
        """Mass of one in a loading state [g]."""
        full = self.filling == ("supply", "", "waste")[state]
        return self.mass + (self.contents if full and self.filling else 0)

    @property
    def laid(self) -> tuple[int, int]:
        """Length and width of what it takes on the roof: its own, and what is kept free around it."""
        return self.length + 2 * self.clearance, self.width + 2 * self.clearance

    @property
    def heaviest(self) -> int:
        """Mass of one in the state in which it is heaviest [g]."""
        return self.mass + self.contents


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
class Reach:
    """How far the boxes of two choices may stand apart: what is chosen at the ``end`` has paid for a cable so long.

    ``apart`` says for each bay of the source and each of the end how far the middles of their boxes can be apart
    at the most, wherever in these bays they stand [mm]. Where the brief's author states the run, ``stated`` is
    true and the middles themselves must be within it: the nearest box of the source counts.
    """

    source: str
    """Group that feeds it or is fed by it: the bank, the converter, the fuse box."""
    end: str
    """Group whose options have a ``reach_mm``."""
    apart: tuple[tuple[str, str, int], ...] = ()
    stated: bool = False


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
    reaches: tuple[Reach, ...] = ()
    """Which choices must stand within the cable they pay for."""

    @property
    def has_bays(self) -> bool:
        """Whether the brief names bays at all; without any, bays bind nothing."""
        return bool(self.bays)


@dataclass(frozen=True)
class Placement:
    """Where everything of a kit is: on the roof's region, and in the bays."""

    roof: tuple[Placed, ...] = ()
    stowed: tuple[Stowed, ...] = ()
