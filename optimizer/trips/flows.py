"""Where the energy of a trip comes from and goes to, hour by hour, on numpy arrays.

On the road: scene + kit numbers -> *flows* -> replay (tables, pictures). The model is that of
``trips.run``, told once more from the kit's numbers; a test holds the two together. Everything is in
watt-hours of an hour, as it crosses the battery's side:

    sun used + alternator used + taken from store - put into store
      = uses + cold boxes + fan + heater + cooking + losses and own draws + lost in the bank

What is left over when the bank takes no more is turned away: the sun first, then the alternator. A
trip that runs short is told to its end as though the bank could be overdrawn: its depth grows beyond its
capacity by what is lacking.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.physics import Array
from optimizer.physics.cold import cold_box_draw
from optimizer.trips.numbers import KitNumbers
from optimizer.trips.scene import BANK_CLASSES, COLD_BOX_BASE_C, Scene

Picked = Callable[[Array], Array]
"""From a scene's hours (B, 24) to those of the departures (N, T)."""

SOURCES = ("sun", "alternator", "store")
"""The entries on the giving side of the balance; all other entries of ``Flows.energy`` are taken."""


@dataclass(frozen=True, eq=False)
class Flows:
    """Some departures hour by hour; every array has the shape (N, T)."""

    energy: dict[str, Array]
    """The balance: ``SOURCES`` give, everything else takes, the uses by name. [Wh]"""
    turned_away: dict[str, Array]
    """'sun beyond the controller', 'sun with a full bank', 'alternator with a full bank'. [Wh]"""
    depth_wh: Array
    """Energy missing from full at the end of the hour. [Wh]"""
    capacity_wh: Array
    """Usable energy at the hour's temperature. [Wh]"""
    heat_w: Array
    """Heat wanted. [W]"""
    air_c: Array
    inside_c: Array
    ghi: Array


def flows(scene: Scene, numbers: KitNumbers, nights: int, departures: NDArray[np.int64]) -> Flows:
    """Every flow of these departures (places in ``scene.departures``) over so many nights."""
    rows = np.array([scene.rows(int(departure), nights) for departure in departures], dtype=np.int64)

    def run(hourly: Array) -> Array:
        picked: Array = hourly[rows].reshape(len(rows), 24 * nights)
        return picked

    heat = np.maximum(numbers.heat_loss_w_k * run(scene.heat_gap_k) - run(scene.heat_gain_w), 0.0)
    dc, ac = _loads(scene, numbers, heat, run, nights)
    taken = {**dc, **_added(dc, ac)}
    taken["own draws"] = np.full_like(heat, numbers.idle_w + numbers.bank.self_use_w)
    dc_total, ac_total = sum(dc.values(), np.zeros_like(heat)), sum(ac.values(), np.zeros_like(heat))
    taken["converter loss"] = dc_total / numbers.converter_efficiency - dc_total
    taken["inverter loss and draw"] = np.where(
        ac_total > 0, ac_total / numbers.inverter_efficiency - ac_total + numbers.inverter_idle_w, 0.0
    )
    offered, sun = _sun(scene, numbers, run)
    alternator = np.broadcast_to(numbers.alternator_w * scene.schedule.drive[: 24 * nights], heat.shape)
    bank = numbers.bank
    share, chargeable = scene.bank_series(
        BANK_CLASSES.index((bank.chemistry, bank.warm, bank.charges_cold))
    )
    net = sun + alternator - sum(taken.values(), np.zeros_like(heat))
    depth, stored, drawn = _store(numbers, net, run(chargeable))
    accepted, delivered = stored / bank.charge_efficiency, drawn * bank.discharge_efficiency
    spare = np.maximum(net, 0.0) - accepted
    sun_spare = np.minimum(spare, sun)
    return Flows(
        energy={
            "sun": sun - sun_spare,
            "alternator": alternator - (spare - sun_spare),
            "store": drawn - stored,
            **taken,
            "lost in the bank": accepted - stored + drawn - delivered,
        },
        turned_away={
            "sun beyond the controller": offered - sun,
            "sun with a full bank": sun_spare,
            "alternator with a full bank": spare - sun_spare,
        },
        depth_wh=depth,
        capacity_wh=bank.usable_wh * run(share),
        heat_w=heat,
        air_c=run(scene.air_c),
        inside_c=run(scene.inside_c),
        ghi=run(scene.ghi),
    )


