"""A year at a glance, its picture, and the hints when it does not fit its own place."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import FaultsFound, MissingExtra, UsageError
from optimizer.physics.sun_geometry import extraterrestrial_daily
from optimizer.showing import System
from optimizer.weather import summary
from optimizer.weather.plausible import clock_faults, hints, season_faults, sun_faults, sun_shift
from optimizer.weather.reading import read_year
from optimizer.weather.year import WeatherYear, date_of, day_index, month_of_hour

HERE = Path(__file__).parent
NUMBERS = ("723170", "703165", "12839")


@pytest.fixture(scope="module", params=NUMBERS)
def station(request: pytest.FixtureRequest) -> WeatherYear:
    """Each station that comes along."""
    return read_year(f"station:{request.param}", HERE)


@pytest.fixture(scope="module")
def coast() -> WeatherYear:
    """The cold maritime station at 55 N."""
    return read_year("station:703165", HERE)


def invented(ghi: np.ndarray, air_c: np.ndarray, latitude: float = 45.0) -> WeatherYear:
    """A year with the given sun and air, everything else quiet."""
    nothing = np.zeros(8760)
    return WeatherYear("invented", latitude, 0.0, 0.0, 0.0, ghi, nothing, ghi, air_c, nothing, nothing, nothing)


def test_months_add_up_to_the_year(station: WeatherYear) -> None:
    """Mean days times days make the year's sun; lowest, mean and highest are in order and those of the year."""
    months = summary.monthly(station)
    assert [row.month for row in months] == list(range(1, 13))
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert float(days @ [row.sun_kwh_m2_day for row in months]) == pytest.approx(summary.yearly_sun(station))
    assert all(row.coldest_c <= row.mean_c <= row.hottest_c for row in months)
    assert min(row.coldest_c for row in months) == station.air_c.min()
    assert max(row.hottest_c for row in months) == station.air_c.max()


@pytest.mark.parametrize(
    ("number", "sun", "coldest", "hottest"),
    [("703165", 829, -10.6, 19.4), ("723170", 1566, -16.7, 35.6), ("12839", 1793, 3.3, 33.9)],
)
def test_stations_have_their_known_sun_and_span(number: str, sun: int, coldest: float, hottest: float) -> None:
    """Regression values of the stations' files as pvlib 0.16 ships them (2026)."""
    year = read_year(f"station:{number}", HERE)
    assert round(summary.yearly_sun(year)) == sun
    assert (year.air_c.min(), year.air_c.max()) == (coldest, hottest)


def test_greyest_week_is_found_also_over_the_new_year() -> None:
    """A dark week from 29 December to 4 January, and one in spring that is a little less dark."""
    sun = np.full(8760, 100.0)
    sun[24 * day_index(12, 29) :] = 0
    sun[: 24 * day_index(1, 5)] = 0
    sun[24 * day_index(4, 1) : 24 * day_index(4, 8)] = 1.0
    week = summary.greyest_week(invented(sun, np.zeros(8760)))
    assert (week.month, week.day, week.sun_kwh_m2_day) == (12, 29, 0.0)


@settings(deadline=None, max_examples=20)
@given(st.lists(st.integers(0, 5000), min_size=365, max_size=365))
def test_greyest_week_against_every_week(daily: list[int]) -> None:
    """The ring of the year searched week by week in plain Python gives the same."""
    sun = np.repeat(np.array(daily, dtype=float) / 24, 24)
    weeks = [sum(daily[(first + day) % 365] for day in range(7)) for first in range(365)]
    first = weeks.index(min(weeks))
    found = summary.greyest_week(invented(sun, np.zeros(8760)))
    assert (found.month, found.day) == date_of(first)
    assert found.sun_kwh_m2_day == pytest.approx(weeks[first] / 7000)


def test_coldest_night_bears_the_date_of_its_evening() -> None:
    """Frost at 5 in the morning of 10 February belongs to the night of the 9th; its mean is of 12 hours."""
    air = np.full(8760, 10.0)
    air[24 * day_index(2, 10) + 5] = -14.0
    night = summary.coldest_night(invented(np.ones(8760), air))
    assert (night.month, night.day, night.lowest_c) == (2, 9, -14.0)
    assert night.mean_c == pytest.approx((11 * 10 - 14) / 12)


@pytest.mark.parametrize(("index", "date"), [(0, (1, 1)), (58, (2, 28)), (59, (3, 1)), (364, (12, 31)), (365, (1, 1))])
def test_day_of_the_year_to_date(index: int, date: tuple[int, int]) -> None:
    """Without a leap day, and round again."""
    assert date_of(index) == date


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_the_picture_is_whole_and_always_the_same(coast: WeatherYear, tmp_path: Path, ending: str) -> None:
    """Two drawings of a year are equal byte by byte, whatever style was set before; nothing else is left there."""
    matplotlib = pytest.importorskip("matplotlib")
    first, second = tmp_path / f"one.{ending}", tmp_path / f"two.{ending}"
    summary.draw_year(coast, first)
    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "axes.facecolor": "red"}):
        summary.draw_year(coast, second)
    assert first.read_bytes() == second.read_bytes()
    assert len(first.read_bytes()) > 5000
    assert sorted(path.name for path in tmp_path.iterdir()) == [first.name, second.name]


