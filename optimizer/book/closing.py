"""Last chapters: assumptions, sources, versions and hashes.

On the road: facts -> *chapters*. Sources are read from the formulas' own words, so that they cannot drift.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Container

from optimizer import physics
from optimizer.book.blocks import Block, Cell, Chapter, Para, Points, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.brief.topic import Topic
from optimizer.kitfile import versions
from optimizer.physics.battery import LAST_SHARES
from optimizer.showing import show

_WIDTHS = (75.0, 25.0)
_UNIT = re.compile(r"\[([^\]]+)\]")


def assumptions(facts: Facts) -> Chapter:
    """What was taken as given, and where the formulas come from."""
    brief = facts.job.brief
    blocks: list[Block] = [
        Table("Place", ("assumed", "value"), _rows(facts, brief.place), small=True, widths=_WIDTHS),
        Table("Comfort", ("assumed", "value"), _rows(facts, brief.comfort), small=True, widths=_WIDTHS),
        Table("Runs of cables and lines", ("as measured in the brief", "value"), _stated(facts), small=True,
              widths=_WIDTHS, note="All other runs are worked out from the places: the table of circuits has them."),
        Table("Van", ("assumed", "value"), _rows(facts, brief.vehicle), small=True, widths=_WIDTHS),
        Points((
            f"The bank keeps {brief.preferences.reserve:g} % of its usable energy back.",
            *_lead(facts),
            f"All together bring {show(brief.supplies.gear, 'kg', facts.units)} of gear; each eats"
            f" {show(brief.supplies.food_per_person_day, 'kg', facts.units)} of packed food a day.",
            "A trip starts with a full bank, full water and full fuel at noon of its departure day.",
            "A weather year is a year that was, or a typical one; the year you travel will differ.",
            "Parts are invented and generic. Hold the data sheet of what you buy against the data in this book.",
        )),
        Subhead("Where the formulas come from"), *sources(),
    ]  # fmt: skip
    return Chapter("assumptions", "Assumptions and sources", tuple(blocks))


def _lead(facts: Facts) -> tuple[str, ...]:
    """How full a bank of lead is counted on to become."""
    bank = facts.option("battery")
    last = LAST_SHARES[bank.traits["chemistry"]] if bank is not None else 0
    if not last:
        return ()
    return (
        f"Near full a lead battery takes less and less current, so it is not counted on above {100 * (1 - last):.0f} %."
        " Charge it to the top all the same whenever you can, on a hook-up or a long drive: it ages where it is left"
        " part empty for weeks.",
    )


def _rows(facts: Facts, topic: Topic, only: Container[str] | None = None) -> tuple[tuple[Cell, ...], ...]:
    """Every plain number or word of a table of the brief (of those in ``only``), with its description."""
    rows: list[tuple[Cell, ...]] = []
    for name, field in type(topic).model_fields.items():
        value = getattr(topic, name)
        asked = name != "name" and (only is None or name in only)
        if isinstance(value, tuple | Topic) or value is None or not asked:
            continue
        described = field.description or name
        unit = _UNIT.search(described)
        words = re.sub(r"\s+([;,.:])", r"\1", _UNIT.sub("", described)).strip().rstrip(";, ")
        rows.append((words[:1].upper() + words[1:], _value(facts, value, unit.group(1) if unit else "")))
    return tuple(rows)


def _stated(facts: Facts) -> tuple[tuple[Cell, ...], ...]:
    """Runs that the brief states, and how its fuses sit; the others follow from the places."""
    runs = facts.job.brief.vehicle.runs
    known = {*runs.model_fields_set, "fuse_from_source", "sheathed"}
    return _rows(facts, runs, known)


def _value(facts: Facts, value: object, unit: str) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return facts.num(float(value), "delta_degC" if unit == "K" else unit).text
    return str(value)


def sources() -> list[Block]:
    """The references of every room of formulas, as its own first words and list give them."""
    blocks: list[Block] = []
    for found in sorted(pkgutil.iter_modules(physics.__path__), key=lambda module: module.name):
        words = importlib.import_module(f"optimizer.physics.{found.name}").__doc__ or ""
        about, entries = words.strip().splitlines()[0], references(words)
        if entries:
            blocks += [Para(about, strong=True), Points(entries)]
    return blocks


def references(words: str) -> tuple[str, ...]:
    """The entries below 'References' of a docstring, each on one line."""
    _, _, below = words.partition("References\n")
    entries = re.split(r"^\.\. \[\d+\] ", below, flags=re.MULTILINE)[1:]
    return tuple(re.sub(r"\[(\d+)\]_", r"[\1]", " ".join(entry.split())) for entry in entries)


def colophon(facts: Facts, clock: str = "") -> Chapter:
    """Versions and hashes, and how to make the book again."""
    saved = facts.data
    rows: list[tuple[Cell, ...]] = [
        ("Brief", str(saved.get("brief_hash", "unknown"))),
        ("Catalog when the kit was chosen", str(saved.get("catalog_hash", "unknown"))),
        ("Catalog now", facts.job.catalog.hash),
        ("Status", facts.status),
    ]
    for name, amount in (("value", "Best value"), ("bound", "No kit can be better than")):
        number = saved.get(name)
        if isinstance(number, int | float):
            rows.append((amount, show(float(number), str(saved.get("unit", "")), facts.units)))
    now, then = versions(), saved.get("versions", {})
    table = tuple(
        (name, str(then.get(name, "unknown")) if isinstance(then, dict) else "unknown", version)
        for name, version in sorted(now.items())
    )
    blocks: list[Block] = [
        Table("Hashes", ("of what", "value"), tuple(rows)),
        Table("Versions", ("library", "when the kit was chosen", "when this book was made"), table),
        Para(
            "The folder made_from beside this book holds the brief, the files it names, and the kit. The book is made"
            " again with: kitwright book made_from/kit.json -o new_book (the kit file may lie deeper there)."
        ),
    ]
    if clock:
        blocks.append(Para(f"Made on {clock}."))
    return Chapter("versions", "Versions and hashes", tuple(blocks))
