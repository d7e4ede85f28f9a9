"""The pass over the hours, compiled. Imported lazily by ``trips.run``: it pulls in numba.

On the road: scene + row of numbers -> *kernel* -> which departures fall short. The model of an hour is
told in ``trips.run``.

How it is fast and exact at once. What flows in an hour does not hang on the departure, only on the hour
and on the kind of trip day. So each needed (kind, day) is worked out once, and boiled down to three
numbers about the depth of the battery, D (energy missing from full): over a day D becomes
``max(floor, D + shift)``, and the day is survived when D at its start is at most ``most``. A departure is
then a walk over its days. Each of these numbers is made only of sums, products, minima and maxima of
steps that rounding keeps in order, so they are monotone to the last bit, without tolerance.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.compiling import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SLACK = 1e-6
"""Shortfalls up to this many Wh, W or L are rounding, not shortfalls."""

YEAR_DAYS = 365


class Kit(NamedTuple):
    """The entries of ``layout.SCALARS``, by their names and in their order."""

    bank_usable_wh: float
    bank_charge_w: float
    bank_charge_efficiency: float
    bank_discharge_efficiency: float
    bank_self_use_w: float
    array_1_power_w: float
    array_1_switching_w: float
    array_1_output_w: float
    array_1_efficiency: float
    array_2_power_w: float
    array_2_switching_w: float
    array_2_output_w: float
    array_2_efficiency: float
    alternator_w: float
    inverter_efficiency: float
    inverter_idle_w: float
    converter_efficiency: float
    idle_w: float
    cold_dc_at_25_w: float
    cold_dc_rise_w_k: float
    cold_dc_fall_w_k: float
    cold_ac_at_25_w: float
    cold_ac_rise_w_k: float
    cold_ac_fall_w_k: float
    heater_output_w: float
    heater_dc_per_w: float
    heater_ac_per_w: float
    heater_start_dc_wh: float
    heater_start_ac_wh: float
    fan_w: float
    heat_loss_w_k: float
    water_l: float
    grey_l: float
    toilet_visits: float


class Hours(NamedTuple):
    """The scene's hours for this kit's classes, each (B, 24)."""

    yield_1: Floats
    yield_2: Floats
    sun: Floats
    gap: Floats
    gain: Floats
    over: Floats
    under: Floats
    share: Floats
    may_charge: Floats
    starts_per_hour: float
    cold_floor: float


class Kinds(NamedTuple):
    """``scene.DayKinds``, field by field."""

    drive: Floats
    fan: Floats
    uses_dc: Floats
    uses_ac: Floats
    meals: Floats
    meals_driving: Floats


class Days(NamedTuple):
    """The trip's kinds of day with this kit's alternator, fan and cooking in them, each (D, 24)."""

    net: Floats
    """Alternator less DC loads, at the bank's side. [W]"""
    ac: Floats
    """AC loads, before the inverter. [W]"""


class Base(NamedTuple):
    """What an hour brings and takes on any kind of day, each (B, 24), filled when first needed."""

    ready: NDArray[np.bool_]
    net: Floats
    """Sun less DC loads and own draws, at the bank's side. [W]"""
    ac: Floats
    """AC loads, before the inverter. [W]"""
    heat: Floats
    """Heat wanted. [W]"""


@compiled
def kit_days(kinds: Kinds, kit: Kit, meal_wh: Floats) -> Days:
    """The kinds of day with this kit; ``meal_wh`` as in ``layout.Parts``, (M, 4)."""
    dc, ac = kinds.uses_dc + kinds.fan * kit.fan_w, kinds.uses_ac.copy()
    for meal in range(meal_wh.shape[0]):
        for kind in range(dc.shape[0]):
            for h in range(24):
                still, moving = kinds.meals[kind, h, meal], kinds.meals_driving[kind, h, meal]
                dc[kind, h] += still * meal_wh[meal, 0] + moving * meal_wh[meal, 2]
                ac[kind, h] += still * meal_wh[meal, 1] + moving * meal_wh[meal, 3]
    return Days(kit.alternator_w * kinds.drive - dc / kit.converter_efficiency, ac)


@compiled
def empty_base(days: int) -> Base:
    """Room for ``days`` days, none of them worked out."""
    return Base(
        np.zeros(days, np.bool_), np.empty((days, 24)), np.empty((days, 24)), np.empty((days, 24))
    )


