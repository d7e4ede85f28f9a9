"""The wheel built, installed into a fresh environment outside the checkout, and run; also with the oldest libraries.

Run with ``python tests/installing.py [--lowest] [--tests PATTERN]``. Without words the wheel is installed
with whatever versions pip takes. ``--lowest`` installs every direct dependency, extras too, at the lowest version that
pyproject.toml allows: bounds that do not work are found here. ``--tests`` runs those tests of the checkout against the
installed wheel besides. Fetches from the package index that pip is set up for. Prints what was run and how it ended.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import venv
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[1]
EXAMPLE = "gulf_autumn"
EXTRAS = ("pictures", "tables", "book", "pdf", "cluster")
CLUSTER = """\
import subprocess, sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster:
        sys.exit(subprocess.call([*sys.argv[1:], "--cluster", cluster.scheduler_address]))
"""
"""A scheduler and a worker for as long as a command runs."""
TEST_TOOLS = ("pytest", "hypothesis", "highspy")


def lower_bounds(extras: Sequence[str]) -> list[str]:
    """Every direct dependency at the lowest version that pyproject.toml allows, as pip's constraints."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *(line for extra in extras for line in project["optional-dependencies"][extra])]
    found = {}
    for line in asked:
        match = re.match(r"([A-Za-z0-9_.-]+)(?:\[[^\]]*\])?>=([0-9.]+)", line)
        if match and match[1] != project["name"]:
            found[match[1]] = match[2]
    return [f"{name}=={version}" for name, version in sorted(found.items())]


def built(folder: Path) -> Path:
    """The wheel of the checkout."""
    _run([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)])
    return next(folder.glob("*.whl"))


def installed(wheel: Path, folder: Path, lowest: bool, tests: bool) -> Path:
    """A fresh environment with the wheel; its folder of programs."""
    venv.create(folder / "env", with_pip=True)
    programs = folder / "env" / ("Scripts" if os.name == "nt" else "bin")
    wanted = f"{wheel}[{','.join(EXTRAS)}]"
    command = [str(programs / "python"), "-m", "pip", "install", "--prefer-binary", wanted]
    if lowest:
        bounds = folder / "lowest.txt"
        bounds.write_text("\n".join(lower_bounds(EXTRAS)) + "\n")
        command += ["-c", str(bounds)]
    _run([*command, *(TEST_TOOLS if tests else ())])
    return programs


def tried(programs: Path, folder: Path) -> None:
    """The commands of the first hour, from a folder that knows nothing of the checkout."""
    away = folder / "away"
    away.mkdir()
    for path in (ROOT / "examples").iterdir():
        if path.suffix in (".toml", ".csv"):
            shutil.copy(path, away)
    (away / "variants.csv").write_text("trip.nights\n4\n5\n")
    tool = str(programs / "kitwright")
    for words in (
        ["--help"], ["new", "my-van"], ["check", f"{EXAMPLE}.toml"], ["parts", "battery"],
        ["weather", "station:723170"],
        ["choose", f"{EXAMPLE}.toml", "--save", "kit.json", "--quiet"], ["replay", f"{EXAMPLE}.toml", "kit.json"],
        ["buy", "kit.json", "--xlsx", "buy.xlsx"], ["book", "kit.json", "-o", "book", "--pdf"],
        ["batch", f"{EXAMPLE}.toml", "variants.csv", "-o", "results.xlsx", "--workers", "1"],
    ):  # fmt: skip
        said = _run([tool, *words], cwd=away)
        print(f"kitwright {' '.join(words)}: {len(said)} characters said", flush=True)
    (away / "cluster.py").write_text(CLUSTER)
    batch = [tool, "batch", f"{EXAMPLE}.toml", "variants.csv", "-o", "together.csv"]
    said = _run([str(programs / "python"), "cluster.py", *batch], cwd=away)
    print(f"the same batch over a cluster: {len(said)} characters said", flush=True)
    assert (away / "book" / "book.html").stat().st_size > 10_000


def _run(command: Sequence[str], cwd: Path | None = None) -> str:
    """What a command says; SystemExit with the end of it when it fails."""
    clean = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "PYTHONHOME")}
    done = subprocess.run(command, cwd=cwd, env=clean, capture_output=True, text=True, check=False)
    if done.returncode:
        said = (done.stdout + done.stderr)[-3000:]
        raise SystemExit(f"{' '.join(command)} ended with {done.returncode}:\n{said}")
    return done.stdout


def main(words: Sequence[str]) -> int:
    """Build, install, run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lowest", action="store_true")
    parser.add_argument("--tests", default="", help="tests to run besides, such as test_physics_*.py")
    asked = parser.parse_args(words)
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        programs = installed(built(folder), folder, asked.lowest, bool(asked.tests))
        print(_run([str(programs / "python"), "-m", "pip", "freeze"]))
        tried(programs, folder)
        if asked.tests:
            shutil.copytree(ROOT / "tests", folder / "tests")
            for name in ("examples", "catalogs"):
                shutil.copytree(ROOT / name, folder / name)
            shutil.copy(ROOT / "pyproject.toml", folder)
            chosen = sorted(str(path) for path in (folder / "tests").glob(asked.tests))
            print(_run([str(programs / "pytest"), "-q", "-p", "no:cacheprovider", *chosen], cwd=folder)[-2000:])
    print("installed and run outside the checkout")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
