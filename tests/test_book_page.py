"""The page of a build book: its numbers are the kit's, names do nothing, the same kit gives the same bytes."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from book_cases import facts_in, html_of, saved_kit, taken_apart
from wiring_cases import drawn_kit

from optimizer.book.book import chapters
from optimizer.book.energy import monthly
from optimizer.book.facts import Facts, gather
from optimizer.check import check
from optimizer.job import replay_kit
from optimizer.places.weighing import weights
from optimizer.problem.space import STATES
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.telling import broken_rules

pytest.importorskip("schemdraw")
pytestmark = pytest.mark.long
HOSTILE = (
    "]]></style></title><script>alert(1)</script>\"'&amp;<img src=x onerror=alert(2)> $x^2$ {{ 7*7 }}"
    " \u202eright to left\u202c שלום"
)


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory) -> Facts:
    """A placed kit with a week of departures."""
    return facts_in(tmp_path_factory.mktemp("book"))


@pytest.fixture(scope="module")
def html(facts: Facts) -> str:
    """Its page."""
    return html_of(facts)


def test_numbers_are_the_kits(facts: Facts, html: str) -> None:
    """Price, mass, nights, voltage, coverage, axle loads and limits read back from the page are the kit's own."""
    problem, kit = facts.job.problem, facts.kit
    read = taken_apart(html)
    assert read.numbers["price"] == price_cents(problem, kit) / 100
    assert read.numbers["mass"] == kit_mass_g(problem, kit) / 1000
    assert (read.numbers["nights"], read.numbers["voltage"]) == (kit.nights, kit.voltage)
    assert read.numbers["coverage"] == pytest.approx(replay_kit(facts.job, kit).coverage_pct)
    assert len(STATES) == 3
    for one in weights(problem, kit):
        assert read.numbers[f"front axle {one.state}"] == one.front / 1000
        assert read.numbers[f"rear axle {one.state}"] == one.rear / 1000
    for limit in check(problem, kit).limits:
        if limit.slug not in ("fuel", "coverage") and limit.allowed > 0:
            expected = [limit.used / limit.scale, limit.allowed / limit.scale, limit.room / limit.scale]
            assert read.limits[limit.name][:3] == pytest.approx(expected, rel=1e-9)


def test_buy_list_adds_up_on_the_page(facts: Facts) -> None:
    """The sums below the stages come to the price on the first page."""
    (buy,) = (chapter for chapter in chapters(facts) if chapter.slug == "buy")
    sums = [table.sums[0][3].value for table in buy.blocks if table.kind == "table"]  # type: ignore[union-attr]
    assert round(sum(sums), 2) == facts.cents / 100


def test_months_hold_what_trips_give_and_take(facts: Facts) -> None:
    """Weighted by its hours, the mean day of the months is the mean day of the trips; April alone is that itself."""
    replay = facts.replay
    assert replay is not None
    found = monthly(replay)
    assert set(found["sun"]) == {4}
    for row in replay.energy:
        name = f"turned away: {row.name}" if row.side == "turned away" else row.name
        assert found[name][4] == pytest.approx(row.wh / replay.nights, abs=1e-6)


def test_months_of_hours_follow_the_calendar(facts: Facts) -> None:
    """A row runs from noon to noon: the evening of 30 April is April's and the morning after is May's."""
    from optimizer.book.energy import _months_of_hours
    from optimizer.trips.scene import day_of_year

    row = _months_of_hours()[day_of_year("04-30")]
    assert list(row) == [4] * 12 + [5] * 12
    assert list(_months_of_hours()[364]) == [12] * 12 + [1] * 12
    assert np.unique(_months_of_hours()).tolist() == list(range(1, 13))


def test_same_kit_same_bytes(tmp_path: Path, html: str, facts: Facts) -> None:
    """Gathered again, the page is the same to the byte; a date stands in it only when asked for."""
    again = html_of(gather(facts.file))
    assert again == html
    assert "Made on" not in html
    assert "Made on 2031-01-02." in html_of(facts, "2031-01-02")


