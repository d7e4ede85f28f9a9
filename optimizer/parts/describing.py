"""Catalogs explained: an empty CSV with its columns described, a CSV of parts, the guide to all kinds.

On the road: beside ``reading``, from the same columns, so that what is said is what is read. Makes
text only; writes no file.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from optimizer.errors import UsageError, nearest
from optimizer.parts.cells import EMPTY, Column, Value, columns_of
from optimizer.parts.records import KINDS, Part

PLURALS = {  # for headings
    "battery": "Batteries",
    "cell_manager": "Cell managers",
    "solar_panel": "Solar panels",
    "charge_controller": "Charge controllers",
    "alternator_charger": "Alternator chargers",
    "mains_charger": "Mains chargers",
    "inverter": "Inverters",
    "dc_converter": "DC converters",
    "heater": "Heaters",
    "fuel_tank": "Fuel tanks",
    "water_container": "Water containers",
    "grey_container": "Waste water containers",
    "toilet": "Toilets",
    "cold_box": "Cold boxes",
    "cooker": "Cookers",
    "roof_fan": "Roof fans",
    "insulation": "Insulation",
    "safety": "Safety items",
    "cable": "Cables",
    "fuse": "Fuses",
    "fitting": "Fittings",
}

_INTRODUCTION = """\
# The generic catalog

Every part here is invented, generic and unbranded. Prices, masses and sizes are plausible as common
practice goes, with no source; none of them is an offer or describes a product. Before buying, copy the
rows that matter into a folder of your own and put in what the shop and the data sheet say.

This page is made from the records of the parts (`optimizer/parts/records.py`), and a test keeps it true.

## A catalog of your own

A catalog is a folder of CSV files, each named after a kind: `battery.csv`, `solar_panel.csv` and so on.
A brief names its catalogs in order, for example `catalogs = ["generic", "my-parts"]`; folders are looked
for beside the brief, and `generic` always means this one. A later folder goes on top of the earlier ones:

* a row with a **new id** adds a part;
* a row with a **known id** changes that part: cells with something in them replace what was there, while
  blank cells and columns left out keep it, so `id,price_usd` is enough to correct prices;
* a row with `true` in the column `drop` takes the part with that id out.

The form: UTF-8, commas between, decimals with a point, the names of the columns in the first row. A row
that starts with `#` is skipped. `kitwright parts --template KIND` gives an empty file that explains
its columns. In a cell:

* a **number** stands in the unit in brackets below, or carries another unit: `24 in`, `12 lb`, `3 gal`;
* **true/false** may also be yes/no or 1/0;
* several **words** are written with `|` between: `inside|vented`;
* **blank** means left out: the default, or what an earlier catalog says;
* **-** means none, where there may be none: a part that needs no bay, skill or opening, burns no fuel.

A column whose name starts with `own_` is yours: any number for any part (blank is 0), to be used in a
limit or a goal of your own. Sizes are outer sizes; a part of size 0 takes no space worth counting.

## Columns of every kind

"""


def template(kind: str) -> str:
    """An empty CSV of ``kind``: comment rows that explain each column, then the header.

    Raises UsageError for an unknown kind.
    """
    if kind not in KINDS:
        raise UsageError(f"There is no kind '{kind}'. {nearest(kind, tuple(KINDS))}")
    lines = [[f"# {column.name}: {explained(column)}"] for column in columns_of(KINDS[kind]).values()]
    head = [[f"# {PLURALS[kind]}: {_about(kind)}"], ["# Fill in below the header; rows that start with # are skipped."]]
    return _csv([*head, *lines]) + csv_text(kind)


def csv_text(kind: str, parts: Iterable[Part] = ()) -> str:
    """A CSV of some parts of ``kind``, which reads back as the same parts."""
    columns = columns_of(KINDS[kind])
    rows = [[_cell(getattr(part, name), column) for name, column in columns.items()] for part in parts]
    return _csv([list(columns), *rows])


def explained(column: Column) -> str:
    """What a column means and what its cells take, as one line."""
    need = "needed" if column.required else f"blank = {_plain(column.default)}"
    return f"{column.description}; {column.accepts}; {need}"


def guide() -> str:
    """The README of the generic catalog: what it is, how to make one, and every column of every kind."""
    sections = [_INTRODUCTION, _column_table(columns_of(Part).values())]
    for kind, record in KINDS.items():
        own = [column for name, column in columns_of(record).items() if name not in columns_of(Part)]
        sections.append(f"\n## {PLURALS[kind]} (`{kind}.csv`)\n\n{_about(kind)}\n\n{_column_table(own)}")
    return "".join(sections)


def _about(kind: str) -> str:
    """What a part of ``kind`` is, and what its price and mass are for."""
    return " ".join((KINDS[kind].__doc__ or "").replace("``", "`").split())


def _column_table(columns: Iterable[Column]) -> str:
    lines = ["| column | meaning | cells | blank |", "| --- | --- | --- | --- |"]
    for column in columns:
        blank = "not allowed" if column.required else _plain(column.default)
        cells = [f"`{column.name}`", column.description, column.accepts, blank]
        lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines) + "\n"


def _cell(value: Value, column: Column) -> str:
    if value == "":
        return "" if column.default == "" else EMPTY
    return _plain(value)


def _plain(value: Value | None) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return "none" if value in ("", None) else str(value)


def _csv(rows: Iterable[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()
