"""The scene: which hour is which, when things come, and what no kit changes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from slow_trip import use_draw
from trip_cases import a_brief, flat_year, random_year, year_of

from optimizer.parts.reading import read_catalog
from optimizer.parts.records import ColdBox, Insulation, SolarPanel
from optimizer.physics.battery import capacity_factor
from optimizer.physics.sun import array_power
from optimizer.problem.season import season_of
from optimizer.trips.scene import BANK_CLASSES, build_scene, day_of_year, month_day
from optimizer.trips.schedule import HOURS, START_HOUR, build_schedule

CLOCK = 8760
COUNTING = np.arange(float(CLOCK))  # air that tells its own hour of the year


def drives(**driving: Any) -> np.ndarray:
    """Hours in which a trip with such drives is driven."""
    return build_schedule(a_brief(trip={**TRIP, "driving": driving})).drive


TRIP = {"nights": 10, "season_from": "03-01", "season_to": "03-31", "coverage": 90}


def test_a_row_of_the_scene_runs_from_noon_to_noon() -> None:
    """Row 59, the first of March, holds that day's hours from noon on and the next morning's."""
    scene = build_scene(a_brief(), [year_of(np.zeros(CLOCK), COUNTING)])
    row = scene.rows(59, 1)[0]
    assert scene.air_c[row].tolist() == [24.0 * 59 + START_HOUR + hour for hour in range(24)]


def test_trips_run_on_past_the_end_of_a_year_at_its_start() -> None:
    """A trip from 31 December goes on with the first of January of the same weather year."""
    years = [flat_year(), year_of(np.zeros(CLOCK), COUNTING, "counting")]
    scene = build_scene(a_brief(), years)
    last = 365 + 364
    assert scene.date(last) == ("counting", "12-31")
    hours = scene.air_c[scene.rows(last, 2)].ravel()
    assert hours[:13].tolist() == [*range(8748, 8760), 0]
    assert hours[-1] == 24 + 11


@pytest.mark.parametrize(
    ("first", "last", "count"),
    [("06-01", "06-01", 1), ("06-01", "08-31", 92), ("11-15", "02-10", 88), ("01-01", "12-31", 365),
     ("03-02", "03-01", 365)],
)
def test_each_day_of_the_season_departs_in_every_year(first: str, last: str, count: int) -> None:
    """Seasons may run over new year; each year counts all of its days."""
    brief = a_brief(trip={"nights": 3, "season_from": first, "season_to": last})
    scene = build_scene(brief, [flat_year(name="one"), flat_year(name="two")])
    assert scene.departures.size == 2 * count
    assert scene.date(0) == ("one", first)
    assert scene.date(count - 1) == ("one", last)
    assert scene.date(2 * count - 1) == ("two", last)


def test_days_of_the_year_have_names() -> None:
    """Day numbers and 'MM-DD' are each other's inverse, without a leap day."""
    names = [month_day(day) for day in range(365)]
    assert [day_of_year(name) for name in names] == list(range(365))
    assert names[58:60] == ["02-28", "03-01"]


def test_drives_come_on_calendar_days_from_their_hour_on() -> None:
    """Every second day from 14:00 for 2.5 hours: trip hours 2 to 4 of the day of departure, then 50."""
    hours = drives(every_days=2, hours=2.5, start_hour=14)
    assert hours[:8].tolist() == [0, 0, 1, 1, 0.5, 0, 0, 0]
    assert np.flatnonzero(hours)[3:6].tolist() == [50, 51, 52]


def test_a_drive_before_the_clock_starts_fills_no_bank() -> None:
    """A drive at 10:00 of the day of departure is over at noon; the first that counts is a rhythm later."""
    hours = drives(every_days=3, hours=1.0, start_hour=10)
    assert np.flatnonzero(hours)[0] == 3 * 24 + 10 - START_HOUR
    spilling = drives(every_days=3, hours=3.5, start_hour=10)
    assert spilling[:3].tolist() == [1, 0.5, 0]


@pytest.mark.parametrize("driving", [{}, {"every_days": 2}, {"hours": 3}])
def test_no_rhythm_or_no_hours_is_no_drive(driving: dict[str, Any]) -> None:
    """Drives need both a rhythm and a length."""
    assert not drives(**driving).any()


