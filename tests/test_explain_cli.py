"""The command why from outside: limits with prices, parts in and out, rivals, tighter limits, no kit at all."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from brief_samples import GOOD

from optimizer import cli
from optimizer.choosing.choose import Outcome, choose
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import Level, LevelStore
from optimizer.explain.bench import Bench
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.why import bench_for
from optimizer.job import Job, open_job
from optimizer.learnt import recall

BRIEF = GOOD.replace('skills = ["mains_wiring"]', 'skills = ["mains_wiring", "roof_cutting", "body_cutting"]')
assert "catalogs" not in BRIEF
BRIEF = 'catalogs = ["few"]\n' + BRIEF
GENERIC = Path(__file__).parents[1] / "catalogs" / "generic"
WHOLE = ("cable", "fuse", "fitting", "safety")
Said = tuple[int, str, str]


def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> Said:
    """Exit code, output and error output of a command."""
    monkeypatch.setattr("sys.argv", ["kitwright", *words])
    try:
        cli.main()
        code = 0
    except SystemExit as end:
        code = int(end.code or 0)
    said = capsys.readouterr()
    return code, said.out, said.err


def write_job(folder: Path, text: str) -> Path:
    """A brief, and beside it a catalog of every third generic part of each kind."""
    few = folder / "few"
    few.mkdir()
    for file in sorted(GENERIC.glob("*.csv")):
        head, *rows = file.read_text(encoding="utf-8").splitlines()
        kept = rows if file.stem in WHOLE else rows[::3]
        (few / file.name).write_text("\n".join([head, *kept]) + "\n", encoding="utf-8")
    brief = folder / "brief.toml"
    brief.write_text(text, encoding="utf-8")
    return brief


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The best kit of a brief without trips."""
    folder = tmp_path_factory.mktemp("why")
    brief = write_job(folder, BRIEF)
    with pytest.MonkeyPatch.context() as patch:
        words = ["choose", str(brief), "--save", str(folder / "kit.json"), "--quiet"]
        patch.setattr("sys.argv", ["kitwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
    assert end.value.code == 0
    return folder / "kit.json"


def test_limits_stand_with_their_room(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every limit's room is what it allows less what is used; unasked, none is drawn tighter; the dear come first."""
    code, written, _ = run(capsys, monkeypatch, "why", str(saved), "--json")
    assert code == 0
    limits = json.loads(written)["limits"]
    assert {"budget", "payload", "water", "bay_space"} <= {limit["name"] for limit in limits}
    for limit in limits:
        assert limit["proven"], limit["name"]
        assert limit["tighter"] is None, limit["name"]
        for row in limit["standing"]:
            assert row["room"] == pytest.approx(row["allowed"] - row["used"]), limit["name"]
    dear = [limit["looser"] is not None for limit in limits]
    assert dear == sorted(dear, reverse=True)


@pytest.mark.long
def test_words_and_data_tell_the_same_limits(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every limit of the data stands in the words once, and none that is dear is told as free."""
    limits = json.loads(run(capsys, monkeypatch, "why", str(saved), "--json")[1])["limits"]
    _, said, _ = run(capsys, monkeypatch, "why", str(saved))
    dear, _, _ = said.partition("What costs you nothing")
    assert len(limits) > 5
    for limit in limits:
        assert said.count(f": {limit['brief']}.\n") == 1, limit["name"]
        assert (f": {limit['brief']}.\n" in dear) == (limit["looser"] is not None), limit["name"]


def test_parts_and_rivals(saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """A part that is in costs something to leave out, one that is out something to take in; a rival is no better."""
    choices = json.loads(saved.read_text(encoding="utf-8"))["choices"]
    inside = choices["battery"].partition(" ")[0]
    code, written, _ = run(capsys, monkeypatch, "why", str(saved), "--part", inside, "--next", "1", "--json")
    assert code == 0
    found = json.loads(written)
    assert found["part"]["inside"] is True
    today = found["kit"]["price"]
    assert found["part"]["kit"]["price"] >= today
    assert found["next_best"][0]["price"] >= today
    assert found["next_best"][0]["parts"]
    code, _, error = run(capsys, monkeypatch, "why", str(saved), "--part", "no-such-part")
    assert code == 2
    assert "no-such-part" in error


def test_what_is_not_settled_ends_with_a_code_of_its_own(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither a fault (2) nor done (0): a script must see that the answer is no proof."""
    inside = json.loads(saved.read_text(encoding="utf-8"))["choices"]["battery"].partition(" ")[0]
    ask = Bench.ask

    def late(bench: Bench, change: Change | None = None, *asked: object, **more: object) -> Found:
        found = ask(bench, change, *asked, **more)  # type: ignore[arg-type]
        return found if change == Change() else Found(found.kit, "unproven")

    monkeypatch.setattr(Bench, "ask", late)
    code, said, _ = run(capsys, monkeypatch, "why", str(saved), "--part", inside)
    assert code == 3
    assert "(not proven within the time)" in said
    monkeypatch.setattr(Bench, "ask", lambda *_, **__: Found(None, "unproven"))
    code, said, error = run(capsys, monkeypatch, "why", str(saved))
    assert (code, said) == (3, "")
    assert "could not be shown within the time" in error


def test_what_is_given_up_is_told_as_going_out_of_the_kit(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thing that the changed brief has no group for is among the parts that differ; giving up never costs more."""
    code, written, _ = run(capsys, monkeypatch, "why", str(saved), "--questions", "--json")
    assert code == 0
    found = json.loads(written)
    asked = {answer["question"].partition(",")[0].partition(" (")[0]: answer["kit"] for answer in found["questions"]}
    kit = json.loads(saved.read_text(encoding="utf-8"))["choices"]
    for name, group in (("no charger for hook-ups", "mains_charger"), ("no roof fan", "roof_fan")):
        assert (name in asked) == (group in kit)
        if group in kit:
            part = kit[group].partition(" ")[0]
            assert {"id": part, "today": 1, "then": 0} in asked[name]["parts"], name
            assert group not in asked[name]["choices"]
    assert "no roof fan" in asked
    for name in ("no charger for hook-ups", "no roof fan", "any bank voltage"):
        assert name not in asked or asked[name]["price"] <= found["kit"]["price"], name


def test_ctrl_c_ends_all_questions_and_tells_what_was_found(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What came before is told, the rest is said to be open, and no question is asked after it."""
    asked: list[None] = []

    def interrupted(*words: Any, **more: Any) -> Outcome:
        asked.append(None)
        if len(asked) == 3:
            os.kill(os.getpid(), signal.SIGINT)
        return choose(*words, **more)

    monkeypatch.setattr("optimizer.explain.bench.choose", interrupted)
    before = signal.getsignal(signal.SIGINT)
    code, said, error = run(capsys, monkeypatch, "why", str(saved), "--workers", "1")
    assert code == 3
    assert len(asked) == 3
    assert signal.getsignal(signal.SIGINT) is before
    assert said.startswith("Why this kit: ")
    free, open_ = said.partition("What costs you nothing")[2], said.partition("What was not settled within the time:\n")
    assert "  Fresh water: " in open_[2]
    assert "  Fresh water: " not in free.partition("What was not settled")[0]
    assert "Stopped early: what was not settled by then is said to be open." in error


def test_an_impossible_budget_is_told_with_its_way_out(
    saved: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """With half the money of the best kit there is none, and the way out asks for exactly what is missing."""
    price = json.loads(run(capsys, monkeypatch, "why", str(saved), "--next", "1", "--json")[1])["kit"]["price"]
    budget = int(price / 2)
    lines = [f"budget = {budget}" if line.startswith("budget = ") else line for line in BRIEF.splitlines()]
    brief = write_job(tmp_path, "\n".join(lines))
    code, written, _ = run(capsys, monkeypatch, "choose", str(brief), "--json")
    assert code == 1
    found = json.loads(written)
    assert found["minimal"] is True
    assert "budget" in [line["name"] for line in found["conflict"]]
    alone = [way for way in found["ways_out"] if [step["name"] for step in way["steps"]] == ["budget"]]
    assert alone[0]["steps"][0]["give"] == pytest.approx(price - budget)
    assert alone[0]["kit"]["price"] == pytest.approx(price)


def test_why_begins_with_what_choosing_learnt(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Levels of a kit that is saved are kept, and the next question begins with them; unsaved, none are."""
    monkeypatch.setenv("KITWRIGHT_CACHE", str(tmp_path / "cache"))
    text = BRIEF.replace('season_from = "04-15"', 'season_from = "05-01"').replace("nights = 7", "nights = 4")
    text = text.replace('season_to = "10-15"', 'season_to = "05-20"').replace("[trip]", "[trip]\ncoverage = 90")
    brief, kit = write_job(tmp_path, text), tmp_path / "kit.json"
    assert run(capsys, monkeypatch, "choose", str(brief))[0] == 0
    scene = open_job(brief).scene
    assert not list(recall(scene))
    assert run(capsys, monkeypatch, "choose", str(brief), "--save", str(kit))[0] == 0
    kept = list(recall(scene))
    assert kept
    begun: list[Level] = []

    def watched(job: Job, settings: Settings, store: LevelStore, report: Callable[[str], None]) -> Bench:
        begun.extend(store)
        return bench_for(job, settings, store, report)

    monkeypatch.setattr("optimizer.explain.why.bench_for", watched)
    inside = json.loads(kit.read_text(encoding="utf-8"))["choices"]["battery"].partition(" ")[0]
    assert run(capsys, monkeypatch, "why", str(kit), "--part", inside)[0] == 0
    assert set(begun) == set(kept)
    assert set(recall(scene)) >= set(kept)
