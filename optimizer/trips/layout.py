"""A kit's numbers as one flat row, each with its good direction.

On the road: between ``trips.numbers`` and ``trips.run``. The row is what a search may push: each entry
of direction +1 can grow, each of -1 can shrink, and no trip that was covered falls short by it. Entries
of direction 0 are classes (numbers of a curve in the scene); ``Layout.no_worse`` says which class may
stand in for which.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.physics import Array
from optimizer.trips.numbers import FUELS, ArrayNumbers, HeaterNumbers, KitNumbers
from optimizer.trips.scene import BANK_CLASSES, COLD_BOX_SPAN_K, Scene

NO_LIMIT_W = 1e9
"""Stands for 'takes whatever the panels give' in a tracking controller's row. [W]"""

NO_CLASS = -1.0
"""Class of an array that is not there."""

SLOTS = 2
"""Arrays a kit may have at most."""


@dataclass(frozen=True)
class Dim:
    """One entry of the row."""

    name: str
    direction: int
    """+1 more is better, -1 less is better, 0 a class."""
    unit: str


_SLOT = (("power_w", 1, "W"), ("switching_w", 1, "W"), ("output_w", 1, "W"), ("efficiency", 1, ""))
_COLD = (("at_25_w", -1, "W"), ("rise_w_k", -1, "W/K"), ("fall_w_k", 1, "W/K"))

SCALARS: tuple[Dim, ...] = (
    Dim("bank.usable_wh", 1, "Wh"),
    Dim("bank.charge_w", 1, "W"),
    Dim("bank.charge_efficiency", 1, ""),
    Dim("bank.discharge_efficiency", 1, ""),
    Dim("bank.self_use_w", -1, "W"),
    *(Dim(f"array_{slot}.{name}", way, unit) for slot in (1, 2) for name, way, unit in _SLOT),
    Dim("alternator_w", 1, "W"),
    Dim("inverter_efficiency", 1, ""),
    Dim("inverter_idle_w", -1, "W"),
    Dim("converter_efficiency", 1, ""),
    Dim("idle_w", -1, "W"),
    *(Dim(f"cold_{supply}.{name}", way, unit) for supply in ("dc", "ac") for name, way, unit in _COLD),
    Dim("heater.output_w", 1, "W"),
    Dim("heater.dc_per_w", -1, "W/W"),
    Dim("heater.ac_per_w", -1, "W/W"),
    Dim("heater.start_dc_wh", -1, "Wh"),
    Dim("heater.start_ac_wh", -1, "Wh"),
    Dim("fan_w", -1, "W"),
    Dim("heat_loss_w_k", -1, "W/K"),
    Dim("water_l", 1, "L"),
    Dim("grey_l", 1, "L"),
    Dim("toilet_visits", 1, ""),
)
"""The entries every kit has, in the order of the row; the classes, fuels and meals follow."""

CLASSES: tuple[Dim, ...] = (
    Dim("bank.class", 0, ""),
    *(Dim(f"array_{slot}.class", 0, "") for slot in (1, 2)),
)

_MEAL_ENERGY = ("dc_wh", "ac_wh", "driving_dc_wh", "driving_ac_wh")


@dataclass(frozen=True)
class Parts:
    """A row taken apart again. M meals, F fuels."""

    scalars: Array
    bank_class: int
    panel_classes: tuple[int, int]
    fuel_per_wh: Array
    """Heater fuel, shape (F,). [L/Wh]"""
    fuel_l: Array
    """Fuel on board, shape (F,). [L]"""
    meal_wh: Array
    """DC and AC at the meal's hour, DC and AC on the drive, shape (M, 4). [Wh]"""
    meal_fuel_l: Array
    """Shape (M, F). [L]"""


