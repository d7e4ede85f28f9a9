"""Axle loads, balance and what may be loaded, against published examples and moment equations."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.brief.limits import Limits
from optimizer.brief.vehicle import Roof, Vehicle
from optimizer.physics import statics

REFERENCE = Path(__file__).parent / "reference" / "vehicle_rows.csv"
ROWS = {row["row"]: row for row in csv.DictReader(REFERENCE.read_text(encoding="utf-8").splitlines())}
READ = {"found", "library", "from memory"}
LB_KG = 0.45359237  # exact


def pairs(text: str) -> dict[str, float]:
    """Reads 'a=1; b=2'."""
    return {key: float(value) for key, value in (item.split("=") for item in text.split("; ") if item)}


def near(value: float, row: dict[str, str]) -> object:
    """The published value with the row's absolute tolerance; 0 means exact."""
    return pytest.approx(value, rel=1e-9, abs=max(1e-9, float(row["tolerance"])))


def check_seat_mass(row: dict[str, str]) -> None:
    assert near(float(row["expected"]), row) == statics.SEAT_KG / LB_KG


def check_gross_rating(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    rating = statics.least_gross_rating(at["unloaded"], at["cargo"], int(at["seats"]), seat_mass=150)
    assert rating == near(float(row["expected"]), row)


def check_capacity(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    assert statics.capacity_mass(at["cargo"], int(at["seats"]), 150) == near(float(row["expected"]), row)


def check_margin(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    left = statics.cargo_left(at["gross"] - at["unloaded"], int(at["occupants"]), 150)
    assert left == near(float(row["expected"]), row)


def check_cargo_left(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    left = statics.cargo_left(at["limit"], int(at["occupants"]), at["each"])
    assert left == near(float(row["expected"]), row)


def check_relabel(row: dict[str, str]) -> None:
    for rating, threshold in pairs(row["expected"]).items():
        assert statics.relabel_threshold(float(rating), 100) == near(threshold, row)
        assert statics.relabel_threshold(float(rating) * LB_KG) == near(threshold * LB_KG, row)


def check_running_order(row: dict[str, str]) -> None:
    expected = pairs(row["expected"])
    assert near(expected["driver"], row) == near(expected["passenger"], row) == statics.EU_OCCUPANT_KG
    assert near(expected["fuel"], row) == 100 * statics.RUNNING_ORDER_FUEL_SHARE


def check_pay_mass(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    assert statics.least_payload_kg(int(at["people"]), at["length"]) == near(float(row["expected"]), row)


def check_greatest_size(row: dict[str, str]) -> None:
    # the brief takes no vehicle beyond the greatest size allowed on the road
    expected = pairs(row["expected"])
    van, roof = (topic.model_json_schema()["properties"] for topic in (Vehicle, Roof))
    assert van["length"]["maximum"] == near(1000 * expected["length"], row)
    assert van["height"]["maximum"] == near(1000 * expected["height"], row)
    assert roof["width"]["maximum"] == near(1000 * expected["width"], row)


def check_centre_from_wheels(row: dict[str, str]) -> None:
    at, expected = pairs(row["inputs"]), pairs(row["expected"])
    aft = statics.centre_from_axles(2 * at["front_wheel"], 2 * at["rear_wheel"], at["wheelbase"])
    assert aft == near(expected["a1"], row)
    assert at["wheelbase"] - aft == near(expected["a2"], row)


def check_axles(row: dict[str, str]) -> None:
    at, expected = pairs(row["inputs"]), pairs(row["expected"])
    loads = statics.axle_loads([at["mass"]], [at["x"]], at["wheelbase"])
    assert loads.front == near(expected["front"], row)
    assert loads.rear == near(expected["rear"], row)


def check_overhang(row: dict[str, str]) -> None:
    at, expected = pairs(row["inputs"]), pairs(row["expected"])
    loads = statics.overhang_loads(at["mass"], at["behind"], at["wheelbase"])
    assert loads.front == near(expected["front"], row)
    assert loads.rear == near(expected["rear"], row)


def check_moments(row: dict[str, str]) -> None:
    at = pairs(row["inputs"])
    masses = [at["nose"], at["total"] - at["nose"]]
    centre = statics.centre_of_mass(masses, [at["datum"] + at["arm"], at["datum"]])
    assert centre == near(float(row["expected"]), row)


def check_parking(row: dict[str, str]) -> None:
    # the brief's own default lies among published stalls, and a brief may ask for any of them
    space_mm = 1000 * float(row["expected"])
    lengths = [1000 * float(other["expected"]) for other in ROWS.values() if other["check"] == "parking"]
    assert min(lengths) < Limits(budget=1).parking_length < max(lengths)
    assert Limits(budget=1, parking_length=space_mm).parking_length == space_mm


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


def test_too_heavy_people_show_as_less_than_nothing() -> None:
    """Five people of 210 lb on a 1000 lb placard are 50 lb too much, and that is not hidden."""
    assert statics.cargo_left(1000, 5, 210) == -50
    assert statics.cargo_left(1000 * LB_KG, 2) == pytest.approx(700 * LB_KG)


def test_a_load_over_an_axle_rests_on_it_alone() -> None:
    """Limit cases: over the front axle all is front, over the rear axle all is rear, midway half and half."""
    assert statics.axle_loads([80], [0], 3000) == statics.AxleLoads(80, 0)
    assert statics.axle_loads([80], [3000], 3000) == statics.AxleLoads(0, 80)
    assert statics.axle_loads([80], [1500], 3000) == statics.AxleLoads(40, 40)
    assert statics.axle_loads([], [], 3000) == statics.AxleLoads(0, 0)


def test_sides_by_hand() -> None:
    """60 kg at 0.5 m right of the centre line, track 1.5 m: 30 + 20 right, 30 - 20 left, difference 40."""
    sides = statics.side_loads([60], [500], 1500)
    assert (sides.left, sides.right, sides.difference) == pytest.approx((10, 50, 40))
    assert statics.side_loads([60, 60], [500, -500], 1500).difference == pytest.approx(0)


@pytest.mark.parametrize("call", [statics.axle_loads, statics.side_loads])
def test_no_base_is_refused(call: Callable[[list[float], list[float], float], object]) -> None:
    """A wheelbase or track of nothing cannot carry moments; nor can lists of unlike length be added."""
    with pytest.raises(ValueError, match="above zero"):
        call([1], [1], 0)
    with pytest.raises(ValueError, match=r"longer|shorter"):
        call([1, 2], [1], 1500)


def test_centre_of_nothing_is_refused() -> None:
    """Masses that add up to nothing have no centre."""
    with pytest.raises(ValueError, match="more than nothing"):
        statics.centre_of_mass([0, 0], [1, 2])
    with pytest.raises(ValueError, match="shorter"):
        statics.centre_of_mass([1, 1], [1])


LOADS = st.lists(st.tuples(st.floats(0.1, 900), st.floats(-1500, 5000)), min_size=1, max_size=12)


@settings(deadline=None)
@given(loads=LOADS, wheelbase=st.floats(1500, 4500))
def test_forces_and_moments_balance(loads: list[tuple[float, float]], wheelbase: float) -> None:
    """The axles carry all the mass, and their common centre is the loads' centre."""
    masses, xs = zip(*loads, strict=True)
    axles = statics.axle_loads(masses, xs, wheelbase)
    total = sum(masses)
    assert axles.front + axles.rear == pytest.approx(total)
    centre = statics.centre_of_mass(masses, xs)
    assert statics.centre_from_axles(axles.front, axles.rear, wheelbase) == pytest.approx(centre, abs=1e-6)
    assert axles.front == pytest.approx(total * (1 - centre / wheelbase), abs=1e-6)


@settings(deadline=None)
@given(loads=LOADS, extra=st.floats(0.1, 300), behind=st.floats(1, 1500), wheelbase=st.floats(1500, 4500))
def test_hanging_more_behind_lightens_the_front(
    loads: list[tuple[float, float]], extra: float, behind: float, wheelbase: float
) -> None:
    """What hangs behind the rear axle takes from the front and gives the rear more than its own mass."""
    masses, xs = (list(column) for column in zip(*loads, strict=True))
    before = statics.axle_loads(masses, xs, wheelbase)
    change = statics.overhang_loads(extra, behind, wheelbase)
    after = statics.axle_loads([*masses, extra], [*xs, wheelbase + behind], wheelbase)
    assert change.front < 0 < extra < change.rear
    assert after.front == pytest.approx(before.front + change.front)
    assert after.rear == pytest.approx(before.rear + change.rear)
