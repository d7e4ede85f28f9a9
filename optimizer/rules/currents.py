"""What the wires at the bank must carry: charging, discharging, arrays, alternator, inverter."""

from __future__ import annotations

from typing import Any

from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules.base import Lever, Limit, Variables
from optimizer.rules.energy import SLOTS
from optimizer.rules.loads import add_best_conversion, add_conversion

MOST_MA = 10_000_000
MOST_W = 1_000_000


class ChargeCurrent:
    """Sun and alternator together must not charge faster than the bank allows, nor sun and hook-up.

    The engine does not run on a hook-up: of the two the stronger counts.
    """

    slug = "charge_current"
    sentence = "Sun and alternator together, and sun and hook-up together, stay within the bank's charge current."

    def add(self, variables: Variables) -> None:
        """Each array gives the lesser of what its panels make and its controller lets through."""
        problem = variables.problem
        sun: Any = 0
        for slot in SLOTS:
            if problem.has(f"panels_{slot}"):
                sun += self._add_slot(variables, slot)
        most = variables.total("charge_ma", "battery") + variables.give(self.slug)
        for other in ("charger_ma", "hookup_ma"):
            variables.demand(self.slug, sun + variables.total(other) <= most)

    def _add_slot(self, variables: Variables, slot: int) -> Any:
        current = variables.number(f"array current {slot}", MOST_MA)
        by_controller = variables.number(f"array {slot} is held by its controller", 1)
        not_held = 1 - by_controller
        variables.demand(
            self.slug, current + MOST_MA * not_held >= variables.of(f"controller_{slot}", "output_ma")
        )
        for voltage, chosen in variables.voltages().items():
            made = variables.of(f"panels_{slot}", f"array_{voltage}_ma")
            variables.demand(self.slug, current + MOST_MA * by_controller >= made, chosen)
        return current

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Largest charge current against the bank's."""
        used = max(kit.sum(problem, "charger_ma"), kit.sum(problem, "hookup_ma"))
        for slot in SLOTS:
            panels, controller = kit.chosen(problem, f"panels_{slot}"), kit.chosen(problem, f"controller_{slot}")
            if panels is not None and controller is not None:
                used += min(panels.get(f"array_{kit.voltage}_ma"), controller.get("output_ma"))
        allowed = kit.sum(problem, "charge_ma", "battery") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "A", 1000, used, allowed),)


class DischargeCurrent:
    """Everything that may run at once, against what the bank gives without stop; a start, against its burst."""

    slug = "discharge_power"
    sentence = (
        "All that may run at once takes no more than the bank gives without stop, and the hardest start on AC no more"
        " than it gives for seconds."
    )

    def add(self, variables: Variables) -> None:
        """For each inverter and each meal: DC and AC together within the bank's power."""
        problem = variables.problem
        bank = variables.total("discharge_w", "battery") + variables.give(self.slug)
        for alone in alone_variables(variables):
            ac = problem.need("ac_base_w") + variables.total("ac_run_w") + alone["ac_w"]
            dc = problem.need("dc_base_w") + variables.total("dc_run_w") + alone["dc_w"]
            at_bank = _inverter_draw(variables, alone)
            add_conversion(variables, self.slug, "inverter", ac, at_bank)
            through = variables.number(f"converter draw {alone['name']}", MOST_W)
            variables.demand(self.slug, through >= dc)
            add_conversion(variables, self.slug, "dc_converter", dc, through)
            variables.demand(self.slug, at_bank + through <= bank)
        if any(problem.of_kind("inverter")):
            self._add_starts(variables)

    def _add_starts(self, variables: Variables) -> None:
        """Each start through the inverter, while all that is not used alone runs."""
        problem = variables.problem
        dc = problem.need("dc_base_w") + variables.total("dc_run_w")
        through = variables.number("converter draw at a start", MOST_W)
        variables.demand(self.slug, through >= dc)
        add_conversion(variables, self.slug, "dc_converter", dc, through)
        bank = variables.total("burst_w", "battery") + variables.give(self.slug)
        for number, ac in enumerate(start_expressions(variables)):
            at_bank = variables.number(f"inverter draw at start {number}", MOST_W)
            add_conversion(variables, self.slug, "inverter", ac, at_bank)
            variables.demand(self.slug, at_bank + through <= bank)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Largest power at once against the bank's; with an inverter the hardest start too."""
        used, inverter = 0, kit.chosen(problem, "inverter")
        for ac_alone, dc_alone in alone_loads(problem, kit):
            ac = problem.need("ac_base_w") + kit.sum(problem, "ac_run_w") + ac_alone
            dc = problem.need("dc_base_w") + kit.sum(problem, "dc_run_w") + dc_alone
            converter = kit.chosen(problem, "dc_converter")
            total = _up(ac, inverter) if inverter else 0
            total += _up(dc, converter) if converter else dc
            used = max(used, total)
        allowed = kit.sum(problem, "discharge_w", "battery") + problem.give(self.slug)
        steady = Limit(self.slug, self.slug, self.sentence, "W", 1, used, allowed)
        if inverter is None:
            return (steady,)
        dc, converter = problem.need("dc_base_w") + kit.sum(problem, "dc_run_w"), kit.chosen(problem, "dc_converter")
        start = _up(hardest_start(problem, kit), inverter) + (_up(dc, converter) if converter else dc)
        burst = kit.sum(problem, "burst_w", "battery") + problem.give(self.slug)
        return steady, Limit(self.slug, f"{self.slug} starting", self.sentence, "W", 1, start, burst)


