"""Every fault a person can meet, and the tree of exceptions that carries them.

    KitwrightError
    ├── FaultsFound        one or more faults in files the person gave   (exit code 2)
    ├── UsageError         the command itself asks for something wrong   (exit code 2)
    └── MissingExtra       an optional library is not installed          (exit code 2)

"Impossible" and "not proven" are outcomes of choosing, not exceptions.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LONGEST_SHOWN = 600
"""Characters of any one thing that a sentence names."""
MOST_TOLD = 1000
"""Faults told in words; a large file of nonsense has as many as it has cells."""


@dataclass(frozen=True, order=True)
class Fault:
    """One thing wrong in one place of one file.

    ``place`` is what a person looks for in the file: ``line 12, trip.nights`` or ``row 4, mass_kg``.
    ``remedy`` starts a sentence of its own and may be empty.
    """

    file: str
    line: int
    place: str
    value: str
    expected: str
    remedy: str = ""

    def sentence(self) -> str:
        """The fault as one line: file, line, key or column, value, what was expected, what to do."""
        file = _shown(self.file)
        where = f"{file}, line {self.line}" if self.line else file
        what = f"{where}: {_shown(self.place)}" if self.place else where
        found = f" is {_shown(self.value)};" if self.value else ":"
        tail = f" {_shown(self.remedy)}" if self.remedy else ""
        return f"{what}{found} expected {_shown(self.expected)}.{tail}"


def _shown(text: str) -> str:
    """What a terminal can show: control characters, ends of line and broken text as escapes, and an end to it."""
    shown = text[: LONGEST_SHOWN + 1]
    if not shown.isprintable():
        shown = "".join(char if char.isprintable() else ascii(char)[1:-1] for char in shown)
    return shown if len(shown) <= LONGEST_SHOWN else shown[: LONGEST_SHOWN - 3] + "..."


class KitwrightError(Exception):
    """The root of all errors meant for a person to read."""


class FaultsFound(KitwrightError):  # noqa: N818 - what happened, not an error of ours
    """All faults of the files read, gathered before anything else happens."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        more = len(self.faults) - MOST_TOLD
        told = [fault.sentence() for fault in self.faults[:MOST_TOLD]]
        super().__init__("\n".join(told + ([f"And {more:,} more like these."] if more > 0 else [])))


class UsageError(KitwrightError):
    """The command asks for something that cannot be done as asked."""


class MissingExtra(KitwrightError):  # noqa: N818 - what is missing
    """A library that only some commands need is not installed."""

    def __init__(self, library: str, extra: str, purpose: str) -> None:
        super().__init__(
            f"{purpose} needs the library {library}, which is not installed; "
            f"install it with: pip install 'kitwright[{extra}]'"
        )


def did_you_mean(name: str, valid: Sequence[str]) -> str:
    """A remedy that offers the closest valid name; empty when none is close."""
    close = difflib.get_close_matches(name[:100], valid, n=1, cutoff=0.6)
    return f"Did you mean '{close[0]}'?" if close else ""


def nearest(name: str, valid: Sequence[str]) -> str:
    """A remedy that offers the closest valid name, or lists a few when none is close."""
    close = did_you_mean(name, valid)
    if close or not valid:
        return close
    shown = ", ".join(sorted(valid)[:12])
    return f"Valid: {shown}, ..." if len(valid) > 12 else f"Valid: {shown}."
