"""What must hold of the formulas for any numbers: arrays agree with scalars, directions, limits."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.brief.vehicle import Surface
from optimizer.parts.records import Insulation
from optimizer.physics import air, battery, cold, cooking, fuel, heat, sun, water
from optimizer.physics import sun_geometry as geometry

CHEMISTRIES = sorted(battery.CAPACITY_CURVES)
temperatures = st.floats(-50, 60)
irradiances = st.floats(0, 1400)
shares = st.floats(0.05, 1.0)
facings = st.sampled_from(["side", "up", "down"])

ONE_ARGUMENT: dict[str, tuple[Callable[[Any], Any], st.SearchStrategy[float]]] = {
    "cell_temperature": (lambda v: sun.cell_temperature(v, 12.0, 47.0), irradiances),
    "power_ratio": (lambda v: sun.power_ratio(v, -0.37), st.floats(-40, 400)),
    "array_power": (lambda v: sun.array_power(v, 12.0, 300.0, -0.37, 47.0), irradiances),
    "switching_power": (lambda v: sun.switching_power(v, 12.0, 300.0, -0.37, 47.0, 16.0, 13.2), irradiances),
    "voc_cold": (lambda v: sun.voc_cold(22.0, -0.3, v), temperatures),
    "vmp_hot": (lambda v: sun.vmp_hot(18.0, -0.4, v), st.floats(-40, 400)),
    "plane_of_array": (
        lambda v: sun.plane_of_array(600.0, 700.0, 200.0, v, 150.0, 30.0, 170.0), st.floats(-90, 90)
    ),
    "capacity_factor": (lambda v: battery.capacity_factor("agm", v), temperatures),
    "may_charge": (lambda v: battery.may_charge("lfp", v), temperatures),
    "usable_energy": (lambda v: battery.usable_energy(v, 0.9, 10.0), irradiances),
    "peukert_hours": (lambda v: battery.peukert_hours(v, 100.0, 1.2), st.floats(0.1, 200)),
    "peukert_hours_1a": (lambda v: battery.peukert_hours_1a(v, 100.0, 1.2), st.floats(0.1, 200)),
    "cold_box_draw": (lambda v: cold.cold_box_draw(10.0, 14.0, v), temperatures),
    "layer_resistance": (lambda v: heat.layer_resistance(v, 0.04), st.floats(0, 200)),
    "insulated_u": (lambda v: heat.insulated_u(v, 0.04, 0.85, "up"), st.floats(0, 200)),
    "heat_demand": (lambda v: heat.heat_demand(50.0, 18.0, v, 140.0), temperatures),
    "inside_surface": (lambda v: heat.inside_surface_temperature(v, 18.0, -5.0), st.floats(0, 7)),
    "ventilation_loss": (lambda v: heat.ventilation_loss(v, 1.5), st.floats(0, 40)),
    "air_density": (air.air_density, st.floats(-400, 9000)),
    "dew_point": (lambda v: air.dew_point(15.0, v), st.floats(1, 100)),
    "condenses": (lambda v: air.condenses(v, 15.0, 60.0), temperatures),
    "relative_humidity": (lambda v: air.relative_humidity(20.0, v), st.floats(-40, 20)),
    "fuel_litres": (lambda v: fuel.fuel_litres(v, 0.85, "diesel"), irradiances),
    "water_density": (water.water_density, st.floats(0, 100)),
    "heat_to_boil": (cooking.heat_to_boil, st.floats(0, 10)),
    "cooking_hours": (lambda v: cooking.cooking_hours(v, 0.45, 1500.0), irradiances),
    "declination": (geometry.declination, st.floats(1, 365)),
    "daylight_hours": (lambda v: geometry.daylight_hours(55.0, v), st.floats(1, 365)),
    "extraterrestrial_daily": (lambda v: geometry.extraterrestrial_daily(55.0, v), st.floats(1, 365)),
    "sun_elevation": (lambda v: geometry.sun_elevation(55.0, 100.0, v), st.floats(0, 24)),
    "equation_of_time": (geometry.equation_of_time, st.floats(1, 365)),
    "hourly_share": (lambda v: geometry.hourly_share(43.0, 200.0, v), st.floats(0, 24)),
}


@pytest.mark.parametrize("name", sorted(ONE_ARGUMENT))
@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_an_array_gives_what_its_numbers_give(name: str, data: st.DataObject) -> None:
    """Scalar = vector, for every formula; and a scalar stays a scalar."""
    function, numbers = ONE_ARGUMENT[name]
    values = data.draw(st.lists(numbers, min_size=1, max_size=5))
    one_by_one = [function(value) for value in values]
    assert all(np.ndim(value) == 0 for value in one_by_one)
    together = function(np.array(values))
    assert together.shape == (len(values),)
    np.testing.assert_allclose(together, one_by_one, rtol=1e-12, atol=1e-12)


@settings(deadline=None)
@given(st.sampled_from(CHEMISTRIES), temperatures, temperatures)
def test_warmth_never_costs_capacity(chemistry: str, one: float, other: float) -> None:
    """Capacity never falls with temperature, never passes the rating, is never negative."""
    colder, warmer = sorted((one, other))
    low, high = battery.capacity_factor(chemistry, colder), battery.capacity_factor(chemistry, warmer)
    assert 0 <= low <= high <= 1
    assert battery.capacity_factor(chemistry, 25.0) == 1


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_charging_stops_exactly_at_the_window(chemistry: str) -> None:
    """Just inside the window a battery may be charged, just outside it must not."""
    coldest, hottest = battery.CHARGE_WINDOWS_C[chemistry]
    edge = np.array([coldest - 0.01, coldest, hottest, hottest + 0.01])
    assert battery.may_charge(chemistry, edge).tolist() == [0, 1, 1, 0]
    assert battery.may_charge("lfp", -0.1) == 0  # lithium plates out below freezing


def test_an_unknown_chemistry_is_refused() -> None:
    """A slip in a chemistry's name never passes as some battery."""
    with pytest.raises(KeyError):
        battery.capacity_factor("lifepo", 20.0)
    with pytest.raises(KeyError):
        battery.may_charge("lifepo", 20.0)


