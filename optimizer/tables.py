"""Rows of text lined up for a terminal.

On the road: everything that is told in words -> *terminal*.
"""

from __future__ import annotations

from collections.abc import Sequence


def aligned(rows: Sequence[Sequence[str]], left: int = 1) -> str:
    """Rows as lines, the first a heading with a rule below; the first ``left`` columns flush left, the
    others flush right.
    """
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if column < left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    lines.insert(1, "-" * max(len(line) for line in lines))
    return "\n".join(lines)
