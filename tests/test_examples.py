"""The three examples: their answers are kept, repeat to the byte, and agree with check and replay."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import documents
import pytest

from optimizer.kitfile import as_json, dumps, kit_on_offer, load, save

pytestmark = pytest.mark.long


@pytest.mark.parametrize("name", documents.NAMES)
def test_answers_are_kept(name: str, tmp_path: Path) -> None:
    """Objective, proof and kit are those of the golden file (regression values, made by
    tests/documents.py); check, replay and the saved file say the same."""
    result = documents.chosen(name)
    golden = json.loads((documents.GOLDEN / f"{name}.json").read_text(encoding="utf-8"))
    assert documents.answer(name) == golden
    assert golden["status"] == "proven"
    assert golden["value"] == golden["bound"] == golden["totals"]["price"]
    assert documents.words(name) == (documents.GOLDEN / f"{name}.txt").read_text(encoding="utf-8")
    assert result.verdict.ok
    assert result.replay.departures - result.replay.covered <= result.job.allowed_short
    save(result, tmp_path / "kit.json")
    assert kit_on_offer(load(tmp_path / "kit.json"), result.job) == result.kit
    if name == documents.TOUR:
        told = (documents.GOLDEN / f"{name}_replay.txt").read_text(encoding="utf-8")
        assert documents.replayed(name) == told


def test_two_runs_give_the_same_bytes() -> None:
    """The command in another interpreter, with another hash seed, prints the same JSON, timings aside."""
    name = "gulf_autumn"
    brief = str(documents.EXAMPLES / f"{name}.toml")
    done = subprocess.run(
        [sys.executable, "-m", "optimizer.cli", "choose", brief, "--json"],
        capture_output=True, text=True, env={**os.environ, "PYTHONHASHSEED": "7"}, cwd=documents.ROOT, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data.pop("timings")["seconds"] > 0
    assert dumps(data) == dumps(as_json(documents.chosen(name)))
