"""The commands from outside: exit codes, files written whole, faults as sentences, replays in every form."""

from __future__ import annotations

import csv
import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from brief_samples import GOOD
from stopping import stop_each_solve_after

from optimizer import cli
from optimizer.showing import show
from optimizer.telling import proof_sentence

ABLE = GOOD.replace('skills = ["mains_wiring"]', 'skills = ["mains_wiring", "roof_cutting", "body_cutting"]')
OWN_KINDS = Path(__file__).parent.parent / "examples" / "own_kinds" / "brief.toml"
WITH_TRIPS = ABLE.replace("sunless_days = 1\n", "sunless_days = 1\ncoverage = 90\n").replace(
    'season_from = "04-15"\nseason_to = "10-15"', 'season_from = "05-01"\nseason_to = "05-31"'
)
assert WITH_TRIPS.count("coverage = 90") == 1
assert '"05-31"' in WITH_TRIPS


def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    """Exit code, output and error output of a command."""
    monkeypatch.setattr("sys.argv", ["kitwright", *words])
    try:
        cli.main()
        code = 0
    except SystemExit as end:
        code = int(end.code or 0)
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, int]:
    """A brief with trips, the kit chosen for it, and the exit code of choosing."""
    folder = tmp_path_factory.mktemp("chosen")
    brief, kit = folder / "brief.toml", folder / "kit.json"
    brief.write_text(WITH_TRIPS, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.argv", ["kitwright", "choose", str(brief), "--save", str(kit), "--quiet"])
        with pytest.raises(SystemExit) as end:
            cli.main()
    return brief, kit, int(end.value.code or 0)


def test_new_then_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The starter brief has no faults; a second one in the same folder is a usage fault."""
    assert run(capsys, monkeypatch, "new", str(tmp_path / "van"))[0] == 0
    code, said, _ = run(capsys, monkeypatch, "check", str(tmp_path / "van" / "brief.toml"))
    assert code == 0
    assert "No faults." in said
    code, _, error = run(capsys, monkeypatch, "new", str(tmp_path / "van"))
    assert code == 2
    assert "is there already" in error


def test_the_starter_brief_has_a_kit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a new user chooses first is possible: proving the contrary takes minutes and disheartens."""
    assert run(capsys, monkeypatch, "new", str(tmp_path))[0] == 0
    code, said, _ = run(capsys, monkeypatch, "choose", str(tmp_path / "brief.toml"), "--quiet", "--seconds", "300")
    assert code == 0
    assert "Proven: no kit" in said


@pytest.mark.parametrize("place", ["brief.toml", "folder", "folder/none/kit.json"])
def test_a_kit_is_saved_in_place_of_nothing_but_a_kit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    """Where the kit cannot go, or where a brief is, is told before the search; the brief stays as it was."""
    brief = tmp_path / "brief.toml"
    brief.write_text(ABLE, encoding="utf-8")
    (tmp_path / "folder").mkdir()
    monkeypatch.setattr("optimizer.job.choose_kit", None)  # no search is begun
    code, said, error = run(capsys, monkeypatch, "choose", str(brief), "--quiet", "--save", str(tmp_path / place))
    assert code == 2
    assert not said
    assert f"{tmp_path / place}: the file is " in error
    assert brief.read_text(encoding="utf-8") == ABLE


def test_an_earlier_kit_and_an_empty_file_give_way(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Choosing again saves over what it saved before, and into a file that somebody made room with."""
    kit = tmp_path / "kit.json"
    kit.touch()
    for _ in range(2):
        code, _, error = run(capsys, monkeypatch, "choose", str(OWN_KINDS), "--quiet", "--save", str(kit))
        assert code == 0
        assert f"Saved {kit}." in error
        assert json.loads(kit.read_text(encoding="utf-8"))["choices"]
    hours = tmp_path / "hours.csv"
    files = ("--hours", str(hours), "--picture", str(tmp_path / "trip.bmp"))
    assert run(capsys, monkeypatch, "replay", str(OWN_KINDS), str(kit), *files)[0] == 2
    assert not hours.exists()  # of two files asked for none is written where one cannot be


def test_who_stops_reading_loses_no_kit(tmp_path: Path) -> None:
    """With the pipe closed at the other end, as by head: the kit is saved, the exit code is true, no traceback."""
    kit, poor = tmp_path / "kit.json", tmp_path / "poor.toml"
    poor.write_text(OWN_KINDS.read_text(encoding="utf-8").replace("budget = 100000", "budget = 1"), encoding="utf-8")
    (tmp_path / "choices.csv").write_bytes((OWN_KINDS.parent / "choices.csv").read_bytes())
    for words, expected in (
        (["choose", str(OWN_KINDS), "--quiet", "--save", str(kit)], 0), (["choose", str(poor), "--quiet"], 1),
        (["check", str(OWN_KINDS)], 0),
    ):  # fmt: skip
        reader, writer = os.pipe()
        os.close(reader)
        command = [sys.executable, "-m", "optimizer", *words]
        done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True, check=False)
        os.close(writer)
        assert done.returncode == expected, done.stderr
        assert "Traceback" not in done.stderr
        assert "BrokenPipe" not in done.stderr
    assert json.loads(kit.read_text(encoding="utf-8"))["choices"]


def test_a_single_night_is_told_as_one(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The example of one night and one person has no plural of either in its headline."""
    code, said, _ = run(capsys, monkeypatch, "choose", str(OWN_KINDS), "--quiet")
    assert code == 0
    assert "; 1 person, 1 night, 12 V bank." in said


def test_a_height_that_nobody_limits_is_told_without_a_limit(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the brief has no overall height the van's own is told, and no ten metres that nobody wrote."""
    assert "overall_height" not in OWN_KINDS.read_text(encoding="utf-8")
    _, said, _ = run(capsys, monkeypatch, "choose", str(OWN_KINDS), "--quiet")
    row = next(line for line in said.splitlines() if line.startswith("overall height"))
    assert row.split("  ")[0] == "overall height"
    assert row.split()[2:] == ["1900", "mm", "no", "limit", "no", "limit"]


def test_a_gap_is_told_in_the_units_of_the_brief() -> None:
    """A bound of 100 kg is 220.5 lb (NIST SP 811) to who asked in US units."""
    goal = SimpleNamespace(slug="lightest", unit="kg", scale=1000)
    outcome = SimpleNamespace(status="unproven", goal=goal, value=110_000, bound=100_000)
    job = SimpleNamespace(brief=SimpleNamespace(units="us"))
    told = proof_sentence(SimpleNamespace(outcome=outcome, undecided=0, job=job, replay=None))  # type: ignore[arg-type]
    assert "No kit can be better than 220.5 lb, so at most 9.1% is left to gain." in told
    outcome.value, outcome.bound = 1_000, 15_000  # as one night may be beaten by fifteen: 1400 % would tell nobody
    told = proof_sentence(SimpleNamespace(outcome=outcome, undecided=0, job=job, replay=None))  # type: ignore[arg-type]
    assert told.endswith("No kit can be better than 33.1 lb.")


def test_check_says_when_nights_are_too_mild(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A coldest night far above the coldest hour of the season's weather is told."""
    brief = tmp_path / "mild.toml"
    brief.write_text(GOOD.replace("[[uses]]", "coldest_night = 15\n\n[[uses]]", 1), encoding="utf-8")
    assert "coldest_night" in GOOD.replace("[[uses]]", "coldest_night = 15\n\n[[uses]]", 1).split("[[uses]]")[0]
    code, said, _ = run(capsys, monkeypatch, "check", str(brief))
    assert code == 0
    assert "Note: place.coldest_night is 15 °C, but the weather of the season goes down to" in said


def test_what_the_catalog_lacks_is_told_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Parts and columns that no catalog has: which key names them, and where in the brief it stands."""
    brief = tmp_path / "brief.toml"
    more = '\n[[preferences.owned]]\npart = "bat-nobody"\n\n[[limits.own]]\nname = "noise"\n'
    wishes = 'required = [\n  "fan-280",\n  "fan-nobody",\n]\ngoal = "most:own_worth"\n'
    brief.write_text(
        ABLE.replace('skills = ["', wishes + 'skills = ["')
        + more + 'column = "own_noise"\nat_most = 3\n',
        encoding="utf-8",
    )  # fmt: skip
    code, _, error = run(capsys, monkeypatch, "check", str(brief))
    assert code == 2
    lines = brief.read_text(encoding="utf-8").splitlines()
    for key, text in (
        ("preferences.required[2] is 'fan-nobody'", '  "fan-nobody",'), ("preferences.goal is 'own_worth'", "goal ="),
        ("preferences.owned[1].part is 'bat-nobody'", 'part = "bat-nobody"'),
        ("limits.own[1].column is 'own_noise'", 'column = "own_noise"'),
    ):  # fmt: skip
        number = next(n for n, line in enumerate(lines, 1) if line.startswith(text))
        assert f"{brief}, line {number}: {key}; expected " in error
    assert "4 faults found." in error


def test_a_voltage_named_twice_is_a_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each option would be there twice, which ended choosing in a traceback."""
    brief = tmp_path / "brief.toml"
    brief.write_text(ABLE.replace('skills = ["', 'voltages = [12, 24, 12]\nskills = ["'), encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "choose", str(brief), "--quiet")
    assert code == 2
    assert "preferences.voltages[3] is 12; expected each entry once. Take one of the two out." in error


def test_a_slip_in_a_station_is_told_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the brief's own line is blamed, no file of that name is missed besides."""
    brief = tmp_path / "brief.toml"
    brief.write_text(ABLE.replace("station:723170", "Station 723170"), encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "check", str(brief))
    assert code == 2
    assert "Write it as 'station:723170'." in error
    assert "1 fault found." in error


def test_where_the_starter_went_can_be_pasted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder with a blank in its name is quoted in the command that comes next."""
    _, said, _ = run(capsys, monkeypatch, "new", str(tmp_path / "my van"))
    assert shlex.split(said.rpartition("then: ")[2]) == ["kitwright", "choose", str(tmp_path / "my van" / "brief.toml")]


@pytest.mark.parametrize(
    ("content", "words"),
    [(None, "not readable (no such file or directory)"), ("x", "no JSON text"), ("{}", "without a kit"),
     ("[]", "without a kit")],
)  # fmt: skip
def test_what_is_no_saved_kit_is_said_in_good_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, content: str | None, words: str
) -> None:
    """A file that is not there, no JSON or another JSON: one sentence that can be read aloud."""
    kit = tmp_path / "kit.json"
    if content is not None:
        kit.write_text(content, encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "replay", str(OWN_KINDS), str(kit))
    assert code == 2
    assert f"{kit}: the file is {words}; expected a kit saved by " in error


def test_a_leap_day_says_what_to_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The 29th of February is a day to the person, and none of a weather year."""
    brief = tmp_path / "brief.toml"
    brief.write_text(ABLE.replace('"04-15"', '"02-29"'), encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "check", str(brief))
    assert code == 2
    assert "no leap day: write '02-28' or '03-01'." in error


def test_faults_of_brief_catalog_and_weather_come_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slip in the brief hides neither a cell of its catalog nor a weather file that is not there."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "battery.csv").write_text("id,price_usd\nbat-lfp-100,dear\n", encoding="utf-8")
    brief = tmp_path / "brief.toml"
    slip = ABLE.replace("nights = ", "nigths = ", 1).replace("station:723170", "nowhere.epw")
    brief.write_text('catalogs = ["generic", "mine"]\n' + slip, encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "check", str(brief))
    assert code == 2
    assert "trip.nigths is an unknown key" in error
    assert "mine/battery.csv, line 2: price_usd is 'dear'" in error
    assert "nowhere.epw: weather year is no such file" in error
    assert "4 faults found." in error


def test_faults_are_all_told_and_exit_with_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two faults of a brief, two lines with file and key, a count, exit code 2, nothing on the output."""
    brief = tmp_path / "faulty.toml"
    brief.write_text(GOOD.replace("nights = 7", "nights = 0").replace("budget", "budgett"), encoding="utf-8")
    code, said, error = run(capsys, monkeypatch, "choose", str(brief))
    assert (code, said) == (2, "")
    assert "trip.nights" in error
    assert "Did you mean 'budget'?" in error
    assert "faults found." in error
    assert "Traceback" not in error


@pytest.mark.parametrize(
    "words",
    [("choose", "nowhere.toml"), ("weather", "station:1"), ("parts", "batery"), ("parts", "--template"), ("fly",)],
    ids=" ".join,
)
def test_wrong_commands_exit_with_two(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the command cannot do is said in a sentence, with exit code 2."""
    code, said, error = run(capsys, monkeypatch, *words)
    assert (code, said) == (2, "")
    assert error.strip()
    assert "Traceback" not in error


def test_weather_in_us_units(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The coldest hour of the year reads the same in both systems, the sun does not change."""
    metric = run(capsys, monkeypatch, "weather", "station:723170")[1]
    us = run(capsys, monkeypatch, "weather", "station:723170", "--us")[1]
    lowest = float(metric.split("down to ")[1].split(" °C")[0])
    assert f"down to {show(lowest, 'degC', 'us')}" in us
    assert metric.split("Sun on the level")[1].split("\n")[0] == us.split("Sun on the level")[1].split("\n")[0]
    assert "°C" not in us


@pytest.mark.long
def test_impossible_exits_with_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """No kit for 300 dollars: exit code 1, said to be proven, also in JSON."""
    brief = tmp_path / "poor.toml"
    brief.write_text(ABLE.replace("budget = 9000", "budget = 300"), encoding="utf-8")
    code, said, _ = run(capsys, monkeypatch, "choose", str(brief), "--json")
    assert code == 1
    data = json.loads(said)
    assert data["status"] == "impossible"
    assert "kit" not in data


def test_no_time_exits_with_three(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With no time to prove anything the exit code is 3, and the words do not claim a proof."""
    brief = tmp_path / "hurried.toml"
    brief.write_text(WITH_TRIPS, encoding="utf-8")
    stop_each_solve_after(monkeypatch, 1e-9)  # a machine may be so quick that 0.1 s is enough
    code, said, _ = run(capsys, monkeypatch, "choose", str(brief), "--seconds", "0.1")
    assert code == 3
    assert "Not proven" in said
    assert "Proven:" not in said


@pytest.mark.long
def test_a_kit_exits_with_zero_and_is_saved(saved: tuple[Path, Path, int]) -> None:
    """The saved file has what the later commands and other programs need."""
    _, kit, code = saved
    assert code == 0
    data = json.loads(kit.read_text(encoding="utf-8"))
    assert {"status", "goal", "value", "bound", "totals", "kit", "limits", "versions", "catalog_hash"} <= set(data)
    assert data["status"] == "proven"
    assert data["value"] == data["bound"] == data["totals"]["price"]
    assert all({"kind", "id", "count", "configuration"} <= set(part) for part in data["kit"])
    assert all({"slug", "unit", "used", "allowed", "room"} <= set(limit) for limit in data["limits"])
    assert all(limit["room"] >= 0 for limit in data["limits"])
    assert [limit["slug"] for limit in data["limits"]].count("coverage") == 1


@pytest.mark.long
def test_replay_tells_what_choose_said(
    saved: tuple[Path, Path, int], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Coverage is the same, and the energy table of words and of JSON balances."""
    brief, kit, _ = saved
    code, said, _ = run(capsys, monkeypatch, "replay", str(brief), str(kit), "--json")
    data, chosen = json.loads(said), json.loads(kit.read_text(encoding="utf-8"))
    assert code == 0
    assert data["covered"] == chosen["trips"]["covered"]
    given, taken = (sum(data["energy_wh"][side].values()) for side in ("given", "taken"))
    assert given == pytest.approx(taken, abs=1e-3)
    told = run(capsys, monkeypatch, "replay", str(brief), str(kit))[1]
    sums = [line.split()[-1] for line in told.splitlines() if line.startswith("= ")]
    assert len(sums) == 2
    assert sums[0] == sums[1]
    assert f"{data['covered']} of {data['departures']} departures" in told


@pytest.mark.long
def test_one_trip_as_table_and_picture(
    saved: tuple[Path, Path, int], tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One departure's hours come as CSV and Parquet with the same numbers, and as a picture."""
    brief, kit, _ = saved
    words = ("replay", str(brief), str(kit), "--departure", "05-10")
    table, parquet, picture = tmp_path / "trip.csv", tmp_path / "trip.parquet", tmp_path / "trip.svg"
    code, said, _ = run(capsys, monkeypatch, *words, "--hours", str(table), "--picture", str(picture))
    assert code == 0
    assert said.startswith("Departure 05-10")
    assert picture.read_text(encoding="utf-8").lstrip().startswith("<?xml")
    assert run(capsys, monkeypatch, *words, "--hours", str(parquet))[0] == 0
    rows = list(csv.DictReader(table.open(encoding="utf-8")))
    assert len(rows) == 7 * 24
    import pandas as pd

    frame = pd.read_parquet(parquet)
    for name in frame.columns[2:]:
        wanted = frame[name].to_list()
        assert [float(row[name]) for row in rows] == pytest.approx(wanted, rel=1e-5, abs=1e-5)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["trip.csv", "trip.parquet", "trip.svg"]


@pytest.mark.long
@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--departure", "12-24"), "expected a day of the season, from 05-01 to 05-31"),
        (("--hours", "trip.txt"), "trip.txt: a table ends in .csv or .parquet."),
        (("--picture", "trip.gif"), ".svg"),
    ],
    ids=["day", "table", "picture"],
)
def test_wrong_replays_are_told(
    more: tuple[str, ...], told: str, saved: tuple[Path, Path, int], capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A day out of season or another file ending is said, with exit code 2."""
    brief, kit, _ = saved
    code, _, error = run(capsys, monkeypatch, "replay", str(brief), str(kit), *more)
    assert code == 2
    assert told in error


def test_a_kit_that_is_none_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that holds no kit is a fault with a remedy."""
    brief, kit = tmp_path / "brief.toml", tmp_path / "kit.json"
    brief.write_text(GOOD, encoding="utf-8")
    kit.write_text("[]", encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "replay", str(brief), str(kit))
    assert code == 2
    assert "Save the kit again." in error


def test_the_package_runs_as_a_module(tmp_path: Path) -> None:
    """Where scripts are not on the path, ``python -m optimizer`` is the command, faults and exit codes too."""
    missing = tmp_path / "none.toml"
    ended = subprocess.run(
        [sys.executable, "-m", "optimizer", "check", str(missing)], capture_output=True, text=True, check=False
    )
    assert ended.returncode == cli.FAULT
    assert str(missing) in ended.stderr
    assert "Traceback" not in ended.stderr


@pytest.mark.parametrize(
    ("option", "name", "word"),
    [("--table", "t.txt", "a table ends in"), ("--picture", "p.jpg", "a picture ends in .svg or .png"),
     ("--table", "none/t.csv", "no such folder"), ("--picture", "none/p.svg", "no such folder")],
)  # fmt: skip
def test_where_a_frontier_is_written_is_looked_at_before_the_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, option: str, name: str,
    word: str,
) -> None:
    """A frontier may take hours, so a wrong name or a missing folder is told at once."""
    monkeypatch.setattr("optimizer.frontier.run.find_frontier", lambda *_: pytest.fail("worked before looking"))
    brief = tmp_path / "brief.toml"
    brief.write_text(WITH_TRIPS, encoding="utf-8")
    code, _, error = run(capsys, monkeypatch, "frontier", str(brief), option, str(tmp_path / name))
    assert code == 2
    assert word in error
