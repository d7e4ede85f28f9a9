"""The buy list, the circuits and the charger settings as rows of plain cells: for CSV, XLSX, terminal and book.

On the road: buy list -> *rows* -> files. Units are in the headings; output in the brief's units.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from optimizer.buying.lines import BuyList, Line
from optimizer.circuits.bank import ChargerSettings
from optimizer.circuits.records import Circuit
from optimizer.showing import M_PER_FOOT, System, in_system
from optimizer.units import quantity

Cell = str | float
_US = {"m": ("ft", 1 / M_PER_FOOT), "m2": ("sq ft", M_PER_FOOT**-2)}
Table = tuple[tuple[str, ...], list[tuple[Cell, ...]]]


def buy_table(bought: BuyList, units: System, by_stage: bool = False) -> Table:
    """Headings and rows, by system or by when it is needed; masses in kg or lb."""
    mass_unit = "lb" if units == "us" else "kg"
    head = (
        "system", "needed", "part", "what", "quantity", "unit", "unit price [USD]", "total [USD]",
        f"mass [{mass_unit}]", "owned", "what for", "note",
    )  # fmt: skip
    lines = sorted(bought.lines, key=lambda line: line.stage) if by_stage else list(bought.lines)
    rows: list[tuple[Cell, ...]] = [
        (
            line.system, line.stage, line.part, line.what, *amount(line, units), line.cents / 100,
            mass(line.mass_g, units), line.owned or "", "; ".join(line.purposes), line.note,
        )
        for line in lines
    ]  # fmt: skip
    total: tuple[Cell, ...] = (
        "total", "", "", "", "", "", "", bought.cents / 100, mass(bought.mass_g, units), "", "the budget's used figure",
        "",
    )
    return head, [*rows, total]


def amount(line: Line, units: System) -> tuple[float, str, float]:
    """How much of a thing, its unit, and the price of one [USD]; feet and square feet for a brief in US units.

    Those are rounded up to a tenth: too long is cut, too short is bought again.
    """
    unit, factor = (_US if units == "us" else {}).get(line.unit, (line.unit, 1.0))
    many = line.quantity * factor
    many = math.ceil(10 * many - 1e-6) / 10 if factor != 1.0 else round(many, 2)
    return int(many) if many == int(many) else many, unit, round(line.unit_usd / factor, 4)


def mass(grams: int, units: System) -> float:
    """Grams in kg or lb, to a thousandth."""
    return round(quantity(f"{grams / 1000} kg", "lb"), 3) if units == "us" else grams / 1000


def circuit_table(circuits: Sequence[Circuit], units: System) -> Table:
    """Headings and rows of circuits."""
    long = "ft" if units == "us" else "m"
    head = (
        "circuit", "current [A]", "voltage [V]", f"one way [{long}]", "conductor", "carries [A]", "fuse [A]",
        "drop [V]", "drop [%]",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            c.name, round(c.current_a, 1), round(c.system_v, 1), length(c.length_m, units), c.size,
            round(c.ampacity_a, 1),
            c.fuse_a or c.string_fuse_a or "none", round(c.drop_v, 3), round(100 * c.drop_v / c.system_v, 1),
        )
        for c in circuits
    ]  # fmt: skip
    return head, rows


def length(metres: float, units: System) -> float:
    """Metres in m or ft, to a hundredth."""
    return round(quantity(f"{metres} m", "ft"), 2) if units == "us" else round(metres, 2)


def settings_rows(settings: Sequence[ChargerSettings], units: System) -> Table:
    """Headings and rows of charger settings."""
    degrees = "degF" if units == "us" else "degC"
    head = (
        "chemistry", "absorption [V]", "float [V]", "equalise [V]", "temperature [mV/K]",
        f"no charge below [{degrees}]", "low cut-off [V]",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            s.chemistry, s.absorption_v, s.float_v, s.equalise_v or "never", s.temperature_mv_k or "none",
            "none" if s.no_charge_below_c is None else in_system(s.no_charge_below_c, "degC", units)[0], s.low_cutoff_v,
        )
        for s in settings
    ]  # fmt: skip
    return head, rows
