"""Every rule, in the order of the report. ``RULES`` is the one list that everything else reads."""

from __future__ import annotations

from optimizer.rules.arrays import ArrayCurrent, ArrayHeadroom, ArrayVoltage, ControllerCurrent, PanelCount
from optimizer.rules.axles import FrontAxle, RearAxle, SideBalance
from optimizer.rules.base import Limit, Rule
from optimizer.rules.bays import BayLoad, BaySpace, CableReach, FuelApart, RoofPlan
from optimizer.rules.currents import (
    AlternatorSpare,
    ChargeCurrent,
    ConverterPower,
    DischargeCurrent,
    InverterContinuous,
    InverterStarting,
)
from optimizer.rules.energy import DailyBalance, SunlessEnergy
from optimizer.rules.mass import Payload
from optimizer.rules.money import Budget
from optimizer.rules.provisions import CHILLED, FROZEN, GREY, TOILET, WATER
from optimizer.rules.roof import OverallHeight, ParkingLength, RoofArea, RoofLoad
from optimizer.rules.warmth import Fuel, HeatOutput
from optimizer.rules.wiring import Disconnect, FuseBox, MainFuse, Wiring
from optimizer.rules.wishes import Cooking, OwnLimits, Refused, Required, SafetyKit, Skills

COVERAGE = "coverage"
"""Slug of what the hour-by-hour trips ask: judged by the trips, not by a rule."""
RULES: tuple[Rule, ...] = (
    Budget(), Payload(), FrontAxle(), RearAxle(), SideBalance(),
    RoofArea(), RoofPlan(), RoofLoad(), OverallHeight(), ParkingLength(),
    BaySpace(), BayLoad(), CableReach(), FuelApart(),
    SunlessEnergy(), DailyBalance(), ChargeCurrent(), DischargeCurrent(),
    ArrayVoltage(), ArrayHeadroom(), ArrayCurrent(), ControllerCurrent(), PanelCount(),
    AlternatorSpare(), InverterContinuous(), InverterStarting(), ConverterPower(),
    HeatOutput(), Fuel(), WATER, GREY, TOILET, CHILLED, FROZEN,
    Cooking(), Skills(), Required(), Refused(), OwnLimits(), SafetyKit(),
    Wiring(), FuseBox(), MainFuse(), Disconnect(),
)
BY_SLUG: dict[str, Rule] = {rule.slug: rule for rule in RULES}



def limit_names() -> tuple[str, ...]:
    """Every slug, sorted: what a brief may name in ``keep``."""
    return tuple(sorted([*BY_SLUG, COVERAGE]))


__all__ = ["BY_SLUG", "COVERAGE", "RULES", "Limit", "Rule", "limit_names"]
