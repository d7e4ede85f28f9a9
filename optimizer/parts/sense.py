"""What two columns of one part must make of each other: a catalog's slips that no single cell shows.

On the road: after ``reading`` has made a record, before the catalog. Bounds here catch slips such as
a kilowatt written for a watt; they do not judge whether a part is good.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.parts.records import (
    Battery,
    ColdBox,
    Cooker,
    FuelTank,
    GreyContainer,
    Heater,
    Inverter,
    Part,
    SolarPanel,
    WaterContainer,
)

Oddity = tuple[str, str, str]  # column, value as shown, what was expected

ROUNDING_SHARE = 0.10  # a power may differ so much from its factors, since data are rounded
LEAST_VOC_PCT_K = -0.1  # silicon has about -0.3 %/K: what is nearer to none is a share written for percent
CELL_V = 4.0  # a loose cell has a lower nominal voltage than this [V]


def oddities(part: Part) -> Iterator[Oddity]:
    """Every pair of columns of ``part`` that cannot both be right."""
    match part:
        case Battery():
            yield from _battery(part)
        case SolarPanel():
            yield from _panel(part)
        case Inverter():
            yield from _at_least(part, "peak_w", "continuous_w")
        case Heater():
            yield from _heater(part)
        case Cooker() if part.starting_w:
            yield from _at_least(part, "starting_w", "power_w")
        case ColdBox():
            yield from _cold_box(part)
        case FuelTank() | WaterContainer() | GreyContainer():
            yield from _fits_outside(part, "volume_l", part.volume_l)


def _battery(part: Battery) -> Iterator[Oddity]:
    yield from _at_least(part, "peak_a", "discharge_a")
    if part.managed:
        if part.chemistry.startswith("lfp") and part.nominal_v < CELL_V:
            yield "managed", "true", f"false for a loose cell of {part.nominal_v:g} V"
    elif not part.chemistry.startswith("lfp"):
        yield "managed", "false", "true, since lead-acid batteries need no cell manager"
    elif part.nominal_v >= CELL_V:
        yield "managed", "false", f"true, or a loose cell below {CELL_V:g} V"


def _panel(part: SolarPanel) -> Iterator[Oddity]:
    if part.vmp_v >= part.voc_v:
        yield "vmp_v", f"{part.vmp_v:g}", f"less than voc_v, {part.voc_v:g}"
    yield from _at_least(part, "isc_a", "imp_a")
    if 0 > part.voc_coefficient_pct_k > LEAST_VOC_PCT_K:
        yield (
            "voc_coefficient_pct_k", f"{part.voc_coefficient_pct_k:g}",
            f"in percent a kelvin, {LEAST_VOC_PCT_K:g} or below, -0.28 say; empty when not known",
        )  # fmt: skip
    product = part.vmp_v * part.imp_a
    if abs(product - part.power_w) > ROUNDING_SHARE * part.power_w:
        yield "power_w", f"{part.power_w:g}", f"about vmp_v times imp_a, {product:.0f}"


def _heater(part: Heater) -> Iterator[Oddity]:
    if part.fuel:
        if part.efficiency > 1:
            yield "efficiency", f"{part.efficiency:g}", "at most 1 for a heater that burns fuel"
    elif part.output_w > part.draw_w * part.efficiency * (1 + ROUNDING_SHARE):
        most = f"{part.draw_w * part.efficiency:.0f}"
        yield "output_w", f"{part.output_w:g}", f"at most draw_w times efficiency, {most}, as it burns no fuel"


def _cold_box(part: ColdBox) -> Iterator[Oddity]:
    yield from _at_least(part, "wh_day_32", "wh_day_25")
    room = part.chilled_l + part.frozen_l
    if room <= 0:
        yield "chilled_l", "0", "room for chilled or frozen food"
    if part.style != "passive" and part.wh_day_25 <= 0:
        yield "wh_day_25", "0", "above 0 for a cold box that is not passive"
    yield from _fits_outside(part, "chilled_l", room)


def _at_least(part: Part, larger: str, smaller: str) -> Iterator[Oddity]:
    high, low = getattr(part, larger), getattr(part, smaller)
    if high < low:
        yield larger, f"{high:g}", f"at least {smaller}, {low:g}"


def _fits_outside(part: Part, column: str, litres: float) -> Iterator[Oddity]:
    outer = part.length_mm * part.width_mm * part.height_mm / 1e6
    if outer and litres > outer:
        yield column, f"{litres:g}", f"at most the {outer:.1f} L of its outer size"
