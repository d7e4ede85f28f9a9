"""Prepared years come back as they were, never spoilt, never stale, and never in the way."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import weather_samples as samples

from optimizer.errors import FaultsFound
from optimizer.weather import cache, reading
from optimizer.weather.reading import read_year

STATION = "station:723170"


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder that does not exist yet."""
    place = tmp_path / "deep" / "kept"
    monkeypatch.setenv("KITWRIGHT_CACHE", str(place))
    return place


def key_of_station() -> str:
    """The key the station is kept under."""
    return cache.key_of(samples.station_file("723170").read_bytes())


def test_a_year_comes_back_as_it_was(kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second reading prepares nothing and gives an equal, still year; one file is left behind."""
    fresh = read_year(STATION, tmp_path)
    monkeypatch.setattr(reading, "prepare", lambda *_: pytest.fail("prepared again"))
    again = read_year(STATION, tmp_path)
    assert again == fresh
    assert not again.ghi.flags.writeable
    assert [path.name for path in kept.iterdir()] == [f"{key_of_station()}.npz"]


@pytest.mark.usefixtures("kept")
def test_the_same_content_under_another_name_is_the_same_year(tmp_path: Path) -> None:
    """Kept by content: a copy needs no second preparation and bears its own name."""
    first = read_year(STATION, tmp_path)
    (tmp_path / "copy.csv").write_bytes(samples.station_file("723170").read_bytes())
    copy = read_year("copy.csv", tmp_path)
    assert copy.name == "copy.csv"
    assert np.array_equal(copy.ghi, first.ghi)


@pytest.mark.usefixtures("kept")
def test_a_changed_file_is_read_anew(tmp_path: Path) -> None:
    """One number changed in place: the old year is not met again."""
    file = tmp_path / "year.epw"
    year = read_year(STATION, tmp_path)
    file.write_text(samples.epw(year))
    before = read_year("year.epw", tmp_path)
    file.write_text(samples.change_cell(9, 7, "-20.0")(samples.epw(year)))
    after = read_year("year.epw", tmp_path)
    assert before.air_c[0] != -20
    assert after.air_c[0] == -20


def test_another_version_of_the_preparation_keeps_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """A year prepared by an older tool is never taken for a new one."""
    old = cache.key_of(b"content")
    monkeypatch.setattr(cache, "VERSION", "another")
    assert cache.key_of(b"content") != old


SPOILT: dict[str, Callable[[bytes], bytes]] = {
    "cut short": lambda content: content[:100_000],
    "emptied": lambda content: b"",
    "garbled": lambda content: content[:200_000] + bytes(255 - b for b in content[200_000:200_008])
    + content[200_008:],
    "another file": lambda content: b"not an archive at all",
}


@pytest.mark.parametrize("how", sorted(SPOILT))
def test_a_spoilt_year_is_prepared_again(kept: Path, tmp_path: Path, how: str) -> None:
    """Cut short, emptied, garbled or replaced on the disk: never read, always rebuilt."""
    fresh = read_year(STATION, tmp_path)
    file = kept / f"{key_of_station()}.npz"
    file.write_bytes(SPOILT[how](file.read_bytes()))
    assert cache.load(key_of_station(), STATION) is None
    assert read_year(STATION, tmp_path) == fresh
    assert cache.load(key_of_station(), STATION) == fresh


@pytest.mark.parametrize("change", ["short", "gone", "words"])
def test_a_year_of_another_shape_is_not_taken(kept: Path, tmp_path: Path, change: str) -> None:
    """A sound archive whose hours are too few, missing or no numbers is no year."""
    read_year(STATION, tmp_path)
    file = kept / f"{key_of_station()}.npz"
    with np.load(file) as archive:
        fields = dict(archive)
    if change == "short":
        fields["ghi"] = fields["ghi"][:-1]
    elif change == "gone":
        del fields["ghi"]
    else:
        fields["ghi"] = np.array(["much"] * 8760)
    np.savez(file, **fields)
    assert zipfile.is_zipfile(file)
    assert cache.load(key_of_station(), STATION) is None


def test_a_folder_that_cannot_be_written_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The cache's place is taken by a file: the year is read all the same."""
    blocked = tmp_path / "taken"
    blocked.write_text("a file, no folder")
    monkeypatch.setenv("KITWRIGHT_CACHE", str(blocked))
    assert read_year(STATION, tmp_path).ghi.sum() > 0
    assert blocked.read_text() == "a file, no folder"


def test_a_full_disk_leaves_no_rest(kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The move to its place fails: the year is read all the same, and nothing half-done is left."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert read_year(STATION, tmp_path).ghi.sum() > 0
    assert list(kept.iterdir()) == []


def test_a_broken_file_is_not_kept(kept: Path, tmp_path: Path) -> None:
    """Faults are told again the next time, not a year from before."""
    (tmp_path / "broken.epw").write_text("LOCATION,a,b,c,d,e,1,2,3,4\nDATA PERIODS,1\n")
    for _ in range(2):
        with pytest.raises(FaultsFound):
            read_year("broken.epw", tmp_path)
    assert not kept.exists()


def read_for_sum(base: str) -> float:
    """The station's yearly sun, read in a process of its own."""
    return float(read_year(STATION, Path(base)).ghi.sum())


def test_runs_at_the_same_time_do_not_meet_half_a_year(kept: Path, tmp_path: Path) -> None:
    """Two processes read and keep the same year at once, several times over."""
    with ProcessPoolExecutor(2) as pool:
        sums = list(pool.map(read_for_sum, [str(tmp_path)] * 6))
    assert len(set(sums)) == 1
    assert [path.suffix for path in kept.iterdir()] == [".npz"]


@pytest.mark.usefixtures("kept")
def test_a_kept_year_needs_no_heavy_library(tmp_path: Path) -> None:
    """On a hit neither pandas nor pvlib is imported: the tool starts at once."""
    read_year(STATION, tmp_path)
    code = (
        "import sys; from pathlib import Path; from optimizer.weather.reading import read_year;"
        f"read_year({STATION!r}, Path('.'));"
        "sys.exit(any(name in sys.modules for name in ('pandas', 'pvlib', 'scipy', 'pydantic')))"
    )
    root = Path(reading.__file__).parents[2]
    assert subprocess.run([sys.executable, "-c", code], cwd=root, check=False).returncode == 0


def test_a_told_folder_may_begin_at_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no shell has written out the tilde, as in a file of settings, it still means the home folder."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    monkeypatch.setenv(cache.FOLDER_VARIABLE, "~/years")
    assert cache.folder() == tmp_path / "years"


def test_without_a_told_folder_years_go_to_the_user_s_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """The usual place for such files on this system, under the tool's name."""
    from platformdirs import user_cache_dir

    monkeypatch.delenv("KITWRIGHT_CACHE", raising=False)
    assert cache.folder() == Path(user_cache_dir("kitwright", appauthor=False)) / "weather"
