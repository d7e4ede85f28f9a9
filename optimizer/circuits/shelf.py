"""The cables, fuses and fittings on offer, and the cheapest of them that fits.

On the road: under ``sizing`` and ``plans``, above the catalog. What the brief refuses is not on the shelf.
Small parts are taken by price, whatever the goal: first the price, then the mass, then the id.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from optimizer.circuits.records import Wired
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import Cable, Fitting, Fuse, Part
from optimizer.physics.wire import METRIC_AREAS_MM2, awg_area_mm2

Sizes = Literal["metric", "awg"]
WIRING_KINDS = ("cable", "fuse", "fitting")


@dataclass(frozen=True, eq=False)
class Shelf:
    """What may be bought for wiring; ``sizes`` says whether conductors are metric or AWG."""

    catalog: Catalog
    sizes: Sizes
    refused: frozenset[str] = frozenset()
    drawn: dict[object, Wired] = field(default_factory=dict)
    """Circuits already worked out, by what was asked: many options ask for the same."""

    def cables(self, use: str) -> tuple[tuple[float, Cable], ...]:
        """Cables for a use in these sizes with their copper [mm2], thinnest first, then cheapest."""
        return self._cables[use]

    @cached_property
    def _cables(self) -> dict[str, tuple[tuple[float, Cable], ...]]:
        found: dict[str, list[tuple[float, Cable]]] = {"dc": [], "solar": [], "mains": []}
        for part in self._offered("cable"):
            assert isinstance(part, Cable)
            area = area_of(part.size, self.sizes)
            if area is not None:
                found[part.use].append((area, part))
        return {use: tuple(sorted(some, key=lambda c: (c[0], *_worth(c[1])))) for use, some in found.items()}

    def fuse(
        self, styles: Collection[str], least_a: float, most_a: float, volts: float, interrupt_a: float
    ) -> Fuse | None:
        """The smallest fuse from ``least_a`` to ``most_a`` [A] that breaks so much at ``volts``, or None."""
        fitting = [
            fuse for fuse in self._fuses
            if fuse.style in styles and least_a <= fuse.rating_a <= most_a
            and fuse.volts_max >= volts and fuse.interrupt_a >= interrupt_a
        ]
        return min(fitting, key=lambda fuse: (fuse.rating_a, *_worth(fuse)), default=None)

    def largest_fuse_a(self, styles: Collection[str], most_a: float, volts: float) -> float:
        """The largest rating on offer up to ``most_a`` for so many volts, 0 when there is none [A]."""
        fitting = (fuse for fuse in self._fuses if fuse.style in styles and fuse.volts_max >= volts)
        return max((fuse.rating_a for fuse in fitting if fuse.rating_a <= most_a), default=0.0)

    @cached_property
    def _fuses(self) -> tuple[Fuse, ...]:
        return tuple(part for part in self._offered("fuse") if isinstance(part, Fuse))

    def fitting(
        self, role: str, *, rating_a: float = 0.0, volts: float = 0.0, area_mm2: float = 0.0, style: str = ""
    ) -> Fitting | None:
        """The cheapest fitting of a role that carries, stands and takes so much, or None."""
        able = [
            part for part in self._fittings
            if part.role == role and part.style == style and part.volts_max >= volts
            and (not rating_a or part.rating_a >= rating_a) and (not area_mm2 or part.area_mm2 >= area_mm2)
        ]
        return min(able, key=_worth, default=None)

    @cached_property
    def _fittings(self) -> tuple[Fitting, ...]:
        return tuple(part for part in self._offered("fitting") if isinstance(part, Fitting))

    def _offered(self, kind: str) -> tuple[Part, ...]:
        return tuple(part for part in self.catalog.parts[kind] if part.id not in self.refused)


def area_of(size: str, sizes: Sizes) -> float | None:
    """Copper of a size as catalogs write it, '16 mm2' or 'AWG 1/0' [mm2]; None for the other system."""
    if sizes == "metric":
        return next((area for area in METRIC_AREAS_MM2 if size == f"{area:g} mm2"), None)
    if not size.startswith("AWG "):
        return None
    word = size.removeprefix("AWG ")
    number = 1 - int(word.removesuffix("/0")) if word.endswith("/0") else int(word) if word.isdigit() else None
    return None if number is None else awg_area_mm2(number)


def _worth(part: Part) -> tuple[float, float, str]:
    return part.price_usd, part.mass_kg, part.id
