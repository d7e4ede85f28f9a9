"""Single trips worked out by hand, what runs short first, and the limit cases."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from trip_cases import PLENTY, a_brief, flat_year, random_kit, random_year, straight_above, with_bank, year_of

import optimizer
from optimizer.physics.cold import cold_box_draw
from optimizer.trips.numbers import ArrayNumbers, HeaterNumbers, KitNumbers, MealNumbers
from optimizer.trips.run import CAUSES, LACK_UNITS, Layout, outcomes, short_departures, survivors
from optimizer.trips.scene import Scene, build_scene

NO_HEATING = {"heating": False, "fan_hours": 0, "hot_van_rise": 0}
ONE_DAY = {"nights": 2, "season_from": "05-01", "season_to": "05-01"}
CLEAN = {"weather": ["made up"], "soiling": 0}


def first(scene: Scene, kit: KitNumbers, nights: int) -> tuple[str, int, float]:
    """Cause, hour and lack of the first departure; and the quick count agrees."""
    vector = Layout(scene).vector(kit)
    found = outcomes(scene, vector, nights)
    cause = CAUSES[int(found.cause[0])]
    assert short_departures(scene, vector, nights, order=np.array([0])) == (cause != "none")
    return cause, int(found.hour[0]), float(found.lack[0])


def by_hand() -> tuple[Scene, KitNumbers]:
    """Two nights at 20 degC with one hour of sun a day, and round numbers.

    Each hour takes 2 W of own draws, over 0.8: 2.5 Wh. From 18:00, four hours of 40 W DC over the
    converter's 0.8 make (50 + 2) / 0.8 = 65 Wh each. At 08:00 one hour of 64 W AC over the inverter's
    0.8 with its own 10 W makes (80 + 10 + 2) / 0.8 = 115 Wh. At 13:00 the 100 W array gives 90 W, 88 W
    are left over, 50 W may enter, 45 Wh stay.

    Depth at the end of the hours: 12:00 2.5; 13:00 0 (full); 17:00 10; 21:00 270; 07:00 295; 08:00 410;
    12:00 420; 13:00 375; 17:00 385; 21:00 645; 07:00 670; 08:00 785; 11:00 792.5.
    """
    sun = np.zeros(8760)
    sun[13::24] = 1000.0
    uses = [
        {"name": "lamps", "power": 20, "count": 2, "hours": 4, "start_hour": 18},
        {"name": "laptop", "power": 64, "hours": 1, "start_hour": 8, "supply": "ac"},
    ]
    brief = a_brief(uses=uses, comfort=NO_HEATING, place=CLEAN, trip=ONE_DAY)
    kit = with_bank(PLENTY, usable_wh=800.0, charge_w=50.0, charge_efficiency=0.9, discharge_efficiency=0.8,
                    self_use_w=1.0)
    kit = replace(
        kit, converter_efficiency=0.8, inverter_efficiency=0.8, inverter_idle_w=10.0, idle_w=1.0,
        arrays=(ArrayNumbers(100.0, 0.0, True, 0.0, 45.0, 1000.0, 0.9),),
    )
    return build_scene(brief, [straight_above(year_of(sun, np.full(8760, 20.0)))]), kit


def test_a_trip_worked_out_by_hand() -> None:
    """The depths of ``by_hand``: 7.5 Wh are left of 800 at 11:00 of the last day, since 14:00 of the first."""
    scene, kit = by_hand()
    found = outcomes(scene, Layout(scene).vector(kit), 2)
    assert CAUSES[int(found.cause[0])] == "none"
    assert found.room_wh[0] == pytest.approx(7.5, abs=1e-9)
    assert (found.room_hour[0], found.spell_from[0]) == (47, 2)


@pytest.mark.parametrize(
    ("usable", "hour", "lack"),
    [(792.5, -1, 0.0), (790.0, 47, 2.5), (789.0, 46, 3.5), (644.0, 33, 148.5),
     (792.5 - 1e-5, 47, 1e-5), (792.5 - 1e-7, -1, 0.0)],  # a shortfall of 1e-6 Wh is rounding, more is not
)
def test_the_bank_by_hand_is_just_large_enough_or_short(usable: float, hour: int, lack: float) -> None:
    """792.5 Wh are needed: less is short from the hour in which the depth passes it, by the difference."""
    scene, kit = by_hand()
    cause, when, amount = first(scene, with_bank(kit, usable_wh=usable), 2)
    assert (cause, when) == ("none" if hour < 0 else "battery", hour)
    assert amount == pytest.approx(lack, abs=1e-9)


@pytest.mark.parametrize(
    ("change", "left"),
    [
        # 20 W leave the controller, 18 are left over, 16.2 Wh stay: 28.8 Wh less than 45 on the second day.
        ({"arrays": (ArrayNumbers(100.0, 0.0, True, 0.0, 45.0, 20.0, 0.9),)}, -21.3),
        # A switching controller that takes 40 W at 0.5 gives the same 20 W.
        ({"arrays": (ArrayNumbers(100.0, 40.0, False, 0.0, 45.0, 99.0, 0.5),)}, -21.3),
        # Two arrays at once: 20 + 20 W leave 38 over, 34.2 Wh stay.
        ({"arrays": (ArrayNumbers(100.0, 0.0, True, 0.0, 45.0, 20.0, 0.9),) * 2}, 7.5 - 10.8),
        # None: 5 Wh open on the first day where there was 0, and 2.5 taken where 45 were put in.
        ({"arrays": ()}, -45.0),
        # An alternator without a drive gives nothing.
        ({"alternator_w": 1000.0}, 7.5),
    ],
)
def test_what_the_array_gives_by_hand(change: dict[str, Any], left: float) -> None:
    """Other arrays on the trip of ``by_hand``: what is left at the end changes by what they give."""
    scene, kit = by_hand()
    found = outcomes(scene, Layout(scene).vector(replace(kit, **change)), 2)
    assert found.room_wh[0] == pytest.approx(left, abs=1e-9)


def heated() -> tuple[Scene, KitNumbers]:
    """Freezing air, 18 degC by day and 12 by night, 50 W/K: 900 W by day, 600 - 140 = 460 W by night.

    Fifteen hours of day and nine of night make 17,640 Wh in 24 hours, 1.764 L at 0.1 mL a watt-hour.
    """
    brief = a_brief(trip=ONE_DAY, comfort={"fan_hours": 0})
    kit = replace(
        PLENTY, heat_loss_w_k=50.0, fuel_l={"diesel": 3.528},
        heater=HeaterNumbers(900.0, 0.0, "dc", 0.0, "diesel", 0.0001),
    )
    return build_scene(brief, [flat_year(air_c=0.0)]), kit


def test_fuel_by_hand() -> None:
    """Two nights burn 3.528 L; 28 mL less run short in the last hour, which burns 90 mL."""
    scene, kit = heated()
    assert first(scene, kit, 2) == ("none", -1, 0.0)
    assert first(scene, replace(kit, fuel_l={"diesel": 3.5}), 2) == ("diesel", 47, pytest.approx(0.028))
    assert first(scene, replace(kit, fuel_l={"petrol": 99.0}), 2) == ("diesel", 0, pytest.approx(3.528))


def test_a_heater_one_watt_too_small_is_short_of_warmth() -> None:
    """899 W against 900 W in the first hour; and no heater at all lacks all of it."""
    scene, kit = heated()
    assert kit.heater is not None
    weak = replace(kit, heater=replace(kit.heater, output_w=899.0))
    assert first(scene, weak, 2) == ("warmth", 0, pytest.approx(1.0))
    assert first(scene, replace(kit, heater=None), 2) == ("warmth", 0, pytest.approx(900.0))


def test_heater_draw_by_hand() -> None:
    """0.01 W a watt of 17,640 Wh and four starts of 6 Wh take 200.4 Wh a night, through the inverter twice that."""
    scene, kit = heated()
    assert kit.heater is not None
    heater = replace(kit.heater, draw_per_w=0.01, start_wh=6.0)
    for supply, taken in (("dc", 200.4), ("ac", 400.8)):
        drawing = replace(kit, heater=replace(heater, supply=supply), inverter_efficiency=0.5)
        found = outcomes(scene, Layout(scene).vector(with_bank(drawing, usable_wh=1000.0)), 2)
        # The bank lives inside: 0.98 of its capacity at 12 degC, but the least room is at 11:00, at 18 degC.
        assert found.room_wh[0] == pytest.approx(1000.0 * (0.95 + 0.05 * 18 / 20) - 2 * taken, abs=1e-6)


def test_cooking_draws_and_burns_by_hand() -> None:
    """A daily meal of 200 Wh, or of 0.1 L: three nights take 600 Wh or 0.3 L."""
    meals = [{"name": "supper", "ability": "boil", "heat": 150}]
    scene = build_scene(a_brief(meals=meals, comfort=NO_HEATING, trip=ONE_DAY), [flat_year()])
    electric = replace(PLENTY, meals=(MealNumbers(200.0, 0.0, "", 0.0, False),))
    assert first(scene, with_bank(electric, usable_wh=600.0), 3) == ("none", -1, 0.0)
    assert first(scene, with_bank(electric, usable_wh=599.0), 3) == ("battery", 48 + 6, pytest.approx(1.0))
    flame = replace(PLENTY, meals=(MealNumbers(0.0, 0.0, "propane", 0.1, False),))
    assert first(scene, replace(flame, fuel_l={"propane": 0.3}), 3) == ("none", -1, 0.0)
    assert first(scene, replace(flame, fuel_l={"propane": 0.29}), 3) == ("propane", 54, pytest.approx(0.01))


def test_a_meal_on_the_drive_is_carried_by_the_alternator() -> None:
    """A meal of 300 Wh draws nothing from the bank while 300 W of alternator run, and all of it otherwise."""
    meals = [{"name": "supper", "ability": "boil", "heat": 150, "hour": 19}]
    trip = {**ONE_DAY, "driving": {"every_days": 1, "hours": 1, "start_hour": 15}}
    scene = build_scene(a_brief(meals=meals, comfort=NO_HEATING, trip=trip), [flat_year()])
    for while_driving, taken in ((True, 0.0), (False, 300.0)):
        kit = replace(PLENTY, alternator_w=300.0, meals=(MealNumbers(300.0, 0.0, "", 0.0, while_driving),))
        found = outcomes(scene, Layout(scene).vector(kit), 2)
        assert found.room_wh[0] == pytest.approx(kit.bank.usable_wh - taken)


def test_a_frozen_bank_takes_no_charge_but_the_sun_still_carries_the_load() -> None:
    """At -5 degC outside: 50 W of sun carry a 40 W use, and give nothing back for a 60 W one."""
    brief = a_brief(comfort=NO_HEATING, place=CLEAN, trip=ONE_DAY, uses=[{"name": "use", "power": 40, "hours": 24}])
    scene = build_scene(brief, [flat_year(ghi=500.0, air_c=-5.0)])
    kit = replace(PLENTY, arrays=(ArrayNumbers(100.0, 0.0, True, 0.0, 45.0, 1e6, 1.0),))
    cold = with_bank(kit, warm=False, charges_cold=False, usable_wh=100.0)
    assert first(scene, cold, 2)[0] == "none"
    # A meal of 60 Wh at 18:00 takes 50 Wh from the store, and they never come back though 10 W are left over.
    with_meal = build_scene(
        brief.model_copy(update={"meals": a_brief(meals=[{"name": "m", "ability": "boil", "heat": 50}]).meals}),
        [flat_year(ghi=500.0, air_c=-5.0)],
    )
    cooking = replace(cold, meals=(MealNumbers(60.0, 0.0, "", 0.0, False),))
    share = 0.875  # half way between 0.95 at 0 degC and 0.80 at -10 degC
    for charges_cold, chemistry, taken in ((False, "lfp_heated", 100.0), (True, "lfp_heated", 50.0)):
        bank = with_bank(cooking, charges_cold=charges_cold, chemistry=chemistry, usable_wh=1000.0)
        found = outcomes(with_meal, Layout(with_meal).vector(bank), 2)
        assert found.room_wh[0] == pytest.approx(1000.0 * share - taken)


@pytest.mark.parametrize(
    ("change", "cause", "hour", "lack"),
    [
        ({"water_l": 24.0}, "none", -1, 0.0),
        ({"water_l": 20.0}, "water", 40, 4.0),  # 12 L a day: 20 L last 40 hours
        ({"grey_l": 16.8}, "none", -1, 0.0),
        ({"grey_l": 8.4}, "waste", 24, 8.4),  # 0.7 of the water
        ({"toilet_visits": 12.0}, "toilet", 36, 4.0),  # two people, four visits each a day
        ({"toilet_visits": 0.0, "water_l": 0.0}, "water", 0, 24.0),  # a tie goes to the earlier cause
    ],
)
def test_water_waste_and_toilet_last_their_hours(
    change: dict[str, float], cause: str, hour: int, lack: float
) -> None:
    """What fills or empties evenly is short in the hour in which it passes its room."""
    scene = build_scene(a_brief(trip=ONE_DAY, comfort=NO_HEATING), [flat_year()])
    assert first(scene, replace(PLENTY, **change), 2) == (cause, hour, pytest.approx(lack))


def test_an_early_cause_hides_a_later_one() -> None:
    """The cause is what runs short first, even where something else lacks more in the end."""
    scene, kit = heated()
    # Ten hours of 90 mL and three of 46 mL pass one litre; the water is out in the last hour.
    kit = replace(kit, fuel_l={"diesel": 1.0}, water_l=23.9)
    assert first(scene, kit, 2)[:2] == ("diesel", 12)


@pytest.mark.parametrize("number", range(5))
def test_a_trip_without_any_load_is_never_short(number: int) -> None:
    """No uses, no draws, no cold: even the smallest bank survives every departure of any year."""
    rng = np.random.default_rng(number)
    scene = build_scene(a_brief(comfort=NO_HEATING), [random_year(rng)])
    kit = replace(with_bank(PLENTY, usable_wh=0.0, warm=False), heater=None, fuel_l={})
    assert survivors(scene, Layout(scene).vector(kit), 30).all()


def test_the_compiled_cold_box_follows_the_published_line() -> None:
    """Draws in the pass equal ``physics.cold.cold_box_draw`` from deep cold to great heat."""
    for around in (-10.0, 5.0, 11.0, 25.0, 32.0, 47.0):
        comfort = {**NO_HEATING}
        scene = build_scene(a_brief(trip=ONE_DAY, comfort=comfort), [flat_year(air_c=around)])
        for rated in ((10.0, 14.0), (10.0, 30.0), (10.0, 8.0)):
            for supply in ("cold_dc", "cold_ac"):
                kit = replace(with_bank(PLENTY, chemistry="agm", usable_wh=1e5, warm=False), **{supply: rated})
                empty = outcomes(scene, Layout(scene).vector(PLENTY_LEAD), 1).room_wh[0]
                left = outcomes(scene, Layout(scene).vector(kit), 1).room_wh[0]
                assert empty - left == pytest.approx(24 * float(cold_box_draw(*rated, around)), rel=1e-9)


PLENTY_LEAD = with_bank(PLENTY, chemistry="agm", usable_wh=1e5, warm=False)


@pytest.mark.parametrize("nights", [0, -1, 121])
def test_nights_out_of_range_are_refused(nights: int) -> None:
    """A trip has 1 to 120 nights."""
    scene = build_scene(a_brief(), [flat_year()])
    with pytest.raises(ValueError, match="nights must be 1 to 120"):
        short_departures(scene, Layout(scene).vector(PLENTY), nights)
    with pytest.raises(ValueError, match="nights must be 1 to 120"):
        outcomes(scene, Layout(scene).vector(PLENTY), nights)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"meals": (MealNumbers(1.0, 0.0, "", 0.0, False),)}, "cooks 1 meals, the brief asks for 0"),
        ({"fuel_l": {"coal": 1.0}}, "unknown fuel 'coal'"),
        ({"arrays": (ArrayNumbers(1, 1, True, 0, 45, 1, 1),) * 3}, "3 arrays, at most 2"),
        ({"bank": replace(PLENTY.bank, chemistry="clay")}, "chemistry 'clay'"),
    ],
)
def test_kits_that_do_not_fit_the_scene_are_refused(change: dict[str, Any], said: str) -> None:
    """Other meals, unknown fuels and chemistries, a third array: said, not guessed at."""
    layout = Layout(build_scene(a_brief(), [flat_year()]))
    with pytest.raises(ValueError, match=said):
        layout.vector(replace(PLENTY, **change))


def test_causes_have_units() -> None:
    """Every cause tells what its lack is measured in."""
    assert set(LACK_UNITS) == set(CAUSES)


def test_worst_first_puts_early_shortfalls_before_close_calls() -> None:
    """Short departures by how soon, then covered ones by how little room."""
    rng = np.random.default_rng(11)
    brief = a_brief()
    scene = build_scene(brief, [random_year(rng)])
    kits = (with_bank(random_kit(rng, 0), usable_wh=1500.0) for _ in range(40))
    kits = (replace(kit, water_l=1e4, grey_l=1e4, toilet_visits=1e4) for kit in kits)
    mixed = 0
    for kit in kits:
        found = outcomes(scene, Layout(scene).vector(kit), 4)
        order = found.worst_first()
        assert sorted(order.tolist()) == list(range(365))
        alive = found.survived[order]
        assert (np.diff(alive.astype(int)) >= 0).all()
        assert (np.diff(found.hour[order][~alive]) >= 0).all()
        assert (np.diff(found.room_wh[order][alive]) >= 0).all()
        mixed += 0 < alive.sum() < 365
    assert mixed > 5


def test_the_pass_compiles_where_nothing_can_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no folder for compiled code, as in a read-only home, functions are compiled all the same."""
    from numba.core import caching

    from optimizer.trips import kernel

    monkeypatch.setattr(caching.CompileResultCacheImpl, "_locator_classes", [])

    def twice(number: float) -> float:
        return 2.0 * number

    assert kernel.compiled(twice)(21.0) == 42.0


def test_importing_the_trips_compiles_nothing() -> None:
    """The scene, the layout and the run are there without numba; it comes with the first trip."""
    home = Path(optimizer.__file__).parents[1]
    code = (
        "import sys, optimizer.trips.run, optimizer.trips.replay, optimizer.trips.picture\n"
        "heavy = {'numba', 'pandas', 'matplotlib', 'pvlib', 'ortools'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=home)
    assert (done.returncode, done.stderr) == (0, "")