def _added(one: dict[str, Array], other: dict[str, Array]) -> dict[str, Array]:
    return {name: one.get(name, 0.0) + watts for name, watts in other.items()}


def use_names(scene: Scene) -> list[str]:
    """A name for each use that no other entry of the balance has."""
    names: list[str] = []
    for use in scene.brief.uses:
        name, again = f"use: {use.name}", 2
        while name in names:
            name, again = f"use: {use.name} ({again})", again + 1
        names.append(name)
    return names


def _loads(
    scene: Scene, numbers: KitNumbers, heat: Array, run: Picked, nights: int
) -> tuple[dict[str, Array], dict[str, Array]]:
    """DC and AC draws by name, before converter and inverter."""
    hours, schedule = 24 * nights, scene.schedule
    dc: dict[str, Array] = {}
    ac: dict[str, Array] = {}
    for number, (name, use) in enumerate(zip(use_names(scene), scene.brief.uses, strict=True)):
        side = dc if use.supply == "dc" else ac
        side[name] = np.broadcast_to(schedule.uses_w[:hours, number], heat.shape)
    around = run(scene.around_over_k - scene.around_under_k) + COLD_BOX_BASE_C
    dc["cold boxes"] = cold_box_draw(*numbers.cold_dc, around)
    ac["cold boxes"] = cold_box_draw(*numbers.cold_ac, around)
    dc["roof fan"] = np.broadcast_to(numbers.fan_w * schedule.fan[:hours], heat.shape)
    heater = numbers.heater
    if heater is not None:
        starts = heater.start_wh * scene.brief.comfort.heater_starts_a_day / 24.0
        side = dc if heater.supply == "dc" else ac
        side["heater"] = heat * heater.draw_per_w + np.where(heat > 0, starts, 0.0)
    for side, energy in ((dc, "dc_wh"), (ac, "ac_wh")):
        cooking = np.zeros(hours)
        for number, meal in enumerate(numbers.meals):
            when = schedule.meals_driving if meal.while_driving else schedule.meals
            cooking += when[:hours, number] * getattr(meal, energy)
        side["cooking"] = np.broadcast_to(cooking, heat.shape)
    return dc, ac


def _sun(scene: Scene, numbers: KitNumbers, run: Picked) -> tuple[Array, Array]:
    """Power after the controllers' efficiency, and after their limit."""
    offered: Array = np.zeros_like(run(scene.sun))
    given = np.zeros_like(offered)
    for array in numbers.arrays:
        of_a_watt = scene.panel_yield(scene.panel_class(array.coefficient_pct_k, array.noct_c))
        power = array.power_w * run(of_a_watt)
        if not array.tracking:
            power = np.minimum(power, array.switching_w * run(scene.sun))
        offered += power * array.efficiency
        given += np.minimum(power * array.efficiency, array.output_w)
    return offered, given


def _store(numbers: KitNumbers, net: Array, chargeable: Array) -> tuple[Array, Array, Array]:
    """Depth at the end of each hour, energy put into the store, and taken from it. [Wh]"""
    bank = numbers.bank
    may_store = np.where(chargeable > 0, np.clip(net, 0.0, bank.charge_w), 0.0) * bank.charge_efficiency
    drawn = np.maximum(-net, 0.0) / bank.discharge_efficiency
    depth, stored = np.empty_like(net), np.empty_like(net)
    now = np.zeros(len(net))
    for hour in range(net.shape[1]):
        stored[:, hour] = np.minimum(may_store[:, hour], now)
        now = now - stored[:, hour] + drawn[:, hour]
        depth[:, hour] = now
    return depth, stored, drawn
