"""Batches give the same bytes one by one, over processes, over a cluster, and however often they are killed."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from batch_cases import DIFFERENT, TABLE, folder_with

from optimizer.batch.compare import compared, draw_comparison, read_result, tell_comparison
from optimizer.batch.reuse import Answered
from optimizer.batch.run import How, Progress, rows_batch, run_batch
from optimizer.choosing import choose
from optimizer.errors import FaultsFound, UsageError
from optimizer.frames import write_rows

ALONE = How(workers=1)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The result of an unbroken run in one process."""
    folder = tmp_path_factory.mktemp("whole")
    brief, variants = folder_with(folder)
    seen: list[Progress] = []
    run_batch(brief, variants, folder / "out.csv", how=ALONE, progress=seen.append)
    assert [p.done for p in seen] == list(range(1, DIFFERENT + 1))
    assert seen[0].total == DIFFERENT
    assert [path.name for path in folder.glob("out*")] == ["out.csv"]
    return (folder / "out.csv").read_bytes()


def test_each_row_says_what_came_of_it(whole: bytes, tmp_path: Path) -> None:
    """Status, value, totals, counts, limits that bind, and the conflict of the impossible one."""
    (tmp_path / "out.csv").write_bytes(whole)
    frame = pd.read_csv(tmp_path / "out.csv")
    assert list(frame["variant"]) == [1, 2, 3, 4, 5, 6]
    assert list(frame["status"]) == ["proven"] * 4 + ["impossible", "proven"]
    good = frame[frame["status"] == "proven"]
    assert (good["value"] == good["bound"]).all()
    assert (good["value"] == good["price_usd"]).all()
    assert (good["count_battery"] >= 1).all()
    assert good["binding"].str.contains("sunless_energy").all()
    assert "500" in frame["conflict"][4]
    same = [column for column in frame.columns if column not in ("variant", "limits.budget", "uses[1].power")]
    assert frame.loc[0, same].equals(frame.loc[3, same].rename(0))


def test_rows_equal_choosing_each_on_its_own(whole: bytes, tmp_path: Path) -> None:
    """What a batch shares between variants changes nothing."""
    from optimizer.notebook import choose

    (tmp_path / "out.csv").write_bytes(whole)
    frame = pd.read_csv(tmp_path / "out.csv")
    brief, _ = folder_with(tmp_path)
    brief.write_text(brief.read_text().replace("nights = 4", "nights = 9").replace("power = 12", "power = 60"))
    alone = choose(brief)
    assert alone.kit is not None
    counts = alone.kit.counts(alone.job.problem)
    assert frame["kit"][5] == ", ".join(f"{count} {part}" for part, count in counts.items())


