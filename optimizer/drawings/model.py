"""What a view looks at, and the head that every sheet has.

On the road: inside ``drawings``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimizer.brief.vehicle import Vehicle
from optimizer.drawings.sheet import FAINT, FONT, Sheet
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import Placement, Space
from optimizer.showing import System, show

MARGIN = 62.0
PAGE = 1080.0


@dataclass(frozen=True)
class Model:
    """What a view looks at."""

    title: str
    vehicle: Vehicle
    problem: Problem
    kit: Kit
    units: System
    name_of: Callable[[str], str]
    """The name of a part by its id."""
    size_of: Callable[[str], tuple[float, float]]
    """Outer length and width of a part by its id [mm]."""

    @property
    def space(self) -> Space:
        """The van's places."""
        assert self.problem.space is not None
        return self.problem.space

    @property
    def places(self) -> Placement:
        """Where everything is."""
        assert self.kit.places is not None
        return self.kit.places

    def mm(self, value: float) -> str:
        """A length in the brief's units."""
        return show(value, "mm", self.units)

    def kg(self, grams: float) -> str:
        """A mass in the brief's units."""
        return show(grams / 1000, "kg", self.units)

    def named(self, thing: str) -> str:
        """The name of a single thing: its part's, and which of several."""
        _, part, number = thing.rsplit("/", 2)
        alike = sum(other.rsplit("/", 1)[0] == thing.rsplit("/", 1)[0] for other in self._all)
        return self.name_of(part) + (f", no. {number}" if alike > 1 else "")

    @property
    def _all(self) -> list[str]:
        return [p.id for p in self.places.roof] + [s.id for s in self.places.stowed]


def head(model: Model, view: str) -> Sheet:
    sheet = Sheet(f"{model.title}: {view}", PAGE)
    sheet.text((MARGIN, 34), model.title, 19, bold=True)
    sheet.text((MARGIN, 54), view, FONT, fill=FAINT)
    return sheet
