"""How fast the trips are: 355 ten-day departures of a typical year, against the slow simulator.

Run with ``PYTHONPATH=.:tests python tests/benchmarks/bench_trips.py`` from the top of the repository.
Prints a table; times are the best of several runs, memory is what remains after thousands of passes.
"""

from __future__ import annotations

import timeit
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
from slow_trip import slow_trip
from trip_cases import PLENTY, a_brief, with_bank

from optimizer.trips.layout import Layout
from optimizer.trips.numbers import ArrayNumbers, HeaterNumbers, KitNumbers, MealNumbers
from optimizer.trips.replay import replay_scene
from optimizer.trips.run import outcomes, short_departures
from optimizer.trips.scene import build_scene
from optimizer.weather.reading import read_year

NIGHTS = 10
STATION = "station:723170"


def a_kit(usable_wh: float, panels_w: float) -> KitNumbers:
    """An ordinary kit of such a bank and array."""
    bank = with_bank(
        PLENTY, usable_wh=usable_wh, charge_w=1000.0, charge_efficiency=0.97, discharge_efficiency=0.98,
        self_use_w=0.3, charges_cold=False,
    ).bank
    return KitNumbers(
        bank=bank, arrays=(ArrayNumbers(panels_w, 0.0, True, -0.35, 47.0, 600.0, 0.96),), alternator_w=350.0,
        inverter_efficiency=0.9, inverter_idle_w=8.0, converter_efficiency=1.0, idle_w=1.5, cold_dc=(12.0, 17.0),
        cold_ac=(0.0, 0.0), heater=HeaterNumbers(2000.0, 0.01, "dc", 5.0, "diesel", 0.00013), fan_w=20.0,
        heat_loss_w_k=28.0, meals=(MealNumbers(0.0, 350.0, "", 0.0, False), MealNumbers(0.0, 150.0, "", 0.0, True)),
        fuel_l={"diesel": 60.0}, water_l=500.0, grey_l=500.0, toilet_visits=500.0,
    )


def best(call: Callable[[], object], number: int, repeat: int = 9) -> float:
    """Best time of one call. [ms]"""
    call()
    return 1e3 * min(timeit.repeat(call, number=number, repeat=repeat)) / number


def main() -> None:
    """Measure and print."""
    brief = a_brief(
        trip={"nights": NIGHTS, "season_from": "01-01", "season_to": "12-21", "coverage": 95,
              "driving": {"every_days": 3, "hours": 1.5, "start_hour": 10}},
        uses=[{"name": "lamps", "power": 15, "hours": 5, "start_hour": 18},
              {"name": "laptop", "power": 60, "hours": 3, "start_hour": 9, "supply": "ac"}],
        meals=[{"name": "supper", "ability": "boil", "heat": 300},
               {"name": "breakfast", "ability": "boil", "heat": 120, "hour": 8}],
    )
    year = read_year(STATION, Path.cwd())
    scene = build_scene(brief, [year])
    layout = Layout(scene)
    strong, weak = layout.vector(a_kit(4000.0, 600.0)), layout.vector(a_kit(1500.0, 200.0))
    started = timeit.default_timer()
    short_departures(scene, strong, NIGHTS)
    first_call = 1e3 * (timeit.default_timer() - started)
    worst = outcomes(scene, weak, NIGHTS).worst_first()
    allowed = scene.departures.size // 20

    def slow(kit: KitNumbers) -> int:
        days = scene.departures.tolist()
        return sum(slow_trip(brief, year, kit, day, NIGHTS).cause != "none" for day in days)

    kits = {"enough sun and battery": a_kit(4000.0, 600.0), "too little": a_kit(1500.0, 200.0)}
    rows = [
        ("first call (compiles, or loads what is kept)", first_call),
        ("scene from brief and year", best(lambda: build_scene(brief, [year]), 5)),
        ("full count, enough sun and battery", best(lambda: short_departures(scene, strong, NIGHTS), 200)),
        ("full count, too little", best(lambda: short_departures(scene, weak, NIGHTS), 200)),
        ("too little, stops after 5 %, worst first",
         best(lambda: short_departures(scene, weak, NIGHTS, allowed, worst), 500)),
        ("outcomes of every departure", best(lambda: outcomes(scene, strong, NIGHTS), 10)),
        ("energy table of every departure",
         best(lambda: replay_scene(scene, kits["too little"], NIGHTS).energy, 1, 3)),
        ("slow simulator, every departure", best(lambda: slow(kits["enough sun and battery"]), 1, 1)),
    ]
    print(f"{scene.departures.size} departures of {NIGHTS} days, {scene.kinds.drive.shape[0]} kinds of day")
    for name, milliseconds in rows:
        print(f"{name:<48}{milliseconds:12.3f} ms")
    for name, kit in kits.items():
        quick = short_departures(scene, layout.vector(kit), NIGHTS)
        print(f"{name + ': short departures, quick and slow':<64}{quick:4d} {slow(kit):4d}")
    tracemalloc.start()
    short_departures(scene, weak, NIGHTS)
    before = tracemalloc.get_traced_memory()[0]
    for step in np.linspace(0.5, 2.0, 5000):
        short_departures(scene, weak * np.where(layout.directions != 0, step, 1.0), NIGHTS)
    print(f"memory kept after 5,000 passes{(tracemalloc.get_traced_memory()[0] - before) / 1024:30.1f} kB")


if __name__ == "__main__":
    main()
