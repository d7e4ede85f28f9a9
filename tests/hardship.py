"""Runs killed in the middle, full and read-only disks, two runs at once, libraries that are missing: what survives.

Run with ``PYTHONPATH=.:tests python tests/hardship.py [--kills 50] [--only WORDS]`` from the top of the repository.
Prints a table of what was tried, survived and lost. Survived means: every file is as it was or as it should become,
to the byte; a fault is told in a sentence with exit code 2; the next run ends as if nothing had happened. Each try is
a forked process, killed with SIGKILL after a random time or at a random write. Full disks need the right to mount a
small file system in memory, and are left out, saying so, where that is missing. Exit code 1 when anything was lost.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from batch_cases import BRIEF, folder_with

from optimizer.batch.journal import Journal
from optimizer.batch.run import How, run_batch
from optimizer.book.facts import gather
from optimizer.book.writing import write_book
from optimizer.choosing.store import Level, LevelStore
from optimizer.drawings import draw_kit
from optimizer.errors import KitwrightError
from optimizer.files import new_folder, write_whole
from optimizer.frames import write_rows
from optimizer.job import Result, choose_kit, open_job
from optimizer.kitfile import save
from optimizer.learnt import keep
from optimizer.weather.reading import read_year

TELLS, SILENT = "tells", "silent"
VARIANTS = "trip.nights\n4\n5\n"


@dataclass(frozen=True)
class Writer:
    """Something that writes: into a folder, which it may find as an earlier run left it."""

    name: str
    write: Callable[[Path], object]
    when_full: str = TELLS
    """What it does when it cannot write: tells a fault, or goes on in silence (a cache)."""
    share: int = 1


@dataclass
class Count:
    """What became of one kind of hardship."""

    name: str
    tried: int = 0
    lost: list[str] = field(default_factory=list)


def writers(home: Path, result: Result) -> tuple[Writer, ...]:
    """What the commands write, on a small brief that is solved already."""
    kit = home / "kit.json"
    save(result, kit)
    facts, job = gather(kit), result.job
    assert result.kit is not None
    placed = result.kit
    levels = LevelStore(Level(n, 4, (("bank", ((0, (float(n), 2.0)),)),)) for n in range(300))
    rows = [{"variant": n, "value": n * 1.5} for n in range(200)]

    def drawings(folder: Path) -> None:
        new_folder(folder / "drawn")
        for name, text in draw_kit(job, placed).items():
            write_whole(folder / "drawn" / name, text)

    def cached(folder: Path) -> None:
        os.environ["KITWRIGHT_CACHE"] = str(folder / "cache")
        assert read_year("station:723170", Path()).ghi.sum() > 0

    def learnt(folder: Path) -> None:
        os.environ["KITWRIGHT_CACHE"] = str(folder / "cache")
        keep(job.scene, levels)

    def batch(folder: Path) -> None:
        run_batch(home / "brief.toml", home / "variants.csv", folder / "out.csv", how=How(workers=1, conflicts=False))

    def journal(folder: Path) -> None:
        with Journal(folder / "rows.journal", "mark") as kept:
            for n in range(60):
                kept.add(str(n), {"status": "proven", "value": n})

    return (
        Writer("choose --save", lambda folder: save(result, folder / "kit.json")),
        Writer("choose --drawings", drawings),
        Writer("book", lambda folder: write_book(facts, folder / "book")),
        Writer("tables", lambda folder: write_rows(rows, ["variant", "value"], folder / "rows.csv")),
        Writer("weather cache", cached, SILENT),
        Writer("learnt levels", learnt, SILENT),
        Writer("journal of a batch", journal),
        Writer("batch", batch),
    )


# -- children ---------------------------------------------------------------------------------------


def forked(run: Callable[[], object], before: Callable[[], object] | None = None) -> int:
    """The process id of a fork that runs this and ends with 0, 2 (a fault told) or 1 (a traceback)."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        if before is not None:
            before()
        run()
        code = 0
    except KitwrightError as error:
        os.write(1, f"{error}\n".encode())
        code = 2
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 1
    except BaseException:
        os.write(2, traceback.format_exc().encode())
    finally:
        os._exit(code)


