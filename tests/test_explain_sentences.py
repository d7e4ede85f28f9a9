"""Hand-made briefs of which the answer is plain by reading, and the words in which they are told."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from brief_samples import GOOD
from pydantic import ValidationError

from optimizer.brief.brief import Brief
from optimizer.brief.limits import OwnLimit
from optimizer.brief.trip import LEAST_COVERAGE, Trip
from optimizer.choosing.solve import Deadline
from optimizer.explain import limits, questions, shares, telling, why, words
from optimizer.explain import ways_out as ways
from optimizer.explain.bench import Bench, Trips
from optimizer.explain.break_evens import BreakEven
from optimizer.explain.conflicts import Conflict, find_conflict
from optimizer.explain.knowledge import Found
from optimizer.explain.limits import Stories, Story, stories
from optimizer.explain.members import BY_BRIEF, BY_PARTS, Member, members_of
from optimizer.explain.next_best import Rival, Rivals
from optimizer.explain.parts import WhyPart, why_part
from optimizer.explain.ways_out import Step, WayOut, ways_out
from optimizer.explain.why import Wanted, why_none
from optimizer.job import Job
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import OwnPart, RoofFan
from optimizer.problem.records import Goal, Group, Kit, Option, OwnLimitNeed, Problem
from optimizer.problem.space import Space
from optimizer.rules import COVERAGE, Limit
from optimizer.trips.scene import Scene
from optimizer.weather.year import WeatherYear

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
    assert (
        "This one line of the brief cannot be kept, whatever other limit, part or skill in it is given up:\n"
        "  a gross rating of 2800 kg"
    ) in text
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
    assert (
        "These 2 lines of the brief cannot both be kept, whatever other limit, part or skill in it is given up;"
        " either of them could be:"
    ) in text
    assert "a budget of $9,000 (limits.budget)" in text
    assert "$600 more to spend: then a kit for $9,600, 300 kg" in text
    assert "40 kg more payload: then a kit for $8,000, 540 kg" in text


def test_shares_compare_to_the_millionth(monkeypatch: pytest.MonkeyPatch) -> None:
    """24 of 84 litres is a larger share than 7 of 25, though a millionth of 84,000 is no whole number."""
    sizes = {"water": 84_000, "chilled": 25_000}
    monkeypatch.setattr(shares, "size", lambda _bench, _kit, member: sizes[member.name])
    bench, kit = Bench(job_of().problem), Kit({}, 12, 7)
    water, chilled = (WayOut((Step(Member(name, True), give),), kit, True)
                      for name, give in (("water", 24_000), ("chilled", 7_000)))  # fmt: skip
    assert ways.share(bench, water) == 285_714
    assert ways.share(bench, chilled) == 280_000


def test_a_way_out_by_money_is_told_though_the_least_was_not_found_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some kit over the budget is known: that is a way out, said not to be proven."""
    job = job_of(Group("bank", "battery", (thing("bank", 9_600, 300),), True))
    bench = Bench(job.problem)
    conflict = find_conflict(bench)
    assert conflict is not None
    monkeypatch.setattr(Bench, "lent", lambda _: Found(None, "unproven"))
    (way,) = ways_out(bench, conflict)
    assert (way.steps[0].give, way.proven) == (60_000, False)


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
    rivals = Rivals((Rival(few, True, ("battery",)), Rival(many, False, kinds)))
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
    for settled, none in ((True, "there are no others"), (False, "none was found within the time")):
        assert telling.tell_rivals(job, today, Rivals((), settled), "The next-best kits") == (
            f"The next-best kits: {none}."
        )
    cut = telling.tell_rivals(job, today, Rivals(rivals.kits[:1], settled=False), "The next-best kits")
    assert cut.endswith("\n  No more were found within the time.")


def test_a_part_is_told_with_what_stands_in_for_it() -> None:
    """The stand-in by its name, not by the key of its option; what forbids a part begins with the part."""
    two = Option("a 2p", (("a", 2),), 100, 1000)
    job = job_of(Group("bank", "battery", (two, thing("b", 100, 1)), True))
    kit = Kit({"bank": "a 2p"}, 12, 7)
    text = telling.tell_part(job, kit, WhyPart("b", False, kit, True, None, "a 2p"))
    assert "2 x the a (a) are no worse in anything that counts, and would be taken first." in text
    conflict = Conflict((Member("budget", True),), (kit,), True)
    text = telling.tell_part(job, kit, WhyPart("b", False, None, True, conflict))
    assert "There is no kit with it.\nWith it this one line of the brief cannot be kept, whatever other" in text


