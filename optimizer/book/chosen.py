"""Second chapter: the kit by system, with what each thing is for and why it was chosen.

On the road: facts + reasons -> *chapter*.
"""

from __future__ import annotations

import re

from optimizer.book.blocks import Block, Cell, Chapter, Figure, Subhead, Table
from optimizer.book.charts import by_system
from optimizer.book.facts import Facts
from optimizer.book.reasons import reason
from optimizer.parts.records import Part
from optimizer.problem.records import Group, Option
from optimizer.showing import show
from optimizer.telling import OWN_SYSTEM, SYSTEMS, in_units, option_cents, system_of

_SPECS = {
    "power_w": "W", "capacity_ah": "Ah", "output_a": "A", "output_w": "W", "continuous_w": "W", "volume_l": "L",
    "chilled_l": "L", "frozen_l": "L", "rating_a": "A", "airflow_m3_h": "m³/h",
}  # fmt: skip


def chosen(facts: Facts) -> Chapter:
    """Every system with its parts, and the reason of each."""
    blocks: list[Block] = []
    sums: list[tuple[str, int, int]] = []
    for system in [*SYSTEMS, OWN_SYSTEM]:
        some = [(g, o) for g, o in facts.kit.options(facts.job.problem) if system_of(g.kind) == system and not g.hidden]
        if not some:
            continue
        cents = sum(option_cents(facts.job.problem, facts.kit, option) for _, option in some)
        grams = sum(option.mass_g for _, option in some)
        sums.append((system, cents, grams))
        blocks += [Subhead(system), _table(facts, system, some, cents, grams)]
    figure = Figure(
        "by-system", "Money and mass by system; each includes the cables, fuses and fittings that its parts need.",
        f"Two bar charts of the systems of the kit. Dearest: {max(sums, key=lambda s: s[1])[0]};"
        f" heaviest: {max(sums, key=lambda s: s[2])[0]}. The tables below give the numbers.",
        "",
    )  # fmt: skip
    names, cents_of, grams_of = ([entry[place] for entry in sums] for place in range(3))
    svg = by_system(names, cents_of, grams_of, facts.units, figure.alt)  # type: ignore[arg-type]
    lead = (
        "Each thing was tried against the next better one of its kind, with everything else left as it is. Price and"
        " mass include the cables, fuses and fittings that a thing needs. All parts are generic: take any part whose"
        " data sheet is at least as good in every line that matters."
    )
    return Chapter(
        "kit", "The kit by system, and why", (Figure(figure.name, figure.caption, figure.alt, svg), *blocks), lead
    )


def _table(facts: Facts, system: str, some: list[tuple[Group, Option]], cents: int, grams: int) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for group, option in some:
        price = facts.money(option_cents(facts.job.problem, facts.kit, option))
        rows.append(
            (what(facts, option), _data(facts, option), price, facts.mass(option.mass_g), reason(facts, group, option))
        )
    total: tuple[Cell, ...] = ("together", "", facts.money(cents), facts.mass(grams), "")
    return Table(
        f"{system}: what was chosen", ("what", "data", "price", "mass", "why this one"), (*rows, total), feet=1,
        stack=True, quiet=True, widths=(19, 24, 11, 9, 37),
    )  # fmt: skip


def what(facts: Facts, option: Option) -> str:
    """The option's own parts by name, with how many and which are owned."""
    owned = {o.part: o.count for o in facts.job.problem.owned}
    names = []
    for part, count in facts.own_parts(option):
        many = f"{count} x " if count > 1 else ""
        mark = " [owned]" if owned.get(part, 0) >= count else f" [{owned[part]} owned]" if part in owned else ""
        names.append(f"{many}{facts.name_of(part)}{mark}")
    return "; ".join(names)


def _data(facts: Facts, option: Option) -> str:
    """How it is wired or used, its sizes and its catalog id."""
    record = facts.job.catalog.any_part(option.parts[0][0])
    words = [in_units(option.words, facts.units)] if option.words else []
    if "heat_loss_w_k" in option.effects:  # to the digit that the chapter on warmth tells
        loss = show(option.effects["heat_loss_w_k"], "W/K", facts.units)
        words = [re.sub("whole van loses .*", f"whole van loses {loss}", one) for one in words]
    if isinstance(record, Part):
        words += [f"{show(getattr(record, name), unit, facts.units)}" for name, unit in _SPECS.items()
                  if getattr(record, name, 0) and len(option.parts) and not option.words]  # fmt: skip
    sizes = [getattr(record, f"{side}_mm", 0) for side in ("length", "width", "height")]
    if all(sizes):
        words.append(" x ".join(show(size, "mm", facts.units) for size in sizes))
    return "; ".join([*words, record.id])
