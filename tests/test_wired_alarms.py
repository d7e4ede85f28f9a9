"""A wired alarm is never switched off: its draw, its circuit and its fuse-box way are the kit's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.check import check
from optimizer.choosing.effects import Effects
from optimizer.job import Job, open_job
from optimizer.kit_numbers import kit_numbers
from optimizer.problem.records import Kit
from optimizer.trips.layout import Layout

EXAMPLE = Path(__file__).parents[1] / "examples" / "fjord_winter.toml"
DRAW_W = 1.0
"""Of the catalog's wired carbon monoxide alarm; invented."""


@pytest.fixture(scope="module")
def job() -> Job:
    """An example whose author owns a wired alarm."""
    return open_job(EXAMPLE)


def kits(job: Job) -> tuple[Kit, Kit]:
    """Two kits that differ in the alarm alone: with its own battery, and wired."""
    problem = job.problem
    choices = {group.name: group.options[0].key for group in problem.groups if group.needed}
    kit = Kit(choices, problem.voltages[0], problem.nights[0])
    return tuple(
        replace(kit, choices={**choices, "safety co_alarm": key}) for key in ("safe-co-battery", "safe-co-wired")
    )  # type: ignore[return-value]


def test_a_wired_alarm_draws_in_every_hour_of_a_trip(job: Job) -> None:
    """Both tellings of a kit to the trips, for replays and for the search, count its watts."""
    plain, wired = (kit_numbers(job.problem, kit) for kit in kits(job))
    assert wired.idle_w - plain.idle_w == DRAW_W
    effects, layout = Effects(job.problem, job.scene), Layout(job.scene)
    rows = [effects.kit_row(kit)[layout.index("idle_w")] for kit in kits(job)]
    assert rows[1] - rows[0] == DRAW_W


def test_a_wired_alarm_empties_the_bank_on_sunless_days(job: Job) -> None:
    """A day of it is taken from the bank that must last the sunless days."""
    plain, wired = (
        next(limit for limit in check(job.problem, kit).limits if limit.slug == "sunless_energy") for kit in kits(job)
    )
    days = job.problem.need("sunless_millidays") / 1000
    assert wired.used - plain.used == pytest.approx(24 * DRAW_W * days, abs=1)


def test_a_wired_alarm_has_a_circuit_and_a_way_in_the_fuse_box(job: Job) -> None:
    """It is bought with its cable and fuse, and takes up one of the ways."""
    plain, wired = (job.problem.group("safety co_alarm").option(kit.choices["safety co_alarm"]) for kit in kits(job))
    assert not plain.circuits
    (circuit,) = wired.circuits
    assert circuit.name == "fuse box to co alarm"
    assert circuit.level == "box"
    assert circuit.fuse_a > 0
    assert wired.get("dc_ways") == 1
