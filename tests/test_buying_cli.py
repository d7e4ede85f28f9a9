"""``kitwright buy``: a saved kit becomes a list on the terminal and files, or a sentence about what is wrong."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest
from book_cases import golden_kit
from typer.testing import CliRunner
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer import kitfile
from optimizer.cli import app
from optimizer.errors import FaultsFound, UsageError
from optimizer.rules.money import price_cents


def saved(folder: Path) -> tuple[Path, int]:
    """A kit drawn by chance as choose would save it, and its price [cents]."""
    job = example(EXAMPLES[0])
    kit = drawn_kit(job.problem, random.Random(8))
    data = {
        "choices": dict(kit.choices), "voltage": kit.voltage, "nights": kit.nights, "brief_file": str(EXAMPLES[0]),
        "brief_hash": "", "catalog_hash": job.catalog.hash, "status": "proven",
    }  # fmt: skip
    path = folder / "kit.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path, price_cents(job.problem, kit)


def test_list_and_files(tmp_path: Path) -> None:
    """The total on the terminal is the kit's price, and both files are written."""
    pytest.importorskip("openpyxl")
    kit, cents = saved(tmp_path)
    run = CliRunner().invoke(
        app, ["buy", str(kit), "--csv", str(tmp_path / "a.csv"), "--xlsx", str(tmp_path / "a.xlsx")]
    )
    assert run.exit_code == 0, run.output
    assert f"Total ${cents / 100:,.2f}".removesuffix(".00") in run.stdout
    assert (tmp_path / "a.csv").read_text(encoding="utf-8").startswith("system,needed,part,what,quantity")
    assert (tmp_path / "a.xlsx").read_bytes()[:2] == b"PK"


def test_a_folder_that_takes_no_file(tmp_path: Path) -> None:
    """What cannot be written is a fault with the file's name, before anything is told."""
    kit, _ = saved(tmp_path)
    run = CliRunner().invoke(app, ["buy", str(kit), "--csv", str(tmp_path / "none" / "a.csv")])
    assert isinstance(run.exception, FaultsFound)
    assert "a.csv" in str(run.exception)
    assert not run.stdout


@pytest.mark.parametrize(("option", "name"), [("--csv", "a.xlsx"), ("--xlsx", "a.csv"), ("--csv", "a")])
def test_a_name_that_tells_another_format(tmp_path: Path, option: str, name: str) -> None:
    """A file is not written under a name that no program would open it by."""
    kit, _ = saved(tmp_path)
    run = CliRunner().invoke(app, ["buy", str(kit), option, str(tmp_path / name)])
    assert isinstance(run.exception, UsageError)
    assert f"ends in .{option[2:]}" in str(run.exception)
    assert not (tmp_path / name).exists()


def test_a_kit_whose_brief_is_gone(tmp_path: Path) -> None:
    """The kit's file, the brief that it names and what to do are told."""
    kit, _ = saved(tmp_path)
    data = json.loads(kit.read_text(encoding="utf-8"))
    kit.write_text(json.dumps({**data, "brief_file": "gone.toml"}), encoding="utf-8")
    for command in (["buy", str(kit)], ["book", str(kit), "-o", str(tmp_path / "book")]):
        run = CliRunner().invoke(app, command)
        assert isinstance(run.exception, FaultsFound)
        assert "kit.json: brief_file is " in str(run.exception)
        assert "gone.toml" in str(run.exception)
        assert "choose again" in str(run.exception)


def test_a_kit_that_breaks_rules_is_not_sold(tmp_path: Path) -> None:
    """An edited kit that is on offer but not sound: the list opens with what is wrong, in the brief's units."""
    kit = golden_kit("gulf_autumn", tmp_path / "kit.json")
    data = json.loads(kit.read_text(encoding="utf-8"))
    assert "Do not buy" not in CliRunner().invoke(app, ["buy", str(kit)]).stdout
    water = {name: key for name, key in data["choices"].items() if name.startswith("water ")}
    assert water
    left = {name: key for name, key in data["choices"].items() if name not in water}
    kit.write_text(json.dumps({**data, "choices": left}), encoding="utf-8")
    told = CliRunner().invoke(app, ["buy", str(kit)]).stdout
    assert told.startswith("Do not buy this kit. It breaks rules")
    assert re.search(r"water: used [0-9.]+ US gal, allowed 0 US gal", told.splitlines()[0])


def test_no_kit(tmp_path: Path) -> None:
    """A file that is no kit is told as such."""
    path = tmp_path / "kit.json"
    path.write_text("{}", encoding="utf-8")
    run = CliRunner().invoke(app, ["buy", str(path)])
    assert isinstance(run.exception, FaultsFound)
    assert "kitwright choose BRIEF --save FILE" in str(run.exception)


def test_a_kit_names_its_brief_from_its_own_folder_or_in_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that both can be moved together; where no way leads from one to the other, as between drives, in full."""
    brief = tmp_path / "briefs" / "brief.toml"
    assert kitfile._from_folder(tmp_path / "kits", brief) == "../briefs/brief.toml"

    def nowhere(*_: object) -> str:
        raise ValueError("path is on mount 'C:', start on mount 'D:'")

    monkeypatch.setattr("os.path.relpath", nowhere)
    assert kitfile._from_folder(tmp_path / "kits", brief) == brief.as_posix()
