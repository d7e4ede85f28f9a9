"""How much fuel a trip burns: heating and cooking together, a fuel each.

On the road: replay -> *burnt* -> limits as told.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics import Array
from optimizer.trips.numbers import FUELS
from optimizer.trips.replay import Replay


def fuel_burnt(replay: Replay) -> dict[str, Array]:
    """Litres each departure burns, shape (N,), for each fuel that the kit burns or carries. [L]

    Heat is counted as wanted: where the heater gives less, the trip runs short of warmth anyway.
    """
    scene, numbers = replay.scene, replay.numbers
    heat = np.maximum(numbers.heat_loss_w_k * scene.heat_gap_k - scene.heat_gain_w, 0.0).sum(axis=1)
    rows = np.array([scene.rows(int(place), replay.nights) for place in replay.outcomes.departures])
    heat_wh = heat[rows].sum(axis=1)
    counts = scene.meal_counts(replay.nights)
    burnt = {}
    for fuel in FUELS:
        litres = np.zeros(len(rows))
        heater = numbers.heater
        if heater is not None and heater.fuel == fuel:
            litres += heat_wh * heater.fuel_l_per_wh
        for count, meal in zip(counts, numbers.meals, strict=True):
            litres += count * meal.fuel_l if meal.fuel == fuel else 0.0
        if litres.any() or numbers.fuel_l.get(fuel, 0.0) > 0:
            burnt[fuel] = litres
    return burnt


def most_burnt(replay: Replay) -> dict[str, float]:
    """The most that any departure burns that runs short of nothing; of all, when none survives. [L]"""
    alive = replay.outcomes.survived
    counted = alive if alive.any() else np.ones_like(alive)
    return {fuel: float(litres[counted].max()) for fuel, litres in fuel_burnt(replay).items()}
