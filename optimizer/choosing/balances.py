"""From one kit that fails to a sum that every kit must reach: what its spells bring against what they take.

On the road: choosing <-> trips, beside lifting. A spell is the run of hours in which a departure's bank is emptied:
what it holds, and what sun and driving bring in these hours, must be at least what they take. Told with conversions
no better than some, that is a sum over what is chosen, group by group, which no kit that survives the spell falls
short of. Where ``m`` departures may fall short, at least ``n - m`` of any ``n`` are survived; so, option by option,
the ``n - m`` best of what it brings to these departures make one sum that every kit which passes must reach, unless
it converts better. Where the departures fall short in spells apart, one of several sums must be reached.

An hour is told as a sum that is never more than what it truly adds to the depth of the battery, for any kit whose
conversions are no better than those taken for granted:

- a gain counts with the charge efficiency and a lack over the discharge efficiency, as the failing kit had it: the
  true step is the larger of both;
- sun is at most what the panels give (or what a switching controller lets through of their current), and at most
  what the controller puts out, whichever the failing kit met;
- what charges the bank is at most what it takes, where the failing kit met that;
- a heater draws at least ``h0 * e + e0 * (h - h0)``, where ``h0`` is the least heat and ``e0`` the least draw there is;
- a cold box draws at least its line without the floor below it, an inverter at least nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.effects import Effects, GroupEffects
from optimizer.choosing.spells import Features, Met, Sums, summed
from optimizer.choosing.walls import Sum, Wall
from optimizer.problem.records import Kit
from optimizer.trips.run import SLACK, Outcomes, outcomes

Array = NDArray[np.float64]
Places = NDArray[np.int64]

UNITS_A_WH = 10
"""Sums are told in tenths of a watt-hour, rounded up: in a kit's favour."""
LEAST_LACK_WH = 1.0
"""A sum that the failing kit misses by less says too little."""
MOST_PARTS = 3
"""More sums in one wall cost the solver more than they save."""
DEPARTURES = 40
"""So many of the departures that fall furthest short are looked at, or twice as many as may fall short."""


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


class Told(NamedTuple):
    """What a failing kit teaches."""

    wall: Wall
    short: int
    """How many departures its battery leaves short."""


class Table(NamedTuple):
    """A group's candidates and, as the last row, the failing kit's numbers."""

    effects: GroupEffects
    values: Array
    classes: Places

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


class Balances:
    """Names the sums that failing kits miss.

    Parameters
    ----------
    effects : Effects
    allowed : departures that may fall short
    """

    def __init__(self, effects: Effects, allowed: int) -> None:
        self.effects = effects
        self.allowed = allowed
        kinds = [group.group.kind for group in effects.groups]
        once = ("battery", "inverter", "dc_converter", "heater", "insulation")
        self._able = "battery" in kinds and all(kinds.count(kind) <= 1 for kind in once)

    def failing(self, kit: Kit) -> Failing:
        """A kit's numbers."""
        chosen = list(zip(self.effects.groups, self.effects.rows_of(kit), strict=True))
        values = tuple(group.values[row] for group, row in chosen)
        return Failing(kit.nights, values, tuple(int(group.classes[row]) for group, row in chosen))

    def told(self, failing: Failing) -> Told | None:
        """A wall that the failing kit stands before; None where its battery is not what fails, or no sum tells it."""
        if not self._able:
            return None
        row = self.effects.row(list(failing.values), list(failing.classes))
        result = outcomes(self.effects.scene, row, failing.nights)
        short = int((result.room_wh < -SLACK).sum())
        if short <= self.allowed:
            return None
        worst = np.argsort(result.room_wh, kind="stable")[: min(short, max(DEPARTURES, 2 * self.allowed + 2))]
        wall = _Telling(self.effects, self.allowed, failing, result, worst).wall()
        return None if wall is None else Told(wall, short)