@pytest.mark.parametrize(
    ("use", "hours", "watts"),
    [
        ({"power": 10, "hours": 2.5, "start_hour": 22}, [10, 11, 12], [10, 10, 5]),
        ({"power": 10, "hours": 2, "start_hour": 11, "count": 3}, [0, 23, 24], [30, 30, 30]),
        ({"power": 48, "hours": 6}, [0, 1, 2], [12, 12, 12]),
        ({"power": 10, "hours": 1, "start_hour": 11, "every_days": 2}, [23, 71, 119], [10, 10, 10]),
        ({"power": 24, "hours": 24, "start_hour": 20}, [0, 1, 2], [24, 24, 24]),
    ],
)
def test_uses_come_at_their_hours(use: dict[str, Any], hours: list[int], watts: list[float]) -> None:
    """Set hours, spilling past noon, spread over the day, and each so many days."""
    row = build_schedule(a_brief(uses=[{"name": "use", **use}])).uses_w[:, 0]
    found = np.flatnonzero(row)[:3]
    assert found.tolist() == hours
    assert row[found].tolist() == watts


def test_a_use_spread_over_its_day_rests_on_the_days_between() -> None:
    """Each third day means 24 hours of the clock with it and 48 without."""
    use = {"name": "use", "power": 24, "hours": 1, "every_days": 3}
    row = build_schedule(a_brief(uses=[use])).uses_w[:, 0]
    assert row[:72].tolist() == [1.0] * 24 + [0.0] * 48
    assert (row[:72] == row[72:144]).all()


def test_uses_keep_to_parked_or_driving_days() -> None:
    """With a drive every second day, a parked use comes on odd calendar days, a driving one on even ones."""
    uses = [
        {"name": "parked", "power": 10, "hours": 1, "start_hour": 20, "when": "parked"},
        {"name": "driving", "power": 10, "hours": 1, "start_hour": 20, "when": "driving"},
        {"name": "spread", "power": 24, "hours": 1, "when": "driving"},
    ]
    driving = {"every_days": 2, "hours": 1, "start_hour": 9}
    rows = build_schedule(a_brief(uses=uses, trip={**TRIP, "driving": driving})).uses_w
    assert np.flatnonzero(rows[:, 0])[:2].tolist() == [24 + 8, 72 + 8]
    assert np.flatnonzero(rows[:, 1])[:2].tolist() == [8, 48 + 8]
    assert rows[:12, 2].all()
    assert not rows[12:36, 2].any()
    assert rows[36:60, 2].all()


def test_meals_move_to_the_drive_of_their_day() -> None:
    """A supper at 19:00 that can be cooked on the drive is cooked at 15:00 on driving days, else at 19:00."""
    meals = [{"name": "supper", "ability": "boil", "heat": 300, "hour": 19}]
    driving = {"every_days": 2, "hours": 1, "start_hour": 15}
    schedule = build_schedule(a_brief(meals=meals, trip={**TRIP, "driving": driving}))
    assert np.flatnonzero(schedule.meals[:, 0])[:3].tolist() == [7, 31, 55]
    assert np.flatnonzero(schedule.meals_driving[:, 0])[:3].tolist() == [3, 31, 51]


def test_a_meal_stays_at_its_hour_when_the_drive_was_before_the_start() -> None:
    """The drive at 09:00 of the day of departure is over; that day's supper is cooked at its own hour."""
    meals = [{"name": "supper", "ability": "boil", "heat": 300, "hour": 19}]
    driving = {"every_days": 1, "hours": 1, "start_hour": 9}
    schedule = build_schedule(a_brief(meals=meals, trip={**TRIP, "driving": driving}))
    assert np.flatnonzero(schedule.meals_driving[:, 0])[:3].tolist() == [7, 21, 45]


@pytest.mark.parametrize(("every", "nights", "count"), [(1, 7, 7), (2, 7, 4), (3, 7, 3), (3, 6, 2)])
def test_meals_are_counted_with_the_first_day(every: int, nights: int, count: int) -> None:
    """A meal each so many days is cooked on the first of them, whatever its hour."""
    for hour in (7, 18):
        meals = [{"name": "meal", "ability": "boil", "heat": 300, "hour": hour, "every_days": every}]
        scene = build_scene(a_brief(meals=meals), [flat_year()])
        assert scene.meal_counts(nights).tolist() == [count]


