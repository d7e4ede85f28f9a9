"""What to buy, in which order to fit it, and what to test before it is lived with.

On the road: facts -> *chapters*.
"""

from __future__ import annotations

from optimizer.book.blocks import Block, Box, Cell, Chapter, Num, Para, Points, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.buying.grouping import STAGES
from optimizer.buying.lines import Line
from optimizer.cautions import DEFER, cautions
from optimizer.work_order import commissioning, work_order


def shopping(facts: Facts) -> Chapter:
    """The buy list by when it is needed, to tick."""
    blocks: list[Block] = []
    for stage in STAGES:
        lines = [line for line in facts.bought.lines if line.stage == stage]
        if lines:
            blocks.append(_stage(facts, stage, lines))
    total = Num(facts.bought.cents / 100, facts.money(facts.bought.cents).text, "buy total")
    blocks.append(Para(f"All together {total.text}, {facts.mass(facts.bought.mass_g).text}.", strong=True))
    blocks.append(Para(
        "Prices are the catalog's, invented and generic: type the prices you are quoted into a catalog of your own and"
        " choose again before you order. The files buy_list.csv and buy_list.xlsx have the same lines."
    ))  # fmt: skip
    lead = "By when it is needed. Metres of cable are single cores with a tenth for bends and ends."
    return Chapter("buy", "Buy list", tuple(blocks), lead, fresh=True)


def _stage(facts: Facts, stage: str, lines: list[Line]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            line.what + (f" [{line.owned} owned]" if line.owned else ""), line.part or "-",
            Num(line.quantity, _many(line)),
            Num(line.unit_usd, f"${line.unit_usd:,.2f}"), facts.money(line.cents), facts.mass(line.mass_g),
            _purposes(line),
        )
        for line in lines
    ]  # fmt: skip
    cents, grams = sum(line.cents for line in lines), sum(line.mass_g for line in lines)
    rows.append(("this stage", "", "", "", facts.money(cents), facts.mass(grams), ""))
    head = ("what", "catalog id", "how many", "each", "together", "mass", "what for")
    return Table(f"Stage {stage}", head, tuple(rows), feet=1, tick=True, small=True)


def _many(line: Line) -> str:
    unit = "" if line.unit == "piece" else f" {line.unit.replace('m2', 'm²')}"
    return f"{line.quantity:.4g}{unit}"


def _purposes(line: Line) -> str:
    words = "; ".join(purpose for purpose in line.purposes if purpose != line.what)
    return words or "-"


def work(facts: Facts) -> Chapter:
    """The order of work."""
    steps = work_order(facts.job.problem, facts.kit, facts.job.catalog)
    lead = "Each step comes after all that it needs. Common practice; makers' instructions go first."
    todo = Points(tuple(step.text for step in steps), numbered=True, ticked=True)
    return Chapter("work", "Order of work", (todo,), lead, fresh=True)


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
