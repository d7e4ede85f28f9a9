"""Spoilt files through the real readers: each must be read or refused with a fault, never anything else.

Run with ``PYTHONPATH=.:tests python tests/fuzzing.py [--inputs 10000] [--seed 1] [--reader NAME] [--keep FOLDER]``.
Prints a table of what was tried, read, refused and lost (a traceback, a hang, too much memory, a dead process, or a
fault no terminal can show). With ``--coverage`` the tries of a reader are steered by what code they reach, by the
library atheris where it is installed. Exit code 1 when anything was lost.
"""

from __future__ import annotations

import argparse
import hashlib
import multiprocessing
import os
import random
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any

from fuzz_readers import READERS, Reader

from optimizer.errors import FaultsFound, KitwrightError

SECONDS_EACH = 20
"""Processor time after which one input counts as a hang; the slowest sound one takes 0.3 s."""
MEMORY = 3_000_000_000
"""Bytes of address space for a process that reads; about 1 GB of it are libraries."""
SILENCE = 120
"""Seconds without a sign of life after which a process is ended: it hangs where Python cannot interrupt it."""
LONGEST_SENTENCE = 3_000

TOKENS = (
    b"nan", b"NaN", b"inf", b"-inf", b"Infinity", b"1e308", b"1e309", b"-1e308", b"-0", b"-0.0", b"-1", b"0", b"1e-320",
    b"99999999999999999999", b"9" * 400, b"9" * 5000, b"0x7f", b"1_000", b"1,5", b"1.234,56", b"12 V", b"17 ft 6 in",
    b"3 gal", b"5 parsec", b"10 degC degC", b"$", b"\xef\xbb\xbf", b"\xff\xfe", b"\0", b"\x1a", b"\x7f", b"\x1b[31m",
    b"\r\n", b"\r", b"\n\n", b"\xe2\x80\xa8", b"\xc3\xa9", b"\xe9", b"\xed\xa0\x80", b"\xf0\x9f\x9a\x90", b"\t", b";",
    b",", b",,,,", b'"', b'""', b"'", b"'''", b'"""', b"#", b"=", b"[", b"]", b"[[", b"]]", b"{", b"}", b"[" * 300,
    b"{" * 300, b"a." * 300, b'{"a":' * 300, b"true", b"false", b"null", b"None", b"..", b"../../etc", b"/dev/zero",
    b"=1+1", b"@x", b"x" * 70_000, b"1000000", b"-", b"1979-05-27", b"07:32:00", b"\\u0000", b"\\ud800", b"\\",
)  # fmt: skip
"""What has broken readers before: numbers that are none, quotes left open, odd encodings, deep nests."""


class Hung(BaseException):
    """An input took too long. No Exception, so that no reader takes it for a fault of the file."""


@dataclass
class Tally:
    """What became of the tries of one reader."""

    name: str
    tried: int = 0
    read: int = 0
    refused: int = 0
    lost: int = 0
    slowest_s: float = 0.0
    peak_mb: float = 0.0
    losses: dict[str, tuple[int, str, bytes]] = field(default_factory=dict)
    """By what happened: how often, name and content of the first such file."""

    def take(self, what: str, name: str, content: bytes, seconds: float) -> None:
        """Count one try: ``read``, ``refused``, or what was lost."""
        self.tried += 1
        self.slowest_s = max(self.slowest_s, seconds)
        if what in ("read", "refused"):
            setattr(self, what, getattr(self, what) + 1)
            return
        self.lost += 1
        often, first, kept = self.losses.get(what, (0, name, content))
        self.losses[what] = (often + 1, first, kept)


def spoilt(content: bytes, dice: random.Random) -> bytes:
    """A good file with one to eight things done to it."""
    changed = content
    for _ in range(dice.choice((1, 1, 1, 2, 3, 5, 8))):
        changed = dice.choice(_WAYS)(changed, dice)
    return changed[:2_500_000]


def _place(content: bytes, dice: random.Random) -> int:
    """A place in the file; half of them where a value, cell or line begins."""
    if dice.random() < 0.5:
        return dice.randrange(len(content) + 1)
    found = [match.end() for match in re.finditer(rb"[,=\n\[:|\"' ]", content[: 1 << 16])]
    return dice.choice(found) if found else 0


def _token(content: bytes, dice: random.Random) -> bytes:
    at = _place(content, dice)
    return content[:at] + dice.choice(TOKENS) + content[at:]


def _value(content: bytes, dice: random.Random) -> bytes:
    """Another value in place of one."""
    at = _place(content, dice)
    end = re.compile(rb"[,\n\]}]").search(content, at)
    return content[:at] + dice.choice(TOKENS) + (content[end.start() :] if end else b"")


def _byte(content: bytes, dice: random.Random) -> bytes:
    if not content:
        return bytes([dice.randrange(256)])
    at = dice.randrange(len(content))
    return content[:at] + bytes([content[at] ^ (1 << dice.randrange(8))]) + content[at + 1 :]


