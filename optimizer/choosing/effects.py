"""What each option does to the trips, as rows of numbers that can be pushed one by one.

On the road: problem + scene -> *effects* -> lifting. The trips' own row (``trips.layout``) sums over
the kit; here every group keeps its own entries, so that a bound on an entry is a statement about one
group: "at least one group must choose something better than this".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.walls import NONE
from optimizer.kit_numbers import PLENTY
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.trips.layout import NO_CLASS, NO_LIMIT_W, Layout
from optimizer.trips.numbers import FUELS
from optimizer.trips.scene import BANK_CLASSES, COLD_BOX_SPAN_K, Scene

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Entry:
    """One number of one group."""

    name: str
    direction: int
    target: str
    """Entry of the trips' row it adds to; empty for those that work through another."""


@dataclass(frozen=True, eq=False)
class GroupEffects:
    """A group's candidates (options, and nothing where that is allowed) with their numbers."""

    group: Group
    entries: tuple[Entry, ...]
    keys: tuple[str, ...]
    values: Array
    """Shape (candidates, entries)."""
    classes: NDArray[np.int64]
    """Class of each candidate (battery chemistry and place, panel type), -1 for none."""
    class_target: str
    """Entry of the trips' row that holds the class, or empty."""
    scaled: int
    """Which entry the class multiplies, -1 for none."""

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Row of each key."""
        return {key: row for row, key in enumerate(self.keys)}


class Effects:
    """Every group that acts on the trips, and how their numbers fold into the trips' row."""

    def __init__(self, problem: Problem, scene: Scene) -> None:
        self.problem = problem
        self.scene = scene
        self.layout = Layout(scene)
        self.groups: tuple[GroupEffects, ...] = tuple(
            made for group in problem.groups if (made := self._of(group)) is not None
        )
        names = [(g, e) for g in self.groups for e in g.entries]
        hidden = [f"{g.group.name}/{e.name}" for g, e in names if not e.target]
        self._hidden = {name: len(self.layout) + place for place, name in enumerate(hidden)}
        self.base = np.concatenate([self._constants(), np.zeros(len(hidden))])
        """What a line of numbers starts from: the trips' row, and the entries that only work through others."""
        self.switching = np.array([self._switching(slot) for slot in (1, 2)], dtype=np.int64)
        """See ``trips.asking``."""
        self._targets = [self._targets_of(g) for g in self.groups]
        self._class_targets = [self.layout.index(g.class_target) if g.class_target else -1 for g in self.groups]
        self._ratios: dict[tuple[int, int], Array] = {}
        self._below: dict[int, NDArray[np.bool_]] = {}

    @property
    def bank_classes(self) -> set[int]:
        """Classes of the banks on offer."""
        return {int(cls) for g in self.groups if g.class_target == "bank.class" for cls in g.classes}

    # -- a kit or a level as the trips' row -----------------------------------------------------

    def _targets_of(self, group: GroupEffects) -> NDArray[np.int64]:
        """Where a group's numbers go in a line."""
        places = [
            self.layout.index(e.target) if e.target else self._hidden[f"{group.group.name}/{e.name}"]
            for e in group.entries
        ]
        return np.array(places, dtype=np.int64)

    def _switching(self, slot: int) -> tuple[int, int, int, int]:
        """Entries of tracking, working current, bank voltage, and of the limit they make; -1 without such an array."""
        names = (f"controller_{slot}/tracking", f"panels_{slot}/working_a", f"controller_{slot}/bank_v")
        if names[0] not in self._hidden:
            return -1, -1, -1, -1
        tracking, amperes, volts = (self._hidden[name] for name in names)
        return tracking, amperes, volts, self.layout.index(f"array_{slot}.switching_w")

    def line(self, number: int, values: Array, cls: int) -> Array:
        """What a group adds to ``base`` with these numbers and this class."""
        line = np.zeros(self.base.size)
        line[self._targets[number]] = values
        target = self._class_targets[number]
        if target >= 0:
            line[target] = cls - self.base[target]
        return line

    def row(self, values: list[Array], classes: list[int]) -> Array:
        """The trips' row of one line of numbers a group."""
        row = np.zeros(self.base.size)
        for number, (own, cls) in enumerate(zip(values, classes, strict=True)):
            row += self.line(number, own, cls)
        row += self.base
        for tracking, amperes, volts, limit in self.switching.tolist():
            if tracking >= 0:
                row[limit] = NO_LIMIT_W if row[tracking] >= 0.5 else row[amperes] * row[volts]
        return row[: len(self.layout)]

    def rows_of(self, kit: Kit) -> list[int]:
        """Which candidate of each group the kit has."""
        return [g.place[kit.choices.get(g.group.name, NONE)] for g in self.groups]

    def kit_row(self, kit: Kit) -> Array:
        """The trips' row of a kit."""
        chosen = self.rows_of(kit)
        values = [g.values[row] for g, row in zip(self.groups, chosen, strict=True)]
        return self.row(values, [int(g.classes[row]) for g, row in zip(self.groups, chosen, strict=True)])

    def values_in_class(self, number: int, basis: int) -> Array:
        """A group's numbers with the scaled entry told in terms of class ``basis``.

        A candidate of another class counts as so much of the basis class as gives at least the same in
        every hour; without bound where no amount does.
        """
        group = self.groups[number]
        if group.scaled < 0:
            return group.values
        key = (number, basis)
        if key not in self._ratios:
            values = group.values.copy()
            for cls in sorted(set(group.classes.tolist())):
                ratio = self._class_ratio(group, int(cls), basis)
                rows = group.classes == cls
                scaled = values[rows, group.scaled]
                told = scaled * ratio if np.isfinite(ratio) else np.inf
                values[rows, group.scaled] = np.where(scaled > 0, told, 0.0)
            self._ratios[key] = values
        return self._ratios[key]

    def _class_ratio(self, group: GroupEffects, one: int, basis: int) -> float:
        if one in (basis, NO_CLASS):
            return 1.0
        if basis == NO_CLASS:
            return float("inf")
        if group.class_target == "bank.class":
            (share, may), (own_share, own_may) = self.scene.bank_series(one), self.scene.bank_series(basis)
            if bool(np.any(may > own_may)):
                return float("inf")
            return _largest_ratio(share, own_share)
        return _largest_ratio(self.scene.panel_yield(one), self.scene.panel_yield(basis))

    def below(self, number: int) -> NDArray[np.bool_]:
        """For a group, whether one candidate is in no number better than another, shape (n, n)."""
        if number not in self._below:
            group = self.groups[number]
            ways = np.array([entry.direction for entry in group.entries])
            table = np.zeros((len(group.keys), len(group.keys)), dtype=np.bool_)
            for other in range(len(group.keys)):
                told = self.values_in_class(number, int(group.classes[other])) * ways
                table[:, other] = np.all(told <= group.values[other] * ways, axis=1)
            self._below[number] = table
        return self._below[number]

    # -- building -------------------------------------------------------------------------------

    def _constants(self) -> Array:
        row = np.zeros(len(self.layout))
        for name in ("water_l", "grey_l", "toilet_visits"):
            row[self.layout.index(name)] = PLENTY  # the same every day: rules see to them
        for name in ("inverter_efficiency", "converter_efficiency"):
            row[self.layout.index(name)] = 0.0 if self.problem.has(_CONVERTERS[name]) else 1.0
        for slot in (1, 2):
            row[self.layout.index(f"array_{slot}.class")] = NO_CLASS
        for fuel in FUELS:
            row[self.layout.index(f"{fuel}_l")] = self.problem.need(f"own_{fuel}_ml") / 1000
        return row

    def _of(self, group: Group) -> GroupEffects | None:
        entries = _entries(group, self.problem)
        if not entries:
            return None
        names = [entry.name for entry in entries]
        keys, values, classes = [], [], []
        for option in group.options:
            numbers = _numbers(group, option)
            keys.append(option.key)
            values.append([numbers.get(name, 0.0) for name in names])
            classes.append(self._class_of(group, option))
        if not group.needed:
            empty = {"efficiency_of_converter": 1.0}
            keys.append(NONE)
            values.append([empty.get(name, 0.0) for name in names])
            classes.append(-1)
        class_target, scaled = _CLASSED.get(_stem(group.name), ("", ""))
        return GroupEffects(
            group, entries, tuple(keys), np.array(values, dtype=np.float64).reshape(len(keys), len(names)),
            np.array(classes, dtype=np.int64),
            class_target.format(group.name[-1]), names.index(scaled) if scaled else -1,
        )

    def _class_of(self, group: Group, option: Option) -> int:
        effects = option.effects
        if group.kind == "battery":
            warm, charges_cold = bool(effects["warm"]), bool(effects["charges_cold"])
            return BANK_CLASSES.index((option.traits["chemistry"], warm, charges_cold))
        if group.kind == "solar_panel":
            return self.scene.panel_class(effects["coefficient_pct_k"], effects["noct_c"])
        return -1


