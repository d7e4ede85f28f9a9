"""The book in a real browser: silent, self-contained, nowhere too wide, open to a screen reader, whole in print.

Needs Chromium, Node, and once: ``npm ci`` in tests/browser. Skipped, with the reason, where they are missing.
"""

from __future__ import annotations

import json
import random
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_cases import html_of, saved_kit
from wiring_cases import drawn_kit

from optimizer.book.compare import compared
from optimizer.book.facts import Facts, gather
from optimizer.book.render import page

pytest.importorskip("schemdraw")
HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome")
BROWSER = next((found for name in NAMES if (found := shutil.which(name))), "")
NODE = shutil.which("node") or ""
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not BROWSER, reason="no Chromium is installed"),
    pytest.mark.skipif(not NODE, reason="no Node is installed"),
    pytest.mark.skipif(not (HERE / "node_modules" / "axe-core").is_dir(), reason="run 'npm ci' in tests/browser first"),
]


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[dict[str, Any], Path]]:
    """What the browser reports of a book, one with long names in US units, and a comparison."""
    facts = gather(saved_kit(tmp_path_factory.mktemp("book")))
    other = Facts(facts.job, drawn_kit(facts.job.problem, random.Random(4)), facts.data, facts.file)
    long = "W" * 70
    uses = tuple(use.model_copy(update={"name": f"{long}{n}"}) for n, use in enumerate(facts.job.brief.uses))
    brief = facts.job.brief.model_copy(update={"name": long, "uses": uses, "units": "us"})
    job = type(facts.job)(brief, facts.job.catalog, facts.job.years, facts.job.file, facts.job.base)
    wide = Facts(job, facts.kit, facts.data, facts.file)
    found = {}
    for name, html in (("book", html_of(facts)), ("wide", html_of(wide)), ("compare", page(*compared(facts, other)))):
        folder = tmp_path_factory.mktemp(name)
        path = folder / "page.html"
        path.write_text(html, encoding="utf-8")
        command = [NODE, str(HERE / "check.mjs"), BROWSER, str(path), str(folder)]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
        assert run.returncode == 0, run.stderr
        found[name] = (json.loads(run.stdout), folder)
    return found


PAGES = ("book", "wide", "compare")


@pytest.mark.parametrize("name", PAGES)
def test_silent_and_alone(seen: dict[str, tuple[dict[str, Any], Path]], name: str) -> None:
    """Nothing on the console, and nothing asked of anybody."""
    report, _ = seen[name]
    assert report["console"] == []
    assert report["requests"] == []


@pytest.mark.parametrize("name", PAGES)
def test_nowhere_too_wide(seen: dict[str, tuple[dict[str, Any], Path]], name: str) -> None:
    """At the width of a phone, a tablet and a desk nothing sticks out of the page."""
    report, _ = seen[name]
    assert report["overflow"] == {w: {"beyond": 0, "out": []} for w in ("phone", "tablet", "desktop")}


@pytest.mark.parametrize("name", PAGES)
def test_open_to_a_screen_reader(seen: dict[str, tuple[dict[str, Any], Path]], name: str) -> None:
    """The automated check finds nothing serious at any width."""
    report, _ = seen[name]
    assert report["serious"] == {"phone": [], "tablet": [], "desktop": []}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_whole_in_print(seen: dict[str, tuple[dict[str, Any], Path]], paper: str) -> None:
    """No printed page is blank, and every chapter and row that is on the page is in print too."""
    if not shutil.which("pdftotext"):
        pytest.skip("no pdftotext is installed")
    _, folder = seen["book"]
    run = subprocess.run(["pdftotext", "-layout", str(folder / f"{paper}.pdf"), "-"], capture_output=True, check=True)
    pages = run.stdout.decode("utf-8").split("\f")[:-1]
    assert len(pages) > 10
    assert all(len(text.strip()) > 40 for text in pages)
    words = " ".join(" ".join(pages).split())
    for title in ("The job and the answer", "Electrics: diagram, circuits", "Buy list", "Versions and hashes"):
        assert title in words
    assert "fuse box to water pump" in words