def test_a_part_that_the_brief_wants_is_told_as_wanted() -> None:
    """'The best kit without it: $5 cheaper' needs the reason why it is in, and the other way round."""
    job = job_of(Group("bank", "battery", (thing("a", 100, 1), thing("b", 95, 1)), True))
    kit, other = Kit({"bank": "a"}, 12, 7), Kit({"bank": "b"}, 12, 7)
    job.__dict__["problem"] = replace(job.problem, required=("a",), refused=("b",))
    text = telling.tell_part(job, kit, WhyPart("a", True, other, True, None))
    assert text.startswith("the a (a) is in the kit: the brief wants it (preferences.required).\n")
    text = telling.tell_part(job, kit, WhyPart("b", False, other, True, None))
    assert text.startswith("the b (b) is not in the kit: the brief does not want it (preferences.refused).\n")


def test_a_part_that_every_kit_has_is_told_as_that() -> None:
    """The part itself is in the way of doing without it: no word of rules in each other's way."""
    job = job_of(Group("bank", "battery", (Option("a", (("a", 1), ("fuse", 1)), 100, 1),), True))
    why_not = why_part(Bench(job.problem), Kit({"bank": "a"}, 12, 7), "fuse")
    assert telling.tell_part(job, Kit({"bank": "a"}, 12, 7), why_not) == (
        "the fuse (fuse) is in the kit.\nThere is no kit without it, whatever limit of the brief gives: every kit has"
        f" it. {telling.AS_ASKED}"
    )


def test_a_part_of_the_catalog_that_is_not_offered_is_not_told_as_misspelt() -> None:
    """'Did you mean' is for ids that are none; one that is right has no use in this brief."""
    job = replace(job_of(), catalog=cast(Catalog, SimpleNamespace(ids=("a", "b"))))
    assert "the part 'b' of the catalog: the brief has no use for it" in why._not_offered(job, "b", ["a"])
    assert "has a part 'c'." in why._not_offered(job, "c", ["a"])


def test_ways_out_that_nobody_had_the_time_for_are_said_to_be_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """A way that is missing for want of time is no way that is not there."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 512),), True))
    conflict = find_conflict(Bench(job.problem), known=True)
    monkeypatch.setattr("optimizer.explain.why.find_conflict", lambda *_, **__: conflict)  # the time ends just then
    for seconds, settled in ((None, True), (0.0, False)):
        text, found = why_none(Bench(job.problem, in_all=Deadline(seconds)), job, known=True)
        assert found["conflict"]
        assert found["ways_out_settled"] == settled
        assert text.endswith("Whether there are ways out was not settled within the time.") != settled
        assert "No way out by one or two" not in text


def test_what_was_not_found_in_time_is_told_as_that() -> None:
    """A conflict that was not found is no conflict between the parts; that no way out was found is said."""
    job = job_of()
    assert telling.tell_conflict(job, Conflict((), (), False), ()) == (
        "What is in the way was not found within the time."
    )
    assert telling.tell_conflict(job, Conflict((), (), True)).startswith("The parts on offer do not make a kit")
    found = Conflict((Member("budget", True),), (None,), True)
    text = telling.tell_conflict(job, found, ())
    assert text.endswith("\n\nNo way out by one or two of the brief's lines was found.")
    assert "way out" not in telling.tell_conflict(job, found)


def test_what_is_used_up_is_told_beside_what_costs_nothing() -> None:
    """Visits more or fewer change no part, but bags are used up by each."""
    bag = replace(thing("bag", 10, 1), amounts={"cents_night": 150, "visits": 100_000})
    job = job_of(Group("toilet", "toilet", (bag,), True), millivisits_night=8_000)
    limit = Limit("toilet", "toilet", "", "visits", 1000, 56_000, 100_000)
    story = Story(Member("toilet", True), (limit,), True)
    text = telling.tell_stories(job, Stories(Kit({"toilet": "bag"}, 12, 7), (story,)))
    assert "    $10.50 worth of it is used up on the trip; fewer visits use up less." in text


def test_nothing_on_offer_is_told_as_that() -> None:
    """A need without any part: no give in the brief helps, and that is said."""
    text = told(job_of(Group("cold_box_1", "cold_box", (), True)))
    assert text == (
        "Nothing in the catalog will do for: cold box 1. No give in the brief helps; add parts to the catalog."
    )


def test_rules_that_no_parts_keep_are_told_in_their_own_sentences() -> None:
    """Not by their short names; and what was not questioned is said."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    text = telling.tell_conflict(job, Conflict((), (), True, by_parts=("inverter_starting",)), None)
    assert text.splitlines() == [
        "The parts on offer do not make a kit, whatever limit of the brief gives; these cannot all be kept:",
        "  The inverter starts the hardest starter while everything else on AC runs.",
        telling.AS_ASKED,
    ]


