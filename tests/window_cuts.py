"""The cheapest kit that survives every trip, by a way of its own: linear cuts from failed spells.

The second of two ways to choose with trips, for a coverage of 100 % alone. It shares the unknowns and the
rules of a model with ``optimizer.choosing``, but neither its walls, its effects nor its search.

What an hour puts into the store is a minimum of straight lines in the kit's numbers: what comes in times
the charge efficiency, the bank's charge power times it, what is missing over the discharge efficiency. Over
a spell (from the hour after the bank was last full to the hour of its least room) the energy put in is
therefore nowhere above the sum of *any* choice of lines, and a kit survives only when that sum, with the
usable energy on top, is not below zero. The lines taken are those the failing kit stands on, so the cut
leaves out this very kit. It is a sum over the options chosen, group by group, as long as what numbers are
multiplied with stays: efficiencies of bank, controllers, inverter and converter, the heat wanted, the bank's
class. So each cut is asked for only where those groups are as chosen in these numbers, or worse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import ceil
from typing import Any

import numpy as np
from enumeration import part_id_number, signed
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from optimizer.choosing.variables import ModelVariables
from optimizer.kit_numbers import kit_numbers
from optimizer.physics.cold import FLOOR_SHARE
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG
from optimizer.trips.flows import flows
from optimizer.trips.numbers import FUELS
from optimizer.trips.scene import BANK_CLASSES, Scene

Array = NDArray[np.float64]
Worth = Callable[[Group, Option], float]
SLACK = 1e-6
"""Shortfalls up to this are rounding, as in the trips."""
MILLI = 1000
CUTS_A_ROUND = 10
NOTHING = ""


@dataclass(frozen=True)
class Cut:
    """What is chosen must be worth at least nothing: needed by every kit that survives."""

    worth: Mapping[str, Mapping[str, int]]
    """Group, option, thousandths of a unit, rounded in the kit's favour; what is not named is worth 0."""
    constant: int
    under: tuple[tuple[str, tuple[str, ...]], ...]
    """Asked for only where each of these groups has one of these options (``NOTHING`` for none)."""
    nights: int
    """Asked for only of stays of at least so many nights."""

    def applies(self, kit: Kit) -> bool:
        """Whether it is asked of this kit."""
        as_chosen = all(kit.choices.get(group, NOTHING) in keys for group, keys in self.under)
        return as_chosen and kit.nights >= self.nights

    def holds(self, kit: Kit) -> bool:
        """Whether the kit keeps it."""
        worth = sum(options.get(kit.choices.get(group, NOTHING), 0) for group, options in self.worth.items())
        return not self.applies(kit) or worth + self.constant >= 0


