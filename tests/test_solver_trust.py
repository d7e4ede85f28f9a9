"""What the solver certifies wrongly unless told otherwise: settings that must never come back."""

from __future__ import annotations

from itertools import product

import pytest
from ortools.sat.python import cp_model

from optimizer.choosing.solve import Deadline, Settings, _solver
from optimizer.packing.model import new_solver

SETTINGS = {
    "as it is": Settings(),
    "with probing": Settings(probing=True),
    "for sums": Settings(sums_only=True),
    "second opinion": Settings(second_opinion=True),
    "second opinion, presolve": Settings(second_opinion=True, presolve="usual"),
    "second opinion, more": Settings(second_opinion=True, presolve="more"),
}
NAMES = ["heavy", "light", "single", "pair", "series", "small", "large", "third", "lining", "fuse", "box", "held"]
"""Two banks, three arrays and their controllers, things besides; whether the array is held by its controller."""
PRICE = {
    "heavy": 61_400, "light": 10_400, "single": 17_197, "series": 30_447, "small": 6_838, "large": 35_037,
    "third": 6_850, "lining": 22_900, "fuse": 8_583, "box": 12_907,
}  # fmt: skip
BUDGET = 134_837
UP_TO = (
    (PRICE, BUDGET),
    ({"single": -13_594, "series": -27_188, "small": 19_400, "large": 19_400, "third": 15_400}, 0),
    ({"single": 9_464, "pair": 18_927, "series": 9_464, "small": -30_000, "large": -10_000, "third": -50_000}, 0),
    ({"series": 16_667, "small": -20_000, "large": -10_000}, 0),
    ({"small": 20_000, "held": 10_000_000}, 10_000_000),
    ({"box": -2_640_000}, -32_000),
    ({"heavy": 7_000_000, "fuse": -90_000_000}, 0),
)
"""Sums of what is chosen, each with the most that it may come to."""
MOST = 10_000_000


def sums_hold(chosen: dict[str, int]) -> bool:
    """Whether a choice keeps every sum; the current that charges lies between two of them."""
    charging = 16_667 * chosen["series"] - MOST * chosen["held"], 60_000 * chosen["heavy"] + 4_500 * chosen["light"]
    one_array = chosen["single"] + chosen["pair"] + chosen["series"] <= 1
    kept = all(sum(weight * chosen[name] for name, weight in sums.items()) <= most for sums, most in UP_TO)
    return one_array and chosen["lining"] == 1 and charging[0] <= charging[1] and kept


def cost(chosen: dict[str, int]) -> int:
    return sum(PRICE[name] * chosen[name] for name in PRICE if name not in ("lining", "box"))


def the_model() -> cp_model.CpModel:
    model = cp_model.CpModel()
    x = {name: model.new_bool_var(name) for name in NAMES}
    current = model.new_int_var(0, MOST, "current")
    model.add_at_most_one(x["single"], x["pair"], x["series"])
    model.add_exactly_one(x["lining"])
    for sums, most in UP_TO:
        model.add(sum(weight * x[name] for name, weight in sums.items()) <= most)
    model.add(current - 16_667 * x["series"] + MOST * x["held"] >= 0)
    model.add(current - 60_000 * x["heavy"] - 4_500 * x["light"] <= 0)
    model.minimize(cost(x))  # type: ignore[arg-type]
    return model


def test_a_possible_model_is_never_called_impossible() -> None:
    """With symmetries looked for, presolve says of this one that there is no solution: no settings here have them."""
    every = (dict(zip(NAMES, values, strict=True)) for values in product((0, 1), repeat=len(NAMES)))
    best = min(cost(chosen) for chosen in every if sums_hold(chosen))
    for name, settings in SETTINGS.items():
        solver = _solver(settings, Deadline(None))
        assert solver.solve(the_model()) == cp_model.OPTIMAL, name
        assert round(solver.objective_value) == best, name


@pytest.mark.parametrize("name", SETTINGS)
def test_settings_known_to_certify_wrongly_are_off(name: str) -> None:
    """Symmetries, and the search for sums included in others; when laying things out, too."""
    for solver in (_solver(SETTINGS[name], Deadline(None)), new_solver()):
        assert solver.parameters.symmetry_level == 0
        assert solver.parameters.presolve_inclusion_work_limit == 0