def ended(child: int) -> int:
    """Exit code of a fork; -9 when it was killed."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@contextmanager
def told() -> Iterator[Callable[[], str]]:
    """Whatever this process and its forks write to stdout and stderr."""
    with tempfile.TemporaryFile() as file:
        kept = [os.dup(number) for number in (1, 2)]
        for number in (1, 2):
            os.dup2(file.fileno(), number)

        def read() -> str:
            file.seek(0)
            return file.read().decode("utf-8", "replace")

        try:
            yield read
        finally:
            sys.stdout.flush()
            for number, old in zip((1, 2), kept, strict=True):
                os.dup2(old, number)
                os.close(old)


def killed_at(write: int) -> Callable[[], None]:
    """What makes a process kill itself at its n-th step of writing: opening, flushing, moving into place."""
    left = [write]

    def counted(call: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any, **named: Any) -> Any:
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return call(*arguments, **named)

        return run

    def patch() -> None:
        for name in ("open", "fsync", "replace", "mkdir"):
            setattr(os, name, counted(getattr(os, name)))

    return patch


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file that a person sees, by name; what was being written when a run died begins with a dot."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*")) if path.is_file() and not path.name.startswith(".")
    }  # fmt: skip


# -- hardships --------------------------------------------------------------------------------------


def kills(writer: Writer, many: int, dice: random.Random, scratch: Path) -> Count:
    """Killed at random; then every file is whole, and a run that is let be ends as if nothing had happened."""
    count = Count(f"kill -9: {writer.name}")
    whole, took = _undisturbed(writer, scratch)
    for number in range(many):
        folder = scratch / f"killed {number}"
        folder.mkdir()
        if number % 2:
            child = forked(lambda f=folder: writer.write(f), killed_at(dice.randrange(1, 25)))
        else:
            child = forked(lambda f=folder: writer.write(f))
            time.sleep(dice.uniform(0, 1.1 * took))
            os.kill(child, signal.SIGKILL)
        ended(child)
        count.tried += 1
        torn = [
            name for name, content in files_in(folder).items()
            if whole.get(name) != content and not name.endswith(".journal")
        ]  # fmt: skip
        if torn:
            count.lost.append(f"half-written: {', '.join(torn)}")
        elif ended(forked(lambda f=folder: writer.write(f))) != 0 or files_in(folder) != whole:
            count.lost.append("the run after it did not end as if nothing had happened")
        shutil.rmtree(folder)
    return count


def _undisturbed(writer: Writer, scratch: Path) -> tuple[dict[str, bytes], float]:
    """What a run that is let be writes, and how long it takes. [s]"""
    folder = scratch / "undisturbed"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    begun = time.monotonic()
    assert ended(forked(lambda: writer.write(folder))) == 0, writer.name
    return files_in(folder), time.monotonic() - begun


def at_once(writer: Writer, many: int, scratch: Path) -> Count:
    """Two runs into the same place: the files are those of one of them; a journal takes one run at a time."""
    count = Count(f"two at once: {writer.name}")
    whole, _ = _undisturbed(writer, scratch)
    for number in range(many):
        folder = scratch / f"both {number}"
        folder.mkdir()
        with told() as said:
            codes = sorted(ended(child) for child in [forked(lambda f=folder: writer.write(f)) for _ in range(2)])
            words = said()
        count.tried += 1
        fine = codes == [0, 0] or (codes == [0, 2] and "in use by another run" in words)
        if not fine or files_in(folder) != whole:
            count.lost.append(f"ended with {codes}: {words[-300:]}")
        shutil.rmtree(folder)
    return count


@contextmanager
def small_disk(scratch: Path, size: str, read_only: bool = False) -> Iterator[Path | None]:
    """A file system in memory of this size, or None where none may be mounted."""
    place = scratch / "disk"
    place.mkdir(exist_ok=True)
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(place)], capture_output=True)
    if mounted.returncode:
        yield None
        return
    try:
        if read_only:
            subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


def bad_disk(writer: Writer, scratch: Path, read_only: bool) -> Count:
    """No room at all, room for a little, or no writing: a sentence and exit code 2, and no torn file."""
    count = Count(f"{'read-only' if read_only else 'full'} disk: {writer.name}")
    whole, _ = _undisturbed(writer, scratch)
    for size in ("4k",) if read_only else ("4k", "8k", "40k", "200k"):
        with small_disk(scratch, size, read_only) as disk:
            if disk is None:
                count.name += " (left out: no right to mount)"
                return count
            with told() as said:
                code = ended(forked(lambda d=disk: writer.write(d)))
                words = said()
            count.tried += 1
            wanted = (0,) if writer.when_full == SILENT else (2,) if read_only else (0, 2)
            torn = [n for n, content in files_in(disk).items() if whole.get(n) != content and ".journal" not in n]
            left = [path.name for path in disk.rglob(".*.part")]
            if code not in wanted or torn or left or (code == 2 and "not writable" not in words):
                count.lost.append(f"{size}: ended with {code}, torn {torn}, left {left}: {words[-300:]}")
    return count


MISSING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("matplotlib", ("weather", "station:723170", "--picture", "{out}/year.png")),
    ("matplotlib", ("replay", "{brief}", "{kit}", "--picture", "{out}/trip.svg")),
    ("matplotlib", ("book", "{kit}", "-o", "{out}/book")),
    ("matplotlib", ("compare", "{home}/results.csv", "--picture", "{out}/compare.png")),
    ("schemdraw", ("book", "{kit}", "-o", "{out}/book")),
    ("openpyxl", ("book", "{kit}", "-o", "{out}/book")),
    ("openpyxl", ("buy", "{kit}", "--xlsx", "{out}/buy.xlsx")),
    ("openpyxl", ("batch", "{brief}", "{home}/variants.xlsx", "-o", "{out}/out.csv", "--workers", "1")),
    ("openpyxl", ("batch", "{brief}", "{home}/one.csv", "-o", "{out}/out.xlsx", "--workers", "1")),
    ("pyarrow", ("batch", "{brief}", "{home}/one.csv", "-o", "{out}/out.parquet", "--workers", "1")),
    ("pyarrow", ("replay", "{brief}", "{kit}", "--hours", "{out}/hours.parquet", "--departure", "06-02")),
    ("pyarrow", ("compare", "{home}/results.parquet")),
    ("weasyprint", ("book", "{kit}", "-o", "{out}/book", "--pdf")),
    ("distributed", ("batch", "{brief}", "{home}/one.csv", "-o", "{out}/out.csv", "--cluster", "tcp://127.0.0.1:9")),
)
"""Libraries that may be missing, and commands that need them."""


def missing_library(library: str, command: Sequence[str], places: dict[str, str], scratch: Path) -> Count:
    """A sentence that says what to install, exit code 2, and nothing written."""
    words = [word.format(**places, out=scratch / "out") for word in command]
    shutil.rmtree(scratch / "out", ignore_errors=True)
    (scratch / "out").mkdir()
    code = "import sys; sys.argv = sys.argv[1:]; sys.modules[sys.argv[0]] = None; import optimizer.cli as c; c.main()"
    run = [sys.executable, "-c", code, library, *words]
    found = subprocess.run(run, capture_output=True, text=True, check=False)
    options = " ".join(word for word in command if word.startswith("-"))
    count = Count(f"without {library}: {command[0]} {options}", 1)
    fine = found.returncode == 2 and "pip install 'kitwright[" in found.stderr and "Traceback" not in found.stderr
    written = [name for name in files_in(scratch / "out") if not name.endswith(".journal")]
    if not fine or written:
        count.lost.append(f"ended with {found.returncode}, wrote {written}: {found.stderr[-300:]}")
    return count


# -- all of it --------------------------------------------------------------------------------------


def prepared(home: Path) -> Result:
    """A small brief, its best kit, and files for the commands."""
    import pandas as pd

    brief, _ = folder_with(home, VARIANTS)
    assert brief.read_text() == BRIEF
    (home / "one.csv").write_text("trip.nights\n4\n")
    pd.DataFrame({"trip.nights": [4]}).to_excel(home / "variants.xlsx", index=False)
    rows = pd.DataFrame({"variant": [1, 2], "trip.nights": [4, 5], "status": ["proven"] * 2, "value": [1.0, 2.0]})
    rows.to_csv(home / "results.csv", index=False)
    rows.to_parquet(home / "results.parquet", index=False)
    return choose_kit(open_job(brief))


def hardships(many: int, seed: int = 1, only: str = "") -> Iterator[Count]:
    """Every hardship on every writer; ``many`` kills in all, spread over the writers."""
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as kept:
        home, scratch = Path(kept) / "home", Path(kept) / "scratch"
        home.mkdir()
        scratch.mkdir()
        os.environ["KITWRIGHT_CACHE"] = str(home / "cache")
        every = writers(home, prepared(home))
        for writer in every:
            for name, hardship in (
                ("kill", lambda w=writer: kills(w, -(-many // len(every)), dice, scratch)),
                ("at once", lambda w=writer: at_once(w, 5, scratch)),
                ("disk", lambda w=writer: bad_disk(w, scratch, read_only=False)),
                ("disk", lambda w=writer: bad_disk(w, scratch, read_only=True)),
            ):
                if only in name:
                    yield hardship()
        places = {"home": str(home), "brief": str(home / "brief.toml"), "kit": str(home / "kit.json")}
        for library, command in MISSING:
            if only in "without":
                yield missing_library(library, command, places, scratch)


def main(words: Sequence[str]) -> int:
    """Try and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="kill, at once, disk or without")
    asked = parser.parse_args(words)
    print(f"{'hardship':<60}{'tried':>8}{'survived':>10}{'lost':>6}")
    tried = lost = 0
    for count in hardships(asked.kills, asked.seed, asked.only):
        tried, lost = tried + count.tried, lost + len(count.lost)
        print(f"{count.name:<60}{count.tried:>8}{count.tried - len(count.lost):>10}{len(count.lost):>6}", flush=True)
        for loss in count.lost[:3]:
            print(f"    LOST: {loss}")
    print(f"{'all':<60}{tried:>8}{tried - lost:>10}{lost:>6}")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
