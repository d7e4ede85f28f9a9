"""Tables of variants are read key by key, and every fault of every row is told before any work."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from batch_cases import BRIEF, HEADING, TABLE, folder_with

from optimizer.batch.paths import PathError, changed, path_of, value_of
from optimizer.batch.run import key_of, run_batch
from optimizer.batch.variants import Variants, read_variants, variants_from_rows
from optimizer.brief.reading import brief_data
from optimizer.errors import FaultsFound
from optimizer.rules import limit_names


def read(tmp_path: Path, table: str, name: str = "variants.csv") -> Variants:
    """The variants of a table beside the small brief."""
    brief, variants = folder_with(tmp_path, table, name)
    return read_variants(variants, brief_data(brief), limit_names())


def faults_of(tmp_path: Path, table: str, name: str = "variants.csv") -> str:
    """What is told of a faulty table."""
    with pytest.raises(FaultsFound) as found:
        read(tmp_path, table, name)
    return str(found.value)


def test_cells_become_values_of_the_brief(tmp_path: Path) -> None:
    """Numbers, text with units, and empty cells that leave the brief's own value."""
    rows = read(tmp_path, TABLE).rows
    assert [row.brief.trip.nights for row in rows] == [4, 5, 6, 4, 8, 9]
    assert [row.brief.uses[0].power for row in rows] == [12, 30, 12, 12, 40, 60]
    assert rows[4].brief.limits.budget == 500
    assert rows[0].cells == {"trip.nights": 4}
    assert key_of(rows[0].brief) == key_of(rows[3].brief) != key_of(rows[1].brief)


def test_grid_multiplies_out(tmp_path: Path) -> None:
    """Every combination once, the last key turning fastest; lists of lists are values that are lists."""
    grid = '[trip]\nnights = [4, 5]\n[preferences]\nvoltages = [[12], [12, 24]]\n'
    rows = read(tmp_path, grid, "grid.toml").rows
    assert [(r.brief.trip.nights, r.brief.preferences.voltages) for r in rows] == [
        (4, (12,)), (4, (12, 24)), (5, (12,)), (5, (12, 24)),
    ]  # fmt: skip


@pytest.mark.parametrize("ending", [".xlsx", ".parquet"])
def test_workbooks_and_parquet_say_the_same(tmp_path: Path, ending: str) -> None:
    """The same rows from another format are the same variants."""
    expected = read(tmp_path, TABLE)
    frame = pd.read_csv(tmp_path / "variants.csv", dtype=object).astype(object)
    path = tmp_path / f"variants{ending}"
    frame = frame.where(frame.notna(), None)
    frame.to_excel(path, index=False) if ending == ".xlsx" else frame.to_parquet(path, index=False)
    found = read_variants(path, brief_data(tmp_path / "brief.toml"), limit_names())
    assert [key_of(r.brief) for r in found.rows] == [key_of(r.brief) for r in expected.rows]


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".parquet"])
def test_more_rows_than_are_read_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str) -> None:
    """Whatever the format, and from memory too: each variant is a whole brief in memory."""
    frame = pd.DataFrame({"trip.nights": [4, 5, 6]})
    brief, csv = folder_with(tmp_path, frame.to_csv(index=False))
    path = csv.with_suffix(ending)
    if ending == ".xlsx":
        frame.to_excel(path, index=False)
    elif ending == ".parquet":
        frame.to_parquet(path, index=False)
    data, limits = brief_data(brief), limit_names()
    monkeypatch.setattr("optimizer.batch.variants.MOST_VARIANTS", 3)
    assert len(read_variants(path, data, limits).rows) == 3
    monkeypatch.setattr("optimizer.batch.variants.MOST_VARIANTS", 2)
    with pytest.raises(FaultsFound, match="at most 2 rows, and there are 3"):
        read_variants(path, data, limits)
    with pytest.raises(FaultsFound, match="at most 2 rows, and there are 3"):
        variants_from_rows(frame.to_dict("records"), data, limits)


