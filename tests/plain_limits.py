"""Limits told once more, in floats, straight from brief, catalog and weather: nothing of ``problem`` or ``rules``.

Each function gives (used, allowed) in the limit's own unit, unrounded. Formulas as in any handbook: U-values
by ISO 6946, density by ISO 2533, cold voltage by a linear coefficient; see ``optimizer.physics`` for sources.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from optimizer.brief.brief import Brief
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import (
    Battery,
    CellManager,
    ChargeController,
    ColdBox,
    FuelTank,
    GreyContainer,
    Heater,
    Insulation,
    SolarPanel,
    Toilet,
    WaterContainer,
)
from optimizer.problem.records import Kit
from optimizer.weather.year import MONTH_DAYS, WeatherYear

Counts = Mapping[str, int]
"""How many of each part a kit has."""
FUEL_KG_L = {"diesel": 0.8469, "petrol": 0.7447, "kerosene": 0.807, "propane": 0.5075, "alcohol": 0.789}
FUEL_MJ_KG = {"diesel": 42.602, "petrol": 43.438, "kerosene": 43.1, "propane": 46.35, "alcohol": 26.8}


def area(brief: Brief) -> float:
    """Surface that takes insulation [m2]."""
    return sum(part.area for part in brief.vehicle.surfaces if part.kind in ("insulated", "floor"))


def visits(brief: Brief) -> float:
    """Toilet visits of all people a day."""
    each = brief.supplies.toilet_visits_per_person_day if brief.supplies.toilet else 0.0
    return each * len(brief.people)


def price(brief: Brief, catalog: Catalog, kit: Kit, counts: Counts) -> tuple[float, float]:
    """Bill and budget [USD]."""
    owned = {one.part: one.count for one in brief.preferences.owned}
    total = 0.0
    for part_id, count in counts.items():
        part = catalog.any_part(part_id)
        by = area(brief) if isinstance(part, Insulation) and part_id not in owned else 1.0
        total += part.price_usd * by * max(0, count - owned.get(part_id, 0))
        if isinstance(part, SolarPanel):
            total += part.bracket_price_usd * count
        if isinstance(part, Toilet):
            total += part.usd_per_visit * visits(brief) * kit.nights
    return total, brief.limits.budget


def payload(brief: Brief, catalog: Catalog, kit: Kit, counts: Counts) -> tuple[float, float]:
    """Mass carried at departure, and payload [kg]."""
    vehicle, supplies = brief.vehicle, brief.supplies
    total = sum(person.mass for person in brief.people) + sum(f.mass for f in vehicle.fittings) + supplies.gear
    total += supplies.food_per_person_day * len(brief.people) * kit.nights
    for part_id, count in counts.items():
        part = catalog.any_part(part_id)
        total += part.mass_kg * count * (area(brief) if isinstance(part, Insulation) else 1.0)
        if isinstance(part, SolarPanel):
            total += part.bracket_mass_kg * count
        if isinstance(part, WaterContainer):
            total += part.volume_l * count
        if isinstance(part, FuelTank):
            total += part.volume_l * FUEL_KG_L[part.fuel] * count
        if isinstance(part, Toilet):
            total += part.kg_per_visit * visits(brief) * kit.nights
    weighed = vehicle.front_axle_mass + vehicle.rear_axle_mass
    return total, vehicle.gross_mass - weighed - brief.limits.payload_margin


def water(brief: Brief, catalog: Catalog, kit: Kit, counts: Counts) -> tuple[float, float]:
    """Fresh water for the nights, flushing too, and what is held [L]."""
    night = _water_night(brief)
    toilets = [catalog.part(part_id) for part_id in counts if catalog.kind_of(part_id) == "toilet"]
    night += sum(part.water_l_per_visit * visits(brief) for part in toilets if isinstance(part, Toilet))
    return night * kit.nights, _held(catalog, counts, WaterContainer)


def grey_water(brief: Brief, catalog: Catalog, kit: Kit, counts: Counts) -> tuple[float, float]:
    """Waste water of the nights, and room for it [L]."""
    need = _water_night(brief) * brief.supplies.grey_share * kit.nights
    return need, _held(catalog, counts, GreyContainer)


def _water_night(brief: Brief) -> float:
    return brief.supplies.water_per_person_day * len(brief.people) + brief.supplies.other_water_day


def _held(catalog: Catalog, counts: Counts, record: type[WaterContainer] | type[GreyContainer]) -> float:
    parts = ((catalog.any_part(part_id), count) for part_id, count in counts.items())
    return sum(part.volume_l * count for part, count in parts if isinstance(part, record))


def heat_loss(brief: Brief, lining: Insulation) -> float:
    """Watts a kelvin through body and air."""
    inside = {"side": 0.13, "up": 0.10, "down": 0.17}
    total = 0.33 * brief.comfort.air_changes * brief.vehicle.air_volume
    for part in brief.vehicle.surfaces:
        way = "down" if part.kind == "floor" else part.facing
        bare = 1 / (inside[way] + 0.04)
        covered = 1 / (inside[way] + lining.thickness_mm / 1000 / lining.conductivity_w_mk + 0.04)
        assert part.kind in ("insulated", "floor"), "these worlds have no glass"
        total += part.area * (lining.covered_share * covered + (1 - lining.covered_share) * bare)
    return total


def heat_output(brief: Brief, catalog: Catalog, counts: Counts, year: WeatherYear) -> tuple[float, float]:
    """Heat wanted on the coldest night, and heat given at altitude [W]."""
    heater, lining = _one(catalog, counts, Heater), _one(catalog, counts, Insulation)
    assert isinstance(heater, Heater)
    assert isinstance(lining, Insulation)
    coldest = brief.place.coldest_night
    if coldest is None:
        coldest = min(year.air_c[hour] for month in months(brief) for hour in hours_of(month)) - brief.place.colder_by
    gains = len(brief.people) * brief.comfort.people_heat
    wanted = max(0.0, heat_loss(brief, lining) * (brief.comfort.night_temperature - coldest) - gains)
    height = year.altitude_m if brief.place.altitude is None else brief.place.altitude
    thinner = min(1.0, (1 - 2.25577e-5 * height) ** 4.25588) if heater.fuel else 1.0
    given = heater.output_w * thinner if height <= heater.altitude_max_m else 0.0
    return wanted, given


def heating_fuel(brief: Brief, catalog: Catalog, kit: Kit, counts: Counts, year: WeatherYear) -> tuple[float, float]:
    """Litres for the coldest month's mean day, every night, and litres held of the heater's fuel."""
    heater, lining = _one(catalog, counts, Heater), _one(catalog, counts, Insulation)
    assert isinstance(heater, Heater)
    assert isinstance(lining, Insulation)
    loss, comfort = heat_loss(brief, lining), brief.comfort
    gains, worst = len(brief.people) * comfort.people_heat, 0.0
    for month in months(brief):
        total = 0.0
        for hour in hours_of(month):
            night = hour % 24 >= comfort.night_from or hour % 24 < comfort.night_to
            wanted = comfort.night_temperature if night else comfort.day_temperature
            total += max(0.0, loss * (wanted - (year.air_c[hour] - brief.place.colder_by)) - gains)
        worst = max(worst, total / MONTH_DAYS[month - 1])
    lhv_wh = FUEL_MJ_KG[heater.fuel] * FUEL_KG_L[heater.fuel] / 3.6 * 1000
    parts = ((catalog.any_part(part_id), count) for part_id, count in counts.items())
    held = sum(part.volume_l * n for part, n in parts if isinstance(part, FuelTank) and part.fuel == heater.fuel)
    held += brief.vehicle.fuel_for_heater if brief.vehicle.fuel == heater.fuel else 0.0
    return worst * kit.nights / (heater.efficiency * lhv_wh), held


def array_voltage(
    brief: Brief, catalog: Catalog, kit: Kit, slot: int, year: WeatherYear
) -> tuple[float, float]:
    """Open-circuit voltage on the coldest morning of all the year, 2 % on top, and the controller's limit [V]."""
    panel, series, _ = strings(catalog, kit, slot)
    coldest = min(year.air_c) - brief.place.colder_by
    if brief.place.coldest_night is not None:
        coldest = min(coldest, brief.place.coldest_night)
    volts = series * panel.voc_v * (1 + panel.voc_coefficient_pct_k / 100 * (coldest - 25))
    return 1.02 * volts, controller(catalog, kit, slot).array_v_max


