"""What roof, bays and axles cost: the largest example with them in force and with sums alone, both in one run.

Run with ``PYTHONPATH=.:tests python tests/benchmarks/bench_places.py [RUNS]`` from the top of the repository. Prints
tables of medians of RUNS (5) runs in seconds of this process's own time, and JSON last: the largest example; the same
with its fan in the middle of the roof, where the answer by sums alone has no place; and the order-21 perfect squared
square of side 112 (A. J. W. Duijvestijn, J. Combin. Theory B 25 (1978) 240), which may stay undecided. Reading brief,
catalog and weather is not part of it.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from test_packing_model import MORON, ORDER_21, squares

from optimizer.choosing.store import LevelStore
from optimizer.job import Job, Result, choose_kit, open_job
from optimizer.packing import model as packing
from optimizer.packing.model import pack
from optimizer.packing.shapes import NoPacking, Region
from optimizer.places.finding import place

EXAMPLE = Path(__file__).parents[2] / "examples" / "high_plains_spring.toml"
FAN_X = 1100.0
"""Where the fan stands in the second question: in the middle of the roof."""


def by_sums(job: Job) -> Job:
    """The job with areas, masses and lengths added up only: no plan, no bays, no axles."""
    plain = replace(job)
    plain.__dict__["problem"] = replace(job.problem, space=None)
    return plain


def with_fan_at(job: Job, x: float) -> Job:
    """The job with the roof fan pinned elsewhere."""
    roof = job.brief.vehicle.roof.model_copy(update={"fan_x": x})
    vehicle = job.brief.vehicle.model_copy(update={"roof": roof})
    return replace(job, brief=job.brief.model_copy(update={"vehicle": vehicle}))


def measured(job: Job) -> tuple[float, Result]:
    """One run with nothing learnt. [s]"""
    begun = time.process_time()
    result = choose_kit(job, store=LevelStore())
    return time.process_time() - begun, result


def compared(job: Job, runs: int) -> dict[str, dict[str, Any]]:
    """Medians with places in force and by sums alone, in turns, and whether each kit has its places."""
    jobs = {"places": job, "sums": by_sums(job)}
    for one in jobs.values():
        _ = one.problem, one.scene
    measured(jobs["sums"])  # compiles the trips, or loads what is kept
    seen = [{name: measured(one) for name, one in jobs.items()} for _ in range(runs)]
    found: dict[str, dict[str, Any]] = {}
    for name in jobs:
        result = seen[-1][name][1]
        assert result.kit is not None
        where = place(job.problem, replace(result.kit, places=None))
        found[name] = {
            "median_s": round(statistics.median(one[name][0] for one in seen), 3),
            "status": result.outcome.status, "value": result.outcome.value, "rounds": result.outcome.rounds,
            "places": where.value if isinstance(where, NoPacking) else "found",
        }  # fmt: skip
    return found


def dissected(sides: tuple[int, ...], length: int, width: int) -> dict[str, Any]:
    """A published dissection, asked once and afresh."""
    packing._pack.cache_clear()
    begun = time.process_time()
    answer = pack(Region(length, width), squares(sides), effort=120, seconds=600)
    told = answer.value if isinstance(answer, NoPacking) else "found"
    return {"seconds": round(time.process_time() - begun, 2), "answer": told}


def main(runs: int = 5) -> None:
    """Measure and print."""
    job = open_job(EXAMPLE)
    found = {"the largest example": compared(job, runs), "its fan in the middle": compared(with_fan_at(job, FAN_X), 1)}
    for question, answers in found.items():
        print(question)
        for name, figures in answers.items():
            told = "  ".join(f"{key} {value}" for key, value in figures.items())
            print(f"  {name:<8}{told}")
    squared = {"9 squares, 33 x 32": dissected(MORON, 33, 32), "21 squares, 112 x 112": dissected(ORDER_21, 112, 112)}
    for question, figures in squared.items():
        print(f"{question:<24}{figures['answer']} in {figures['seconds']} s")
    print(json.dumps({**found, **squared}))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