@settings(deadline=None)
@given(irradiances, irradiances, st.floats(-40, 45), st.floats(-0.6, -0.2), st.floats(40, 60))
def test_array_power_has_its_limits(
    one: float, other: float, air_c: float, coefficient: float, noct: float
) -> None:
    """No sun, no power; more sun, more power at these temperatures; colder air never less."""
    dark, bright = sorted((one, other))
    assert sun.array_power(0.0, air_c, 410.0, coefficient, noct) == 0
    low, high = (sun.array_power(poa, air_c, 410.0, coefficient, noct) for poa in (dark, bright))
    assert low <= high + 1e-9
    assert sun.array_power(bright, air_c - 10, 410.0, coefficient, noct) >= high


def test_array_power_at_the_rating_is_the_rating() -> None:
    """At 1000 W/m2 and a cell of 25 degC a panel gives its rated power."""
    air_c = 25.0 - (47.0 - 20.0) / 800.0 * 1000.0
    assert sun.array_power(1000.0, air_c, 410.0, -0.34, 47.0) == pytest.approx(410.0)


@settings(deadline=None)
@given(irradiances, st.floats(-30, 45), st.floats(11, 30), st.floats(1, 40))
def test_switching_never_beats_tracking(poa: float, air_c: float, bank_v: float, current: float) -> None:
    """A switching controller takes its current at the bank's voltage and never more than is there."""
    best = sun.array_power(poa, air_c, 300.0, -0.4, 47.0)
    taken = sun.switching_power(poa, air_c, 300.0, -0.4, 47.0, current, bank_v)
    assert taken == pytest.approx(min(current * poa / 1000 * bank_v, best))


@settings(deadline=None)
@given(st.floats(-40, 24.9), st.floats(-40, 24.9))
def test_colder_mornings_never_lower_the_voltage(one: float, other: float) -> None:
    """Both ways to the highest array voltage rise as it gets colder."""
    colder, warmer = sorted((one, other))
    assert sun.nec_690_7_factor(colder) >= sun.nec_690_7_factor(warmer) > 1
    assert sun.voc_cold(22.0, -0.3, colder) >= sun.voc_cold(22.0, -0.3, warmer)


def test_voltage_table_between_its_steps_and_at_its_ends() -> None:
    """A reading between two whole degrees goes to the colder step; beyond the table there is none."""
    assert sun.nec_690_7_factor(19.5) == 1.04
    assert sun.nec_690_7_factor(25.0) == 1.0
    assert sun.nec_690_7_factor(40.0) == 1.0
    with pytest.raises(ValueError, match="own coefficient"):
        sun.nec_690_7_factor(-40.1)


@settings(deadline=None)
@given(st.floats(0, 99), st.floats(0, 99), st.floats(1, 120))
def test_losses_follow_one_another(soiling: float, shading: float, stress: float) -> None:
    """Remainders multiply; none of them, and the sun is whole."""
    assert sun.loss_factor() == 1
    factor = sun.loss_factor(soiling, shading, stress)
    assert factor == pytest.approx((100 - soiling) * (100 - shading) * stress / 1e6)


