"""What a trip burns, told from the kit's numbers, is what the compiled pass takes from the tanks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from trip_cases import PLENTY, a_brief, random_year

from optimizer.trips.burnt import fuel_burnt, most_burnt
from optimizer.trips.numbers import HeaterNumbers, MealNumbers
from optimizer.trips.replay import Replay, replay


def trips(fuel_l: float) -> Replay:
    """A winter's trips with diesel heating and a diesel cooker, and so many litres on board."""
    brief = a_brief(
        trip={"nights": 6, "season_from": "11-01", "season_to": "02-28"},
        meals=[{"name": "supper", "ability": "boil", "heat": 300, "hour": 18, "every_days": 2}],
    )
    kit = replace(
        PLENTY,
        heater=HeaterNumbers(1e6, 0.0, "dc", 0.0, "diesel", 0.000125),
        meals=(MealNumbers(0.0, 0.0, "diesel", 0.07, False),),
        fuel_l={"diesel": fuel_l},
    )
    return replay(brief, [random_year(np.random.default_rng(3))], kit)


def test_lack_and_use_add_up() -> None:
    """For every departure litres burnt less litres on board are the lack, where there is one."""
    short = trips(9.0)
    litres = fuel_burnt(short)["diesel"]
    lacking = short.outcomes.lack > 0
    assert 0 < lacking.sum() < litres.size
    assert short.outcomes.lack[lacking] == pytest.approx(litres[lacking] - 9.0, abs=1e-6)
    assert (litres[~lacking] <= 9.0 + 1e-6).all()


def test_most_burnt_counts_those_that_come_through() -> None:
    """The thirstiest departure that survives is within the tank; with plenty it is the thirstiest of all."""
    assert most_burnt(trips(9.0))["diesel"] <= 9.0
    plenty = trips(1e6)
    assert most_burnt(plenty)["diesel"] == fuel_burnt(plenty)["diesel"].max() > 9.0