def test_answers_used_again_are_those_of_choosing_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ladders of allowances, where an earlier answer often does: rows are the same without any such use."""
    brief, _ = folder_with(tmp_path)
    rows: list[dict[str, object]] = [
        {"limits.budget": budget, "vehicle.gross_mass": mass, "trip.nights": nights}
        for budget in (4000, 690, 639, 634, 600) for mass in (2900, 1960) for nights in (9, 4)
    ]
    again = rows_batch(brief, rows, None, how=How(workers=1, conflicts=False))
    used = []
    find = Answered.answer
    monkeypatch.setattr(Answered, "answer", lambda *given: used.append(find(*given)))
    anew = rows_batch(brief, rows, None, how=How(workers=1, conflicts=False))
    assert again.rows == anew.rows
    assert sum(found is not None for found in used) >= 4
    assert {row["status"] for row in again.rows} == {"proven", "impossible"}
    assert len({row.get("kit") for row in again.rows}) >= 3


def test_processes_give_the_same(whole: bytes, tmp_path: Path) -> None:
    """Two processes, the same bytes."""
    brief, variants = folder_with(tmp_path)
    run_batch(brief, variants, tmp_path / "out.csv", how=How(workers=2))
    assert (tmp_path / "out.csv").read_bytes() == whole


def test_broken_off_and_gone_on(whole: bytes, tmp_path: Path) -> None:
    """Stopped after two rows, a torn line at the end: the next run solves only the rest, and gives the same."""
    brief, variants = folder_with(tmp_path)

    def stop(progress: Progress) -> None:
        if progress.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_batch(brief, variants, tmp_path / "out.csv", how=ALONE, progress=stop)
    assert not (tmp_path / "out.csv").exists()
    journal = tmp_path / "out.csv.journal"
    journal.write_bytes(journal.read_bytes() + b'00000000 {"key": "torn')
    seen: list[Progress] = []
    run_batch(brief, variants, tmp_path / "out.csv", how=ALONE, progress=seen.append)
    assert [p.done for p in seen] == [3, 4, 5]
    assert (tmp_path / "out.csv").read_bytes() == whole
    assert not journal.exists()


@pytest.mark.parametrize("asked_by", ["solving", "conflicts"])
def test_ctrl_c_inside_a_variant_leaves_no_half_row(
    whole: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked_by: str
) -> None:
    """In this process choosing takes Ctrl-C as the end of one question; the batch takes it as its own end."""
    brief, variants = folder_with(tmp_path)
    real = choose._Search._rounds

    def pressed(*given: Any, **named: Any) -> Any:
        if any(frame.filename.endswith(f"{asked_by}.py") for frame in traceback.extract_stack()):
            signal.raise_signal(signal.SIGINT)
        return real(*given, **named)

    with monkeypatch.context() as patch:
        patch.setattr(choose._Search, "_rounds", pressed)
        with pytest.raises(KeyboardInterrupt):
            run_batch(brief, variants, tmp_path / "out.csv", how=ALONE)
    assert not (tmp_path / "out.csv").exists()
    run_batch(brief, variants, tmp_path / "out.csv", how=ALONE)
    assert (tmp_path / "out.csv").read_bytes() == whole


def test_journal_of_another_batch_is_refused(tmp_path: Path) -> None:
    """Rows of one table never get into the result of another."""
    brief, variants = folder_with(tmp_path)
    (tmp_path / "out.csv.journal").write_text("", encoding="utf-8")

    def stop(_: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_batch(brief, variants, tmp_path / "out.csv", how=ALONE, progress=stop)
    variants.write_text(TABLE + "3,,\n", encoding="utf-8")
    with pytest.raises(FaultsFound, match="another batch"):
        run_batch(brief, variants, tmp_path / "out.csv", how=ALONE)


def test_unknown_endings_are_told_at_once(tmp_path: Path) -> None:
    """Before a minute of work, not after."""
    brief, variants = folder_with(tmp_path)
    with pytest.raises(UsageError):
        run_batch(brief, variants, tmp_path / "out.doc", how=ALONE)


def test_same_rows_from_memory(whole: bytes, tmp_path: Path) -> None:
    """Variants as mappings, a result in memory that shows itself."""
    brief, _ = folder_with(tmp_path)
    found = rows_batch(brief, [{"trip.nights": 4}, {"trip.nights": 6}], None, how=ALONE)
    (tmp_path / "w.csv").write_bytes(whole)
    frame = pd.read_csv(tmp_path / "w.csv")
    assert [row["value"] for row in found.rows] == [frame["value"][0], frame["value"][2]]
    assert "<table" in found._repr_html_()


@pytest.mark.parametrize("ending", [".xlsx", ".parquet", ".json"])
def test_formats_come_back_and_repeat_to_the_byte(whole: bytes, tmp_path: Path, ending: str) -> None:
    """Whatever the format, the values are the same, and so are the bytes of two writings."""
    from optimizer.frames import table_bytes

    (tmp_path / "w.csv").write_bytes(whole)
    rows = read_result(tmp_path / "w.csv")
    columns = list(rows[0])
    one = table_bytes(rows, columns, ending)
    time.sleep(1.1)  # formats with a clock in them tell seconds
    assert table_bytes(rows, columns, ending) == one
    (tmp_path / f"w{ending}").write_bytes(one)
    again = read_result(tmp_path / f"w{ending}")
    assert [row["value"] for row in again] == [row["value"] for row in rows]
    assert [row["kit"] for row in again] == [row["kit"] for row in rows]


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".parquet", ".json"])
def test_whole_numbers_beside_empty_cells_are_written_in_each_format(tmp_path: Path, ending: str) -> None:
    """An impossible variant has no nights and no counts; the file is written and read again all the same."""
    rows = [
        {"variant": 1, "x": 5, "mixed": 3, "status": "proven", "value": 2.5, "nights": 4},
        {"variant": 2, "x": None, "mixed": "4 kg", "status": "impossible", "value": None},
    ]
    write_rows(rows, ["variant", "x", "mixed", "status", "value", "nights"], tmp_path / f"w{ending}")
    again = read_result(tmp_path / f"w{ending}")
    assert [row["nights"] for row in again] == [4, None]
    assert [row["x"] for row in again] == [5, None]
    assert [str(row["mixed"]) for row in again] == ["3", "4 kg"]


def test_a_measure_of_words_is_a_sentence() -> None:
    """Nothing can be said of how words change; a name misspelt gets the nearest."""
    rows = _rows("w", [1, 2], [3, 4])
    with pytest.raises(UsageError, match="'status' holds words; expected one of numbers"):
        compared(rows, "status")
    with pytest.raises(UsageError, match="Did you mean 'value'"):
        compared(rows, "valeu")


def test_comparison_tells_what_drives_and_where_it_turns() -> None:
    """Nights cost 10 each and watts 1 each; with less than 100 of budget nothing is possible."""
    rows = [
        {
            "variant": 1, "trip.nights": n, "w": w, "limits.budget": b, "status": "proven" if b > 100 else "impossible",
            "value": 10.0 * n + w if b > 100 else None,
        }
        for n in (4, 5, 6) for w in (1, 2) for b in (50, 200, 300)
    ]  # fmt: skip
    found = compared(rows)
    effects = {effect.key: effect for effect in found.effects}
    assert [effect.key for effect in found.effects] == ["trip.nights", "w", "limits.budget"]
    assert effects["trip.nights"].mean == effects["trip.nights"].most == 10
    assert effects["w"].mean == 1
    assert effects["limits.budget"].turns == ((50, 200),)
    assert not effects["w"].turns
    told = tell_comparison(found)
    assert "between 50 and 200" in told
    assert "12 proven, 6 impossible" in told
    with pytest.raises(UsageError):
        compared(rows, "colour")


def _rows(key: str, cells: list[Any], values: list[float | None], goal: str = "cheapest") -> list[dict[str, Any]]:
    """A result in which one key varies."""
    return [
        {"variant": n, key: cell, "status": "impossible" if value is None else "proven", "goal": goal, "value": value}
        for n, (cell, value) in enumerate(zip(cells, values, strict=True), start=1)
    ]


def test_amounts_are_compared_as_amounts_however_they_are_written() -> None:
    """Pounds, kilograms and dollars stand in their order; what is the same amount is one value."""
    found = compared(_rows("limits.budget", ["4500", "1500", "$2,300", "$4,500"], [30, None, 20, 30]))
    (effect,) = found.effects
    assert effect.turns == (("1500", "$2,300"),)
    assert (effect.pairs, effect.mean) == (1, 10)
    assert "between 1500 and $2,300" in tell_comparison(found)
    found = compared(_rows("limits.payload_margin", ["1500 lb", "900 lb", 10], [None, 5, 4]))
    assert found.effects[0].turns == (("900 lb", "1500 lb"),)


def test_what_is_not_compared_is_not_told_as_no_change() -> None:
    """A key in which no two variants with a kit differ alone has no mean; a cell left empty is the brief's own."""
    rows = _rows("trip.nights", [None, 5, 5], [10, 20, 30])
    for row, budget in zip(rows, (None, 200, 300), strict=True):
        row["limits.budget"] = budget
    rows.append({**rows[0], "variant": 4, "trip.nights": 7, "status": "impossible", "value": None})
    told = tell_comparison(compared(rows)).splitlines()
    assert "'-' = no two variants with a kit differ in it alone" in told[2]
    assert told[3].split() == ["key", "mean", "change", "of", "price", "[USD]", "most", "pairs"]
    assert next(line for line in told if line.startswith("trip.nights  ")).split()[1:] == ["-", "-", "0"]
    assert "  trip.nights: between the brief's own and 7" in told
    assert "empty = no such variant" in "\n".join(told)