def test_the_fan_runs_before_the_night() -> None:
    """Three and a half hours before 22:00: 18:30 to 22:00."""
    fan = build_schedule(a_brief(comfort={"fan_hours": 3.5, "night_from": 22})).fan
    assert fan[:24].tolist() == [0] * 6 + [0.5, 1, 1, 1] + [0] * 14
    assert fan.sum() == 3.5 * HOURS / 24


def test_days_of_the_trip_that_are_alike_share_a_kind() -> None:
    """Plain days are all one kind; a drive every third day makes three at most by its place in the day."""
    assert build_scene(a_brief(), [flat_year()]).day_type.max() == 0
    driven = build_scene(
        a_brief(trip={**TRIP, "driving": {"every_days": 3, "hours": 2, "start_hour": 14}}), [flat_year()]
    )
    assert driven.day_type[:7].tolist() == [0, 1, 1, 0, 1, 1, 0]
    assert driven.kinds.drive[0, 2:4].tolist() == [1, 1]


def test_kinds_of_day_give_back_the_whole_schedule() -> None:
    """Laying the kinds end to end is the schedule itself, whatever the rhythms."""
    rng = np.random.default_rng(3)
    uses = [
        {"name": f"use {n}", "power": 10 + n, "hours": 3, "start_hour": int(rng.integers(24)),
         "every_days": n + 1, "when": "parked" if n % 2 else "always"}
        for n in range(4)
    ]
    brief = a_brief(uses=uses, trip={**TRIP, "driving": {"every_days": 5, "hours": 3, "start_hour": 11}})
    scene = build_scene(brief, [flat_year()])
    assert np.allclose(scene.kinds.uses_dc[scene.day_type].ravel(), scene.schedule.uses_w.sum(axis=1))
    assert (scene.kinds.drive[scene.day_type].ravel() == scene.schedule.drive).all()
    for hour in range(0, 400, 7):
        for number in range(4):
            assert scene.schedule.uses_w[hour, number] == pytest.approx(use_draw(brief, number, hour))


def test_temperatures_inside_follow_the_set_points() -> None:
    """Cold air: the set-point of the hour. Warm air: the air. Without heating: the air."""
    cold = build_scene(a_brief(), [flat_year(air_c=3.0)])
    assert cold.inside_c[0, :11].tolist() == [18.0] * 10 + [12.0]  # 22:00 is trip hour 10
    assert cold.inside_c[0, 18:20].tolist() == [12.0, 18.0]  # 07:00 is trip hour 19
    assert (cold.heat_gain_w[0] > 0).sum() == 9  # two people asleep, 22:00 to 07:00
    assert cold.heat_gain_w[0, 12] == 2 * 70.0
    warm = build_scene(a_brief(), [flat_year(air_c=26.0)])
    assert (warm.inside_c == 26.0).all()
    assert (warm.heat_gap_k == 0).all()
    unheated = build_scene(a_brief(comfort={"heating": False}), [flat_year(air_c=3.0)])
    assert (unheated.inside_c == 3.0).all()
    assert not unheated.heat_gap_k.any()


def test_stress_makes_air_colder_for_heat_alone() -> None:
    """``colder_by`` chills the air of heater and battery; panels and cold boxes do not gain by it."""
    place = {"weather": ["station:723170"], "colder_by": 5}
    year = flat_year(ghi=800.0, air_c=10.0)
    plain, colder = (build_scene(a_brief(place=p), [year]) for p in ({"weather": ["x"]}, place))
    assert (colder.air_c == plain.air_c - 5).all()
    assert (colder.heat_gap_k == plain.heat_gap_k + 5).all()
    assert (colder.around_under_k == plain.around_under_k).all()
    number = colder.panel_class(-0.4, 47.0)
    assert (colder.panel_yield(number) == plain.panel_yield(plain.panel_class(-0.4, 47.0))).all()


