"""Hour-by-hour trips of a kit from every departure: which fall short, of what, and when.

On the road: scene + row of numbers (``Layout.vector``) -> *run* -> coverage, causes, spells.

The model of an hour (energy in Wh, powers are means over the hour). Sources are those of ``physics``;
what follows has none, it is bookkeeping.

- **Sun.** Each array gives ``min(power x controller efficiency, controller output)``; its power is the
  panels' best power (NOCT model) or, under a switching controller, at most its working current times
  the bank's voltage, in proportion to the sun.
- **Alternator.** Its power times the share of the hour that is driven.
- **Heat.** ``loss x (set-point - air) - people``, at least 0, driving or not. More than the heater gives
  is a lack of warmth. Electric draw and fuel go with the heat; the day's starts are spread evenly, in
  hours with heat.
- **Load.** DC (uses, cold boxes, fan, heater, cooking) over the converter's efficiency, AC over the
  inverter's, the inverter's own draw in hours in which anything runs on AC, and the own draws of
  controllers and bank.
- **Bank.** It starts full. What is left over charges it: at most its charge power, times its charge
  efficiency, never above full, and only in an hour warm enough for charging (sun and alternator carry
  the load all the same). What is missing is taken from it, over its discharge efficiency. It is short
  when the energy missing from full exceeds the usable energy at that hour's temperature.
- **Fuel** of heating and cooking together, a fuel each, against what is on board; **water**, **waste**
  and the **toilet** fill evenly through the 24 hours.

Limits on power that a kit meets by its parts alone (inverter, currents) are rules, not trips. Chopping
time into hours, a load and a charge within the same hour cancel; this is the model's resolution.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import ceil
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from optimizer.physics import Array
from optimizer.physics.cold import FLOOR_SHARE
from optimizer.trips.layout import SCALARS, Layout, Parts, take_apart
from optimizer.trips.numbers import FUELS
from optimizer.trips.scene import Scene
from optimizer.trips.schedule import LONGEST_NIGHTS

__all__ = ["CAUSES", "Layout", "Outcomes", "outcomes", "short_departures", "survivors"]

CAUSES: tuple[str, ...] = ("none", "battery", "warmth", *FUELS, "water", "waste", "toilet")
"""What a trip can run short of; ``Outcomes.cause`` holds places in this list."""

LACK_UNITS: dict[str, str] = {
    "none": "", "battery": "Wh", "warmth": "W", "water": "L", "waste": "L", "toilet": "visits",
    **dict.fromkeys(FUELS, "L"),
}
SLACK = 1e-6
"""As in the compiled pass: shortfalls up to this many Wh, W or L are rounding, not shortfalls."""
_TRACED = 2 + len(FUELS)


@dataclass(frozen=True, eq=False)
class Outcomes:
    """What becomes of each departure asked for; every array has the shape (N,)."""

    departures: NDArray[np.int64]
    """Which departures these are, as places in ``Scene.departures``."""
    cause: NDArray[np.int64]
    """Place in ``CAUSES`` of what runs short first; on a tie the earlier in that list."""
    hour: NDArray[np.int64]
    """Trip hour of the first shortfall, -1 when there is none."""
    lack: Array
    """Largest lack of that over the whole trip, in ``LACK_UNITS``: [Wh], [W], [L]."""
    room_wh: Array
    """Least energy left in the bank at the end of any hour; below 0 by as much as it lacks. [Wh]"""
    room_hour: NDArray[np.int64]
    """The first trip hour of least room: the end of the spell."""
    spell_from: NDArray[np.int64]
    """Trip hour with which the spell begins: the one after the bank was last full. It is one past
    ``room_hour`` when the bank is full in that hour: the spell is empty then."""

    @property
    def survived(self) -> NDArray[np.bool_]:
        """Departures whose whole trip runs short of nothing."""
        alive: NDArray[np.bool_] = self.cause == 0
        return alive

    def worst_first(self) -> NDArray[np.int64]:
        """The departures, those that fall short soonest first, then those with the least room."""
        soon = np.where(self.hour < 0, np.iinfo(np.int64).max, self.hour)
        return self.departures[np.lexsort((self.departures, self.room_wh, soon))]


def short_departures(
    scene: Scene,
    vector: Array,
    nights: int,
    stop_after: int | None = None,
    order: NDArray[np.int64] | None = None,
) -> int:
    """How many departures fall short of anything.

    Parameters
    ----------
    scene, vector : the scene, and a row of ``Layout(scene)``
    nights : 1 to ``LONGEST_NIGHTS``
    stop_after : once more than so many are short the count ends, at ``stop_after + 1``
    order : places in ``scene.departures`` in the order to look at them, worst first is fastest;
        all of them, as they stand, when left out
    """
    return _count(scene, vector, nights, stop_after, order)[0]


def survivors(scene: Scene, vector: Array, nights: int) -> NDArray[np.bool_]:
    """For each departure whether its trip runs short of nothing, shape (N,)."""
    return ~_count(scene, vector, nights, None, None)[1]


def outcomes(
    scene: Scene, vector: Array, nights: int, departures: NDArray[np.int64] | None = None
) -> Outcomes:
    """What becomes of each departure (or of these), hour by hour to the end. See ``Outcomes``."""
    check_nights(nights)
    compiled, parts = kernel(), take_apart(vector, len(scene.brief.meals))
    chosen = _all(scene) if departures is None else np.asarray(departures, dtype=np.int64)
    first = np.empty((chosen.size, _TRACED), dtype=np.int64)
    lack, room = np.empty((chosen.size, _TRACED)), np.empty(chosen.size)
    spell = np.empty((chosen.size, 2), dtype=np.int64)
    compiled.trace(
        *_arguments(scene, parts), scene.day_type, scene.departures, chosen, nights,
        parts.fuel_per_wh, parts.fuel_l, parts.meal_fuel_l, first, lack, spell, room,
    )
    stores = _stores_short(scene, parts, nights)
    hours = np.column_stack([first, *(np.full(chosen.size, hour) for hour, _ in stores)])
    lacks = np.column_stack([lack, *(np.full(chosen.size, amount) for _, amount in stores)])
    earliest = np.where(hours < 0, np.iinfo(np.int64).max, hours).argmin(axis=1)
    each = np.arange(chosen.size)
    hour = hours[each, earliest]
    return Outcomes(
        departures=chosen,
        cause=np.where(hour < 0, 0, earliest + 1),
        hour=hour,
        lack=np.where(hour < 0, 0.0, lacks[each, earliest]),
        room_wh=room,
        room_hour=spell[:, 1],
        spell_from=spell[:, 0] + 1,
    )


def _count(
    scene: Scene, vector: Array, nights: int, stop_after: int | None, order: NDArray[np.int64] | None
) -> tuple[int, NDArray[np.bool_]]:
    check_nights(nights)
    looked_at = _all(scene) if order is None else np.ascontiguousarray(order, dtype=np.int64)
    short = np.zeros(scene.departures.size, dtype=np.bool_)
    last = looked_at.size if stop_after is None else stop_after
    parts = take_apart(vector, len(scene.brief.meals))
    if any(hour >= 0 for hour, _ in _stores_short(scene, parts, nights)):
        short[looked_at] = True
        return min(looked_at.size, last + 1), short
    compiled = kernel()
    count = compiled.count_short(
        *_arguments(scene, parts), scene.day_type, scene.departures, looked_at, nights,
        parts.fuel_per_wh, parts.fuel_l, parts.meal_fuel_l, scene.meal_counts(nights), last, short,
    )
    return int(count), short


def _all(scene: Scene) -> NDArray[np.int64]:
    return np.arange(scene.departures.size, dtype=np.int64)


def check_nights(nights: int) -> None:
    """Raises ValueError for a number of nights that no trip has."""
    if not 1 <= nights <= LONGEST_NIGHTS:
        raise ValueError(f"nights must be 1 to {LONGEST_NIGHTS}, not {nights}")


@cache
def kernel() -> ModuleType:
    """The compiled pass; imported late, since numba is heavy."""
    from optimizer.trips import kernel

    names = tuple(dim.name.replace(".", "_") for dim in SCALARS)
    if kernel.Kit._fields != names or kernel.SLACK != SLACK:
        raise AssertionError("the compiled pass and the layout disagree about a kit's numbers")
    return kernel


def _arguments(scene: Scene, parts: Parts) -> tuple[Any, ...]:
    """Kit, hours, kinds of day and meals as the compiled functions take them."""
    hours = hours_of_scene(scene, *parts.panel_classes, parts.bank_class)
    return kernel().Kit(*parts.scalars.tolist()), hours, kinds_of_scene(scene), parts.meal_wh


def hours_of_scene(scene: Scene, one: int, two: int, bank: int) -> Any:
    """The scene's hours as the compiled functions take them, for two classes of panels and one of banks."""
    share, may_charge = scene.bank_series(bank)
    return kernel().Hours(
        scene.panel_yield(one), scene.panel_yield(two), scene.sun, scene.heat_gap_k, scene.heat_gain_w,
        scene.around_over_k, scene.around_under_k, share, may_charge,
        scene.brief.comfort.heater_starts_a_day / 24.0, FLOOR_SHARE,
    )  # fmt: skip


def kinds_of_scene(scene: Scene) -> Any:
    """The scene's kinds of day as the compiled functions take them."""
    kinds = scene.kinds
    return kernel().Kinds(
        kinds.drive, kinds.fan, kinds.uses_dc, kinds.uses_ac, kinds.meals, kinds.meals_driving
    )


def _stores_short(scene: Scene, parts: Parts, nights: int) -> list[tuple[int, float]]:
    """First short hour (-1: none) and lack at the end of water, waste room and toilet visits."""
    held = parts.scalars[-3:].tolist()
    found = []
    for need, have in zip(scene.stores_night, held, strict=True):
        lack = need * nights - have
        if lack <= SLACK:
            found.append((-1, 0.0))
        else:
            found.append((max(0, ceil((have + SLACK) / need * 24.0) - 1), lack))
    return found
