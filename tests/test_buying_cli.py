"""``kitwright buy``: a saved kit becomes a list on the terminal and files, or a sentence about what is wrong."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from typer.testing import CliRunner
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.cli import app
from optimizer.errors import FaultsFound
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


def test_no_kit(tmp_path: Path) -> None:
    """A file that is no kit is told as such."""
    path = tmp_path / "kit.json"
    path.write_text("{}", encoding="utf-8")
    run = CliRunner().invoke(app, ["buy", str(path)])
    assert isinstance(run.exception, FaultsFound)
    assert "kitwright choose BRIEF --save FILE" in str(run.exception)
