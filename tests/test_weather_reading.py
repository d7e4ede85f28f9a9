"""Every format is read to the same hours as the field's own readers, and each hour counts when it should."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import weather_samples as samples

from optimizer.physics.sun_geometry import hourly_share, solar_hour
from optimizer.weather.assembling import at_mid_hours
from optimizer.weather.plausible import sun_shift
from optimizer.weather.reading import prepare, read_year
from optimizer.weather.year import HOURS, SERIES, WeatherYear, day_index, month_of_hour

NUMBERS = ("723170", "703165", "12839")
HERE = Path(__file__).parent


@pytest.fixture(scope="module", params=NUMBERS)
def station(request: pytest.FixtureRequest) -> WeatherYear:
    """Each station that comes along."""
    return read_year(f"station:{request.param}", HERE)


@pytest.fixture(scope="module")
def inland() -> WeatherYear:
    """The station at 36 N, five hours behind universal time."""
    return read_year("station:723170", HERE)


def flat(year: WeatherYear, shift_h: int = 0) -> float:
    """Yearly sun put together from beam and sky on the level, over the measured one; labels shifted."""
    sine = np.maximum(np.sin(np.radians(year.sun_elevation_deg)), 0)
    return float((np.roll(year.dni, shift_h) * sine + np.roll(year.dhi, shift_h)).sum() / year.ghi.sum())


@pytest.mark.parametrize("number", ["723170", "703165"])
def test_tmy3_hours_are_those_of_pvlib(number: str) -> None:
    """Number by number as pvlib's reader has them, in the order of the file."""
    from pvlib.iotools import read_tmy3

    year = read_year(f"station:{number}", HERE)
    data, meta = read_tmy3(samples.station_file(number))
    names = {"ghi": "ghi", "dni": "dni", "dhi": "dhi", "air_c": "temp_air", "dew_c": "temp_dew",
             "wind_ms": "wind_speed"}
    for ours, theirs in names.items():
        np.testing.assert_array_equal(getattr(year, ours), data[theirs].to_numpy(float))
    told = (meta["latitude"], meta["longitude"], meta["altitude"], meta["TZ"])
    assert told == (year.latitude, year.longitude, year.altitude_m, year.utc_offset_h)


def test_tmy2_hours_are_those_of_pvlib_in_whole_degrees() -> None:
    """As pvlib's reader has them, but degrees and metres a second where it leaves tenths."""
    from pvlib.iotools import read_tmy2

    year = read_year("station:12839", HERE)
    data, meta = read_tmy2(str(samples.station_file("12839")))
    names = {"ghi": ("GHI", 1), "dni": ("DNI", 1), "dhi": ("DHI", 1), "air_c": ("DryBulb", 10),
             "dew_c": ("DewPoint", 10), "wind_ms": ("Wspd", 10)}
    for ours, (theirs, tenths) in names.items():
        np.testing.assert_array_equal(getattr(year, ours), data[theirs].to_numpy(float) / tenths)
    told = (meta["latitude"], meta["longitude"], meta["altitude"], meta["TZ"])
    assert told == pytest.approx((year.latitude, year.longitude, year.altitude_m, year.utc_offset_h))
    assert year.air_c.max() == 33.9


def test_epw_hours_are_those_of_pvlib(inland: WeatherYear) -> None:
    """A file written from a station: as pvlib's reader has it, head and hours."""
    from pvlib.iotools import read_epw

    text = samples.epw(inland)
    year = prepare("some.epw", text.encode())
    data, meta = read_epw(io.StringIO(text))
    names = {"ghi": "ghi", "dni": "dni", "dhi": "dhi", "air_c": "temp_air", "dew_c": "temp_dew",
             "wind_ms": "wind_speed"}
    for ours, theirs in names.items():
        np.testing.assert_array_equal(getattr(year, ours), data[theirs].to_numpy(float))
    told = (meta["latitude"], meta["longitude"], meta["altitude"], meta["TZ"])
    assert told == (year.latitude, year.longitude, year.altitude_m, year.utc_offset_h)
    assert data.index[0].hour == 0  # pvlib labels with the beginning of the hour, as a weather year does
    assert replace(year, name=inland.name) == inland


def test_level_sun_is_the_measured_one(station: WeatherYear) -> None:
    """Beam and sky on the level add up to the measured global within 1 %; labels an hour off lose more."""
    assert flat(station) == pytest.approx(1.0, abs=0.01)
    for wrong in (1, -1):
        assert abs(flat(station, wrong) - 1) > abs(flat(station) - 1) + 0.005


