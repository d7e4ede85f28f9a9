"""The same choice as one HiGHS model: every rule, and an hourly battery state for a few departures at 100 %.

What is in it: every option as a binary; exactly-one and at-most-one groups, twins and bank voltages; the price
with owned parts and consumables; *every rule of the problem* (budget, payload, currents, voltages, water, fuel,
skills, wiring and the rest), told by the rules themselves to the unknowns below, with big-M where a rule holds
only under a choice. For each hour of each departure: what the sun gives (panels, their current, the controller), what
charges, what is drawn and how deep the bank is, as continuous unknowns. Products of two choices are linear
by big-M over the *distinct* values there are (efficiencies of bank, controller, inverter, converter) or by shares of
pairs (insulation x heater). What it leaves out: places and axles beyond their rules, the tie-breaks, and all other
departures. One thing is stricter by less than a tenth of a box's draw: each cold box has its least draw for itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

from optimizer.physics.cold import FLOOR_SHARE
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG
from optimizer.trips.numbers import FUELS
from optimizer.trips.scene import BANK_CLASSES, Scene

ENDLESS = highspy.kHighsInf


class Linear:
    """A sum of unknowns times numbers, and a number."""

    def __init__(self, terms: Mapping[int, float] | None = None, constant: float = 0.0) -> None:
        self.terms = dict(terms or {})
        self.constant = constant

    def plus(self, other: Any, times: float = 1.0) -> Linear:
        """With another sum, or a number, on top."""
        if not isinstance(other, Linear):
            return Linear(self.terms, self.constant + times * other)
        terms = dict(self.terms)
        for column, value in other.terms.items():
            terms[column] = terms.get(column, 0.0) + times * value
        return Linear(terms, self.constant + times * other.constant)

    def __add__(self, other: Any) -> Linear:
        return self.plus(other)

    __radd__ = __add__

    def __sub__(self, other: Any) -> Linear:
        return self.plus(other, -1.0)

    def __rsub__(self, other: Any) -> Linear:
        return (self * -1.0) + other

    def __neg__(self) -> Linear:
        return self * -1.0

    def __mul__(self, number: float) -> Linear:
        return Linear({c: number * v for c, v in self.terms.items()}, number * self.constant)

    __rmul__ = __mul__

    def __le__(self, other: Any) -> Row:
        return Row(self - other, equal=False)

    def __ge__(self, other: Any) -> Row:
        return Row((self - other) * -1.0, equal=False)

    def __eq__(self, other: object) -> Row:  # type: ignore[override]
        return Row(self - other, equal=True)

    __hash__ = None  # type: ignore[assignment]


@dataclass(frozen=True, eq=False)
class Row:
    """A sum of at most nothing, or of nothing."""

    sum: Linear
    equal: bool


class Model:
    """Columns and rows, gathered first and handed to HiGHS at once."""

    def __init__(self) -> None:
        self.lower: list[float] = []
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[tuple[Linear, float]] = []

    def column(self, upper: float = ENDLESS, whole: bool = False) -> Linear:
        """A new unknown from 0 on."""
        self.lower.append(0.0)
        self.upper.append(upper)
        self.whole.append(whole)
        return Linear({len(self.lower) - 1: 1.0})

    def literal(self) -> Linear:
        """A new yes or no."""
        return self.column(1.0, whole=True)

    def most(self, expression: Linear) -> float:
        """The most a sum can be by the bounds of its unknowns alone."""
        return expression.constant + sum(
            v * (self.upper[c] if v > 0 else self.lower[c]) for c, v in expression.terms.items()
        )

    def ask(self, row: Row, *under: Linear) -> None:
        """Ask for a row, where all of ``under`` are 1."""
        for expression in (row.sum, row.sum * -1.0) if row.equal else (row.sum,):
            relaxed = expression
            if under:
                big = max(0.0, self.most(expression))
                for literal in under:
                    relaxed = relaxed + big * literal - big
            self.rows.append((Linear(relaxed.terms), -relaxed.constant))

    def highs(self, objective: Linear) -> highspy.Highs:
        """The model with an objective to make small."""
        count = len(self.lower)
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = count, len(self.rows)
        costs = np.zeros(count)
        for column, value in objective.terms.items():
            costs[column] = value
        lp.col_cost_, lp.offset_ = costs, objective.constant
        lp.col_lower_, lp.col_upper_ = np.array(self.lower), np.array(self.upper)
        lp.row_lower_ = np.full(len(self.rows), -ENDLESS)
        lp.row_upper_ = np.array([most for _, most in self.rows])
        lp.integrality_ = [highspy.HighsVarType.kInteger if w else highspy.HighsVarType.kContinuous for w in self.whole]
        entries = [[(c, v) for c, v in sorted(terms.terms.items()) if v] for terms, _ in self.rows]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(row) for row in entries)]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for row in entries for c, _ in row], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([v for row in entries for _, v in row])
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.passModel(lp)
        return solver


class RuleVariables:
    """The unknowns of the choice; implements ``rules.base.Variables`` on a ``Model``."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.model = model = Model()
        self._night = {n: model.literal() for n in problem.nights}
        self._voltage = {v: model.literal() for v in problem.voltages}
        self._picked = {(g.name, o.key): model.literal() for g in problem.groups for o in g.options}
        self._named: dict[str, Linear] = {}
        for some in (self._night, self._voltage):
            model.ask(sum(some.values(), Linear()) == 1)
        for group in problem.groups:
            one = sum((self.picked(group, option) for option in group.options), Linear())
            model.ask(one == 1 if group.needed else one <= 1)
            for option in group.options:
                if option.voltage:
                    model.ask(self.picked(group, option) <= self._voltage[option.voltage])
            if group.twin:
                model.ask(self._place(group) <= self._place(problem.group(group.twin)))
        for slug in problem.rules:
            BY_SLUG[slug].add(self)

    def _place(self, group: Group) -> Linear:
        return sum(((i + 1) * self.picked(group, o) for i, o in enumerate(group.options)), Linear())

    def picked(self, group: Group, option: Option) -> Any:
        """1 when that option is chosen."""
        return self._picked[group.name, option.key]

    def any_of(self, group: Group, keys: tuple[str, ...]) -> Any:
        """1 when one of these options is chosen."""
        return sum((self.picked(group, group.option(key)) for key in keys), Linear())

    def weighed(self, groups: Iterable[Group], worth: Callable[[Option], float]) -> Linear:
        """A number of each option, summed over what is chosen."""
        terms: dict[int, float] = {}
        for group in groups:
            for option in group.options:
                (column,) = self.picked(group, option).terms
                if value := worth(option):
                    terms[column] = float(value)
        return Linear(terms)

    def total(self, amount: str, *kinds: str) -> Any:
        """Sum of an amount over everything chosen."""
        return self.weighed(
            self.problem.of_kind(*kinds) if kinds else self.problem.groups, lambda o: amount_of(o, amount)
        )

    def of(self, group: str, amount: str) -> Any:
        """The amount of what is chosen in a group."""
        return self.weighed([self.problem.group(group)], lambda o: amount_of(o, amount))

    def nights(self) -> Mapping[int, Any]:
        """1 for the nights chosen."""
        return self._night

    def voltages(self) -> Mapping[int, Any]:
        """1 for the voltage chosen."""
        return self._voltage

    def number(self, name: str, most: int) -> Any:
        """An unknown from 0 to ``most``."""
        if name not in self._named:
            self._named[name] = self.model.column(most, whole=True)
        return self._named[name]

    def price(self) -> Any:
        """Money [cents]; one number of nights only."""
        (nights,) = self.problem.nights
        price = self.total("price_cents") + nights * self.total("cents_night")
        for owned in self.problem.owned:
            paid = self.number(f"beyond owned: {owned.part}", 200)
            shown = (group for group in self.problem.groups if not group.hidden)
            self.model.ask(
                self.weighed(shown, lambda o, p=owned.part: sum(n for q, n in o.parts if q == p)) - owned.count <= paid
            )
            price = price + owned.price_cents * paid
        return price

    def give(self, slug: str) -> Any:
        """What a limit allows beyond."""
        return self.problem.give(slug)

    def demand(self, slug: str, condition: Any, *under: Any) -> None:
        """Ask for a condition."""
        if isinstance(condition, bool):
            condition = Linear(constant=0.0 if condition else 1.0) <= 0
        self.model.ask(condition, *under)

    def kit(self, values: Any) -> Kit:
        """The kit of a solution."""

        def on(literal: Linear) -> bool:
            (column,) = literal.terms
            return bool(values[column] > 0.5)

        chosen = {group: key for (group, key), literal in self._picked.items() if on(literal)}
        voltage = next(v for v, literal in self._voltage.items() if on(literal))
        return Kit(chosen, voltage, next(n for n, literal in self._night.items() if on(literal)))


