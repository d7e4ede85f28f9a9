"""How long the largest example takes to prove, with nothing learnt yet and with a store, and where the time goes.

Run with ``PYTHONPATH=. python tests/benchmarks/bench_choose.py [RUNS]`` from the top of the repository. Prints a
table of medians of RUNS (5) runs, and JSON last. Reading brief, catalog and weather is not part of it. Bars: 5 s
with an empty store, 1 s with one.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from optimizer.choosing import choose as choosing
from optimizer.choosing import lifting
from optimizer.choosing.scouting import Scout
from optimizer.choosing.store import LevelStore
from optimizer.job import Job, Result, choose_kit, open_job
from optimizer.places.judge import Places
from optimizer.problem import dominance

EXAMPLE = Path(__file__).parents[2] / "examples" / "high_plains_spring.toml"
BARS = {"cold": 5.0, "warm": 1.0}
TIMED: dict[str, tuple[Any, ...]] = {
    "solver": (choosing, "minimise"),
    "trips": (lifting.Lifter, "passes", "walls"),
    "places": (Places, "passes", "walls"),
    "steps between solves": (Scout, "explore"),
    "checks": (choosing, "check"),
    "leaving out dominated options": (dominance, "without_dominated"),
}
"""What is timed by itself: a room or class, and its functions. Time spent inside another's is that one's."""


class Clock:
    """Time by name; a name inside another stops the outer one's time."""

    def __init__(self) -> None:
        self.spent: Counter[str] = Counter()
        self.calls: Counter[str] = Counter()
        self._open: list[str] = []
        self._since = 0.0

    def _turn(self) -> None:
        now = time.perf_counter()
        if self._open:
            self.spent[self._open[-1]] += now - self._since  # type: ignore[assignment]
        self._since = now

    def timed(self, name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        """The call, its time kept."""

        def run(*arguments: Any, **named: Any) -> Any:
            self._turn()
            self._open.append(name)
            self.calls[name] += 1
            try:
                return call(*arguments, **named)
            finally:
                self._turn()
                self._open.pop()

        return run


@contextmanager
def clocked(clock: Clock) -> Iterator[None]:
    """The timed functions with a clock around them."""
    with ExitStack() as stack:
        for name, (home, *functions) in TIMED.items():
            for function in functions:
                stack.enter_context(patch.object(home, function, clock.timed(name, getattr(home, function))))
        yield


def measured(job: Job, store: LevelStore) -> tuple[dict[str, float], Result, Clock]:
    """One run, its whole time and its parts. [s]"""
    clock = Clock()
    begun = time.perf_counter()
    with clocked(clock):
        result = choose_kit(job, store=store)
    whole = time.perf_counter() - begun
    return {"whole": whole, **clock.spent, "the rest": whole - sum(clock.spent.values())}, result, clock


def summary(runs: list[tuple[dict[str, float], Result, Clock]], bar: float) -> dict[str, Any]:
    """Medians of some runs."""
    names = ["whole", *TIMED, "the rest"]
    _, result, clock = runs[-1]
    return {
        "median_s": {name: round(statistics.median(r[0].get(name, 0.0) for r in runs), 3) for name in names},
        "runs_s": [round(parts["whole"], 3) for parts, _, _ in runs],
        "bar_s": bar, "rounds": result.outcome.rounds, "walls": result.outcome.walls, "size": result.outcome.size,
        "calls": dict(clock.calls), "status": result.outcome.status, "value": result.outcome.value,
    }  # fmt: skip


def main(runs: int = 5) -> None:
    """Measure and print."""
    job = open_job(EXAMPLE)
    _ = job.problem, job.scene
    learnt = LevelStore()
    first = choose_kit(job, store=learnt)  # compiles the trips, or loads what is kept, and fills the store
    found = {
        "cold": summary([measured(job, LevelStore()) for _ in range(runs)], BARS["cold"]),
        "warm": summary([measured(job, learnt.copy()) for _ in range(runs)], BARS["warm"]),
    }
    assert first.kit is not None
    assert all(figures["value"] == first.outcome.value for figures in found.values())
    options = sum(len(group.options) for group in job.problem.groups)
    departures = job.scene.departures.size
    print(f"{len(job.catalog)} parts, {options} options, {departures} departures, {len(learnt)} levels learnt")
    print(f"{'median of ' + str(runs) + ' runs [s]':<34}" + "".join(f"{name:>10}" for name in found))
    for name in ("whole", *TIMED, "the rest"):
        print(f"{name:<34}" + "".join(f"{figures['median_s'][name]:>10.3f}" for figures in found.values()))
    for name in ("bar_s", "rounds", "walls"):
        print(f"{name:<34}" + "".join(f"{figures[name]:>10}" for figures in found.values()))
    print(json.dumps(found))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
