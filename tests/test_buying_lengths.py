"""Runs of the brief against the places of a kit: the way along the van's three directions, by hand."""

from __future__ import annotations

import random
from dataclasses import replace

from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.brief.vehicle import Runs
from optimizer.buying.lengths import short_runs
from optimizer.packing.bays import Bay, Stowed
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import NOWHERE, At, BayPlace, Placement

FRONT = BayPlace(Bay("front", 1000, 500, 800, 100_000, ("inside",)), At(1000, 1000, -400, -400), 500)
REAR = BayPlace(Bay("rear", 1000, 500, 800, 100_000, ("inside",)), At(3000, 3000, 400, 400), 500)


def placed(*stowed: Stowed) -> tuple[Problem, Kit]:
    """A kit of the first example with these boxes in two bays, all else nowhere."""
    problem = example(EXAMPLES[0]).problem
    assert problem.space is not None
    kit = drawn_kit(problem, random.Random(4), fill=1.0)
    space = replace(problem.space, bays=(FRONT, REAR))
    return replace(problem, space=space), Kit(kit.choices, kit.voltage, kit.nights, Placement((), stowed))


def box(group: str, bay: str, x: int = 0, y: int = 0) -> Stowed:
    return Stowed(f"{group}/it/1", bay, x, y, 200, 100, 300)


def test_way_between_two_bays_by_hand() -> None:
    """Bank in the front bay's corner, inverter 300 mm and 200 mm into the rear one: 2.3 m aft, 1.0 m across."""
    problem, kit = placed(box("battery", "front"), box("inverter", "rear", 300, 200))
    (short,) = short_runs(problem, kit, Runs(bank_to_inverter=3.2))
    assert round(short.placed_m, 6) == 2.0 + 0.3 + 0.8 + 0.2
    assert short.circuit == "busbars to inverter"
    assert short.sentence() == (
        "busbars to inverter: its ends stand 3.3 m apart, vehicle.runs.bank_to_inverter says 3.2 m."
        " Set it to 3.3 or more and choose again."
    )
    assert short_runs(problem, kit, Runs(bank_to_inverter=3.31)) == ()


def test_appliances_are_reached_from_the_fuse_box() -> None:
    """A cold box 2.8 m from the fuse box is too far for a run of 2 m; the bank does not matter to it."""
    problem, kit = placed(box("safety fuse_box", "front"), box("cold_box_1", "rear"))
    runs = short_runs(problem, kit, Runs(fuse_box_to_appliance=2.0))
    told = [run.key for run in runs]
    wired = any(c.level == "box" for c in kit.chosen(problem, "cold_box_1").circuits)  # type: ignore[union-attr]
    assert wired
    assert told == ["fuse_box_to_appliance"]


def test_nothing_is_said_without_places() -> None:
    """A kit that was not placed, or a bay whose position nobody knows, says nothing."""
    problem, kit = placed(box("battery", "front"), box("inverter", "rear"))
    assert short_runs(problem, Kit(kit.choices, kit.voltage, kit.nights), Runs()) == ()
    assert problem.space is not None
    lost = replace(problem.space, bays=(FRONT, replace(REAR, at=NOWHERE)))
    assert short_runs(replace(problem, space=lost), kit, Runs()) == ()
