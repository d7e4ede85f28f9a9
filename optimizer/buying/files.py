"""Buy lists as CSV text and XLSX bytes.

On the road: rows -> *files*. Whoever writes them writes them whole. The same kit gives the same bytes: a
workbook carries no date.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

from optimizer.buying.tables import Cell, Table
from optimizer.buying.text import harmless
from optimizer.errors import MissingExtra
from optimizer.frames import undated

WIDEST = 60


def csv_text(table: Table) -> str:
    """A table as CSV: UTF-8, commas, a header row; text made harmless."""
    head, rows = table
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([[_safe(cell) for cell in row] for row in rows])
    return out.getvalue()


def _safe(cell: Cell) -> Cell:
    return harmless(cell) if isinstance(cell, str) else cell


def xlsx_bytes(sheets: Mapping[str, Table]) -> bytes:
    """A workbook, a sheet a table. Raises MissingExtra without openpyxl."""
    try:
        from openpyxl import Workbook
    except ImportError as error:
        raise MissingExtra("openpyxl", "tables", "Writing a workbook") from error
    book = Workbook()
    book.remove(book.active)
    for name, table in sheets.items():
        _fill(book.create_sheet(name), table)
    out = io.BytesIO()
    book.save(out)
    return undated(out.getvalue())


def _fill(sheet: Any, table: Table) -> None:
    from openpyxl.styles import Font

    head, rows = table
    sheet.append(list(head))
    for row in rows:
        sheet.append([_safe(cell) for cell in row])
    for cells in sheet.iter_rows():
        for cell in cells:
            if isinstance(cell.value, str):
                cell.data_type = "s"  # never a formula, whatever it begins with
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for number, column in enumerate(zip(head, *rows, strict=True)):
        widest = max(len(str(value)) for value in column)
        sheet.column_dimensions[sheet.cell(1, number + 1).column_letter].width = min(WIDEST, widest + 2)
    sheet.freeze_panes = "A2"
