"""The generic catalog: complete, believable, and with no answer that is obvious beforehand.

Ranges: ``reference/plausible_ranges.csv``, what parts cost, weigh and do as common practice goes, from
memory, no source. They are a check on invented rows, not on published values.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import get_args

import pytest

from optimizer.brief.uses import Ability
from optimizer.brief.vehicle import BayTag
from optimizer.parts.catalog import Catalog
from optimizer.parts.cells import WORDS
from optimizer.parts.describing import guide
from optimizer.parts.reading import catalog_home, read_catalog
from optimizer.parts.records import (
    KINDS,
    AlternatorCharger,
    Battery,
    CellManager,
    ChargeController,
    ColdBox,
    Cooker,
    DcConverter,
    FuelTank,
    GreyContainer,
    Heater,
    Insulation,
    Inverter,
    MainsCharger,
    Part,
    RoofFan,
    SafetyItem,
    SolarPanel,
    Toilet,
    WaterContainer,
)
from optimizer.physics.fuel import FUEL_DENSITY_KG_L

DIESEL_KWH_L = 9.96  # lower heating value, 35.86 MJ/L; from memory, common tables
SMALL_VAN_M2 = 20.0  # surface that is insulated in a small van; common practice, no source


@cache
def generic() -> Catalog:
    return read_catalog(["generic"])


@cache
def ranges() -> dict[tuple[str, str], tuple[float, float]]:
    path = Path(__file__).parent / "reference" / "plausible_ranges.csv"
    with path.open(encoding="utf-8") as file:
        return {
            (row["kind"], row["what"]): (float(row["low"]), float(row["high"]))
            for row in csv.DictReader(file)
        }


def lfp_packs() -> list[Battery]:
    return [part for part in generic().find(Battery, managed=True) if part.chemistry.startswith("lfp")]


def kwh(part: Battery) -> float:
    return part.nominal_v * part.capacity_ah / 1000


def lead() -> list[Battery]:
    return [part for part in generic().find(Battery) if not part.chemistry.startswith("lfp")]


def agm() -> list[Battery]:
    return list(generic().find(Battery, chemistry="agm"))


def loose_banks() -> list[tuple[Battery, CellManager, float]]:
    """Each cell with each manager that lets it give half its capacity an hour, and the bank's price a kWh."""
    return [
        (cell, manager, (cell.price_usd * manager.cells + manager.price_usd) / (kwh(cell) * manager.cells))
        for cell in generic().find(Battery, managed=False)
        if cell.chemistry == "lfp"
        for manager in generic().find(CellManager)
        if 0.25 * cell.capacity_ah <= manager.discharge_a <= cell.capacity_ah
    ]


def per_12_v(part: AlternatorCharger | MainsCharger) -> float:
    """Price an ampere at 12 V, so that chargers of all bank voltages compare."""
    return part.price_usd / (part.output_a * min(map(int, part.bank_v.split("|"))) / 12)


def panels(flexible: bool) -> list[SolarPanel]:
    return list(generic().find(SolarPanel, flexible=flexible))


def controllers(tracking: bool) -> list[ChargeController]:
    return list(generic().find(ChargeController, tracking=tracking))


def liquid_2_kw() -> list[Heater]:
    return [
        part
        for part in generic().find(Heater, output_w=2000)
        if part.fuel in ("diesel", "kerosene", "petrol")
    ]


def gas_2_kw() -> list[Heater]:
    return [part for part in generic().find(Heater, fuel="propane") if 1500 <= part.output_w <= 2500]


def chests_45(frozen: bool = False) -> list[ColdBox]:
    chests = generic().find(ColdBox, style="chest")
    if frozen:
        return [part for part in chests if part.chilled_l == 0 and 35 <= part.frozen_l <= 50]
    return [part for part in chests if part.frozen_l == 0 and 40 <= part.chilled_l <= 50]


def uprights_85() -> list[ColdBox]:
    uprights = generic().find(ColdBox, style="upright", supply="dc")
    return [part for part in uprights if 80 <= part.chilled_l + part.frozen_l <= 90]


