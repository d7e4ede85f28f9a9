"""Conductors and fuses against published tables, the law's rows, and enumeration of the sizes."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics import wire

REFERENCE = Path(__file__).parent / "reference" / "wire_rows.csv"
ROWS = {row["row"]: row for row in csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines())}
READ = {"found", "library", "from memory"}
OHM_KM_OF_KFT = 1 / 0.3048  # a foot is 0.3048 m exactly
INSULATIONS = (60, 75, 80, 90, 105, 125, 200)


def pairs(text: str) -> dict[str, float]:
    """Reads 'a=1; b=2'; sizes with a slash stay text."""
    items = (item.split("=") for item in text.split("; ") if item)
    return {key: _number(value) for key, value in items}


def _number(text: str) -> float:
    return float(awg(text)) if "/" in text else float(text)


def awg(name: str) -> int:
    """AWG number of a written size, by the trade's rule: n/0 is 1 - n."""
    return 1 - int(name.split("/")[0]) if "/" in name else int(name)


def near(value: float, row: dict[str, str]) -> object:
    """The published value with the row's tolerance, absolute or in percent; 0 means exact."""
    tolerance = row["tolerance"]
    if tolerance.endswith("%"):
        return pytest.approx(value, rel=float(tolerance[:-1]) / 100)
    return pytest.approx(value, rel=1e-9, abs=float(tolerance))


def check_awg_diameter(row: dict[str, str]) -> None:
    for name, value in pairs(row["expected"]).items():
        assert wire.awg_diameter_mm(awg(name)) == near(value, row)


def check_solid_resistance(row: dict[str, str]) -> None:
    rho = pairs(row["inputs"])["rho"]
    for name, value in pairs(row["expected"]).items():
        assert wire.copper_ohm_km(wire.awg_area_mm2(awg(name)), rho) == near(value, row)


def check_area_ratio(row: dict[str, str]) -> None:
    for steps, value in pairs(row["expected"]).items():
        for number in (-3, 4, 18):
            ratio = wire.awg_area_mm2(number + int(steps)) / wire.awg_area_mm2(number)
            assert ratio == near(value, row)


