"""What the tests of the book share: a kit for a short season, saved, and a page taken apart."""

from __future__ import annotations

import hashlib
import html
import json
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

from wiring_cases import EXAMPLES

from optimizer.book.book import chapters, cover
from optimizer.book.facts import Facts, gather
from optimizer.book.render import page
from optimizer.brief.brief import Brief
from optimizer.job import Job, choose_kit, open_job
from optimizer.problem.records import Kit

HIGH_PLAINS = next(path for path in EXAMPLES if path.stem == "high_plains_spring")
GOLDEN = Path(__file__).parent / "golden"
VOID = {"meta", "col", "br", "link", "img", "input", "hr"}


def short_brief(folder: Path, changes: Mapping[str, str] | None = None) -> Path:
    """The example with a season of a week, and lines of it changed."""
    text = HIGH_PLAINS.read_text(encoding="utf-8").replace('season_to = "10-31"', 'season_to = "04-07"')
    for old, new in (changes or {}).items():
        assert old in text, old
        text = text.replace(old, new)
    path = folder / "short.toml"
    path.write_text(text, encoding="utf-8")
    return path


def chosen_kit(job: Job) -> Kit:
    """The best kit of a job by rules and places alone, found in seconds: trips are told, not asked for."""
    settled = choose_kit(replace(job, brief=_without_trips(job)))
    assert settled.kit is not None
    return settled.kit


def _without_trips(job: Job) -> Brief:
    trip = job.brief.trip.model_copy(update={"coverage": None, "daily_balance": True})
    return job.brief.model_copy(update={"trip": trip})


def save_kit(job: Job, kit: Kit, path: Path) -> Path:
    """A kit's file as choose would write it."""
    data = {
        "choices": dict(kit.choices), "voltage": kit.voltage, "nights": kit.nights, "status": "unproven",
        "brief": job.brief.name, "brief_file": str(Path(job.file).resolve()), "catalog_hash": job.catalog.hash,
        "brief_hash": hashlib.sha256(Path(job.file).read_bytes()).hexdigest()[:16],
    }  # fmt: skip
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def golden_kit(name: str, path: Path) -> Path:
    """An example's kept answer, saved as choose would."""
    kept = json.loads((GOLDEN / f"{name}.json").read_text(encoding="utf-8"))
    job = open_job(next(example for example in EXAMPLES if example.stem == name))
    save_kit(job, Kit(kept["choices"], kept["voltage"], kept["nights"]), path)
    data = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**data, **{key: kept[key] for key in ("status", "value", "bound")}}), encoding="utf-8")
    return path


def golden_facts(name: str) -> Facts:
    """What the book of an example's kept answer is made of."""
    with tempfile.TemporaryDirectory() as folder:
        return gather(golden_kit(name, Path(folder) / "kit.json"))


def saved_kit(folder: Path, changes: Mapping[str, str] | None = None) -> Path:
    """The short brief's kit, saved."""
    job = open_job(short_brief(folder, changes))
    return save_kit(job, chosen_kit(job), folder / "kit.json")


def html_of(facts: Facts, clock: str = "") -> str:
    """The page of a kit."""
    return page(cover(facts), chapters(facts, clock))


@dataclass
class Page:
    """A page taken apart."""

    numbers: dict[str, float] = field(default_factory=dict)
    """By key."""
    tags: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    """Whatever a browser might fetch or follow."""
    limits: dict[str, list[float]] = field(default_factory=dict)
    """Used, allowed and room by the limit's name."""
    headings: list[int] = field(default_factory=list)
    text: str = ""
    open_at_end: list[str] = field(default_factory=list)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.page = Page()
        self._limit = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        page = self.page
        page.tags.append(tag)
        if tag not in VOID:
            page.open_at_end.append(tag)
        if "id" in found:
            page.ids.append(found["id"])
        page.links += [found[name] for name in ("href", "src", "xlink:href", "action", "data") if name in found]
        if tag == "tr":
            self._limit = found.get("data-limit", "")
        if tag == "data":
            if "data-key" in found:
                page.numbers[found["data-key"]] = float(found["value"])
            if self._limit:
                page.limits.setdefault(self._limit, []).append(float(found["value"]))
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            page.headings.append(int(tag[1]))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.page.open_at_end.pop() == tag, f"</{tag}> closes something else"

    def handle_data(self, data: str) -> None:
        self.page.text += data


def taken_apart(html: str) -> Page:
    """The page's numbers, tags, ids, links and text; AssertionError where tags are not nested."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    assert not reader.page.open_at_end
    return reader.page


@cache
def _facts(folder: str) -> Facts:
    return gather(saved_kit(Path(folder)))


def facts_in(folder: Path) -> Facts:
    """The facts of a saved kit of the short brief, gathered once a folder."""
    return _facts(str(folder))


Cell = str | float


def tables_in(text: str) -> dict[str, list[list[Cell]]]:
    """Every table of a page by its caption: rows of what a reader sees, numbers as the page carries them."""
    found: dict[str, list[list[Cell]]] = {}
    for table in re.findall(r"<table.*?</table>", text, re.DOTALL):
        caption = _words(re.search(r"<caption.*?</caption>", table, re.DOTALL)[0])  # type: ignore[index]
        rows = re.findall(r"<tr.*?</tr>", table, re.DOTALL)
        cells = [re.findall(r"<t[hd][ >].*?</t[hd]>", row, re.DOTALL) for row in rows]
        found[caption] = [[_cell(cell) for cell in row] for row in cells]
    return found


def _cell(text: str) -> Cell:
    number = re.search(r'<data value="([^"]+)"', text)
    return float(number[1]) if number else _words(text)


def _words(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", "", text)).strip()