def test_faults_of_all_rows_in_one_report(tmp_path: Path) -> None:
    """Each names the file, the line, the row, the key, the value and what was expected."""
    told = faults_of(tmp_path, HEADING + "0,,\n5,4000,12\n6,cheap,12\n7,4000,12 kg\n")
    lines = told.splitlines()
    assert len(lines) == 3
    assert "line 2: row 1, trip.nights is 0" in lines[0]
    assert "line 4: row 3, limits.budget" in lines[1]
    assert "cheap" in lines[1]
    assert "line 5: row 4, uses[1].power" in lines[2]


def test_a_row_too_long_says_how_to_write_a_comma(tmp_path: Path) -> None:
    """Mostly it is an amount with a thousands comma."""
    told = faults_of(tmp_path, "limits.budget\n$1,200\n")
    assert 'expected 1 cell, as the heading has. A cell with a comma in it stands in quotes, such as "1,200".' in told
    assert "expected 3 cells" in faults_of(tmp_path, HEADING + "1,2,3,4\n")


@pytest.mark.parametrize(
    ("column", "word"),
    [
        ("trip.night", "nights"), ("trip.nights[1]", "no list"), ("uses[0].power", "from 1"),
        ("uses[4].power", "entries"),
        ("trip.nights.more", "no table"), ("trip..nights", "trip.nights"), ("budget", "key of the brief"),
    ],
)  # fmt: skip
def test_columns_that_are_no_key(tmp_path: Path, column: str, word: str) -> None:
    """Each gets a sentence with what was expected."""
    assert word in faults_of(tmp_path, f"{column}\n5\n")


@pytest.mark.parametrize(
    ("table", "name"),
    [
        ("", "v.csv"), (HEADING, "v.csv"), ("trip.nights\n5,6\n", "v.csv"), ("trip.nights,trip.nights\n4,5\n", "v.csv"),
        ("trip = 5", "g.toml"), ("[trip]\nnights = 5", "g.toml"), ("[trip]\nnights = []", "g.toml"), ("[", "g.toml"),
        ("", "g.toml"), ("no workbook", "v.xlsx"), ("no table", "v.parquet"), ("x", "v.txt"),
    ],
)  # fmt: skip
def test_files_that_are_no_table(tmp_path: Path, table: str, name: str) -> None:
    """No traceback, whatever stands there."""
    assert name in faults_of(tmp_path, table, name)


def test_faults_with_catalog_and_weather_are_told_before_any_work(tmp_path: Path) -> None:
    """A part that is not in the catalog, a station that is not there: told by row, and no journal is begun."""
    table = 'preferences.refused,place.weather\n"[""no-such-part""]",\n,"[""station:000000""]"\n'
    brief, variants = folder_with(tmp_path, table)
    with pytest.raises(FaultsFound) as found:
        run_batch(brief, variants, tmp_path / "out.csv")
    assert "variant 1" in str(found.value)
    assert "no-such-part" in str(found.value)
    assert "station:000000" in str(found.value)
    assert not list(tmp_path.glob("out*"))


def test_text_stays_text_and_changes_leave_the_brief_alone() -> None:
    """A name of digits is a name; the raw data given is not changed; (none) takes a key away."""
    assert value_of("12", path_of("name")) == "12"
    assert value_of("12", path_of("trip.nights")) == 12
    assert value_of("true", path_of("comfort.heating")) is True
    assert value_of("[12, 24]", path_of("preferences.voltages")) == [12, 24]
    data: dict[str, Any] = {"trip": {"nights": 4, "coverage": 95}}
    assert changed(data, {("trip", "coverage"): "(none)"}) == {"trip": {"nights": 4}}
    assert data["trip"]["coverage"] == 95
    with pytest.raises(PathError):
        changed(data, {("uses", 0, "power"): 3})


def test_the_small_brief_is_good() -> None:
    """What the other tests vary has no fault of its own."""
    assert "nights = 4" in BRIEF