def take_apart(vector: Array, meals: int) -> Parts:
    """A row taken apart, for a brief of so many meals."""
    fuels, head = len(FUELS), len(SCALARS)
    bank, first, second = vector[head : head + len(CLASSES)].astype(np.int64).tolist()
    tail = vector[head + len(CLASSES) :]
    cooking = tail[2 * fuels :].reshape(meals, len(_MEAL_ENERGY) + fuels)
    return Parts(
        scalars=vector[:head],
        bank_class=bank,
        panel_classes=(first, second),
        fuel_per_wh=tail[:fuels],
        fuel_l=tail[fuels : 2 * fuels],
        meal_wh=np.ascontiguousarray(cooking[:, : len(_MEAL_ENERGY)]),
        meal_fuel_l=np.ascontiguousarray(cooking[:, len(_MEAL_ENERGY) :]),
    )


class Layout:
    """The row's entries for one scene.

    ``dims`` names them in order, ``directions`` holds +1, -1 and 0 as an integer array of that length.
    """

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self._meals = len(scene.brief.meals)
        self.dims: tuple[Dim, ...] = (*SCALARS, *CLASSES, *self._fuel_dims(), *self._meal_dims())
        self.directions: NDArray[np.int64] = np.array([dim.direction for dim in self.dims], dtype=np.int64)
        self._index = {dim.name: number for number, dim in enumerate(self.dims)}

    def __len__(self) -> int:
        return len(self.dims)

    def index(self, name: str) -> int:
        """Place of an entry in the row; KeyError when there is none of that name."""
        return self._index[name]

    def vector(self, numbers: KitNumbers) -> Array:
        """The kit as a row of ``len(self)`` floats.

        Raises ValueError when the kit has other meals than the brief, a fuel that is none of ``FUELS``,
        or more than two arrays.
        """
        _check(numbers, self._meals)
        entries = {**_scalars(numbers), **self._classes(numbers), **_fuels(numbers), **_meals(numbers)}
        return np.array([entries[dim.name] for dim in self.dims], dtype=np.float64)

    def no_worse(self, name: str, one: int, other: int) -> bool:
        """Whether class ``one`` gives at least what class ``other`` gives in every hour."""
        if name == "bank.class":
            mine, theirs = self.scene.bank_series(one), self.scene.bank_series(other)
            return all(bool(np.all(a >= b)) for a, b in zip(mine, theirs, strict=True))
        return bool(np.all(self.scene.panel_yield(one) >= self.scene.panel_yield(other)))

    def _classes(self, numbers: KitNumbers) -> dict[str, float]:
        bank = numbers.bank
        key = (bank.chemistry, bank.warm, bank.charges_cold)
        if key not in BANK_CLASSES:
            raise ValueError(f"no capacity curve for a battery of chemistry {bank.chemistry!r}")
        entries = {"bank.class": float(BANK_CLASSES.index(key))}
        for slot in range(1, SLOTS + 1):
            array = _array(numbers, slot)
            entries[f"array_{slot}.class"] = (
                float(self.scene.panel_class(array.coefficient_pct_k, array.noct_c)) if array else NO_CLASS
            )
        return entries

    def _fuel_dims(self) -> Iterator[Dim]:
        yield from (Dim(f"heater.{fuel}_l_per_wh", -1, "L/Wh") for fuel in FUELS)
        yield from (Dim(f"{fuel}_l", 1, "L") for fuel in FUELS)

    def _meal_dims(self) -> Iterator[Dim]:
        for meal in range(1, self._meals + 1):
            yield from (Dim(f"meal_{meal}.{name}", -1, "Wh") for name in _MEAL_ENERGY)
            yield from (Dim(f"meal_{meal}.{fuel}_l", -1, "L") for fuel in FUELS)


def _check(numbers: KitNumbers, meals: int) -> None:
    if len(numbers.meals) != meals:
        raise ValueError(f"the kit cooks {len(numbers.meals)} meals, the brief asks for {meals}")
    if len(numbers.arrays) > SLOTS:
        raise ValueError(f"the kit has {len(numbers.arrays)} arrays, at most {SLOTS} are known here")
    burnt = {meal.fuel for meal in numbers.meals} | set(numbers.fuel_l)
    burnt |= {numbers.heater.fuel} if numbers.heater else set()
    unknown = sorted(burnt - {"", *FUELS})
    if unknown:
        raise ValueError(f"unknown fuel {unknown[0]!r}; known are {', '.join(FUELS)}")


