"""What explanations cost beside one cold choosing: seconds and ratios, all in one run.

    python tests/benchmarks/bench_why.py [EXAMPLE ...]

For each example: one cold ``choose``; ``why`` with all break-evens, starting from what that choosing learnt
(as it does after ``choose --save``) and from nothing; then, for versions of it that are impossible, the first
conflict and the ways out, again beside the cold choosing of the example itself. Wall seconds, since questions
are asked on all cores, and processor seconds of this process; last the same as whole commands, with a cache of
their own, the impossible versions too. Bars: all break-evens within five times a cold choosing, conflict and ways out
within three. No test asserts a time.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.explain.bench import Bench
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.hands import Hands
from optimizer.explain.limits import stories
from optimizer.explain.ways_out import Early, ways_out
from optimizer.explain.why import bench_for
from optimizer.job import Job, choose_kit, open_job
from optimizer.problem.records import Kit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

ROOT = Path(__file__).parents[2]
EXAMPLES = ("high_plains_spring", "fjord_winter", "gulf_autumn")


def changed(job: Job, **topics: dict[str, Any]) -> Job:
    """The job with keys of some topics of its brief changed."""
    brief = job.brief
    new = {name: getattr(brief, name).model_copy(update=keys) for name, keys in topics.items()}
    return replace(job, brief=brief.model_copy(update=new))


def impossible(job: Job, kit: Kit) -> dict[str, Job]:
    """Versions of an example that no kit keeps, named by what is too small."""
    vehicle = job.brief.vehicle
    price, parts = price_cents(job.problem, kit) / 100, kit_mass_g(job.problem, kit) / 1000
    used = next(row for row in _limits(job, kit) if row.slug == "payload")
    exact = vehicle.gross_mass - used.room / used.scale
    roof = vehicle.roof.model_copy(update={"length": 300.0})
    return {
        "budget": changed(job, limits={"budget": round(0.85 * price)}),
        "payload": changed(job, vehicle={"gross_mass": exact - 0.7 * parts}),
        "roof": changed(job, vehicle={"roof": roof}),
        "coverage": changed(job, trip={"coverage": 100.0}, limits={"budget": price}),
        "two together": changed(job, limits={"budget": price}, vehicle={"gross_mass": exact - 1}),
    }


def _limits(job: Job, kit: Kit) -> Any:
    from optimizer.check import check

    return check(job.problem, kit).limits


def timed(words: str, work: Callable[[], Any], cold: float | None = None) -> tuple[Any, float]:
    """Do it, and print what it took."""
    started, busy = time.perf_counter(), time.process_time()
    found = work()
    took, busy = time.perf_counter() - started, time.process_time() - busy
    ratio = "" if cold is None else f"{took / cold:6.2f} x"
    print(f"  {words:<44}{took:8.2f} s ({busy:.2f} s here) {ratio}", flush=True)
    return found, took


def with_hands(bench: Bench, ask: Callable[[Hands], Any]) -> Any:
    """Asked on all cores."""
    with Hands(bench) as hands:
        return ask(hands)


def in_words(name: str, other: Job) -> str | None:
    """An example's file with the numbers of a version of it; None where it differs in more than these."""
    brief = other.brief
    numbers: dict[str, object] = {"budget": brief.limits.budget, "coverage": brief.trip.coverage}
    numbers["gross_mass"] = f'"{brief.vehicle.gross_mass} kg"'
    text = (ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8")
    for key, number in numbers.items():
        text = re.sub(rf"^{key} = .*$", f"{key} = {number}", text, count=1, flags=re.MULTILINE)
    same_roof = brief.vehicle.roof == open_job(ROOT / "examples" / f"{name}.toml").brief.vehicle.roof
    return text if same_roof else None


def commands(name: str, versions: dict[str, Job]) -> None:
    """The same as a person has it: whole processes, the weather prepared and nothing learnt."""
    brief = ROOT / "examples" / f"{name}.toml"
    with tempfile.TemporaryDirectory() as folder:
        saved = Path(folder) / "kit.json"
        environment = {**os.environ, "KITWRIGHT_CACHE": folder}

        def run(*words: object, expected: int = 0) -> None:
            done = subprocess.run(
                [Path(sys.executable).parent / "kitwright", *map(str, words), "--quiet"], check=False,
                env=environment, stdout=subprocess.DEVNULL, cwd=ROOT,
            )  # fmt: skip
            assert done.returncode == expected, words

        run("choose", brief)
        _, cold = timed("command: choose, nothing learnt", lambda: run("choose", brief))
        run("choose", brief, "--save", saved)
        timed("command: why, after choose --save", lambda: run("why", saved), cold)
        shutil.copytree(ROOT / "examples", Path(folder) / "examples")
        for what, other in versions.items():
            text, file = in_words(name, other), Path(folder) / "examples" / "brief.toml"
            if text is not None:
                file.write_text(text, encoding="utf-8")
                timed(f"command: choose, {what}", lambda: run("choose", file, expected=1), cold)  # noqa: B023


def main(names: list[str]) -> None:
    """Every example, or those named."""
    for name in names or EXAMPLES:
        print(name, flush=True)
        job = open_job(ROOT / "examples" / f"{name}.toml")
        store = LevelStore()
        _ = job.problem, job.scene
        choose_kit(job, Settings())  # compiles and caches what every later run finds ready
        result, cold = timed("cold choose", lambda job=job, store=store: choose_kit(job, Settings(), store))
        kit = result.kit
        learnt = store.copy()
        timed("why, all break-evens, after choose --save",
              lambda: with_hands(bench_for(job, store=learnt), lambda h: stories(h.bench, kit, hands=h)),  # noqa: B023
              cold)
        timed("the same in one process", lambda: stories(bench_for(job, store=store.copy()), kit), cold)  # noqa: B023
        versions = impossible(job, kit)
        commands(name, versions)
        for what, other in versions.items():
            own = LevelStore()
            outcome, _ = timed(f"{what}: choose", lambda: choose_kit(other, Settings(), own).outcome, cold)  # noqa: B023
            if outcome.status != "impossible":
                print(f"    {outcome.status}")
                continue
            bench = bench_for(other, store=own)
            early = Early()
            with Hands(bench) as hands:
                conflict, one = timed(
                    f"{what}: conflict, some ways out",
                    lambda: find_conflict(bench, known=True, hands=hands, beside=early), cold,  # noqa: B023
                )  # fmt: skip
                ways, two = timed(
                    f"{what}: all ways out", lambda: ways_out(bench, conflict, hands=hands, known=early), cold  # noqa: B023
                )  # fmt: skip
            named = ", ".join(member.name for member in conflict.members)
            print(f"    {(one + two) / cold:.2f} x in all; {len(ways)} ways out of {named}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
