"""The book's one visual language: colours, lines, and pictures as SVG that stands inside a page.

On the road: under every picture of the book. The colours are those of the trips' pictures (Okabe and Ito,
"Color Universal Design", 2008, from memory); hatches and line styles tell things apart in grey print too.
The same data gives the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING, Any

from optimizer.errors import MissingExtra

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, BLUE, SKY, ORANGE, VERMILION, GREEN, GREY = (
    "#17324D",
    "#0072B2",
    "#56B4E9",
    "#E69F00",
    "#D55E00",
    "#009E73",
    "#8A929B",
)
FILLS: tuple[tuple[str, str], ...] = (
    (BLUE, ""),
    (ORANGE, "///"),
    (SKY, ""),
    (VERMILION, "\\\\\\"),
    ("#CC79A7", ""),
    (GREEN, "///"),
    ("#F0E442", ""),
    (GREY, "\\\\\\"),
    ("#4D4D4D", ""),
    ("#B9C4CF", "///"),
)
"""Colour and hatch, in the order in which they are given out."""
_STYLE: Any = {
    "svg.fonttype": "path", "font.family": "DejaVu Sans", "font.size": 9.0, "axes.edgecolor": INK,
    "axes.labelcolor": INK, "xtick.color": INK, "ytick.color": INK, "text.color": "#1C1F24",
    "axes.spines.top": False, "axes.spines.right": False, "axes.grid": True, "grid.color": "#DDE1E6",
    "axes.axisbelow": True, "hatch.linewidth": 0.6, "legend.frameon": False, "text.parse_math": False,
}  # fmt: skip


def chart(name: str, alt: str, size: tuple[float, float], draw: Callable[[Figure], None]) -> str:
    """A figure drawn by ``draw``, as SVG for the page. Raises MissingExtra without matplotlib."""
    try:
        import matplotlib
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure
    except ImportError as error:
        raise MissingExtra("matplotlib", "book", "The charts of a build book") from error
    drawn = io.BytesIO()
    with matplotlib.rc_context():
        matplotlib.rcdefaults()  # whatever style the person has set elsewhere
        matplotlib.rcParams.update({**_STYLE, "svg.hashsalt": f"kitwright {name}"})
        figure = Figure(figsize=size, layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure)
        figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": "kitwright"})
    return inline(drawn.getvalue().decode("utf-8"), name, alt)


def inline(svg: str, name: str, alt: str) -> str:
    """An SVG document made fit for a page: no prolog, ids of its own, sized by its view box, with alt text."""
    body = svg[svg.index("<svg") :].strip()
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r"<title>.*?</title>", "", body, count=1, flags=re.DOTALL)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', body)
    body = re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', body)
    body = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", body)
    body = re.sub(r"\n\s*", "\n", body)
    head, _, rest = body.partition(">")
    head = re.sub(r'\s(width|height|role|aria-label|aria-labelledby|version|xml:lang)="[^"]*"', "", head)
    title = f'<title id="{name}-title">{escape(alt)}</title>'
    return f'{head} role="img" aria-labelledby="{name}-title">{title}{rest}'


def stand_alone(svg: str) -> str:
    """A picture of the page as a file of its own."""
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + svg + "\n"
