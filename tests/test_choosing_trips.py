"""What choosing says about trips holds: for check and replay, for harder questions, and when it is stopped."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from sampled_worlds import EXAMPLE, ROOT, sampled_job

from optimizer.check import check
from optimizer.choosing.choose import Outcome
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.job import Job, Result, choose_kit, open_job, replay_kit
from optimizer.learnt import keep, recall

EXAMPLES = sorted(EXAMPLE.parent.glob("*.toml"))
WORLDS = (11, 14)
KEPT_WORLD = 16
"""Where several rounds are needed at first, and no cheaper kit fails on its places, of which nothing is kept."""
MORE_WORLDS = (0, 2, 3, 5, 7, 12, 13, *range(15, 27))


def answer(job: Job, store: LevelStore | None = None) -> Outcome:
    """What choosing says, proven one way or the other."""
    outcome = choose_kit(job, store=store).outcome
    assert outcome.status in ("proven", "impossible")
    return outcome


def no_better(harder: Outcome, easier: Outcome) -> bool:
    """Whether a harder question has no better an answer."""
    if harder.value is None:
        return True
    if easier.value is None:
        return False
    return harder.value <= easier.value if harder.goal.maximise else harder.value >= easier.value


@cache
def example(path: Path) -> Result:
    """An example and what choosing says to it."""
    return choose_kit(open_job(path))


@pytest.mark.long
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_check_and_replay_say_the_same_as_choosing(path: Path) -> None:
    """The kit of an example keeps every rule, and no more departures fall short than are allowed."""
    result = example(path)
    assert result.outcome.status == "proven"
    assert result.kit is not None
    assert check(result.job.problem, result.kit).ok
    run = replay_kit(result.job, result.kit)
    departures = int(result.job.scene.departures.size)
    short = departures - int(run.outcomes.survived.sum())
    coverage = result.job.brief.trip.coverage
    assert coverage is not None
    assert short <= result.job.allowed_short
    assert 100 * (departures - short) >= coverage * departures


def harder_is_never_better(number: int) -> bool:
    """Coverage up, then nights up: whether the coverage mattered where there was a kit."""
    by_coverage = [answer(sampled_job(number, coverage)) for coverage in (60, 90, 100)]
    by_nights = [by_coverage[0], answer(sampled_job(number, 60, more_nights=1))]
    for outcomes in (by_coverage, by_nights):
        for easier, harder in pairwise(outcomes):
            assert no_better(harder, easier) or (outcomes is by_nights and easier.goal.slug == "longest")
    return by_coverage[0].kit is not None and by_coverage[0].value != by_coverage[-1].value


def test_raising_coverage_or_nights_never_lowers_the_price() -> None:
    """The same parts and limits, a higher coverage or a longer stay: never a better goal."""
    mattered = [harder_is_never_better(number) for number in WORLDS]
    assert any(mattered)


@pytest.mark.long
def test_raising_coverage_or_nights_never_lowers_the_price_in_more_worlds() -> None:
    """The same in more of them."""
    mattered = [harder_is_never_better(number) for number in MORE_WORLDS]
    assert sum(mattered) >= 4


@pytest.mark.parametrize("number", [*WORLDS, *(pytest.param(n, marks=pytest.mark.long) for n in MORE_WORLDS[:6])])
def test_a_used_store_gives_the_same_kit_as_an_empty_one(number: int) -> None:
    """What other coverages taught changes no answer, nor does asking twice."""
    store = LevelStore()
    for coverage in (100, 70, 90):
        job = sampled_job(number, coverage)
        fresh, used, again = answer(job), answer(job, store), answer(job, store)
        assert fresh.kit == used.kit == again.kit
        assert fresh.value == used.value == again.value


def test_a_kept_kit_is_only_asked_whether_any_other_is_as_good(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was best once goes through the file; found again it takes one round, and a dearer one misleads nobody."""
    monkeypatch.setenv("KITWRIGHT_CACHE", str(tmp_path))
    job, store = sampled_job(KEPT_WORLD, 90), LevelStore()
    first = answer(job, store)
    assert first.kit is not None
    assert first.rounds > 1
    assert store.kits == (replace(first.kit, places=None),)
    assert keep(job.scene, store)
    kept = recall(job.scene)
    assert kept.kits == store.kits
    again = answer(job, kept)
    assert (again.kit, again.rounds) == (first.kit, 1)
    dearer = answer(sampled_job(KEPT_WORLD, 100)).kit
    assert dearer not in (None, first.kit)
    misled = LevelStore(kits=[replace(first.kit, choices={"no such group": "part"}), *([dearer] if dearer else [])])
    assert answer(job, misled).kit == first.kit


@pytest.mark.long
def test_a_used_store_gives_the_same_kit_for_the_largest_example() -> None:
    """The same where there is most to learn."""
    store = LevelStore()
    first = choose_kit(open_job(EXAMPLE), store=store)
    assert len(store) > 0
    assert choose_kit(open_job(EXAMPLE), store=store).kit == first.kit == example(EXAMPLE).kit