def controller_current(catalog: Catalog, kit: Kit, slot: int) -> tuple[float, float]:
    """Rated power at charging voltage, 14.4 V for each 12 V, and the controller's output [A]."""
    panel, series, parallel = strings(catalog, kit, slot)
    return series * parallel * panel.power_w / (14.4 * kit.voltage / 12), controller(catalog, kit, slot).output_a


def charge_limit(catalog: Catalog, kit: Kit) -> float:
    """What the bank may be charged with [A]."""
    words = kit.choices["battery"].split()
    battery = catalog.part(words[0])
    assert isinstance(battery, Battery)
    match = re.fullmatch(r"(\d+)s(\d+)p", words[1])
    assert match
    most = battery.charge_a * int(match[2])
    if len(words) == 3:
        manager = catalog.part(words[2])
        assert isinstance(manager, CellManager)
        most = min(most, manager.charge_a)
    return most


def chilled(brief: Brief, catalog: Catalog, kit: Kit) -> tuple[float, float]:
    """Chilled food, and room for it: a box of ice keeps two nights [L]."""
    room = 0.0
    for name in ("cold_box_1", "cold_box_2"):
        if name in kit.choices:
            box = catalog.part(kit.choices[name])
            assert isinstance(box, ColdBox)
            room += box.chilled_l if box.style != "passive" or kit.nights <= 2 else 0.0
    return brief.supplies.chilled, room


def strings(catalog: Catalog, kit: Kit, slot: int) -> tuple[SolarPanel, int, int]:
    """The panel of an array, how many in series, how many strings."""
    part_id, wiring = kit.choices[f"panels_{slot}"].split()
    panel, match = catalog.part(part_id), re.fullmatch(r"(\d+)s(\d+)p", wiring)
    assert isinstance(panel, SolarPanel)
    assert match
    return panel, int(match[1]), int(match[2])


def controller(catalog: Catalog, kit: Kit, slot: int) -> ChargeController:
    """The controller of an array."""
    part = catalog.part(kit.choices[f"controller_{slot}"].split(" @")[0])
    assert isinstance(part, ChargeController)
    return part


def months(brief: Brief) -> list[int]:
    """Months the season touches."""
    first, last = int(brief.trip.season_from[:2]), int(brief.trip.season_to[:2])
    found = [first]
    while found[-1] != last:
        found.append(found[-1] % 12 + 1)
    return found


def hours_of(month: int) -> range:
    """Hours of the year that lie in a month."""
    before = sum(MONTH_DAYS[: month - 1])
    return range(24 * before, 24 * (before + MONTH_DAYS[month - 1]))


def _one(catalog: Catalog, counts: Counts, record: type) -> object:
    return next(part for part in map(catalog.any_part, counts) if isinstance(part, record))
