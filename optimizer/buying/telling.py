"""The buy list, its circuits, settings, order of work and cautions in plain words, and the sheets of a workbook.

On the road: buy list -> terminal, CSV, XLSX. Only text and bytes are made here; the command writes them.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.buying.files import csv_text, xlsx_bytes
from optimizer.buying.lines import BuyList, buy_list, unlisted
from optimizer.buying.tables import Cell, Table, amount, buy_table, circuit_table, settings_rows
from optimizer.cautions import DEFER, cautions
from optimizer.check import check
from optimizer.circuits.bank import charger_settings
from optimizer.job import Job
from optimizer.problem.records import Kit
from optimizer.problem.wired import circuits_of
from optimizer.showing import show
from optimizer.telling import broken_rules
from optimizer.work_order import commissioning, work_order

FUSES_READ = (
    "Fuse 'none': panels of one or two strings cannot feed more than their cable carries (NFPA 70, 690.9, from"
    " memory), and links between batteries have the main fuse. Where three or more strings meet, each has its fuse."
)


def tell_buy(job: Job, kit: Kit) -> str:
    """Everything to buy, how it is wired, in which order it is fitted, what is tested, what to mind."""
    bought = buy_list(job, kit)
    broken = broken_rules(check(job.problem, kit), job.brief.units)
    parts = [
        *([f"Do not buy this kit. It breaks rules of the brief and catalog as they are now: {'; '.join(broken)}."]
          if broken else []),
        _tell_list(bought, job, kit),
        "Circuits\n" + _tell_circuits(job, kit),
        "Charger settings\n" + aligned(settings_table_of(job, kit)),
        "Order of work\n" + _numbered([step.text for step in work_order(job.problem, kit, job.catalog)]),
        "Before first use\n" + _numbered(commissioning(job.problem, kit, job.catalog)),
        "Cautions\n" + _tell_cautions(job, kit),
    ]
    return "\n\n".join(parts)


def _tell_list(bought: BuyList, job: Job, kit: Kit) -> str:
    units = job.brief.units
    lines, system = [], ""
    for line in bought.lines:
        if line.system != system:
            system = line.system
            inside = [other for other in bought.lines if other.system == system]
            lines.append(f"{system}: {show(sum(other.cents for other in inside) / 100, 'USD', units)}")
        quantity, unit, _ = amount(line, units)
        unit = "nights" if unit == "night" and quantity != 1 else unit
        many = f"{quantity:.4g} {unit} of" if unit != "piece" else f"{quantity:g} x"
        owned = f" [{line.owned} owned]" if line.owned else ""
        # What is for nothing but itself need not be said twice.
        purposes = [purpose for purpose in line.purposes if purpose != line.what]
        note = f" [{line.note}]" if line.note else ""
        purpose = f" ({'; '.join(purposes)})" if purposes else ""
        lines.append(f"  {many} {line.what}{owned}: {show(line.cents / 100, 'USD', units)}{purpose}{note}")
    lines.append(f"Total {show(bought.cents / 100, 'USD', units)}, {show(bought.mass_g / 1000, 'kg', units)}.")
    lines.append(f"Not on the list: {', '.join(unlisted(job, kit))}.")
    return "\n".join(lines)


def _tell_circuits(job: Job, kit: Kit) -> str:
    circuits = circuits_of(job.problem, kit)
    told = aligned(circuit_table(circuits, job.brief.units))
    return told if all(circuit.fuse_a for circuit in circuits) else f"{told}\n  {FUSES_READ}"


def settings_table_of(job: Job, kit: Kit) -> Table:
    """The settings for this kit's bank."""
    bank = kit.chosen(job.problem, "battery")
    chemistries = [bank.traits["chemistry"]] if bank is not None else []
    return settings_rows([charger_settings(chemistry, kit.voltage) for chemistry in chemistries], job.brief.units)


def _numbered(texts: Sequence[str]) -> str:
    return "\n".join(f"  {number}. {text}" for number, text in enumerate(texts, 1))


def _tell_cautions(job: Job, kit: Kit) -> str:
    found = cautions(job.problem, kit, job.catalog)
    lines = []
    for caution in found:
        named = f" See {'; '.join(caution.standards)}." if caution.standards else ""
        lines.append(f"  {caution.subject}: {caution.text}{named}")
    return "\n".join([*lines, f"  {DEFER}"])


def aligned(table: Table) -> str:
    """A table as columns of text, numbers to the right."""
    head, rows = table
    cells = [[_shown(cell) for cell in row] for row in [head, *rows]]
    widths = [max(len(row[at]) for row in cells) for at in range(len(head))]
    right = [all(isinstance(row[at], int | float) or not row[at] for row in rows) for at in range(len(head))]
    return "\n".join(
        "  " + "  ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(row, widths, right, strict=True)
        ).rstrip()
        for row in cells
    )  # fmt: skip


def _shown(cell: Cell) -> str:
    return f"{cell:g}" if isinstance(cell, int | float) else cell


def buy_csv(job: Job, kit: Kit) -> str:
    """The buy list as CSV text."""
    return csv_text(buy_table(buy_list(job, kit), job.brief.units))


def buy_xlsx(job: Job, kit: Kit) -> bytes:
    """A workbook: the list both ways, circuits, settings, order of work, cautions. Raises MissingExtra."""
    units, bought = job.brief.units, buy_list(job, kit)
    steps = [step.text for step in work_order(job.problem, kit, job.catalog)]
    tests = commissioning(job.problem, kit, job.catalog)
    minded = cautions(job.problem, kit, job.catalog)
    return xlsx_bytes({
        "By system": buy_table(bought, units),
        "By when needed": buy_table(bought, units, by_stage=True),
        "Circuits": circuit_table(circuits_of(job.problem, kit), units),
        "Charger settings": settings_table_of(job, kit),
        "Order of work": (("step", "what"), [(number, text) for number, text in enumerate(steps, 1)]),
        "Before first use": (("check", "what"), [(number, text) for number, text in enumerate(tests, 1)]),
        "Cautions": (
            ("subject", "what to mind", "standards"),
            [*((c.subject, c.text, "; ".join(c.standards)) for c in minded), ("Everywhere", DEFER, "")],
        ),
    })  # fmt: skip
