"""The one-line electrical diagram: sources on the left, busbars in the middle, what draws on the right.

On the road: circuits -> *diagram* -> chapter. One line stands for both conductors. Symbols come from
schemdraw; what is drawn comes from the circuits' own names ("from to to"), so a new kind of circuit finds
its place by itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from optimizer.book.look import INK, inline
from optimizer.circuits.records import Circuit
from optimizer.errors import MissingExtra
from optimizer.showing import M_PER_FOOT, System, show

BUS, BOX, BANK, CONVERTER = "busbars", "fuse box", "bank", "converter"
LINKS = "battery links"
AWAY_FROM_BUSBARS = ("starter battery", CONVERTER)
"""Sources with a bolted fuse of their own beside them."""
_CABLE, _BOX, _FUSE, _SWITCH, _GAP, _ROW = 3.0, 2.8, 0.9, 1.0, 0.25, 1.75
"""Lengths on the sheet, in the drawing library's units."""
_LINE = 16
"""Letters on a line of a box."""
_SIZE = 12.0
"""Of the letters on the sheet, in points: what is left of it on A4 can still be read on a workshop wall."""


@dataclass(frozen=True)
class Chain:
    """Circuits that follow each other, with the ends they join."""

    ends: tuple[str, ...]
    circuits: tuple[Circuit, ...]


def ends_of(circuit: Circuit) -> tuple[str, str]:
    """From where to where a circuit runs, by its name."""
    first, _, second = circuit.name.partition(" to ")
    return first, second


def in_reading_order(circuits: Sequence[Circuit]) -> list[Circuit]:
    """The bank first, then what gives, what hangs on the busbars, and what the fuse box feeds."""

    def place(circuit: Circuit) -> int:
        start, end = ends_of(circuit)
        if circuit.name == LINKS or (start, end) == (BANK, BUS):
            return 0
        return 3 if start == BOX else 2 if start in (BUS, CONVERTER) or circuit.use == "mains" else 1

    return sorted(circuits, key=place)


def chains(circuits: Sequence[Circuit]) -> tuple[tuple[Chain, ...], tuple[Chain, ...], tuple[Chain, ...]]:
    """Chains that end at the busbars, that begin there, and that begin at the fuse box."""
    left = [circuit for circuit in circuits if circuit.name != LINKS and ends_of(circuit) != (BANK, BUS)]
    giving: list[Chain] = []
    taking: list[Chain] = []
    for circuit in [c for c in left if ends_of(c)[1] == BUS]:
        found, start = [circuit], ends_of(circuit)[0]
        before = next((c for c in left if ends_of(c)[1] == start and ends_of(c)[0] not in (BUS, BOX)), None)
        if before is not None:
            left.remove(before)
            found.insert(0, before)
        giving.append(Chain((*(ends_of(c)[0] for c in found), BUS), tuple(found)))
    for circuit in [c for c in left if ends_of(c)[0] == BUS]:
        found, end = [circuit], ends_of(circuit)[1]
        after = next((c for c in left if ends_of(c)[0] == end and end != BOX), None)
        if after is not None:
            found.append(after)
        taking.append(Chain((BUS, *(ends_of(c)[1] for c in found)), tuple(found)))
    small = tuple(Chain(ends_of(c), (c,)) for c in left if ends_of(c)[0] == BOX)
    return tuple(giving), tuple(taking), small


@dataclass(frozen=True)
class Labels:
    """What stands beside the symbols that are no circuits."""

    bank: str = "bank"
    main_fuse: str = "main fuse"
    disconnect: str = "disconnect"
    isolator: str = ""
    """What parts the panels from their controller; none is drawn when empty."""


def diagram(circuits: Sequence[Circuit], labels: Labels, units: System, alt: str) -> str:
    """The diagram as SVG for the page. Raises MissingExtra without schemdraw."""
    try:
        import schemdraw
        import schemdraw.elements as elm
        from schemdraw import flow
    except ImportError as error:
        raise MissingExtra("schemdraw", "book", "The one-line diagram of a build book") from error
    schemdraw.use("svg")
    drawing = schemdraw.Drawing(show=False)
    drawing.config(fontsize=_SIZE, unit=2, lw=1.4, color=INK, font="Liberation Sans, DejaVu Sans, Arial, sans-serif")
    pen = _Pen(drawing, elm, flow, units, labels)
    giving, taking, small = chains(circuits)
    taking = tuple(sorted(taking, key=_feeds_box))
    pen.bus(max(len(giving) + 1.8, len(taking)))
    for row, chain in enumerate(giving):
        pen.giving(chain, -row * _ROW)
    lead = next((c for c in circuits if ends_of(c) == (BANK, BUS)), None)
    pen.bank(-(len(giving) + 0.4) * _ROW, lead)
    for row, chain in enumerate(taking):
        if _feeds_box(chain):
            pen.box(chain, small, -row * _ROW)
        else:
            pen.taking(chain, -row * _ROW)
    svg = drawing.get_imagedata("svg").decode("utf-8")
    return inline(_unprefixed(svg).replace("stroke-dasharray:-;", ""), "one-line", alt)


def _unprefixed(svg: str) -> str:
    """Tags without the prefix they get when another library has claimed the nameless namespace."""
    return re.sub(r"(</?)ns\d+:", r"\1", re.sub(r"xmlns:ns\d+=", "xmlns=", svg))


def _feeds_box(chain: Chain) -> bool:
    """Whether the fuse box hangs on it, at once or behind a converter."""
    return chain.ends[-1] in (BOX, CONVERTER)


def label(text: str) -> str:
    """Text as the drawing library takes it: it reads markup and mathematics, names from a brief must not."""
    return escape(text).replace("$", "&#36;").replace("\n", " ")


