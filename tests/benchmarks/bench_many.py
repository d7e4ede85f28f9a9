"""Frontiers and batches against a cold ``choose`` in the same run: points and variants a second, and memory over time.

Run with ``PYTHONPATH=. python tests/benchmarks/bench_many.py frontier [SECONDS]`` or ``... batch [BUDGETS MARGINS]``
from the top of the repository; JSON comes last. CPU seconds are compared, so that a busy machine does not spoil them.
Bars: a frontier's point at most a third of a cold choose; a batch at least 10 times the rate of separate choose
processes, memory flat. The batch is a grid of BUDGETS x MARGINS x 5 coverages x 2 stays, 10 x 10 for 1,000 variants.
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from optimizer.batch.run import How, rows_batch
from optimizer.choosing.solve import Settings
from optimizer.frontier.records import Frontier, Point
from optimizer.frontier.run import find_frontier
from optimizer.job import choose_kit, open_job

EXAMPLE = Path(__file__).parents[2] / "examples" / "high_plains_spring.toml"
SEPARATE = 3
COVERAGES, NIGHTS = (80, 85, 90, 95, 97), (8, 10)


def frontier(seconds: float = 0.0) -> dict[str, Any]:
    """Points of price against mass, each with what it cost; all of them, or those of some wall seconds."""
    job = open_job(EXAMPLE)
    choose_kit(job)  # compiles the trips, or loads what is kept
    begun = time.process_time()
    choose_kit(job)
    cold = time.process_time() - begun
    print(f"cold choose {cold:.2f} CPU s", flush=True)
    each: list[float] = []
    last = time.process_time()

    def on_point(_: Frontier, point: Point) -> None:
        nonlocal last
        now = time.process_time()
        each.append(now - last)
        print(f"{len(each):>4} {point.values} {each[-1]:.2f} CPU s", flush=True)
        last = now

    begun = last
    found = find_frontier(job, ["price", "mass"], settings=Settings(seconds=seconds or None), on_point=on_point)
    whole = time.process_time() - begun
    points = len(found.points)
    return {
        "cold_choose_s": cold, "points": points, "complete": found.complete, "whole_s": whole,
        "a_point_s": whole / max(1, points), "median_point_s": statistics.median(each or [0.0]),
        "of_a_choose": whole / max(1, points) / cold,
    }  # fmt: skip


def batch(budgets: int = 10, margins: int = 10) -> dict[str, Any]:
    """A grid on two processes, and a few of its variants by a process each."""
    grid: list[dict[str, object]] = [
        {
            "limits.budget": 8500 - 400 * budget, "limits.payload_margin": 25 * margin, "trip.coverage": coverage,
            "trip.nights": nights,
        }
        for nights in NIGHTS for coverage in COVERAGES for budget in range(budgets) for margin in range(margins)
    ]  # fmt: skip
    memory: list[tuple[float, int]] = []
    stop = threading.Event()
    watching = threading.Thread(target=_watch, args=(stop, memory))
    watching.start()
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    own = time.process_time()
    found = rows_batch(EXAMPLE, grid, None, how=How(workers=2), progress=_tell)
    wall = time.monotonic() - begun
    stop.set()
    watching.join()
    cpu = _cpu(before) + time.process_time() - own
    sample = [_separate(grid[place]) for place in range(0, len(grid), max(1, len(grid) // SEPARATE))][:SEPARATE]
    apart = statistics.mean(sample)
    statuses = [row["status"] for row in found.rows]
    return {
        "variants": len(grid), "statuses": {status: statuses.count(status) for status in sorted(set(statuses))},
        "kits": len({row.get("kit") for row in found.rows}), "wall_s": wall, "cpu_s": cpu,
        "variants_a_cpu_s": len(grid) / cpu, "separate_cpu_s": sample, "ratio": apart * len(grid) / cpu,
        "workers_mb": memory[:: max(1, len(memory) // 12)],
    }  # fmt: skip


def _tell(progress: Any) -> None:
    if progress.done % max(1, progress.total // 20) == 0:
        print(f"{progress.done} of {progress.total}, {progress.seconds_left:.0f} s left", flush=True)


def _cpu(before: resource.struct_rusage) -> float:
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    return now.ru_utime + now.ru_stime - before.ru_utime - before.ru_stime


def _separate(changes: dict[str, object]) -> float:
    """CPU seconds of one choose process for a variant of the grid."""
    text = EXAMPLE.read_text(encoding="utf-8")
    for key, value in changes.items():
        name = key.rpartition(".")[2]
        lines = [f"{name} = {value}" if line.startswith(f"{name} = ") else line for line in text.split("\n")]
        text = "\n".join(lines)
        if f"\n{name} = " not in text:
            table = key.partition(".")[0]
            text = text.replace(f"[{table}]\n", f"[{table}]\n{name} = {value}\n", 1)
    with tempfile.TemporaryDirectory() as folder:
        brief = Path(folder) / "brief.toml"
        brief.write_text(text, encoding="utf-8")
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, "-m", "optimizer.cli", "choose", str(brief), "--quiet"]
        subprocess.run(command, check=False, stdout=subprocess.DEVNULL)
        return _cpu(before)


def _watch(stop: threading.Event, memory: list[tuple[float, int]]) -> None:
    """Resident memory of this process's children now and then: seconds, MB."""
    begun, page = time.monotonic(), resource.getpagesize()
    while not stop.wait(5):
        total = 0
        for folder in Path("/proc").iterdir():
            try:
                if folder.name.isdigit() and f"PPid:\t{os.getpid()}\n" in (folder / "status").read_text():
                    total += int((folder / "statm").read_text().split()[1]) * page
            except OSError:
                continue
        memory.append((round(time.monotonic() - begun), total // 1_000_000))


if __name__ == "__main__":
    which, *numbers = sys.argv[1:] or ["frontier"]
    measured = batch(*map(int, numbers)) if which == "batch" else frontier(*map(float, numbers))
    print(json.dumps(measured))
