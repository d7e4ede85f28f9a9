"""Kills, full disks, two runs at once, missing libraries: a few of each; the full measure is in ``hardship``."""

from __future__ import annotations

import ast
import os
from pathlib import Path

import pytest
from hardship import hardships

PACKAGE = Path(__file__).parents[1] / "optimizer"
posix = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked processes, which are POSIX")


@posix
@pytest.mark.long
@pytest.mark.parametrize("only", ["kill", "at once", "disk", "without"])
def test_nothing_is_lost(only: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever happens while a file is written, every file is whole and the next run ends as if nothing had been."""
    monkeypatch.setenv("KITWRIGHT_CACHE", os.environ["KITWRIGHT_CACHE"])
    counts = list(hardships(16, seed=3, only=only))
    assert sum(count.tried for count in counts) >= len(counts)
    assert [(count.name, loss) for count in counts for loss in count.lost] == []


def test_deadlines_do_not_hang_on_the_clock_on_the_wall() -> None:
    """Somebody sets the clock while a run works: no room reads the time of day, but for the date a book prints."""
    clocks = {
        "time.time", "datetime.now", "datetime.datetime.now", "date.today", "datetime.date.today", "time.strftime",
        "datetime.utcnow", "time.localtime",
    }  # fmt: skip
    told = [
        f"{path.name}: {ast.unparse(node)}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and ast.unparse(node) in clocks
    ]
    assert told == ["cli.py: time.strftime"]