def _inverter_draw(variables: Variables, alone: dict[str, Any]) -> Any:
    """What the inverter takes from the bank while that runs [W]; 0 where there is none."""
    return variables.number(f"inverter draw {alone['name']}", MOST_W)


def _up(power: int, through: Option) -> int:
    return -(-1000 * power // through.get("efficiency_permille"))


def alone_variables(variables: Variables) -> list[dict[str, Any]]:
    """The things of which only one runs at a time: the largest 'alone' use of the brief, each meal."""
    problem = variables.problem
    loads: list[dict[str, Any]] = [
        {"name": "use", "ac_w": problem.need("ac_alone_w"), "dc_w": 0},
        {"name": "dc use", "ac_w": 0, "dc_w": problem.need("dc_alone_w")},
    ]
    loads += [
        {"name": group.name, "ac_w": variables.of(group.name, "ac_w"), "dc_w": variables.of(group.name, "dc_w")}
        for group in problem.of_kind("meal")
    ]
    return loads


def alone_loads(problem: Problem, kit: Kit) -> list[tuple[int, int]]:
    """AC and DC power of each thing of which only one runs at a time [W]."""
    loads = [(problem.need("ac_alone_w"), 0), (0, problem.need("dc_alone_w"))]
    for group, option in kit.options(problem):
        if group.kind == "meal":
            loads.append((option.get("ac_w"), option.get("dc_w")))
    return loads


class InverterContinuous:
    """The inverter holds what runs together on AC."""

    slug = "inverter_continuous"
    sentence = "The inverter holds everything that runs on AC at once, 'alone' uses and meals one at a time."

    def add(self, variables: Variables) -> None:
        """Continuous power at least the base and the largest single thing."""
        problem = variables.problem
        holds = variables.total("continuous_w", "inverter")
        base = problem.need("ac_base_w") + variables.total("ac_run_w")
        for alone in alone_variables(variables):
            variables.demand(self.slug, base + alone["ac_w"] <= holds)
            # Since nothing runs on AC without an inverter, this holds whichever is chosen.
            draw = _inverter_draw(variables, alone)
            add_best_conversion(variables, self.slug, "inverter", base + alone["ac_w"], draw)
        inverters = ((group, option) for group in problem.of_kind("inverter") for option in group.options)
        fitted = sum(variables.picked(group, option) for group, option in inverters)
        for group in problem.groups:
            # Says nothing new, but in the relaxation a tenth of an inverter carries a tenth of its power.
            on_ac = tuple(option.key for option in group.options if option.get("ac_run_w") or option.get("ac_w"))
            if on_ac:
                variables.demand(self.slug, variables.any_of(group, on_ac) <= fitted)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """AC power at once against the inverter's."""
        base = problem.need("ac_base_w") + kit.sum(problem, "ac_run_w")
        used = base + max(ac for ac, _ in alone_loads(problem, kit))
        allowed = kit.sum(problem, "continuous_w", "inverter")
        return (Limit(self.slug, self.slug, self.sentence, "W", 1, used, allowed),)


class InverterStarting:
    """The inverter starts what starts hardest while the rest runs."""

    slug = "inverter_starting"
    sentence = "The inverter starts the hardest starter while everything else on AC runs."

    def add(self, variables: Variables) -> None:
        """Peak power at least the base and the largest start."""
        peak = variables.total("peak_w", "inverter")
        for start in start_expressions(variables):
            variables.demand(self.slug, start <= peak)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Starting power against the inverter's peak."""
        allowed = kit.sum(problem, "peak_w", "inverter")
        return (Limit(self.slug, self.slug, self.sentence, "W", 1, hardest_start(problem, kit), allowed),)


STARTING = ("meal", "cold_box")
"""Kinds that start on AC with more than they run at."""


def start_expressions(variables: Variables) -> list[Any]:
    """AC power at each start, with what runs meanwhile [W]."""
    problem = variables.problem
    base = problem.need("ac_base_w") + variables.total("ac_run_w")
    needs = [problem.need(start) for start in ("ac_start_extra_w", "ac_alone_start_w")]
    return [base + need for need in needs] + [
        base + variables.of(group.name, "ac_start_w") for group in problem.of_kind(*STARTING)
    ]


def hardest_start(problem: Problem, kit: Kit) -> int:
    """AC power at the hardest start, with what runs meanwhile [W]."""
    starts = [problem.need("ac_start_extra_w"), problem.need("ac_alone_start_w")]
    starts += [option.get("ac_start_w") for group, option in kit.options(problem) if group.kind in STARTING]
    return problem.need("ac_base_w") + kit.sum(problem, "ac_run_w") + max(starts)


class ConverterPower:
    """A 24 V or 48 V bank steps down to 12 V through one converter that holds all DC at once."""

    slug = "converter_power"
    sentence = "With a 24 V or 48 V bank, one converter holds everything that runs on 12 V at once."

    def add(self, variables: Variables) -> None:
        """A converter exactly when the bank is not 12 V, large enough."""
        problem = variables.problem
        base = problem.need("dc_base_w") + variables.total("dc_run_w")
        holds = variables.total("continuous_w", "dc_converter")
        stepped_down = sum(chosen for voltage, chosen in variables.voltages().items() if voltage != 12)
        variables.demand(self.slug, variables.total("one", "dc_converter") == stepped_down)
        for voltage, chosen in variables.voltages().items():
            if voltage == 12:
                continue
            for alone in alone_variables(variables):
                variables.demand(self.slug, base + alone["dc_w"] <= holds, chosen)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """DC power at once against the converter's; the bank itself at 12 V."""
        if kit.voltage == 12:
            fitted = kit.sum(problem, "one", "dc_converter")
            return (Limit(self.slug, self.slug, self.sentence, "W", 1, 0, 0 if not fitted else -1),)
        base = problem.need("dc_base_w") + kit.sum(problem, "dc_run_w")
        used = base + max(dc for _, dc in alone_loads(problem, kit))
        allowed = kit.sum(problem, "continuous_w", "dc_converter")
        if not kit.sum(problem, "one", "dc_converter"):
            used = max(used, 1)  # what keeps the bank is on 12 V too, even when nothing else is
        return (Limit(self.slug, self.slug, self.sentence, "W", 1, used, allowed),)


class AlternatorSpare:
    """The alternator charger takes no more than the alternator has to spare."""

    slug = "alternator_spare"
    sentence = "The alternator charger takes no more than the alternator's spare current."
    lever = Lever("alternator_ma", "vehicle.alternator_spare", +1, "A", 1000)

    def add(self, variables: Variables) -> None:
        """Current from the alternator at most the spare current."""
        taken = variables.total("taken_ma", "alternator_charger")
        variables.demand(self.slug, taken <= variables.problem.need("alternator_ma") + variables.give(self.slug))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Current taken against current spare."""
        used = kit.sum(problem, "taken_ma", "alternator_charger")
        allowed = problem.need("alternator_ma") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "A", 1000, used, allowed),)