def test_level_sun_is_the_measured_one_in_an_epw(inland: WeatherYear) -> None:
    """The same through an EPW file, whose labels other readers shift by half an hour the other way."""
    year = prepare("some.epw", samples.epw(inland).encode())
    assert flat(year) == pytest.approx(1.0, abs=0.01)


def test_sun_of_the_mean_june_day_has_the_published_shape(station: WeatherYear) -> None:
    """Hour by hour within 1.5 % of the day's total of Collares-Pereira & Rabl (1979), labels right."""
    june = month_of_hour() == 6
    profile = station.ghi[june].reshape(30, 24).mean(axis=0)
    solar = solar_hour(np.arange(24) + 0.5, np.full(24, 166.0), station.longitude, station.utc_offset_h)
    expected = hourly_share(station.latitude, np.full(24, 166.0), solar)

    def miss(shift_h: int) -> float:
        return float(np.abs(np.roll(profile, shift_h) / profile.sum() - expected / expected.sum()).max())

    assert miss(0) < 0.015
    assert min(miss(1), miss(-1)) > 0.02


def test_middle_of_the_sun_is_noon(station: WeatherYear) -> None:
    """Weighed by its strength the sun is at solar noon within a quarter of an hour."""
    assert abs(sun_shift(station)) < 0.25


def test_pvgis_typical_year_is_that_of_pvlib_in_local_time(inland: WeatherYear) -> None:
    """Moments of universal time, rolled to the local clock, halfway between two: by hand from pvlib's."""
    from pvlib.iotools import read_pvgis_tmy

    text = samples.pvgis_tmy(inland)
    year = prepare("tmy.csv", text.encode())
    data, meta = read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv")
    assert meta["inputs"]["elevation"] == year.altitude_m
    assert year.utc_offset_h == -5  # from longitude 79.95 W
    for ours, theirs in {"ghi": "ghi", "dni": "dni", "dhi": "dhi", "air_c": "temp_air"}.items():
        moments = data[theirs].to_numpy(float)
        # The hour from 00:00 local is 05:00 to 06:00 universal: halfway between the two moments.
        assert getattr(year, ours)[0] == pytest.approx((moments[5] + moments[6]) / 2)
        assert getattr(year, ours)[HOURS - 1] == pytest.approx((moments[4] + moments[5]) / 2)
        assert getattr(year, ours).sum() == pytest.approx(moments.sum())
    # 80 % humidity at 20 degC has its dew point at 16.4 degC (Magnus formula).
    damp = np.interp(20.0, np.sort(year.air_c), year.dew_c[np.argsort(year.air_c)])
    assert damp == pytest.approx(16.4, abs=0.4)


def test_pvgis_head_moves_the_moment_of_the_sun_alone(inland: WeatherYear) -> None:
    """With an irradiance offset of half an hour the moments are the middles; air stays at the full hour."""
    year = prepare("tmy.csv", samples.pvgis_tmy(inland, offset="0.5").encode())
    rounded = np.round(inland.ghi, 1)
    np.testing.assert_allclose(year.ghi, np.roll(rounded, -5), rtol=1e-12)
    air = np.round(inland.air_c, 2)
    np.testing.assert_allclose(year.air_c, (np.roll(air, -5) + np.roll(air, -6)) / 2, rtol=1e-9, atol=1e-9)


def shifted_to_universal(year: WeatherYear, minute: int) -> WeatherYear:
    """The year as someone at universal time would label it, moments at a minute of each hour."""
    middles, moments = np.arange(HOURS) + 0.5, np.arange(HOURS) + minute / 60
    series = {
        name: np.interp(moments, middles, np.roll(getattr(year, name), -int(year.utc_offset_h)), period=HOURS)
        for name in SERIES
    }
    return replace(year, **series)


@pytest.mark.parametrize("parts", [True, False])
@pytest.mark.parametrize("leap", [True, False])
def test_pvgis_hourly_year_is_the_year_it_was_written_from(inland: WeatherYear, parts: bool, leap: bool) -> None:
    """On the level, with and without the sun's parts, leap day or not: the year's sun comes back."""
    text = samples.pvgis_hourly(shifted_to_universal(inland, 10), parts, leap=leap)
    year = prepare("hourly.csv", text.encode())
    assert year.ghi.sum() == pytest.approx(inland.ghi.sum(), rel=0.005)
    assert abs(sun_shift(year)) < 0.1
    assert flat(year) == pytest.approx(1.0, abs=0.02)
    assert np.isnan(year.dew_c).all()