def _cut(content: bytes, dice: random.Random) -> bytes:
    at = _place(content, dice)
    return content[:at] + content[at + dice.choice((1, 2, 10, 100, 10_000)) :]


def _ended(content: bytes, dice: random.Random) -> bytes:
    return content[: _place(content, dice)]


def _doubled(content: bytes, dice: random.Random) -> bytes:
    at = _place(content, dice)
    piece = content[at : at + dice.choice((1, 20, 300))]
    return content[:at] + piece * dice.choice((2, 2, 3, 1000)) + content[at:]


def _line_swapped(content: bytes, dice: random.Random) -> bytes:
    lines = content.split(b"\n")
    one, other = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[one], lines[other] = lines[other], dice.choice((lines[one], lines[other]))
    return b"\n".join(lines)


def _digits(content: bytes, dice: random.Random) -> bytes:
    """A number made another one: longer, negative, with a decimal comma."""
    numbers = list(re.finditer(rb"-?[0-9]+(\.[0-9]+)?", content[: 1 << 16]))
    if not numbers:
        return content
    match = dice.choice(numbers)
    old = match[0]
    new = dice.choice((b"-" + old, old + b"0" * dice.randrange(1, 12), old.replace(b".", b","), b"1e308", old * 3))
    return content[: match.start()] + new + content[match.end() :]


def _encoded(content: bytes, dice: random.Random) -> bytes:
    text = content.decode("utf-8", "replace")
    way = dice.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "utf-8-sig", "cp500"))
    return text.encode(way, "replace")


def _ends_of_lines(content: bytes, dice: random.Random) -> bytes:
    return content.replace(b"\n", dice.choice((b"\r\n", b"\r", b"\n\r", b"\x0b", b"\xe2\x80\xa8")))


def _separators(content: bytes, dice: random.Random) -> bytes:
    return content.replace(b",", dice.choice((b";", b"\t", b"|", b" "))).replace(b".", dice.choice((b",", b".")))


_WAYS = (
    _token, _token, _token, _value, _value, _value, _digits, _digits, _byte, _byte, _cut, _ended, _doubled,
    _line_swapped, _encoded, _ends_of_lines, _separators,
)  # fmt: skip


def attempt(reader: Reader, path: Path) -> str:
    """``read``, ``refused``, or in a few words what was lost."""
    signal.signal(signal.SIGPROF, _hung)
    signal.setitimer(signal.ITIMER_PROF, SECONDS_EACH)
    try:
        reader.read(path)
    except KitwrightError as error:
        return _unshowable(error) or "refused"
    except Hung:
        return f"more than {SECONDS_EACH} s"
    except BaseException as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"{type(error).__name__} in {Path(last.filename).name}:{last.lineno}: {str(error)[:80]}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return "read"


def _hung(number: int, frame: FrameType | None) -> None:
    raise Hung


def _unshowable(error: KitwrightError) -> str:
    """Why a terminal could not show what is said; empty when it could."""
    try:
        str(error).encode("utf-8")
    except UnicodeEncodeError:
        return "a fault that is no UTF-8"
    sentences = [fault.sentence() for fault in error.faults] if isinstance(error, FaultsFound) else [str(error)]
    if not any(sentences):
        return "a report without a fault"
    if any(len(sentence) > LONGEST_SENTENCE for sentence in sentences):
        return "a fault without end"
    wild = next((char for text in sentences for char in text if not char.isprintable()), "")
    return f"a fault with the character {wild!r}" if wild else ""


