"""Panels and their controller: voltages on the coldest and the hottest day, currents."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Limit, Variables
from optimizer.rules.energy import SLOTS


def _slots(problem: Problem) -> tuple[int, ...]:
    return tuple(slot for slot in SLOTS if problem.has(f"panels_{slot}"))


class ArrayVoltage:
    """The coldest morning's open-circuit voltage must not kill the controller, in the season or parked outside it."""

    slug = "array_voltage"
    sentence = "On the year's coldest morning the strings' open-circuit voltage stays under the controller's limit."

    def add(self, variables: Variables) -> None:
        """Voltage within the controller's limit."""
        for slot in _slots(variables.problem):
            panels, controller = f"panels_{slot}", f"controller_{slot}"
            held = variables.of(controller, "array_v_mv") + variables.give(self.slug)
            variables.demand(self.slug, variables.of(panels, "voc_cold_mv") <= held)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Cold voltage against the controller's, an array each."""
        return tuple(
            _pair(self, problem, kit, slot, "voc_cold_mv", "array_v_mv", "V") for slot in _slots(problem)
        )


class ArrayHeadroom:
    """On the hottest day the strings must still push current into a full bank."""

    slug = "array_headroom"
    sentence = "On the hottest day the strings' working voltage stays above the bank's charging voltage."

    def add(self, variables: Variables) -> None:
        """Hot working voltage at least what the controller needs."""
        for slot in _slots(variables.problem):
            needed = variables.of(f"controller_{slot}", "needed_mv")
            given = variables.of(f"panels_{slot}", "vmp_hot_mv") + variables.give(self.slug)
            variables.demand(self.slug, needed <= given)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Voltage needed against the strings' hot voltage, an array each."""
        limits = []
        for slot in _slots(problem):
            needed = _amount(problem, kit, f"controller_{slot}", "needed_mv")
            given = _amount(problem, kit, f"panels_{slot}", "vmp_hot_mv") + problem.give(self.slug)
            limits.append(
                Limit(self.slug, f"{self.slug} {slot}", self.sentence, "V", 1000, needed, given)
            )
        return tuple(limits)


class ArrayCurrent:
    """Short-circuit current of the strings together, with the code's quarter on top."""

    slug = "array_current"
    sentence = "A quarter above the strings' short-circuit current stays within the controller's input."

    def add(self, variables: Variables) -> None:
        """Current within the controller's input rating."""
        for slot in _slots(variables.problem):
            current = variables.of(f"panels_{slot}", "isc_ma")
            held = variables.of(f"controller_{slot}", "array_a_ma") + variables.give(self.slug)
            variables.demand(self.slug, current <= held)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Input current against the rating, an array each."""
        return tuple(_pair(self, problem, kit, slot, "isc_ma", "array_a_ma", "A") for slot in _slots(problem))


class ControllerCurrent:
    """Rated panel power at the charging voltage, against the controller's output."""

    slug = "controller_current"
    sentence = "The panels' rated power at charging voltage stays within the controller's output current."

    def add(self, variables: Variables) -> None:
        """Output current within the rating, at the bank's voltage."""
        for slot in _slots(variables.problem):
            for voltage, chosen in variables.voltages().items():
                made = variables.of(f"panels_{slot}", f"array_{voltage}_ma")
                held = variables.of(f"controller_{slot}", "output_ma") + variables.give(self.slug)
                variables.demand(self.slug, made <= held, chosen)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Output current against the rating, an array each."""
        return tuple(
            _pair(self, problem, kit, slot, f"array_{kit.voltage}_ma", "output_ma", "A")
            for slot in _slots(problem)
        )


class PanelCount:
    """No more panels behind one controller than the brief allows; a second array only after a first."""

    slug = "array_pair"
    sentence = "Panels and controller come together, and a second array only beside a first."

    def add(self, variables: Variables) -> None:
        """A controller exactly when there are panels; the second slot is used only when the first is."""
        slots = _slots(variables.problem)
        for slot in slots:
            panels, controller = (variables.of(f"{name}_{slot}", "one") for name in ("panels", "controller"))
            variables.demand(self.slug, panels == controller)
        if len(slots) == 2:
            variables.demand(
                self.slug, variables.of("panels_2", "one") <= variables.of("panels_1", "one")
            )

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Counts the arrays without a mate."""
        odd = 0
        for slot in _slots(problem):
            odd += (f"panels_{slot}" in kit.choices) != (f"controller_{slot}" in kit.choices)
        if "panels_2" in kit.choices and "panels_1" not in kit.choices:
            odd += 1
        return (Limit(self.slug, self.slug, self.sentence, "arrays", 1, odd, 0),)


def _amount(problem: Problem, kit: Kit, group: str, name: str) -> int:
    option = kit.chosen(problem, group)
    return option.get(name) if option is not None else 0


def _pair(
    rule: ArrayVoltage | ArrayCurrent | ControllerCurrent,
    problem: Problem, kit: Kit, slot: int, used: str, allowed: str, unit: str,
) -> Limit:
    return Limit(
        rule.slug, f"{rule.slug} {slot}", rule.sentence, unit, 1000,
        _amount(problem, kit, f"panels_{slot}", used),
        _amount(problem, kit, f"controller_{slot}", allowed) + problem.give(rule.slug),
    )