@settings(deadline=None)
@given(irradiances, irradiances, irradiances, st.floats(-20, 90), st.floats(0, 360))
def test_a_level_panel_gets_the_global_sun(
    ghi: float, dni: float, dhi: float, elevation: float, azimuth: float
) -> None:
    """No tilt: the measured value itself. A hair of tilt: what beam and sky add up to."""
    assert sun.plane_of_array(ghi, dni, dhi, elevation, azimuth) == ghi
    hair = sun.plane_of_array(ghi, dni, dhi, elevation, azimuth, 1e-7)
    assert hair == pytest.approx(dni * max(np.sin(np.radians(elevation)), 0) + dhi, abs=1e-4)


@settings(deadline=None)
@given(st.floats(0, 60), st.floats(0, 60), temperatures, temperatures)
def test_cold_box_draw_rises_with_warmth_and_has_a_floor(
    w25: float, w32: float, one: float, other: float
) -> None:
    """Never less in the warm, never below a tenth of the 25 degC draw, and its two ratings met."""
    cooler, warmer = sorted((one, other))
    low, high = (cold.cold_box_draw(w25, w32, around) for around in (cooler, warmer))
    assert 0.1 * w25 <= low <= high
    assert cold.cold_box_draw(w25, w32, 25.0) == pytest.approx(w25)
    assert cold.cold_box_draw(w25, w32, 32.0) == pytest.approx(max(w25, w32))


@settings(deadline=None)
@given(st.floats(0, 60), st.floats(0, 60), st.floats(0, 20), temperatures)
def test_a_thirstier_box_never_draws_less(w25: float, w32: float, more: float, around: float) -> None:
    """Raising both ratings never lowers the draw, at any temperature above the floor's reach."""
    assert cold.cold_box_draw(w25 + more, w32 + more, around) >= cold.cold_box_draw(w25, w32, around) - 1e-9


@settings(deadline=None)
@given(st.floats(0, 200), st.floats(0, 200), st.floats(0.02, 0.2), shares, shares, facings)
def test_insulation_never_lets_more_heat_out(
    one: float, other: float, conductivity: float, part: float, whole: float, facing: str
) -> None:
    """Thicker, or over more of the surface, is never worse; nothing fitted is bare metal."""
    thin, thick = sorted((one, other))
    less, more = sorted((part, whole))
    bare = heat.u_value(0.0, facing)
    worst = heat.insulated_u(thin, conductivity, less, facing)
    assert heat.insulated_u(thick, conductivity, less, facing) <= worst + 1e-12
    assert heat.insulated_u(thin, conductivity, more, facing) <= worst + 1e-12
    assert heat.insulated_u(0.0, conductivity, less, facing) == pytest.approx(bare)
    full = heat.insulated_u(thick, conductivity, 1.0, facing)
    assert full == pytest.approx(heat.u_value(heat.layer_resistance(thick, conductivity), facing))


def test_heat_loss_of_a_van_by_hand() -> None:
    """Records of the brief and the catalog, summed by hand from ISO 6946 resistances."""
    lining = Insulation(
        id="foam", name="Foam", price_usd=10, mass_kg=1, material="foam", thickness_mm=30,
        conductivity_w_mk=0.03, covered_share=0.8,
    )
    body = (
        Surface(name="walls", area=10),
        Surface(name="roof", area=5, facing="up"),
        Surface(name="floor", area=5, kind="floor"),
        Surface(name="panes", area=2, kind="glass"),
        Surface(name="doors", area=1, kind="door"),
        Surface(name="wheel arches", area=1, kind="bare"),
    )
    # Bare metal: 1/0.17 = 5.882, up 1/0.14 = 7.143, down 1/0.21 = 4.762; with 1.0 m2K/W of foam
    # 1/1.17 = 0.8547, 1/1.14 = 0.8772, 1/1.21 = 0.8264; four fifths covered.
    walls = 10 * (0.8 / 1.17 + 0.2 / 0.17)
    roof = 5 * (0.8 / 1.14 + 0.2 / 0.14)
    floor = 5 * (0.8 / 1.21 + 0.2 / 0.21)
    rest = 2 * 5.7 + 1 * 5.7 + 1 / 0.17
    air_loss = 0.33 * 8 * 1.5
    assert heat.heat_loss(body, lining, 8.0, 1.5) == pytest.approx(walls + roof + floor + rest + air_loss)
    bare = 10 / 0.17 + 5 / 0.14 + 5 / 0.21 + rest + air_loss
    assert heat.heat_loss(body, None, 8.0, 1.5) == pytest.approx(bare)


