"""Circuits worked out from a catalog: against hand calculation, against the plain check, and by what must hold."""

from __future__ import annotations

from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wiring_cases import generic, need, shelf

from optimizer.circuits.check import circuit_faults
from optimizer.circuits.shelf import Shelf, area_of
from optimizer.circuits.sizing import metres, wire
from optimizer.circuits.volts import absorption_v, low_v
from optimizer.parts.records import Cable
from optimizer.physics.wire import METRIC_AREAS_MM2, awg_area_mm2


def cents(wired: object) -> int:
    return sum(round(part.price_usd * 100) * count for part, count in wired.parts)  # type: ignore[attr-defined]


def test_a_branch_worked_out_by_hand() -> None:
    """20 A over 2 m at 12 V with 3 %: 6 mm2 loses 0.29 V of the 0.36 V allowed, 4 mm2 would lose 0.43 V.

    IEC 60228 class 5: 4.95 and 3.30 ohm/km at 20 degC; 105 degC insulation, AWG 12 and 10 carry 45 and 60 A
    (33 CFR 183.425 Table 5), so the conductors run at 30 + 75 (20/45)^2 = 44.8 and 38.3 degC.
    """
    thin = 2 * 2 * 20 * 4.95e-3 * (234.5 + 44.81) / 254.5
    right = 2 * 2 * 20 * 3.30e-3 * (234.5 + 38.33) / 254.5
    assert thin > 0.36 > right
    wired = wire(shelf(), need())
    assert wired.complete
    (circuit,) = wired.circuits
    assert circuit.size == "6 mm2"
    assert circuit.drop_v == pytest.approx(right, rel=1e-3)
    assert circuit.ampacity_a == 60
    # A quarter above 20 A is 25 A; bolted fuses start at 30 A, and 30 A is below the 60 A of the conductor.
    assert circuit.fuse_a == 30
    counts = {part.id: count for part, count in wired.parts}
    # Two cores of 2 m with a tenth for bends: 4.4 m, five whole metres; a lug at both ends of both, and one on each
    # side of the fuse in the plus.
    assert counts == {"cable-dc-6": 5, "fuse-bolt-30": 1, "holder-bolt-200": 1, "lug-6": 6}


def test_awg_and_metric_each_from_their_own_rows() -> None:
    """A US brief gets AWG cable for the same circuit."""
    (circuit,) = wire(shelf("awg"), need()).circuits
    assert circuit.size == "AWG 10"
    assert area_of("AWG 1/0", "awg") == awg_area_mm2(0)
    assert area_of("AWG 4/0", "awg") == awg_area_mm2(-3)
    assert area_of("16 mm2", "awg") is None
    assert area_of("AWG 6", "metric") is None
    assert area_of("AWG x", "awg") is None


@pytest.mark.parametrize("sizes", ["metric", "awg"])
def test_every_cable_row_is_a_known_size(sizes: Literal["metric", "awg"]) -> None:
    """No cable of the generic catalog is left on the shelf for its size."""
    cables = [part for part in generic().parts["cable"] if isinstance(part, Cable)]
    uses = ("dc", "solar", "mains")
    found = {cable.id for s in ("metric", "awg") for use in uses for _, cable in shelf(s).cables(use)}
    assert found == {cable.id for cable in cables}
    assert all(area in METRIC_AREAS_MM2 for area, _ in shelf("metric").cables("dc"))
    areas = [area for area, _ in shelf(sizes).cables("dc")]
    assert areas == sorted(areas)


NEEDS = st.builds(
    need,
    current_a=st.floats(0.05, 330), length_m=st.floats(0.05, 25), system_v=st.sampled_from([12.0, 24.0, 48.0]),
    fault_v=st.sampled_from([14.4, 28.8, 57.6]), drop_limit=st.sampled_from([0.03, 0.10]),
    level=st.sampled_from(["branch", "box"]), engine_space=st.booleans(),
)  # fmt: skip


@settings(deadline=None, max_examples=150)
@given(NEEDS, st.sampled_from(["metric", "awg"]))
def test_whatever_is_worked_out_passes_the_plain_check(asked: object, sizes: Literal["metric", "awg"]) -> None:
    """No circuit comes back that the solver-free check would not let pass."""
    for circuit in wire(shelf(sizes), asked).circuits:  # type: ignore[arg-type]
        assert circuit_faults(circuit) == ()


@settings(deadline=None, max_examples=60)
@given(st.floats(1, 150), st.floats(0.2, 6), st.floats(1, 2))
def test_longer_or_stronger_never_costs_less(current: float, length: float, more: float) -> None:
    """A thirstier or farther load pays for its copper."""
    base = wire(shelf(), need(current_a=current, length_m=length))
    for harder in (need(current_a=current, length_m=length * more), need(current_a=current * more, length_m=length)):
        wired = wire(shelf(), harder)
        if wired.complete:
            assert base.complete
            assert area_of(wired.circuits[0].size, "metric") >= area_of(base.circuits[0].size, "metric")  # type: ignore[operator]
            assert cents(wired) >= cents(base)


def test_too_much_for_any_cable_is_said() -> None:
    """No conductor, no circuit: the bundle says that it is incomplete."""
    assert not wire(shelf(), need(current_a=500.0)).complete
    assert not wire(shelf(), need(length_m=300.0)).complete


def test_a_missing_fuse_or_lug_makes_the_next_cable_or_none() -> None:
    """What the brief refuses is not used: a thicker cable, another fuse, or no circuit."""
    without = Shelf(generic(), "metric", frozenset({"cable-dc-6", "fuse-bolt-30"}))
    (circuit,) = wire(without, need()).circuits
    assert (circuit.size, circuit.fuse_a) == ("10 mm2", 40)
    no_lugs = frozenset(part.id for part in generic().parts["fitting"] if part.id.startswith("lug"))
    assert not wire(Shelf(generic(), "metric", no_lugs), need()).complete


def test_whole_metres() -> None:
    """A tenth more than the run, for each core, to the whole metre above, and one at least."""
    assert [metres(m, 2) for m in (0.1, 1.0, 5.0)] == [1, 3, 11]
    assert metres(10 / 1.1, 1) == 10


def test_voltages_by_class() -> None:
    """Charging and nearly empty, in proportion to the class."""
    assert [absorption_v(v) for v in (12, 24, 48)] == pytest.approx([14.4, 28.8, 57.6])
    assert [low_v(v) for v in (12, 24, 48)] == pytest.approx([11, 22, 44])
