"""The one-line electrical diagram: sources on the left, busbars in the middle, what draws on the right.

On the road: circuits -> *diagram* -> chapter. One line stands for both conductors. Symbols come from
schemdraw; what is drawn comes from the circuits' own names ("from to to"), so a new kind of circuit finds
its place by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from optimizer.book.look import INK, inline
from optimizer.circuits.records import Circuit
from optimizer.errors import MissingExtra
from optimizer.showing import System, show

BUS, BOX, BANK = "busbars", "fuse box", "bank"
LINKS = "battery links"
_WIDE, _ROW = 4.1, 1.45


@dataclass(frozen=True)
class Chain:
    """Circuits that follow each other, with the ends they join."""

    ends: tuple[str, ...]
    circuits: tuple[Circuit, ...]


def ends_of(circuit: Circuit) -> tuple[str, str]:
    """From where to where a circuit runs, by its name."""
    first, _, second = circuit.name.partition(" to ")
    return first, second


def chains(circuits: Sequence[Circuit]) -> tuple[tuple[Chain, ...], tuple[Chain, ...], tuple[Chain, ...]]:
    """Chains that end at the busbars, that begin there, and that begin at the fuse box."""
    left = [circuit for circuit in circuits if circuit.name != LINKS and ends_of(circuit) != (BANK, BUS)]
    giving, taking, small = [], [], []
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
    small = [Chain(ends_of(c), (c,)) for c in left if ends_of(c)[0] == BOX]
    return tuple(giving), tuple(taking), tuple(small)


def diagram(circuits: Sequence[Circuit], bank: str, main_fuse: str, disconnect: str, units: System, alt: str) -> str:
    """The diagram as SVG for the page. Raises MissingExtra without schemdraw."""
    try:
        import schemdraw
        import schemdraw.elements as elm
        from schemdraw import flow
    except ImportError as error:
        raise MissingExtra("schemdraw", "book", "The one-line diagram of a build book") from error
    schemdraw.use("svg")
    drawing = schemdraw.Drawing(show=False)
    drawing.config(fontsize=9, unit=2, lw=1.3, color=INK, font="Liberation Sans, DejaVu Sans, Arial, sans-serif")
    pen = _Pen(drawing, elm, flow, units)
    giving, taking, small = chains(circuits)
    rows = max(len(giving) + 2, len(taking) + len(small), 3)
    pen.bus(rows)
    for row, chain in enumerate(giving):
        pen.giving(chain, -row * _ROW)
    lead = next((c for c in circuits if ends_of(c) == (BANK, BUS)), None)
    pen.bank(-(len(giving) + 0.6) * _ROW, bank, main_fuse, disconnect, lead)
    row = 0
    for chain in taking:
        if chain.ends[-1] == BOX or (len(chain.ends) > 1 and chain.ends[1] in (BOX, "converter")):
            pen.box(chain, small, -row * _ROW)
            row += len(small)
        else:
            pen.taking(chain, -row * _ROW)
        row += 1
    svg = drawing.get_imagedata("svg").decode("utf-8")
    return inline(svg.replace("stroke-dasharray:-;", ""), "one-line", alt)


def label(text: str) -> str:
    """Text as the drawing library takes it: it reads markup and mathematics, names from a brief must not."""
    return escape(text).replace("$", "&#36;").replace("\n", " ")


def _short(text: str, most: int = 22) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


class _Pen:
    """Draws symbols at places given in the drawing's own units."""

    def __init__(self, drawing: Any, elm: Any, flow: Any, units: System) -> None:
        self.drawing, self.elm, self.flow, self.units = drawing, elm, flow, units

    def box_at(self, x: float, y: float, words: str, wide: float = 2.9) -> None:
        """A named box whose middle of the left side is at a place."""
        lines = _wrapped(words)
        self.drawing.add(
            self.flow.Box(w=wide, h=0.85, anchor="W").at((x, y)).label("\n".join(map(label, lines)), fontsize=8)
        )

    def words(self, x: float, y: float, text: str) -> None:
        """A line of small print above a cable."""
        self.drawing.add(self.elm.Label().at((x, y)).label(label(text), fontsize=7.5, ofst=0, halign="center"))

    def line(self, x1: float, x2: float, y: float, wide: float = 1.3) -> None:
        self.drawing.add(self.elm.Line(lw=wide).at((x1, y)).to((x2, y)))

    def fuse(self, x1: float, x2: float, y: float, circuit: Circuit, at_start: bool) -> None:
        """A cable with its fuse near its source, and its small print."""
        if not (circuit.fuse_a or circuit.string_fuse_a):
            self.line(x1, x2, y)
        else:
            near = (x1, x1 + 1.3) if at_start else (x2 - 1.3, x2)
            symbol = self.elm.Breaker if circuit.use == "mains" else self.elm.Fuse
            self.drawing.add(symbol().at((near[0], y)).to((near[1], y)))
            rest = (near[1], x2) if at_start else (x1, near[0])
            self.line(*rest, y)
        rating = circuit.fuse_a or circuit.string_fuse_a
        guard = f"{rating:g} A, " if rating else ""
        middle = (x1 + x2) / 2
        self.words(middle, y + 0.26, f"{guard}{circuit.size}")
        self.words(
            middle,
            y - 0.42,
            f"{show(circuit.length_m * 1000, 'mm', 'us') if self.units == 'us' else show(circuit.length_m, 'm')}",
        )

    def bus(self, rows: int) -> None:
        self.drawing.add(self.elm.Line(lw=5).at((0, 0.7)).to((0, -(rows - 0.4) * _ROW)))
        self.words(0, 0.95, "busbars, plus and minus")

    def giving(self, chain: Chain, y: float) -> None:
        """A chain on the left, ending at the busbars; its last fuse sits at the busbars."""
        x = 0.0
        for place in range(len(chain.circuits) - 1, -1, -1):
            circuit = chain.circuits[place]
            last = place == len(chain.circuits) - 1
            self.fuse(x - _WIDE, x, y, circuit, at_start=not last)
            self.box_at(x - _WIDE - 2.9, y, chain.ends[place])
            x -= _WIDE + 2.9

    def bank(self, y: float, bank: str, main_fuse: str, disconnect: str, lead: Circuit | None) -> None:
        """The bank with main fuse and disconnect."""
        elm = self.elm
        self.drawing.add(elm.Switch().at((-1.7, y)).to((0, y)))
        self.words(-0.85, y - 0.42, _short(disconnect, 24))
        self.drawing.add(elm.Fuse().at((-4.1, y)).to((-1.7, y)))
        size = f", {lead.size}" if lead is not None else ""
        self.words(-2.9, y + 0.32, f"{_short(main_fuse, 20)}{size}")
        self.drawing.add(elm.Battery().at((-7.0, y)).to((-4.1, y)))
        self.words(-5.5, y - 0.75, _short(bank, 40))
        self.drawing.add(elm.Line().at((-7.0, y)).to((-7.0, y - 0.35)))
        self.drawing.add(elm.Ground().at((-7.0, y - 0.35)))

    def taking(self, chain: Chain, y: float) -> None:
        """A chain on the right, from the busbars."""
        x = 0.0
        for place, circuit in enumerate(chain.circuits):
            self.fuse(x, x + _WIDE, y, circuit, at_start=True)
            self.box_at(x + _WIDE, y, chain.ends[place + 1])
            x += _WIDE + 2.9

    def box(self, chain: Chain, small: Sequence[Chain], y: float) -> None:
        """The fuse box, and everything it feeds."""
        self.taking(chain, y)
        # Where a converter stands between, its output goes to the fuse box.
        x = (_WIDE + 2.9) * len(chain.circuits) - 1.45
        self.drawing.add(self.elm.Line().at((x, y - 0.43)).to((x, y - len(small) * _ROW)))
        for number, one in enumerate(small, 1):
            self.fuse(x, x + _WIDE, y - number * _ROW, one.circuits[0], at_start=True)
            self.box_at(x + _WIDE, y - number * _ROW, one.ends[1])


def _wrapped(words: str) -> list[str]:
    """A name on one or two lines."""
    if len(words) <= 20:
        return [words]
    cut = words.rfind(" ", 0, 21)
    first, rest = (words[:cut], words[cut + 1 :]) if cut > 0 else (words[:20], words[20:])
    return [first, _short(rest, 20)]
