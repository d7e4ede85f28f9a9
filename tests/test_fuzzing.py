"""Spoilt and odd files at every door: read or refused with a fault a person can read, never anything else."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from fuzz_readers import READERS, Reader
from fuzzing import attempt, fuzz, spoilt
from hypothesis import example, given, settings
from hypothesis import strategies as st

from optimizer.brief.reading import read_brief
from optimizer.brief.syntax import load_toml
from optimizer.errors import FaultsFound
from optimizer.files import read_bytes, write_whole
from optimizer.weather.reading import read_year

BY_NAME = {reader.name: reader for reader in READERS}
each_reader = pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
# A good file's first name tells the ending that the reader goes by.
SOUND = ("read", "refused")


@each_reader
def test_spoilt_files_are_read_or_refused(reader: Reader) -> None:
    """A few dozen spoilt files at each door; the full measure is in ``fuzzing``."""
    tally = fuzz(reader, 4 + 2 * reader.share, seed=11)
    assert tally.losses == {}


@each_reader
@settings(max_examples=40)
@given(
    which=st.integers(0, 100),
    content=st.one_of(st.binary(max_size=400), st.text(max_size=200).map(lambda t: t.encode("utf-8", "replace"))),
)
@example(which=0, content=b"")
@example(which=0, content=b"\xff\xfe\0\0")
def test_any_bytes_are_read_or_refused(reader: Reader, which: int, content: bytes) -> None:
    """Whatever bytes a file has, each door reads it or says why not."""
    with tempfile.TemporaryDirectory() as folder:
        names = sorted({name for name, _ in reader.files()})
        path = Path(folder) / "mine" / names[which % len(names)]
        path.parent.mkdir()
        path.write_bytes(content)
        assert attempt(reader, path) in SOUND


def test_the_fuzzer_sees_what_is_lost(tmp_path: Path) -> None:
    """A reader that breaks, hangs on a pipe's worth of work or speaks in control characters is counted as lost."""

    def breaks(_: Path) -> None:
        raise ZeroDivisionError

    def shouts(path: Path) -> None:
        raise FaultsFound([])

    path = tmp_path / "file"
    path.write_bytes(b"x")
    assert attempt(Reader("", 1, tuple, breaks), path).startswith("ZeroDivisionError")
    assert attempt(Reader("", 1, tuple, shouts), path) == "a report without a fault"


# -- no ordinary files ------------------------------------------------------------------------------


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _loop(path: Path) -> None:
    path.symlink_to(path)


def _nowhere(path: Path) -> None:
    path.symlink_to(path.parent / "gone")


def _huge(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(5_000_000_000)  # takes no room on the disk: a file with a hole


ODD: dict[str, Callable[[Path], None]] = {
    "a pipe": _pipe, "a device without end": _endless, "a loop of links": _loop, "a link to nothing": _nowhere,
    "a folder": Path.mkdir, "5 GB": _huge,
}  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="pipes and devices of this kind are POSIX")
@pytest.mark.parametrize("odd", ODD)
@each_reader
def test_what_is_no_ordinary_file_is_refused_at_once(reader: Reader, odd: str, tmp_path: Path) -> None:
    """Pipes and devices are not waited for, loops and folders named as such, a file of 5 GB is not taken in."""
    for name in sorted({name for name, _ in reader.files()})[:4]:
        path = tmp_path / "mine" / name
        path.parent.mkdir(exist_ok=True)
        ODD[odd](path)
        what = attempt(reader, path)
        silent = reader.name == "cache folder" or (odd == "a link to nothing" and reader.name == "batch journal")
        assert what == ("read" if silent else "refused"), name
        path.rmdir() if odd == "a folder" else path.unlink()


