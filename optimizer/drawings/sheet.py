"""A sheet of paper to draw on: plain shapes, dimension lines and labels, as SVG text.

On the road: under ``drawings``. Positions are in points of the sheet, from its top left. Meaning is never in a
colour alone: things are numbered, hatched or dashed as well, so that print in black and eyes that tell few
colours apart lose nothing. The two colours are from M. Okabe and K. Ito, Color Universal Design (2008).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import escape
from itertools import islice

INK, FAINT, BLUE, ORANGE, PAPER = "#1a1a1a", "#6b6b6b", "#0072B2", "#E69F00", "#ffffff"
SHADE = "#e4e4e4"
FONT = 16.0
LINE = 20.0
LETTER = 0.56
"""Mean width of a letter by its size, for sans-serif type; common practice, no source."""
Point = tuple[float, float]


@dataclass
class Sheet:
    """What has been drawn so far."""

    title: str
    width: float
    height: float = 0.0
    _parts: list[str] = field(default_factory=list)

    def rect(self, corner: Point, size: Point, fill: str = "none", stroke: str = INK, dash: str = "",
             weight: float = 1.2) -> None:  # fmt: skip
        """A rectangle from its top left corner."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._parts.append(
            f'<rect x="{corner[0]:.1f}" y="{corner[1]:.1f}" width="{size[0]:.1f}" height="{size[1]:.1f}"'
            f' fill="{fill}" stroke="{stroke}" stroke-width="{weight:g}"{dashed}/>'
        )
        self._reach(corner[1] + size[1])

    def circle(self, middle: Point, radius: float, fill: str = "none", stroke: str = INK) -> None:
        """A circle."""
        self._parts.append(
            f'<circle cx="{middle[0]:.1f}" cy="{middle[1]:.1f}" r="{radius:.1f}" fill="{fill}" stroke="{stroke}"'
            ' stroke-width="1.2"/>'
        )
        self._reach(middle[1] + radius)

    def line(self, start: Point, end: Point, stroke: str = INK, weight: float = 1.0, arrow: bool = False) -> None:
        """A line, with an arrow head at its end if wished."""
        head = ' marker-end="url(#arrow)"' if arrow else ""
        self._parts.append(
            f'<line x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}" stroke="{stroke}"'
            f' stroke-width="{weight:g}"{head}/>'
        )
        self._reach(max(start[1], end[1]))

    def text(self, at: Point, words: str, size: float = FONT, anchor: str = "start", bold: bool = False,
             fill: str = INK, turned: bool = False) -> None:  # fmt: skip
        """Words on a line; ``turned`` reads from below upwards."""
        turn = f' transform="rotate(-90 {at[0]:.1f} {at[1]:.1f})"' if turned else ""
        weight = ' font-weight="bold"' if bold else ""
        self._parts.append(
            f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" font-size="{size:g}" text-anchor="{anchor}" fill="{fill}"'
            f"{weight}{turn}>{escape(words)}</text>"
        )
        self._reach(at[1] + size / 2)

    def mark(self, middle: Point, words: str, room: float) -> None:
        """A number in the middle of a thing, small enough for it, on a patch of paper."""
        size = max(7.0, min(FONT, room * 0.8))
        width = len(words) * size * LETTER + 3
        self.rect((middle[0] - width / 2, middle[1] - size / 2), (width, size), PAPER, "none")
        self.text((middle[0], middle[1] + size * 0.36), words, size, "middle", bold=True)

    def dimension(self, start: Point, end: Point, words: str) -> None:
        """A dimension line between two points, across or upright, with ticks and its number above or beside it."""
        across = start[1] == end[1]
        self.line(start, end, FAINT)
        for x, y in (start, end):
            slope = 4.0
            self.line((x - slope, y + slope), (x + slope, y - slope))
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        if across:
            self.text((middle[0], middle[1] - 5), words, anchor="middle")
        else:
            self.text((middle[0] - 6, middle[1]), words, anchor="middle", turned=True)

    def paragraph(self, at: Point, words: str, width: float, size: float = FONT, fill: str = INK) -> float:
        """Words over as many lines as they need; gives back where the next line would be."""
        x, y = at
        for line in wrapped(words, width, size):
            self.text((x, y), line, size, fill=fill)
            y += LINE
        return y

    def svg(self) -> str:
        """The whole sheet as text."""
        height = self.height + 24
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:.0f}" height="{height:.0f}"'
                f' viewBox="0 0 {self.width:.0f} {height:.0f}" font-family="Helvetica, Arial, sans-serif">',
                f"<title>{escape(self.title)}</title>",
                _PATTERNS,
                f'<rect width="100%" height="100%" fill="{PAPER}"/>',
                *self._parts,
                "</svg>\n",
            ]
        )

    def _reach(self, y: float) -> None:
        self.height = max(self.height, y)


def signs(many: int) -> list[str]:
    """So many different signs for things on a drawing: a to z, then aa to zz."""
    alphabet = [chr(ord("a") + number) for number in range(26)]
    return list(islice((first + last for first in ("", *alphabet) for last in alphabet), many))


_UNIT = re.compile(r"(?<=\d) (?=(?:mm|in|ft|kg|lb)\b)|(?<=\d) (?=\d+/\d)|(?<=\d ft) (?=\d)|(?<=\d\u00a0ft) (?=\d)")


def wrapped(words: str, width: float, size: float = FONT) -> list[str]:
    """Words cut into lines that fit a width; a number stays with its unit."""
    most = max(8, int(width / (size * LETTER)))
    lines = [""]
    for word in _UNIT.sub("\u00a0", words).split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if len(longer) > most and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


_PATTERNS = f"""<defs>
<pattern id="panel" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="9" height="9" fill="#dcecf6"/>
<line x1="0" y1="0" x2="0" y2="9" stroke="{BLUE}" stroke-width="1.2"/></pattern>
<pattern id="blocked" width="7" height="7" patternUnits="userSpaceOnUse">
<rect width="7" height="7" fill="#eeeeee"/><path d="M0 0L7 7M7 0L0 7" stroke="{FAINT}" stroke-width="0.9"/></pattern>
<pattern id="box" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
<rect width="8" height="8" fill="#fdf3dc"/>
<line x1="0" y1="0" x2="0" y2="8" stroke="{ORANGE}" stroke-width="1"/></pattern>
<pattern id="lane" width="8" height="8" patternUnits="userSpaceOnUse">
<circle cx="4" cy="4" r="0.9" fill="{FAINT}"/></pattern>
<marker id="arrow" markerWidth="9" markerHeight="9" refX="4.5" refY="8" orient="auto-start-reverse">
<path d="M0 0L9 0L4.5 8z" transform="rotate(-90 4.5 4.5)" fill="{INK}"/></marker>
</defs>"""
