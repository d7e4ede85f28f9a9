"""What each command costs, and how the cost of choosing grows: processor time, wall time and peak memory.

Run with ``PYTHONPATH=.:tests:tests/benchmarks python tests/benchmarks/growth.py [--only WORDS] [--times 1 10]
[--out growth.json] [--from growth.json] [--picture growth.svg] [--seconds 600]`` from the top of the repository. Each
case is a process of its own from start to finish, of the largest example. Prints a table; JSON goes to ``--out``.
``--from growth.json`` takes the figures of an earlier run, less those that ``--only`` measures anew. Catalogs of many
times the size (``--times``) are made in memory, so reading them is no part.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "high_plains_spring.toml"
VARIANTS = "trip.nights,limits.budget\n" + "".join(f"{n},{b}\n" for n in (6, 8) for b in (5000, 8500))
BATCH = 4
OWN_ROWS = 6


@dataclass(frozen=True)
class Case:
    """One process: its family, its place in it, and either a command or what to change before choosing."""

    family: str
    size: float
    command: tuple[str, ...] = ()
    changes: tuple[tuple[str, Any], ...] = ()
    times: int = 1
    """How many times as long the catalog is."""

    @property
    def name(self) -> str:
        """As the table has it."""
        return f"{self.family} {self.size:g}" if self.size else self.family


@dataclass(frozen=True)
class Measured:
    """What a case took."""

    family: str
    size: float
    cpu_s: float
    wall_s: float
    peak_mb: float
    ended: str
    """``proven``, ``impossible``, ``unproven``, ``done``, or how it failed."""


SEASONS = {50: ("04-01", "05-20"), 100: ("04-01", "07-09"), 214: ("04-01", "10-31"), 365: ("01-01", "12-31")}
"""Departures, and the season that has so many (each day of it is one)."""

COMMANDS = {
    "--help": ("--help",),
    "choose, nothing kept": ("choose", "{brief}", "--quiet"),
    "choose --learn, first": ("choose", "{brief}", "--quiet", "--learn", "--save", "{home}/kit.json"),
    "choose --learn, again": ("choose", "{brief}", "--quiet", "--learn"),
    "replay": ("replay", "{brief}", "{home}/kit.json"),
    "buy": ("buy", "{home}/kit.json"),
    "book": ("book", "{home}/kit.json", "-o", "{home}/book"),
    "why": ("why", "{home}/kit.json", "--quiet"),
    "frontier price,mass": ("frontier", "{brief}", "--quiet"),
    f"batch of {BATCH}": (
        "batch", "{brief}", "{home}/variants.csv", "-o", "{home}/out.csv", "--workers", "1", "--quiet",
    ),
}  # fmt: skip


STORES = {"water_per_person_day": 24, "toilet_visits_per_person_day": 40, "food_per_person_day": 15}
"""What a person uses up in all, however many the nights: else the van could not carry what sixty ask for."""
ROOMY = (
    ("trip.season_from", "05-01"), ("trip.season_to", "07-31"), ("limits.budget", 30_000),
    ("vehicle.gross_mass", 3500), ("vehicle.front_axle_rating", 2000), ("vehicle.rear_axle_rating", 2200),
)  # fmt: skip
"""A summer, and a van that carries more: with these there is a kit for sixty nights."""


def cases(catalogs: Sequence[int]) -> Iterator[Case]:
    """Commands first, then what grows."""
    for name, command in COMMANDS.items():
        yield Case(name, 0, command)
    for times in catalogs:
        yield Case("catalog, times", times, times=times)
    for nights in (5, 10, 20, 40, 60):
        stores = tuple((f"supplies.{key}", total / nights) for key, total in STORES.items())
        yield Case("nights", nights, changes=(("trip.nights", nights), *stores, *ROOMY))
    for departures, (first, last) in SEASONS.items():
        yield Case("departures", departures, changes=(("trip.season_from", first), ("trip.season_to", last)))
    for panels in (1, 2, 4, 8):
        yield Case("panels at most", panels, changes=(("limits.panels", panels),))
    for kinds in (0, 5, 20):
        yield Case("own kinds", kinds, changes=(("own kinds", kinds),))


def solve(changes: Sequence[tuple[str, Any]], times: int, seconds: float) -> str:
    """Choose with keys of the brief changed and the catalog made longer, in this process; the status."""
    from larger_catalogs import larger

    from optimizer.batch.paths import changed, path_of
    from optimizer.brief.reading import brief_data, brief_from_dict
    from optimizer.choosing.solve import Settings
    from optimizer.job import Job, choose_kit, job_of

    data = brief_data(EXAMPLE)
    with tempfile.TemporaryDirectory() as folder:
        for key, value in changes:
            own = key == "own kinds"
            data = _with_kinds(data, value, Path(folder)) if own else changed(data, {path_of(key): value})
        job = job_of(brief_from_dict(data), base=Path(folder))
    if times > 1:
        job = Job(job.brief, larger(job.catalog, times), job.years, job.file, job.base)
    return choose_kit(job, Settings(seconds=seconds)).outcome.status


def _with_kinds(data: dict[str, Any], many: int, folder: Path) -> dict[str, Any]:
    """Kinds of the author's own, each with a few things of which one is wanted; all invented."""
    for kind in range(many):
        rows = [f"k{kind}-{n},Thing {n},{40 + 7 * n + kind},{2.5 - 0.2 * n}" for n in range(OWN_ROWS)]
        (folder / f"kind{kind}.csv").write_text("id,name,price_usd,mass_kg\n" + "\n".join(rows) + "\n")
    kinds = [{"name": f"thing{k}", "file": f"kind{k}.csv", "choose": "exactly_one"} for k in range(many)]
    preferences = {**data.get("preferences", {}), "own_kinds": kinds}
    return {**data, "preferences": preferences}