def tries(reader: Reader, inputs: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """Names and contents of spoilt files, the same for the same seed."""
    dice = random.Random(f"{seed} {reader.name}")
    good = reader.files()
    for _ in range(inputs):
        name, content = dice.choice(good)
        yield name, spoilt(content, dice)


def fuzz(reader: Reader, inputs: int, seed: int, mark: Path | None = None) -> Tally:
    """Try a reader in this process. ``mark`` is given the input at hand, for whoever watches."""
    tally = Tally(reader.name)
    with tempfile.TemporaryDirectory() as folder:
        for name, content in tries(reader, inputs, seed):
            path = Path(folder) / "mine" / name
            path.parent.mkdir(exist_ok=True)
            for other in path.parent.iterdir():
                other.unlink()
            path.write_bytes(content)
            if mark is not None:
                mark.write_bytes(content)
            begun = time.process_time()
            what = attempt(reader, path)
            tally.take(what, name, content, time.process_time() - begun)
    tally.peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return tally


def _child(reader: Reader, inputs: int, seed: int, mark: Path, answers: Any) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    answers.put(fuzz(reader, inputs, seed, mark))


def guarded(reader: Reader, inputs: int, seed: int) -> Tally:
    """The same in a process of its own with an end to its memory; its death is a loss, and so is its silence."""
    context = multiprocessing.get_context("fork")
    answers = context.Queue()
    with tempfile.TemporaryDirectory() as folder:
        mark = Path(folder) / "at hand"
        mark.touch()
        process = context.Process(target=_child, args=(reader, inputs, seed, mark, answers))
        process.start()
        while process.is_alive():
            process.join(0.2)
            if not answers.empty():
                tally: Tally = answers.get()
                process.join()
                return tally
            if time.time() - mark.stat().st_mtime > SILENCE:
                process.kill()
        dead = Tally(reader.name)
        dead.take(f"the process ended with {process.exitcode}", "at hand", mark.read_bytes(), 0.0)
        return dead


def steered(reader: Reader, inputs: int, seed: int) -> int:
    """The same steered by coverage, through atheris, in a process of its own. Gives back how it ended, 0 = well."""
    process = multiprocessing.get_context("spawn").Process(target=_steered, args=(reader.name, inputs, seed))
    process.start()
    process.join()
    return process.exitcode or 0


def _steered(name: str, inputs: int, seed: int) -> None:
    import atheris

    for module in [module for module in sys.modules if module.startswith("optimizer")]:
        del sys.modules[module]
    with atheris.instrument_imports(include=["optimizer"], enable_loader_override=False):
        import importlib

        import fuzz_readers

        importlib.reload(fuzz_readers)
        import optimizer.errors as errors
    reader = next(reader for reader in fuzz_readers.READERS if reader.name == name)
    folder = Path(tempfile.mkdtemp()) / "mine"
    folder.mkdir()
    seeds = Path(tempfile.mkdtemp())
    for n, (_, content) in enumerate(reader.files()):
        (seeds / str(n)).write_bytes(content[:100_000])
    first = reader.files()[0][0]

    def once(data: bytes) -> None:
        (folder / first).write_bytes(data)
        try:
            reader.read(folder / first)
        except errors.KitwrightError as error:
            str(error).encode("utf-8")

    def other(data: bytes, size: int, dice: int) -> bytes:
        return spoilt(data, random.Random(dice))[:size]

    atheris.Setup(
        [sys.argv[0], f"-atheris_runs={inputs}", f"-seed={seed}", "-max_len=100000", "-timeout=20",
         "-rss_limit_mb=3000", "-verbosity=0", "-print_final_stats=1",
         f"-artifact_prefix={tempfile.gettempdir()}/", str(seeds)],
        once, custom_mutator=other,
    )  # fmt: skip
    atheris.Fuzz()


def table(tallies: Sequence[Tally]) -> str:
    """Tried, read, refused, lost; a line a reader and their sum."""
    rows = [("reader", "tried", "read", "refused", "lost", "slowest [s]", "peak [MB]")]
    rows += [
        (t.name, str(t.tried), str(t.read), str(t.refused), str(t.lost), f"{t.slowest_s:.2f}", f"{t.peak_mb:.0f}")
        for t in tallies
    ]
    sums: Counter[str] = Counter()
    for tally in tallies:
        sums.update({"tried": tally.tried, "read": tally.read, "refused": tally.refused, "lost": tally.lost})
    rows.append(("all", *(str(sums[name]) for name in ("tried", "read", "refused", "lost")), "", ""))
    return "\n".join(f"{row[0]:<16}" + "".join(f"{cell:>12}" for cell in row[1:]) for row in rows)


def main(words: Sequence[str]) -> int:
    """Try, print, and keep what was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--reader", choices=[reader.name for reader in READERS])
    parser.add_argument("--keep", type=Path, help="folder for the first file of each loss")
    parser.add_argument("--coverage", action="store_true", help="steer by coverage, with atheris")
    asked = parser.parse_args(words)
    chosen = [reader for reader in READERS if asked.reader in (None, reader.name)]
    shares = sum(reader.share for reader in chosen)
    tallies = []
    with tempfile.TemporaryDirectory() as cache:
        os.environ["KITWRIGHT_CACHE"] = cache
        for reader in chosen:
            inputs = -(-asked.inputs * reader.share // shares)
            if asked.coverage:
                print(f"{reader.name}: {inputs} steered tries, ended with {steered(reader, inputs, asked.seed)}")
            else:
                reader.files()
                tallies.append(guarded(reader, inputs, asked.seed))
                _show_losses(tallies[-1], asked.keep)
    print(table(tallies))
    return 1 if any(tally.lost for tally in tallies) else 0


def _show_losses(tally: Tally, keep: Path | None) -> None:
    for what, (often, name, content) in tally.losses.items():
        print(f"LOST, {tally.name}, {often} times: {what}")
        if keep is not None:
            keep.mkdir(parents=True, exist_ok=True)
            mark = hashlib.sha256(content).hexdigest()[:8]
            (keep / f"{tally.name.replace(' ', '_')}-{mark}-{name}").write_bytes(content)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
