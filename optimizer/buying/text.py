"""Text that a spreadsheet takes for text.

A cell that begins with = + - @ (or with a tab or line end before them) may be run as a formula when the
file is opened; an apostrophe in front makes it plain. Common practice against formula injection, no source.
"""

from __future__ import annotations

RISKY = "=+-@"


def harmless(text: str) -> str:
    """The text with control characters dropped, and an apostrophe before what could be run as a formula."""
    plain = "".join(" " if sign in "\t\r\n" else sign for sign in text if sign.isprintable() or sign in "\t\r\n")
    return f"'{plain}" if plain.strip()[:1] and plain.strip()[0] in RISKY else plain
