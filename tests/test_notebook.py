"""The functions for notebooks answer as the commands do, and every answer shows itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from batch_cases import folder_with

from optimizer import notebook
from optimizer.errors import FaultsFound, UsageError

OWN_KINDS = Path(__file__).parent.parent / "examples" / "own_kinds" / "brief.toml"


@pytest.fixture(scope="module")
def brief(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small brief in a file, with a budget that leaves few trade-offs."""
    path, _ = folder_with(tmp_path_factory.mktemp("notebook"))
    path.write_text(path.read_text().replace("budget = 4000", "budget = 655"), encoding="utf-8")
    return path


def test_choose_why_and_replay(brief: Path) -> None:
    """One job serves several questions; each answer has words, data and HTML."""
    job = notebook.opened(brief)
    answer = notebook.choose(job)
    assert answer.kit is not None
    assert "Proven" in str(answer)
    assert answer._repr_html_().startswith("<pre>")
    reasons = notebook.why(job, answer.kit)
    assert "<pre>" in reasons._repr_html_()
    assert str(reasons)
    trips = notebook.replay(job, answer.kit)
    assert trips.data.departures == 30
    assert "Trips:" in trips.text


def test_a_kit_of_another_brief_is_a_sentence(brief: Path) -> None:
    """A kit with what this brief does not offer is refused by name; its own is not."""
    job = notebook.opened(brief)
    kit = notebook.choose(job).kit
    assert kit is not None
    foreign = replace(kit, choices={**kit.choices, "battery": "bat-of-somebody"})
    for ask in (notebook.replay, notebook.why):
        with pytest.raises(UsageError, match=r"none of this brief: 'bat-of-somebody' is not on offer for battery\. "):
            ask(job, foreign)


def test_what_the_command_notes_is_noted() -> None:
    """What is odd about a brief stands below the kit: nobody in a notebook sees the command's notes."""
    answer = notebook.choose(OWN_KINDS)
    assert "\n\nNote: There are no [[meals]]: nothing that cooks will be chosen." in answer.text


def test_frontier_and_batch(brief: Path) -> None:
    """Both give tables."""
    points = notebook.frontier(brief, ["price", "battery"])
    assert points.complete
    assert "<table" in points._repr_html_()
    assert str(points).startswith("small\nprice against battery: ")
    rows = notebook.batch(brief, [{"trip.nights": 4}, {"trip.nights": 5}], workers=1)
    assert list(rows.frame()["trip.nights"]) == [4, 5]
    assert str(rows).split()[:4] == ["variant", "trip.nights", "status", "goal"]
    assert rows.rows[0]["value"] == points.numbers(points.points[0])[0]


def test_faults_are_the_same(tmp_path: Path) -> None:
    """A brief that is not there is a fault, as it is for the commands."""
    with pytest.raises(FaultsFound):
        notebook.choose(tmp_path / "none.toml")
