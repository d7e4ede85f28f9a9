"""Order of work, commissioning and cautions: what the kit has decides, and nothing comes before what it needs."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.cautions import DEFER, cautions
from optimizer.job import Job
from optimizer.packing.bays import Stowed
from optimizer.problem.records import Kit
from optimizer.problem.space import Placement
from optimizer.work_order import Has, Step, commissioning, in_order, work_order


def kits(job: Job, count: int = 30) -> list[Kit]:
    """Kits drawn by chance, their banks spread over all that are on offer."""
    rng = random.Random(2)
    banks = job.problem.group("battery").options
    drawn = [drawn_kit(job.problem, rng, rng.random()) for _ in range(count)]
    turn = [banks[number * len(banks) // count] for number in range(count)]
    pairs = zip(drawn, turn, strict=True)
    return [Kit({**kit.choices, "battery": bank.key}, bank.voltage, kit.nights) for kit, bank in pairs]


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_each_step_after_what_it_needs(path: Path) -> None:
    """Openings before panels, conduit before walls, the bank last, in every kit drawn by chance."""
    job = example(path)
    for kit in kits(job):
        steps = work_order(job.problem, kit, job.catalog)
        slugs = [step.slug for step in steps]
        assert slugs[-1] == "bank"
        for number, step in enumerate(steps):
            assert not set(step.after) & set(slugs[number:])
        pairs = (("openings", "panels"), ("conduit", "walls"), ("conduit", "insulation"), ("boards", "cables"))
        for first, second in pairs:
            if {first, second} <= set(slugs):
                assert slugs.index(first) < slugs.index(second)


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_order_rests_on_what_each_step_needs(path: Path) -> None:
    """Steps written down back to front still come out in a right order: their needs say it, not the table."""
    job = example(path)
    pairs = (
        ("openings", "panels"), ("openings", "roof fan"), ("conduit", "insulation"), ("insulation", "walls"),
        ("conduit", "walls"), ("walls", "boards"), ("boards", "cables"), ("boards", "mains"), ("cables", "appliances"),
        ("conduit", "fuel"), ("conduit", "gas"), ("cables", "cells"),
    )  # fmt: skip
    met = set()
    for kit in kits(job):
        slugs = [step.slug for step in in_order(tuple(reversed(work_order(job.problem, kit, job.catalog))))]
        assert slugs[-1] == "bank"
        for first, second in pairs:
            if {first, second} <= set(slugs):
                assert slugs.index(first) < slugs.index(second)
                met.add(first)
    assert {"openings", "conduit", "insulation", "walls", "boards", "cables"} <= met


def test_steps_that_wait_for_each_other_are_refused() -> None:
    """A ring is a fault of the table, and said; a step that waits for one not there does not wait."""
    with pytest.raises(ValueError, match="a, b"):
        in_order((Step("a", "", ("b",)), Step("b", "", ("a",))))
    assert [s.slug for s in in_order((Step("a", "", ("b", "z")), Step("b", "")))] == ["b", "a"]


def _idles(has: Has) -> bool:
    """Whether a heater for liquid fuel gives twice what the coldest night takes."""
    heater, lining = (has.kit.chosen(has.problem, kind) for kind in ("heater", "insulation"))
    if heater is None or lining is None or heater.traits["fuel"] in ("", "propane"):
        return False
    return heater.get("heat_w") >= 2 * lining.get("night_w")


WANTED: list[tuple[str, str, Callable[[Has], bool]]] = [
    ("caution", "Lithium bank", lambda has: has.lithium),
    ("caution", "Gas from lead batteries", lambda has: has.vented_bank),
    ("caution", "Loose cells", lambda has: has.loose_cells),
    ("caution", "Gas", lambda has: has.gas),
    ("caution", "Mains voltage", lambda has: has.mains),
    ("caution", "Inverter and residual current", lambda has: "inverter" in has.kit.choices),
    ("caution", "Drinking water", lambda has: any(name.startswith("water ") for name in has.kit.choices)),
    ("caution", "Fuel heater", lambda has: has.fuel_heater),
    ("caution", "Alternator", lambda has: "alternator_charger" in has.kit.choices),
    ("caution", "Batteries joined", lambda has: not has.loose_cells and has.kit.choices["battery"][-4:] != "1s1p"),
    ("caution", "Sealed lead batteries", lambda has: has.kit.choices["battery"].startswith(("bat-agm", "bat-gel"))),
    ("caution", "Heater far larger than its work", lambda has: _idles(has)),
    ("step", "panels", lambda has: has.kind("solar_panel")),
    ("step", "roof fan", lambda has: has.kind("roof_fan")),
    ("step", "gas", lambda has: has.gas),
    ("step", "cells", lambda has: has.loose_cells),
    ("check", "150 mbar", lambda has: has.gas),
    ("check", "carbon-monoxide alarm stays silent", lambda has: has.fuel_heater),
    ("check", "residual-current device", lambda has: has.role("mains_board", "hookup_lead")),
    ("check", "at their isolator", lambda has: has.kind("solar_panel")),
    ("step", "alternator", lambda has: has.kind("alternator_charger")),
    ("check", "Set every charger", lambda has: has.kind("charge_controller", "alternator_charger", "mains_charger")),
    ("step", "mains", lambda has: has.role("mains_board")),
    ("step", "plug-in mains", lambda has: has.mains and not has.role("mains_board")),
]


@pytest.mark.parametrize(("where", "word", "wanted"), WANTED, ids=[f"{w} {n}" for w, n, _ in WANTED])
def test_what_is_there_is_told_and_nothing_else(where: str, word: str, wanted: Callable[[Has], bool]) -> None:
    """Each caution, step and check stands where the kit asks for it, and only there."""
    seen = set()
    for job in map(example, EXAMPLES):
        for kit in kits(job):
            has = Has(job.problem, kit, job.catalog)
            told = {
                "caution": [c.subject for c in cautions(job.problem, kit, job.catalog)],
                "step": [s.slug for s in work_order(job.problem, kit, job.catalog)],
                "check": [text for text in commissioning(job.problem, kit, job.catalog) if word in text],
            }[where]
            assert bool(told if where == "check" else word in told) == wanted(has)
            seen.add(wanted(has))
    assert True in seen


def test_alarms_are_tested_before_their_silence_counts() -> None:
    """What burns is tried out with an alarm that is known to work."""
    seen = 0
    for job in map(example, EXAMPLES):
        for kit in kits(job, 5):
            checks = commissioning(job.problem, kit, job.catalog)
            alarms = next((n for n, text in enumerate(checks) if "test buttons of all alarms" in text), None)
            heater = next((n for n, text in enumerate(checks) if "alarm stays silent" in text), None)
            if alarms is not None and heater is not None:
                assert alarms < heater
                seen += 1
    assert seen


@pytest.mark.parametrize(("homes", "told"), [("aab", True), ("aba", False), ("abb", False)])
def test_water_beside_electrics_is_told_by_where_things_stand(homes: str, told: bool) -> None:
    """Bays of bank, can and heater: a can beside the bank is told of, one alone or beside the heater is not, nor is
    anything where no places are known."""
    job = example(next(path for path in EXAMPLES if path.stem == "high_plains_spring"))
    choices = {
        "battery": "bat-lfp-200-lean 1s1p", "water water-can-20": "water-can-20 x01", "heater": "heat-diesel-2-lean",
        "insulation": "ins-xps-20",
    }  # fmt: skip
    named = [f"{group}/{key.split()[0]}/1" for group, key in choices.items()]
    stowed = tuple(Stowed(name, bay, 0, 0, 1, 1, 1) for name, bay in zip(named, homes, strict=False))
    kit = Kit(choices, 12, 10, Placement((), stowed))
    for placed, expected in ((kit, told), (replace(kit, places=None), False)):
        found = {one.subject for one in cautions(job.problem, placed, job.catalog)}
        assert ("Water beside electrics" in found) == expected


@pytest.mark.parametrize(
    ("choices", "homes", "told"),
    [
        ({"water water-can-20": "water-can-20 x01", "tank petrol": "tank-petrol-5"}, "aa", True),
        ({"water water-can-20": "water-can-20 x01", "tank petrol": "tank-petrol-5"}, "ab", False),
        ({"water water-can-20": "water-can-20 x01", "grey grey-can-20": "grey-can-20 x01"}, "aa", True),
        ({"water water-can-20": "water-can-20 x01", "battery": "bat-lfp-200-lean 1s1p"}, "aa", False),
        ({"tank petrol": "tank-petrol-5", "grey grey-can-20": "grey-can-20 x01"}, "aa", False),
    ],
)
def test_drinking_water_beside_what_is_foul_is_told(choices: dict[str, str], homes: str, told: bool) -> None:
    """Fuel and waste in the bay of drinking water are; in another, or without any, nothing is."""
    job = example(next(path for path in EXAMPLES if path.stem == "high_plains_spring"))
    known = {group.name: [option.key for option in group.options] for group in job.problem.groups}
    choices = {
        group: next(key for key in known[group] if key.startswith(wanted)) if group == "tank petrol" else wanted
        for group, wanted in choices.items()
    }
    named = [f"{group}/{key.split()[0]}/1" for group, key in choices.items()]
    stowed = tuple(Stowed(name, bay, 0, 0, 1, 1, 1) for name, bay in zip(named, homes, strict=True))
    kit = Kit(choices, 12, 10, Placement((), stowed))
    for placed, expected in ((kit, told), (replace(kit, places=None), False)):
        found = {one.subject for one in cautions(job.problem, placed, job.catalog)}
        assert ("Drinking water beside fuel or waste" in found) == expected


@pytest.mark.parametrize(("tags", "coldest", "told"), [
    (("inside", "drained"), -5_000, False), (("warm",), -5_000, False), (("outside", "drained"), -5_000, True),
    (("outside", "drained"), 0, False), (("outside", "drained"), -1, True), (("drained",), -5_000, True),
])  # fmt: skip
def test_water_that_may_freeze_is_told(tags: tuple[str, ...], coldest: int, told: bool) -> None:
    """In a bay neither inside nor warm, in a season below freezing."""
    job = example(next(path for path in EXAMPLES if path.stem == "high_plains_spring"))
    assert job.problem.space is not None
    first, *rest = job.problem.space.bays
    bays = (replace(first, bay=replace(first.bay, tags=tags)), *rest)
    space = replace(job.problem.space, bays=bays)
    problem = replace(job.problem, space=space, needs={**job.problem.needs, "coldest_unused": coldest})
    for group, key in (("water water-can-20", "water-can-20 x01"), ("grey grey-can-20", "grey-can-20 x01")):
        stowed = (Stowed(f"{group}/{key.split()[0]}/1", first.bay.name, 0, 0, 1, 1, 1),)
        kit = Kit({group: key}, 12, 10, Placement((), stowed))
        found = {one.subject for one in cautions(problem, kit, job.catalog)}
        assert ("Water in frost" in found) == told
    other = replace(problem, space=replace(space, bays=tuple(bays[1:])))
    kit = Kit({"water water-can-20": "water-can-20 x01"}, 12, 10, Placement((), stowed))
    assert "Water in frost" not in {one.subject for one in cautions(other, kit, job.catalog)}


def test_always_there() -> None:
    """Wiring, weight and the word about local codes and licensed people are never left out."""
    job = example(EXAMPLES[0])
    for kit in kits(job, 5):
        assert {"Low-voltage wiring", "Weight"} <= {c.subject for c in cautions(job.problem, kit, job.catalog)}
    assert "local codes" in DEFER
    assert "licensed" in DEFER


def test_standards_are_those_of_the_reference_list() -> None:
    """Only standards whose titles or subjects are on the published list are named, and EN 721, from memory."""
    known = (
        "EN 1648-2", "IEC 60364-7-721", "NFPA 70, article 551", "ISO 13297", "ISO 23625", "ABYC E-13", "EN 50291-2",
        "EN 50194-2", "UN Regulation No. 122", "EN 1949", "NFPA 1192", "EN 721",
    )  # fmt: skip
    job = example(EXAMPLES[0])
    named = {s for kit in kits(job) for c in cautions(job.problem, kit, job.catalog) for s in c.standards}
    assert any(standard.startswith("EN 721") for standard in named)
    assert all(standard.startswith(known) for standard in named)
