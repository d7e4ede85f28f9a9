"""Tables of rows into files, and pictures into files, each whole or not at all.

On the road: frontier and batch -> files. The same rows give the same bytes, the same picture too.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.errors import MissingExtra, UsageError
from optimizer.files import write_whole

if TYPE_CHECKING:
    import pandas as pd

TABLES = (".csv", ".xlsx", ".parquet", ".json")
PICTURES = (".svg", ".png")
_STYLE: Any = {
    "svg.hashsalt": "kitwright", "svg.fonttype": "path", "font.family": "DejaVu Sans", "font.size": 9.0,
    "axes.spines.top": False, "axes.spines.right": False, "axes.grid": True, "grid.color": "#DDDDDD",
    "text.parse_math": False,  # a brief's name may well have two dollar signs in it
}
_NO_DATES: dict[str, dict[str, str | None]] = {
    ".svg": {"Date": None, "Creator": "kitwright"}, ".png": {"Software": "kitwright"},
}
_WORKBOOK_TIME = (1980, 1, 1, 0, 0, 0)


def known_table(path: Path, endings: Sequence[str] = TABLES) -> None:
    """Raises UsageError when the name has none of these endings."""
    if path.suffix.lower() not in endings:
        raise UsageError(f"{path}: a table ends in {', '.join(endings[:-1])} or {endings[-1]}.")


def named_for(path: Path | None, ending: str) -> None:
    """Raises UsageError when a file is asked for whose name does not end so: no program would open it by that name."""
    if path is not None and path.suffix.lower() != ending:
        raise UsageError(f"{path}: this file is written as {ending}; give it a name that ends in {ending}.")


def known_picture(path: Path) -> None:
    """Raises UsageError when the name has no ending of a picture."""
    if path.suffix.lower() not in PICTURES:
        raise UsageError(f"{path}: a picture ends in .svg or .png.")


def write_rows(rows: Sequence[Mapping[str, Any]], columns: Sequence[str], path: Path) -> None:
    """Write a table by the ending of its name. Raises UsageError, MissingExtra, FaultsFound."""
    known_table(path)
    write_whole(path, table_bytes(rows, columns, path.suffix.lower()))


def table_bytes(rows: Sequence[Mapping[str, Any]], columns: Sequence[str], ending: str) -> bytes:
    """A table in the format of an ending."""
    import json

    if ending == ".json":
        plain = [{column: row.get(column) for column in columns} for row in rows]
        return (json.dumps(plain, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    frame = frame_of(rows, columns)
    drawn = io.BytesIO()
    if ending == ".csv":
        return frame.to_csv(index=False, lineterminator="\n").encode()
    try:
        if ending == ".parquet":
            _of_one_sort(frame).to_parquet(drawn, index=False)
            return drawn.getvalue()
        frame.to_excel(drawn, index=False)
    except ImportError as error:
        library = "pyarrow" if ending == ".parquet" else "openpyxl"
        raise MissingExtra(library, "tables", f"Writing a {ending} table") from error
    return undated(drawn.getvalue())


def frame_of(rows: Sequence[Mapping[str, Any]], columns: Sequence[str]) -> pd.DataFrame:
    """Rows as a data frame; whole numbers stay whole beside empty cells."""
    import pandas as pd

    frame = pd.DataFrame([[row.get(column) for column in columns] for row in rows], columns=list(columns))
    for column in columns:
        known = [row[column] for row in rows if row.get(column) is not None]
        if known and len(known) < len(rows) and all(type(value) is int for value in known):
            frame[column] = frame[column].astype("Int64")
    return frame


def _of_one_sort(frame: Any) -> Any:
    """Columns that mix words and numbers as words: a column of such a file has one sort."""
    for column in frame.columns:
        empty = frame[column].isna()
        sorts = {type(value) for value in frame[column][~empty]}
        if len(sorts) > 1 and not sorts <= {int, float}:
            cells = zip(frame[column], empty, strict=True)
            frame[column] = [None if missing else str(value) for value, missing in cells]
    return frame


def undated(workbook: bytes) -> bytes:
    """A workbook without the times of writing, so that the same rows give the same bytes."""
    import re
    import zipfile

    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = re.sub(rb"(<dcterms:\w+[^>]*>)[^<]*(</dcterms)", rb"\g<1>1980-01-01T00:00:00Z\g<2>", content)
            new.writestr(zipfile.ZipInfo(entry.filename, _WORKBOOK_TIME), content, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def write_picture(path: Path, draw: Callable[[Any], None], size: tuple[float, float] = (8.0, 5.5)) -> None:
    """Hand a figure to ``draw`` and write it by the ending of the name.

    Raises UsageError for another ending, MissingExtra without the library, FaultsFound when not writable.
    """
    known_picture(path)
    ending = path.suffix.lower()
    try:
        import matplotlib
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure
    except ImportError as error:
        raise MissingExtra("matplotlib", "pictures", "Drawing a picture") from error
    drawn = io.BytesIO()
    with matplotlib.rc_context():
        matplotlib.rcdefaults()  # whatever style the person has set elsewhere
        matplotlib.rcParams.update(_STYLE)
        figure = Figure(figsize=size, layout="constrained")
        (FigureCanvasSVG if ending == ".svg" else FigureCanvasAgg)(figure)
        draw(figure)
        figure.savefig(drawn, format=ending[1:], dpi=120, metadata=_NO_DATES[ending])
    write_whole(path, drawn.getvalue())