def named(record: type[Part], word: str) -> list[Part]:
    return [part for part in generic().find(record) if word in part.id]


PLAUSIBLE: list[tuple[str, str, Callable[[], Iterable[float]]]] = [
    ("battery", "LFP ready pack price", lambda: (p.price_usd / kwh(p) for p in lfp_packs())),
    (
        "battery",
        "LFP loose cells with management system and enclosure price",
        lambda: (b[2] for b in loose_banks()),
    ),
    ("battery", "LFP ready pack specific energy", lambda: (1000 * kwh(p) / p.mass_kg for p in lfp_packs())),
    (
        "battery",
        "LFP loose cells specific energy",
        lambda: (
            1000 * kwh(p) / p.mass_kg for p in generic().find(Battery, managed=False) if p.chemistry == "lfp"
        ),
    ),
    ("battery", "AGM price", lambda: (p.price_usd / kwh(p) for p in agm())),
    ("battery", "AGM specific energy", lambda: (1000 * kwh(p) / p.mass_kg for p in agm())),
    ("battery", "LFP usable share", lambda: (p.usable_share for p in lfp_packs())),
    ("battery", "lead-acid usable share for long life", lambda: (p.usable_share for p in lead())),
    ("battery", "LFP continuous charge current", lambda: (p.charge_a / p.capacity_ah for p in lfp_packs())),
    ("battery", "AGM charge current", lambda: (p.charge_a / p.capacity_ah for p in agm())),
    ("battery", "LFP discharge current", lambda: (p.discharge_a / p.capacity_ah for p in lfp_packs())),
    ("battery", "LFP charge efficiency", lambda: (p.charge_efficiency for p in lfp_packs())),
    ("battery", "lead-acid charge efficiency", lambda: (p.charge_efficiency for p in lead())),
    ("solar_panel", "rigid glass price", lambda: (p.price_usd / p.power_w for p in panels(False))),
    ("solar_panel", "flexible price", lambda: (p.price_usd / p.power_w for p in panels(True))),
    ("solar_panel", "rigid glass mass", lambda: (1000 * p.mass_kg / p.power_w for p in panels(False))),
    ("solar_panel", "flexible mass", lambda: (1000 * p.mass_kg / p.power_w for p in panels(True))),
    (
        "solar_panel",
        "rigid areal power",
        lambda: (p.power_w / (p.length_mm * p.width_mm / 1e6) for p in panels(False)),
    ),
    (
        "solar_panel",
        "power temperature coefficient",
        lambda: (p.power_coefficient_pct_k for p in generic().find(SolarPanel)),
    ),
    (
        "solar_panel",
        "36-cell open-circuit voltage",
        lambda: (p.voc_v for p in generic().find(SolarPanel) if p.voc_v < 26),
    ),
    ("charge_controller", "tracking price", lambda: (p.price_usd / p.output_a for p in controllers(True))),
    ("charge_controller", "switching price", lambda: (p.price_usd / p.output_a for p in controllers(False))),
    ("charge_controller", "tracking mass", lambda: (p.mass_kg for p in controllers(True))),
    ("charge_controller", "tracking efficiency", lambda: (p.efficiency for p in controllers(True))),
    (
        "charge_controller",
        "array voltage limit",
        lambda: (p.array_v_max for p in generic().find(ChargeController)),
    ),
    ("alternator_charger", "price", lambda: map(per_12_v, generic().find(AlternatorCharger))),
    ("alternator_charger", "mass", lambda: (p.mass_kg for p in generic().find(AlternatorCharger))),
    ("alternator_charger", "efficiency", lambda: (p.efficiency for p in generic().find(AlternatorCharger))),
    ("mains_charger", "price", lambda: map(per_12_v, generic().find(MainsCharger))),
    (
        "inverter",
        "pure sine price",
        lambda: (1000 * p.price_usd / p.continuous_w for p in generic().find(Inverter)),
    ),
    ("inverter", "mass", lambda: (1000 * p.mass_kg / p.continuous_w for p in generic().find(Inverter))),
    ("inverter", "idle draw", lambda: (p.idle_w for p in generic().find(Inverter))),
    ("inverter", "peak efficiency", lambda: (p.efficiency for p in generic().find(Inverter))),
    (
        "inverter",
        "starting power ratio",
        lambda: (p.peak_w / p.continuous_w for p in generic().find(Inverter)),
    ),
    ("heater", "2 kW liquid-fuel air heater price", lambda: (p.price_usd for p in liquid_2_kw())),
    ("heater", "2 kW liquid-fuel kit mass", lambda: (p.mass_kg for p in liquid_2_kw())),
    (
        "heater",
        "2 kW fuel use at full output",
        lambda: (2.0 / p.efficiency / DIESEL_KWH_L for p in liquid_2_kw() if p.fuel == "diesel"),
    ),
    ("heater", "fan draw running", lambda: (p.draw_w for p in liquid_2_kw())),
    ("heater", "gas air heater 2 kW price", lambda: (p.price_usd for p in gas_2_kw())),
    (
        "fuel_tank",
        "plastic tank price",
        lambda: (
            p.price_usd
            for p in generic().find(FuelTank)
            if p.volume_l >= 5 and p.fuel in ("diesel", "kerosene", "petrol")
        ),
    ),
    ("cold_box", "compressor chest 45 L price", lambda: (p.price_usd for p in chests_45())),
    ("cold_box", "compressor chest 45 L mass", lambda: (p.mass_kg for p in chests_45())),
    (
        "cold_box",
        "compressor chest 45 L energy at 25 C as fridge",
        lambda: (p.wh_day_25 for p in chests_45()),
    ),
    (
        "cold_box",
        "compressor chest 45 L energy at 25 C as freezer",
        lambda: (p.wh_day_25 for p in chests_45(True)),
    ),
    ("cold_box", "upright 85 L energy at 25 C", lambda: (p.wh_day_25 for p in uprights_85())),
    (
        "cold_box",
        "rise of energy from 25 C to 32 C surrounding",
        lambda: (p.wh_day_32 / p.wh_day_25 for p in generic().find(ColdBox) if p.wh_day_25),
    ),
    (
        "cooker",
        "induction one ring power",
        lambda: (p.power_w for p in generic().find(Cooker) if "ind-1" in p.id),
    ),
    (
        "cooker",
        "induction efficiency",
        lambda: (p.efficiency for p in generic().find(Cooker) if "-ind-" in p.id),
    ),
    (
        "cooker",
        "gas burner efficiency",
        lambda: (p.efficiency for p in generic().find(Cooker, fuel="propane")),
    ),
    (
        "cooker",
        "contact grill power",
        lambda: (p.power_w for p in generic().find(Cooker) if "contact" in p.id),
    ),
    ("cooker", "spirit stove price", lambda: (p.price_usd for p in named(Cooker, "spirit"))),
    (
        "cooker",
        "immersion cooker power",
        lambda: (p.power_w for p in generic().find(Cooker) if "immersion" in p.id),
    ),
    (
        "water",
        "carried container 20 L empty mass",
        lambda: (p.mass_kg for p in generic().find(WaterContainer, fixed=False, volume_l=20)),
    ),
    (
        "water",
        "fixed tank 40 L to 100 L price",
        lambda: (p.price_usd for p in generic().find(WaterContainer, fixed=True) if 40 <= p.volume_l <= 100),
    ),
    (
        "waste",
        "bag or bucket system cost per use",
        lambda: (p.usd_per_visit for p in generic().find(Toilet) if "bag" in p.id),
    ),
    ("roof_fan", "price", lambda: (p.price_usd for p in generic().find(RoofFan))),
    ("roof_fan", "draw", lambda: (p.draw_w for p in generic().find(RoofFan))),
    (
        "insulation",
        "foam or wool price for a small van",
        lambda: (SMALL_VAN_M2 * p.price_usd for p in generic().find(Insulation) if p.thickness_mm),
    ),
    (
        "insulation",
        "mass for a small van",
        lambda: (SMALL_VAN_M2 * p.mass_kg for p in generic().find(Insulation) if p.thickness_mm),
    ),
]


