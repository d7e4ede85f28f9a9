"""What people who live in vans know: common practice, no source, accepted by the rules and the trips."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from one_rule import Fixed
from trip_cases import PLENTY, a_brief, flat_year, with_bank, year_of

from optimizer.brief.limits import Limits
from optimizer.parts.reading import read_catalog
from optimizer.parts.records import Battery, ChargeController, Inverter, Part, SolarPanel
from optimizer.physics.fuel import FUEL_LHV_WH_L
from optimizer.problem.build import build_problem
from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules.currents import DischargeCurrent, InverterContinuous, InverterStarting
from optimizer.trips.numbers import ArrayNumbers, KitNumbers, MealNumbers
from optimizer.trips.replay import Replay, replay
from optimizer.units import quantity
from optimizer.weather.year import WeatherYear

STILL = {"heating": False, "fan_hours": 0, "hot_van_rise": 0}


def options_of(kind: str, part: Part, **brief: Any) -> tuple[Option, ...]:
    """The options that the problem makes of one part."""
    catalog = read_catalog(["generic"], (), Path())
    parts = {**catalog.parts, kind: (part,)}
    problem = build_problem(a_brief(**brief), replace(catalog, parts=parts), [flat_year()])
    return next(group.options for group in problem.groups if group.kind == kind)


def run(brief_tables: dict[str, Any], kit: KitNumbers, year: WeatherYear | None = None) -> Replay:
    """The trips of one departure."""
    trip = {"nights": 3, "season_from": "05-01", "season_to": "05-01", **brief_tables.pop("trip", {})}
    brief = a_brief(comfort=STILL, trip=trip, **brief_tables)
    return replay(brief, [year or flat_year()], kit)


def test_800_w_on_one_60_a_tracking_controller_at_12_v() -> None:
    """800 W at 14.4 V are 55.6 A: within a 60 A controller (common practice, no source); 1,000 W are not."""
    panel = SolarPanel(
        id="pv", name="pv", price_usd=0, mass_kg=0, length_mm=1200, width_mm=600,
        power_w=200, voc_v=24, vmp_v=20, isc_a=10.6, imp_a=10,
        power_coefficient_pct_k=-0.35, voc_coefficient_pct_k=-0.28, noct_c=45, flexible=False, bay_tags="roof",
    )  # fmt: skip
    made = {option.get("panels"): option.get("array_12_ma") for option in options_of("solar_panel", panel)}
    controller = ChargeController(
        id="cc", name="cc", price_usd=0, mass_kg=0, tracking=True, output_a=60, array_v_max=150,
        array_a_max=60, bank_v="12", efficiency=0.97,
    )  # fmt: skip
    allowed = {option.get("output_ma") for option in options_of("charge_controller", controller)}
    assert allowed == {60_000}
    assert made[4] == 55_556
    assert made[4] <= 60_000 < made[5]


def test_540_ah_of_12_8_v_are_6_9_kwh() -> None:
    """Three packs of 180 Ah at 12.8 V hold 6,912 Wh nominal (common practice, no source)."""
    pack = Battery(
        id="b", name="b", price_usd=0, mass_kg=0, chemistry="lfp", nominal_v=12.8, capacity_ah=180,
        usable_share=0.9, charge_a=90, discharge_a=180, peak_a=360, charge_efficiency=0.97,
        discharge_efficiency=0.985, series_max=4,
        parallel_max=4, managed=True,
    )  # fmt: skip
    held = {dict(option.parts)["b"]: option.get("stored_wh") for option in options_of("battery", pack)}
    assert held[3] == 6912
    assert held[3] == pytest.approx(6900, rel=0.005)


@pytest.mark.parametrize(("chemistry", "usable"), [("agm", 420), ("gel", 420), ("flooded", 420), ("lfp", 600)])
def test_a_lead_bank_works_between_half_and_85_percent_full(chemistry: str, usable: int) -> None:
    """100 Ah of 12 V of which half may be used: 420 Wh of a lead battery, as its top fills too slowly to count on;
    all 600 Wh of one that takes its full current to the end (common practice, no source)."""
    pack = Battery.model_validate({
        "id": "b", "name": "b", "price_usd": 0, "mass_kg": 0, "chemistry": chemistry, "nominal_v": 12,
        "capacity_ah": 100, "usable_share": 0.5, "charge_a": 20, "discharge_a": 50, "peak_a": 300,
        "charge_efficiency": 0.87, "discharge_efficiency": 0.97, "series_max": 1, "parallel_max": 1, "managed": True,
    })  # fmt: skip
    (option,) = options_of("battery", pack, preferences={"reserve": 0})
    assert option.effects["usable_wh"] == pytest.approx(usable)


@pytest.mark.parametrize(("alone", "needed"), [(True, 1500), (False, 4000)])
def test_one_1500_w_inverter_for_one_thing_at_a_time(alone: bool, needed: int) -> None:
    """Appliances of 1,500, 1,300 and 1,200 W share a 1,500 W inverter when used one at a time (common practice,
    no source), and ask for 4,000 W when not."""
    uses = [
        {"name": f"appliance {power}", "power": power, "hours": 0.1, "supply": "ac", "alone": alone}
        for power in (1500, 1300, 1200)
    ]
    inverter = Inverter(
        id="inv", name="inv", price_usd=0, mass_kg=0, bank_v="12", continuous_w=1500, peak_w=3000, efficiency=0.9,
        idle_w=9,
    )  # fmt: skip
    catalog = read_catalog(["generic"], (), Path())
    catalog = replace(catalog, parts={**catalog.parts, "inverter": (inverter,)})
    problem = build_problem(a_brief(uses=uses), catalog, [flat_year()])
    key = problem.group("inverter").options[0].key
    (limit,) = InverterContinuous().holds(problem, Kit({"inverter": key}, 12, 10))
    assert (limit.used, limit.allowed) == (needed, 1500)
    assert limit.met is alone


def test_a_mains_refrigerator_starts_with_several_times_what_it_runs_at() -> None:
    """70 W of compressor draw six times that to start (common practice, no source): an inverter of 600 W at its peak
    starts it, one of 419 W does not, nor does a bank that gives a watt too little for that second."""
    catalog = read_catalog(["generic"], (), Path())
    problem = build_problem(a_brief(supplies={"chilled": 40}), catalog, [flat_year()])
    bank = problem.group("battery").option("bat-lfp-100 1s1p")
    (key,) = {option.key for option in problem.group("inverter").options if option.main == "inv-12-300"}
    kit = Kit({"battery": bank.key, "inverter": key, "cold_box_1": "cold-ac-45"}, 12, 10)
    (limit,) = InverterStarting().holds(problem, kit)
    assert (limit.used, limit.allowed) == (6 * 70, 600)
    _, start = DischargeCurrent().holds(problem, kit)
    assert (start.name, start.used, start.allowed) == ("discharge_power starting", 467, int(200 * 12.8))
    for slug, group, amount, least in (
        ("discharge_power", "battery", "burst_w", 467), ("inverter_starting", "inverter", "peak_w", 420),
    ):  # fmt: skip
        for value in (least, least - 1):
            assert Fixed(_only(problem, kit, group, amount, value), slug).allows(kit) == (value == least)


def _only(problem: Problem, kit: Kit, group: str, amount: str, value: int) -> Problem:
    """The problem with nothing but what that kit chooses, one amount of one of them set."""
    groups = []
    for name, key in kit.choices.items():
        one = problem.group(name).option(key)
        option = replace(one, amounts={**one.amounts, amount: value}) if name == group else one
        groups.append(replace(problem.group(name), options=(option,), twin=""))
    return replace(problem, groups=tuple(groups))


def test_two_of_one_thing_that_runs_alone_run_together() -> None:
    """A pair of 60 W things is one use: on the trips both run, so 120 W are held, and 260 W while one starts."""
    pair = {"name": "pair", "power": 60, "starting_power": 200, "hours": 1, "count": 2, "alone": True}
    catalog = read_catalog(["generic"], (), Path())
    briefs = [a_brief(uses=[pair | {"supply": supply}]) for supply in ("ac", "dc")]
    needs = [build_problem(brief, catalog, [flat_year()]).needs for brief in briefs]
    assert (needs[0]["ac_alone_w"], needs[0]["ac_alone_start_w"], needs[0]["dc_alone_w"]) == (120, 260, 0)
    assert (needs[1]["ac_alone_w"], needs[1]["dc_alone_w"]) == (0, 120)


def test_3_gal_feed_a_2_kw_heater() -> None:
    """3 US gal run a 2 kW liquid-fuel heater at full heat for over two days and nights, a week of cold evenings and
    nights at a third of it (common practice, no source, that such a tank is enough)."""
    litres = quantity("3 gal", "L")
    assert litres == pytest.approx(11.356, abs=1e-3)
    full_hours = litres * FUEL_LHV_WH_L["diesel"] * 0.8 / 2000
    assert 40 < full_hours < 60
    assert full_hours * 3 > 5 * 24


def test_17_ft_9_in_fits_any_ordinary_space() -> None:
    """A van of 17 ft 9 in is within the parking length that a brief has by default (common practice, no source)."""
    assert quantity("17 ft 9 in", "mm") == pytest.approx(5410.2)
    assert quantity("17 ft 9 in", "mm") <= Limits(budget=1000).parking_length


def test_the_alternator_charges_only_while_driving() -> None:
    """Two hours of driving every other day bring two hours of charge, at those hours, and a parked van none."""
    lamps = [{"name": "lamps", "power": 50, "hours": 24}]
    kit = replace(with_bank(PLENTY, usable_wh=5000.0), alternator_w=400.0)
    driving = {"every_days": 2, "hours": 2.0, "start_hour": 15}
    driven = run({"uses": lamps, "trip": {"driving": driving}}, kit)
    hours = driven.hours(0)
    charging = hours[hours["given: alternator"] > 0]
    assert set(charging["hour"]) == {15, 16}
    assert len(charging) == 4  # the first and the third calendar day
    assert not run({"uses": lamps}, kit).hours(0)["given: alternator"].any()


def test_a_slow_cooker_can_run_on_the_drive() -> None:
    """A meal in an insulated vessel cooked on the drive is carried by the alternator, not by the bank."""
    meals = [{"name": "beans", "ability": "slow_cook", "heat": 200, "hour": 20, "every_days": 3}]
    driving = {"every_days": 1, "hours": 2.0, "start_hour": 15}
    kit = replace(with_bank(PLENTY, usable_wh=200.0), alternator_w=500.0)
    on_the_move, parked = (
        replace(kit, meals=(MealNumbers(dc_wh=300.0, ac_wh=0.0, fuel="", fuel_l=0.0, while_driving=moving),))
        for moving in (True, False)
    )
    tables = {"meals": meals, "trip": {"driving": driving}}
    assert run(dict(tables), on_the_move).covered == 1
    assert run(dict(tables), parked).causes == {"battery": 1}


def test_the_bank_carries_a_grey_week() -> None:
    """In a week with a twentieth of the sun, doubling the panels does not help; the bank of a week's load does."""
    sun = np.zeros(8760)
    sun[10::24] = sun[12::24] = sun[14::24] = 800.0
    week = (31 + 28 + 31 + 30) * 24
    sun[week : week + 8 * 24] *= 0.05
    year = year_of(sun, np.full(8760, 20.0))
    lamps = [{"name": "lamps", "power": 20, "hours": 24}]
    small = replace(with_bank(PLENTY, usable_wh=1000.0), arrays=(ArrayNumbers(400, 0, True, 0, 45, 1e4, 1.0),))
    doubled = replace(small, arrays=(ArrayNumbers(800, 0, True, 0, 45, 1e4, 1.0),))
    deep = with_bank(small, usable_wh=7 * 480.0)
    tables = {"uses": lamps, "trip": {"nights": 7}}
    assert run(dict(tables), small, year).causes == {"battery": 1}
    assert run(dict(tables), doubled, year).causes == {"battery": 1}
    assert run(dict(tables), deep, year).covered == 1
