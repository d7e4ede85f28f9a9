"""The same work by other means, in one run: small worlds with trips, small enough to look at every kit.

Run with ``PYTHONPATH=.:tests:tests/benchmarks python tests/benchmarks/bench_peers.py [WORLDS] [--highs]`` from the top
of the repository. Peers for the cheapest kit: looking at every kit with the compiled trips; the solver without any
trips, a floor that no way of choosing can be below; with ``--highs`` one mixed-integer model with hourly state, on the
largest example (``bench_highs``, minutes). Peer for the trade-offs between price and mass: NSGA-II of the library
pymoo, told a world's own number of kits as its budget; counted are the points it misses. Processor time.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from enumeration import allowed_short, kits
from small_worlds import small_problem, small_world
from test_enumeration_trips import World, made

from optimizer.check import check
from optimizer.choosing.choose import choose
from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter
from optimizer.frontier.run import find_frontier
from optimizer.job import Job
from optimizer.problem.records import Kit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

COVERAGE = 95.0
Points = set[tuple[int, int]]


def timed(call: Callable[[], Any]) -> tuple[float, Any]:
    """Processor time of a call, and what it gives. [s]"""
    begun = time.process_time()
    found = call()
    return time.process_time() - begun, found


def lifter_of(world: World) -> Lifter:
    """The judge of trips of a world."""
    return Lifter(Effects(world.problem, world.scene), allowed_short(world.scene, COVERAGE), lambda option: 0)


def passing(world: World) -> list[tuple[int, int]]:
    """Price and mass of every kit that keeps the rules and passes its trips, by looking at each."""
    lifter, problem = lifter_of(world), world.problem
    return [
        (price_cents(problem, kit), kit_mass_g(problem, kit))
        for kit in kits(problem) if check(problem, kit).ok and lifter.passes(kit)
    ]  # fmt: skip


def beaten_by_none(points: Sequence[tuple[int, int]]) -> Points:
    """The trade-offs among points."""
    best: Points = set()
    least = None
    for price, mass in sorted(set(points)):
        if least is None or mass < least:
            best.add((price, mass))
            least = mass
    return best


def by_heuristic(world: World, evaluations: int, seed: int = 1) -> Points:
    """What NSGA-II finds: a whole number for each group, broken limits and failed trips as constraints."""
    from pymoo.algorithms.moo.nsga2 import NSGA2
    from pymoo.core.problem import ElementwiseProblem
    from pymoo.operators.crossover.sbx import SBX
    from pymoo.operators.mutation.pm import PM
    from pymoo.operators.repair.rounding import RoundingRepair
    from pymoo.operators.sampling.rnd import IntegerRandomSampling
    from pymoo.optimize import minimize

    problem, lifter = world.problem, lifter_of(world)
    offers = [[*(() if g.needed else (None,)), *(o.key for o in g.options)] for g in problem.groups]
    found: list[tuple[int, int]] = []

    class Kits(ElementwiseProblem):  # type: ignore[misc]
        def __init__(self) -> None:
            sizes = [len(problem.voltages), len(problem.nights), *map(len, offers)]
            super().__init__(n_var=len(sizes), n_obj=2, n_ieq_constr=1, xl=0, xu=np.array(sizes) - 1, vtype=int)

        def _evaluate(self, x: Any, out: dict[str, Any], *_: Any, **__: Any) -> None:
            chosen = {g.name: keys[int(n)] for g, keys, n in zip(problem.groups, offers, x[2:], strict=True)}
            kit = Kit(
                {name: key for name, key in chosen.items() if key is not None},
                problem.voltages[int(x[0])], problem.nights[int(x[1])],
            )  # fmt: skip
            faults = check(problem, kit).faults
            bad = len(faults) if faults else 0 if lifter.passes(kit) else 0.5
            point = (price_cents(problem, kit), kit_mass_g(problem, kit)) if not faults else (10**8, 10**8)
            if not bad:
                found.append(point)
            out["F"], out["G"] = [float(value) for value in point], [float(bad)]

    whole = {"vtype": float, "repair": RoundingRepair()}
    algorithm = NSGA2(
        pop_size=40, sampling=IntegerRandomSampling(), crossover=SBX(prob=0.9, eta=3, **whole),
        mutation=PM(eta=3, **whole), eliminate_duplicates=True,
    )  # fmt: skip
    minimize(Kits(), algorithm, ("n_eval", evaluations), seed=seed, verbose=False)
    return beaten_by_none(found)


def exact(world: World, job: Job) -> Points:
    """What the frontier command finds."""
    return {(p.values[0], p.values[1]) for p in find_frontier(job, ["price", "mass"]).points}


def measured(number: int) -> dict[str, Any] | None:
    """One world, every way; None for a world without a kit."""
    brief, catalog = small_world(number, coverage=COVERAGE)
    if brief.preferences.goal != "cheapest":
        return None
    world = made(brief, catalog)
    problem = small_problem(brief, catalog)
    job = Job(brief, catalog, ())
    job.__dict__.update(problem=problem, scene=world.scene)
    every_s, points = timed(lambda: passing(world))
    own_s, outcome = timed(lambda: choose(problem, [lifter_of(world)]))
    if not points or outcome.value is None:
        assert not points
        assert outcome.status == "impossible"
        return None
    assert outcome.value == min(points)[0]
    floor_s, _ = timed(lambda: choose(problem))
    truth = beaten_by_none(points)
    front_s, front = timed(lambda: exact(world, job))
    many = sum(1 for _ in kits(problem))
    guess_s, guessed = timed(lambda: by_heuristic(world, many))
    return {
        "world": number, "kits": many, "own_s": own_s, "every_kit_s": every_s, "floor_s": floor_s,
        "points": len(truth), "own_missed": len(truth - front), "own_front_s": front_s,
        "heuristic_missed": len(truth - guessed), "heuristic_s": guess_s,
    }  # fmt: skip


def main(worlds: int = 10) -> None:
    """Measure and print."""
    found = []
    number = 0
    while len(found) < worlds:
        row = measured(number)
        number += 1
        if row is not None:
            found.append(row)
    head = (("world", 7), ("kits", 7), ("own_s", 8), ("every_kit_s", 13), ("floor_s", 9), ("points", 8),
            ("own_missed", 12), ("own_front_s", 13), ("heuristic_missed", 18), ("heuristic_s", 13))  # fmt: skip
    print("".join(f"{name:>{width}}" for name, width in head))
    for row in found:
        print("".join(f"{row[n]:>{w}.2f}" if n.endswith("_s") else f"{row[n]:>{w}}" for n, w in head))
    print(json.dumps(found))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:] if word.isdigit()))
    if "--highs" in sys.argv:
        import bench_highs

        bench_highs.main()