def test_many_wishes_that_may_not_count_are_told_by_their_number() -> None:
    """Where it is not known which of them are in the way; where it is, each is named."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    members = (Member("budget", True), *(Member(f"refused part-{n}", False) for n in range(4)))
    open_ = telling.tell_conflict(job, Conflict(members, (None,) * 5, True), None)
    assert "  4 parts must stay out (preferences.refused)" in open_.splitlines()
    assert "part-0" not in open_
    few = telling.tell_conflict(job, Conflict(members[:4], (None,) * 4, True), None)
    assert few.count("must stay out (preferences.refused)") == 3
    known = telling.tell_conflict(job, Conflict(members, (Kit({}, 12, 7),) * 5, True), None)
    assert known.count("must stay out (preferences.refused)") == 4


def test_warmth_is_no_limit_where_nothing_is_heated() -> None:
    """A line of the brief that asks for nothing cannot be in the way."""
    problem = replace(job_of().problem, rules=("budget", "heat_output"))
    for heating, names in ((1, ["budget", "heat_output"]), (0, ["budget"])):
        told = members_of(replace(problem, needs={**problem.needs, "heating": heating}), trips=False)
        assert [member.name for member in told] == names


def test_gives_are_told_as_the_brief_says_them() -> None:
    """Litres a person a day to what is needed, the share of water that is waste, the share of the current to spare."""
    needs = {"water_ml_night": 10_000, "grey_ml_night": 6_000, "alternator_ma": 67_500, "chilled_ml": 34_069}
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True), **needs)
    assert words.give_of(job, Member("water", True), 567) == (
        "0.57 L less fresh water on the trip (0.05 L a person a day less, as much of it waste as today)"
    )
    assert words.give_of(job, Member("water", True), -567).endswith(
        "(0.05 L a person a day more, as much of it waste as today)"
    )
    assert words.give_of(job, Member("chilled", True), 34_069) == (
        "34.1 L less chilled food (none at all, though still with a box)"
    )
    assert words.give_of(job, Member("chilled", True), 34_061) == "34.1 L less chilled food"
    assert words.give_of(job, Member("grey_water", True), 7_000).endswith("(a share of 0.5)")
    assert words.give_of(job, Member("grey_water", True), -7).endswith("(a share of 0.601)")
    assert words.line_of(job, Member("alternator_spare", True)) == (
        "67.5 A to spare from the alternator, 45 % of its 150 A (vehicle.alternator_spare)"
    )
    assert words.give_of(job, Member("alternator_spare", True), -1_000) == (
        "1 A less from the alternator (44.3 % of its current)"
    )


def test_steps_in_which_a_limit_gives_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A roof is made longer by centimetres and an axle stronger by kilograms: told so, since less might do."""
    steps = {"roof_area": 10, "rear_axle": 1000, COVERAGE: 1}
    monkeypatch.setattr(words, "step_of", lambda _, name: steps.get(name, 0))
    job = job_of()
    job.__dict__["problem"] = replace(job.problem, space=cast(Space, SimpleNamespace()))
    for name, give, told_as in (
        ("roof_area", 30, "30 mm more roof length (looked for in steps of 10 mm)"),
        ("roof_area", -30, "30 mm less roof length (looked for in steps of 10 mm)"),
        ("rear_axle", 2000, "2 kg more on the rear axle (looked for in steps of 1 kg)"),
        ("rear_axle", -500, "0.5 kg less on the rear axle"), ("payload", 500, "0.5 kg more payload"),
        (COVERAGE, 2, "2 departures more that may run short"),
    ):  # fmt: skip
        assert words.give_of(job, Member(name, True), give) == told_as


