"""The book as files: the page, its PDF, and beside them buy list, drawings, hours, and what made it.

On the road: facts + chapters -> *folder*. Each file is written whole or not at all. The same kit gives the
same bytes.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from optimizer.book.book import chapters, cover
from optimizer.book.facts import Facts
from optimizer.book.look import stand_alone
from optimizer.book.render import page
from optimizer.buying.telling import buy_csv, buy_xlsx
from optimizer.errors import Fault, FaultsFound
from optimizer.files import new_folder, write_whole
from optimizer.kitfile import dumps

PAGE, PRINTED, HOURS, MADE_FROM = "book.html", "book.pdf", "hours.csv", "made_from"


@dataclass(frozen=True)
class Wanted:
    """What is to be written."""

    pdf: bool = False
    clock: str = ""
    """A date to print in the book; none when empty, so that the same kit gives the same bytes."""
    deep: bool = False
    """With what has to be chosen again: break-evens and trade-offs."""
    seconds: float | None = None
    """Most for each break-even, and for all trade-offs together; what is open then is said to be."""


def write_book(facts: Facts, folder: Path, wanted: Wanted | None = None) -> tuple[Path, ...]:
    """Write the book and everything beside it into ``folder``; gives back what was written.

    Raises
    ------
    FaultsFound
        When a file cannot be written.
    MissingExtra
        When a library of the extra 'book' (or 'pdf') is not installed; nothing is written then.
    """
    wanted = wanted or Wanted()
    found = chapters(facts, wanted.clock, wanted.deep, wanted.seconds)
    html = page(cover(facts), found)
    files: dict[str, str | bytes] = {PAGE: html}
    if wanted.pdf:
        from optimizer.book.printing import pdf

        files[PRINTED] = pdf(html, "Letter" if facts.units == "us" else "A4")
    files["buy_list.csv"] = buy_csv(facts.job, facts.kit)
    files["buy_list.xlsx"] = buy_xlsx(facts.job, facts.kit)
    for chapter in found:
        files |= {f"drawings/{figure.name}.svg": stand_alone(figure.svg) for figure in chapter.figures}
    if facts.replay is not None:
        hours = facts.replay.hours(facts.replay.binding_spell().departure)
        files[HOURS] = hours.to_csv(float_format="%.6g", lineterminator="\n")
    files |= dict(made_from(facts))
    return _written(files, folder)


def write_comparison(one: Facts, other: Facts, folder: Path, wanted: Wanted | None = None) -> tuple[Path, ...]:
    """Write two kits side by side into ``folder``. Raises as ``write_book`` does."""
    from optimizer.book.compare import compared

    wanted = wanted or Wanted()
    front, found = compared(one, other, wanted.clock)
    html = page(front, found)
    files: dict[str, str | bytes] = {"compare.html": html}
    if wanted.pdf:
        from optimizer.book.printing import pdf

        files["compare.pdf"] = pdf(html, "Letter" if one.units == "us" else "A4")
    return _written(files, folder)


def made_from(facts: Facts) -> Iterator[tuple[str, str | bytes]]:
    """Brief, the files it names by relative paths, and the kit, so laid out that the brief finds them."""
    brief = Path(facts.job.file).resolve()
    home = facts.job.base.resolve()
    named = sorted({path for path in _named(facts) if path.is_file()})
    root = Path(os.path.commonpath([home, *(path.parent for path in named)]))
    inside = f"{MADE_FROM}/{home.relative_to(root).as_posix()}/" if home != root else f"{MADE_FROM}/"
    yield f"{inside}brief.toml", _read(brief)
    for path in named:
        yield f"{MADE_FROM}/{path.relative_to(root).as_posix()}", _read(path)
    yield f"{inside}kit.json", dumps({**facts.data, "brief_file": "brief.toml"})


def _written(files: dict[str, str | bytes], folder: Path) -> tuple[Path, ...]:
    for name, content in files.items():
        new_folder((folder / name).parent)
        write_whole(folder / name, content)
    return tuple(folder / name for name in files)


def left_over(folder: Path, written: Collection[Path]) -> tuple[Path, ...]:
    """What an earlier book wrote into the folder and this one did not: drawings of other bays, a PDF, a kit."""
    known = [folder / PRINTED, folder / HOURS, *sorted((folder / "drawings").glob("*.svg"))]
    known += sorted((folder / MADE_FROM).rglob("*"))
    return tuple(path for path in known if path.is_file() and path not in written)


def _named(facts: Facts) -> Iterator[Path]:
    """Files that the brief names by a path relative to itself; others stay where they are."""
    brief = facts.job.brief
    names = [
        *brief.catalogs, *brief.place.weather, *(kind.file for kind in brief.preferences.own_kinds),
    ]  # fmt: skip
    for name in names:
        if not Path(name).is_absolute():
            path = (facts.job.base / name).resolve()
            yield from sorted(path.glob("*.csv")) if path.is_dir() else [path]


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        found = f"not readable ({(error.strerror or str(error)).lower()})"
        raise FaultsFound(
            [Fault(str(path), 0, "the file", found, "a file that can be copied beside the book")]
        ) from error
