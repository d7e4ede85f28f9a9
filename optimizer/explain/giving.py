"""The problem as it is when limits give way or wishes change, and in which steps they can be asked to.

On the road: under *explain*. Most limits give through ``Problem.gives``. The roof gives by growing longer,
since what lies on it is laid out and not only added up; bays give by being roomy.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from optimizer.problem.kept import Kept
from optimizer.problem.placing import free_roof_cm2
from optimizer.problem.records import Problem
from optimizer.problem.space import BayPlace, Space
from optimizer.rules import COVERAGE

ROOF, BAYS = "roof_area", "bay_space"
AXLES = ("front_axle", "rear_axle", "side_balance")
PLENTY = {"roof_area": 30_000, "front_axle": 10**7, "rear_axle": 10**7, "side_balance": 10**7}
"""More than any kit could ask: millimetres of roof, grams on an axle."""
STEPS = {"roof_area": 10, "front_axle": 1000, "rear_axle": 1000, "side_balance": 1000, "parking_length": 10}
"""How finely what is laid out and weighed is asked to give [mm, g]: finer is no use in a van."""
ROOMY_MM, ROOMY_G = 20_000, 10**8
_LONGER: Kept[Space] = Kept(32)
_ROOMY: Kept[Space] = Kept(32)
"""The same space again for each question, so that what rules keep of it is found again."""


def step_of(problem: Problem, name: str) -> int:
    """In which steps a limit is loosened one by one; 0 when its least give is found in one question."""
    if name == COVERAGE:
        return 1
    return STEPS.get(name, 0) if problem.space is not None else 0


def given(problem: Problem, gives: Mapping[str, int]) -> Problem:
    """The problem with limits giving way by so much ('coverage' is left to the trips)."""
    plain = {slug: give for slug, give in gives.items() if slug != COVERAGE}
    if ROOF in plain and problem.space is not None:
        problem = _longer_roof(problem, plain.pop(ROOF))
    return replace(problem, gives={**problem.gives, **plain}) if plain else problem


def _longer_roof(problem: Problem, more: int) -> Problem:
    assert problem.space is not None
    known = problem.space
    space = _LONGER.of((known,), more, lambda: replace(known, roof=known.roof.longer(more)))
    needs = {**problem.needs, "roof_cm2": free_roof_cm2(space)}
    return replace(problem, space=space, needs=needs)


def wishing(problem: Problem, required: Collection[str] = (), refused: Collection[str] = ()) -> Problem:
    """The problem with parts required or refused besides; what was wished of them before counts no more."""
    rules = [*problem.rules, *(slug for slug in ("required", "refused") if slug not in problem.rules)]
    return replace(
        problem, rules=tuple(rules),
        required=tuple(sorted({*problem.required, *required} - set(refused))),
        refused=tuple(sorted({*problem.refused, *refused} - set(required))),
    )  # fmt: skip


def roomy(problem: Problem) -> Problem:
    """The problem with bays so large that everything with a bay of its sort fits."""
    known = problem.space
    if known is None:
        return problem

    def large(place: BayPlace) -> BayPlace:
        bay = replace(
            place.bay, length=ROOMY_MM, width=ROOMY_MM, height=ROOMY_MM, load=ROOMY_G, door_width=None, door_height=None
        )
        return replace(place, bay=bay)

    space = _ROOMY.of((known,), None, lambda: replace(known, bays=tuple(map(large, known.bays))))
    return replace(problem, space=space)
