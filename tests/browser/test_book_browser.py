"""The book in a real browser: silent, self-contained, nowhere too wide, open to a screen reader, whole in print.

Needs Chromium, Node, and once ``npm ci`` in tests/browser; the printed pages are read with Poppler's pdftotext.
Skipped, with the reason, where one is missing. The largest example is looked at by default, the rest when asked.
"""

from __future__ import annotations

import html
import json
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_cases import golden_facts, html_of
from wiring_cases import drawn_kit

from optimizer.book.compare import compared
from optimizer.book.facts import Facts
from optimizer.book.printing import pdf
from optimizer.book.render import page

pytest.importorskip("schemdraw")
HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome")
BROWSER = next((found for name in NAMES if (found := shutil.which(name))), "")
NODE = shutil.which("node") or ""
NO_PDFTOTEXT = pytest.mark.skipif(not shutil.which("pdftotext"), reason="no pdftotext (Poppler) is installed")
pytestmark = [
    pytest.mark.skipif(not BROWSER, reason="no Chromium is installed"),
    pytest.mark.skipif(not NODE, reason="no Node is installed"),
    pytest.mark.skipif(not (HERE / "node_modules" / "axe-core").is_dir(), reason="run 'npm ci' in tests/browser first"),
]
LARGEST = "high_plains_spring"
EXAMPLES = ("fjord_winter", "gulf_autumn", LARGEST)
EVERY = [LARGEST, *(pytest.param(name, marks=pytest.mark.long) for name in (*EXAMPLES[:2], "wide", "compare"))]
BOOKS = [LARGEST, *(pytest.param(name, marks=pytest.mark.long) for name in (*EXAMPLES[:2], "wide"))]
LEAST_MARGIN_PT = 20
"""Nothing is printed nearer than this to the paper's edge."""


@cache
def text_of(name: str) -> str:
    """The page: an example's book, one with long and hostile names in US units, or two kits side by side."""
    if name in EXAMPLES:
        return html_of(golden_facts(name))
    facts = golden_facts(LARGEST)
    if name == "compare":
        other = drawn_kit(facts.job.problem, random.Random(4))
        return page(*compared(facts, Facts(facts.job, other, facts.data, facts.file)))
    long = "<script>alert(1)</script>]]></style>" + "W" * 40
    uses = tuple(use.model_copy(update={"name": f"{n}{long}"}) for n, use in enumerate(facts.job.brief.uses))
    brief = facts.job.brief.model_copy(update={"name": long, "uses": uses, "units": "us"})
    job = type(facts.job)(brief, facts.job.catalog, facts.job.years, facts.job.file, facts.job.base)
    return html_of(Facts(job, facts.kit, facts.data, facts.file))


Look = Callable[[str], tuple[dict[str, Any], Path]]


@pytest.fixture(scope="module")
def look(tmp_path_factory: pytest.TempPathFactory) -> Look:
    """What the browser reports of a page, and the folder of what it printed; each page is opened once."""

    @cache
    def seen(name: str) -> tuple[dict[str, Any], Path]:
        folder = tmp_path_factory.mktemp(name)
        path = folder / "page.html"
        path.write_text(text_of(name), encoding="utf-8")
        command = [NODE, str(HERE / "check.mjs"), BROWSER, str(path), str(folder)]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        assert run.returncode == 0, run.stderr
        return json.loads(run.stdout), folder

    return seen


@pytest.mark.parametrize("name", EVERY)
def test_silent_and_alone(look: Look, name: str) -> None:
    """Nothing on the console, and nothing asked of anybody."""
    report, _ = look(name)
    assert report["console"] == []
    assert report["requests"] == []


@pytest.mark.parametrize("name", EVERY)
def test_nowhere_too_wide(look: Look, name: str) -> None:
    """At the width of a phone, a tablet and a desk nothing sticks out of the page."""
    assert look(name)[0]["overflow"] == {w: {"beyond": 0, "out": []} for w in ("phone", "tablet", "desktop")}


@pytest.mark.parametrize("name", EVERY)
def test_open_to_a_screen_reader(look: Look, name: str) -> None:
    """The automated check finds nothing serious at any width."""
    assert look(name)[0]["serious"] == {"phone": [], "tablet": [], "desktop": []}


@NO_PDFTOTEXT
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", BOOKS)
def test_whole_in_print(look: Look, name: str, paper: str) -> None:
    """From the browser: no page blank, no word off the paper, every chapter and the head of every row in print."""
    whole_in_print((look(name)[1] / f"{paper}.pdf").read_bytes(), text_of(name))


@NO_PDFTOTEXT
@pytest.mark.long
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_whole_as_pdf(name: str, paper: Any) -> None:
    """The book's own PDF: the same."""
    pytest.importorskip("weasyprint")
    whole_in_print(pdf(text_of(name), paper), text_of(name))


def whole_in_print(printed: bytes, text: str) -> None:
    """Holds a printed book against its page."""
    raw = _pdftotext(printed, "-raw")
    pages = raw.split("\f")[:-1]
    assert len(pages) > 10
    assert all(len(words.strip()) > 40 for words in pages)
    said = "".join(raw.split())
    for words in _titles_and_rows(text):
        assert "".join(words.split()) in said, words
    boxes = _pdftotext(printed, "-bbox")
    for sheet in re.findall(r"<page width=.*?</page>", boxes, flags=re.DOTALL):
        width, height = (float(side) for side in re.findall(r'<page width="([\d.]+)" height="([\d.]+)"', sheet)[0])
        for left, top, right, bottom in re.findall(r'xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)"', sheet):
            assert float(left) >= LEAST_MARGIN_PT <= width - float(right)
            assert float(top) >= LEAST_MARGIN_PT <= height - float(bottom)


def _pdftotext(printed: bytes, how: str) -> str:
    run = subprocess.run(["pdftotext", how, "-", "-"], input=printed, capture_output=True, check=True)
    return run.stdout.decode("utf-8")


def _titles_and_rows(text: str) -> list[str]:
    """Every heading and the head of every row, as words."""
    found = re.findall(r"<h[23][^>]*>(.*?)</h[23]>", text)
    found += re.findall(r'<th scope="row"[^>]*>(.*?)</th>', text, re.DOTALL)
    return [html.unescape(re.sub(r"<[^>]+>", " ", one)).strip() for one in found]