@pytest.mark.parametrize(
    ("kind", "what", "numbers"), PLAUSIBLE, ids=[f"{row[0]}: {row[1]}" for row in PLAUSIBLE]
)
def test_generic_parts_are_plausible(kind: str, what: str, numbers: Callable[[], Iterable[float]]) -> None:
    """Every row lies in the span that common practice gives for its kind."""
    low, high = ranges()[kind, what]
    found = list(numbers())
    assert found
    assert all(low - 1e-9 <= number <= high + 1e-9 for number in found), (low, high, sorted(found))


def test_start_draw_of_liquid_fuel_heaters() -> None:
    """A start takes what the range's draw takes over its three to five minutes."""
    low, high = ranges()["heater", "start draw"]
    heaters = [part for part in generic().find(Heater) if part.fuel in ("diesel", "kerosene", "petrol")]
    assert heaters
    assert all(low * 3 / 60 <= part.start_wh <= high * 5 / 60 for part in heaters)


def test_cassettes_last_one_person_some_days() -> None:
    """A portable flush toilet holds what the range says for one person at four or five visits a day."""
    low, high = ranges()["waste", "cassette toilet holding days for one person"]
    (middle,) = (part for part in generic().find(Toilet) if part.id == "wc-cassette-15")
    assert low <= middle.visits / 4.5 <= high


