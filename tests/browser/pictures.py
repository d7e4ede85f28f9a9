"""The pictures of the book that README shows, made anew: ``python tests/browser/pictures.py``.

Needs the extra 'pdf' and pdftoppm (Poppler). The kit is the golden answer of the largest example.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_cases import golden_kit, html_of
from documents import ROOT, TOUR

from optimizer.book.facts import gather
from optimizer.book.printing import pdf

PICTURES = ROOT / "examples" / "pictures"
SHOWN = ("The job and the answer", "By month", "Roof and bay plans", "Electrics: diagram", "Buy list", "Order of work")
DOTS = 62
COLOURS = 128
"""Of the picture: with half of them the charts' yellow and orange go brown."""


def pages() -> tuple[bytes, dict[str, int]]:
    """The book as PDF, and on which of its pages each of ``SHOWN`` begins."""
    with tempfile.TemporaryDirectory() as folder:
        printed = pdf(html_of(gather(golden_kit(TOUR, Path(folder) / "kit.json"))), "A4")
    text = subprocess.run(["pdftotext", "-layout", "-", "-"], input=printed, capture_output=True, check=True).stdout
    sheets = text.decode("utf-8").split("\f")
    found = {}
    for words in SHOWN:
        places = [number for number, sheet in enumerate(sheets, 1) if words in sheet]
        found[words] = places[0] if words == SHOWN[0] else next(place for place in places if place > 1)
    return printed, found


def contact_sheet(printed: bytes, numbers: list[int], path: Path) -> None:
    """So many pages side by side, three in a row, as one PNG."""
    from PIL import Image

    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["pdftoppm", "-r", str(DOTS), "-png", "-", f"{folder}/p"], input=printed, check=True)
        files = sorted(Path(folder).glob("p-*.png"))
        some = [Image.open(files[number - 1]).convert("RGB") for number in numbers]
    width, height, edge = *some[0].size, 10
    rows = -(-len(some) // 3)
    sheet = Image.new("RGB", (3 * (width + edge) + edge, rows * (height + edge) + edge), "#8A929B")
    for place, one in enumerate(some):
        sheet.paste(one, (edge + place % 3 * (width + edge), edge + place // 3 * (height + edge)))
    sheet.quantize(COLOURS).save(path, optimize=True)


if __name__ == "__main__":
    PICTURES.mkdir(exist_ok=True)
    document, places = pages()
    contact_sheet(document, list(places.values()), PICTURES / "book.png")
