"""A broken weather file gets every fault with its line, what was found, and what was expected."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import weather_samples as samples
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import Fault, FaultsFound
from optimizer.weather.reading import prepare, read_year
from optimizer.weather.year import WeatherYear

HERE = Path(__file__).parent
Edit = Callable[[str], str]


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    """A sound file of each format."""
    year = read_year("station:723170", HERE)
    return {
        "epw": samples.epw(year),
        "tmy3": samples.station_file("723170").read_text(),
        "tmy2": samples.station_file("12839").read_text(),
        "pvgis tmy": samples.pvgis_tmy(year).replace("\r", ""),
        "pvgis hourly": samples.pvgis_hourly(year, parts=True).replace("\r", ""),
    }


def faults_of(text: str) -> tuple[Fault, ...]:
    """The faults a text gets; it must get some."""
    with pytest.raises(FaultsFound) as found:
        prepare("some file", text.encode())
    return found.value.faults


# Format, edit, line told, and words of the sentence.
BROKEN: list[tuple[str, Edit, int, tuple[str, ...]]] = [
    ("epw", samples.change_cell(1, 7, "91.5"), 1, ("latitude", "91.5", "-90 to 90")),
    ("epw", samples.change_cell(1, 9, "-25"), 1, ("time zone", "-12 to 14")),
    ("epw", samples.change_cell(1, 10, "high"), 1, ("altitude", "'high'", "a number")),
    ("epw", samples.replaced("DATA PERIODS.*", ""), 0, ("head", "DATA PERIODS")),
    ("epw", samples.change_line(1, lambda line: "LOCATION,Somewhere"), 1, ("LOCATION", "2 fields", "10 fields")),
    ("epw", samples.without_lines(100, 100), 100, ("hour", "01-04 20:00", "01-04 19:00 next", "missing")),
    ("epw", samples.change_line(100, lambda line: f"{line}\n{line}"), 101, ("doubled", "01-04 20:00 next")),
    ("epw", samples.without_lines(5000, 99999), 4999, ("4991 rows", "8760 rows", "cut short")),
    ("epw", lambda text: text + text[text.index("2001,1,1,1,"):], 17528, ("17520 rows", "one year at a time")),
    ("epw", samples.change_cell(500, 14, "1501"), 500, ("global", "1501 W/m2", "0 to 1500")),
    ("epw", samples.change_cell(500, 14, "-11"), 500, ("global", "-11 W/m2")),
    ("epw", samples.change_cell(500, 15, "9999"), 500, ("direct normal", "missing", "every hour")),
    ("epw", samples.change_cell(500, 7, "99.9"), 500, ("dry bulb", "missing")),
    ("epw", samples.change_cell(500, 7, "-90.5"), 500, ("dry bulb", "-90.5 degC")),
    ("epw", samples.change_cell(500, 22, "120"), 500, ("wind", "120 m/s")),
    ("epw", samples.change_cell(500, 7, "warm"), 500, ("dry bulb", "'warm'", "a number")),
    ("epw", samples.change_cell(500, 7, "nan"), 500, ("dry bulb", "'nan'", "a number")),
    ("epw", samples.change_cell(500, 2, "Jan"), 500, ("month", "'Jan'", "whole number")),
    ("epw", samples.change_line(500, lambda line: line[:40]), 500, ("row", "fields long", "22 fields")),
    ("epw", samples.replaced(r"(?m)^((?:[^,\n]*,){13})\d+,(.*)$", r"\g<1>0,\2"), 9, ("global", "some sun")),
    ("tmy3", samples.replaced(r"GHI \(W/m\^2\)", "Global"), 2, ("columns", "'GHI (W/m^2)'", "Did you mean")),
    ("tmy3", samples.change_line(1, lambda line: "723170,Name"), 1, ("station", "2 fields", "7 fields")),
    ("tmy3", samples.change_cell(300, 5, "-9900"), 300, ("GHI", "missing")),
    ("tmy3", samples.change_cell(300, 5, "high"), 300, ("GHI", "'high'", "a number")),
    ("tmy3", samples.without_lines(300, 323), 300, ("hour", "next")),
    ("tmy3", samples.change_line(300, lambda line: line[:60]), 300, ("row", "71 fields")),
    ("tmy2", samples.change_line(400, lambda line: line[:67] + "9999" + line[71:]), 400, ("dry bulb", "missing")),
    ("tmy2", samples.change_line(400, lambda line: line[:67] + " 99x" + line[71:]), 400, ("dry bulb", "'99x'")),
    ("tmy2", samples.change_line(400, lambda line: line[:50]), 400, ("row", "50 characters", "98 characters")),
    ("tmy2", samples.without_lines(8000, 9000), 7999, ("7998 rows", "8760 rows")),
    ("pvgis tmy", samples.replaced(r"G\(h\)", "Global"), 17, ("columns", "'G(h)'")),
    ("pvgis tmy", samples.replaced(r"time\(UTC\).*", ""), 0, ("head", "time")),
    ("pvgis tmy", samples.replaced("Latitude.*", "Latitude (decimal degrees): north"), 3, ("latitude", "'north'")),
    ("pvgis tmy", samples.change_line(4, lambda line: f"Irradiance Time Offset (h): 3\n{line}"), 4,
     ("irradiance time offset", "'3'")),
    ("pvgis tmy", samples.change_cell(50, 1, "soon"), 50, ("time", "'soon'", "20050101:0010")),
    ("pvgis tmy", samples.change_cell(50, 4, "1600.0"), 50, ("G(h)", "1600 W/m2")),
    ("pvgis tmy", samples.change_cell(50, 2, "-99"), 50, ("T2m", "-99 degC")),
    ("pvgis tmy", samples.change_line(50, lambda line: line[:20]), 50, ("row", "fields")),
    ("pvgis hourly", samples.replaced("Slope: 0 deg", "Slope: 35 deg"), 7, ("slope", "35", "slope 0")),
    ("pvgis hourly", samples.replaced(r"Gd\(i\)", "Diffuse"), 9, ("columns", "'Gd(i)'")),
    ("pvgis hourly", samples.without_lines(30, 30), 30, ("hour", "next")),
]


@pytest.mark.parametrize(("form", "edit", "line", "words"), BROKEN, ids=[
    f"{form}-{line}-{words[0]}-{index}" for index, (form, _, line, words) in enumerate(BROKEN)
])
def test_each_break_is_told_with_its_line(
    texts: dict[str, str], form: str, edit: Edit, line: int, words: tuple[str, ...]
) -> None:
    """One thing broken in a sound file: one sentence with line, value, expectation and remedy."""
    broken = edit(texts[form])
    assert broken != texts[form]
    faults = faults_of(broken)
    assert len(faults) == 1
    assert faults[0].line == line
    sentence = faults[0].sentence()
    assert sentence.startswith("some file")
    for word in words:
        assert word in sentence


@pytest.mark.parametrize("form", ["epw", "tmy3", "tmy2", "pvgis tmy", "pvgis hourly"])
def test_the_unbroken_files_are_sound(texts: dict[str, str], form: str) -> None:
    """The files the breaks start from have no fault of their own."""
    assert isinstance(prepare("some file", texts[form].encode()), WeatherYear)


def test_all_faults_come_at_once_and_repeated_ones_once(texts: dict[str, str]) -> None:
    """Three columns broken: three sentences in the order of the file; the same break in 5 lines: one."""
    text = texts["epw"]
    for number in range(600, 605):
        text = samples.change_cell(number, 14, "1800")(text)
    text = samples.change_cell(450, 7, "70")(text)
    text = samples.change_cell(700, 22, "-1")(text)
    faults = sorted(faults_of(text), key=lambda fault: fault.line)
    assert [fault.line for fault in faults] == [450, 600, 700]
    assert "The same holds for 4 more lines." in faults[1].sentence()


def test_a_leap_day_is_left_out(texts: dict[str, str]) -> None:
    """8,784 rows with 29 February are one year; what is left is the year without it."""
    lines = texts["epw"].split("\n")
    first = 8 + 24 * (31 + 28)
    leap = [line.replace("2001,2,28,", "2001,2,29,") for line in lines[first - 24 : first]]
    year = prepare("some file", "\n".join(lines[:first] + leap + lines[first:]).encode())
    assert np.array_equal(year.ghi, prepare("some file", texts["epw"].encode()).ghi)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", ("empty",)),
        (b"\n\n  \n", ("empty",)),
        (b"PK\x03\x04 zipped", ("not a text file", "Unpack")),
        (b"\x1f\x8b gzip", ("not a text file", "Unpack")),
        (b"LOCATION,\0\0\0", ("not a text file",)),
        (b'{"inputs": {}}', ("unknown format", "CSV, not JSON")),
        (b"hello\nworld\n", ("unknown format", "EPW, TMY2, TMY3 CSV or PVGIS CSV")),
        (b"LOCATION,a,b,c,d,e,1,2,3,4\n", ("cut short",)),
        (b"LOCATION,a,b,c,d,e,1,2,3,4\nDATA PERIODS,1\n", ("0 rows",)),
        (b" 12839 TOWN FL  -5 N 25 48 W  80 16     2\n", ("0 rows",)),
        (b"Latitude (decimal degrees): 1\n", ("cut short",)),
    ],
)
def test_what_is_no_weather_file_is_told_so(content: bytes, words: tuple[str, ...]) -> None:
    """Archives, other formats, empty and headless files: one sentence, never a traceback."""
    with pytest.raises(FaultsFound) as found:
        prepare("some file", content)
    for word in words:
        assert word in str(found.value)


def test_a_file_that_is_not_there_offers_its_neighbour(tmp_path: Path) -> None:
    """A slip in a file's name is met with the nearest name in the folder; a folder is no file."""
    (tmp_path / "north-coast.epw").write_text("x")
    (tmp_path / "deep").mkdir()
    with pytest.raises(FaultsFound, match=r"north-cost\.epw: .*no such file.*Did you mean 'north-coast\.epw'\?"):
        read_year("north-cost.epw", tmp_path)
    with pytest.raises(FaultsFound, match="A relative path starts from the brief's folder"):
        read_year("zzz.csv", tmp_path)
    with pytest.raises(FaultsFound, match="no folder 'nowhere'"):
        read_year("nowhere/year.epw", tmp_path)
    with pytest.raises(FaultsFound, match=r"in a home that nobody knows.*Write its whole path"):
        read_year("~nobody-of-that-name/north-coast.epw", tmp_path)
    with pytest.raises(FaultsFound, match="a folder"):
        read_year("deep", tmp_path)