@compiled
def fill_base(base: Base, kit: Kit, hours: Hours, day: int) -> None:
    """Sun after the controllers, heat wanted, and the loads that know no kind of day."""
    own_draws = kit.idle_w + kit.bank_self_use_w
    for h in range(24):
        sun = hours.sun[day, h]
        one = min(hours.yield_1[day, h] * kit.array_1_power_w, sun * kit.array_1_switching_w)
        two = min(hours.yield_2[day, h] * kit.array_2_power_w, sun * kit.array_2_switching_w)
        solar = min(one * kit.array_1_efficiency, kit.array_1_output_w)
        solar += min(two * kit.array_2_efficiency, kit.array_2_output_w)
        heat = max(0.0, kit.heat_loss_w_k * hours.gap[day, h] - hours.gain[day, h])
        starts = hours.starts_per_hour if heat > 0.0 else 0.0
        over, under = hours.over[day, h], hours.under[day, h]
        cold_dc = kit.cold_dc_at_25_w + kit.cold_dc_rise_w_k * over - kit.cold_dc_fall_w_k * under
        cold_dc = max(cold_dc, hours.cold_floor * kit.cold_dc_at_25_w)
        cold_ac = kit.cold_ac_at_25_w + kit.cold_ac_rise_w_k * over - kit.cold_ac_fall_w_k * under
        cold_ac = max(cold_ac, hours.cold_floor * kit.cold_ac_at_25_w)
        dc = cold_dc + heat * kit.heater_dc_per_w + starts * kit.heater_start_dc_wh
        base.net[day, h] = solar - dc / kit.converter_efficiency - own_draws
        base.ac[day, h] = cold_ac + heat * kit.heater_ac_per_w + starts * kit.heater_start_ac_wh
        base.heat[day, h] = heat
    base.ready[day] = True


@compiled
def net_power(base: Base, kit: Kit, days: Days, kind: int, day: int, h: int) -> float:
    """What comes to the bank's side less what is taken from it, in an hour. [W]"""
    net = base.net[day, h] + days.net[kind, h]
    ac = base.ac[day, h] + days.ac[kind, h]
    if ac > 0.0:
        net -= ac / kit.inverter_efficiency + kit.inverter_idle_w
    return float(net)


@compiled
def deepening(net: float, may_charge: float, kit: Kit) -> float:
    """What an hour adds to the depth of the battery; negative when it charges. [Wh]"""
    if net > 0.0:
        return -min(net, kit.bank_charge_w) * kit.bank_charge_efficiency if may_charge > 0.0 else 0.0
    return -net / kit.bank_discharge_efficiency


@compiled
def boil_down(
    base: Base, kit: Kit, hours: Hours, days: Days, kind: int, day: int, boiled: Floats
) -> None:
    """Write a day as (floor, shift, most): see the head of this module. [Wh]"""
    floor = shift = 0.0
    most = np.inf
    for h in range(24):
        step = deepening(net_power(base, kit, days, kind, day, h), hours.may_charge[day, h], kit)
        floor = max(0.0, floor + step)
        shift += step
        room = kit.bank_usable_wh * hours.share[day, h] + SLACK
        if floor > room:
            most = -1.0
        most = min(most, room - shift)
    boiled[0], boiled[1], boiled[2] = floor, shift, most


@compiled
def day_heat(base: Base, kit: Kit, day: int) -> float:
    """Heat wanted over a day; endless when an hour wants more than the heater gives. [Wh]"""
    total = 0.0
    for h in range(24):
        if base.heat[day, h] > kit.heater_output_w + SLACK:
            return np.inf
        total += base.heat[day, h]
    return total


class Scratch(NamedTuple):
    """What is worked out about a kit, day by day, when first needed; used again for the next kit."""

    base: Base
    heat: Floats
    """Heat wanted over each day, shape (B,). [Wh]"""
    known: NDArray[np.bool_]
    """Which kinds of day are boiled down on which days, shape (D, B)."""
    boiled: Floats
    """See ``boil_down``, shape (D, B, 3)."""


class Fuels(NamedTuple):
    """What is burnt and what there is to burn, each (F,)."""

    heat_l_wh: Floats
    cooking_l: Floats
    """On the whole trip. [L]"""
    held_l: Floats


@compiled
def empty_scratch(kinds: int, days: int) -> Scratch:
    """Room for so many kinds of day and days, nothing worked out."""
    known, boiled = np.zeros((kinds, days), np.bool_), np.empty((kinds, days, 3))
    return Scratch(empty_base(days), np.empty(days), known, boiled)


@compiled
def cooked(meal_counts: Floats, meal_fuel_l: Floats) -> Floats:
    """Fuel that the trip's meals burn, shape (F,). [L]"""
    total = np.zeros(meal_fuel_l.shape[1])
    for meal in range(meal_counts.size):
        total += meal_counts[meal] * meal_fuel_l[meal]
    return total