def check_copper_constants(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert near(expected["rho"], row) == wire.COPPER_OHM_M
    assert wire.temperature_factor(21) - wire.temperature_factor(20) == near(expected["alpha"], row)


def check_pure_to_iacs(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert expected["pure"] < wire.COPPER_OHM_M
    assert near(expected["pure"], row) == wire.COPPER_OHM_M


def check_temperature_factor(row: dict[str, str]) -> None:
    for celsius, value in pairs(row["expected"]).items():
        assert wire.temperature_factor(float(celsius)) == near(value, row)


def check_class_5(row: dict[str, str]) -> None:
    expected = {float(area): value for area, value in pairs(row["expected"]).items()}
    assert tuple(expected) == wire.METRIC_AREAS_MM2
    for area, value in expected.items():
        assert wire.metric_ohm_km(area) == near(value, row)
        assert value > wire.copper_ohm_km(area)  # never better than solid copper of that area


def check_class_2(row: dict[str, str]) -> None:
    for area, value in pairs(row["expected"]).items():
        assert 1.0 < wire.metric_ohm_km(float(area)) / value < 1.10  # finer strands: a little more resistance


def check_stranded_75(row: dict[str, str]) -> None:
    for name, value in pairs(row["expected"]).items():
        ohm_km = wire.awg_ohm_km(awg(name)) * wire.temperature_factor(75)
        assert ohm_km == near(value * OHM_KM_OF_KFT, row)


def check_nec_cold(row: dict[str, str]) -> None:
    given_row = pairs(row["inputs"])
    ratio = wire.temperature_factor(given_row["to"]) / wire.temperature_factor(given_row["at"])
    assert given_row["ohm"] * ratio == near(float(row["expected"]), row)
    ours = wire.awg_ohm_km(6) * wire.temperature_factor(20) / OHM_KM_OF_KFT
    assert ours == near(float(row["expected"]), row)


def check_ampacity(row: dict[str, str]) -> None:
    number = int(pairs(row["inputs"])["awg"])
    expected = pairs(row["expected"])
    assert tuple(int(key) for key in expected) == INSULATIONS
    for insulation, value in expected.items():
        assert wire.awg_ampacity_a(number, float(insulation)) == near(value, row)


def check_engine_space(row: dict[str, str]) -> None:
    for insulation, value in pairs(row["expected"]).items():
        cool = wire.awg_ampacity_a(6, float(insulation))
        assert wire.awg_ampacity_a(6, float(insulation), engine_space=True) / cool == near(value, row)


def check_bundles(row: dict[str, str]) -> None:
    for count, value in pairs(row["expected"]).items():
        assert wire.bundling_factor(int(count)) == near(value, row)
        assert wire.awg_ampacity_a(6, 105, bundled=int(count)) == near(120 * value, row)


def check_least_size(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    alone = wire.choose_conductor(0.5, 0.1, 12, 0.1, sizes="awg")
    inside = wire.choose_conductor(0.5, 0.1, 12, 0.1, sizes="awg", sheathed=True)
    assert alone is not None
    assert inside is not None
    assert alone.size == f"AWG {expected['separate']:g}"
    assert inside.size == f"AWG {expected['sheathed']:g}"
    for metric, least in ((False, expected["separate"]), (True, expected["sheathed"])):
        chosen = wire.choose_conductor(0.5, 0.1, 12, 0.1, sheathed=metric)
        assert chosen is not None
        assert chosen.area_mm2 >= wire.awg_area_mm2(int(least))


def check_greatest_fuse_share(row: dict[str, str]) -> None:
    share = float(row["expected"]) / 100
    assert wire.greatest_fuse_a(20, 12) == near(20 * share, row)
    assert wire.greatest_fuse_a(20, 120) == 20  # from 50 V a standard rating that equals the ampacity
    assert wire.greatest_fuse_a(105, 120) == 125  # ... else the next standard one
    assert wire.greatest_fuse_a(0.5, 120) == 0.5  # ... unless that is above 150 %


def check_fuse_place(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert near(expected["plain"], row) == wire.PLAIN_FUSE_DISTANCE_MM / 25.4
    assert near(expected["sheathed"], row) == wire.SHEATHED_FUSE_DISTANCE_MM / 25.4


def check_fuse_example(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    ampacity = wire.awg_ampacity_a(10, pairs(row["inputs"])["insulation"])
    assert ampacity == expected["ampacity"]
    assert wire.greatest_fuse_a(ampacity, 12) == expected["fuse"]


def check_drop_over_run(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    # the source counts the whole run, return included; our length is one way
    drop = wire.voltage_drop_v(at["amp"], at["run_ft"] * 0.3048 / 2, at["ohm_ft"] * 1000 * OHM_KM_OF_KFT)
    assert drop == near(float(row["expected"]), row)
    assert drop < at["limit"] * 1.01
    printed = pairs(ROWS["tinned-resistance"]["expected"])[f"{at['awg']:g}"]
    assert printed == pytest.approx(at["ohm_ft"] * 1000)


def check_tinned(row: dict[str, str]) -> None:
    # Greatest resistances of tin-plated aircraft wire, printed to two places from AWG 8 on; its strandings
    # differ a little from the AWG area, so plain stranded copper lies from 20 % below to 7 % above them.
    for name, value in pairs(row["expected"]).items():
        assert 0.80 < wire.awg_ohm_km(awg(name)) / (value * OHM_KM_OF_KFT) < 1.07


def check_chart_choice(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    one_way = at["run_ft"] * 0.3048 / 2
    by_drop = [
        number
        for number in wire.AWG_NUMBERS
        if wire.voltage_drop_v(at["amp"], one_way, wire.awg_ohm_km(number)) <= at["limit"]
    ]
    assert by_drop[0] == int(row["expected"])
    chosen = wire.choose_conductor(at["amp"], one_way, at["system"], at["limit"] / at["system"], sizes="awg")
    assert chosen is not None
    assert chosen.size == f"AWG {row['expected']}"


def check_drop_limits(row: dict[str, str]) -> None:
    for system, drop in pairs(row["expected"]).items():
        assert wire.CRITICAL_DROP_SHARE < drop / float(system) < wire.OTHER_DROP_SHARE


def check_two_way(row: dict[str, str]) -> None:
    at, expected = pairs(row["inputs"]), pairs(row["expected"])
    ohm_km = wire.metric_ohm_km(at["area"]) * wire.temperature_factor(at["at"])
    drop = wire.voltage_drop_v(at["amp"], at["one_way"], ohm_km)
    assert drop == near(expected["drop"], row)
    if "percent" in expected:
        assert 100 * drop / at["system"] == near(expected["percent"], row)


def check_craft_drop(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert near(expected["critical"], row) == 100 * wire.CRITICAL_DROP_SHARE
    assert near(expected["other"], row) == 100 * wire.OTHER_DROP_SHARE


def check_solar_current(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert wire.pv_circuit_current_a(1.0) == near(expected["max"], row)
    assert wire.pv_conductor_current_a(1.0) == near(expected["conductor"], row)
    chosen = wire.choose_conductor(wire.pv_circuit_current_a(10), 5, 40, 0.03)
    assert chosen is not None
    assert chosen.fuse_a >= wire.pv_conductor_current_a(10)


CHECKS: dict[str, Callable[[dict[str, str]], None]] = {
    name.removeprefix("check_"): function for name, function in globals().items() if name.startswith("check_")
}


@pytest.mark.parametrize("slug", ROWS)
def test_published_row(slug: str) -> None:
    """Every published row of the reference file is met; its source stands in the row."""
    CHECKS[ROWS[slug]["check"]](ROWS[slug])


def test_every_check_has_a_row() -> None:
    """No check lies idle, and the rows name their source and how it was read."""
    assert {row["check"] for row in ROWS.values()} == set(CHECKS)
    assert all(row["source"] and row["status"] in READ for row in ROWS.values())


def test_metric_sizes_are_credited_with_less_copper_than_they_have() -> None:
    """A metric size carries what the AWG size within its copper does, and swapping back covers it."""
    credited = {area: wire.awg_not_above(area) for area in wire.METRIC_AREAS_MM2}
    assert credited[0.75] is None
    assert wire.metric_ampacity_a(0.75, 105) == 0
    # common practice: 2.5, 6, 16 and 35 mm2 stand for AWG 14, 10, 6 and 2
    assert [credited[area] for area in (2.5, 6.0, 16.0, 35.0)] == [14, 10, 6, 2]
    for area, number in credited.items():
        if number is not None:
            assert wire.awg_area_mm2(number) <= area
            assert wire.metric_ampacity_a(area, 90) == wire.awg_ampacity_a(number, 90)
    for number in wire.AWG_NUMBERS:
        assert wire.metric_ampacity_a(wire.metric_not_below(number), 105) >= wire.awg_ampacity_a(number, 105)


def test_insulation_between_columns_counts_as_the_lower_one() -> None:
    """Insulation for 100 degC has no column, so the 90 degC one holds; below 60 degC there is none."""
    assert wire.awg_ampacity_a(6, 100) == wire.awg_ampacity_a(6, 90)
    assert wire.awg_ampacity_a(6, 300) == wire.awg_ampacity_a(6, 200)
    with pytest.raises(ValueError, match="60 degC"):
        wire.awg_ampacity_a(6, 59)


def test_conductor_temperature_at_its_limits() -> None:
    """No current leaves a conductor at the air's temperature; its ampacity brings it to the insulation's."""
    assert wire.conductor_temperature_c(0, 60, 105) == 30
    assert wire.conductor_temperature_c(60, 60, 105) == pytest.approx(105)
    assert wire.conductor_temperature_c(30, 60, 105, 50) == pytest.approx(50 + 55 / 4)


@pytest.mark.parametrize(
    ("current", "ampacity", "fuse"),
    [
        (16, 20, 20),
        (16, 19.9, None),
        (16.1, 25, 25),
        (16.1, 24, None),
        (0.5, 20, 1),
        (320, 445, 400),
        (321, 445, None),
    ],
)
def test_fuse_is_the_smallest_standard_one_within_the_ampacity(
    current: float, ampacity: float, fuse: float | None
) -> None:
    """The fuse is at least 1.25 times the current, standard, and never above what the conductor carries."""
    assert wire.choose_fuse(current, ampacity) == fuse


def test_a_metric_choice_by_hand() -> None:
    """40 A over 3 m at 12 V and 3 %: 16 mm2, worked by hand.

    16 mm2 (AWG 6, 120 A): rise 75*(40/120)^2 = 8.33, factor (234.5+38.33)/254.5 = 1.0720,
    drop 2*3*40*0.00121*1.0720 = 0.3113 V <= 0.36 V; 10 mm2 (AWG 8, 80 A): rise 18.75, factor 1.1110,
    drop 240*0.00191*1.1110 = 0.5093 V > 0.36 V. So 16 mm2 it is, with a 50 A fuse.
    """
    chosen = wire.choose_conductor(40, 3, 12, 0.03)
    assert chosen is not None
    assert (chosen.size, chosen.ampacity_a, chosen.fuse_a) == ("16 mm2", 120, 50)
    assert chosen.drop_v == pytest.approx(0.3113, abs=1e-4)
    assert chosen.drop_share == pytest.approx(0.3113 / 12, abs=1e-5)


def test_no_size_will_do() -> None:
    """Too much current or too long a run gives no conductor, not a wrong one."""
    assert wire.choose_conductor(600, 1, 12, 0.03) is None
    assert wire.choose_conductor(200, 100, 12, 0.01) is None


@pytest.mark.parametrize(
    ("current", "length", "volts", "share"),
    [(0, 1, 12, 0.03), (-5, 1, 12, 0.03), (math.nan, 1, 12, 0.03), (math.inf, 1, 12, 0.03), (5, -1, 12, 0.03),
     (5, 1, 0, 0.03), (5, 1, 12, 0), (5, math.nan, 12, 0.03)],
)  # fmt: skip
def test_senseless_questions_are_refused(current: float, length: float, volts: float, share: float) -> None:
    """A current, voltage or share not above zero, or a length below it, is a fault and no answer."""
    with pytest.raises(ValueError, match="above zero"):
        wire.choose_conductor(current, length, volts, share)


def test_an_unknown_metric_size_is_refused() -> None:
    """An area that is no standard size is named together with those that are."""
    with pytest.raises(ValueError, match=r"0\.75"):
        wire.metric_ohm_km(5)


@settings(deadline=None, max_examples=200)
@given(
    current=st.floats(0.1, 380),
    length=st.floats(0, 15),
    volts=st.sampled_from([12.0, 24.0, 48.0]),
    share=st.sampled_from([0.01, 0.03, 0.1]),
    insulation=st.sampled_from([60.0, 75.0, 90.0, 105.0, 125.0]),
    bundled=st.integers(1, 8),
    engine=st.booleans(),
    sizes=st.sampled_from(["metric", "awg"]),
)
def test_choice_is_sound_and_the_thinnest(
    current: float,
    length: float,
    volts: float,
    share: float,
    insulation: float,
    bundled: int,
    engine: bool,
    sizes: Literal["metric", "awg"],
) -> None:
    """What is chosen keeps every limit, every thinner size breaks one, and none is left out when None."""
    chosen = wire.choose_conductor(current, length, volts, share, insulation, bundled, engine, sizes)
    if sizes == "awg":
        table = [(wire.awg_area_mm2(n), n, wire.awg_ohm_km(n)) for n in wire.AWG_NUMBERS if n <= 16]
    else:
        areas = [area for area in wire.METRIC_AREAS_MM2 if area >= wire.awg_area_mm2(16)]
        table = [(area, wire.awg_not_above(area) or 0, wire.metric_ohm_km(area)) for area in areas]
    good = []
    for area, number, ohm in table:
        ampacity = wire.awg_ampacity_a(number, insulation, engine, bundled)
        fuses = [f for f in wire.STANDARD_FUSES_A if 1.25 * current <= f + 1e-9 and f <= ampacity]
        hot = wire.conductor_temperature_c(current, ampacity, insulation, 50 if engine else 30)
        drop = 2 * length * current * ohm / 1000 * (234.5 + hot) / 254.5
        if fuses and drop <= share * volts:
            good.append((area, fuses[0]))
    assert (chosen and (chosen.area_mm2, chosen.fuse_a)) == (good[0] if good else None)
    if chosen:
        assert chosen.conductor_c <= max(insulation, 50)
        assert chosen.fuse_a <= wire.greatest_fuse_a(chosen.ampacity_a, volts)


@pytest.mark.parametrize(
    ("size", "amperes"),
    [("1.5 mm2", 14.355), ("2.5 mm2", 20.01), ("4 mm2", 26.1), ("6 mm2", 33.06), ("10 mm2", 45.24),
     ("AWG 14", 15), ("AWG 12", 20), ("AWG 10", 30), ("AWG 8", 40)],
)  # fmt: skip
def test_mains_cables_carry_what_their_tables_say(size: str, amperes: float) -> None:
    """IEC 60364-5-52 Table B.52.2 method B2 at 30 degC times 0.87 for 40 degC; NFPA 70, 240.4(D): both from memory."""
    assert wire.mains_ampacity_a(size) == pytest.approx(amperes)
    with pytest.raises(KeyError):
        wire.mains_ampacity_a("1 mm2")


def test_a_mains_circuit_is_sized_by_its_own_table() -> None:
    """12 A asks for a breaker of 15 A, which AWG 14 and 2.5 mm2 may have; the hotter DC table would let less do."""
    assert [
        wire.choose_conductor(12, 2, 230, 0.03, 75, sizes=sizes, mains=True, sheathed=True).size  # type: ignore[union-attr]
        for sizes in ("metric", "awg")
    ] == ["2.5 mm2", "AWG 14"]
    assert wire.choose_conductor(12, 2, 230, 0.03, 105, sheathed=True).size == "1 mm2"  # type: ignore[union-attr]
    assert wire.choose_conductor(40, 2, 230, 0.03, 75, sizes="awg", mains=True) is None