def short(text: str, most: int = 22) -> str:
    """The text, cut where it is longer."""
    return text if len(text) <= most else text[: most - 1] + "…"


class _Pen:
    """Draws symbols at places given in the drawing's own units; the busbars stand at x = 0."""

    def __init__(self, drawing: Any, elm: Any, flow: Any, units: System, labels: Labels) -> None:
        self.drawing, self.elm, self.flow, self.units, self.labels = drawing, elm, flow, units, labels

    def box_at(self, x: float, y: float, words: str) -> None:
        """A named box whose middle of the left side is at a place."""
        text = "\n".join(label(line) for line in _wrapped(words))
        self.drawing.add(self.flow.Box(w=_BOX, h=1.05, anchor="W").at((x, y)).label(text, fontsize=_SIZE))

    def words(self, x: float, y: float, text: str) -> None:
        """Small print around a place."""
        self.drawing.add(self.elm.Label().at((x, y)).label(label(text), fontsize=_SIZE, ofst=0, halign="center"))

    def line(self, x1: float, x2: float, y: float) -> None:
        """A plain stretch of cable."""
        self.drawing.add(self.elm.Line().at((x1, y)).to((x2, y)))

    def cable(self, x: float, y: float, circuit: Circuit, fuse_first: bool) -> None:
        """A cable from ``x`` to the right, with its fuse near its source and its small print."""
        end, rating = x + _CABLE, circuit.fuse_a or circuit.string_fuse_a
        if rating:
            symbol = self.elm.Breaker if circuit.use == "mains" else self.elm.Fuse
            near = x + _GAP if fuse_first else end - _GAP - _FUSE
            self.line(x, near, y)
            self.drawing.add(symbol().at((near, y)).to((near + _FUSE, y)))
            self.line(near + _FUSE, end, y)
        elif circuit.use == "solar" and self.labels.isolator:
            near = x + (_CABLE - _SWITCH) / 2
            self.line(x, near, y)
            self.drawing.add(self.elm.Switch().at((near, y)).to((near + _SWITCH, y)))
            self.line(near + _SWITCH, end, y)
        else:
            self.line(x, end, y)
        guard = f"{rating:g} A, " if rating else ""
        above = 0.75 if circuit.use == "solar" and self.labels.isolator and not rating else 0.52
        self.words((x + end) / 2, y + above, f"{guard}{circuit.size.replace('mm2', 'mm²')}")
        self.words((x + end) / 2, y - 0.62, self._long(circuit.length_m))

    def _long(self, metres: float) -> str:
        return f"{metres / M_PER_FOOT:.1f} ft" if self.units == "us" else show(metres, "m")

    def bus(self, rows: float) -> None:
        """The busbars."""
        self.drawing.add(self.elm.Line(lw=6).at((0, 0.7)).to((0, -(rows - 0.4) * _ROW)))
        self.words(0, 1.2, "busbars, plus and minus")

    def giving(self, chain: Chain, y: float) -> None:
        """A chain on the left that ends at the busbars, where its last fuse sits."""
        x = 0.0
        for place in range(len(chain.circuits) - 1, -1, -1):
            self.cable(x - _CABLE, y, chain.circuits[place], fuse_first=place < len(chain.circuits) - 1)
            self.box_at(x - _CABLE - _BOX, y, chain.ends[place])
            x -= _CABLE + _BOX

    def bank(self, y: float, lead: Circuit | None) -> None:
        """The bank with its main fuse and disconnect."""
        elm, width, labels = self.elm, _CABLE, self.labels
        self.drawing.add(elm.Switch().at((-width * 0.8, y)).to((0, y)))
        self.words(-width * 0.56, y - 0.62, short(labels.disconnect, 18))
        self.drawing.add(elm.Fuse().at((-width * 1.7, y)).to((-width * 0.8, y)))
        size = f", {lead.size.replace('mm2', 'mm²')}" if lead is not None else ""
        self.words(-width * 1.25, y + 0.52, f"{short(labels.main_fuse, 18)}{size}")
        self.drawing.add(elm.Battery().at((-width * 2.4, y)).to((-width * 1.7, y)))
        self.words(-width * 2.4, y - 0.95, short(labels.bank, 46))
        self.line(-width * 2.4 - 0.5, -width * 2.4, y)
        self.words(-width * 2.4 - 1.9, y, "to minus busbar")

    def taking(self, chain: Chain, y: float) -> None:
        """A chain on the right, from the busbars."""
        x = 0.0
        for place, circuit in enumerate(chain.circuits):
            self.cable(x, y, circuit, fuse_first=True)
            self.box_at(x + _CABLE, y, chain.ends[place + 1])
            x += _CABLE + _BOX

    def box(self, chain: Chain, small: Sequence[Chain], y: float) -> None:
        """The fuse box (behind its converter, where there is one), and everything it feeds."""
        self.taking(chain, y)
        x = (_CABLE + _BOX) * len(chain.circuits) - _BOX / 2
        self.drawing.add(self.elm.Line().at((x, y - 0.53)).to((x, y - len(small) * _ROW)))
        for number, one in enumerate(small, 1):
            self.cable(x, y - number * _ROW, one.circuits[0], fuse_first=True)
            self.box_at(x + _CABLE, y - number * _ROW, one.ends[1])


def _wrapped(words: str) -> list[str]:
    """A name on one or two lines."""
    if len(words) <= _LINE:
        return [words]
    cut = words.rfind(" ", 0, _LINE + 1)
    first, rest = (words[:cut], words[cut + 1 :]) if cut > 0 else (words[:_LINE], words[_LINE:])
    return [first, short(rest, _LINE)]
