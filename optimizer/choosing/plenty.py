"""An aim that leads to a kit with plenty of energy, sun and fuel: where any kit will do, such a one passes soonest.

On the road: under choosing and *explain*. Rule of thumb (common practice, no source): three days of load in the bank,
a third of a day's load in watts of panels, 0.8 L of fuel a night. It leads the search; it decides nothing.
"""

from __future__ import annotations

from typing import Any

from optimizer.choosing.aims import Aim
from optimizer.choosing.variables import ModelVariables
from optimizer.physics.fuel import FUELS
from optimizer.problem.records import Kit, Problem
from optimizer.rules.money import price_cents

OTHER_LOADS_WH = 500
"""What cold boxes, fan and heater take a day, about."""
FINES = {"energy": 200, "sun": 400, "fuel": 20}
"""Cents for each Wh, W and mL that is lacking."""


def plenty_aim(problem: Problem) -> Aim:
    """The price, and a heavy fine for less than plenty."""
    load = problem.need("dc_wh_day") + problem.need("ac_wh_day") + OTHER_LOADS_WH
    enough = {"energy": 3 * load, "sun": load // 3, "fuel": 800 * max(problem.nights)}
    own = sum(problem.need(f"own_{fuel}_ml") for fuel in FUELS)

    def expression(variables: ModelVariables) -> Any:
        given = {
            "energy": variables.total("usable_wh", "battery"), "sun": variables.total("array_w", "solar_panel"),
            "fuel": sum((variables.total(f"hold_{fuel}_ml") for fuel in FUELS), own),
        }  # fmt: skip
        total = variables.price()
        for name, wanted in enough.items():
            lack = variables.number(f"lack of {name}", wanted)
            variables.model.add(lack + given[name] >= wanted)
            total = total + FINES[name] * lack
        return total

    def value(kit: Kit) -> int:
        given = {
            "energy": kit.sum(problem, "usable_wh", "battery"), "sun": kit.sum(problem, "array_w", "solar_panel"),
            "fuel": own + sum(kit.sum(problem, f"hold_{fuel}_ml") for fuel in FUELS),
        }  # fmt: skip
        fines = sum(FINES[name] * max(0, wanted - given[name]) for name, wanted in enough.items())
        return price_cents(problem, kit) + fines

    return Aim(expression, value)
