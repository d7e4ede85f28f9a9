"""Trips told in full: the energy adds up, the tables tell what the pass found, pictures repeat."""

from __future__ import annotations

import builtins
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from slow_trip import slow_trip
from trip_cases import PLENTY, a_brief, flat_year, random_brief, random_kit, random_year, with_bank

from optimizer.errors import MissingExtra, UsageError
from optimizer.replaying import tell_all, tell_trip
from optimizer.trips.flows import SOURCES, flows, use_names
from optimizer.trips.numbers import ArrayNumbers
from optimizer.trips.picture import draw_trip, headline
from optimizer.trips.replay import EnergyRow, Replay, replay, replay_scene
from optimizer.trips.run import CAUSES, Layout, outcomes
from optimizer.trips.scene import DAYS, build_scene


def a_replay(number: int, nights: int = 5) -> Replay:
    """The trips of a random kit in a random scene of two years."""
    rng = np.random.default_rng(9300 + number)
    brief = random_brief(rng)
    kit = random_kit(rng, len(brief.meals))
    kit = replace(kit, water_l=1e4, grey_l=1e4, toilet_visits=1e4)
    return replay(brief, [random_year(rng, "one"), random_year(rng, "two")], kit, nights)


def sides(rows: tuple[EnergyRow, ...]) -> dict[str, float]:
    """Sum of each side of an energy table."""
    total: dict[str, float] = {}
    for row in rows:
        total[row.side] = total.get(row.side, 0.0) + row.wh
    return total


@pytest.mark.parametrize("number", range(12))
def test_every_hour_balances_to_the_watt_hour(number: int) -> None:
    """In each hour of each departure what is given is what is taken; nothing flows backwards."""
    told = a_replay(number)
    hourly = flows(told.scene, told.numbers, told.nights, told.outcomes.departures[::9])
    given = sum(hourly.energy[name] for name in SOURCES)
    taken = sum(wh for name, wh in hourly.energy.items() if name not in SOURCES)
    assert np.abs(given - taken).max() < 1e-9
    for name, wh in {**hourly.energy, **hourly.turned_away}.items():
        assert name == "store" or wh.min() > -1e-9, name


@pytest.mark.parametrize("number", range(6))
def test_energy_tables_balance_over_the_trip(number: int) -> None:
    """Means over all departures, and a single trip: given equals taken, the store gives what is missing."""
    told = a_replay(number)
    for rows in (told.energy, told.energy_of(3)):
        total = sides(rows)
        assert total["given"] == pytest.approx(total["taken"], abs=1e-6)
    store = next(row.wh for row in told.energy_of(3) if row.name == "store")
    assert store == pytest.approx(told.flows(3).depth_wh[0, -1], abs=1e-6)
    names = [(row.name, row.side) for row in told.energy]
    assert len(names) == len(set(names))
    mean = np.mean([sides(told.energy_of(d))["taken"] for d in range(told.departures)])
    assert sides(told.energy)["taken"] == pytest.approx(mean)


