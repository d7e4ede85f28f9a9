"""What to buy, in which order to fit it, and what to test before it is lived with.

On the road: facts -> *chapters*.
"""

from __future__ import annotations

import math

from optimizer.book.blocks import Block, Box, Cell, Chapter, Num, Para, Points, Subhead, Table
from optimizer.book.chosen import what
from optimizer.book.facts import Facts
from optimizer.buying.grouping import STAGES
from optimizer.buying.lines import Line
from optimizer.cautions import DEFER, cautions
from optimizer.showing import M_PER_FOOT
from optimizer.work_order import commissioning, work_order

_US = {"m": ("ft", 1 / M_PER_FOOT), "m2": ("sq ft", M_PER_FOOT**-2)}
_WIDTHS = (25, 9, 8.5, 9, 9, 22.5, 13)
_FITTED = {
    "roof fan": ("roof_fan",), "panels": ("solar_panel",), "insulation": ("insulation",),
    "fuel": ("heater",),
    "boards": ("charge_controller", "alternator_charger", "dc_converter", "inverter"), "mains": ("mains_charger",),
    "appliances": ("cold_box", "cooker", "water_container", "grey_container", "toilet", "fuel_tank"),
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
    blocks.append(Para(
        "Prices are the catalog's, invented and generic: type the prices you are quoted into a catalog of your own and"
        " choose again before you order. The files buy_list.csv and buy_list.xlsx have the same lines."
    ))  # fmt: skip
    lead = "By when it is needed. Lengths of cable are of single cores, with a tenth for bends and ends."
    return Chapter("buy", "Buy list", tuple(blocks), lead, fresh=True)


def _stage(facts: Facts, stage: str, lines: list[Line]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            line.what + (f" [{line.owned} owned]" if line.owned else ""),
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
    label, factor = (_US if facts.units == "us" else {}).get(line.unit, (line.unit.replace("m2", "m²"), 1.0))
    unit = "" if line.unit == "piece" else f" {label}"
    unit += "s" if line.unit == "night" and line.quantity != 1 else ""
    many, each = line.quantity * factor, line.unit_usd / factor
    if factor != 1.0:
        many = math.ceil(10 * many - 1e-6) / 10  # shops cut to a tenth; too long is cut, too short is bought again
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
        if group.kind in kinds and not group.hidden
    ]  # fmt: skip
    return f" Here: {'; '.join(dict.fromkeys(some))}." if some else ""


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