def test_every_range_is_used() -> None:
    """No range stands in the file for show."""
    elsewhere = {("heater", "start draw"), ("waste", "cassette toilet holding days for one person")}
    assert set(ranges()) == {(kind, what) for kind, what, _ in PLAUSIBLE} | elsewhere


def test_generic_catalog_is_rich() -> None:
    """About 250 parts and a hundred sizes of cable, fuse and fitting, some of every kind, with distinct names."""
    assert 380 <= len(generic()) <= 440
    assert all(len(some) >= 6 for some in generic().parts.values())
    names = [part.name for part in generic().all_parts]
    assert len(set(names)) == len(names)
    assert all(name.isascii() for name in names)


def test_every_choice_occurs() -> None:
    """Every chemistry, voltage, fuel, role, style, skill and ability is on offer."""
    parts = generic()
    assert {part.chemistry for part in parts.find(Battery)} == {"lfp", "lfp_heated", "agm", "gel", "flooded"}
    assert {part.nominal_v for part in parts.find(Battery)} >= {3.2, 6, 12, 12.8, 25.6, 51.2}
    assert {part.cells for part in parts.find(CellManager)} == {4, 8, 16}
    assert {part.role for part in parts.find(SafetyItem)} == set(
        get_args(SafetyItem.model_fields["role"].annotation)
    )
    assert {part.style for part in parts.find(ColdBox)} == {"chest", "upright", "drawer", "passive"}
    assert {part.supply for part in parts.find(ColdBox)} == {"dc", "ac"}
    burned = {part.fuel for part in (*parts.find(Heater), *parts.find(Cooker))} - {""}
    assert (
        {part.fuel for part in parts.find(FuelTank)}
        == burned
        == {"diesel", "petrol", "kerosene", "propane", "alcohol"}
    )
    assert {part.skill for part in parts.all_parts} == {
        "", "mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting"
    }  # fmt: skip
    abilities = {word for part in parts.find(Cooker) for word in part.abilities.split("|")}
    assert abilities == set(get_args(Ability))


@pytest.mark.parametrize("volts", ["12", "24", "48"])
def test_every_bank_voltage_can_be_served(volts: str) -> None:
    """Controllers, chargers, inverters and safety exist for each bank voltage, converters above 12 V."""
    parts = generic()
    for record in (ChargeController, AlternatorCharger, MainsCharger, Inverter):
        assert any(volts in part.bank_v.split("|") for part in parts.find(record)), record
    if volts != "12":
        assert any(volts in part.bank_v.split("|") for part in parts.find(DcConverter))
    charging = int(volts) * 1.22  # 14.6 V for a bank called 12 V; common practice, no source
    for role in ("disconnect", "main_fuse", "fuse_box"):
        able = [part for part in parts.find(SafetyItem, role=role) if part.bank_v_max >= charging]
        assert able, role


