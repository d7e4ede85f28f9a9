"""Plenty of everything, cheaply: where the search looks for its first kit that passes.

On the road: under choosing. It proves nothing; it only spares the search a start from nowhere.
"""

from __future__ import annotations

from typing import Any

from optimizer.choosing.variables import ModelVariables
from optimizer.rules.warmth import FUELS

OTHER_LOADS_WH = 500
"""Cold box, heater and own draws of a day, roughly. [Wh]"""


def plenty(variables: ModelVariables) -> Any:
    """The price, and a heavy fine for less energy, sun and fuel than a rule of thumb would have.

    Rule of thumb (common practice, no source): three days of load in the bank, a third of a day's load
    in watts of panels, 0.8 L of fuel a night. It only finds a kit to start from.
    """
    problem = variables.problem
    load = problem.need("dc_wh_day") + problem.need("ac_wh_day") + OTHER_LOADS_WH
    fuel = sum((variables.total(f"hold_{fuel}_ml") + problem.need(f"own_{fuel}_ml") for fuel in FUELS), 0)
    wanted = (
        ("energy", 3 * load, variables.total("usable_wh", "battery"), 200),
        ("sun", load // 3, variables.total("array_w", "solar_panel"), 400),
        ("fuel", 800 * max(problem.nights), fuel, 20),
    )
    fines: Any = 0
    for name, enough, given, cents in wanted:
        lack = variables.number(f"lack of {name}", enough)
        variables.model.add(lack + given >= enough)
        fines += cents * lack
    return variables.price() + fines