_CONVERTERS = {"inverter_efficiency": "inverter", "converter_efficiency": "dc_converter"}
_CLASSED = {"battery": ("bank.class", "usable_wh"), "panels": ("array_{}.class", "power_w")}


def _stem(name: str) -> str:
    return name.rsplit("_", 1)[0] if name.startswith("panels_") else name


def _largest_ratio(one: Array, other: Array) -> float:
    """The least factor by which ``other`` is nowhere below ``one``."""
    if bool(np.any((other <= 0) & (one > 0))):
        return float("inf")
    given = other > 0
    return float((one[given] / other[given]).max()) * (1 + 1e-12) if bool(given.any()) else 1.0


def _entries(group: Group, problem: Problem) -> tuple[Entry, ...]:
    """The numbers of a group, by its kind."""
    name, last = group.name, group.name[-1]
    if group.kind == "battery":
        return (
            Entry("usable_wh", 1, "bank.usable_wh"), Entry("charge_w", 1, "bank.charge_w"),
            Entry("charge_efficiency", 1, "bank.charge_efficiency"),
            Entry("discharge_efficiency", 1, "bank.discharge_efficiency"),
            Entry("self_use_w", -1, "bank.self_use_w"),
        )
    if group.kind == "solar_panel":
        return Entry("power_w", 1, f"array_{last}.power_w"), Entry("working_a", 1, "")
    if group.kind == "charge_controller":
        return (
            Entry("output_w", 1, f"array_{last}.output_w"), Entry("efficiency", 1, f"array_{last}.efficiency"),
            Entry("tracking", 1, ""), Entry("bank_v", 1, ""), Entry("idle_w", -1, "idle_w"),
        )
    if group.kind == "alternator_charger":
        return Entry("alternator_w", 1, "alternator_w"), Entry("idle_w", -1, "idle_w")
    if group.kind == "inverter":
        idle = Entry("inverter_idle_w", -1, "inverter_idle_w")
        return Entry("efficiency_of_converter", 1, "inverter_efficiency"), idle
    if group.kind == "dc_converter":
        return Entry("efficiency_of_converter", 1, "converter_efficiency"), Entry("idle_w", -1, "idle_w")
    if group.kind == "heater":
        fuels = (Entry(f"{fuel}_l_per_wh", -1, f"heater.{fuel}_l_per_wh") for fuel in FUELS)
        plain = ("output_w", 1), ("dc_per_w", -1), ("ac_per_w", -1), ("start_dc_wh", -1), ("start_ac_wh", -1)
        return (*(Entry(entry, way, f"heater.{entry}") for entry, way in plain), *fuels)
    if group.kind == "insulation":
        return (Entry("heat_loss_w_k", -1, "heat_loss_w_k"),)
    if group.kind == "fuel_tank":
        fuel = name.removeprefix("tank ")
        return (Entry("fuel_l", 1, f"{fuel}_l"),)
    if group.kind == "cold_box":
        ways = ("at_25_w", -1), ("rise_w_k", -1), ("fall_w_k", 1)
        return tuple(Entry(f"{s}.{e}", way, f"cold_{s}.{e}") for s in ("dc", "ac") for e, way in ways)
    if group.kind == "safety" and any(option.effects.get("idle_w") for option in group.options):
        return (Entry("idle_w", -1, "idle_w"),)  # wired alarms
    if group.kind == "roof_fan":
        return (Entry("fan_w", -1, "fan_w"),)
    if group.kind == "meal":
        number = [g.name for g in problem.of_kind("meal")].index(name) + 1
        energies = ("dc_wh", "ac_wh", "driving_dc_wh", "driving_ac_wh")
        names = (*energies, *(f"{fuel}_l" for fuel in FUELS))
        return tuple(Entry(entry, -1, f"meal_{number}.{entry}") for entry in names)
    return ()