def test_a_pane_in_the_roof_loses_more_than_in_a_wall() -> None:
    """Glass keeps its own resistance; only the surface resistance changes with the way of the heat."""
    assert heat.surface_u("glass", "side", None) == pytest.approx(5.7)
    assert heat.surface_u("glass", "up", None) == pytest.approx(1 / (1 / 5.7 - 0.03))
    with pytest.raises(ValueError, match="canvas"):
        heat.surface_u("canvas", "side", None)


@settings(deadline=None)
@given(st.floats(5, 200), st.floats(-30, 30), st.floats(-40, 40), st.floats(0, 500))
def test_heat_demand_is_what_leaves_less_what_is_given(
    loss: float, inside: float, outside: float, gains: float
) -> None:
    """Warm outside or many people: nothing to heat, never less than nothing."""
    demand = heat.heat_demand(loss, inside, outside, gains)
    assert demand == pytest.approx(max(loss * (inside - outside) - gains, 0.0))
    assert heat.heat_demand(loss, outside, outside, gains) == 0


@settings(deadline=None)
@given(st.floats(0, 6000), st.floats(0, 6000))
def test_burners_weaken_with_height(one: float, other: float) -> None:
    """Higher never gives more heat, and below the sea no more than at it."""
    low, high = sorted((one, other))
    assert fuel.burner_output(2000.0, high) <= fuel.burner_output(2000.0, low) <= 2000.0
    assert fuel.burner_output(2000.0, -300.0) == 2000.0


@pytest.mark.parametrize("name", fuel.FUELS)
def test_fuel_for_heat_and_back(name: str) -> None:
    """A litre burnt without loss gives its heating value; half the efficiency takes twice the fuel."""
    assert fuel.fuel_litres(fuel.FUEL_LHV_WH_L[name], 1.0, name) == pytest.approx(1.0)
    assert fuel.fuel_litres(1000.0, 0.4, name) == pytest.approx(2 * fuel.fuel_litres(1000.0, 0.8, name))
    assert fuel.fuel_mass(10.0, name) == pytest.approx(10 * fuel.FUEL_DENSITY_KG_L[name])


@settings(deadline=None)
@given(st.floats(-30, 40), st.floats(2, 100))
def test_dew_point_and_humidity_are_inverse(air_c: float, humidity: float) -> None:
    """Dew point from humidity and humidity from dew point undo each other; damp air has it at the air."""
    dew = air.dew_point(air_c, humidity)
    assert dew <= air_c + 1e-9
    assert air.relative_humidity(air_c, dew) == pytest.approx(humidity, rel=1e-9)
    assert air.dew_point(air_c, 100.0) == pytest.approx(air_c, abs=1e-9)


def test_a_bare_wall_sweats_before_a_lined_one() -> None:
    """15 degC and 60 % inside, 0 degC outside: bare metal is below the dew point of 7.3 degC, lined is not.

    The dew point by the Magnus formula (from memory); the faces by hand: 15 - 5.88 * 15 * 0.13 = 3.5 degC,
    and with 1 m2K/W 15 - 0.855 * 15 * 0.13 = 13.3 degC.
    """
    assert air.dew_point(15.0, 60.0) == pytest.approx(7.3, abs=0.1)
    bare = heat.inside_surface_temperature(heat.u_value(0.0), 15.0, 0.0)
    lined = heat.inside_surface_temperature(heat.u_value(1.0), 15.0, 0.0)
    assert (bare, lined) == pytest.approx((3.5, 13.3), abs=0.05)
    assert air.condenses(bare, 15.0, 60.0) == 1
    assert air.condenses(lined, 15.0, 60.0) == 0


def test_day_length_at_the_ends() -> None:
    """Twelve hours at the equator, none in the polar night, all of them in the polar summer."""
    days = np.arange(1.0, 366.0)
    np.testing.assert_allclose(geometry.daylight_hours(0.0, days), 12.0)
    assert geometry.daylight_hours(80.0, 355.0) == 0
    assert geometry.extraterrestrial_daily(80.0, 355.0) == pytest.approx(0, abs=1e-9)
    assert geometry.daylight_hours(80.0, 172.0) == 24


@settings(deadline=None)
@given(st.floats(-60, 60), st.integers(1, 365))
def test_hourly_shares_make_one_day(latitude: float, day: int) -> None:
    """Shares are never negative at night, and those of the diffuse sun add up to the day."""
    hours = np.arange(0.05, 24, 0.1)
    shares_of_day = geometry.hourly_diffuse_share(latitude, float(day), hours)
    assert (shares_of_day >= 0).all()
    assert shares_of_day.sum() / 10 == pytest.approx(1.0, abs=0.01)