def amount_of(option: Option, amount: str) -> float:
    """An amount, price and mass among them."""
    return {"price_cents": option.price_cents, "mass_g": option.mass_g}.get(amount, option.get(amount))


class HourlyPeer:
    """The whole model: the rules, and the hours of these departures (places in ``scene.departures``)."""

    def __init__(self, problem: Problem, scene: Scene, departures: Iterable[int]) -> None:
        self.problem = problem
        self.scene = scene
        self.variables = RuleVariables(problem)
        self.model = self.variables.model
        (self.nights,) = problem.nights
        self._chosen_numbers()
        for departure in departures:
            self._departure(scene.rows(int(departure), self.nights))

    # -- what is chosen, as unknowns of their own -----------------------------------------------------

    def _sum(self, kinds: Iterable[str] | str, worth: Callable[[Option], float]) -> Linear:
        """A chosen number as an unknown of its own, so that rows stay short."""
        groups = list(self.problem.of_kind(*([kinds] if isinstance(kinds, str) else kinds)))
        return self._own(self.variables.weighed(groups, worth))

    def _own(self, expression: Linear) -> Linear:
        column = self.model.column(max(0.0, self.model.most(expression)))
        self.model.ask(column == expression)
        return column

    def _by(self, groups: Iterable[Group], mark: Callable[[Option], Any]) -> dict[Any, Linear]:
        """For each distinct mark, 1 when an option that bears it is chosen."""
        marks = sorted({mark(option) for group in groups for option in group.options}, key=repr)
        return {m: self.variables.weighed(groups, lambda o, m=m: mark(o) == m) for m in marks}

    def _group(self, name: str) -> list[Group]:
        return [self.problem.group(name)] if self.problem.has(name) else []

    def _chosen_numbers(self) -> None:
        problem = self.problem
        battery = self._group("battery")
        self.banks = self._by(
            battery, lambda o: (bank_class(o), o.effects["charge_efficiency"], o.effects["discharge_efficiency"])
        )
        classes = sorted({mark[0] for mark in self.banks})
        self.usable = {
            c: self._own(self.variables.weighed(battery, lambda o, c=c: o.effects["usable_wh"] * (bank_class(o) == c)))
            for c in classes
        }
        self.charge_w = self._sum("battery", lambda o: o.effects["charge_w"])
        self.idle = self._own(
            self.variables.weighed(
                problem.groups, lambda o: o.effects.get("idle_w", 0.0) + o.effects.get("self_use_w", 0.0)
            )
        )
        self.alternator = self._sum("alternator_charger", lambda o: o.effects["alternator_w"])
        self.fan = self._sum("roof_fan", lambda o: o.effects["fan_w"])
        self.cold = {
            (s, at): self._sum("cold_box", lambda o, s=s, at=at: cold(o, s, at))
            for s in ("dc", "ac")
            for at in ("level", "slope")
        }
        self.meals = {
            (g.name, s, moving): self._own(
                self.variables.weighed(
                    [g],
                    lambda o, s=s, moving=moving: (
                        o.effects.get(f"{s}_wh", 0.0) * (bool(o.effects["while_driving"]) == moving)
                    ),
                )
            )
            for g in problem.of_kind("meal")
            for s in ("dc", "ac")
            for moving in (False, True)
        }
        self.converters = self._by(self._group("dc_converter"), lambda o: o.effects["converter_efficiency"])
        self.inverters = self._by(self._group("inverter"), lambda o: o.effects["inverter_efficiency"])
        self.inverter_idle = self._sum("inverter", lambda o: o.effects["inverter_idle_w"])
        self.arrays = [self._array(group.name[-1]) for group in problem.of_kind("solar_panel")]
        self._pairs()
        self._running: dict[tuple[int, ...], Linear] = {}

    def _array(self, slot: str) -> dict[str, Any]:
        panels, controllers = self._group(f"panels_{slot}"), self._group(f"controller_{slot}")
        kinds = sorted({panel_mark(o) for g in panels for o in g.options})
        return {
            "power": {
                k: self._own(self.variables.weighed(panels, lambda o, k=k: o.effects["power_w"] * (panel_mark(o) == k)))
                for k in kinds
            },
            "amperes": self._own(self.variables.weighed(panels, lambda o: o.effects["working_a"])),
            "output": self._own(self.variables.weighed(controllers, lambda o: o.effects["output_w"])),
            "most": max((o.effects["output_w"] for g in controllers for o in g.options), default=0.0),
            "by": self._by(
                controllers, lambda o: (o.effects["efficiency"], bool(o.effects["tracking"]), o.effects["bank_v"])
            ),
        }

    def _pairs(self) -> None:
        """Shares of pairs of insulation and heater (by what it draws and burns), each at most what is chosen."""
        insulation = self._by(self._group("insulation"), lambda o: o.effects["heat_loss_w_k"])
        heaters = self._by(self._group("heater"), heater_mark)
        self.pairs = {(loss, mark): self.model.column(1.0) for loss in insulation for mark in heaters}
        for loss, chosen in insulation.items():
            self.model.ask(sum((self.pairs[loss, m] for m in heaters), Linear()) <= chosen)
        for mark, chosen in heaters.items():
            self.model.ask(sum((self.pairs[loss, mark] for loss in insulation), Linear()) == chosen)
        self.heat_output = self._sum("heater", lambda o: o.effects["output_w"])
        self.loss = self._sum("insulation", lambda o: o.effects["heat_loss_w_k"])

    # -- the hours ------------------------------------------------------------------------------------

    def _departure(self, rows: Any) -> None:
        scene, model = self.scene, self.model
        hours = 24 * self.nights
        gap, gain = (series[rows].reshape(-1) for series in (scene.heat_gap_k, scene.heat_gain_w))
        around = (scene.around_over_k - scene.around_under_k)[rows].reshape(-1)
        for t in np.flatnonzero(gap == gap.max())[:1].tolist():
            model.ask(gap[t] * self.loss - gain[t] <= self.heat_output)
        self._fuel(gap, gain)
        depth = Linear()
        for t in range(hours):
            day, h = int(rows[t // 24]), t % 24
            draws = {s: self._draw(s, t, gap[t], gain[t], around[t]) for s in ("dc", "ac")}
            taken = self._behind(draws["dc"], self.converters, free=True) + self._behind(
                draws["ac"], self.inverters, free=False
            )
            taken = taken + self.idle + self._inverter_own(draws["ac"])
            given = sum((self._sun(array, day, h) for array in self.arrays), Linear())
            given = given + float(scene.schedule.drive[t]) * self.alternator
            depth = self._bank(depth, given, taken, day, h)

    def _draw(self, supply: str, t: int, gap: float, gain: float, around: float) -> Linear:
        """DC or AC load, before converter or inverter. [W]"""
        schedule, brief = self.scene.schedule, self.scene.brief
        use = sum(float(w) for w, u in zip(schedule.uses_w[t], brief.uses, strict=True) if u.supply == supply)
        draw = Linear(constant=use)
        if supply == "dc" and schedule.fan[t]:
            draw = draw + float(schedule.fan[t]) * self.fan
        level, slope = self.cold[supply, "level"], self.cold[supply, "slope"]
        if self.model.most(level) > 0:
            box = self.model.column(10_000.0)
            self.model.ask(level + around * slope <= box)
            if around < 0:
                self.model.ask(FLOOR_SHARE * level <= box)
            draw = draw + box
        for place, group in enumerate(self.problem.of_kind("meal")):
            for moving, when in ((False, schedule.meals), (True, schedule.meals_driving)):
                if when[t, place]:
                    draw = draw + float(when[t, place]) * self.meals[group.name, supply, moving]
        for (loss, mark), share in self.pairs.items():
            heat = max(0.0, loss * gap - gain)
            if heat > 0 and mark[0] == supply:
                watts = heat * mark[1] + mark[2] * brief.comfort.heater_starts_a_day / 24
                draw = draw + watts * share
        return draw

    def _behind(self, draw: Linear, by: dict[float, Linear], free: bool) -> Linear:
        """A load seen from the bank, over the efficiency of what is chosen; ``free``: nothing need be chosen."""
        if not draw.terms and not draw.constant:
            return Linear()
        most = self.model.most(draw)
        taken = self.model.column(max(most / min(by, default=1.0), most))
        self.model.ask(draw <= taken)
        for efficiency, chosen in by.items():
            self.model.ask(draw * (1 / efficiency) <= taken, chosen)
        return taken

    def _inverter_own(self, draw: Linear) -> Linear:
        """The inverter's own draw in hours in which anything runs on AC."""
        if draw.constant > 0:
            return self.inverter_idle
        sources = tuple(sorted(draw.terms))
        if not sources:
            return Linear()
        if sources not in self._running:
            running, own = self.model.literal(), self.model.column(self.model.most(self.inverter_idle))
            self.model.ask(draw <= self.model.most(draw) * running)
            self.model.ask(self.inverter_idle <= own, running)
            self._running[sources] = own
        return self._running[sources]

    def _sun(self, array: dict[str, Any], day: int, h: int) -> Linear:
        """What an array gives in an hour. [W]"""
        sun = float(self.scene.sun[day, h])
        if sun <= 0 or not array["by"]:
            return Linear()
        given = self.model.column(array["most"])
        self.model.ask(given <= array["output"])
        power = sum(
            (float(self.scene.panel_yield(self.scene.panel_class(*k))[day, h]) * p for k, p in array["power"].items()),
            Linear(),
        )
        for (efficiency, tracking, volts), chosen in array["by"].items():
            self.model.ask(given <= efficiency * power, chosen)
            if not tracking:
                self.model.ask(given <= efficiency * volts * sun * array["amperes"], chosen)
        return given

    def _bank(self, depth: Linear, given: Linear, taken: Linear, day: int, h: int) -> Linear:
        """The depth of the bank after an hour, within what is usable. [Wh]"""
        model = self.model
        charge, drawn, stored, lost = (
            model.column(20_000.0),
            model.column(20_000.0),
            model.column(20_000.0),
            model.column(40_000.0),
        )
        model.ask(charge + taken <= given + drawn)
        model.ask(charge <= self.charge_w)
        may = sum((on for (c, _, _), on in self.banks.items() if self.scene.bank_series(c)[1][day, h] > 0), Linear())
        model.ask(stored <= 20_000.0 * may)
        for (_, into, out), chosen in self.banks.items():
            model.ask(stored <= into * charge, chosen)
            model.ask((1 / out) * drawn <= lost, chosen)
        after = model.column(100_000.0)
        model.ask(depth - stored + lost <= after)
        usable = sum((float(self.scene.bank_series(c)[0][day, h]) * u for c, u in self.usable.items()), Linear())
        model.ask(after <= usable)
        return after

    def _fuel(self, gap: Any, gain: Any) -> None:
        """Heating and cooking within what is on board, a fuel each. [L]"""
        counts = self.scene.meal_counts(self.nights)
        for fuel in FUELS:
            burnt = Linear()
            for (loss, mark), share in self.pairs.items():
                if mark[3] == fuel:
                    burnt = burnt + float(np.maximum(loss * gap - gain, 0.0).sum()) * mark[4] * share
            for group, count in zip(self.problem.of_kind("meal"), counts.tolist(), strict=True):
                burnt = burnt + count * self.variables.weighed(
                    [group], lambda o, f=fuel: o.effects.get("fuel_l", 0.0) * (o.traits["fuel"] == f)
                )
            held = self.variables.weighed(self.problem.groups, lambda o, f=fuel: o.effects.get(f"fuel_l {f}", 0.0))
            self.model.ask(burnt <= held + self.problem.need(f"own_{fuel}_ml") / 1000)


def bank_class(option: Option) -> int:
    """Class of a bank in the scene."""
    return BANK_CLASSES.index(
        (option.traits["chemistry"], bool(option.effects["warm"]), bool(option.effects["charges_cold"]))
    )


def panel_mark(option: Option) -> tuple[float, float]:
    """What the class of a panel hangs on."""
    return option.effects["coefficient_pct_k"], option.effects["noct_c"]


def heater_mark(option: Option) -> tuple[str, float, float, str, float]:
    """Supply, draw a watt of heat, energy of a start, fuel, fuel a watt-hour."""
    supply, effects = option.traits["supply"], option.effects
    return supply, effects[f"draw_{supply}_per_w"], effects["start_wh"], option.traits["fuel"], effects["fuel_l_per_wh"]


def cold(option: Option, supply: str, what: str) -> float:
    """A box's draw at 25 degC, or what it rises by a kelvin."""
    level = option.effects.get(f"cold_{supply}_25_w", 0.0)
    return level if what == "level" else max(option.effects.get(f"cold_{supply}_32_w", 0.0) - level, 0.0) / 7
