"""What level glass lets through of the sun, against pvlib; and that problem and trips count on no more."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pvlib.iam import marion_diffuse, physical
from trip_cases import a_brief, flat_year, year_of

from optimizer.job import open_job
from optimizer.physics.glass import let_through, share_of_level
from optimizer.trips.scene import build_scene
from optimizer.weather.reading import read_year

EXAMPLE = Path(__file__).parents[1] / "examples" / "high_plains_spring.toml"


def test_a_ray_gets_through_as_pvlib_says() -> None:
    """De Soto and others (2006), as in pvlib's ``iam.physical``."""
    angles = np.linspace(0.0, 89.9, 200)
    np.testing.assert_allclose(let_through(angles), physical(angles, n=1.526, K=4.0, L=0.002), rtol=1e-6)
    assert let_through(0.0) == pytest.approx(1.0)
    assert let_through(90.0) == pytest.approx(0.0, abs=1e-9)
    assert let_through(135.0) == pytest.approx(0.0, abs=1e-9)


def test_light_of_the_whole_sky_gets_through_as_marion_sums_it_up() -> None:
    """B. Marion (2017), as in pvlib's ``iam.marion_diffuse``: one angle comes within half a hundredth of the sum."""
    overcast = share_of_level(np.array([200.0]), np.array([200.0]), np.array([5.0]))
    assert float(overcast[0]) == pytest.approx(float(marion_diffuse("physical", 0.0)["sky"]), abs=0.005)


@given(
    st.floats(0, 1400), st.floats(0, 1500), st.floats(-90, 90), st.floats(0, 60),
)  # fmt: skip
def test_never_more_than_all_and_a_higher_sun_never_less(ghi: float, dhi: float, elevation: float, more: float) -> None:
    low, high = (
        float(share_of_level(*(np.array([x]) for x in (ghi, dhi, angle)))[0]) for angle in (elevation, elevation + more)
    )
    assert 0.0 <= low <= 1.0
    if elevation + more <= 90:
        assert high >= low - 1e-12
    if ghi == 0:
        assert low == 1.0


@pytest.mark.parametrize(("station", "least", "most"), [("723170", 0.03, 0.05), ("703165", 0.05, 0.08)])
def test_a_year_loses_a_twentieth_and_a_northern_december_more(station: str, least: float, most: float) -> None:
    year = read_year(f"station:{station}", Path())
    share = share_of_level(year.ghi, year.dhi, year.sun_elevation_deg)
    lost = 1.0 - float((share * year.ghi).sum() / year.ghi.sum())
    assert least < lost < most
    december = slice(334 * 24, 365 * 24)
    late = 1.0 - float((share * year.ghi)[december].sum() / year.ghi[december].sum())
    assert late > lost


def test_trips_count_on_what_gets_through() -> None:
    """100 W of sun at 30 degrees, seven tenths of it beam: 70 W times 0.946 and 30 W times 0.948 get through."""
    low, above = year_of(np.full(8760, 100.0), np.full(8760, 20.0)), flat_year(100.0)
    ray, sky = (float(physical(angle, n=1.526, K=4.0, L=0.002)) for angle in (60.0, 59.7))
    through = 0.7 * ray + 0.3 * sky
    scene, bright = (build_scene(a_brief(), [year]) for year in (low, above))
    np.testing.assert_allclose(scene.sun, bright.sun * through, rtol=1e-6)
    one, other = (made.panel_yield(made.panel_class(-0.4, 45.0)) for made in (scene, bright))
    np.testing.assert_allclose(one, other * through, rtol=1e-6)


def test_mean_days_count_on_what_gets_through() -> None:
    """A panel of an example: its mean day is that of each hour behind the glass."""
    from optimizer.physics.sun import array_power, loss_factor
    from optimizer.problem.season import Season

    job = open_job(EXAMPLE)
    (panel, *_) = job.catalog.parts["solar_panel"]
    season, place, (year, *_) = Season(job.brief, job.years), job.brief.place, job.years
    share = share_of_level(year.ghi, year.dhi, year.sun_elevation_deg)
    counted = loss_factor(place.soiling, place.shading, place.sun_stress)
    month = season.months[0]
    here = np.repeat(np.arange(1, 13), [31 * 24, 28 * 24, *(d * 24 for d in (31, 30, 31, 30, 31, 31, 30, 31, 30, 31))])
    power = array_power(year.ghi * counted, season.weather_air_c, 1.0, panel.power_coefficient_pct_k, panel.noct_c)
    expected = panel.power_w * float((power * share)[here == month].mean()) * 24
    assert season.sun_wh(month, panel) == pytest.approx(expected)
    made = power * panel.power_w
    held = np.minimum(made, panel.imp_a * 12.0 * year.ghi * counted / 1000.0)
    expected = float((held * share)[here == month].mean()) * 24
    assert season.switched_wh(month, panel, 12.0, 1) == pytest.approx(expected)
    assert expected < season.sun_wh(month, panel)
