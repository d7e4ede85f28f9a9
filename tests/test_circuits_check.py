"""The plain check of a circuit: each rule broken by hand, and seen to be caught."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from wiring_cases import EXAMPLES, drawn_kit, example, need, shelf

from optimizer.check import check
from optimizer.circuits.check import circuit_faults
from optimizer.circuits.records import Circuit
from optimizer.circuits.sizing import wire
from optimizer.problem.records import Kit


def branch() -> Circuit:
    """A sound 20 A branch in 6 mm2 with a 30 A fuse."""
    return wire(shelf(), need()).circuits[0]


def array() -> Circuit:
    """Three strings of 10 A short-circuit current in 16 mm2 of 90 degC: 70 A is carried, 58.6 A asked for."""
    return replace(
        branch(), use="solar", level="none", current_a=37.5, system_v=60.0, fault_v=75.0, size="16 mm2",
        insulation_c=90.0, ampacity_a=70.0, fuse_a=0.0, strings=3, string_current_a=12.5, string_fuse_a=20.0,
    )  # fmt: skip


def mains() -> Circuit:
    """2 kW at 230 V over 2 m of 2.5 mm2 behind a breaker of 16 A and a residual-current device of 30 mA."""
    asked = need(
        use="mains", level="none", current_a=8.7, system_v=230.0, fault_v=230.0, guard_a=16.0, residual_ma=30.0
    )
    return wire(shelf(), asked).circuits[0]


def test_sound_circuits_pass() -> None:
    """What the faults below are changed from has none."""
    assert circuit_faults(branch()) == ()
    assert circuit_faults(mains()) == ()
    assert mains().size == "2.5 mm2"  # 1.5 mm2 carries 14.4 A at 40 degC, its breaker lets 16 A through
    assert circuit_faults(array()) == ()


BROKEN: list[tuple[str, Circuit, str]] = [
    ("too thin for the current", replace(branch(), size="1.5 mm2", length_m=0.1, current_a=26.0), "carries 25 A"),
    ("too thin for the way", replace(branch(), length_m=3.0), "it loses 0.4"),
    ("a size that is none", replace(branch(), size="7 mm2"), "no conductor of size 7 mm2"),
    ("an AWG that is none", replace(branch(), size="AWG 7"), "no conductor of size AWG 7"),
    ("fuse below the load", replace(branch(), fuse_a=20.0), "fuse of 20 A is below 25.0 A"),
    ("fuse above the conductor", replace(branch(), fuse_a=70.0), "fuse of 70 A is above the conductor's 60 A"),
    ("hot engine space", replace(branch(), fuse_a=60.0, engine_space=True), "above the conductor's 51.6 A"),
    ("fuse for too little voltage", replace(branch(), fault_v=60.0), "breaks 58 V, 60.0 V may stand across it"),
    ("fuse that cannot break", replace(branch(), interrupt_a=1500.0), "breaks 1500 A, 2000 A is the least"),
    ("box fuse that cannot break", replace(branch(), level="box", interrupt_a=500.0), "500 A, 1000 A is the least"),
    ("fuse too far away", replace(branch(), fuse_distance_mm=200.0), "200 mm from the source, at most 177.8 mm"),
    ("too far even sheathed", replace(branch(), fuse_distance_mm=1020.0, sheathed=True), "at most 1016 mm"),
    ("no fuse at all", replace(branch(), fuse_a=0.0), "fuse of 0 A is below"),
    (
        "solar cable without its second quarter",
        replace(array(), size="6 mm2", length_m=0.1, current_a=45.0), "56.2 A is asked",
    ),
    ("mains without residual-current protection", replace(mains(), residual_ma=0.0), "residual current of 30 mA"),
    ("mains cut off too late", replace(mains(), residual_ma=100.0), "residual current of 30 mA"),
    ("breaker above a mains cable", replace(mains(), size="1.5 mm2"), "fuse of 16 A is above the conductor's 14.3"),
    (
        "breaker above what a socket carries",
        replace(mains(), name="inverter to mains sockets", size="6 mm2", fuse_a=25.0), "above the 16 A that a socket",
    ),
    ("mains in a size that is none", replace(mains(), size="1 mm2"), "no conductor of size 1 mm2"),
    ("breaker below its load", replace(mains(), current_a=13.0), "fuse of 16 A is below 16.2 A"),
    ("links of a bank that lose too much", replace(branch(), level="none", fuse_a=0.0, length_m=3.0), "it loses 0.4"),
    ("strings without fuses", replace(array(), string_fuse_a=0.0), "3 strings meet without a fuse each"),
    ("string fuses too large", replace(array(), string_fuse_a=40.0), "string fuses of 40 A are above 31.2 A"),
    ("string fuses too small", replace(array(), string_fuse_a=15.0), "string fuses of 15 A are below 15.6 A"),
]  # fmt: skip


@pytest.mark.parametrize(("circuit", "words"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_each_rule_catches_its_fault(circuit: Circuit, words: str) -> None:
    """A circuit with one thing wrong is told apart, in words that name it."""
    faults = circuit_faults(circuit)
    assert any(words in fault for fault in faults), faults


def test_two_strings_need_no_fuse() -> None:
    """Two strings cannot feed more into a fault than a string's cable carries (NEC 690.9, from memory)."""
    assert circuit_faults(replace(array(), strings=2, string_fuse_a=0.0)) == ()


def test_sheathing_lets_the_fuse_sit_farther() -> None:
    """33 CFR 183.455: 7 inches, or 40 in a sheath."""
    far = replace(branch(), fuse_distance_mm=900.0)
    assert circuit_faults(far)
    assert circuit_faults(replace(far, sheathed=True)) == ()


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_every_circuit_on_offer_in_the_examples_passes(path: Path) -> None:
    """Whatever is chosen, each of its circuits passes the solver-free check; and hardly anything has none."""
    problem = example(path).problem
    options = [option for group in problem.groups for option in group.options]
    circuits = [circuit for option in options if not option.get("unwired") for circuit in option.circuits]
    assert len(circuits) > 300
    assert [fault for circuit in circuits for fault in circuit_faults(circuit)] == []
    assert sum(option.get("unwired") for option in options) < 0.1 * len(options)


def test_the_verdict_on_a_kit_tells_a_broken_circuit() -> None:
    """A kit whose circuit was spoilt is not sound."""
    problem = example(EXAMPLES[0]).problem
    kit = drawn_kit(problem, random.Random(5), fill=1.0)
    group = problem.group("controller_1")
    option = group.option(kit.choices["controller_1"])
    spoilt = replace(option, circuits=(replace(option.circuits[0], fuse_a=1.0),))
    groups = tuple(
        replace(g, options=tuple(spoilt if o is option else o for o in g.options)) if g is group else g
        for g in problem.groups
    )
    before = set(check(problem, kit).faults)
    after = set(check(replace(problem, groups=groups), Kit(kit.choices, kit.voltage, kit.nights)).faults)
    assert any("its fuse of 1 A" in fault for fault in after - before)
