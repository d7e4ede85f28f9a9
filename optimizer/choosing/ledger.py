"""What options bring to a bank and take from it, by features of the hours, with conversions taken for granted.

On the road: under ``balances``, beside ``spells``. Each candidate of a group brings so much for a unit of a feature
(a watt of panels for the sun's yield, a heater for the heat wanted); what it takes is negative. With the conversions
of a failing kit granted that is true of every kit that converts no better; the others are ways out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.effects import Effects, GroupEffects
from optimizer.choosing.spells import Features, Met

Array = NDArray[np.float64]


class Sun(NamedTuple):
    """What an array's controller makes of its panels, at most."""

    efficiency: float
    tracks: bool
    volts: float


@dataclass(frozen=True)
class Granted:
    """Conversions taken for granted: a kit with better ones is not spoken of."""

    inverter: float
    converter: float
    charge: float
    discharge: float
    suns: tuple[Sun, ...]
    """One for each array."""
    always_on: bool
    """Whether a cold box runs on AC, so that the inverter idles all day."""


class Failing(NamedTuple):
    """A kit that fails, by its numbers, group by group."""

    nights: int
    values: tuple[Array, ...]
    classes: tuple[int, ...]


class Table(NamedTuple):
    """A group's candidates and, as the last row, the failing kit's numbers."""

    effects: GroupEffects
    values: Array
    classes: NDArray[np.int64]

    def of(self, name: str) -> Array:
        """One entry of all of them."""
        column: Array = self.values[:, [entry.name for entry in self.effects.entries].index(name)]
        return column

    def own(self, name: str) -> float:
        """The failing kit's entry."""
        return float(self.of(name)[-1])

    @property
    def kind(self) -> str:
        """Kind of part."""
        return self.effects.group.kind


