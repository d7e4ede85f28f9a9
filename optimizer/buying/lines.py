"""The lines of the buy list: quantity, unit price, total, mass, and what each thing is for.

On the road: kit -> *buy list*. The total is worked out from the catalog line by line, apart from the
problem's own sum, and must come to the same cent; the mass to the same gram.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from optimizer.buying.grouping import STAGES, SYSTEM_ORDER, place_of
from optimizer.circuits.records import Circuit
from optimizer.job import Job
from optimizer.parts.records import Cable, Fitting, Insulation, OwnPart, Part, SolarPanel
from optimizer.problem.records import Group, Kit, Option
from optimizer.problem.wired import as_wired
from optimizer.units import MASS_SCALE, MONEY_SCALE, demand_up

CELLS_BOX = "management system, fuse, busbars and enclosure of the loose cells"
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


@dataclass(frozen=True)
class Line:
    """One thing to buy, however many of it. Money in cents, mass in grams."""

    system: str
    stage: str
    part: str
    """The part's id; empty for what has none of its own."""
    what: str
    quantity: float
    unit: str
    """'piece', 'm' or 'm2'."""
    unit_usd: float
    cents: int
    """For all of it, what is owned free."""
    mass_g: int
    """Of all of it, owned or not."""
    purposes: tuple[str, ...]
    owned: int = 0
    note: str = ""
    """What the catalog has to say about the part: what comes with it, what to look at."""


@dataclass(frozen=True)
class BuyList:
    """Every line in the order of systems, stages and names."""

    lines: tuple[Line, ...]

    @property
    def cents(self) -> int:
        """Money for all of it."""
        return sum(line.cents for line in self.lines)

    @property
    def mass_g(self) -> int:
        """Mass of all of it."""
        return sum(line.mass_g for line in self.lines)


@dataclass
class _Heap:
    """A part gathered over the options that hold it."""

    count: int = 0
    quantity: float = 0.0
    cents: int = 0
    mass_g: int = 0
    unit: str = "piece"
    purposes: dict[str, None] = field(default_factory=dict)


def buy_list(job: Job, kit: Kit) -> BuyList:
    """Everything that the kit's price counts."""
    heaps: dict[str, _Heap] = {}
    extras: list[Line] = []
    for group, option in kit.options(job.problem):
        if group.hidden:
            continue
        used = _circuits_of_parts(as_wired(job.problem, kit, option.circuits))
        for part, count in option.parts:
            if is_nothing(job.catalog.any_part(part)):
                continue
            purposes = used.get(part) or [_purpose(job, group, option)]
            if job.catalog.kind_of(part) == "cell_manager":
                purposes = [CELLS_BOX]
            _add(job, heaps.setdefault(part, _Heap()), part, count, purposes)
        extras += _extras(job, kit, group, option)
    lines = [_line(job, part, heap) for part, heap in heaps.items()] + extras
    return BuyList(tuple(sorted(lines, key=_order)))


def unlisted(job: Job, kit: Kit) -> tuple[str, ...]:
    """What a builder must have beside the list: what the brief uses, and what is not chosen here."""
    named = [use.name for use in job.brief.uses]
    records = (job.catalog.any_part(part) for part in kit.counts(job.problem))
    if any(isinstance(record, Fitting) and record.role == "hookup_inlet" for record in records):
        named.append("a hook-up lead")
    return *named, "furniture", "sink and taps", "screws", "tools", "fuel"


def is_nothing(part: Part | OwnPart) -> bool:
    """A row that stands for doing without: insulation of no thickness, say."""
    return isinstance(part, Insulation) and not (part.thickness_mm or part.price_usd or part.mass_kg)


def _order(line: Line) -> tuple[int, int, tuple[tuple[str, float], ...], str]:
    return SYSTEM_ORDER.index(line.system), STAGES.index(line.stage), _as_read(line.what), line.part


def _as_read(name: str) -> tuple[tuple[str, float], ...]:
    """A name for sorting with its numbers as numbers: 2.5 mm2 before 10 mm2, AWG 8 before AWG 10."""
    words, numbers = _NUMBER.split(name), _NUMBER.findall(name)
    return tuple(zip(words, [*map(float, numbers), 0.0], strict=True))


def _add(job: Job, heap: _Heap, part_id: str, count: int, purposes: list[str]) -> None:
    part = job.catalog.any_part(part_id)
    times = insulated_m2(job) if isinstance(part, Insulation) else 1.0
    heap.count += count
    heap.quantity += count * times
    heap.cents += count * demand_up(part.price_usd * times, MONEY_SCALE)
    heap.mass_g += count * demand_up(part.mass_kg * times, MASS_SCALE)
    heap.unit = "m2" if isinstance(part, Insulation) else "piece"
    if isinstance(part, Cable) or (isinstance(part, Fitting) and part.unit == "m"):
        heap.unit = "m"
    heap.purposes |= dict.fromkeys(purposes)


def insulated_m2(job: Job) -> float:
    """Surface that takes the insulation chosen [m2]."""
    return sum(s.area for s in job.brief.vehicle.surfaces if s.kind in ("insulated", "floor"))


def _line(job: Job, part_id: str, heap: _Heap) -> Line:
    part = job.catalog.any_part(part_id)
    system, stage = place_of(job.catalog.kind_of(part_id), part)
    owned = next((o.count for o in job.problem.owned if o.part == part_id), 0)
    cents = heap.cents
    if owned:
        cents = demand_up(part.price_usd, MONEY_SCALE) * max(0, heap.count - owned)
    return Line(
        system, stage, part_id, part.name, heap.quantity, heap.unit, part.price_usd, cents, heap.mass_g,
        tuple(heap.purposes), min(owned, heap.count), part.note if isinstance(part, Part) else "",
    )


def _purpose(job: Job, group: Group, option: Option) -> str:
    """What an option is for: the name of its first part, or of its group."""
    if option.parts and option.parts[0][0] in job.catalog:
        return job.catalog.any_part(option.parts[0][0]).name
    return group.name.replace("_", " ")


def _circuits_of_parts(circuits: Sequence[Circuit]) -> dict[str, list[str]]:
    used: dict[str, list[str]] = {}
    for circuit in circuits:
        for part, _ in circuit.parts:
            used.setdefault(part, []).append(circuit.name)
    return used


def _extras(job: Job, kit: Kit, group: Group, option: Option) -> Iterator[Line]:
    """Brackets, which come with panels, and what a trip uses up."""
    for part_id, count in option.parts:
        part = job.catalog.any_part(part_id)
        if isinstance(part, SolarPanel) and (part.bracket_price_usd or part.bracket_mass_kg):
            system, stage = place_of("solar_panel", part)
            yield Line(
                system, stage, "", "Glue for a flexible panel" if part.flexible else "Set of brackets for a panel",
                count, "piece", part.bracket_price_usd, demand_up(count * part.bracket_price_usd, MONEY_SCALE),
                demand_up(count * part.bracket_mass_kg, MASS_SCALE), (part.name,),
            )
    per_night = option.get("cents_night")
    if per_night:
        system, _ = place_of(group.kind, job.catalog.any_part(option.parts[0][0]))
        yield Line(
            system, STAGES[-1], "", "Supplies used up on the trip", kit.nights, "night", per_night / 100,
            kit.nights * per_night, 0, (_purpose(job, group, option),),
        )
