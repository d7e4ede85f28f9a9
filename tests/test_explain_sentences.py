"""Hand-made briefs of which the answer is plain by reading, and the words in which they are told."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from brief_samples import GOOD

from optimizer.brief.brief import Brief
from optimizer.explain import telling, words
from optimizer.explain.bench import Bench
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.limits import stories
from optimizer.explain.members import BY_BRIEF, BY_PARTS, Member
from optimizer.explain.next_best import Rival
from optimizer.explain.ways_out import ways_out
from optimizer.explain.why import why_none
from optimizer.job import Job
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import OwnPart
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.rules import COVERAGE

FORBIDDEN = re.compile(
    r"\b(constraint|solver|variable|boolean|infeasib\w*|feasib\w*|objective|optimi[sz]\w*|model|slack|bound\w*|"
    r"relax\w*|assumption|literal|clause|satisf\w*|unsat\w*|minimal|coefficient|dual|epsilon|heuristic)\b",
    re.IGNORECASE,
)  # fmt: skip

NIGHTLY = ("water_ml_night", "grey_ml_night", "millivisits_night")


def thing(key: str, usd: int, kg: int, cm2: int = 0) -> Option:
    """One option with a price, a mass, and room it takes on the roof."""
    return Option(key, ((key, 1),), usd * 100, kg * 1000, {"area_cm2": cm2, "one": 1})


def job_of(*groups: Group, **needs: int) -> Job:
    """A job around a problem made by hand: the brief lends its words, the problem its numbers."""
    brief = Brief.model_validate(tomllib.loads(GOOD))
    parts = [OwnPart(id=part, name=f"the {part}", price_usd=1, mass_kg=1) for g in groups for o in g.options
             for part, _ in o.parts]  # fmt: skip
    job = Job(brief, Catalog.of([], {"odd": parts}), ())
    room = {"budget_cents": 900_000, "payload_g": 500_000, "carried_g": 0, "food_g_night": 0, "roof_cm2": 10_000}
    problem = Problem(
        groups, (), (12,), (7,), (6,), {**room, **needs}, Goal("cheapest", "USD", 100), Goal("lightest", "kg", 1000),
        ("budget", "payload", "roof_area"),
    )  # fmt: skip
    job.__dict__["problem"] = problem
    return job


def told(job: Job) -> str:
    text, _ = why_none(Bench(job.problem), job)
    return text


def test_a_payload_short_by_12_kg_is_told_as_12_kg() -> None:
    """The only kit weighs 512 kg where 500 may be loaded: one line is in the way, and 12 kg is the way out."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 512),), True))
    text = told(job)
    assert "This one line of the brief cannot be kept by any kit:\n  a gross rating of 2800 kg" in text
    assert "1. 12 kg more payload: then a kit for $100, 512 kg of parts." in text
    assert text.count("\n  ") == 2


def test_a_roof_one_panel_too_small_is_told_as_that_panel() -> None:
    """Two panels of 0.6 m2 are needed on 1 m2 of roof: 0.2 m2 more is the way out."""
    panels = [Group(f"panel {n}", "solar_panel", (thing(f"panel-{n}", 100, 5, 6_000),), True) for n in (1, 2)]
    text = told(job_of(*panels))
    assert "a roof of 2500 mm by 1350 mm (vehicle.roof)" in text
    assert "1. 0.2 m² more roof: then a kit for $200, 10 kg of parts." in text


def test_two_limits_that_are_fine_alone_are_named_together() -> None:
    """A light bank is too dear and a cheap one too heavy: each limit alone can be kept, not both."""
    banks = (thing("cheap", 8_000, 540), thing("light", 9_600, 300))
    job = job_of(Group("bank", "battery", banks, True))
    bench = Bench(job.problem)
    conflict = find_conflict(bench)
    assert conflict is not None
    assert {member.name for member in conflict.members} == {"budget", "payload"}
    assert conflict.minimal
    text = told(job)
    assert "These 2 lines of the brief cannot all be kept; without any one of them the rest could:" in text
    assert "a budget of $9,000 (limits.budget)" in text
    assert "$600 more to spend: then a kit for $9,600, 300 kg" in text
    assert "40 kg more payload: then a kit for $8,000, 540 kg" in text


def test_what_the_person_would_keep_gives_last() -> None:
    """Of the same two ways out the one that spares what is to be kept comes first."""
    banks = (thing("cheap", 8_000, 540), thing("light", 9_600, 300))
    job = job_of(Group("bank", "battery", banks, True))
    bench = Bench(job.problem)
    conflict = find_conflict(bench)
    assert conflict is not None
    for kept, first in (("budget", "payload"), ("payload", "budget")):
        assert ways_out(bench, conflict, (kept,))[0].steps[0].member.name == first


