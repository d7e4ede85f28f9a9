"""Gas, fuel, water and sealing: the small parts that each appliance brings, by rule.

On the road: beside ``plans``. Rules of count are common practice, no source: a shut-off valve for each gas
appliance and pipe for its run; a filter set, fuel line and exhaust sleeve for each liquid-fuel heater; one
cartridge of sealant for each hole in the body; a roll of seam tape for 8 m2 of insulation.
"""

from __future__ import annotations

from math import ceil

from optimizer.circuits.plans import START_HOURS, Planner
from optimizer.circuits.records import Wired, joined
from optimizer.circuits.sizing import metres
from optimizer.parts.records import (
    ColdBox,
    Cooker,
    GreyContainer,
    Heater,
    Insulation,
    Part,
    RoofFan,
    Toilet,
    WaterContainer,
)

TAPE_M2 = 8.0
GAS = "propane"


def heater(plan: Planner, part: Heater) -> Wired:
    """Power, fuel or gas line, exhaust and sealing of a heater."""
    watts = max(part.draw_w, part.start_wh / START_HOURS) if part.supply == "dc" else 0.0
    power = plan.appliance("heater", watts, part.dc_v, steady=True, kind="heater")
    return joined(power, _fuel(plan, part), opening(plan, part))


def _fuel(plan: Planner, part: Heater) -> Wired:
    if not part.fuel or not part.room_sealed:
        return Wired()
    sleeve = plan.pieces("exhaust_sleeve", 1)
    if part.fuel == GAS:
        return joined(_gas(plan), sleeve)
    line = plan.pieces("fuel_line", metres(plan.runs.fuel_to_heater, 1))
    return joined(line, plan.pieces("fuel_filter", 1), sleeve)


def _gas(plan: Planner) -> Wired:
    return joined(plan.pieces("gas_pipe", metres(plan.runs.gas_to_appliance, 1)), plan.pieces("gas_valve", 1))


def cold_box(plan: Planner, part: ColdBox) -> Wired:
    """Power of a cold box that runs on DC; its controls cut out early, so little drop is allowed."""
    runs = part.supply == "dc" and part.wh_day_25 > 0
    power = plan.appliance("cold box", part.peak_w if runs else 0.0, part.dc_v, steady=True, kind="cold_box")
    return joined(power, opening(plan, part))


def cooker(plan: Planner, part: Cooker) -> Wired:
    """Gas pipe and valve of a fixed gas cooker, power of one that runs on DC."""
    if part.fuel:
        return _gas(plan) if part.fuel == GAS and part.skill == "gas_fitting" else Wired()
    return plan.appliance("cooker", part.power_w if part.supply == "dc" else 0.0, part.dc_v, kind="cooker")


def roof_fan(plan: Planner, part: RoofFan) -> Wired:
    """Power and sealing of a roof fan."""
    return joined(plan.appliance("roof fan", part.draw_w, part.dc_v, kind="roof_fan"), opening(plan, part))


def toilet(plan: Planner, part: Toilet) -> Wired:
    """Sealing where it needs a hole."""
    return opening(plan, part)


def water(plan: Planner, part: WaterContainer | GreyContainer) -> Wired:
    """Hose for a tank that is built in, and for each sort of waste container."""
    if isinstance(part, GreyContainer):
        return plan.pieces("waste_hose", 1)
    return plan.pieces("water_hose", metres(plan.runs.water_to_tap, 1)) if part.fixed else Wired()


def insulation(plan: Planner, part: Insulation, area_m2: float) -> Wired:
    """Seam tape by area."""
    return plan.pieces("tape", ceil(area_m2 / TAPE_M2) if part.thickness_mm else 0)


def opening(plan: Planner, part: Part) -> Wired:
    """A cartridge of sealant for a hole in roof, wall or floor."""
    return plan.pieces("sealant", 1 if part.opening else 0)