@compiled
def falls_short(
    kit: Kit, hours: Hours, days: Days, fuels: Fuels, day_type: Ints, first: int, nights: int, scratch: Scratch
) -> bool:
    """Whether the departure on day ``first`` runs short of anything."""
    year = first // YEAR_DAYS * YEAR_DAYS
    depth = heat = 0.0
    for night in range(nights):
        day = year + (first - year + night) % YEAR_DAYS
        kind = day_type[night]
        if not scratch.base.ready[day]:
            fill_base(scratch.base, kit, hours, day)
            scratch.heat[day] = day_heat(scratch.base, kit, day)
        if not scratch.known[kind, day]:
            boil_down(scratch.base, kit, hours, days, kind, day, scratch.boiled[kind, day])
            scratch.known[kind, day] = True
        floor, shift, most = scratch.boiled[kind, day, 0], scratch.boiled[kind, day, 1], scratch.boiled[kind, day, 2]
        heat += scratch.heat[day]
        if depth > most or heat == np.inf:
            return True
        depth = max(floor, depth + shift)
    for fuel in range(fuels.held_l.size):
        if heat * fuels.heat_l_wh[fuel] + fuels.cooking_l[fuel] > fuels.held_l[fuel] + SLACK:
            return True
    return False


@compiled
def count_short(
    kit: Kit,
    hours: Hours,
    kinds: Kinds,
    meal_wh: Floats,
    day_type: Ints,
    departures: Ints,
    order: Ints,
    nights: int,
    fuel_per_wh: Floats,
    fuel_l: Floats,
    meal_fuel_l: Floats,
    meal_counts: Floats,
    stop_after: int,
    short: NDArray[np.bool_],
) -> int:
    """How many departures fall short, at most ``stop_after + 1``; marks those looked at in ``short``."""
    days = kit_days(kinds, kit, meal_wh)
    scratch = empty_scratch(days.ac.shape[0], hours.sun.shape[0])
    fuels = Fuels(fuel_per_wh, cooked(meal_counts, meal_fuel_l), fuel_l)
    count = 0
    for place in order:
        short[place] = falls_short(kit, hours, days, fuels, day_type, departures[place], nights, scratch)
        if short[place]:
            count += 1
            if count > stop_after:
                return count
    return count


@compiled
def trace(
    kit: Kit,
    hours: Hours,
    kinds: Kinds,
    meal_wh: Floats,
    day_type: Ints,
    departures: Ints,
    order: Ints,
    nights: int,
    fuel_per_wh: Floats,
    fuel_l: Floats,
    meal_fuel_l: Floats,
    first: Ints,
    lack: Floats,
    spell: Ints,
    room_left: Floats,
) -> None:
    """Hour by hour, without stopping: what each departure in ``order`` runs short of, and its spell.

    ``first`` and ``lack``, shape (N, 2 + fuels), are filled with the first short hour (-1: none) and the
    largest lack of battery, warmth and each fuel; ``spell``, shape (N, 2), with the hour after which the
    bank was last full (-1: from the start) and the hour of least room; ``room_left``, shape (N,), with
    that room. ``meal_fuel_l``, shape (M, fuels), is burnt at each meal's own hour.
    """
    base, days = empty_base(hours.sun.shape[0]), kit_days(kinds, kit, meal_wh)
    meals, fuels = meal_fuel_l.shape
    burnt, burns = np.empty(fuels), fuel_per_wh > 0.0
    for meal in range(meals):
        burns |= meal_fuel_l[meal] > 0.0
    for row in range(order.size):
        start = departures[order[row]]
        year = start // YEAR_DAYS * YEAR_DAYS
        first[row, :] = -1
        lack[row, :] = 0.0
        room_left[row] = np.inf
        burnt[:] = 0.0
        depth, full = 0.0, -1
        for night in range(nights):
            day = year + (start - year + night) % YEAR_DAYS
            kind = day_type[night]
            if not base.ready[day]:
                fill_base(base, kit, hours, day)
            for h in range(24):
                t = 24 * night + h
                step = deepening(net_power(base, kit, days, kind, day, h), hours.may_charge[day, h], kit)
                depth = max(0.0, depth + step)
                if depth == 0.0:
                    full = t
                room = kit.bank_usable_wh * hours.share[day, h] - depth
                if room < room_left[row]:
                    room_left[row] = room
                    spell[row, 0], spell[row, 1] = full, t
                note(first, lack, row, 0, t, -room)
                heat = base.heat[day, h]
                note(first, lack, row, 1, t, heat - kit.heater_output_w)
                for fuel in range(fuels):
                    if burns[fuel]:
                        burnt[fuel] += heat * fuel_per_wh[fuel]
                        for meal in range(meals):
                            burnt[fuel] += kinds.meals[kind, h, meal] * meal_fuel_l[meal, fuel]
                        note(first, lack, row, 2 + fuel, t, burnt[fuel] - fuel_l[fuel])


@compiled
def note(first: Ints, lack: Floats, row: int, cause: int, t: int, amount: float) -> None:
    """Write down a lack: its first hour, and the largest."""
    if amount > SLACK:
        if first[row, cause] < 0:
            first[row, cause] = t
        lack[row, cause] = max(lack[row, cause], amount)