def test_the_best_of_a_cell_is_the_most_where_more_is_better() -> None:
    """Nights are told by the most of each cell, and named; one variant is one."""
    rows = _rows("w", [1, 1, 2, 2, 1], [3, 9, 5, 4, 7], "longest")
    told = tell_comparison(compared([{**row, "other": n % 2} for n, row in enumerate(rows)]))
    assert "Most nights; '-' = no kit:" in told
    assert "7.00" in told
    assert tell_comparison(compared(_rows("w", [1], [2]))).startswith("1 variant: ")


def test_large_numbers_are_not_told_in_powers_of_ten() -> None:
    """Two large values stay two."""
    told = tell_comparison(compared(_rows("w", [1234567, 1234568], [None, 2])))
    assert "between 1234567 and 1234568" in told


@pytest.mark.parametrize("ending", [".svg", ".png"])
def test_comparison_is_drawn_the_same_each_time(whole: bytes, tmp_path: Path, ending: str) -> None:
    """Two drawings are one, to the byte."""
    (tmp_path / "w.csv").write_bytes(whole)
    found = compared(read_result(tmp_path / "w.csv"))
    for name in ("one", "two"):
        draw_comparison(found, tmp_path / f"{name}{ending}")
    assert (tmp_path / f"one{ending}").read_bytes() == (tmp_path / f"two{ending}").read_bytes()