def test_nothing_is_fetched_or_run(html: str) -> None:
    """No script, no address of anybody's, no handler: every link stays inside the page."""
    read = taken_apart(html)
    assert not {"script", "iframe", "object", "link", "embed", "img"} & set(read.tags)
    assert all(link.startswith("#") for link in read.links)
    assert {link[1:] for link in read.links} <= set(read.ids)
    assert not re.search(r"@import|url\((?!#)", html)
    assert set(re.findall(r'https?://[^\s"<]+', html)) <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}


def test_a_screen_reader_finds_its_way(html: str) -> None:
    """One first heading, no level skipped, every id once, every picture and table named."""
    read = taken_apart(html)
    assert read.headings.count(1) == 1
    assert all(below <= above + 1 for above, below in zip(read.headings, read.headings[1:], strict=False))
    assert len(read.ids) == len(set(read.ids))
    pictures = re.findall(r"<svg\b[^>]*>\s*<title", html)
    assert len(pictures) == read.tags.count("svg") >= 8
    assert all('role="img"' in head and "aria-labelledby=" in head for head in pictures)
    assert read.tags.count("caption") == read.tags.count("table")


def test_a_kit_that_breaks_rules_says_so(facts: Facts, html: str) -> None:
    """What the plain check finds wrong stands on the first page, and nothing there calls the kit good."""
    assert facts.verdict.ok
    assert facts.replay is not None
    short = facts.replay.departures - facts.replay.covered > facts.job.allowed_short
    assert ("Do not build this kit" in html) == short  # chosen by rules alone, it need not come through its trips
    bare = drawn_kit(facts.job.problem, random.Random(5), fill=0.3)
    broken = Facts(facts.job, bare, facts.data, facts.file)
    assert not broken.verdict.ok
    read = taken_apart(html_of(broken))
    assert "Do not build this kit" in read.text
    assert "Proven" not in read.text
    told = broken_rules(broken.verdict, "metric")
    assert len(told) == len(broken.verdict.faults) > 0
    for fault in told:
        assert fault in read.text


@pytest.mark.parametrize("name", [HOSTILE, "x" * 80, "=1+1"], ids=["markup", "long", "formula"])
def test_names_do_nothing(tmp_path: Path, facts: Facts, name: str) -> None:
    """Whatever the brief and the catalog call their things is shown as text, in tables and pictures alike."""
    brief = facts.job.brief
    uses = tuple(use.model_copy(update={"name": name[:80]}) for use in brief.uses)
    bays = tuple(
        bay.model_copy(update={"name": f"{number} {name}"[:80]}) for number, bay in enumerate(brief.vehicle.bays)
    )
    vehicle = brief.vehicle.model_copy(update={"name": name, "bays": bays})
    named = [part.model_copy(update={"name": name[:120]}) for some in facts.job.catalog.parts.values() for part in some]
    changed = brief.model_copy(update={"name": name, "uses": uses, "vehicle": vehicle})
    job = replace(facts.job, brief=changed, catalog=facts.job.catalog.with_parts(*named))
    html = html_of(Facts(job, replace(facts.kit, places=None), facts.data, facts.file, (name,)))
    read = taken_apart(html)
    assert not {"script", "img"} & set(read.tags)
    assert name in read.text
    for svg in re.findall(r"<svg\b.*?</svg>", html, flags=re.DOTALL):
        ElementTree.fromstring(svg)


def test_us_units(tmp_path: Path) -> None:
    """A brief in US units gets pounds, feet and gallons, and no kilogram on the page."""
    facts = gather(saved_kit(tmp_path, {'units = "metric"': 'units = "us"'}))
    read = taken_apart(html_of(facts))
    assert " lb" in read.text
    assert " ft" in read.text
    assert " US gal" in read.text
    told = read.text
    for part in facts.kit.counts(facts.job.problem):
        told = told.replace(facts.name_of(part), "")
    assert not re.search(r"\d kg\b", told)
    mass = facts.mass(facts.mass_g).text
    assert mass.endswith(" lb")
    assert mass in read.text
