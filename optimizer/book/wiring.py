"""The electrical chapter: one-line diagram, circuits with conductors and fuses, charger settings.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.book.bench import at_the_bench
from optimizer.book.blocks import Block, Box, Cell, Chapter, Figure, Num, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.book.oneline import AWAY_FROM_BUSBARS, Labels, diagram, ends_of, in_reading_order, short
from optimizer.buying.tables import circuit_table
from optimizer.cautions import DEFER
from optimizer.circuits.bank import charger_settings
from optimizer.circuits.records import Circuit
from optimizer.parts.records import Fitting
from optimizer.showing import show

_GUARDS = {
    "bank": "main fuse at the bank", "branch": "fuse on the busbars", "box": "blade fuse in the fuse box",
    "none": "none of its own: the main fuse",
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
        Subhead("What to set"),
        _settings(facts),
        Subhead("Questions at the bench"),
        at_the_bench(facts),
    ]
    return Chapter("wiring", "Electrics: diagram and circuits", tuple(blocks), fresh=True)


def _diagram(facts: Facts) -> Figure:
    bank = facts.option("battery")
    part, count = bank.parts[0] if bank else ("", 0)
    words = f"{count} x {facts.name_of(part)}" if count > 1 else facts.name_of(part) if bank else "bank"
    items = facts.safety
    main, switch = (f"{role.replace('_', ' ')} {items[role].rating_a:g} A" if role in items else role.replace("_", " ")
                    for role in ("main_fuse", "disconnect"))  # fmt: skip
    isolator = next((r.name for r in facts.records if isinstance(r, Fitting) and r.role == "array_switch"), "")
    said = "; ".join(_said(circuit) for circuit in facts.circuits)
    alt = f"One-line diagram. Sources on the left feed the busbars, consumers hang on the right. {said}."
    labels = Labels(f"{short(words, 38)}, {facts.kit.voltage} V", main, switch, isolator)
    svg = diagram(facts.circuits, labels, facts.units, alt)
    caption = (
        "One line stands for plus and minus. Above each: fuse and conductor of each core; below: how long, one way."
        " Each fuse sits at the end that the power to fear comes from."
        + (f" Between panels and controller: {isolator}." if isolator else "")
    )
    return Figure("one-line", caption, alt, svg)


def _said(circuit: Circuit) -> str:
    fuse = circuit.fuse_a or circuit.string_fuse_a
    return f"{circuit.name}: {circuit.size}" + (f", {fuse:g} ampere fuse" if fuse else ", no fuse")


def _circuits(circuits: Sequence[Circuit], facts: Facts) -> Table:
    head, rows = circuit_table(in_reading_order(circuits), facts.units)
    note = "Carries: what the conductor may carry where it lies. Drop: at the current shown, conductor warm."
    return Table("Every circuit", head, tuple(tuple(map(_cell, row)) for row in rows), small=True, note=note)


def _cell(cell: str | float) -> Cell:
    return Num(float(cell), f"{cell:g}") if isinstance(cell, int | float) else cell.replace("mm2", "mm²")


def _guards(facts: Facts) -> Table:
    """What guards each circuit, and what its fuse must be able to break."""
    main = facts.safety.get("main_fuse")
    rows: list[tuple[Cell, ...]] = []
    for circuit in in_reading_order(facts.circuits):
        rating = circuit.fuse_a or circuit.string_fuse_a
        where = "breaker on the mains board" if circuit.use == "mains" and rating else _GUARDS[circuit.level]
        if ends_of(circuit)[0] in AWAY_FROM_BUSBARS:
            where = f"fuse at the {ends_of(circuit)[0]}"
        if circuit.use == "solar":
            where = "a fuse in each string" if circuit.string_fuse_a else "none: too few strings to feed a fault"
        interrupt, most = circuit.interrupt_a, circuit.fuse_volts
        if circuit.level == "bank" and main is not None:
            interrupt, most = main.interrupt_a, main.bank_v_max
        breaks = Num(interrupt, f"{interrupt:,.0f} A") if interrupt else "-"
        volts = Num(most, f"{most:g} V") if most else "-"
        near = show(circuit.fuse_distance_mm, "mm", facts.units) if circuit.level in ("bank", "branch") else "-"
        rows.append((circuit.name, f"{rating:g} A" if rating else "none", where, volts, breaks, near))
    head = ("circuit", "fuse", "where", "stands", "breaks", "cable before it")
    return Table("What guards each circuit", head, tuple(rows), small=True)


def _settings(facts: Facts) -> Table:
    """What every charger of this bank is set to, a line a setting."""
    bank = facts.option("battery")
    voltage = facts.num(facts.kit.voltage, "V", "voltage")
    rows: list[tuple[Cell, ...]] = [("nominal voltage", voltage, "set it also where a charger finds it by itself")]
    if bank is not None:
        found = charger_settings(bank.traits["chemistry"], facts.kit.voltage)
        named = CHEMISTRIES.get(found.chemistry, found.chemistry)
        equalise = facts.num(found.equalise_v, "V") if found.equalise_v else "never"
        coldest = "none" if found.no_charge_below_c is None else facts.num(found.no_charge_below_c, "degC")
        frost = "this bank warms itself first" if bank.effects.get("charges_cold") else "its manager must stop it"
        slope, lithium = found.temperature_mv_k, found.chemistry.startswith("lfp")
        rows += [
            ("chemistry", named, "the programme, where one is to be picked"),
            ("absorption", facts.num(found.absorption_v, "V"), "held until the current has fallen to a few per cent"),
            ("float", facts.num(found.float_v, "V"),
             "or none, where its maker asks for none" if lithium else "held as long as a charger is on"),
            ("equalise", equalise, "by hand, under watch, loads off" if found.equalise_v else "off in every charger"),
            ("by temperature", f"{slope:g} mV/K" if slope else "none",
             "with a sensor on the bank" if slope else "off in every charger"),
            ("no charge below", coldest,
             "" if found.no_charge_below_c is None else f"of the cells, not of the air: {frost}"),
            ("loads off below", facts.num(found.low_cutoff_v, "V"), "at rest; inverter and low-voltage cut-off"),
        ]  # fmt: skip
        charge = facts.limit("charge_current")
        if charge is not None:
            most = facts.num(charge.allowed / charge.scale, "A")
            rows.append(("charging current, all together", most, f"at most; {_charging(facts, charge.allowed)}"))
    return Table(
        "Settings of every charger", ("setting", "value", "what it is"), tuple(rows),
        note="Common practice: the battery maker's data sheet goes first. Set them before the first charge.",
    )  # fmt: skip


def _charging(facts: Facts, most_ma: int) -> str:
    """How the chargers of the kit stand to what the bank takes [mA]."""
    gives = {
        option.main: option.get("output_ma") + option.get("charger_ma") + option.get("hookup_ma")
        for _, option in facts.kit.options(facts.job.problem)
    }
    if not any(gives.values()):
        return "nothing in this kit charges it"
    if sum(gives.values()) <= most_ma:
        return "all chargers at once give no more"
    above = [facts.name_of(part) for part, milliamperes in gives.items() if milliamperes > most_ma]
    return f"set lower: {', '.join(above)}" if above else "each charger by itself gives no more"


CHEMISTRIES = {
    "lfp": "lithium iron phosphate", "lfp_heated": "lithium iron phosphate, heated", "agm": "lead, absorbed (AGM)",
    "gel": "lead, gel", "flooded": "lead, flooded",
}  # fmt: skip