def test_warmth_is_told_as_the_heaters_strength() -> None:
    """What costs nothing is the heater's strength: what warmth burns is another matter."""
    assert words.name_of(Member("heat_output", True)) == "heat on the coldest night"
    assert words.line_of(job_of(), Member("heat_output", True)).startswith("a heater strong enough for ")


def test_own_limits_that_count_things_give_by_whole_ones() -> None:
    """Nobody carries a hundredth of a board more; shade in square metres may give by any part of one."""
    for unit, bound, told_as in (("boards", 2, "higher by 1"), ("m2", 2, "higher by 0.01 m²"), ("t", 2.5, "by 0.01 t")):
        job = job_of()
        own = OwnLimit(name="boards", column="boards_each", at_least=bound, unit=unit)
        loose = job.brief.limits.model_copy(update={"own": [own]})
        object.__setattr__(job, "brief", job.brief.model_copy(update={"limits": loose}))
        problem = replace(job.problem, own_limits=(OwnLimitNeed("boards", "boards_each", unit, None, 2000),))
        job.__dict__["problem"] = problem
        assert words.give_of(job, Member("own:boards", True), -1).endswith(told_as)


def test_what_no_brief_may_ask_for_is_the_last_way_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """However small its share: below half of the departures a way out cannot be written down."""
    conflict = Conflict((Member("budget", True), Member(COVERAGE, True)), (None, None), True)
    trips = Trips(cast(Scene, SimpleNamespace(departures=np.zeros(100))), 5)
    bench, early = Bench(job_of().problem, trips), ways.Early()
    monkeypatch.setattr(ways, "share", lambda _, way: way.steps[0].give)
    for give, first in ((45, COVERAGE), (46, "budget")):
        steps = {Member("budget", True): 60_000, Member(COVERAGE, True): give}
        early.alone = {m: WayOut((Step(m, much),), Kit({}, 12, 7), True) for m, much in steps.items()}
        monkeypatch.setattr(ways, "_sharing", lambda *_: [])
        assert ways_out(bench, conflict, known=early)[0].steps[0].member.name == first
        assert ways_out(bench, conflict, (COVERAGE,), known=early)[0].steps[0].member.name == "budget"


def test_a_coverage_that_no_brief_may_ask_for_is_told_as_that() -> None:
    """Half of the departures is the least; what gives more than that cannot be written down."""
    with pytest.raises(ValidationError, match="greater than or equal to 50"):
        Trip.model_validate({**tomllib.loads(GOOD)["trip"], "coverage": LEAST_COVERAGE - 0.1})
    job = job_of()
    object.__setattr__(job, "years", (cast(WeatherYear, None),))
    trip = job.brief.trip.model_copy(update={"coverage": 95.0})
    object.__setattr__(job, "brief", job.brief.model_copy(update={"trip": trip}))
    job.__dict__["scene"] = SimpleNamespace(departures=np.zeros(100))
    assert words.give_of(job, Member(COVERAGE, True), 45).endswith("(a coverage of 50 %)")
    assert words.give_of(job, Member(COVERAGE, True), 46).endswith(
        "(a coverage of 49 %, less than the 50 % that a brief may ask for)"
    )


def test_what_is_counted_is_fewer_not_less() -> None:
    """Visits and departures are counted."""
    job = job_of()
    assert words.give_of(job, Member("toilet", True), 2_000) == "2 visits fewer on the trip"
    assert words.give_of(job, Member("toilet", True), -2_000) == "2 visits more on the trip"
    assert words.give_of(job, Member(COVERAGE, True), -2) == "2 departures fewer that may run short"