def test_banks_of_each_battery_reach_a_usual_voltage() -> None:
    """Every battery makes a 12, 24 or 48 V bank within the series it allows."""
    for part in generic().find(Battery):
        reached = {round(part.nominal_v * count / 12.8 * 12) for count in range(1, part.series_max + 1)}
        lead_acid = {round(part.nominal_v * count) for count in range(1, part.series_max + 1)}
        assert (reached | lead_acid) & {12, 24, 48}, part.id


def test_few_temperature_families_of_panels() -> None:
    """Panels share a handful of temperature behaviours, since each costs a pass over the weather year."""
    pairs = {(part.power_coefficient_pct_k, part.noct_c) for part in generic().find(SolarPanel)}
    assert 4 <= len(pairs) <= 6


def test_mounting_heats_panels_as_published() -> None:
    """Rigid panels on brackets and glued ones differ by the adders for their gaps.

    NREL/TP-6A20-67399, quoted by the Sandia PV Performance Modeling Collaborative: +2 degC for a gap of
    2.5 to 3.5 in, +18 degC for 0 to 0.5 in.
    """
    for rigid, glued in zip(
        sorted({p.noct_c for p in panels(False)}), sorted({p.noct_c for p in panels(True)}), strict=True
    ):
        assert (glued - 18) - (rigid - 2) == 0


def test_panels_are_in_themselves_consistent() -> None:
    """Power is voltage times current within rounding, and open-circuit values exceed working ones."""
    for part in generic().find(SolarPanel):
        assert part.vmp_v * part.imp_a == pytest.approx(part.power_w, rel=0.01)
        assert 1.15 <= part.voc_v / part.vmp_v <= 1.3, part.id
        assert 1.02 <= part.isc_a / part.imp_a <= 1.1, part.id


def test_price_of_energy_is_not_monotone_in_size() -> None:
    """The largest pack is not the cheapest a kWh, nor is any order by size an order by price."""
    packs = sorted(
        (part for part in lfp_packs() if part.chemistry == "lfp" and part.nominal_v == 12.8),
        key=lambda p: p.capacity_ah,
    )
    prices = [part.price_usd / kwh(part) for part in packs]
    steps = [later - earlier for earlier, later in pairwise(prices)]
    assert sum(step > 0 for step in steps) >= 3
    assert sum(step < 0 for step in steps) >= 3
    assert min(prices) != prices[-1]


SERVICES: dict[str, Callable[[], list[tuple[float, Part]]]] = {
    "ready packs": lambda: [(kwh(part) * part.usable_share, part) for part in lfp_packs()],
    "panels": lambda: [(part.power_w, part) for part in generic().find(SolarPanel)],
    "tracking controllers": lambda: [(part.output_a, part) for part in controllers(True)],
    "12 V inverters": lambda: [(part.continuous_w, part) for part in generic().find(Inverter, bank_v="12")],
    "cold boxes": lambda: [(part.chilled_l + part.frozen_l, part) for part in generic().find(ColdBox)],
}


@pytest.mark.parametrize("service", SERVICES.values(), ids=SERVICES)
def test_cheapest_is_not_lightest(service: Callable[[], list[tuple[float, Part]]]) -> None:
    """In the kinds that matter most, the cheapest row a unit of service is not the lightest."""
    cheapest = min(service(), key=lambda pair: pair[1].price_usd / pair[0])
    lightest = min(service(), key=lambda pair: pair[1].mass_kg / pair[0])
    assert cheapest[1].id != lightest[1].id