@pytest.mark.parametrize("number", range(8))
def test_flows_tell_the_depths_of_the_pass_and_of_the_slow_simulator(number: int) -> None:
    """Least room as the compiled pass has it, and every hour's depth as the slow simulator has it."""
    told = a_replay(number)
    found = told.outcomes
    hourly = flows(told.scene, told.numbers, told.nights, found.departures)
    room = (hourly.capacity_wh - hourly.depth_wh).min(axis=1)
    assert room == pytest.approx(found.room_wh, rel=1e-9, abs=1e-6)
    rng = np.random.default_rng(9300 + number)
    brief = random_brief(rng)
    random_kit(rng, len(brief.meals))
    years = [random_year(rng, "one"), random_year(rng, "two")]
    year, day = divmod(int(told.scene.departures[-1]), DAYS)
    slow = slow_trip(brief, years[year], told.numbers, day, told.nights)
    assert hourly.depth_wh[-1] == pytest.approx(slow.depths, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("number", range(6))
def test_coverage_counts_what_the_outcomes_say(number: int) -> None:
    """Covered departures and the causes of the others add up to all of them."""
    told = a_replay(number)
    assert told.covered + sum(told.causes.values()) == told.departures == told.scene.departures.size
    assert told.coverage_pct == pytest.approx(100 * told.outcomes.survived.mean())
    assert "none" not in told.causes
    assert set(told.causes) <= set(CAUSES)


def test_the_worst_departures_carry_dates_causes_and_hours() -> None:
    """A bank of 100 Wh under a load of 10 W is short in its eleventh hour, on every departure of the season."""
    brief = a_brief(
        uses=[{"name": "use", "power": 10, "hours": 24}], comfort={"heating": False, "fan_hours": 0},
        trip={"nights": 2, "season_from": "12-30", "season_to": "01-02"},
    )
    told = replay(brief, [flat_year(name="grey")], with_bank(PLENTY, usable_wh=100.0))
    worst = told.worst(2)
    assert [(report.year, report.date) for report in worst] == [("grey", "12-30"), ("grey", "12-31")]
    assert {report.cause for report in worst} == {"battery"}
    when = worst[1].when
    assert when is not None
    assert (when.trip_hour, when.date, when.hour) == (10, "12-31", 22)
    assert (worst[0].lack, worst[0].unit, worst[0].room_wh) == (pytest.approx(380.0), "Wh", pytest.approx(-380.0))
    assert told.coverage_pct == 0.0
    assert told.causes == {"battery": 4}
    assert told.moment(1, 12) == type(when)(12, "01-01", 0)


def test_the_binding_spell_is_the_closest_call_that_was_survived() -> None:
    """Its room is the least of the covered departures; its hours, sun and air are those of the year."""
    compared = 0
    for number in range(30):
        told = a_replay(number)
        spell = told.binding_spell()
        if not told.covered:
            assert spell.room_wh == told.outcomes.room_wh.max()
            continue
        assert spell.survived
        assert spell.room_wh == told.outcomes.room_wh[told.outcomes.survived].min()
        table = told.hours(spell.departure)
        assert table["bank_left_wh"].min() == pytest.approx(spell.room_wh, abs=1e-6)
        if spell.hours:
            inside = table.loc[spell.begins.trip_hour : spell.ends.trip_hour]
            assert len(inside) == spell.hours
            assert (inside["bank_missing_wh"] > 0).all()
            assert spell.mean_air_c == pytest.approx(inside["air_c"].mean())
            # The made-up years have direct sun of 0.7 times the global one.
            assert spell.sunless_hours == (0.7 * inside["sun_w_m2"] < 120.0).sum()
            assert (inside["date"].iloc[0], inside["hour"].iloc[0]) == (spell.begins.date, spell.begins.hour)
            compared += 1
    assert compared > 5


def test_a_bank_that_stays_full_has_an_empty_spell() -> None:
    """Nothing is drawn: the spell has no hours, and still names the hour of least capacity."""
    told = replay(a_brief(comfort={"heating": False, "fan_hours": 0}), [flat_year()], PLENTY, 2)
    spell = told.binding_spell()
    assert (spell.hours, spell.sunless_hours) == (0, 0)
    assert spell.room_wh == PLENTY.bank.usable_wh
    assert spell.begins == spell.ends


def test_the_hourly_table_has_every_hour_and_flow() -> None:
    """A row an hour, named flows that add up to the energy table of that departure."""
    told = a_replay(1, nights=3)
    table = told.hours(7)
    assert len(table) == 72
    assert table["hour"].tolist() == [(12 + hour) % 24 for hour in range(72)]
    assert table["date"].iloc[0] == told.scene.date(7)[1]
    for row in told.energy_of(7):
        assert table[f"{row.side}: {row.name}"].sum() == pytest.approx(row.wh, abs=1e-6)


def test_uses_of_one_name_are_kept_apart() -> None:
    """Two lamps called the same, and one called like an entry of the balance, lose no energy."""
    uses = [{"name": name, "power": 10, "hours": 1} for name in ("lamp", "lamp", "heater")]
    brief = a_brief(uses=uses)
    scene = build_scene(brief, [flat_year(air_c=0.0)])
    assert use_names(scene) == ["use: lamp", "use: lamp (2)", "use: heater"]
    told = replay_scene(scene, PLENTY, 3)
    taken = {row.name: row.wh for row in told.energy if row.side == "taken"}
    assert [taken[name] for name in use_names(scene)] == [pytest.approx(30.0)] * 3


def test_clipped_and_unused_sun_are_told_apart() -> None:
    """100 W of panels in full sun behind 60 W: 40 W are beyond the controller, the rest meets a full bank."""
    brief = a_brief(comfort={"heating": False, "fan_hours": 0}, place={"weather": ["x"], "soiling": 0})
    kit = replace(PLENTY, arrays=(ArrayNumbers(100.0, 0.0, True, 0.0, 45.0, 60.0, 1.0),))
    told = replay(brief, [flat_year(ghi=1000.0)], kit, 1)
    away = {row.name: row.wh for row in told.energy if row.side == "turned away"}
    assert away["sun beyond the controller"] == pytest.approx(24 * 40.0)
    assert away["sun with a full bank"] == pytest.approx(24 * 60.0)


def test_one_night_is_told_as_one() -> None:
    """A trip of a single night is told in the singular everywhere, one of two in the plural."""
    one, two = a_replay(2, nights=1), a_replay(2, nights=2)
    for told in (tell_all(one, "metric"), tell_trip(one, 0, "metric")):
        assert "1 nights" not in told
        assert "1 night" in told
    assert "in 2 nights (" in tell_all(two, "metric")


def test_replay_takes_the_nights_of_the_brief() -> None:
    """Left out, the nights are the brief's own."""
    assert replay(a_brief(), [flat_year()], PLENTY).nights == 10


# -- pictures --------------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_the_same_trip_draws_the_same_bytes(ending: str, tmp_path: Path) -> None:
    """Drawn twice, whatever style was set before, a picture is the same; nothing else is left behind."""
    import matplotlib

    told = a_replay(2)
    one = draw_trip(told, 5, tmp_path / f"one.{ending}").read_bytes()
    with matplotlib.rc_context({"font.size": 30, "axes.grid": False}):
        other = draw_trip(told, 5, tmp_path / f"two.{ending}").read_bytes()
        assert matplotlib.rcParams["font.size"] == 30
    assert one == other
    assert len(list(tmp_path.iterdir())) == 2
    assert b"<dc:date>" not in one


@pytest.mark.parametrize("number", range(5))
def test_pictures_are_drawn_of_every_ending(number: int, tmp_path: Path) -> None:
    """Short and covered trips, with and without sun and drives, draw without a warning."""
    told = a_replay(number, nights=1 + 5 * number)
    for place in (0, int(told.outcomes.worst_first()[0]), told.binding_spell().departure):
        path = draw_trip(told, place, tmp_path / f"{place}.svg")
        assert path.read_bytes().startswith(b"<?xml")


def test_the_headline_tells_what_the_picture_shows() -> None:
    """Cause, hour and lack of a short trip; room of a covered one; the spell, or that there is none."""
    brief = a_brief(
        uses=[{"name": "use", "power": 10, "hours": 24}], comfort={"heating": False, "fan_hours": 0},
        trip={"nights": 2, "season_from": "12-30", "season_to": "12-30"},
    )
    told = replay(brief, [flat_year(name="grey")], with_bank(PLENTY, usable_wh=100.0))
    assert headline(told.report(0), told.spell(0)) == (
        "grey, departure 12-30: runs short of battery on 12-30 at 22:00, lacking 380 Wh\n"
        "spell (shaded): 48 h from 12-30 12:00, 48 h without sunshine, mean air 20.0 °C"
    )
    calm = replay(a_brief(comfort={"heating": False, "fan_hours": 0}), [flat_year()], with_bank(PLENTY, usable_wh=9.0))
    assert headline(calm.report(0), calm.spell(0)) == (
        "flat, departure 01-01: runs short of nothing, least room 9 Wh\n"
        "no spell: the bank is full in the hour of least room"
    )


def test_other_endings_are_refused(tmp_path: Path) -> None:
    """Only SVG and PNG are drawn, and nothing is written for others."""
    with pytest.raises(UsageError, match=r"trip\.gif: a picture ends in \.svg or \.png"):
        draw_trip(a_replay(0), 0, tmp_path / "trip.gif")
    assert not list(tmp_path.iterdir())


def test_a_missing_drawing_library_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without matplotlib the person is told which extra to install."""
    real = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *rest, **more)

    told = a_replay(0)
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(MissingExtra, match=r"kitwright\[pictures\]"):
        draw_trip(told, 0, tmp_path / "trip.svg")


def test_replay_and_pass_share_their_verdicts() -> None:
    """The replay's outcomes are the pass's own."""
    told = a_replay(4)
    again = outcomes(told.scene, Layout(told.scene).vector(told.numbers), told.nights)
    assert (again.cause == told.outcomes.cause).all()