def test_a_wish_that_is_dropped_begins_its_own_sentence() -> None:
    """'With not wanting' is no English; someone for the work is still someone one does it with."""
    job = job_of()
    assert words.with_give(job, Member("required x", False), 0) == "Not wanting part 'x' any more"
    assert words.with_give(job, Member("refused x", False), 0) == "Allowing part 'x' after all"
    assert words.with_give(job, Member("skill gas_fitting", False), 0) == "With someone for gas fitting"


def test_a_kit_that_stays_is_told_as_that() -> None:
    """The same kit is not told as the same parts put together otherwise; things that must move are told as that."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    kit = Kit({"bank": "bank"}, 12, 7)
    assert telling.swap(job, kit, kit) == "the kit stays as it is"
    limit = Story(Member("budget", True), (), True, None, BreakEven(-100, kit, True))
    text = telling.tell_stories(job, Stories(kit, (limit,)))
    assert "With $1 less to spend, today's kit stays, but its things must stand in other places." in text
    assert "must go" not in text


def test_what_costs_nothing_is_told_by_the_room_that_is_left() -> None:
    """The tightest first by its share, whatever its unit; what asks for nothing is not told at all."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 450, 2_000),), True), frozen_ml=0)
    problem = replace(job.problem, rules=(*job.problem.rules, "frozen"))
    told = stories(Bench(problem), Kit({"bank": "bank"}, 12, 7), together=True)
    assert [story.member.name for story in told.limits] == ["payload", "roof_area", "budget"]
    assert telling.tell_stories(job, told).count("Even if all that costs nothing alone were given up together") == 1
    assert "given up together" not in telling.tell_stories(job, Stories(told.kit, told.limits))
    unsettled = telling.tell_stories(job, Stories(told.kit, told.limits, (), settled=False))
    assert "Whether any limits hold only together was not settled" in unsettled