def test_loose_cells_beat_ready_packs_on_price_for_a_skill() -> None:
    """Loose cells are cheaper a kWh than any ready pack, and always ask for the cell assembly skill."""
    assert min(bank[2] for bank in loose_banks()) < min(part.price_usd / kwh(part) for part in lfp_packs())
    assert all(
        part.skill == "cell_assembly"
        for part in generic().find(Battery, managed=False)
        if part.chemistry == "lfp"
    )
    assert all(part.skill == "cell_assembly" for part in generic().find(CellManager))


def test_skills_follow_the_work() -> None:
    """Gas asks for gas fitting, a roof opening for roof cutting, other holes for cutting or gas fitting."""
    for part in (*generic().find(Heater, fuel="propane"), *generic().find(Cooker, fuel="propane")):
        assert part.skill == "gas_fitting", part.id
    for other in generic().all_parts:
        if other.opening == "roof":
            assert other.skill == "roof_cutting", other.id
        elif other.opening:
            assert other.skill in ("body_cutting", "gas_fitting"), other.id


def test_places_follow_the_danger() -> None:
    """Gas only in a gas locker, petrol only outside, gassing batteries only in a vented bay, upright."""
    parts = generic()
    assert all(
        part.bay_tags == "gas_locker" and part.upright for part in parts.find(FuelTank, fuel="propane")
    )
    assert all(part.bay_tags == "outside" for part in parts.find(FuelTank, fuel="petrol"))
    assert all(
        part.bay_tags == "vented" and part.upright for part in parts.find(Battery, chemistry="flooded")
    )
    assert all(part.bay_tags == "roof" for part in (*parts.find(SolarPanel), *parts.find(RoofFan)))
    assert all("outside" not in part.bay_tags for part in parts.find(Battery, chemistry="lfp"))


def test_what_is_bolted_down_burns_or_spills_stands_upright() -> None:
    """Heaters, cookers with a fire or an oven, and toilets that hold anything are never laid on their side."""
    laid = {part.id for kind in (Heater, Cooker, Toilet) for part in generic().find(kind) if not part.upright}
    assert laid == {"cook-immersion-800", "wc-bag-folding"}


def test_fuel_heaters_are_room_sealed_but_for_the_open_flame() -> None:
    """Only the spirit heater burns the air of the room."""
    assert {part.fuel for part in generic().find(Heater, room_sealed=False)} == {"alcohol"}


@pytest.mark.parametrize("record", [WaterContainer, GreyContainer, FuelTank])
def test_containers_hold_no_more_than_their_outside(record: type[Part]) -> None:
    """A container's volume fits its outer box with some wall, and fills a fair share of it."""
    for part in generic().find(record):
        outer = part.length_mm * part.width_mm * part.height_mm / 1e6
        share = generic().column(part.id, "volume_l") / outer
        assert 0.3 <= share <= 0.95, (part.id, share)


def test_cold_boxes_hold_no_more_than_their_outside() -> None:
    """A cold box's room fits its outer box less walls and compressor."""
    for part in generic().find(ColdBox):
        outer = part.length_mm * part.width_mm * part.height_mm / 1e6
        assert (part.chilled_l + part.frozen_l) / outer <= 0.6, part.id


def test_parts_that_take_space_say_where() -> None:
    """Whatever has a size has all three and a place; insulation and alarms have neither."""
    for part in generic().all_parts:
        sizes = (part.length_mm, part.width_mm, part.height_mm)
        assert all(sizes) or not any(sizes), part.id
        assert bool(part.bay_tags) == bool(any(sizes)), part.id


def test_bare_van_is_a_choice_without_cost() -> None:
    """One row of insulation is no insulation: free, weightless, thickness 0."""
    (bare,) = generic().find(Insulation, thickness_mm=0)
    assert (bare.price_usd, bare.mass_kg) == (0, 0)