# -- stopped early --------------------------------------------------------------------------------------


def allowed_when_stopped(result: Result) -> bool:
    """Whether a result without proof keeps its word: a bound on the right side, a kit that holds."""
    outcome = result.outcome
    assert outcome.status == "unproven"
    if outcome.kit is None:
        assert outcome.value is None
        return False
    assert check(result.job.problem, outcome.kit).ok
    run = replay_kit(result.job, outcome.kit)
    assert int((~run.outcomes.survived).sum()) <= result.job.allowed_short
    assert outcome.value is not None
    assert outcome.bound is None or outcome.bound <= outcome.value
    return True


@pytest.mark.parametrize("seconds", [0.01, 0.3])
def test_out_of_time_is_said_with_bound_and_best_kit(seconds: float) -> None:
    """However short the time, nothing that is not proven is called so, and what is given holds."""
    allowed_when_stopped(choose_kit(open_job(EXAMPLE), Settings(seconds=seconds)))


@pytest.mark.long
@pytest.mark.parametrize("seconds", [1.0, 2.0, 4.0])
def test_with_a_little_more_time_the_bound_stays_below_the_best(seconds: float) -> None:
    """A bound known early is no higher than the price proven in the end."""
    best = example(EXAMPLE).outcome
    result = choose_kit(open_job(EXAMPLE), Settings(seconds=seconds))
    if result.outcome.status == "unproven":
        allowed_when_stopped(result)
    assert best.value is not None
    assert result.outcome.bound is None or result.outcome.bound <= best.value
    assert result.outcome.value is None or result.outcome.value >= best.value


def command(*more: str) -> list[str]:
    """``kitwright choose`` for the largest example, in another interpreter."""
    return [sys.executable, "-m", "optimizer.cli", "choose", str(EXAMPLE), *more]


def said_when_stopped(code: int, out: str, err: str) -> dict[str, object]:
    """What a stopped command printed as JSON."""
    assert code == 3, err
    assert "Traceback" not in err + out
    data: dict[str, object] = json.loads(out)
    assert data["status"] == "unproven"
    return data


def test_the_command_out_of_time_ends_with_code_3() -> None:
    """A tiny ``--seconds``: exit code 3, status, bound and kit, or that there is none; no traceback."""
    done = subprocess.run(command("--seconds", "0.1", "--json"), cwd=ROOT, capture_output=True, text=True, check=False)
    data = said_when_stopped(done.returncode, done.stdout, done.stderr)
    assert {"bound", "value"} <= data.keys()


def test_the_command_says_in_words_that_it_is_not_proven() -> None:
    """The same for a reader of words."""
    done = subprocess.run(command("--seconds", "0.1"), cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr + done.stdout
    assert "proven" in done.stdout or "no kit" in done.stdout.lower()


STOPPED = """
import os, signal, sys, threading
from optimizer import cli
from optimizer.choosing import choose
solve = choose.minimise
def stopped(*asked, **named):
    choose.minimise = solve
    threading.Timer({after}, os.kill, (os.getpid(), signal.SIGINT)).start()
    return solve(*asked, **named)
choose.minimise = stopped
sys.argv[0] = "kitwright"
cli.main()
"""
"""The command with SIGINT sent to it so many seconds after its first solve has begun, however slow the machine."""


def interrupted(after: float, *more: str) -> subprocess.CompletedProcess[str]:
    """``kitwright choose`` for the largest example, interrupted once."""
    words = [sys.executable, "-c", STOPPED.format(after=after), *command(*more)[3:]]
    return subprocess.run(words, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)


needs_sigint = pytest.mark.skipif(os.name == "nt", reason="there is no SIGINT to send")


@needs_sigint
@pytest.mark.parametrize("after", [0.05, *(pytest.param(s, marks=pytest.mark.long) for s in (0.3, 0.6, 1.0))])
def test_ctrl_c_once_gives_the_best_kit_so_far(after: float) -> None:
    """SIGINT once in the search: exit code 3, no traceback, and what is given of kit, value and bound fits."""
    done = interrupted(after, "--json")
    if after > 0.05 and done.returncode == 0:
        pytest.skip("this machine had the proof before the signal came")
    data = said_when_stopped(done.returncode, done.stdout, done.stderr)
    value, bound = data["value"], data["bound"]
    assert (value is None) == ("nights" not in data)
    if value is not None and bound is not None:
        assert bound <= value


@pytest.mark.long
@needs_sigint
def test_ctrl_c_in_words_names_the_gap() -> None:
    """In words the best kit so far comes with how far from the bound it may be."""
    done = interrupted(0.5)
    if done.returncode == 0:
        pytest.skip("this machine had the proof before the signal came")
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr + done.stdout
    if "battery" in done.stdout:
        assert "not proven" in done.stdout.lower() or "gap" in done.stdout.lower()