def test_cooking_is_the_heat_over_the_efficiency() -> None:
    """A litre from 15 degC to the boil takes 98.9 Wh (IAPWS-95), on a flame of 45 % 220 Wh."""
    useful = cooking.heat_to_boil(1.0, 15.0, 99.97)
    assert useful == pytest.approx(98.9, abs=0.2)
    assert cooking.energy_for_heat(useful, 0.45) == pytest.approx(219.6, abs=0.5)
    assert cooking.cooking_hours(useful, 0.45, 1500.0) * 60 == pytest.approx(8.8, abs=0.05)


def test_formulas_are_cheap_to_import() -> None:
    """The formulas need numpy alone: pvlib and pandas come only where the sun's place is asked for."""
    names = ("air", "battery", "cold", "cooking", "fuel", "heat", "sun", "sun_geometry", "water")
    code = "import sys\n" + "".join(f"import optimizer.physics.{name}\n" for name in names)
    code += "sys.exit(any(m in sys.modules for m in ('pandas', 'pvlib', 'scipy', 'pydantic')))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_any_record_with_the_fields_will_do() -> None:
    """Heat loss reads three fields of a surface and three of a lining, whatever they belong to."""
    wall = SimpleNamespace(area=2.0, kind="insulated", facing="side")
    lining = SimpleNamespace(thickness_mm=40.0, conductivity_w_mk=0.04, covered_share=1.0)
    assert heat.fabric_loss([wall], lining) == pytest.approx(2 / 1.17)


def test_a_sun_below_the_horizon_lights_no_slope() -> None:
    """Ten degrees below the horizon, straight in front of an upright panel: sky and ground light alone."""
    lit = sun.plane_of_array(0.0, 300.0, 0.0, -10.0, 180.0, 90.0, 180.0)
    assert lit == 0
    assert sun.plane_of_array(0.0, 300.0, 0.0, 10.0, 180.0, 90.0, 180.0) > 290


def test_power_ratio_never_turns_negative() -> None:
    """A cell hotter than any coefficient allows gives nothing, and takes nothing."""
    assert sun.power_ratio(25.0 + 1 / 0.004 + 50, -0.4) == 0
    assert sun.vmp_hot(18.0, -0.4, 25.0 + 1 / 0.004 + 50) == 0


@pytest.mark.parametrize(
    ("chemistry", "points"),
    [
        ("lfp", {-31.0: 0, -30.0: 0, -20.0: 0.70, -15.0: 0.75, -10.0: 0.80, 0.0: 0.95, 10.0: 0.975, 20.0: 1}),
        ("lfp_heated", {-20.0: 0.70, 0.0: 0.95, 35.0: 1}),
        # 1/1.52 at -3.9 degC, and below it the slope of the table's last step: (1/1.43 - 1/1.52) / 2.8 K.
        ("agm", {-3.9: 0.65789, -10.0: 0.56769, -20.0: 0.41981, -50.0: 0}),
    ],
)
def test_capacity_in_the_cold_by_hand(chemistry: str, points: dict[float, float]) -> None:
    """Lithium iron phosphate by common practice (no source); lead-acid by IEEE 485 carried on downwards."""
    for at, share in points.items():
        assert battery.capacity_factor(chemistry, at) == pytest.approx(share, abs=1e-5)


def test_the_reserve_is_kept_back_from_the_usable_part() -> None:
    """1280 Wh, nine tenths usable, a tenth of that kept back: 1036.8 Wh."""
    assert battery.usable_energy(1280.0, 0.9, 10.0) == pytest.approx(1036.8)
    assert battery.usable_energy(1280.0, 0.9) == pytest.approx(1152.0)
    assert battery.nominal_energy(12.8, 100.0, series=2, parallel=3) == pytest.approx(7680.0)


def test_the_top_of_a_lead_battery_is_not_counted_on() -> None:
    """Between half and 85 % full a lead battery of 1200 Wh works with 35 %, 420 Wh (common practice, no source)."""
    last = battery.LAST_SHARES["agm"]
    assert battery.usable_energy(1200.0, 0.5, last_share=last) == pytest.approx(420.0)
    assert battery.usable_energy(1200.0, 0.5, 10.0, last) == pytest.approx(378.0)
    assert battery.usable_energy(1200.0, 0.1, last_share=last) == 0
    assert set(battery.LAST_SHARES) == set(battery.CAPACITY_CURVES)
