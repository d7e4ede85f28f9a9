"""One circuit worked out: the thinnest cable on offer, its fuse, holder, lugs, and what it all comes to.

On the road: above ``shelf`` and ``physics.wire``, under ``plans``. Ampacity, drop and fuse come from
``physics.wire`` with their sources; here they meet what the catalog has.

Common practice, no source: a tenth more cable than the run, for bends and ends, bought by the whole
metre; fuse interrupt levels behind a main fuse that breaks the bank's whole fault current by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Literal

from optimizer.circuits.records import Circuit, Level, Wired
from optimizer.circuits.shelf import Shelf
from optimizer.parts.records import Cable, Fuse, Part
from optimizer.physics.wire import CONTINUOUS_FACTOR, Conductor, choose_conductor

SLACK = 1.1
INTERRUPT_A: dict[Level, float] = {"bank": 0.0, "branch": 2000.0, "box": 1000.0, "none": 0.0}
"""Least fault current that a fuse must break behind the main fuse; the main fuse itself has a rule of its own."""
STYLES: dict[Level, tuple[str, ...]] = {"bank": (), "branch": ("bolted",), "box": ("blade",), "none": ()}
IN_LINE: dict[Level, int] = {"bank": 2, "branch": 1}
"""Holders and switches that the plus core is cut for, each with a lug on both sides: main fuse and disconnect, or a
bolted fuse."""
HAIR = 1e-9  # a quotient that should be whole is whole


@dataclass(frozen=True)
class Need:
    """What a circuit is asked for; current [A], voltages [V], length one way [m]."""

    name: str
    level: Level
    current_a: float
    system_v: float
    fault_v: float
    length_m: float
    drop_limit: float
    use: Literal["dc", "solar", "mains"] = "dc"
    guard_a: float = 0.0
    """Rating of a fuse or breaker bought elsewhere that guards it; the conductor must carry this."""
    least_ampacity_a: float = 0.0
    engine_space: bool = False
    strings: int = 0
    fuse_distance_mm: float = 0.0
    sheathed: bool = False
    residual_ma: float = 0.0
    """Rating of the residual-current device that guards a mains circuit."""


def wire(shelf: Shelf, need: Need) -> Wired:
    """The circuit with its parts; an incomplete bundle when nothing on offer will do."""
    if need not in shelf.drawn:
        shelf.drawn[need] = _wire(shelf, need)
    return shelf.drawn[need]


def _wire(shelf: Shelf, need: Need) -> Wired:
    for area, cable in shelf.cables(need.use):
        found = choose_conductor(
            need.current_a, need.length_m, need.system_v, need.drop_limit, cable.insulation_c,
            engine_space=need.engine_space, sizes=shelf.sizes, sheathed=need.use != "dc",
            on_offer=(cable.size,), mains=need.use == "mains",
        )
        if found is None or found.ampacity_a < max(need.least_ampacity_a, need.guard_a):
            continue
        small = _fuse_parts(shelf, need, found)
        ends = _end_parts(shelf, need, area)
        if small is not None and ends is not None:
            return _made(need, cable, found, small, ends)
    return Wired(complete=False)


def _fuse_parts(shelf: Shelf, need: Need, found: Conductor) -> tuple[Fuse | None, list[tuple[Part, int]]] | None:
    """Fuse and holder; None when none guards this conductor."""
    if not STYLES[need.level] or need.guard_a:
        return None, []
    least = CONTINUOUS_FACTOR * need.current_a * (1 - HAIR)
    fuse = shelf.fuse(STYLES[need.level], least, found.ampacity_a, need.fault_v, INTERRUPT_A[need.level])
    if fuse is None:
        return None
    if need.level == "box":
        return fuse, [(fuse, 1)]
    holder = shelf.fitting("fuse_holder", rating_a=fuse.rating_a, volts=need.fault_v, style=fuse.style)
    return None if holder is None else (fuse, [(fuse, 1), (holder, 1)])


def _end_parts(shelf: Shelf, need: Need, area_mm2: float) -> list[tuple[Part, int]] | None:
    """Lugs at both ends of both cores and beside what is in line; solar cable has connectors, mains terminals."""
    if need.use != "dc":
        return []
    lug = shelf.fitting("lug", area_mm2=area_mm2 * (1 - HAIR))
    return None if lug is None else [(lug, 4 + 2 * IN_LINE.get(need.level, 0))]


def metres(length_m: float, cores: int) -> int:
    """Whole metres to buy of a one-way run: so many cores, with slack."""
    return max(1, ceil(cores * length_m * SLACK - HAIR))


def _made(
    need: Need, cable: Cable, found: Conductor,
    small: tuple[Fuse | None, list[tuple[Part, int]]], ends: list[tuple[Part, int]],
) -> Wired:
    fuse, guards = small
    cores = 1 if need.use == "mains" else 2
    parts: list[tuple[Part, int]] = [(cable, metres(need.length_m, cores)), *guards, *ends]
    circuit = Circuit(
        name=need.name, use=need.use, level=need.level, current_a=need.current_a, system_v=need.system_v,
        fault_v=need.fault_v, length_m=need.length_m, drop_limit=need.drop_limit, size=cable.size,
        insulation_c=cable.insulation_c, engine_space=need.engine_space, ampacity_a=found.ampacity_a,
        drop_v=found.drop_v, fuse_a=fuse.rating_a if fuse else need.guard_a,
        interrupt_a=fuse.interrupt_a if fuse else 0.0, fuse_volts=fuse.volts_max if fuse else 0.0,
        fuse_distance_mm=need.fuse_distance_mm, sheathed=need.sheathed, strings=need.strings,
        residual_ma=need.residual_ma,
        parts=tuple((part.id, count) for part, count in parts),
    )  # fmt: skip
    return Wired((circuit,), tuple(parts))