# -- one spell ------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Spell:
    """Some hours of one departure, and the straight lines a kit stands on in each of them."""

    problem: Problem
    scene: Scene
    kit: Kit
    departure: int
    start: int
    end: int
    """Trip hours, both counted in."""

    def of(self, hourly: Array) -> Array:
        """The spell's hours of a series of the scene, shape (B, 24)."""
        rows = self.scene.rows(self.departure, self.end // 24 + 1)
        picked: Array = hourly[rows].reshape(-1)[self.start : self.end + 1]
        return picked

    def trip(self, hourly: Array) -> Array:
        """The spell's hours of a series by trip hour."""
        picked: Array = hourly[self.start : self.end + 1]
        return picked

    def chosen(self, group: str) -> Option | None:
        """What the kit has in a group, None when there is no such group."""
        return self.kit.chosen(self.problem, group) if self.problem.has(group) else None

    def number(self, group: str, name: str, otherwise: float = 0.0) -> float:
        """A number of what the kit has in a group."""
        option = self.chosen(group)
        return otherwise if option is None else option.effects[name]

    @cached_property
    def heat(self) -> Array:
        """Heat wanted with the kit's insulation. [W]"""
        gap, gain = (self.of(series) for series in (self.scene.heat_gap_k, self.scene.heat_gain_w))
        return np.maximum(_loss(self.chosen("insulation")) * gap - gain, 0.0)

    @cached_property
    def through(self) -> dict[str, float]:
        """Efficiency between bank and load, by supply."""
        return {
            "dc": self.number("dc_converter", "converter_efficiency", 1.0),
            "ac": self.number("inverter", "inverter_efficiency", 1.0),
        }

    @cached_property
    def uses(self) -> dict[str, Array]:
        """Draw of the brief's uses, by supply. [W]"""
        supplies = [use.supply for use in self.scene.brief.uses]
        draws = self.trip(self.scene.schedule.uses_w)
        return {s: draws[:, [i for i, own in enumerate(supplies) if own == s]].sum(axis=1) for s in ("dc", "ac")}

    # -- lines ----------------------------------------------------------------------------------------

    @cached_property
    def suns(self) -> dict[str, NDArray[np.int64]]:
        """Hour by hour what holds an array: 0 its panels, 1 their current, 2 the controller."""
        held = {}
        for slot in _slots(self.problem):
            panels, controller = self.chosen(f"panels_{slot}"), self.chosen(f"controller_{slot}")
            lines = [self.sun(panels, controller, line) for line in range(3)]
            if controller is None or controller.effects["tracking"]:
                lines[1] = np.full_like(lines[0], np.inf)
            held[slot] = np.argmin(lines, axis=0)
        return held

    def sun(self, panels: Option | None, controller: Option | None, line: int) -> Array:
        """What an array gives by one of its lines. [W]"""
        dark: Array = np.zeros(self.end + 1 - self.start)
        if controller is None or (line < 2 and panels is None):
            return dark
        if line == 2:
            return dark + controller.effects["output_w"]
        assert panels is not None
        if line == 0:
            kind = self.scene.panel_class(panels.effects["coefficient_pct_k"], panels.effects["noct_c"])
            watts = panels.effects["power_w"] * self.of(self.scene.panel_yield(kind))
        else:
            watts = panels.effects["working_a"] * controller.effects["bank_v"] * self.of(self.scene.sun)
        return watts * controller.effects["efficiency"]

    @cached_property
    def at_floor(self) -> dict[str, NDArray[np.bool_]]:
        """Hours in which the cold boxes of a supply draw their least."""
        boxes = [option for group, option in self.kit.options(self.problem) if group.kind == "cold_box"]
        rated = {s: [_rated(box, s) for box in boxes] for s in _SUPPLIES}
        sums = {s: (sum(at for at, _ in some), sum(hot for _, hot in some)) for s, some in rated.items()}
        return {s: at + (hot - at) / 7 * self._around < FLOOR_SHARE * at for s, (at, hot) in sums.items()}

    @cached_property
    def _around(self) -> Array:
        return self.of(self.scene.around_over_k) - self.of(self.scene.around_under_k)

    @cached_property
    def inverting(self) -> NDArray[np.bool_]:
        """Hours in which anything runs on AC."""
        drawn = self.uses["ac"] + sum(self.draw(g, o, "ac") for g, o in self.kit.options(self.problem))
        running: NDArray[np.bool_] = drawn > 0
        return running

    # -- what an option does in each hour -------------------------------------------------------------

    def draw(self, group: Group, option: Option, supply: str) -> Array:
        """What an option draws, before converter or inverter. [W]"""
        effects, schedule = option.effects, self.scene.schedule
        if group.kind == "cold_box":
            at, hot = _rated(option, supply)
            return np.where(self.at_floor[supply], FLOOR_SHARE * at, at + (hot - at) / 7 * self._around)
        if group.kind == "heater" and option.traits["supply"] == supply:
            start = effects["start_wh"] * self.scene.brief.comfort.heater_starts_a_day / 24
            return self.heat * effects[f"draw_{supply}_per_w"] + np.where(self.heat > 0, start, 0.0)
        if group.kind == "meal":
            place = [g.name for g in self.problem.of_kind("meal")].index(group.name)
            when = schedule.meals_driving if effects["while_driving"] else schedule.meals
            return self.trip(when)[:, place] * effects.get(f"{supply}_wh", 0.0)
        if group.kind == "roof_fan" and supply == "dc":
            return self.trip(schedule.fan) * effects["fan_w"]
        return np.zeros_like(self._around)

    def net(self, group: Group, option: Option) -> Array:
        """What an option adds at the bank's side, by the lines the kit stands on. [W]"""
        effects = option.effects
        net = -effects.get("idle_w", 0.0) - sum(self.draw(group, option, s) / self.through[s] for s in _SUPPLIES)
        if group.kind == "battery":
            net -= effects["self_use_w"]
        elif group.kind == "alternator_charger":
            net += effects["alternator_w"] * self.trip(self.scene.schedule.drive)
        elif group.kind == "inverter":
            net -= np.where(self.inverting, effects["inverter_idle_w"], 0.0)
        elif group.kind == "solar_panel":
            held, controller = self.suns[group.name[-1]], self.chosen(f"controller_{group.name[-1]}")
            net += sum(np.where(held == line, self.sun(option, controller, line), 0.0) for line in (0, 1))
        elif group.kind == "charge_controller":
            net += np.where(self.suns[group.name[-1]] == 2, effects["output_w"], 0.0)
        return np.asarray(net, dtype=np.float64)

    def cut(self) -> Cut:
        """The cut that leaves the kit out when it falls short in this spell. [mWh]"""
        bank = self.chosen("battery")
        assert bank is not None
        given, taken = bank.effects["charge_efficiency"], bank.effects["discharge_efficiency"]
        share, chargeable = (self.of(series) for series in self.scene.bank_series(_bank_class(bank)))
        brief = -sum(self.uses[s] / self.through[s] for s in _SUPPLIES)
        net = brief + sum(self.net(group, option) for group, option in self.kit.options(self.problem))
        held = (net > bank.effects["charge_w"]) & (chargeable > 0)
        weight = np.where(net < 0, 1 / taken, np.where((chargeable > 0) & ~held, given, 0.0))

        def worth(group: Group, option: Option) -> float:
            stored = float(weight @ self.net(group, option))
            if group.kind == "battery":
                stored += given * option.effects["charge_w"] * int(held.sum())
                stored += option.effects["usable_wh"] * float(share[-1])
            return stored

        return linear_cut(self.problem, worth, float(weight @ brief), tuple(self.under(weight)), self.end // 24 + 1)

    # -- what must stay as chosen ---------------------------------------------------------------------

    def under(self, weight: Array) -> Iterator[tuple[str, tuple[str, ...]]]:
        """The groups whose numbers are multiplied with others', and their options that do no better.

        A worse efficiency or more heat lost makes the sum no larger, so the cut holds there all the more.
        """
        problem, kit = self.problem, self.kit
        yield _no_better(problem, kit, "battery", lambda o: o and _bank_class(o), lambda o: _numbers(o, *_BANK))
        for slot in _slots(problem):
            lit = (self.of(self.scene.sun) > 0) & (weight > 0)
            if bool(np.any((self.suns[slot] == 1) & lit)):
                yield _no_better(problem, kit, f"controller_{slot}", lambda o: o and o.effects["tracking"],
                                 lambda o: _numbers(o, "efficiency", "bank_v"))  # fmt: skip
            elif bool(np.any((self.suns[slot] == 0) & lit)):
                yield _no_better(problem, kit, f"controller_{slot}", lambda o: o is None,
                                 lambda o: _numbers(o, "efficiency"))  # fmt: skip
        for group, name in (("inverter", "inverter_efficiency"), ("dc_converter", "converter_efficiency")):
            if problem.has(group):
                yield _no_better(problem, kit, group, lambda _: 0, lambda o, name=name: _numbers(o, name) or (1.0,))
        if problem.has("heater") and bool(np.any(self.heat > 0)):
            yield _no_better(problem, kit, "insulation", lambda _: 0, _little_loss)
        if problem.has("inverter"):
            yield from self._who_inverts()

    def _who_inverts(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        """The inverter's own draw counts in the hours in which these groups run on AC."""
        open_hours = self.inverting & (self.uses["ac"] <= 0)
        for group, option in self.kit.options(self.problem):
            own = (self.draw(group, option, "ac") > 0) & open_hours
            if bool(own.any()):
                same = (o.key for o in group.options if bool((self.draw(group, o, "ac") > 0)[own].all()))
                yield group.name, tuple(same)
                open_hours &= ~own


_SUPPLIES = ("dc", "ac")
_BANK = ("charge_efficiency", "discharge_efficiency")


def _rated(box: Option, supply: str) -> tuple[float, float]:
    """Draw at 25 and at 32 degC around it; it does not fall with warmth. [W]"""
    at, hot = (box.effects.get(f"cold_{supply}_{around}_w", 0.0) for around in (25, 32))
    return at, max(at, hot)


def _loss(option: Option | None) -> float:
    return option.effects["heat_loss_w_k"] if option is not None else 0.0


def _little_loss(option: Option | None) -> tuple[float]:
    return (-_loss(option),)


def _numbers(option: Option | None, *names: str) -> tuple[float, ...]:
    return () if option is None else tuple(option.effects[name] for name in names)


def _slots(problem: Problem) -> tuple[str, ...]:
    return tuple(group.name[-1] for group in problem.of_kind("solar_panel"))


def _bank_class(option: Option) -> int:
    return BANK_CLASSES.index(
        (option.traits["chemistry"], bool(option.effects["warm"]), bool(option.effects["charges_cold"]))
    )


def _no_better(
    problem: Problem, kit: Kit, name: str, sort: Callable[[Option | None], Any],
    numbers: Callable[[Option | None], tuple[float, ...]],
) -> tuple[str, tuple[str, ...]]:
    """A group's options of the kit's own sort, and no better in any of some numbers (more is better)."""
    group, own = problem.group(name), kit.chosen(problem, name)

    def fits(option: Option | None) -> bool:
        if sort(option) != sort(own):
            return False
        return all(one <= best for one, best in zip(numbers(option), numbers(own), strict=True))

    keys = [option.key for option in group.options if fits(option)]
    return name, tuple(keys if group.needed or not fits(None) else [*keys, NOTHING])


def linear_cut(
    problem: Problem, worth: Worth, constant: float, under: tuple[tuple[str, tuple[str, ...]], ...], nights: int
) -> Cut:
    """A cut in whole thousandths, every number rounded up: in the kit's favour."""
    table = {
        group.name: {option.key: ceil(MILLI * worth(group, option)) for option in group.options}
        for group in problem.groups
    }
    kept = {name: {key: value for key, value in values.items() if value} for name, values in table.items()}
    return Cut({n: v for n, v in kept.items() if v}, ceil(MILLI * (constant + SLACK)), under, nights)


# -- everything a kit can run short of ------------------------------------------------------------------


def cuts(problem: Problem, scene: Scene, kit: Kit, most: int = CUTS_A_ROUND) -> list[Cut]:
    """Cuts that the kit does not keep; none when it runs short of nothing on any departure."""
    every = np.arange(scene.departures.size)
    run = flows(scene, kit_numbers(problem, kit), kit.nights, every)
    room = run.capacity_wh - run.depth_wh
    worst = np.argsort(room.min(axis=1), kind="stable")
    found = []
    for departure in worst[: most].tolist():
        end = int(room[departure].argmin())
        if room[departure, end] < -SLACK:
            full = np.flatnonzero(run.depth_wh[departure, :end] == 0)
            start = int(full[-1]) + 1 if full.size else 0
            found.append(Spell(problem, scene, kit, departure, start, end).cut())
    found += _warmth_cuts(problem, scene, kit, run.heat_w)
    found += _fuel_cuts(problem, scene, kit, run.heat_w)
    return [_sharp(cut, problem, kit) for cut in found]


def _sharp(cut: Cut, problem: Problem, kit: Kit) -> Cut:
    """The cut, or where rounding leaves the kit in, that very kit's numbers forbidden."""
    if not cut.holds(kit):
        return cut
    under = tuple((g.name, (kit.choices.get(g.name, NOTHING),)) for g in problem.groups if _acts(g))
    return Cut({}, -1, under, cut.nights)


def _acts(group: Group) -> bool:
    return any(option.effects for option in group.options)


def _warmth_cuts(problem: Problem, scene: Scene, kit: Kit, heat: Array) -> list[Cut]:
    """The heater gives what the hour of most heat asks for. [mW]"""
    heater = kit.chosen(problem, "heater") if problem.has("heater") else None
    departure, hour = np.unravel_index(int(heat.argmax()), heat.shape)
    if heat[departure, hour] <= (heater.effects["output_w"] if heater else 0.0) + SLACK:
        return []
    row = scene.rows(int(departure), kit.nights)[hour // 24]
    gap, gain = float(scene.heat_gap_k[row, hour % 24]), float(scene.heat_gain_w[row, hour % 24])

    def worth(group: Group, option: Option) -> float:
        if group.kind == "insulation":
            return -_loss(option) * gap
        return option.effects["output_w"] if group.kind == "heater" else 0.0

    return [linear_cut(problem, worth, gain, (), int(hour) // 24 + 1)]


def _fuel_cuts(problem: Problem, scene: Scene, kit: Kit, heat: Array) -> list[Cut]:
    """Each fuel on board lasts, for the insulation as chosen. [mL]"""
    most = float(heat.sum(axis=1).max())
    counts = dict(zip((g.name for g in problem.of_kind("meal")), scene.meal_counts(kit.nights).tolist(), strict=True))
    found = []
    for fuel in FUELS:

        def worth(group: Group, option: Option, fuel: str = fuel) -> float:
            burns = option.traits.get("fuel") == fuel
            held = option.effects.get(f"fuel_l {fuel}", 0.0)
            if group.kind == "heater" and burns:
                held -= most * option.effects["fuel_l_per_wh"]
            if group.kind == "meal" and burns:
                held -= counts[group.name] * option.effects.get("fuel_l", 0.0)
            return held

        own = problem.need(f"own_{fuel}_ml") / 1000
        if own + sum(worth(group, option) for group, option in kit.options(problem)) < -SLACK:
            insulated = _no_better(problem, kit, "insulation", lambda _: 0, _little_loss)
            found.append(linear_cut(problem, worth, own, (insulated,), kit.nights))
    return found


# -- the search -----------------------------------------------------------------------------------------


@dataclass
class Found:
    """What the search found; ``kit`` is None when there is none."""

    kit: Kit | None = None
    rounds: int = 0
    cuts: list[Cut] = field(default_factory=list)
    rank: tuple[int, int, int] | None = None
    """Goal, tie-break, part-id number; less is better."""


def search(problem: Problem, scene: Scene, most_rounds: int = 2000) -> Found:
    """The best kit that keeps every rule and runs short on no departure."""
    found = Found()
    variables = ModelVariables(problem)
    for slug in problem.rules:
        BY_SLUG[slug].add(variables)
    alike: dict[tuple[str, tuple[str, ...]], Any] = {}
    last = sum(
        part_id_number(Kit({g.name: o.key}, 0, 0)) * variables.picked(g, o) for g in problem.groups for o in g.options
    )
    for objective in (variables.goal(problem.goal), variables.goal(problem.tie_break), last):
        kit, value = _best(found, variables, alike, scene, objective, most_rounds)
        if kit is None:
            return found
        found.kit = kit
        variables.model.add(objective <= value)
    assert found.kit is not None
    goals = (problem.goal, problem.tie_break)
    first, second = (signed(problem, found.kit, goal) for goal in goals)
    found.rank = (first, second, part_id_number(found.kit))
    return found


def _best(
    found: Found, variables: ModelVariables, alike: dict[tuple[str, tuple[str, ...]], Any], scene: Scene,
    objective: Any, most_rounds: int,
) -> tuple[Kit | None, int]:
    """Offer the best kit, cut it off when it falls short, offer again."""
    variables.model.minimize(objective)
    while True:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.presolve_inclusion_work_limit = 0  # an open report shows wrong optima with it
        status = solver.solve(variables.model)
        if status == cp_model.INFEASIBLE:
            return None, 0
        assert status == cp_model.OPTIMAL, solver.status_name(status)
        kit = variables.kit(solver.boolean_value)
        found.rounds += 1
        assert found.rounds <= most_rounds, "the cuts do not come to an end"
        new = cuts(variables.problem, scene, kit)
        if not new:
            return kit, round(solver.objective_value)
        for cut in new:
            _add(variables, alike, cut)
        found.cuts += new


def _add(variables: ModelVariables, alike: dict[tuple[str, tuple[str, ...]], Any], cut: Cut) -> None:
    problem, model = variables.problem, variables.model
    worth = sum(
        value * variables.picked(problem.group(name), problem.group(name).option(key))
        for name, values in cut.worth.items() for key, value in values.items()
    )
    literals = []
    for name, keys in cut.under:
        if (name, keys) not in alike:
            group, literal = problem.group(name), model.new_bool_var(f"alike: {name}")
            for key in keys:
                chosen = variables.picked(group, group.option(key)) if key else variables.nothing(group)
                model.add_implication(chosen, literal)
            alike[name, keys] = literal
        literals.append(alike[name, keys])
    for nights, stays in variables.nights().items():
        if nights >= cut.nights:
            enough = worth + cut.constant >= 0
            if isinstance(enough, bool):
                model.add_bool_or([literal.negated() for literal in (*literals, stays)])
            else:
                model.add(enough).only_enforce_if(*literals, stays)
