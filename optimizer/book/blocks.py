"""What a chapter is made of: paragraphs, tables, figures, steps. Plain records that the template shows.

On the road: facts -> *blocks* -> page. Texts here are text, never markup: the template escapes them all.
Only ``Figure.svg`` is markup, and it comes from the drawing rooms, which escape what they write.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar


@dataclass(frozen=True)
class Num:
    """A number of the kit: its value in the documented unit, and how it is shown."""

    value: float
    text: str
    key: str = ""
    """A name by which the number is found again on the page."""

    @property
    def exact(self) -> str:
        """The value as the page carries it beside its text."""
        return f"{self.value:.10g}"


Cell = str | Num


@dataclass(frozen=True)
class Para:
    """A paragraph."""

    kind: ClassVar[str] = "para"
    text: str
    strong: bool = False


@dataclass(frozen=True)
class Subhead:
    """A heading inside a chapter."""

    kind: ClassVar[str] = "subhead"
    text: str


@dataclass(frozen=True)
class Box:
    """Words that must not be missed: a caution or a note."""

    kind: ClassVar[str] = "box"
    title: str
    text: str
    danger: bool = False
    more: str = ""


@dataclass(frozen=True)
class Points:
    """A list; numbered when the order matters, with boxes to tick where it is to be done."""

    kind: ClassVar[str] = "points"
    items: tuple[str, ...]
    numbered: bool = False
    ticked: bool = False


@dataclass(frozen=True)
class Answers:
    """Questions with their answers."""

    kind: ClassVar[str] = "answers"
    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Tile:
    """One big number."""

    label: str
    number: Num
    note: str = ""


@dataclass(frozen=True)
class Tiles:
    """The big numbers of the first page."""

    kind: ClassVar[str] = "tiles"
    tiles: tuple[Tile, ...]


@dataclass(frozen=True)
class Table:
    """Rows below a heading row; the last ``feet`` rows are sums. Columns of numbers are set flush right."""

    kind: ClassVar[str] = "table"
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    feet: int = 0
    tick: bool = False
    """Whether each row begins with a box to tick."""
    small: bool = False
    note: str = ""
    stack: bool = False
    """Whether a narrow screen shows a row as a small card: where rows are read one by one, not compared."""
    grid: bool = False
    """Whether its many narrow columns of numbers are set close."""
    widths: tuple[float, ...] = ()
    """Shares of the width by column [%], so that tables below each other line up; by contents when empty."""
    quiet: bool = False
    """Whether a heading just above says what the caption would; it is still there for a screen reader."""

    @property
    def short(self) -> bool:
        """Whether it should stay on one page."""
        return len(self.rows) <= 10 and not self.stack

    @property
    def body(self) -> tuple[tuple[Cell, ...], ...]:
        """The rows that are no sums."""
        return self.rows[: len(self.rows) - self.feet]

    @property
    def sums(self) -> tuple[tuple[Cell, ...], ...]:
        """The rows that are."""
        return self.rows[len(self.rows) - self.feet :]

    def right(self, column: int) -> bool:
        """Whether a column is one of numbers."""
        cells = [row[column] for row in self.body if column < len(row) and row[column] not in ("", "-", "none")]
        return bool(cells) and all(isinstance(cell, Num) for cell in cells)


@dataclass(frozen=True)
class Bar:
    """A limit as a bar: how much of what is allowed is used."""

    name: str
    sentence: str
    used: Num
    allowed: Num
    room: Num
    share: float
    """Used over allowed, 0 to 1."""
    slug: str = ""


@dataclass(frozen=True)
class Bars:
    """Limits, the tightest first."""

    kind: ClassVar[str] = "bars"
    caption: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Figure:
    """A picture with what it shows in words."""

    kind: ClassVar[str] = "figure"
    name: str
    """Short, a-z and '-': of the file and of the ids inside."""
    caption: str
    alt: str
    svg: str
    wide: bool = True


Block = Para | Subhead | Box | Points | Answers | Tiles | Table | Bars | Figure


@dataclass(frozen=True)
class Chapter:
    """A chapter of the book."""

    slug: str
    title: str
    blocks: tuple[Block, ...] = field(default=())
    lead: str = ""
    fresh: bool = False
    """Begins on a page of its own in print: pinned to the wall or taken to the shop."""

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Its pictures."""
        return tuple(block for block in self.blocks if isinstance(block, Figure))
