"""Chapters as one page: HTML that needs no network and no script.

On the road: chapters -> *page* -> file. Everything is escaped by the template except pictures and style,
which come from here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from optimizer import __version__
from optimizer.book.blocks import Chapter

_HERE = "optimizer.book"


@dataclass(frozen=True)
class Cover:
    """What stands above and below the chapters."""

    title: str
    subtitle: str
    series: str = "Build book"
    closing: str = ""


def page(cover: Cover, chapters: Sequence[Chapter]) -> str:
    """The whole document as text."""
    return _template().render(
        title=clean(cover.title),
        subtitle=clean(cover.subtitle),
        series=cover.series,
        closing=cover.closing,
        chapters=chapters,
        version=__version__,
        style=Markup(_text("page.css")),
    )


def clean(text: str) -> str:
    """Text without the control characters that a page may not hold."""
    return "".join(sign for sign in text if sign in "\n\t" or sign.isprintable() or not sign.isascii())


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=_finalize
    )
    return environment.from_string(_text("page.html"))


def _finalize(value: object) -> object:
    return clean(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@lru_cache(maxsize=4)
def _text(name: str) -> str:
    return files(_HERE).joinpath(name).read_text(encoding="utf-8")
