"""How much faster than one HiGHS model: the largest example at 100 % on its ten worst departures, both in one run.

Run with ``PYTHONPATH=.:tests:tests/benchmarks python tests/benchmarks/bench_highs.py [SECONDS]`` from the top of
the repository; SECONDS (600) is where HiGHS is stopped. The bar is 20 times. Prints a table, and JSON last.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
from highs_peer import HourlyPeer

from optimizer.check import check, goal_value
from optimizer.choosing.choose import choose
from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.order import cost_of, order_of
from optimizer.job import open_job
from optimizer.problem.dominance import without_dominated
from optimizer.trips.run import outcomes

EXAMPLE = Path(__file__).parents[2] / "examples" / "high_plains_spring.toml"
WORST, RUNS, BAR = 10, 5, 20.0


def main(limit: float = 600.0) -> None:
    """Measure and print."""
    job = open_job(EXAMPLE)
    problem = without_dominated(job.problem, order_of(job.problem)).problem
    effects = Effects(problem, job.scene)
    anyhow = choose(problem)  # the best kit by the rules alone: the trips it does worst are looked at
    assert anyhow.kit is not None
    run = outcomes(job.scene, effects.kit_row(anyhow.kit), anyhow.kit.nights)
    worst = np.sort(run.departures[np.argsort(run.room_wh, kind="stable")][:WORST])
    scene = replace(job.scene, departures=job.scene.departures[worst])

    def ours() -> tuple[float, int | None]:
        begun = time.perf_counter()
        lifter = Lifter(Effects(problem, scene), 0, partial(cost_of, problem.goal))
        outcome = choose(problem, [lifter])
        assert outcome.status == "proven"
        return time.perf_counter() - begun, outcome.value

    times = [ours() for _ in range(RUNS)]
    own, value = statistics.median(seconds for seconds, _ in times), times[0][1]
    begun = time.perf_counter()
    peer = HourlyPeer(problem, scene, range(WORST))
    solver = peer.model.highs(peer.variables.price())
    built = time.perf_counter() - begun
    solver.setOptionValue("time_limit", limit)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    begun = time.perf_counter()
    solver.run()
    theirs = time.perf_counter() - begun
    info, status = solver.getInfo(), solver.modelStatusToString(solver.getModelStatus())
    result = {
        "departures": WORST, "columns": len(peer.model.lower), "rows": len(peer.model.rows),
        "ours_s": round(own, 3), "ours_runs_s": [round(s, 3) for s, _ in times], "ours_value": value,
        "highs_build_s": round(built, 1), "highs_s": round(theirs, 1), "highs_status": status,
        "highs_value": info.objective_function_value, "highs_bound": info.mip_dual_bound,
        "ratio_at_least": round(theirs / own, 1), "bar": BAR,
    }  # fmt: skip
    if info.primal_solution_status == 2:
        kit = peer.variables.kit(solver.getSolution().col_value)
        lifter = Lifter(Effects(problem, scene), 0, partial(cost_of, problem.goal))
        result["highs_kit"] = {
            "price": goal_value(problem, kit, problem.goal), "check": check(problem, kit).ok,
            "trips": lifter.passes(kit),
        }  # fmt: skip
    for name, figure in result.items():
        print(f"{name:<20}{figure}")
    print(json.dumps(result))


if __name__ == "__main__":
    main(*(float(word) for word in sys.argv[1:2]))