def measured(case: Case, home: Path, seconds: float) -> Measured:
    """Run a case in a process of its own. Its children count; so does a stop after ``seconds``."""
    places = {"brief": str(EXAMPLE), "home": str(home)}
    if case.command:
        words = [word.format(**places) for word in case.command]
        command = [sys.executable, "-c", "from optimizer.cli import main; main()", *words]
    else:
        asked = json.dumps([case.changes, case.times, seconds])
        command = [sys.executable, __file__, "--child", asked]
    with (home / "said").open("w+") as said:
        begun = time.monotonic()
        environment = _environment(case, home)
        process = subprocess.Popen(command, stdout=said, stderr=subprocess.STDOUT, cwd=ROOT, env=environment)
        while True:
            done, status, used = os.wait4(process.pid, os.WNOHANG)
            if done:
                break
            if time.monotonic() - begun > seconds + 60:
                process.kill()
            time.sleep(0.02)
        took = time.monotonic() - begun
        said.seek(0)
        words_said = said.read()
    return Measured(
        case.family, case.size, round(used.ru_utime + used.ru_stime, 2), round(took, 2),
        round(used.ru_maxrss / 1024), _ended(case, os.waitstatus_to_exitcode(status), words_said),
    )  # fmt: skip


def _environment(case: Case, home: Path) -> dict[str, str]:
    cache = home / "cache"
    if case.family == "choose, nothing kept":
        shutil.rmtree(cache, ignore_errors=True)
    return {**os.environ, "KITWRIGHT_CACHE": str(cache), "PYTHONPATH": os.pathsep.join(map(str, _path()))}


def _path() -> list[Path]:
    return [ROOT, ROOT / "tests", ROOT / "tests" / "benchmarks"]


def _ended(case: Case, code: int, said: str) -> str:
    if not case.command and code == 0:
        return said.strip().rpartition("\n")[2]
    known = {0: "done", 1: "impossible", 3: "unproven", -9: "stopped"}
    return known.get(code, f"failed ({code}): {said[-200:]}")