class Ledger:
    """The options of a problem beside a kit that fails."""

    def __init__(self, effects: Effects, failing: Failing) -> None:
        self.tables = [
            Table(group, np.vstack([group.values, values]), np.append(group.classes, cls))
            for group, values, cls in zip(effects.groups, failing.values, failing.classes, strict=True)
        ]
        self._meals = [table.effects.group.name for table in self.of_kind("meal")]
        self._arrays = [
            (table, self._named(f"controller_{table.effects.group.name[-1]}")) for table in self.of_kind("solar_panel")
        ]
        losses = (table.of("heat_loss_w_k").tolist() for table in self.of_kind("insulation"))
        self.losses: list[float] = sorted({loss for some in losses for loss in some})
        """Every heat loss there is [W/K]."""
        self.panel_classes = sorted({int(cls) for panels, _ in self._arrays for cls in panels.classes if cls >= 0})

    def of_kind(self, kind: str) -> Iterator[Table]:
        """Tables of a kind of parts."""
        return (table for table in self.tables if table.kind == kind)

    def _named(self, name: str) -> Table:
        return next(table for table in self.tables if table.effects.group.name == name)

    def granted(self, own: bool) -> Granted:
        """The failing kit's own conversions, or the best there are."""

        def taken(table: Table, name: str) -> float:
            return table.own(name) if own else float(table.of(name).max())

        (battery,) = self.of_kind("battery")
        return Granted(
            inverter=min((taken(t, "efficiency_of_converter") for t in self.of_kind("inverter")), default=1.0),
            converter=min((taken(t, "efficiency_of_converter") for t in self.of_kind("dc_converter")), default=1.0),
            charge=taken(battery, "charge_efficiency"),
            discharge=taken(battery, "discharge_efficiency"),
            suns=tuple(
                Sun(taken(t, "efficiency"), taken(t, "tracking") >= 0.5, taken(t, "bank_v")) for _, t in self._arrays
            ),
            always_on=own and any(table.own("ac.at_25_w") > 0.0 for table in self.of_kind("cold_box")),
        )

    def ways(self, granted: Granted) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Options that convert better than what is taken for granted, group by group."""
        ways = []
        spoken_of = not granted.always_on
        for table in self.tables:
            better = np.zeros(table.classes.size, dtype=np.bool_)
            if table.kind == "inverter":
                better = table.of("efficiency_of_converter") > granted.inverter
            elif table.kind == "dc_converter":
                better = table.of("efficiency_of_converter") > granted.converter
            elif table.kind == "battery":
                better = table.of("charge_efficiency") > granted.charge
                better |= table.of("discharge_efficiency") > granted.discharge
            elif table.kind == "charge_controller":
                sun = granted.suns[self._slot(table)]
                better = table.of("efficiency") > sun.efficiency
                if not sun.tracks:
                    better |= (table.of("tracking") >= 0.5) | (table.of("bank_v") > sun.volts)
            elif table.kind == "cold_box" and not spoken_of and table.own("ac.at_25_w") > 0.0:
                better, spoken_of = table.of("ac.at_25_w") <= 0.0, True
            keys = tuple(key for key, is_better in zip(table.effects.keys, better, strict=False) if is_better)
            if keys:
                ways.append((table.effects.group.name, keys))
        return tuple(ways)

    def _slot(self, controller: Table) -> int:
        return next(slot for slot, (_, own) in enumerate(self._arrays) if own is controller)

    def met(self, features: Features, plain: Mapping[str, Array]) -> Met:
        """What the failing kit met, hour by hour; ``plain`` as ``features`` tells it."""
        own = self.granted(own=True)
        shape = features.shape
        net = np.zeros(shape)
        for name, amount in self._own_amounts(own, plain).items():
            net += amount * plain[name]
        clipped, held = [], []
        for (panels, controller), sun in zip(self._arrays, own.suns, strict=True):
            cls = int(panels.classes[-1])
            given = panels.own("power_w") * features.of_days(features.scene.panel_yield(cls))
            passed = given
            if not sun.tracks:
                passed = np.minimum(given, panels.own("working_a") * sun.volts * features.of_days(features.scene.sun))
            held.append(passed < given)
            clipped.append(passed * sun.efficiency > controller.own("output_w"))
            net += np.minimum(passed * sun.efficiency, controller.own("output_w"))
        (battery,) = self.of_kind("battery")
        return Met(net > 0.0, net > battery.own("charge_w"), clipped, held)

    def _own_amounts(self, own: Granted, plain: Mapping[str, Array]) -> dict[str, float]:
        """What the failing kit brings of each plain feature."""
        amounts = dict(self.taken_anyway(own))
        for table in self.tables:
            for name, column in self.columns(table, own).items():
                if name in plain:
                    amounts[name] = amounts.get(name, 0.0) + float(column[-1])
        return amounts

    def taken_anyway(self, granted: Granted) -> dict[str, float]:
        """What the uses take, whatever is chosen."""
        return {"uses dc": -1.0 / granted.converter, "uses ac": -1.0 / granted.inverter}

    def columns(self, table: Table, granted: Granted) -> dict[str, Array]:
        """What each candidate of a group brings for a unit of a feature; what it takes is negative."""
        columns: dict[str, Array] = {}
        dc, ac = 1.0 / granted.converter, 1.0 / granted.inverter
        if table.kind == "battery":
            columns = {"hour": -table.of("self_use_w"), "charge cap": table.of("charge_w")}
            for cls in set(table.classes.tolist()) - {-1}:
                columns[f"share {cls}"] = table.of("usable_wh") * (table.classes == cls)
        elif table.kind == "solar_panel":
            slot = next(slot for slot, (panels, _) in enumerate(self._arrays) if panels is table)
            columns = self._sun_columns(table, slot, granted.suns[slot])
        elif table.kind == "charge_controller":
            columns = {f"output {self._slot(table)}": table.of("output_w")}
        elif table.kind == "alternator_charger":
            columns = {"drive": table.of("alternator_w")}
        elif table.kind == "inverter":
            columns = {"hour" if granted.always_on else "on ac": -table.of("inverter_idle_w")}
        elif table.kind == "cold_box":
            columns = {
                "hour": -(dc * table.of("dc.at_25_w") + ac * table.of("ac.at_25_w")),
                "over": -(dc * table.of("dc.rise_w_k") + ac * table.of("ac.rise_w_k")),
                "under": dc * table.of("dc.fall_w_k") + ac * table.of("ac.fall_w_k"),
            }
        elif table.kind == "roof_fan":
            columns = {"fan": -dc * table.of("fan_w")}
        elif table.kind == "heater":
            starts = dc * table.of("start_dc_wh") + ac * table.of("start_ac_wh")
            columns = {"least heat": -_draw(table, granted), "starts": -starts}
        elif table.kind == "insulation":
            least = min((float(_draw(heater, granted).min()) for heater in self.of_kind("heater")), default=0.0)
            losses = table.of("heat_loss_w_k")
            columns = {f"heat {loss}": -least * (losses == loss) for loss in set(losses.tolist())}
        elif table.kind == "meal":
            meal = self._meals.index(table.effects.group.name)
            columns = {
                f"meal {meal}": -(dc * table.of("dc_wh") + ac * table.of("ac_wh")),
                f"meal {meal} driving": -(dc * table.of("driving_dc_wh") + ac * table.of("driving_ac_wh")),
            }
        if any(entry.name == "idle_w" for entry in table.effects.entries):
            columns["hour"] = columns.get("hour", 0.0) - table.of("idle_w")
        return columns

    def _sun_columns(self, panels: Table, slot: int, sun: Sun) -> dict[str, Array]:
        columns: dict[str, Array] = {}
        for cls in self.panel_classes:
            given = sun.efficiency * panels.of("power_w") * (panels.classes == cls)
            columns[f"free {slot} {cls}"] = given
            if sun.tracks:
                columns[f"held {slot} {cls}"] = given
        if not sun.tracks:
            columns[f"sun {slot}"] = sun.efficiency * sun.volts * panels.of("working_a")
        return columns


def _draw(heater: Table, granted: Granted) -> Array:
    """Electricity for each watt of heat, at the bank."""
    draw: Array = heater.of("dc_per_w") / granted.converter + heater.of("ac_per_w") / granted.inverter
    return draw