# HEA-023 to HEA-051: ht 1.2.0 material tables (ASHRAE Handbook of Fundamentals 2013): polyisocyanurate aged
# 0.0235; XPS 0.026 declared, European design values near 0.033; expanded rubber 0.032, foam rubber (DIN EN
# 12524:2000) 0.06; wool and polyester batts 0.035 to 0.045 (typical declared values, from memory). Cork
# 0.036 to 0.065 (from memory).
CONDUCTIVITIES = {
    "extruded polystyrene": (0.026, 0.033),
    "polyisocyanurate": (0.019, 0.0235),
    "expanded rubber": (0.032, 0.06),
    "sheep's wool": (0.035, 0.045),
    "polyester fibre": (0.035, 0.045),
    "cork": (0.036, 0.065),
    "none": (0.0, 1.0),
}


def test_conductivities_are_published_ones() -> None:
    """Each insulation conducts as its material does in published tables."""
    for part in generic().find(Insulation):
        low, high = CONDUCTIVITIES[part.material]
        assert low <= part.conductivity_w_mk <= high, part.id
    assert {part.material for part in generic().find(Insulation)} == set(CONDUCTIVITIES)


def test_thicker_insulation_of_a_material_is_heavier_in_proportion() -> None:
    """The facing counts for less in a thick board, so its density falls from size to size, by a sixth or so at most."""
    dense: dict[str, list[tuple[float, float]]] = {}
    for part in generic().find(Insulation):
        if part.thickness_mm:
            dense.setdefault(part.material, []).append((part.thickness_mm, part.mass_kg / part.thickness_mm))
    for sizes in dense.values():
        for (_, thin), (_, thick) in pairwise(sorted(sizes)):
            assert 0.82 * thin <= thick <= thin * (1 + 1e-9)


def test_steel_bottles_weigh_as_much_as_the_gas_in_them() -> None:
    """Common practice, no source: a steel propane bottle with regulator and hose weighs 1 to 1.5 times its filling."""
    bottles = [part for part in generic().find(FuelTank, fuel="propane") if "light" not in part.name]
    assert len(bottles) >= 4
    assert all(1.0 <= part.mass_kg / (part.volume_l * FUEL_DENSITY_KG_L["propane"]) <= 1.5 for part in bottles)


@pytest.mark.parametrize(("small", "large"), [
    ("heat-diesel-2-lean", "heat-diesel-5-lean"), ("heat-diesel-2-high", "heat-diesel-4"),
    ("heat-petrol-2", "heat-petrol-4"), ("heat-gas-2", "heat-gas-4"),
])  # fmt: skip
def test_a_larger_heater_is_not_bought_to_save_its_fans_power(small: str, large: str) -> None:
    """Turned down to the same heat a large heater of its sort blows about as hard as the small one: a fifth less power
    at most (common practice, no source)."""
    one, other = generic().part(small), generic().part(large)
    assert isinstance(one, Heater)
    assert isinstance(other, Heater)
    assert other.draw_w / other.output_w >= 0.8 * one.draw_w / one.output_w


def test_guide_is_true() -> None:
    """The README beside the parts is what the records say; write it anew with ``describing.guide``."""
    path = catalog_home() / "generic" / "README.md"
    assert path.read_text(encoding="utf-8") == guide()


def test_guide_says_the_catalog_is_invented() -> None:
    """Nobody can take the generic parts for products on sale."""
    assert "invented, generic and unbranded" in guide()


def test_words_agree_with_the_brief() -> None:
    """The tags and abilities parts may name are those a brief may name (the roof is no bay)."""
    assert set(WORDS["bay_tags"]) == {*get_args(BayTag), "roof"}
    assert set(WORDS["abilities"]) == set(get_args(Ability))


def test_files_are_named_after_kinds() -> None:
    """One file for each kind, and each in the tidy form in which a person would look for it."""
    files = sorted((catalog_home() / "generic").glob("*.csv"))
    assert {path.stem for path in files} == set(KINDS)
    for path in files:
        text = path.read_bytes()
        assert b"\r" not in text
        assert text.endswith(b"\n")
        header = text.decode().splitlines()[0].split(",")
        fields = list(KINDS[path.stem].model_fields)
        assert [name for name in header if name != "note"] == [
            name for name in fields if name in header and name != "note"
        ]
        assert re.fullmatch(r"id,name,price_usd,mass_kg.*", ",".join(header))