def _array(numbers: KitNumbers, slot: int) -> ArrayNumbers | None:
    return numbers.arrays[slot - 1] if slot <= len(numbers.arrays) else None


def _scalars(numbers: KitNumbers) -> dict[str, float]:
    bank = numbers.bank
    entries = {
        "bank.usable_wh": bank.usable_wh,
        "bank.charge_w": bank.charge_w,
        "bank.charge_efficiency": bank.charge_efficiency,
        "bank.discharge_efficiency": bank.discharge_efficiency,
        "bank.self_use_w": bank.self_use_w,
        "alternator_w": numbers.alternator_w,
        "inverter_efficiency": numbers.inverter_efficiency,
        "inverter_idle_w": numbers.inverter_idle_w,
        "converter_efficiency": numbers.converter_efficiency,
        "idle_w": numbers.idle_w,
        "fan_w": numbers.fan_w,
        "heat_loss_w_k": numbers.heat_loss_w_k,
        "water_l": numbers.water_l,
        "grey_l": numbers.grey_l,
        "toilet_visits": numbers.toilet_visits,
    }
    for slot in range(1, SLOTS + 1):
        entries.update(_slot(f"array_{slot}", _array(numbers, slot)))
    for name, (at_25, at_32) in (("cold_dc", numbers.cold_dc), ("cold_ac", numbers.cold_ac)):
        slope = max(at_32 - at_25, 0.0) / COLD_BOX_SPAN_K  # the line of physics.cold.cold_box_draw
        entries.update({f"{name}.at_25_w": at_25, f"{name}.rise_w_k": slope, f"{name}.fall_w_k": slope})
    return {**entries, **_heater(numbers.heater)}


def _slot(name: str, array: ArrayNumbers | None) -> dict[str, float]:
    if array is None:
        return {f"{name}.power_w": 0.0, f"{name}.switching_w": 0.0, f"{name}.output_w": 0.0,
                f"{name}.efficiency": 0.0}
    return {
        f"{name}.power_w": array.power_w,
        f"{name}.switching_w": NO_LIMIT_W if array.tracking else array.switching_w,
        f"{name}.output_w": array.output_w,
        f"{name}.efficiency": array.efficiency,
    }


def _heater(heater: HeaterNumbers | None) -> dict[str, float]:
    dc, ac = (heater.supply == "dc", heater.supply == "ac") if heater else (False, False)
    draw, start = (heater.draw_per_w, heater.start_wh) if heater else (0.0, 0.0)
    return {
        "heater.output_w": heater.output_w if heater else 0.0,
        "heater.dc_per_w": draw * dc,
        "heater.ac_per_w": draw * ac,
        "heater.start_dc_wh": start * dc,
        "heater.start_ac_wh": start * ac,
    }


def _fuels(numbers: KitNumbers) -> dict[str, float]:
    heater = numbers.heater
    entries = {f"{fuel}_l": numbers.fuel_l.get(fuel, 0.0) for fuel in FUELS}
    for fuel in FUELS:
        burns = heater is not None and heater.fuel == fuel
        entries[f"heater.{fuel}_l_per_wh"] = heater.fuel_l_per_wh if heater and burns else 0.0
    return entries


def _meals(numbers: KitNumbers) -> dict[str, float]:
    entries: dict[str, float] = {}
    for number, meal in enumerate(numbers.meals, start=1):
        name, moving = f"meal_{number}", meal.while_driving
        entries[f"{name}.dc_wh"], entries[f"{name}.driving_dc_wh"] = _either(meal.dc_wh, moving)
        entries[f"{name}.ac_wh"], entries[f"{name}.driving_ac_wh"] = _either(meal.ac_wh, moving)
        for fuel in FUELS:
            entries[f"{name}.{fuel}_l"] = meal.fuel_l if meal.fuel == fuel else 0.0
    return entries


def _either(amount: float, second: bool) -> tuple[float, float]:
    return (0.0, amount) if second else (amount, 0.0)