def test_a_picture_is_drawn_in_the_units_asked_for(coast: WeatherYear, monkeypatch: pytest.MonkeyPatch) -> None:
    """Degrees Fahrenheit on the axis for whoever reads the table in them; the sun is the same in both."""
    from matplotlib.figure import Figure

    def axes_of(units: System) -> tuple[Any, Any]:
        figure = Figure()
        monkeypatch.setattr(summary, "write_picture", lambda path, draw, size: draw(figure))
        summary.draw_year(coast, Path("year.svg"), units)
        sun, air = figure.axes
        return sun, air

    (sun, metric), (same_sun, us) = axes_of("metric"), axes_of("us")
    assert metric.get_ylabel().endswith("[°C]")
    assert us.get_ylabel().endswith("[°F]")
    assert us.get_ylim()[1] == pytest.approx(metric.get_ylim()[1] * 1.8 + 32, abs=0.5)
    assert same_sun.get_ylim() == sun.get_ylim()


def test_a_name_with_dollar_signs_is_drawn_as_it_is(coast: WeatherYear, tmp_path: Path) -> None:
    """Two dollar signs are no mathematics: nothing in a name can spoil a picture."""
    pytest.importorskip("matplotlib")
    summary.draw_year(replace(coast, name=r"from $\frac to $9"), tmp_path / "year.svg")
    assert (tmp_path / "year.svg").stat().st_size > 5000


def test_a_picture_of_another_kind_or_place_is_refused(coast: WeatherYear, tmp_path: Path) -> None:
    """What a picture may end in is told; a folder that is not there too."""
    with pytest.raises(UsageError, match=r"year\.bmp: a picture ends in \.svg or \.png"):
        summary.draw_year(coast, tmp_path / "year.bmp")
    pytest.importorskip("matplotlib")
    with pytest.raises(FaultsFound, match="not writable"):
        summary.draw_year(coast, tmp_path / "nowhere" / "year.png")


def test_without_matplotlib_the_extra_is_named(
    coast: WeatherYear, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A missing library is told with what to install."""
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(MissingExtra, match=r"kitwright\[pictures\]"):
        summary.draw_year(coast, tmp_path / "year.png")


def test_tables_do_not_need_matplotlib_or_pandas() -> None:
    """The table of months is cheap to import."""
    code = (
        "import sys; import optimizer.weather.summary, optimizer.weather.plausible;"
        "sys.exit(any(name in sys.modules for name in ('matplotlib', 'pandas', 'pvlib')))"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=HERE.parent, check=False).returncode == 0


def test_stations_fit_their_places(station: WeatherYear) -> None:
    """Nothing to hint at in the years that come along."""
    assert hints(station) == ()


def test_a_year_of_the_other_hemisphere_is_noticed(station: WeatherYear) -> None:
    """The sign of the latitude lost: one hint, of the season."""
    found = hints(replace(station, latitude=-station.latitude))
    assert [hint.place for hint in found] == ["season"]
    assert "south is negative" in found[0].sentence()


def test_a_southern_year_fits_the_south(station: WeatherYear) -> None:
    """Half a year round and the latitude turned: summer in December is right there."""
    there = replace(
        station, latitude=-station.latitude, ghi=np.roll(station.ghi, 4380), air_c=np.roll(station.air_c, 4380)
    )
    assert season_faults(there) == ()
    assert season_faults(replace(there, latitude=station.latitude)) != ()


def test_near_the_equator_no_season_is_asked_for(station: WeatherYear) -> None:
    """Within 12 degrees the sun's seasons are too weak to tell."""
    assert season_faults(replace(station, latitude=-11.0)) == ()


@pytest.mark.parametrize("shift", [1, -1, 12])
def test_hours_under_a_wrong_label_are_noticed(station: WeatherYear, shift: int) -> None:
    """A label an hour off, or day and night exchanged."""
    moved = replace(station, ghi=np.roll(station.ghi, shift))
    assert [hint.place for hint in clock_faults(moved)] == ["clock"]
    assert abs(sun_shift(moved)) == pytest.approx(abs(shift), abs=0.25)


def test_a_longitude_of_the_wrong_sign_is_noticed(station: WeatherYear) -> None:
    """East for west puts noon elsewhere."""
    assert clock_faults(replace(station, longitude=-station.longitude)) != ()


def test_too_much_sun_for_the_place_is_noticed(coast: WeatherYear) -> None:
    """Sun in another unit, or a place far further south, shows month by month."""
    found = sun_faults(replace(coast, ghi=coast.ghi * 3.6))
    assert len(found) >= 6
    assert "clear sky" in found[0].sentence()


def test_a_year_without_sun_has_no_noon_to_miss() -> None:
    """Nothing to weigh: no hint of a clock."""
    dark = invented(np.zeros(8760), np.zeros(8760))
    assert sun_shift(dark) == 0
    assert clock_faults(dark) == ()


def test_a_month_may_have_just_the_sun_of_a_clear_sky_and_its_twilight() -> None:
    """85 % of what comes from above at 45 degrees north in June, and 50 Wh/m2 of twilight: no hint; 2 more: one."""
    june = month_of_hour() == 6
    days = np.arange(day_index(6, 1) + 1.0, day_index(7, 1) + 1.0)
    clear = 0.85 * float(extraterrestrial_daily(45.0, days).mean())
    for more, hinted in ((49.0, 0), (51.0, 1)):
        year = invented(np.where(june, (clear + more) / 24, 0.0), np.zeros(8760))
        assert len(sun_faults(year)) == hinted