def table(found: Sequence[Measured]) -> str:
    """A line a case."""
    lines = [f"{'case':<28}{'CPU [s]':>10}{'wall [s]':>10}{'peak [MB]':>11}  ended"]
    for m in found:
        name = f"{m.family} {m.size:g}" if m.size or m.family == "own kinds" else m.family
        lines.append(f"{name:<28}{m.cpu_s:>10.2f}{m.wall_s:>10.2f}{m.peak_mb:>11.0f}  {m.ended}")
    return "\n".join(lines)


def draw(found: Sequence[Measured], path: Path) -> None:
    """Processor time and peak memory over size, two small charts a family; what was not proven is hollow."""
    from optimizer.frames import write_picture

    families = [f for f in dict.fromkeys(m.family for m in found) if sum(m.family == f for m in found) > 1]

    def on(figure: Any) -> None:
        charts = figure.subplots(2, len(families), squeeze=False, sharex="col")
        for column, family in enumerate(families):
            some = [m for m in found if m.family == family]
            for row, values in enumerate(([m.cpu_s for m in some], [m.peak_mb for m in some])):
                chart, colour = charts[row][column], ("#0072B2", "#D55E00")[row]
                chart.plot([m.size for m in some], values, color=colour, linewidth=1)
                for m, value in zip(some, values, strict=True):
                    proven = m.ended in ("proven", "impossible")
                    chart.plot([m.size], [value], "o", color=colour, markerfacecolor=colour if proven else "white")
                chart.set_ylim(0, 1.15 * max(values))
                if family.startswith("catalog"):
                    chart.set_xscale("log")
            charts[1][column].set_xlabel(family)
        charts[0][0].set_ylabel("processor time\nof a cold choose [s]")
        charts[1][0].set_ylabel("peak memory [MB]")

    write_picture(path, on, (2.3 * len(families), 4.4))


def main(words: Sequence[str]) -> int:
    """Measure, print, keep, draw."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", help="cases whose name holds these words")
    parser.add_argument("--times", type=int, nargs="+", default=[1, 10, 100], help="lengths of catalogs")
    parser.add_argument("--seconds", type=float, default=600.0, help="a case is stopped after so long")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--picture", type=Path)
    parser.add_argument("--from", dest="kept", type=Path, help="figures of an earlier run")
    parser.add_argument("--child", help=argparse.SUPPRESS)
    asked = parser.parse_args(words)
    if asked.child:
        print(solve(*json.loads(asked.child)))
        return 0
    kept = [Measured(**row) for row in json.loads(asked.kept.read_text())] if asked.kept else []
    anew = asked.only is not None or not kept
    found = together(kept, list(_all(asked.only or "", asked.times, asked.seconds)) if anew else [])
    print(table(found))
    if asked.out is not None:
        asked.out.write_text(json.dumps([asdict(m) for m in found], indent=1) + "\n")
    if asked.picture is not None:
        draw(found, asked.picture)
    return 0


def together(kept: Sequence[Measured], found: Sequence[Measured]) -> list[Measured]:
    """Earlier figures with newer ones in their place, in the order of the cases."""
    by_case = {(m.family, m.size): m for m in (*kept, *found)}
    families = list(dict.fromkeys(case.family for case in cases([1])))
    return sorted(by_case.values(), key=lambda m: (families.index(m.family), m.size))


def _all(only: str, catalogs: Sequence[int], seconds: float) -> Iterator[Measured]:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "variants.csv").write_text(VARIANTS)
        # not counted: the trips' code is compiled once after an installation, and kept
        measured(Case("", 0, COMMANDS["choose, nothing kept"]), home, seconds)
        for case in cases(catalogs):
            needs_kit = "{home}/kit.json" in case.command and not (home / "kit.json").exists()
            if needs_kit and case.family != "choose --learn, first" and only in case.name:
                measured(Case("", 0, COMMANDS["choose --learn, first"]), home, seconds)
            if only in case.name:
                found = measured(case, home, seconds)
                print(table([found]).splitlines()[1], file=sys.stderr, flush=True)
                yield found


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