@pytest.mark.parametrize("address", ["nonsense", "tcp://", "tcp://host", ""])
def test_an_address_that_is_none_is_a_sentence(tmp_path: Path, address: str) -> None:
    """Told before the library is asked, which complains in its own way later."""
    brief, variants = folder_with(tmp_path)
    with pytest.raises(UsageError, match="expected one such as tcp://HOST:8786"):
        run_batch(brief, variants, tmp_path / "out.csv", how=How(cluster=address))


# -- real processes -----------------------------------------------------------------------------


def _command(folder: Path, *more: str) -> list[str]:
    files = [str(folder / name) for name in ("brief.toml", "variants.csv")]
    return [sys.executable, "-m", "optimizer.cli", "batch", *files, "-o", str(folder / "out.csv"), "--quiet", *more]


@pytest.mark.long
def test_killed_at_random_moments(whole: bytes, tmp_path: Path) -> None:
    """kill -9 at ten random moments, each time gone on with: identical results."""
    rng = random.Random(11)
    for round_ in range(5):
        folder = tmp_path / str(round_)
        folder.mkdir()
        folder_with(folder)
        for _ in range(2):
            process = subprocess.Popen(_command(folder, "--workers", str(1 + round_ % 2)), start_new_session=True)
            time.sleep(rng.uniform(0.5, 9))
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        subprocess.run(_command(folder, "--workers", "1"), check=True, capture_output=True)
        assert (folder / "out.csv").read_bytes() == whole


@pytest.mark.long
def test_killed_worker_changes_nothing(whole: bytes, tmp_path: Path) -> None:
    """One of two worker processes is killed in the middle; the batch goes on by itself."""
    folder_with(tmp_path)
    process = subprocess.Popen(_command(tmp_path, "--workers", "2"))
    victim = None
    while victim is None and process.poll() is None:
        time.sleep(0.2)
        victim = _busy_child(process.pid)
    if victim is not None:
        os.kill(victim, signal.SIGKILL)
    assert process.wait() == 0
    assert (tmp_path / "out.csv").read_bytes() == whole


def _busy_child(parent: int) -> int | None:
    """A child process that has worked for a second or more."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
                command = (entry / "cmdline").read_bytes()
            except OSError:
                continue
            if int(fields[1]) == parent and b"spawn_main" in command and int(fields[11]) > 150:
                return int(entry.name)
    return None


@contextmanager
def _cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A Dask scheduler and two worker processes on the loopback, started by Dask's own commands."""
    pytest.importorskip("distributed")
    import socket

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    dask = [sys.executable, "-m", "dask"]
    place = ["--host", "127.0.0.1"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": tmp_path}
    scheduler = subprocess.Popen([*dask, "scheduler", *place, "--port", str(port), "--no-dashboard"], **quiet)  # type: ignore[call-overload]
    workers = [
        subprocess.Popen(  # type: ignore[call-overload]
            [*dask, "worker", address, *place, "--nthreads", "1", "--nworkers", "1", "--no-dashboard", "--no-nanny"],
            **quiet,
        )
        for _ in range(2)
    ]
    try:
        yield address, workers
    finally:
        for process in (*workers, scheduler):
            process.terminate()
            process.wait()


@pytest.mark.long
def test_cluster_gives_the_same_though_a_worker_dies(whole: bytes, tmp_path: Path) -> None:
    """Two real worker processes, one of them killed after the first row: the same bytes."""
    brief, variants = folder_with(tmp_path)
    with _cluster(tmp_path) as (address, workers):
        run_batch(brief, variants, tmp_path / "out.csv", how=How(cluster=address))
        assert (tmp_path / "out.csv").read_bytes() == whole

        def kill(progress: Progress) -> None:
            if progress.done == 1:
                workers[0].kill()

        run_batch(brief, variants, tmp_path / "again.csv", how=How(cluster=address), progress=kill)
    assert (tmp_path / "again.csv").read_bytes() == whole


@pytest.mark.long
def test_no_scheduler_is_a_sentence(tmp_path: Path) -> None:
    """An address at which nobody answers."""
    pytest.importorskip("distributed")
    brief, variants = folder_with(tmp_path)
    with pytest.raises(UsageError, match="No Dask scheduler"):
        run_batch(brief, variants, tmp_path / "out.csv", how=How(cluster="tcp://127.0.0.1:9"))


def test_rows_are_plain_data(whole: bytes, tmp_path: Path) -> None:
    """What the journal keeps can be kept: no number that JSON does not know."""
    brief, _ = folder_with(tmp_path)
    found = rows_batch(brief, [{"trip.nights": 4}], None, how=ALONE)
    assert json.loads(json.dumps(found.rows[0], allow_nan=False)) == found.rows[0]
