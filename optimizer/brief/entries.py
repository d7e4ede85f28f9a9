"""Lists of tables and of words in a brief: which entries are known, and which repeat another.

On the road: inside ``brief``, behind ``consistency``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from optimizer.brief.findings import Finding, KeyPath


def having(entries: Sequence[Any], *names: str) -> Iterator[tuple[int, Any]]:
    """Place and entry of each entry of which all these keys are known."""
    for place, entry in enumerate(entries):
        if entry is not None and all(name in vars(entry) for name in names):
            yield place, entry


def repeated(path: KeyPath, entries: Sequence[Any], key: str, noun: str) -> Iterator[Finding]:
    """A Finding for each entry whose ``key`` an earlier entry has already; case does not tell two apart."""
    first: dict[str, int] = {}
    for place, entry in having(entries, key):
        name = " ".join(getattr(entry, key).casefold().split())
        if name in first:
            yield Finding(
                (*path, place, key), f"a {key} that no other {noun} has",
                f"Entry {first[name] + 1} of the list has it already.",
            )
        first.setdefault(name, place)


def repeated_words(path: KeyPath, words: Sequence[str | int], remedy: str) -> Iterator[Finding]:
    """A Finding for each word or number that stands in the list before."""
    for place, word in enumerate(words):
        if word in words[:place]:
            yield Finding((*path, place), "each entry once", remedy)
