"""What two columns of one part must make of each other: a catalog's slips that no single cell shows.

On the road: after ``reading`` has made a record, before the catalog. Bounds here catch slips such as
a watt written for a kilowatt; they do not judge whether a part is good.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.parts.records import (
    Battery,
    ColdBox,
    Cooker,
    FuelTank,
    Heater,
    Inverter,
    Part,
    SolarPanel,
)

Oddity = tuple[str, str, str]  # column, value as shown, what was expected

ROUNDING_SHARE = 0.10  # a rated power may differ so much from voltage times current, as data are rounded
CELL_V = 4.0  # a loose cell has a lower nominal voltage than this [V]


def oddities(part: Part) -> Iterator[Oddity]:
    """Every pair of columns of ``part`` that cannot both be right."""
    if isinstance(part, Battery):
        yield from _battery(part)
    elif isinstance(part, SolarPanel):
        yield from _panel(part)
    elif isinstance(part, Inverter):
        yield from _at_least(part, "peak_w", "continuous_w")
    elif isinstance(part, ColdBox):
        yield from _at_least(part, "wh_day_32", "wh_day_25")
        if part.chilled_l + part.frozen_l <= 0:
            yield "chilled_l", "0", "room for chilled or frozen food above 0 [L]"
    elif isinstance(part, Heater):
        yield from _heater(part)
    elif isinstance(part, Cooker) and part.starting_w:
        yield from _at_least(part, "starting_w", "power_w")
    elif isinstance(part, FuelTank) and part.length_mm * part.width_mm * part.height_mm > 0:
        outer = part.length_mm * part.width_mm * part.height_mm / 1e6
        if part.volume_l > outer:
            yield "volume_l", f"{part.volume_l:g}", f"at most the {outer:.1f} L of its outer size"


def _battery(part: Battery) -> Iterator[Oddity]:
    yield from _at_least(part, "peak_a", "discharge_a")
    if not part.managed and part.chemistry in ("lfp", "lfp_heated") and part.nominal_v >= CELL_V:
        yield "managed", "false", f"true, or a loose cell below {CELL_V:g} V nominal"
    if part.managed and part.nominal_v < CELL_V:
        yield "managed", "true", f"false for a loose cell ({part.nominal_v:g} V nominal)"


def _panel(part: SolarPanel) -> Iterator[Oddity]:
    if part.vmp_v >= part.voc_v:
        yield "vmp_v", f"{part.vmp_v:g}", f"less than voc_v, {part.voc_v:g} [V]"
    if part.imp_a > part.isc_a:
        yield "imp_a", f"{part.imp_a:g}", f"at most isc_a, {part.isc_a:g} [A]"
    product = part.vmp_v * part.imp_a
    if abs(product - part.power_w) > ROUNDING_SHARE * part.power_w:
        yield "power_w", f"{part.power_w:g}", f"about vmp_v times imp_a, {product:.0f} [W]"


def _heater(part: Heater) -> Iterator[Oddity]:
    if part.fuel and part.efficiency > 1:
        yield "efficiency", f"{part.efficiency:g}", "at most 1 for a heater that burns fuel"
    if not part.fuel and part.draw_w <= 0:
        yield "draw_w", "0", "above 0 for an electric heater [W]"
    if (
        not part.fuel
        and part.draw_w > 0
        and part.output_w > part.draw_w * part.efficiency * (1 + ROUNDING_SHARE)
    ):
        yield (
            "output_w",
            f"{part.output_w:g}",
            f"at most draw_w times efficiency, {part.draw_w * part.efficiency:.0f} [W]",
        )


def _at_least(part: Part, larger: str, smaller: str) -> Iterator[Oddity]:
    high, low = getattr(part, larger), getattr(part, smaller)
    if high < low:
        yield larger, f"{high:g}", f"at least {smaller}, {low:g}"