class _Telling:
    """One failing kit, told as sums."""

    def __init__(self, effects: Effects, allowed: int, failing: Failing, result: Outcomes, worst: Places) -> None:
        self.allowed = allowed
        self.tables = [
            Table(group, np.vstack([group.values, values]), np.append(group.classes, cls))
            for group, values, cls in zip(effects.groups, failing.values, failing.classes, strict=True)
        ]
        self._meals = [table.effects.group.name for table in self._of_kind("meal")]
        self._arrays = [
            (table, self._named(f"controller_{table.effects.group.name[-1]}")) for table in self._of_kind("solar_panel")
        ]
        self._features = Features(effects.scene, worst, failing.nights)
        losses = sorted({float(loss) for table in self._of_kind("insulation") for loss in table.of("heat_loss_w_k")})
        self._plain = self._features.plain(losses, min(losses, default=0.0))
        self._own = self._granted(own=True)
        self._best = self._granted(own=False)
        first, last = result.spell_from[worst], result.room_hour[worst]
        self._nights = int(last.max()) // 24 + 1
        self._dates = effects.scene.departures[worst]
        together = np.zeros_like(first), np.full_like(last, int(np.median(last)))
        classes = self._panel_classes(), sorted(effects.bank_classes - {-1})
        met = self._met()
        self._told = [
            summed(self._features, self._plain, met, *classes, *spell) for spell in ((first, last), together)
        ]

    def _of_kind(self, kind: str) -> Iterator[Table]:
        return (table for table in self.tables if table.kind == kind)

    def _named(self, name: str) -> Table:
        return next(table for table in self.tables if table.effects.group.name == name)

    def _panel_classes(self) -> list[int]:
        return sorted({int(cls) for panels, _ in self._arrays for cls in panels.classes if cls >= 0})

    # -- what is taken for granted --------------------------------------------------------------

    def _granted(self, own: bool) -> Granted:
        """The failing kit's own conversions, or the best there are."""

        def taken(table: Table, name: str) -> float:
            return table.own(name) if own else float(table.of(name).max())

        (battery,) = self._of_kind("battery")
        return Granted(
            inverter=min((taken(t, "efficiency_of_converter") for t in self._of_kind("inverter")), default=1.0),
            converter=min((taken(t, "efficiency_of_converter") for t in self._of_kind("dc_converter")), default=1.0),
            charge=taken(battery, "charge_efficiency"),
            discharge=taken(battery, "discharge_efficiency"),
            suns=tuple(
                Sun(taken(t, "efficiency"), taken(t, "tracking") >= 0.5, taken(t, "bank_v")) for _, t in self._arrays
            ),
            always_on=own and any(table.own("ac.at_25_w") > 0.0 for table in self._of_kind("cold_box")),
        )

    def _loosened(self) -> Iterator[Callable[[Granted], Granted]]:
        """What grants one conversion or another at its best."""
        best = self._best
        yield lambda granted: replace(granted, inverter=best.inverter)
        yield lambda granted: replace(granted, converter=best.converter)
        yield lambda granted: replace(granted, charge=best.charge, discharge=best.discharge)
        for slot in range(len(best.suns)):
            yield partial(self._sun_at_best, slot)
        yield lambda granted: replace(granted, always_on=False)

    def _sun_at_best(self, slot: int, granted: Granted) -> Granted:
        return replace(granted, suns=(*granted.suns[:slot], self._best.suns[slot], *granted.suns[slot + 1 :]))

    def _ways(self, granted: Granted) -> tuple[tuple[str, tuple[str, ...]], ...]:
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

    # -- the hours ------------------------------------------------------------------------------

    def _met(self) -> Met:
        """What the failing kit met, hour by hour."""
        features, own = self._features, self._own
        shape = features.shape
        net = np.zeros(shape)
        for name, amount in self._own_amounts().items():
            net += amount * self._plain[name]
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
        (battery,) = self._of_kind("battery")
        return Met(net > 0.0, net > battery.own("charge_w"), clipped, held)

    def _own_amounts(self) -> dict[str, float]:
        """What the failing kit brings of each plain feature."""
        amounts = dict(self._taken_anyway(self._own))
        for table in self.tables:
            for name, column in self._columns(table, self._own).items():
                if name in self._plain:
                    amounts[name] = amounts.get(name, 0.0) + float(column[-1])
        return amounts

    def _taken_anyway(self, granted: Granted) -> dict[str, float]:
        return {"uses dc": -1.0 / granted.converter, "uses ac": -1.0 / granted.inverter}

    def _columns(self, table: Table, granted: Granted) -> dict[str, Array]:
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
            least = min((float(_draw(heater, granted).min()) for heater in self._of_kind("heater")), default=0.0)
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
        for cls in self._panel_classes():
            given = sun.efficiency * panels.of("power_w") * (panels.classes == cls)
            columns[f"free {slot} {cls}"] = given
            if sun.tracks:
                columns[f"held {slot} {cls}"] = given
        if not sun.tracks:
            columns[f"sun {slot}"] = sun.efficiency * sun.volts * panels.of("working_a")
        return columns

    # -- the sums -------------------------------------------------------------------------------

    def wall(self) -> Wall | None:
        """The sums with as little taken for granted as leaves them missed; None where none is."""
        granted, missed = self._own, self._missed(self._own)
        if missed is None:
            return None
        easiest = self._missed(self._best)
        if easiest is not None:
            granted, missed = self._best, easiest
        else:
            for loosened in self._loosened():
                looser = loosened(granted)
                found = self._missed(looser)
                if found is not None:
                    granted, missed = looser, found
        brought = self._brought(self._told[missed.told], granted)
        sums = tuple(self._sum(brought, some, saved) for some, saved in missed.parts)
        return Wall(self._ways(granted), self._nights, sums)

    def _missed(self, granted: Granted) -> _Missed | None:
        """The sums that the failing kit misses: the one it misses by most, or else a few of which one is reached."""
        own = [np.vstack(self._brought(told, granted, own_only=True)) for told in self._told]
        tries = [(_lack(own[told], *part), _Missed(told, [part])) for told in range(len(own)) for part in self._whole()]
        most, best = max(tries, key=lambda lack: lack[0])
        if most >= LEAST_LACK_WH:
            return best
        parts = self._apart(own[0])
        return None if parts is None else _Missed(0, parts)

    def _whole(self) -> Iterator[Part]:
        """The departures that fall furthest short, so many or so many, as one."""
        count, allowed = self._features.shape[0], self.allowed
        for some in sorted({allowed + 1, 3 * (allowed + 1) // 2, 2 * (allowed + 1), count}):
            if allowed < some <= count:
                yield Part(np.arange(some), some - allowed)

    def _apart(self, own: Array) -> list[Part] | None:
        """One more departure than may fall short, in as few parts as leave each part's sum missed; None if too many.

        One of them must be survived, so in one of the parts one is. Departures one after another are put together,
        since the same bad weather empties their banks.
        """
        worst = np.arange(self.allowed + 1)
        by_date = worst[np.argsort(self._dates[worst], kind="stable")]
        parts: list[list[int]] = []
        for place in by_date.tolist():
            if parts and _lack(own, np.array([*parts[-1], place]), 1) >= LEAST_LACK_WH:
                parts[-1].append(place)
            elif len(parts) < MOST_PARTS and _lack(own, np.array([place]), 1) >= LEAST_LACK_WH:
                parts.append([place])
            else:
                return None
        return [Part(np.array(places), 1) for places in parts]

    def _brought(self, told: Sums, granted: Granted, own_only: bool = False) -> list[Array]:
        """What each candidate of each group brings to each departure's spell, (candidates, n); last what is anyway."""
        amounts = told.weighed(granted.charge, granted.discharge)
        found = []
        for table in self.tables:
            rows = slice(-1, None) if own_only else slice(None)
            brought = np.zeros((1 if own_only else table.classes.size, self._features.shape[0]))
            for name, column in self._columns(table, granted).items():
                if column[rows].any():
                    brought += np.outer(column[rows], amounts[name])
            found.append(brought)
        anyway = sum(amount * amounts[name] for name, amount in self._taken_anyway(granted).items())
        return [*found, np.asarray(anyway)[None, :]]

    def _sum(self, brought: Sequence[Array], some: Places, saved: int) -> Sum:
        terms = []
        for table, amounts in zip(self.tables, brought, strict=False):
            units = _units(_best_of(amounts, some, saved))
            named = tuple((key, unit) for key, unit in zip(table.effects.keys, units, strict=False) if unit)
            if named:
                terms.append((table.effects.group.name, named))
        (anyway,) = _units(_best_of(brought[-1], some, saved))
        return Sum(tuple(terms), -anyway)


class Part(NamedTuple):
    """Departures, as places among those looked at, of which at least so many are survived."""

    places: Places
    saved: int


class _Missed(NamedTuple):
    """Which telling of the spells, and the departures in one or more parts."""

    told: int
    parts: list[Part]


def _draw(heater: Table, granted: Granted) -> Array:
    """Electricity for each watt of heat, at the bank."""
    draw: Array = heater.of("dc_per_w") / granted.converter + heater.of("ac_per_w") / granted.inverter
    return draw


def _best_of(amounts: Array, some: Places, saved: int) -> Array:
    """The mean of the ``saved`` largest among ``some`` of each row."""
    best: Array = np.sort(amounts[:, some], axis=1)[:, -saved:].mean(axis=1)
    return best


def _lack(own: Array, some: Places, saved: int) -> float:
    """By how much the failing kit misses the sum of what its groups bring, (groups, n) [Wh]."""
    return -float(_best_of(own, some, saved).sum())


def _units(amounts: Array) -> list[int]:
    """In whole units, rounded up beyond what the sums' own rounding can be."""
    return [ceil(amount * UNITS_A_WH + 1e-3) if amount else 0 for amount in amounts.tolist()]
