"""Options of everything electric: bank, panels, controllers, chargers, inverter, converter.

Bank voltage classes: a 12 V class bank is 11.4 to 13.8 V nominal, 24 and 48 in proportion. Charging
voltage is 14.4 V for each 12 V of class (see ``circuits.volts``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from optimizer.circuits.bank import fault_a
from optimizer.circuits.plans import draw_a
from optimizer.circuits.volts import absorption_v, low_v
from optimizer.parts.records import (
    AlternatorCharger,
    Battery,
    CellManager,
    ChargeController,
    DcConverter,
    Inverter,
    MainsCharger,
    SafetyItem,
    SolarPanel,
)
from optimizer.physics.battery import LAST_SHARES, capacity_factor, nominal_energy, usable_energy
from optimizer.physics.sun import CURRENT_FACTOR, voc_coldest
from optimizer.physics.wire import CONTINUOUS_FACTOR
from optimizer.problem.context import Context, joined_words, ordered, voltages_of
from optimizer.problem.placing import roof_taken_cm2
from optimizer.problem.reaches import Length
from optimizer.problem.records import LINKS_MA, Group, Option
from optimizer.units import demand_up, supply_down

WORKING_V_12 = 13.0
"""Mean voltage of a 12 V bank while it is charged by a switching controller; common practice, no source."""

MANAGER_BURST = 2.0
"""What a manager of loose cells lets through for seconds, times its steady current; common practice, no source."""


BANK_SPAN = 0.95, 1.15
"""Shares of a class's voltage between which a bank's nominal voltage lies; common practice, no source."""


def power_groups(context: Context) -> list[Group]:
    """All groups of this room, in the order of the report."""
    brief = context.brief
    groups = [Group("battery", "battery", ordered(_banks(context)), needed=True)]
    for slot in range(1, brief.limits.arrays + 1):
        twin = "panels_1" if slot == 2 else ""
        groups.append(Group(f"panels_{slot}", "solar_panel", ordered(_strings(context)), False, twin))
        groups.append(_group(context, f"controller_{slot}", "charge_controller"))
    groups.append(_group(context, "alternator_charger"))
    if brief.preferences.hookup_charger:
        groups.append(_group(context, "mains_charger", needed=True))
    if brief.preferences.inverter:
        groups.append(_group(context, "inverter"))
    if any(v != 12 for v in brief.preferences.voltages):
        groups.append(_group(context, "dc_converter"))
    return groups


def in_series(nominal_v: float, bank_v: int) -> int:
    """How many in series make a bank of that class, 0 when none do."""
    low, high = (share * bank_v for share in BANK_SPAN)
    count = round(bank_v / nominal_v)
    return count if count and low <= count * nominal_v <= high else 0


def _banks(context: Context) -> Iterator[Option]:
    limits = context.brief.limits
    managers = [p for p in context.catalog.parts["cell_manager"] if isinstance(p, CellManager)]
    for battery in context.catalog.parts["battery"]:
        assert isinstance(battery, Battery)
        for bank_v in context.brief.preferences.voltages:
            series = in_series(battery.nominal_v, bank_v)
            if not 0 < series <= battery.series_max:
                continue
            for parallel in range(1, min(battery.parallel_max, limits.parallel_batteries) + 1):
                if battery.managed:
                    yield _bank(context, battery, bank_v, series, parallel, None)
                else:
                    for manager in managers:
                        if manager.cells == series:
                            yield _bank(context, battery, bank_v, series, parallel, manager)


def _bank(
    context: Context, battery: Battery, bank_v: int, series: int, parallel: int, manager: CellManager | None
) -> Option:
    charge_a, discharge_a, burst_a = (parallel * a for a in (battery.charge_a, battery.discharge_a, battery.peak_a))
    own_w = battery.self_use_w * series * parallel
    bundle: list[tuple[Battery | CellManager, int]] = [(battery, series * parallel)]
    if manager is not None:
        charge_a, discharge_a = min(charge_a, manager.charge_a), min(discharge_a, manager.discharge_a)
        burst_a = min(burst_a, MANAGER_BURST * manager.discharge_a)
        own_w += manager.self_use_w
        bundle.append((manager, 1))
    volts = series * battery.nominal_v
    usable = usable_energy(
        nominal_energy(battery.nominal_v, battery.capacity_ah, series, parallel),
        battery.usable_share, context.brief.preferences.reserve, LAST_SHARES[battery.chemistry],
    )  # fmt: skip
    warm = bool({"inside", "warm"} & set(battery.bay_tags.split("|"))) and context.brief.comfort.heating
    coldest = context.brief.comfort.night_temperature if warm else context.season.coldest_c
    factor = float(capacity_factor(battery.chemistry, coldest))
    round_trip = battery.charge_efficiency * battery.discharge_efficiency
    # An inverter as strong as the bank takes this much from it when it is nearly empty.
    drawn = discharge_a * volts / low_v(bank_v)
    loose = manager is not None
    wired = context.plan.bank(series * parallel, parallel, drawn, bank_v, _main_fuse_a(context, drawn, bank_v), loose)
    return context.option(
        f"{battery.id} {series}s{parallel}p" + (f" {manager.id}" if manager else ""),
        bundle,
        {
            "usable_wh": supply_down(usable * battery.discharge_efficiency * factor),
            "stored_wh": supply_down(volts * battery.capacity_ah * parallel),
            "charge_ma": supply_down(charge_a, 1000),
            "discharge_w": supply_down(discharge_a * volts),
            "burst_w": supply_down(max(burst_a, discharge_a) * volts),
            "roundtrip_permille": supply_down(round_trip, 1000),
            "idle_mw": demand_up(own_w, 1000),
            "fault_ma": demand_up(fault_a(battery.chemistry, battery.capacity_ah, parallel), 1000),
            "links_short_ma": max((LINKS_MA - supply_down(c.ampacity_a, 1000) for c in wired.circuits), default=0),
        },
        voltage=bank_v,
        wired=wired,
        effects={
            "usable_wh": usable,
            "charge_w": charge_a * volts,
            "charge_efficiency": battery.charge_efficiency,
            "discharge_efficiency": battery.discharge_efficiency,
            "self_use_w": own_w,
            "charges_cold": float(battery.chemistry != "lfp"),
            "warm": float(warm),
        },
        traits={"chemistry": battery.chemistry},
        words=joined_words(strung(series, parallel, "battery"), f"{volts:.1f} V"),
    )


def strung(series: int, parallel: int, what: str) -> str:
    """How batteries or panels hang together, in words: what there is only one of is not counted."""
    counts = ((series, "in series"), (parallel, "side by side"))
    return ", ".join(f"{count} {how}" for count, how in counts if count > 1) or f"one {what}"


def _main_fuse_a(context: Context, drawn_a: float, bank_v: int) -> float:
    """Rating of the smallest main fuse on offer that holds so much, or of the largest: links are wired for it [A]."""
    items = (part for part in context.catalog.parts["safety"] if isinstance(part, SafetyItem))
    able = (part for part in items if part.role == "main_fuse" and part.rating_a and part.bank_v_max >= bank_v)
    ratings = sorted(part.rating_a for part in able)
    return next((a for a in ratings if a >= CONTINUOUS_FACTOR * drawn_a), ratings[-1] if ratings else 1.0)


def _strings(context: Context) -> Iterator[Option]:
    for panel in context.catalog.parts["solar_panel"]:
        assert isinstance(panel, SolarPanel)
        for count in range(1, context.brief.limits.panels + 1):
            for series in range(1, count + 1):
                if count % series == 0:
                    yield _string(context, panel, series, count // series)


def _string(context: Context, panel: SolarPanel, series: int, parallel: int) -> Option:
    count, season = series * parallel, context.season
    watts = count * panel.power_w
    coldest_v = voc_coldest(panel.voc_v, panel.voc_coefficient_pct_k, season.bare_coldest_c)
    amounts = {
        "array_w": supply_down(watts),
        "voc_cold_mv": demand_up(series * coldest_v, 1000),
        "vmp_hot_mv": supply_down(series * season.vmp_hot(panel), 1000),
        "isc_ma": demand_up(CURRENT_FACTOR * parallel * panel.isc_a, 1000),
        "area_cm2": count * roof_taken_cm2(context.space, panel.length_mm, panel.width_mm, panel.clearance_mm),
        "roof_g": count * demand_up(panel.mass_kg + panel.bracket_mass_kg, 1000),
        "height_mm": demand_up(panel.height_mm),
        "panels": count,
    }
    for bank_v in context.brief.preferences.voltages:
        amounts[f"array_{bank_v}_ma"] = demand_up(watts / absorption_v(bank_v), 1000)
    for month in season.months:
        amounts[f"sun_tracked_{month}_wh"] = supply_down(season.sun_wh(month, panel) * count)
        for bank_v in context.brief.preferences.voltages:
            held = season.switched_wh(month, panel, WORKING_V_12 * bank_v / 12, series)
            amounts[f"sun_switched_{bank_v}_{month}_wh"] = supply_down(held * count)
    return context.option(
        f"{panel.id} {series}s{parallel}p",
        [(panel, count)],
        amounts,
        wired=context.plan.array(panel, series, parallel, series * coldest_v),
        extra_usd=count * panel.bracket_price_usd,
        extra_kg=count * panel.bracket_mass_kg,
        effects={
            "power_w": watts,
            "working_a": parallel * panel.imp_a,
            "coefficient_pct_k": panel.power_coefficient_pct_k,
            "noct_c": panel.noct_c,
        },
        words=strung(series, parallel, "panel"),
    )


def _group(context: Context, name: str, kind: str = "", needed: bool = False) -> Group:
    """What hangs on the bank: each part for each voltage, with a cable for each reach."""
    kind = kind or name
    options: list[Option] = []
    for part in context.catalog.parts[kind]:
        assert isinstance(part, ChargeController | AlternatorCharger | MainsCharger | Inverter | DcConverter)
        for bank_v in _bank_voltages(context, part.bank_v):
            options += context.by_reach(name, part, partial(_MAKERS[kind], context, part, bank_v))
    return Group(name, kind, ordered(options), needed)


def _controller(context: Context, part: ChargeController, bank_v: int, length: Length) -> Option:
    full = absorption_v(bank_v)
    return context.option(
        f"{part.id} @{bank_v}V{length.suffix}",
        [(part, 1)],
        {
            "output_ma": supply_down(part.output_a, 1000),
            "array_v_mv": supply_down(part.array_v_max, 1000),
            "array_a_ma": supply_down(part.array_a_max, 1000),
            "needed_mv": demand_up(full + part.headroom_v, 1000),
            "efficiency_permille": supply_down(part.efficiency, 1000),
            "tracking": int(part.tracking),
            "idle_mw": demand_up(part.idle_w, 1000),
        },
        voltage=bank_v,
        effects={
            "output_w": part.output_a * full,
            "efficiency": part.efficiency,
            "tracking": float(part.tracking),
            "bank_v": WORKING_V_12 * bank_v / 12,
            "idle_w": part.idle_w,
        },
        wired=context.plan.charger("solar controller to busbars", part.output_a, bank_v, length.metres),
        words=joined_words("tracking" if part.tracking else "switching", f"{bank_v} V bank", length.words),
    )


def _alternator_charger(context: Context, part: AlternatorCharger, bank_v: int, length: Length) -> Option:
    vehicle, driving = context.brief.vehicle, context.brief.trip.driving
    a_day = driving.hours / driving.every_days if driving.every_days else 0.0
    watts = part.output_a * WORKING_V_12 * bank_v / 12
    taken = part.output_a * absorption_v(bank_v) / part.efficiency / vehicle.alternator_voltage
    return context.option(
        f"{part.id} @{bank_v}V{length.suffix}",
        [(part, 1)],
        {
            "charger_ma": demand_up(part.output_a, 1000),
            "taken_ma": demand_up(taken, 1000),
            "alternator_wh_day": supply_down(watts * a_day),
            "idle_mw": demand_up(part.idle_w, 1000),
        },
        voltage=bank_v,
        effects={"alternator_w": watts, "idle_w": part.idle_w},
        wired=context.plan.alternator(part, taken, vehicle.alternator_voltage, bank_v, length.metres),
        words=joined_words(f"{part.output_a:g} A into a {bank_v} V bank", length.words),
    )


def _mains_charger(context: Context, part: MainsCharger, bank_v: int, length: Length) -> Option:
    return context.option(
        f"{part.id} @{bank_v}V{length.suffix}",
        [(part, 1)],
        {"hookup_ma": demand_up(part.output_a, 1000)},
        voltage=bank_v,
        wired=context.plan.mains_charger(part, bank_v, length.metres),
        words=joined_words(f"{part.output_a:g} A into a {bank_v} V bank", length.words),
    )


def _inverter(context: Context, part: Inverter, bank_v: int, length: Length) -> Option:
    return context.option(
        f"{part.id} @{bank_v}V{length.suffix}",
        [(part, 1)],
        {
            "continuous_w": supply_down(part.continuous_w),
            "peak_w": supply_down(part.peak_w),
            "efficiency_permille": supply_down(part.efficiency, 1000),
            "switched_idle_mw": demand_up(part.idle_w, 1000),
            "bank_draw_ma": demand_up(draw_a(part.continuous_w, part.efficiency, bank_v), 1000),
        },
        voltage=bank_v,
        wired=context.plan.inverter(part, bank_v, length.metres),
        effects={"inverter_efficiency": part.efficiency, "inverter_idle_w": part.idle_w},
        words=joined_words(f"{part.continuous_w:g} W from a {bank_v} V bank", length.words),
    )


def _converter(context: Context, part: DcConverter, bank_v: int, length: Length) -> Option:
    return context.option(
        f"{part.id} @{bank_v}V{length.suffix}",
        [(part, 1)],
        {
            "continuous_w": supply_down(part.continuous_w),
            "efficiency_permille": supply_down(part.efficiency, 1000),
            "idle_mw": demand_up(part.idle_w, 1000),
            "bank_draw_ma": demand_up(draw_a(part.continuous_w, part.efficiency, bank_v), 1000),
        },
        voltage=bank_v,
        wired=context.plan.converter(part.continuous_w, part.efficiency, bank_v, length.metres),
        effects={"converter_efficiency": part.efficiency, "idle_w": part.idle_w},
        words=joined_words(f"{bank_v} V to 12 V", length.words),
    )


_MAKERS: dict[str, Callable[..., Option]] = {
    "charge_controller": _controller, "alternator_charger": _alternator_charger, "mains_charger": _mains_charger,
    "inverter": _inverter, "dc_converter": _converter,
}  # fmt: skip


def _bank_voltages(context: Context, text: str) -> tuple[int, ...]:
    return tuple(v for v in context.brief.preferences.voltages if v in voltages_of(text))


