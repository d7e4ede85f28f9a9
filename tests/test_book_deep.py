"""Break-evens and trade-offs in the book: told from what the other rooms found, number by number."""

from __future__ import annotations

import random
from itertools import pairwise
from pathlib import Path

import pytest
from book_cases import taken_apart
from wiring_cases import EXAMPLES, drawn_kit, example

from optimizer.book import deep
from optimizer.book.blocks import Chapter, Num, Table
from optimizer.book.book import chapters
from optimizer.book.deep import of_frontier, of_stories
from optimizer.book.facts import Facts
from optimizer.book.render import Cover, page
from optimizer.explain.limits import BreakEven, Stories, Story
from optimizer.explain.members import members_of
from optimizer.explain.telling import swap
from optimizer.explain.words import give_of
from optimizer.frontier.goals import axes_of
from optimizer.frontier.records import Frontier, Point
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

pytest.importorskip("matplotlib")


@pytest.fixture
def facts() -> Facts:
    """A kit drawn by chance."""
    job = example(EXAMPLES[0])
    return Facts(job, drawn_kit(job.problem, random.Random(3)), {"status": "proven"}, Path("kit.json"))


def test_break_evens_are_told_as_found(facts: Facts) -> None:
    """Each limit that costs something has its give and what the other kit saves; the others are named as free."""
    problem = facts.job.problem
    other = drawn_kit(problem, random.Random(4))
    budget, payload = (
        next(m for m in members_of(problem, True) if m.name == name) for name in ("budget", "payload")
    )  # fmt: skip
    told = Stories(
        facts.kit,
        (
            Story(budget, (), True, BreakEven(12_300, other, True), BreakEven(-100, None, True)),
            Story(payload, (), True),
        ),
    )
    blocks = of_stories(facts, told)
    dear, tight = (block for block in blocks if isinstance(block, Table))
    (row,) = dear.rows
    assert row[1] == f"With {give_of(facts.job, budget, 12_300)}"
    assert "123" in str(row[1])
    assert ("cheaper" in str(row[2])) == (price_cents(problem, other) < price_cents(problem, facts.kit))
    assert tight.rows[0][3] == "no kit at all"
    text = taken_apart(page(Cover("t", "s"), (Chapter("limits", "Limits", blocks),))).text
    assert "These cost nothing, however far they give: Payload" in text


def test_trade_offs_are_told_as_found(facts: Facts) -> None:
    """Every point of the frontier is a row with its price and mass, in its order."""
    job = facts.job
    drawn = [drawn_kit(job.problem, random.Random(n)) for n in range(4)]
    kits = sorted(drawn, key=lambda kit: price_cents(job.problem, kit))
    points = tuple(
        Point((price_cents(job.problem, k), kit_mass_g(job.problem, k)), k, n == 1, n - 1 if n else None, ("battery",))
        for n, k in enumerate(kits)
    )
    axes = axes_of(["price", "mass"])
    chapter = of_frontier(facts, Frontier(job, job.problem, axes, points, True, None, axes[0]))
    assert chapter is not None
    (table,) = (block for block in chapter.blocks if isinstance(block, Table))
    for row, kit in zip(table.rows, kits, strict=True):
        price, mass = row[:2]
        assert isinstance(price, Num)
        assert isinstance(mass, Num)
        assert price.value == price_cents(job.problem, kit) / 100
        assert mass.value == kit_mass_g(job.problem, kit) / 1000
    told = [swap(job, one, other) for one, other in pairwise(kits)]
    assert [str(row[2]).lower() for row in table.rows] == ["-", *(words.lower() for words in told)]
    assert [row[3] for row in table.rows] == ["", "yes", "", ""]
    assert of_frontier(facts, Frontier(job, job.problem, axes, (), True, None, axes[0])) is None


def test_the_seconds_asked_for_reach_both_chapters(facts: Facts, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who allows a question so long gets no book that asks for longer; without --deep nothing is asked."""
    asked: list[tuple[str, float | None]] = []
    monkeypatch.setattr(deep, "break_evens", lambda _, seconds: asked.append(("limits", seconds)) or ())
    monkeypatch.setattr(deep, "tradeoffs", lambda _, seconds: asked.append(("trade-offs", seconds)))
    chapters(facts, deep=True, seconds=7.0)
    assert asked == [("limits", 7.0), ("trade-offs", 7.0)]
    chapters(facts)
    assert len(asked) == 2
