"""What a circuit is, and the bundle of small parts that an option brings with it.

On the road: catalog + brief -> *circuits* -> problem. Knows nothing of options, rules or kits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optimizer.parts.records import Part

Level = Literal["bank", "branch", "box", "none"]
"""Where a circuit's fuse sits: at the bank, on the busbars, in the fuse box; 'none' has no fuse."""
SmallParts = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Circuit:
    """One pair of conductors (or one mains cable) with its fuse.

    Current in amperes, lengths in metres one way, voltages in volts, copper in mm2.
    """

    name: str
    """From what to what, in words."""
    use: Literal["dc", "solar", "mains"]
    level: Level
    current_a: float
    """Largest continuous current."""
    system_v: float
    """Voltage that the allowed drop is a share of."""
    fault_v: float
    """Highest voltage its fuse may have to break."""
    length_m: float
    drop_limit: float
    """Largest share of ``system_v`` that may be lost."""
    size: str
    insulation_c: float
    engine_space: bool
    ampacity_a: float
    drop_v: float
    fuse_a: float
    """Rating of its fuse or breaker, 0 for none."""
    interrupt_a: float
    """Fault current that its fuse breaks; 0 where the fuse is a part of its own, judged elsewhere."""
    fuse_volts: float
    fuse_distance_mm: float
    """From the source of power to the fuse along the conductor."""
    sheathed: bool
    strings: int = 0
    """Parallel strings behind a solar circuit."""
    string_current_a: float = 0.0
    """Greatest current of one string, 1.25 times its short-circuit current."""
    string_fuse_a: float = 0.0
    """Rating of the fuse in each string, 0 for none."""
    residual_ma: float = 0.0
    """Residual current at which a mains circuit is cut off [mA], 0 for never."""
    parts: SmallParts = ()
    """Part ids and how many: metres of cable, fuse, holder, lugs."""


@dataclass(frozen=True)
class Wired:
    """What an option brings along: its circuits, and small parts by count (metres for cable and line)."""

    circuits: tuple[Circuit, ...] = ()
    parts: tuple[tuple[Part, int], ...] = ()
    complete: bool = True
    """False when no cable, fuse or fitting on offer will do."""


def joined(*some: Wired) -> Wired:
    """Several bundles as one, the same part counted once."""
    counts: dict[str, tuple[Part, int]] = {}
    for wired in some:
        for part, count in wired.parts:
            _, known = counts.get(part.id, (part, 0))
            counts[part.id] = (part, known + count)
    return Wired(
        tuple(circuit for wired in some for circuit in wired.circuits),
        tuple(counts[part_id] for part_id in sorted(counts)),
        all(wired.complete for wired in some),
    )


def merged(parts: Sequence[tuple[Part, int]]) -> SmallParts:
    """Ids and counts, sorted, the same id once."""
    return tuple((part.id, count) for part, count in joined(Wired(parts=tuple(parts))).parts)
