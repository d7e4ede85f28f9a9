"""What the tests of circuits and buy lists share: the examples opened once, kits drawn by chance, needs, a shelf."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

from optimizer.circuits.shelf import Shelf, Sizes
from optimizer.circuits.sizing import Need
from optimizer.job import Job, open_job
from optimizer.parts.catalog import Catalog
from optimizer.parts.reading import read_catalog
from optimizer.problem.records import Kit, Problem

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))


@cache
def generic() -> Catalog:
    """The catalog that comes along."""
    return read_catalog(["generic"])


@cache
def shelf(sizes: Sizes = "metric") -> Shelf:
    """Its cables, fuses and fittings."""
    return Shelf(generic(), sizes)


@cache
def example(path: Path) -> Job:
    """An example with its catalog and weather."""
    return open_job(path)


def drawn_kit(problem: Problem, rng: random.Random, fill: float = 0.7) -> Kit:
    """Something from every group that must have something, and from most others; no rule is minded but voltage."""
    voltage = rng.choice(problem.voltages)
    choices = {}
    for group in problem.groups:
        fitting = [o.key for o in group.options if o.voltage in (0, voltage)]
        if fitting and (group.needed or rng.random() < fill):
            choices[group.name] = rng.choice(fitting)
    return Kit(choices, voltage, rng.choice(problem.nights))


def need(**changes: object) -> Need:
    """A 20 A branch of 2 m at 12 V, changed as asked."""
    plain: dict[str, object] = {
        "name": "a branch", "level": "branch", "current_a": 20.0, "system_v": 12.0, "fault_v": 14.4, "length_m": 2.0,
        "drop_limit": 0.03, "fuse_distance_mm": 150.0,
    }  # fmt: skip
    return Need(**{**plain, **changes})  # type: ignore[arg-type]