@pytest.mark.long
@pytest.mark.parametrize("megabytes", [19, 100])
@each_reader
def test_megabytes_of_rows_take_little_memory(reader: Reader, megabytes: int, tmp_path: Path) -> None:
    """Just below the limit of most doors and far above it: refused, or read in memory of a stated size."""
    import resource

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    name, good = next((n, g) for n, g in reader.files() if not n.endswith((".xlsx", ".parquet", ".npz")))
    path = tmp_path / "mine" / name
    path.parent.mkdir()
    last = good.rstrip(b"\n").rpartition(b"\n")[2][:2000] + b"\n"
    with path.open("wb") as file:
        file.write(good[:100_000])
        for _ in range(megabytes):
            file.write(last * (1_000_000 // len(last)))
    assert attempt(reader, path) in SOUND
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 1_000_000  # kB


# -- writing ----------------------------------------------------------------------------------------


def test_a_device_is_not_replaced(tmp_path: Path) -> None:
    """Writing to a pipe or a device would put a file in its place: it is refused."""
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(FaultsFound, match="not an ordinary file"):
        write_whole(path, "text")
    assert path.is_fifo()


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    """What a link points at is replaced, not the link."""
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_whole(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text() == "new"


def test_what_is_written_can_be_read_by_whom_the_person_lets(tmp_path: Path) -> None:
    """Files get the rights that the person's settings give any new file."""
    old = os.umask(0o027)
    try:
        write_whole(tmp_path / "kit.json", "text")
    finally:
        os.umask(old)
    assert (tmp_path / "kit.json").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("broken", ["replace", "fsync"])
def test_a_disk_that_gives_up_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    """The old file stays, whole, and nothing half-done beside it."""

    def give_up(*_: object) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "kit.json").write_text("old")
    monkeypatch.setattr(os, broken, give_up)
    with pytest.raises(FaultsFound, match="no space left on device"):
        write_whole(tmp_path / "kit.json", "new")
    assert [path.name for path in tmp_path.iterdir()] == ["kit.json"]
    assert (tmp_path / "kit.json").read_text() == "old"


def test_a_file_is_taken_up_to_its_limit(tmp_path: Path) -> None:
    """At the limit it is read, a byte beyond it is refused."""
    (tmp_path / "file").write_bytes(b"12345")
    assert read_bytes(tmp_path / "file", 5) == b"12345"
    with pytest.raises(OSError, match="larger than"):
        read_bytes(tmp_path / "file", 4)


def test_the_same_seed_spoils_the_same_way() -> None:
    """A loss can be met again by its seed."""
    import random

    one, other = (spoilt(b"a = 1\nb = [2, 3]\n", random.Random(7)) for _ in range(2))
    assert one == other


# -- texts made to be slow --------------------------------------------------------------------------

SLOW = {
    "one key of many parts": b"a" + b".a" * 20_000 + b" = 1\n",
    "one heading of many parts": b"[a" + b' . "a"' * 20_000 + b"]\n",
    "lists in lists": b"a = " + b"[" * 100_000,
    "tables in tables": b"a = " + b"{a=" * 100_000,
    "many unknown keys": b"".join(b"k%d = 1\n" % n for n in range(20_000)),
    "many unknown tables": b"".join(b"[t%d]\n" % n for n in range(20_000)),
    "many lines that are no TOML": b"a b c\n" * 50_000,
}


@pytest.mark.parametrize("text", SLOW)
def test_a_brief_made_to_be_slow_is_refused_soon(text: str, tmp_path: Path) -> None:
    """What once took minutes or gigabytes is refused; at most a thousand faults are told of it."""
    path = tmp_path / "brief.toml"
    path.write_bytes(SLOW[text])
    with pytest.raises(FaultsFound) as found:
        read_brief(path)
    assert 1 <= len(found.value.faults) <= 1100


def test_a_grid_with_a_key_of_many_parts_is_refused(tmp_path: Path) -> None:
    """Grids and cells of variants are read by the same careful reader."""
    path = tmp_path / "variants.toml"
    path.write_bytes(SLOW["one key of many parts"])
    assert attempt(BY_NAME["variants"], path) == "refused"
    path = tmp_path / "variants.csv"
    path.write_text("trip.nights\n{a" + ".a" * 20_000 + "=1}\n" + "[" * 20_000 + "\n" + "9" * 5000 + "\n")
    assert attempt(BY_NAME["variants"], path) == "refused"


def test_keys_of_ordinary_depth_are_read() -> None:
    """Sixty parts are read as ever, and a long text with many full stops is no deep key."""
    assert load_toml("a" + ".a" * 60 + " = 1")
    assert load_toml('a = "' + "It stops. " * 500 + '"')


def test_a_month_of_twenty_digits_is_a_fault(tmp_path: Path) -> None:
    """A whole number too large for the machine is a fault of its line like any other."""
    name, good = BY_NAME["weather"].files()[0]
    path = tmp_path / name
    path.write_bytes(good.replace(b"\n2001,1,1,1,", b"\n2001,99999999999999999999,1,1,", 1))
    with pytest.raises(FaultsFound, match=r"line 9: .* is '99999999999999999999'; expected a whole number"):
        read_year(name, tmp_path)