def test_mean_days_gain_nothing_by_stress_either() -> None:
    """Colder air makes more heat wanted; sun, switched sun, working voltage and cold boxes stay as on the trips."""
    catalog = read_catalog(["generic"])
    panel, box, bare = catalog.part("pv-rigid-100"), catalog.part("cold-chest-35"), catalog.part("ins-none")
    assert isinstance(panel, SolarPanel)
    assert isinstance(box, ColdBox)
    assert isinstance(bare, Insulation)
    year = flat_year(ghi=400.0, air_c=30.0)
    for comfort in ({"heating": True}, {"heating": False}):
        plain, colder = (
            season_of(a_brief(place={"weather": ["x"], "colder_by": by}, comfort=comfort), [year]) for by in (0, 20)
        )
        month = plain.months[0]
        assert colder.sun_wh(month, panel) == plain.sun_wh(month, panel)
        assert colder.switched_wh(month, panel, 13.0, 1) == plain.switched_wh(month, panel, 13.0, 1)
        assert colder.vmp_hot(panel) == plain.vmp_hot(panel)
        assert colder.cold_wh(month, box) == plain.cold_wh(month, box)
        assert colder.heat_wh(month, colder.heat_loss(bare)) > plain.heat_wh(month, plain.heat_loss(bare))
        assert colder.coldest_c == plain.coldest_c - 20


def test_panels_give_their_published_power_less_the_losses() -> None:
    """Masters (2004), Example 8.5 (from memory): 150 W at 30 degC in full sun gives 121 W; less 3 % dirt."""
    scene = build_scene(a_brief(), [flat_year(ghi=1000.0, air_c=30.0)])
    given = 150 * scene.panel_yield(scene.panel_class(-0.5, 47.0))
    assert given == pytest.approx(0.97 * 121.0, abs=0.5)
    assert given[0, 0] == pytest.approx(0.97 * float(array_power(1000.0, 30.0, 150.0, -0.5, 47.0)))


def test_panel_classes_named_first_are_numbered_in_order() -> None:
    """The numbers hang on the pairs, not on who asks first; -1 gives nothing."""
    pairs = [(-0.3, 60.0), (-0.4, 45.0), (-0.3, 45.0)]
    scene = build_scene(a_brief(), [flat_year(ghi=500.0)], pairs)
    assert [scene.panel_class(*pair) for pair in sorted(pairs)] == [0, 1, 2]
    assert not scene.panel_yield(-1).any()


def test_banks_follow_their_place_and_may_not_charge_when_frozen() -> None:
    """Outside at -10 degC: the curve's share and no charging, but for one that takes it; inside: warm."""
    scene = build_scene(a_brief(), [flat_year(air_c=-10.0)])

    def series(chemistry: str, warm: bool, charges_cold: bool) -> tuple[float, float]:
        share, may = scene.bank_series(BANK_CLASSES.index((chemistry, warm, charges_cold)))
        return float(share[0, 0]), float(may[0, 0])

    assert series("lfp", False, False) == (pytest.approx(float(capacity_factor("lfp", -10.0))), 0.0)
    assert series("lfp", False, True)[1] == 0.0  # its cells alone must not, whatever is said of it
    assert series("lfp_heated", False, True)[1] == 1.0
    assert series("lfp_heated", False, False)[1] == 0.0
    assert series("agm", False, True)[1] == 1.0
    assert series("lfp", True, False) == (pytest.approx(float(capacity_factor("lfp", 18.0))), 1.0)


def test_a_scene_needs_weather() -> None:
    """No weather year, no scene."""
    with pytest.raises(ValueError, match="at least one weather year"):
        build_scene(a_brief(), [])


def test_sun_stress_above_the_year_warms_the_cells_too() -> None:
    """Sun counted 20 % above the year's own gives less than 20 % more power: the cells get warmer."""
    rng = np.random.default_rng(5)
    year = random_year(rng)
    plain, bright = (
        build_scene(a_brief(place={"weather": ["x"], "sun_stress": stress}), [year]) for stress in (100, 120)
    )
    low, high = (scene.panel_yield(scene.panel_class(-0.4, 50.0)) for scene in (plain, bright))
    lit = low > 0.1
    assert (high[lit] > low[lit]).all()
    assert (high[lit] < 1.2 * low[lit]).all()