def test_moments_between_hours_keep_their_sum_and_their_place() -> None:
    """A ramp is read off where it should; nothing is gained or lost over the year."""
    ramp = np.arange(HOURS, dtype=np.float64)
    assert at_mid_hours(ramp, 0.0, 0.0)[100] == 100.5
    assert at_mid_hours(ramp, 0.5, 0.0)[100] == 100.0
    assert at_mid_hours(ramp, 1 / 6, -5.0)[100] == pytest.approx(105 + 1 / 3)
    assert at_mid_hours(ramp, 0.0, 5.5)[100] == 95.0
    assert at_mid_hours(ramp, 0.25, 3.0).sum() == pytest.approx(ramp.sum())


def test_a_half_hour_zone_keeps_its_hours(inland: WeatherYear) -> None:
    """A clock 5.5 hours ahead: hours as in the file, the sun by the place and that clock."""
    there = replace(inland, longitude=82.5, utc_offset_h=5.5)
    year = prepare("east.epw", samples.epw(there).encode())
    np.testing.assert_array_equal(year.ghi, inland.ghi)
    noon = year.sun_elevation_deg.reshape(365, 24)
    # Solar noon is 12:00 there on average, so the hours around it are alike in the mean.
    assert noon[:, 11].mean() == pytest.approx(noon[:, 12].mean(), abs=0.3)


def test_tmy2_station_with_a_name_of_several_words() -> None:
    """The head is read by its form, not by counting words."""
    lines = samples.station_file("12839").read_text().splitlines(keepends=True)
    lines[0] = " 12839 PORT OF SAN MARCO      FL  -5 S 25 48 E  80 16     2\n"
    year = prepare("some.tm2", "".join(lines).encode())
    assert (year.latitude, year.longitude) == pytest.approx((-25.8, 80.2667), abs=1e-4)


@pytest.mark.parametrize("dress", [lambda b: b.replace(b"\n", b"\r\n"), lambda b: b"\xef\xbb\xbf" + b,
                                   lambda b: b.replace(b"Somewhere", b"S\xf6mewhere")])
def test_line_ends_marks_and_letters_do_not_matter(inland: WeatherYear, dress: Any) -> None:
    """Files from other systems, with a byte order mark, or with a name in Latin-1 read the same."""
    plain = samples.epw(inland).encode()
    assert prepare("some.epw", dress(plain)) == prepare("some.epw", plain)


def test_missing_marks_of_wind_and_dew_point_become_gaps(inland: WeatherYear) -> None:
    """What the trips can do without is left open, not filled with 999."""
    text = samples.epw(inland)
    for field, mark in ((8, "99.9"), (22, "999")):
        text = samples.change_cell(9, field, mark)(text)
    year = prepare("some.epw", text.encode())
    assert np.isnan(year.dew_c[0])
    assert np.isnan(year.wind_ms[0])
    assert np.isfinite(year.dew_c[1:]).all()


def test_a_little_below_nothing_at_night_is_nothing(inland: WeatherYear) -> None:
    """Pyranometers read some W/m2 below zero at night."""
    year = prepare("some.epw", samples.change_cell(9, 14, "-3")(samples.epw(inland)).encode())
    assert year.ghi[0] == 0


def test_a_weather_year_stands_still(inland: WeatherYear) -> None:
    """Nobody changes the hours that others share, and a short year is refused."""
    with pytest.raises(ValueError, match="read-only"):
        inland.ghi[0] = 1.0
    with pytest.raises(ValueError, match="shape"):
        replace(inland, ghi=np.zeros(8784))
    assert hash(inland) == hash(replace(inland))
    assert inland != replace(inland, air_c=inland.air_c + 1)
    assert inland != "a year"


def test_hours_are_counted_from_the_first_of_january() -> None:
    """Month and day to hour, without a leap day."""
    assert day_index(1, 1) == 0
    assert day_index(3, 1) == 59
    assert day_index(12, 31) == HOURS // 24 - 1
    assert month_of_hour()[24 * day_index(7, 1)] == 7
    assert month_of_hour()[24 * day_index(7, 1) - 1] == 6
