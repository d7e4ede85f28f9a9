"""The electrical chapter: one-line diagram, circuits with conductors and fuses, charger settings.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.book.blocks import Block, Box, Cell, Chapter, Figure, Num, Points, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.book.oneline import BANK, BUS, diagram, ends_of
from optimizer.buying.tables import circuit_table
from optimizer.buying.telling import settings_table_of
from optimizer.cautions import DEFER
from optimizer.circuits.records import Circuit
from optimizer.parts.records import SafetyItem
from optimizer.showing import show

_WIRED = {"battery": "Bank", "panels_1": "Solar array", "panels_2": "Second solar array"}
_GUARDS = {
    "bank": "main fuse at the bank", "branch": "fuse on the busbars", "box": "blade fuse in the fuse box",
    "none": "none of its own",
}  # fmt: skip


def wiring(facts: Facts) -> Chapter | None:
    """The chapter; None for a kit without circuits."""
    if not facts.circuits:
        return None
    blocks: list[Block] = [
        Box(
            "For whoever inspects it",
            "Sizes and fuses follow the published tables named in the last chapter. " + DEFER,
            True,
        ),
        _diagram(facts),
        _circuits(facts.circuits, facts),
        _guards(facts),
        *_details(facts),
        Subhead("Charger settings"),
        _settings(facts),
    ]
    return Chapter("wiring", "Electrics: diagram, circuits, settings", tuple(blocks), fresh=True)


def _diagram(facts: Facts) -> Figure:
    bank = facts.option("battery")
    part, _ = bank.parts[0] if bank else ("", 0)
    words = f"{facts.name_of(part)}" if bank else "bank"
    safety = {
        record.role: record.name
        for record in (facts.job.catalog.any_part(p) for p in facts.kit.counts(facts.job.problem))
        if isinstance(record, SafetyItem)
    }
    ratings = {
        record.role: f"{record.rating_a:g} A"
        for record in (facts.job.catalog.any_part(p) for p in facts.kit.counts(facts.job.problem))
        if isinstance(record, SafetyItem) and record.rating_a
    }
    main = f"main fuse {ratings.get('main_fuse', '')}" if "main_fuse" in safety else "main fuse"
    switch = f"disconnect {ratings.get('disconnect', '')}".strip()
    said = "; ".join(_said(circuit) for circuit in facts.circuits)
    alt = f"One-line diagram. Sources on the left feed the busbars, consumers hang on the right. {said}."
    svg = diagram(facts.circuits, f"{words}, {facts.kit.voltage} V", main, switch, facts.units, alt)
    caption = (
        "One line stands for plus and minus. Above each: fuse and conductor of each core; below: how long, one way."
        " Each fuse sits at the end that the power to fear comes from."
    )
    return Figure("one-line", caption, alt, svg)


def _said(circuit: Circuit) -> str:
    fuse = circuit.fuse_a or circuit.string_fuse_a
    return f"{circuit.name}: {circuit.size}" + (f", {fuse:g} ampere fuse" if fuse else ", no fuse")


def _circuits(circuits: Sequence[Circuit], facts: Facts) -> Table:
    head, rows = circuit_table(circuits, facts.units)
    note = "Carries: what the conductor may carry where it lies. Drop: at the current shown, conductor warm."
    return Table("Every circuit", head, tuple(tuple(map(_cell, row)) for row in rows), small=True, note=note)


def _cell(cell: str | float) -> Cell:
    return Num(float(cell), f"{cell:g}") if isinstance(cell, int | float) else cell.replace("mm2", "mm²")


def _guards(facts: Facts) -> Table:
    """What guards each circuit, and what its fuse must be able to break."""
    rows: list[tuple[Cell, ...]] = []
    for circuit in facts.circuits:
        rating = circuit.fuse_a or circuit.string_fuse_a
        where = "breaker on the mains board" if circuit.use == "mains" and rating else _GUARDS[circuit.level]
        if circuit.use == "solar":
            where = "a fuse in each string" if circuit.string_fuse_a else "none: too few strings to feed a fault"
        breaks = Num(circuit.interrupt_a, f"{circuit.interrupt_a:,.0f} A") if circuit.interrupt_a else "-"
        volts = Num(circuit.fuse_volts, f"{circuit.fuse_volts:g} V") if circuit.fuse_volts else "-"
        near = show(circuit.fuse_distance_mm, "mm", facts.units) if circuit.level in ("bank", "branch") else "-"
        rows.append((circuit.name, f"{rating:g} A" if rating else "none", where, volts, breaks, near))
    head = ("circuit", "fuse", "where", "stands", "breaks", "cable before it")
    return Table("What guards each circuit", head, tuple(rows), small=True)


def _details(facts: Facts) -> list[Block]:
    """Answers to what a person with the cable in hand asks."""
    lead = next((c for c in facts.circuits if ends_of(c) == (BANK, BUS)), None)
    items = [
        "Every direct-current circuit is two cores of the size shown, plus and minus, side by side; the minus comes"
        " back to the minus busbar, never through the body.",
        "Red is plus, black (or yellow) is minus; both ends of each cable carry a label with the circuit's name.",
        "Tools: crimping pliers for every lug size, heat gun, insulated tools, multimeter, torque driver, hole saws,"
        " file, primer and brush, and a set of spare fuses of each rating in the van. They are not on the buy list.",
        "Tighten terminals to the torque their makers print; where none is printed, ask. Loose terminals burn.",
        "The lugs on the list are two for each core; crimp them with the tool that their maker names, tug, then shrink"
        " the sleeve.",
        "The minus busbar is bonded to the body at one place; where mains is fitted, so is its earth. The bond's size"
        " follows the local code.",
        "Before the conductor sizes are taken as they are: measure each run along the path it will lie, and change"
        " [vehicle.runs] in the brief where it is longer than shown.",
    ]
    items += [f"{_wired(facts, group)}." for group in _WIRED if facts.option(group) is not None]
    if lead is not None:
        items.append(
            f"Bank to busbars: {lead.size}, main fuse within {show(lead.fuse_distance_mm, 'mm', facts.units)} of the"
            " bank's plus terminal, disconnect right after it, nothing connected before the fuse."
        )
    return [Subhead("How to read it in the workshop"), Points(tuple(items))]


def _wired(facts: Facts, group: str) -> str:
    """How a bank or an array is put together, in the option's own words."""
    option = facts.option(group)
    assert option is not None
    part, count = option.parts[0]
    return f"{_WIRED[group]}: {count} x {facts.name_of(part)}, {option.words}"


def _settings(facts: Facts) -> Table:
    head, rows = settings_table_of(facts.job, facts.kit)
    note = "Common practice: the battery maker's data sheet goes first."
    return Table(
        f"Settings for the {facts.kit.voltage} V bank", head, tuple(tuple(map(_cell, row)) for row in rows), note=note
    )
