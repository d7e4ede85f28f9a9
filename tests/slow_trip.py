"""A second opinion on trips: one departure, one hour after the other, in plain Python.

Written from the brief, the weather year and the kit's numbers alone. It shares no code with the compiled
pass, its scene or its schedule: it asks of each hour anew what the calendar, the sun and the kit do in
it. Slow and readable on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from pvlib.iam import physical

from optimizer.brief.brief import Brief
from optimizer.physics.battery import capacity_factor, may_charge
from optimizer.trips.numbers import KitNumbers
from optimizer.weather.year import WeatherYear

NOON = 12


@dataclass
class SlowTrip:
    """What the trip ran short of first, and how the bank fared."""

    cause: str = "none"
    hour: int = -1
    lacks: dict[str, float] = field(default_factory=dict)
    least_room: float = float("inf")
    room_hour: int = -1
    spell_from: int = 0
    depths: list[float] = field(default_factory=list)

    @property
    def lack(self) -> float:
        """The largest lack of what ran short first."""
        return self.lacks.get(self.cause, 0.0)


def drive_share(brief: Brief, t: int) -> float:
    """Share of trip hour ``t`` that is driven."""
    driving = brief.trip.driving
    if driving.every_days == 0:
        return 0.0
    since_midnight_of_departure = t + NOON
    share = 0.0
    for day in (since_midnight_of_departure // 24, since_midnight_of_departure // 24 - 1):
        if day >= 0 and day % driving.every_days == 0:
            begun = since_midnight_of_departure - (24 * day + driving.start_hour)
            if begun >= 0:
                share += max(0.0, min(1.0, driving.hours - begun))
    return share


def is_drive_day(brief: Brief, day: int) -> bool:
    """Whether a drive begins on that calendar day, counted from the departure day."""
    driving = brief.trip.driving
    return driving.every_days != 0 and driving.hours != 0 and day % driving.every_days == 0


def use_draw(brief: Brief, number: int, t: int) -> float:
    """Watts of the brief's use ``number`` in trip hour ``t``."""
    use = brief.uses[number]
    watts = use.power * use.count

    def wanted(day: int) -> bool:
        if use.when == "always":
            return True
        return is_drive_day(brief, day) if use.when == "driving" else not is_drive_day(brief, day)

    if use.start_hour is None:
        runs = (t // 24) % use.every_days == 0 and wanted((t + NOON) // 24)
        return watts * use.hours / 24 if runs else 0.0
    # Look back for the latest hour at which it can have been switched on.
    for ago in range(24):
        switched_on = t - ago
        if (switched_on + NOON) % 24 != use.start_hour:
            continue
        day_of_clock = switched_on // 24
        if day_of_clock < 0 and use.every_days > 1:
            return 0.0
        if day_of_clock % use.every_days or not wanted((switched_on + NOON) // 24):
            return 0.0
        return watts * max(0.0, min(1.0, use.hours - ago))
    raise AssertionError("every day has each hour once")


def meal_hour(brief: Brief, number: int, day_of_clock: int, while_driving: bool) -> int:
    """Trip hour at which a meal of that day is cooked."""
    meal = brief.meals[number]
    own = 24 * day_of_clock + (meal.hour + 24 - NOON) % 24
    if while_driving:
        calendar_day = (own + NOON) // 24
        departure = 24 * calendar_day + brief.trip.driving.start_hour - NOON
        if is_drive_day(brief, calendar_day) and departure >= 0:
            return departure
    return own


def fan_share(brief: Brief, hour_of_day: int) -> float:
    """Share of the hour that the roof fan runs: the last hours before the night begins."""
    end = brief.comfort.night_from
    left = brief.comfort.fan_hours
    hour = end
    for _ in range(24):
        hour = (hour - 1) % 24
        if hour == hour_of_day:
            return min(1.0, max(0.0, left))
        left -= 1.0
    raise AssertionError("every day has each hour once")


def sleeping(brief: Brief, hour_of_day: int) -> bool:
    """Whether the hour belongs to the night."""
    hour = brief.comfort.night_from
    while hour != brief.comfort.night_to:
        if hour == hour_of_day:
            return True
        hour = (hour + 1) % 24
    return False


def box_draw(w25: float, w32: float, around: float) -> float:
    """A straight line through two points, at least flat, at least a tenth of the first."""
    slope = (w32 - w25) / 7 if w32 > w25 else 0.0
    return max(w25 + slope * (around - 25), 0.1 * w25)


def behind_glass(ghi: float, dhi: float, elevation: float) -> float:
    """Share of the sun that level glass lets through: pvlib's own formula for the ray, and for the sky as a ray at 59.7
    degrees (Duffie & Beckman, from memory)."""
    if ghi <= 0:
        return 1.0
    beam = min(max(ghi - dhi, 0.0), ghi)
    return (beam * (_glass(90.0 - elevation) if elevation > 0 else 0.0) + (ghi - beam) * _glass(59.7)) / ghi


@cache
def _glass(incidence: float) -> float:
    return float(physical(incidence, n=1.526, K=4.0, L=0.002))


def sun_into_bank_side(kit: KitNumbers, ghi: float, air: float, counted: float, stress: float) -> float:
    """Power of all arrays after their controllers."""
    total = 0.0
    for array in kit.arrays:
        warmed_by = ghi * max(1.0, stress)
        cell = air + (array.noct_c - 20) / 800 * warmed_by
        ratio = max(0.0, 1 + array.coefficient_pct_k / 100 * (cell - 25))
        panels = array.power_w * counted * ghi / 1000 * ratio
        if not array.tracking:
            panels = min(panels, array.switching_w * counted * ghi / 1000)
        total += min(panels * array.efficiency, array.output_w)
    return total


def slow_trip(brief: Brief, year: WeatherYear, kit: KitNumbers, day_of_year: int, nights: int) -> SlowTrip:
    """Run the trip that departs on ``day_of_year`` (0 = 1 January)."""
    trip = SlowTrip()
    comfort, place = brief.comfort, brief.place
    stress = place.sun_stress / 100
    counted = (1 - place.soiling / 100) * (1 - place.shading / 100) * stress
    people = len(brief.people)
    bank = kit.bank
    fuel_used: dict[str, float] = {}
    water = waste = visits = 0.0
    depth = 0.0
    last_full = -1

    def short(cause: str, amount: float, t: int) -> None:
        if amount > 1e-6:
            if trip.cause == "none":
                trip.cause, trip.hour = cause, t
            trip.lacks[cause] = max(trip.lacks.get(cause, 0.0), amount)

    for t in range(24 * nights):
        hour_of_day = (t + NOON) % 24
        h = (24 * day_of_year + NOON + t) % 8760
        ghi, own_air = float(year.ghi[h]), float(year.air_c[h])
        air = own_air - place.colder_by
        night = sleeping(brief, hour_of_day)
        set_point = comfort.night_temperature if night else comfort.day_temperature

        heat = 0.0
        if comfort.heating and air < set_point:
            gains = comfort.people_heat * people if night else 0.0
            heat = max(0.0, kit.heat_loss_w_k * (set_point - air) - gains)
        inside = max(set_point, air) if comfort.heating else air
        around = (max(set_point, own_air) if comfort.heating else own_air) + comfort.hot_van_rise * ghi / 1000

        dc = sum(use_draw(brief, n, t) for n, use in enumerate(brief.uses) if use.supply == "dc")
        ac = sum(use_draw(brief, n, t) for n, use in enumerate(brief.uses) if use.supply == "ac")
        dc += box_draw(*kit.cold_dc, around) + kit.fan_w * fan_share(brief, hour_of_day)
        ac += box_draw(*kit.cold_ac, around)
        if heat > 0 and kit.heater is not None:
            watts = heat * kit.heater.draw_per_w + kit.heater.start_wh * comfort.heater_starts_a_day / 24
            if kit.heater.supply == "dc":
                dc += watts
            else:
                ac += watts
            if kit.heater.fuel:
                burnt = heat * kit.heater.fuel_l_per_wh
                fuel_used[kit.heater.fuel] = fuel_used.get(kit.heater.fuel, 0.0) + burnt
        for n, meal in enumerate(brief.meals):
            cooking = kit.meals[n]
            for day_of_clock in range(max(0, t // 24 - 2), t // 24 + 3):
                if day_of_clock % meal.every_days:
                    continue
                if meal_hour(brief, n, day_of_clock, cooking.while_driving) == t:
                    dc += cooking.dc_wh
                    ac += cooking.ac_wh
                if cooking.fuel and meal_hour(brief, n, day_of_clock, False) == t:
                    fuel_used[cooking.fuel] = fuel_used.get(cooking.fuel, 0.0) + cooking.fuel_l

        load = dc / kit.converter_efficiency + kit.idle_w + bank.self_use_w
        if ac > 0:
            load += ac / kit.inverter_efficiency + kit.inverter_idle_w
        through = behind_glass(ghi, float(year.dhi[h]), float(year.sun_elevation_deg[h]))
        net = sun_into_bank_side(kit, ghi, own_air, counted * through, stress)
        net += kit.alternator_w * drive_share(brief, t) - load

        cells = inside if bank.warm else air
        chargeable = bool(may_charge(bank.chemistry, cells)) and (cells >= 0 or bank.charges_cold)
        if net > 0 and chargeable:
            depth = max(0.0, depth - min(net, bank.charge_w) * bank.charge_efficiency)
        elif net <= 0:
            depth += -net / bank.discharge_efficiency
        trip.depths.append(depth)
        if depth == 0:
            last_full = t
        room = bank.usable_wh * float(capacity_factor(bank.chemistry, cells)) - depth
        if room < trip.least_room:
            trip.least_room, trip.room_hour, trip.spell_from = room, t, last_full + 1

        short("battery", -room, t)
        short("warmth", heat - (kit.heater.output_w if kit.heater else 0.0), t)
        for fuel in ("diesel", "petrol", "kerosene", "propane", "alcohol"):
            short(fuel, fuel_used.get(fuel, 0.0) - kit.fuel_l.get(fuel, 0.0), t)
        supplies = brief.supplies
        need = supplies.water_per_person_day * people + supplies.other_water_day
        water += need / 24
        waste += need * supplies.grey_share / 24
        visits += supplies.toilet_visits_per_person_day * people / 24 if supplies.toilet else 0.0
        short("water", water - kit.water_l, t)
        short("waste", waste - kit.grey_l, t)
        short("toilet", visits - kit.toilet_visits, t)
    return trip