def _numbers(group: Group, option: Option) -> dict[str, float]:
    """An option's numbers under the names of its group's entries."""
    effects = dict(option.effects)
    if group.kind in ("inverter", "dc_converter"):
        stem = "inverter" if group.kind == "inverter" else "converter"
        return {**effects, "efficiency_of_converter": effects[f"{stem}_efficiency"]}
    if group.kind == "heater":
        supply, fuel = option.traits["supply"], option.traits["fuel"]
        return {
            "output_w": effects["output_w"], f"{supply}_per_w": effects[f"draw_{supply}_per_w"],
            f"start_{supply}_wh": effects["start_wh"], f"{fuel}_l_per_wh": effects["fuel_l_per_wh"],
        }
    if group.kind == "fuel_tank":
        return {"fuel_l": next(v for k, v in effects.items() if k.startswith("fuel_l "))}
    if group.kind == "cold_box":
        return _cold_numbers(effects)
    if group.kind == "meal":
        prefix = "driving_" if effects["while_driving"] else ""
        numbers = {f"{prefix}{s}_wh": effects.get(f"{s}_wh", 0.0) for s in ("dc", "ac")}
        return {**numbers, f"{option.traits['fuel']}_l": effects.get("fuel_l", 0.0)}
    return effects


def _cold_numbers(effects: Mapping[str, float]) -> dict[str, float]:
    numbers: dict[str, float] = {}
    for supply in ("dc", "ac"):
        at_25 = effects.get(f"cold_{supply}_25_w", 0.0)
        slope = max(effects.get(f"cold_{supply}_32_w", 0.0) - at_25, 0.0) / COLD_BOX_SPAN_K
        numbers |= {f"{supply}.at_25_w": at_25, f"{supply}.rise_w_k": slope, f"{supply}.fall_w_k": slope}
    return numbers