def test_fuel_that_the_trips_count_is_told_with_the_coverage(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where trips run short of fuel its own rule costs nothing, and saying so would be untrue of fuel."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    trip = job.brief.trip.model_copy(update={"coverage": 95.0})
    object.__setattr__(job, "brief", job.brief.model_copy(update={"trip": trip}))
    diesel = Limit("fuel", "fuel diesel", "", "L", 1000, 0, 12_000)
    fuel = Story(Member("fuel", True), (diesel,), True)
    trips = Trips(cast(Scene, None), 3)
    assert limits._says_nothing(Bench(job.problem, trips), fuel)
    assert not limits._says_nothing(Bench(job.problem, trips), replace(fuel, proven=False))
    assert not limits._says_nothing(Bench(job.problem), fuel)
    short = Limit(COVERAGE, COVERAGE, "", "departures", 1, 2, 3)
    kit = Kit({"bank": "bank"}, 12, 7)
    told = Stories(kit, (Story(Member(COVERAGE, True), (short,), True),))
    burnt = replace(diesel, used=11_000)
    monkeypatch.setattr(why, "rows_of", lambda *_: (diesel,))
    monkeypatch.setattr(why, "replay_kit", lambda *_: None)
    monkeypatch.setattr(why, "as_burnt", lambda rows, _: tuple(burnt if row is diesel else row for row in rows))
    text = telling.tell_stories(job, why._as_burnt(Bench(job.problem, trips), job, told))
    assert "3 departures may run short; with this kit 2 do.\n    fuel diesel: 11 L used of 12 L, 1 L left." in text


def test_everyday_questions_are_asked_in_the_units_of_the_brief(monkeypatch: pytest.MonkeyPatch) -> None:
    """A degree is one of those of the brief's units, and so is a kilogram; a coverage is told from where to where."""
    monkeypatch.setattr(questions, "_hottest", lambda _: 30.0)
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    trip = job.brief.trip.model_copy(update={"coverage": 98.0})
    for units, degrees, gear in (("metric", ("1 °C", "3 °C"), "10 kg"), ("us", ("1.8 °F", "5.4 °F"), "22 lb")):
        object.__setattr__(job, "brief", job.brief.model_copy(update={"units": units, "trip": trip}))
        asked = [question.words for question in questions.questions(job, Kit({"bank": "bank"}, 12, 7))]
        assert f"every hour and the coldest night {degrees[0]} colder" in asked
        assert f"the hottest day {degrees[1]} hotter" in asked
        assert f"{gear} more gear" in asked
        assert f"one person more ({'75 kg' if units == 'metric' else '165.3 lb'})" in asked
        assert "a coverage of 100 % instead of 98 %" in asked


def test_what_is_fitted_and_how_warm_it_is_are_asked_about_where_they_can_give() -> None:
    """Each is named with its line of the brief, and the changed brief is like today's but for it."""
    job = job_of(Group("bank", "battery", (thing("bank", 100, 12),), True))
    wishes, comfort = job.brief.preferences, job.brief.comfort

    def asked(**topics: dict[str, object]) -> dict[str, Brief]:
        topic = {name: getattr(job.brief, name).model_copy(update=keys) for name, keys in topics.items()}
        changed = replace(job, brief=job.brief.model_copy(update=topic))
        return {question.words: question.job.brief for question in questions._given_up(changed)}

    every = asked(
        preferences={"hookup_charger": True, "inverter": False, "voltages": (24,)},
        comfort={"heating": True, "roof_fan": True, "night_temperature": 12.0, "day_temperature": 18.0},
    )
    hungriest = max(job.brief.uses, key=lambda use: use.power * use.count * use.hours / use.every_days)
    assert list(every) == [
        "no charger for hook-ups (preferences.hookup_charger)", "an inverter allowed (preferences.inverter)",
        "any bank voltage, 12, 24 or 48 V (preferences.voltages)",
        "no roof fan, damp going out another way (comfort.roof_fan)",
        "2 °C cooler inside at night (comfort.night_temperature)",
        "2 °C cooler inside by day (comfort.day_temperature)",
        f"without '{hungriest.name}', which uses the most energy (uses)",
    ]
    charger, inverter, voltage, fan, night, day, without = every.values()
    before = job.brief.model_copy(update={
        "preferences": wishes.model_copy(update={"hookup_charger": True, "inverter": False, "voltages": (24,)}),
        "comfort": comfort.model_copy(update={"night_temperature": 12.0, "day_temperature": 18.0}),
    })  # fmt: skip
    for brief, topic, keys in (
        (charger, "preferences", {"hookup_charger": False}), (inverter, "preferences", {"inverter": True}),
        (voltage, "preferences", {"voltages": (12, 24, 48)}), (fan, "comfort", {"roof_fan": False}),
        (night, "comfort", {"night_temperature": 10.0}), (day, "comfort", {"day_temperature": 16.0}),
    ):  # fmt: skip
        assert brief == before.model_copy(update={topic: getattr(before, topic).model_copy(update=keys)})
    assert without == before.model_copy(update={"uses": tuple(use for use in before.uses if use != hungriest)})
    catalog = job.catalog.with_parts(RoofFan.model_validate({
        "id": "fan-wished", "name": "a fan", "price_usd": 1, "mass_kg": 1, "draw_w": 1, "airflow_m3_h": 1,
        "length_mm": 1, "width_mm": 1, "height_mm": 1,
    }))  # fmt: skip
    object.__setattr__(job, "catalog", catalog)
    wished = asked(comfort={"roof_fan": True}, preferences={"required": ("fan-wished", "bank"), "hookup_charger": True})
    assert [wished[words].preferences.required for words in list(every)[0:4:3]] == [("fan-wished", "bank"), ("bank",)]
    nothing = asked(
        preferences={"hookup_charger": False, "inverter": True, "voltages": (12, 24, 48)},
        comfort={"heating": False, "roof_fan": False},
    )
    assert list(nothing) == list(every)[-1:]
    coldest = asked(comfort={"heating": True, "night_temperature": -9.0, "day_temperature": -8.0})
    assert [words for words in coldest if "inside" in words] == list(every)[5:6]


def test_limits_that_are_asked_about_by_name_are_told_beside_a_part() -> None:
    """What is asked for is told, whatever else is; a part alone leaves the limits out."""
    assert Wanted().limits
    assert not Wanted(part="x").limits
    assert Wanted(part="x", tight=True).limits
    assert Wanted(questions=True, together=True).limits


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
