"""What to buy, in which order to fit it, and what to test before it is lived with.

On the road: facts -> *chapters*.
"""

from __future__ import annotations

from optimizer.book.blocks import Block, Box, Cell, Chapter, Num, Para, Points, Subhead, Table
from optimizer.book.chosen import what
from optimizer.book.facts import Facts
from optimizer.buying.grouping import STAGES
from optimizer.buying.lines import Line, unlisted
from optimizer.buying.tables import amount
from optimizer.cautions import DEFER, cautions
from optimizer.circuits.small_parts import GAS
from optimizer.parts.records import Heater
from optimizer.problem.records import Option
from optimizer.work_order import commissioning, work_order

_WIDTHS = (25, 9, 8.5, 9, 9, 22.5, 13)
_FITTED = {
    "roof fan": ("roof_fan",), "panels": ("solar_panel",), "insulation": ("insulation",),
    "fuel": ("heater",),
    "boards": ("charge_controller", "alternator_charger", "mains_charger", "dc_converter", "inverter"),
    "alternator": ("alternator_charger",),
    "mains": ("mains_charger", "inverter"), "plug-in mains": ("mains_charger", "inverter"),
    "gas": ("cooker", "fuel_tank"),
    "appliances": ("cold_box", "cooker", "heater", "water_container", "grey_container", "toilet", "fuel_tank"),
    "cells": ("cell_manager",),
    "bank": ("battery",),
}  # fmt: skip
"""Kinds of part that a step of the order of work fits."""


def shopping(facts: Facts) -> Chapter:
    """The buy list by when it is needed, to tick."""
    blocks: list[Block] = []
    for stage in STAGES:
        lines = [line for line in facts.bought.lines if line.stage == stage and (line.cents or line.mass_g)]
        if lines:
            blocks.append(_stage(facts, stage, lines))
    total = Num(facts.bought.cents / 100, facts.money(facts.bought.cents).text, "buy total")
    blocks.append(Para(f"All together {total.text}, {facts.mass(facts.bought.mass_g).text}.", strong=True))
    blocks.append(Para(f"Not on the list: {', '.join(unlisted(facts.job, facts.kit))}."))
    blocks.append(Para(
        "Prices are the catalog's, invented and generic: type the prices you are quoted into a catalog of your own and"
        " choose again before you order. The files buy_list.csv and buy_list.xlsx have the same lines."
    ))  # fmt: skip
    lead = "By when it is needed. Lengths of cable are of single cores, with a tenth for bends and ends."
    return Chapter("buy", "Buy list", tuple(blocks), lead, fresh=True)


def _stage(facts: Facts, stage: str, lines: list[Line]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            line.what + (f" [{line.owned} owned]" if line.owned else "") + (f" ({line.note})" if line.note else ""),
            *_many(facts, line), facts.money(line.cents), facts.mass(line.mass_g),
            _purposes(line), line.part or "-",
        )
        for line in lines
    ]  # fmt: skip
    cents, grams = sum(line.cents for line in lines), sum(line.mass_g for line in lines)
    rows.append(("this stage", "", "", facts.money(cents), facts.mass(grams), "", ""))
    head = ("what", "how many", "each", "together", "mass", "what for", "catalog id")
    return Table(f"Stage {stage}", head, tuple(rows), feet=1, tick=True, small=True, stack=True, widths=_WIDTHS)


def _many(facts: Facts, line: Line) -> tuple[Num, Num]:
    """How many, and the price of one; lengths and areas in the brief's units."""
    many, label, each = amount(line, facts.units)
    unit = "" if line.unit == "piece" else f" {label.replace('m2', 'm²')}"
    unit += "s" if line.unit == "night" and line.quantity != 1 else ""
    return Num(line.quantity, f"{many:.4g}{unit}"), Num(line.unit_usd, f"${each:,.2f}")


def _purposes(line: Line) -> str:
    words = "; ".join(purpose for purpose in line.purposes if purpose != line.what)
    return words or "-"


def work(facts: Facts) -> Chapter:
    """The order of work."""
    steps = work_order(facts.job.problem, facts.kit, facts.job.catalog)
    lead = "Each step comes after all that it needs. Common practice; makers' instructions go first."
    todo = Points(tuple(step.text + _fitted(facts, step.slug) for step in steps), numbered=True, ticked=True)
    return Chapter("work", "Order of work", (todo,), lead, fresh=True)


def _fitted(facts: Facts, step: str) -> str:
    """What of the kit a step fits, by name."""
    kinds = _FITTED.get(step, ())
    some = [
        what(facts, option) for group, option in facts.kit.options(facts.job.problem)
        if group.kind in kinds and not group.hidden and _belongs(facts, step, option)
    ]  # fmt: skip
    return f" Here: {'; '.join(dict.fromkeys(some))}." if some else ""


def _belongs(facts: Facts, step: str, option: Option) -> bool:
    """Whether a step fits this one of its kinds: gas apart from the rest, what is wired apart from what is plugged."""
    record = facts.job.catalog.any_part(option.main)
    fuel = str(getattr(record, "fuel", ""))
    if step in ("mains", "plug-in mains"):
        return (record.skill == "mains_wiring") == (step == "mains")
    if isinstance(record, Heater):
        return bool(fuel) == (step == "fuel")
    return (fuel == GAS) == (step == "gas") if step in ("gas", "appliances") else True


def first_use(facts: Facts) -> Chapter:
    """What to test before first use."""
    tests = commissioning(facts.job.problem, facts.kit, facts.job.catalog)
    lead = "Tick each one; stop at the first that fails."
    signed = Para("Tested by ____________________   on ____________   inspected by ____________________")
    return Chapter("first-use", "Before first use", (Points(tuple(tests), numbered=True, ticked=True), signed), lead)


def careful(facts: Facts) -> Chapter:
    """Cautions, with the standards whose subject they are."""
    boxes: list[Block] = [
        Box(c.subject, c.text, True, f"Standards on the subject: {'; '.join(c.standards)}." if c.standards else "")
        for c in cautions(facts.job.problem, facts.kit, facts.job.catalog)
    ]
    return Chapter("cautions", "Cautions", (*boxes, Subhead("In all of it"), Para(DEFER, strong=True)))