def test_a_limit_says_what_the_next_step_buys_and_what_the_last_one_costs() -> None:
    """A kilogram too few for the cheap bank: 40 kg buys it; one gram less than today's and there is none."""
    banks = (thing("cheap", 8_000, 540), thing("light", 8_600, 300))
    job = job_of(Group("bank", "battery", banks, True))
    bench = Bench(job.problem)
    kit = bench.ask().kit
    assert kit is not None
    text = telling.tell_stories(job, stories(bench, kit, tight=True))
    assert "With 40 kg more payload: $600 cheaper, 240 kg heavier; out goes the light (light), in comes" in text
    assert "With $400.01 less to spend, today's kit must go: then there is no kit at all." in text
    assert "300 kg used of 500 kg, 200 kg left." in text


def test_rivals_are_told_by_what_differs() -> None:
    """Up to four kinds of parts that differ it is the same kit with others; beyond that it is another kit."""
    kinds = ("battery", "cold_box", "cooker", "heater", "inverter")
    pairs = [Group(kind, kind, (thing(f"{kind}-a", 100, 1), thing(f"{kind}-b", 101, 1)), True) for kind in kinds]
    job = job_of(*pairs)
    today = Kit({kind: f"{kind}-a" for kind in kinds}, 12, 7)
    few = Kit({**today.choices, "battery": "battery-b"}, 12, 7)
    many = Kit({kind: f"{kind}-b" for kind in kinds}, 12, 7)
    rivals = [Rival(few, True, ("battery",)), Rival(many, False, kinds)]
    assert telling.tell_rivals(job, today, rivals, "The next-best kits").splitlines() == [
        "The next-best kits, by what differs:",
        "  Same kit, other battery:",
        "    $1 dearer; out goes the battery-a (battery-a), in comes the battery-b (battery-b).",
        "  Other battery, cold box, cooker, heater and inverter:",
        "    $5 dearer (not proven within the time); out go the battery-a (battery-a), the cold_box-a (cold_box-a),"
        " the cooker-a (cooker-a), the heater-a (heater-a) and the inverter-a (inverter-a), in come the battery-b"
        " (battery-b), the cold_box-b (cold_box-b), the cooker-b (cooker-b), the heater-b (heater-b) and the"
        " inverter-b (inverter-b).",
    ]
    assert telling.tell_rivals(job, today, [], "The next-best kits") == "The next-best kits: there are no others."


def test_nothing_on_offer_is_told_as_that() -> None:
    """A need without any part: no give in the brief helps, and that is said."""
    text = told(job_of(Group("cold_box_1", "cold_box", (), True)))
    assert text == (
        "Nothing in the catalog will do for: cold box 1. No give in the brief helps; add parts to the catalog."
    )


@pytest.mark.parametrize("name", [*BY_BRIEF, COVERAGE, *BY_PARTS, "bay_space"])
def test_every_limit_has_its_words(name: str) -> None:
    """Each limit is named, its line told with its key, and a give told both ways, without a stranger's word."""
    job = job_of()
    job.__dict__["problem"] = Problem(
        (), (), (12,), (7,), (6,),
        dict.fromkeys((*NIGHTLY, "payload_g", "side_g", "alternator_ma"), 9000),
        Goal("cheapest", "USD", 100), Goal("lightest", "kg", 1000), (),
    )  # fmt: skip
    brief = job.brief.model_copy(update={"trip": job.brief.trip.model_copy(update={"coverage": 95.0})})
    object.__setattr__(job, "brief", brief)
    member = Member(name, name != "bay_space")
    sentences = [words.name_of(member), words.line_of(job, member), words.give_of(job, member, 1000)]
    sentences += [words.give_of(job, member, -1000)] if member.numbers else []
    assert len(set(sentences)) == len(sentences)
    assert not any(FORBIDDEN.search(sentence) for sentence in sentences)
    assert "(" in sentences[1] or name in ("overall_height",)


def test_no_sentence_has_a_word_of_the_machinery() -> None:
    """Every text in the rooms of words is free of what only those who made the tool know."""
    folder = Path(telling.__file__).parent
    for name in ("telling.py", "words.py", "questions.py"):
        source = re.sub(r'"""(?:.|\n)*?"""', "", (folder / name).read_text(encoding="utf-8"))
        for text in re.findall(r'"((?:[^"\\]|\\.)*)"', source):
            assert not FORBIDDEN.search(re.sub(r"\{[^}]*\}", "", text)), (name, text)


def test_data_says_what_the_sentences_say() -> None:
    """The JSON of a conflict has the same members and gives, in documented units."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 512),), True))
    _, found = why_none(Bench(job.problem), job)
    found = json.loads(json.dumps(found))
    assert [line["name"] for line in found["conflict"]] == ["payload"]
    assert found["minimal"] is True
    assert found["ways_out"][0]["steps"] == [{"name": "payload", "give": 12.0, "unit": "kg"}]