def test_without_a_brief_a_file_starts_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command that looks at a weather year has no brief whose folder could be meant."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FaultsFound, match="A relative path starts from the current folder"):
        read_year("nowhere.epw")


def test_an_unknown_station_offers_the_nearest() -> None:
    """The stations that come along are named."""
    with pytest.raises(FaultsFound, match="Did you mean '723170'"):
        read_year("station:723171", HERE)
    with pytest.raises(FaultsFound, match="Valid: 12839, 703165, 723170"):
        read_year("station:x", HERE)


SHORT = {"epw": 60, "tmy3": 50, "tmy2": 40, "pvgis tmy": 70, "pvgis hourly": 50}


@settings(deadline=None, max_examples=150)
@given(data=st.data())
def test_no_damage_ends_in_a_traceback(data: st.DataObject, texts: dict[str, str]) -> None:
    """The beginning of a file with bytes changed, put in or taken out: always faults, never another error.

    Only the beginning is kept, so that no damage can leave a whole year.
    """
    form = data.draw(st.sampled_from(sorted(texts)))
    content = bytearray("\n".join(texts[form].split("\n")[: SHORT[form]]).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        match data.draw(st.sampled_from(["change", "insert", "cut"])):
            case "change":
                content[at] = data.draw(st.integers(1, 255))
            case "insert":
                content[at:at] = data.draw(st.binary(max_size=6))
            case _:
                del content[at : at + data.draw(st.integers(1, 40))]
        if not content:
            content = bytearray(b" ")
    with pytest.raises(FaultsFound) as found:
        prepare("some file", bytes(content))
    assert all(fault.file == "some file" and fault.expected for fault in found.value.faults)
