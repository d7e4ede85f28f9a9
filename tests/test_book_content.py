"""What the book tells beyond the kit's own figures: stand-ins, axles, the spell's hours, months, cold, settings."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from book_cases import golden_facts, html_of, tables_in, taken_apart
from wiring_cases import EXAMPLES, example

from optimizer.book.answer import answer, lasting
from optimizer.book.bench import at_the_bench
from optimizer.book.blocks import Answers, Figure, Num, Para, Points, Table
from optimizer.book.book import cover
from optimizer.book.bounds import bars
from optimizer.book.charts import MONTHS
from optimizer.book.closing import assumptions
from optimizer.book.energy import energy, monthly, shown_at_all
from optimizer.book.facts import Facts, with_places
from optimizer.book.living import living
from optimizer.book.loads import loads
from optimizer.book.ordering import ordering
from optimizer.book.reasons import cost_of, reason, swapped
from optimizer.book.render import page
from optimizer.book.shopping import work
from optimizer.book.standins import does, stand_in
from optimizer.book.using import _first, using
from optimizer.book.wiring import wiring
from optimizer.check import check
from optimizer.circuits.bank import charger_settings
from optimizer.job import replay_kit
from optimizer.physics.heat import heat_demand
from optimizer.physics.statics import axle_loads
from optimizer.places.weighing import resting
from optimizer.problem.records import Group, Kit, Option
from optimizer.problem.season import season_of
from optimizer.replaying import coverage_line
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.showing import M_PER_FOOT

pytest.importorskip("schemdraw")
NAMES = [path.stem for path in EXAMPLES]
FITTINGS, WHOLE = "cables, fittings, supplies", "no place of its own"
SLOW = [pytest.param(name, marks=pytest.mark.long) if name != "gulf_autumn" else name for name in NAMES]


@cache
def facts_of(name: str) -> Facts:
    """An example's kept answer."""
    return golden_facts(name)


def table(blocks: tuple[object, ...], caption: str) -> Table:
    """The table of that caption."""
    return next(one for one in blocks if isinstance(one, Table) and one.caption == caption)


def value(cell: object) -> float:
    """A number of a cell."""
    assert isinstance(cell, Num)
    return cell.value


def said(answers: Answers, question: str) -> str:
    """The answer to a question."""
    return next(answer for asked, answer in answers.items if asked == question)


def test_why_this_one_names_another_part() -> None:
    """The same part with a shorter cable is no answer, and how many ways there are counts parts."""
    facts = facts_of("gulf_autumn")
    cost, named, cheapest = cost_of(facts), 0, 0
    for group, chosen in facts.kit.options(facts.job.problem):
        own = facts.own_parts(chosen)
        others = [one for one in group.options if one.voltage in (0, facts.kit.voltage) and not group.hidden]
        alike = [one for one in others if facts.own_parts(one) == own]
        if len({cost(one) for one in alike}) < 2:
            continue
        dearest = max(alike, key=cost)
        words = reason(replace(facts, kit=swapped(facts.kit, group, dearest)), group, dearest)
        cheaper = [one for one in others if cost(one) < cost(dearest) and facts.own_parts(one) != own]
        if cheaper:
            nearest = min(cheaper, key=lambda one: (-cost(one), one.key))
            name = facts.name_of(nearest.parts[0][0])
            assert f"With {name} " in words or words.startswith(name), (group.name, words)
            named += 1
        else:
            assert f" {len({facts.own_parts(one) for one in group.options})} ways" in words, (group.name, words)
            cheapest += 1
    assert named
    assert named + cheapest > 1


@pytest.mark.parametrize("name", SLOW)
def test_numbers_read_back_from_the_page(name: str) -> None:
    """Circuits, months, axle loads, buy list and the spell's hours stand in the HTML as the other rooms have them."""
    facts = facts_of(name)
    found, replay = tables_in(html_of(facts)), facts.replay
    assert replay is not None
    circuits = {row[0]: row for row in found["Every circuit"][1:]}
    factor = 1 / M_PER_FOOT if facts.units == "us" else 1.0
    for one in facts.circuits:
        row = circuits[one.name]
        told = [one.current_a, one.system_v, one.length_m * factor]
        assert row[1:4] == pytest.approx(told, abs=0.051)
        assert row[4] == one.size.replace("mm2", "mm²")
        assert row[6] == (one.fuse_a or one.string_fuse_a or "none")
        assert row[7] == pytest.approx(one.drop_v, abs=0.0006)
    by_month = monthly(replay)
    given = {str(row[0]): row[1:] for row in found["Energy of the mean day by month"]}
    names = [MONTHS.index(str(month)) + 1 for month in given["Wh a day"]]
    for what in ("sun", "alternator"):
        if f"gives: {what}" in given:
            assert given[f"gives: {what}"] == pytest.approx([by_month[what][month] for month in names])
    states = {str(row[0]).split(":")[0]: row[1:] for row in found["Loads in each state"][1:]}
    for weight in facts.weights:
        assert states[weight.state] == [weight.front / 1000, weight.rear / 1000, weight.difference / 1000]
    stages = [rows for caption, rows in found.items() if caption.startswith("Stage ")]
    assert sum(row[4] for rows in stages for row in rows[1:-1]) == pytest.approx(facts.cents / 100)  # type: ignore[misc]
    bank = [cell for row in found["Left in the bank at the end of the hour [Wh]"][1:] for cell in row[1:] if cell != ""]
    assert bank[-1] == pytest.approx(replay.binding_spell().room_wh, abs=0.5)
    assert len(bank) == replay.binding_spell().hours


@pytest.mark.parametrize("name", SLOW)
def test_a_stand_in_does(name: str) -> None:
    """It has none of the missing parts, passes check, trips and places, and nothing nearer by the goal does."""
    facts = facts_of(name)
    problem, cost = facts.job.problem, cost_of(facts)
    found = 0
    for group, option in facts.kit.options(problem):
        if group.hidden:
            continue
        one = stand_in(facts, group, option)
        mine = {part for part, _ in facts.own_parts(option)}
        gap = abs(cost(one.option) - cost(option)) if one else None
        for other in group.options:
            nearer = gap is None or abs(cost(other) - cost(option)) < gap
            if nearer and other.voltage in (0, facts.kit.voltage) and mine.isdisjoint(p for p, _ in other.parts):
                assert not does(facts, swapped(facts.kit, group, other)), (group.name, other.key)
        if one is None:
            continue
        found += 1
        kit = with_places(facts.job, swapped(facts.kit, group, one.option))
        assert mine.isdisjoint(part for part, _ in facts.own_parts(one.option))
        assert check(problem, kit).ok
        assert kit.places is not None
        trips = replay_kit(facts.job, kit)
        assert trips.departures - trips.covered <= facts.job.allowed_short
        assert one.cents == price_cents(problem, kit) - price_cents(problem, facts.kit)
        assert one.grams == kit_mass_g(problem, kit) - kit_mass_g(problem, facts.kit)
    assert found >= 8


def test_what_does_not_do_is_refused() -> None:
    """A kit that breaks a rule, and one that only runs short on its trips, are both turned down as stand-ins."""
    facts = facts_of("high_plains_spring")
    problem = facts.job.problem
    assert does(facts, facts.kit)
    water, panels = problem.group("water water-can-20"), problem.group("panels_1")
    few = min(water.options, key=lambda option: option.get("water_ml"))
    assert not does(facts, swapped(facts.kit, water, few))
    weak = next(
        kit for option in panels.options if check(problem, kit := swapped(facts.kit, panels, option)).ok
        and replay_kit(facts.job, kit).covered < 100
    )  # fmt: skip
    assert not does(facts, weak)


@pytest.mark.parametrize("name", NAMES)
def test_full_tanks_press_on_the_axles(name: str) -> None:
    """Each row is the axle load of its mass at its bay's middle, as the formula for point masses gives it."""
    facts = facts_of(name)
    chapter = loads(facts)
    assert chapter is not None
    rows = table(chapter.blocks, "What full tanks and canisters do to the axles").rows
    wheelbase = facts.job.brief.vehicle.wheelbase
    moved = [t for t in resting(facts.job.problem, facts.kit) if "/" in t.name and t.at.x_low is not None]
    masses = [(max(t.masses) - min(t.masses)) / 1000 for t in moved]
    expected = axle_loads(masses, [(t.at.x_low + t.at.x_high) / 2 for t in moved], wheelbase)  # type: ignore[operator]
    assert sum(value(row[1]) for row in rows) == pytest.approx(sum(masses)) != 0
    assert sum(value(row[2]) for row in rows) == pytest.approx(expected.front, rel=1e-3, abs=0.01)
    assert sum(value(row[3]) for row in rows) == pytest.approx(expected.rear, rel=1e-3, abs=0.01)


@pytest.mark.parametrize("name", SLOW)
def test_the_spell_hour_by_hour(name: str) -> None:
    """Every hour of the binding spell stands in the tables, as the trips have it, on its day and hour."""
    facts = facts_of(name)
    chapter = energy(facts)
    replay = facts.replay
    assert chapter is not None
    assert replay is not None
    spell = replay.binding_spell()
    hours = replay.hours(spell.departure).iloc[spell.begins.trip_hour : spell.ends.trip_hour + 1]
    grid = table(chapter.blocks, "Left in the bank at the end of the hour [Wh]")
    told = {
        (str(row[0]), hour): cell.value
        for row in grid.rows for hour, cell in enumerate(row[1:]) if isinstance(cell, Num)
    }  # fmt: skip
    when = zip(hours["date"], hours["hour"], strict=True)
    expected = dict(zip(when, hours["bank_left_wh"], strict=True))
    assert len(expected) == spell.hours
    assert told == pytest.approx(expected)
    sun = table(chapter.blocks, "Given by the sun [Wh]") if hours["given: sun"].any() else None
    if sun is not None:
        assert sum(value(c) for row in sun.rows for c in row[1:] if c) == pytest.approx(hours["given: sun"].sum())


@pytest.mark.parametrize("name", NAMES)
def test_months_add_up_to_all_departures(name: str) -> None:
    """The departures of the months are all departures, and those short of nothing are those that were covered."""
    facts = facts_of(name)
    replay = facts.replay
    assert replay is not None
    rows = table(using(facts).blocks, "Which months it is good for").rows
    assert sum(value(row[1]) for row in rows) == replay.departures
    assert sum(value(row[2]) for row in rows) == replay.covered


@pytest.mark.parametrize("name", ["fjord_winter", "high_plains_spring"])
def test_how_cold_it_may_get(name: str) -> None:
    """At the temperature told, the heat demanded is what the heater gives, by day and at night."""
    facts = facts_of(name)
    (answers,) = (block for block in using(facts).blocks if isinstance(block, Answers))
    words = said(answers, "How cold may it get outside?")
    loss = facts.option("insulation").effects["heat_loss_w_k"]  # type: ignore[union-attr]
    heater = facts.limit("heat_output")
    assert heater is not None
    comfort = facts.job.brief.comfort
    people = season_of(facts.job.brief, facts.job.years).people_heat_w
    insides = (comfort.day_temperature, comfort.night_temperature)
    for part, inside in zip(words.split("holds down to ")[1].split(" and "), insides, strict=False):
        outside = float(part.split(" °C")[0])
        assert heat_demand(loss, inside, outside, people) == pytest.approx(heater.allowed, abs=0.06 * loss)


@pytest.mark.parametrize("name", NAMES)
def test_settings_are_the_chemistrys(name: str) -> None:
    """Voltages on the sheet are those of the bank's chemistry and class; the bank's voltage can be read back."""
    facts = facts_of(name)
    chapter = wiring(facts)
    assert chapter is not None
    rows = {str(row[0]): row[1] for row in table(chapter.blocks, "Settings of every charger").rows}
    wanted = charger_settings(facts.option("battery").traits["chemistry"], facts.kit.voltage)  # type: ignore[union-attr]
    assert value(rows["nominal voltage"]) == facts.kit.voltage
    assert value(rows["absorption"]) == wanted.absorption_v
    assert value(rows["float"]) == wanted.float_v
    assert value(rows["loads off below"]) == wanted.low_cutoff_v
    assert rows["equalise"] == "never"


@pytest.mark.parametrize("name", NAMES)
def test_every_fuse_has_its_place(name: str) -> None:
    """Each circuit has a row with its fuse, the main fuse tells what it breaks, and the bench answers say where."""
    facts = facts_of(name)
    chapter = wiring(facts)
    assert chapter is not None
    rows = {str(row[0]): row for row in table(chapter.blocks, "What guards each circuit").rows}
    assert set(rows) == {circuit.name for circuit in facts.circuits}
    main = facts.safety["main_fuse"]
    assert value(rows["bank to busbars"][4]) == main.interrupt_a > 0
    words = said(at_the_bench(facts), "Where does each fuse sit?")
    assert main.name in words
    stands = said(at_the_bench(facts), "Where does everything stand?")
    assert facts.bay_of("battery") in stands
    assert f"the bank: {facts.bay_of('battery')}".lower() in stands.lower()


@pytest.mark.parametrize("name", NAMES)
def test_what_a_data_sheet_must_say(name: str) -> None:
    """Every row is a limit of the check: asked for at least, and no more than the part chosen has."""
    facts = facts_of(name)
    rows = table(ordering(facts).blocks, "What a part must do").rows
    stands = {(one.used / one.scale, one.allowed / one.scale) for one in facts.limits}
    for row in rows:
        assert row[0]
        assert (value(row[2]), value(row[3])) in stands
        assert value(row[2]) <= value(row[3])
    assert len(rows) >= 10


def test_measures_are_the_briefs() -> None:
    """Each bay's size and each axle's mass of the brief is there to be held against the van, with room to write."""
    facts = facts_of("high_plains_spring")
    rows = table(ordering(facts).blocks, "What to measure").rows
    text = json.dumps([[str(cell) for cell in row] for row in rows])
    for bay in facts.job.brief.vehicle.bays:
        assert f"{bay.length:.0f} mm x {bay.width:.0f} mm x {bay.height:.0f} mm" in text
    for circuit in facts.circuits:
        if circuit.level in ("bank", "branch"):
            assert any(row[0] == circuit.name and value(row[1]) == circuit.length_m for row in rows)
    assert value(rows[0][1]) == facts.job.brief.vehicle.front_axle_mass
    assert all(row[-1] == "........" for row in rows)
    assert Path(facts.job.file).stem == "high_plains_spring"


@pytest.mark.parametrize("name", SLOW)
def test_what_rests_where_goes_by_the_names_of_parts(name: str) -> None:
    """Mass without a place stands under the part it belongs to, once as fittings or once as the whole part."""
    facts = facts_of(name)
    chapter = loads(facts)
    assert chapter is not None
    lines = [row[0] for row in table(chapter.blocks, "What rests where").rows]
    spread = [str(line) for line in lines if str(line).partition(": ")[2] in (FITTINGS, WHOLE)]
    names = {record.name for record in facts.records}
    assert spread
    assert {line.partition(": ")[0] for line in spread} <= names
    for line in spread:
        part, _, what = line.partition(": ")
        placed = any(other == part or str(other).startswith(f"{part} (") for other in lines)
        assert placed == (what == FITTINGS), line
    assert len(lines) == len(resting(facts.job.problem, facts.kit))


@pytest.mark.parametrize("name", SLOW)
def test_no_sentence_stands_twice_under_one_caption(name: str) -> None:
    """A limit that comes in several loading states, or fuels, tells what it asks only once."""
    facts = facts_of(name)
    found = [limit for limit in facts.limits if limit.slug in ("payload", "front_axle", "fuel")]
    told = bars(facts, found)
    assert [bar.slug for bar in told] == [limit.name for limit in found]
    kept = [bar.sentence for bar in told if bar.sentence]
    assert len(kept) == len(set(kept)) == len({limit.slug for limit in found}) < len(found)


def with_parts(facts: Facts, **choices: str) -> Facts:
    """The facts with other options in some groups, by the first that begins so; places as they were."""
    kit = facts.kit
    for name, start in choices.items():
        group = facts.job.problem.group(name)
        option = next(o for o in group.options if o.key.startswith(start) and o.voltage in (0, kit.voltage))
        kit = replace(swapped(kit, group, option), places=facts.kit.places)
    return Facts(facts.job, kit, facts.data, facts.file, facts.notes)


def answered(facts: Facts) -> Answers:
    """What is answered on living with it."""
    (found,) = (block for block in using(facts).blocks if isinstance(block, Answers))
    return found


def test_loose_cells_are_joined_by_what_comes_with_their_manager() -> None:
    """No links are told where none are bought; ready packs side by side have them."""
    fjord = facts_of("fjord_winter")
    question = "How is the bank put together?"
    assert "battery links" in said(at_the_bench(fjord), question)
    loose = with_parts(fjord, battery="cell-lfp-280 4s")
    words = said(at_the_bench(loose), question)
    assert "busbars that come with their manager" in words
    assert "links" not in words


def test_how_full_a_lead_bank_is_counted_on_is_told_among_the_assumptions() -> None:
    """Of a bank of lead, and of no other."""
    fjord = facts_of("fjord_winter")
    for facts, expected in ((fjord, 0), (with_parts(fjord, battery="bat-agm-100 1s1p"), 1)):
        points = [str(item) for block in assumptions(facts).blocks if isinstance(block, Points) for item in block.items]
        assert sum("not counted on above 85 %" in point for point in points) == expected


def test_a_bank_that_nothing_charges_is_told_so() -> None:
    """Without controller or charger the book says to charge elsewhere; with one it says nothing of the kind."""
    gulf, question = facts_of("gulf_autumn"), "What charges the bank?"
    assert question not in dict(answered(gulf).items)
    kept = {name: key for name, key in gulf.kit.choices.items() if name not in ("panels_1", "controller_1")}
    bare = Facts(gulf.job, replace(gulf.kit, choices=kept), gulf.data, gulf.file, gulf.notes)
    assert "full bank" in said(answered(bare), question)
    for facts, words in ((gulf, "all chargers at once give no more"), (bare, "nothing in this kit charges it")):
        chapter = wiring(facts)
        assert chapter is not None
        rows = {row[0]: row for row in table(chapter.blocks, "Settings of every charger").rows}
        assert words in str(rows["charging current, all together"][2])


def test_panels_are_told_the_coldest_morning_of_all_the_year() -> None:
    """The plains are asked for from April, and panels stand on the roof in the -16.7 degC of February too."""
    facts = facts_of("high_plains_spring")
    words = said(at_the_bench(facts), "How are the panels of the solar controller put together?")
    assert "-16.7 °C" in words
    assert "leave the isolator open" in words


def test_days_without_sun_are_never_rounded_up() -> None:
    """The days told, times what a day takes, are within what the bank gives, and a tenth more is not."""
    for name in NAMES:
        facts = facts_of(name)
        limit = facts.limit("sunless_energy")
        assert limit is not None
        told = re.search(r"so ([0-9.]+) days", said(answered(facts), "How long does the bank last without sun?"))
        assert told is not None
        a_day = limit.used / (facts.job.brief.trip.sunless_days or 1)
        assert float(told[1]) * a_day <= limit.allowed * (1 + 1e-9) < (float(told[1]) + 0.1) * a_day


def test_each_step_names_what_it_fits() -> None:
    """Gas is fitted with gas and nowhere else; what is plugged in is not wired; a loose stove is stowed, no hob."""
    facts = facts_of("fjord_winter")
    plain, question = work_steps(facts), "What stays in its bay?"
    assert "Mains charger 12 V, 7 A, plug-in" in plain["What is plug-in"]
    assert "Spirit stove" in plain["Fit tanks"]
    assert "take it out" in said(answered(facts), question)
    piped = with_parts(facts, **{"cooker cook-gas-2": "cook-gas-2", "tank propane": "gas-5 x1"})
    choices = {name: key for name, key in piped.kit.choices.items() if name != "cooker cook-spirit-1"}
    piped = Facts(piped.job, replace(piped.kit, choices=choices), piped.data, piped.file)
    steps = work_steps(piped)
    assert "Propane bottle 5 kg; Gas hob, two rings" in steps["Fit gas locker"]
    assert "Propane" not in steps["Fit tanks"]
    assert "Gas hob" not in steps["Fit tanks"]
    words = said(answered(piped), question)
    assert "take it out" not in words
    assert "stays where its pipe ends" in words


def work_steps(facts: Facts) -> dict[str, str]:
    """The order of work, by how each step begins."""
    (points,) = work(facts).blocks
    assert isinstance(points, Points)
    starts = ("What is plug-in", "Fit tanks", "Fit gas locker", "Have the mains side")
    return {start: text for start in starts for text in points.items if text.startswith(start)}


def test_the_buy_list_tells_notes_and_what_is_not_on_it() -> None:
    """The page has what the terminal has: what the catalog says of a part, and what a builder must have beside."""
    facts = facts_of("gulf_autumn")
    text = taken_apart(html_of(facts)).text
    assert "(never refill while warm)" in text
    assert "Not on the list: LED strips, " in text
    assert "screws, tools, fuel." in text


def test_one_night_is_told_as_one() -> None:
    """Title, water and trips of a kit for a single night: no '1 nights', no '1 days'."""
    facts = facts_of("gulf_autumn")
    one = Facts(facts.job, replace(facts.kit, nights=1), facts.data, facts.file, facts.notes)
    assert " 1 night without a hook-up" in cover(one).subtitle
    water = " ".join(block.text for block in living(one).blocks if isinstance(block, Para))
    assert "a day for 1 day;" in water
    assert facts.replay is not None
    assert "in 1 night (" in coverage_line(replace(facts.replay, nights=1))


def test_the_van_loses_one_amount_of_heat() -> None:
    """The table of the kit tells the loss to the digit that the chapter on warmth does."""
    facts = facts_of("high_plains_spring")
    told = set(re.findall(r"loses ([0-9.]+) W/K", taken_apart(html_of(facts)).text))
    assert told == {"79.7"}


def test_a_kit_that_its_trips_fail_is_not_called_good() -> None:
    """Rules kept are not enough: where fewer departures come through than are asked for, the first page says so."""
    facts = facts_of("gulf_autumn")
    dark = {name: key for name, key in facts.kit.choices.items() if name not in ("panels_1", "controller_1")}
    failing = Facts(facts.job, replace(facts.kit, choices=dark, places=None), facts.data, facts.file)
    assert failing.verdict.ok
    assert failing.replay is not None
    text, sound = (taken_apart(page(cover(one), (answer(one),))).text for one in (failing, facts))
    assert f"{failing.replay.covered} of {failing.replay.departures} departures come through" in text
    assert "Do not build this kit" in text
    assert "Proven: " not in text
    assert "Do not build this kit" not in sound
    assert "Proven: " in sound


def test_nothing_is_proven_for_a_brief_that_has_changed() -> None:
    """A kit chosen by another brief or catalog keeps these, but whether it is the best of them nobody has asked."""
    facts = facts_of("gulf_autumn")
    text = taken_apart(page(cover(facts), (answer(replace(facts, changed=True)),))).text
    assert "Not proven: brief or catalog have changed" in text
    assert "Proven: " not in text


def test_less_than_an_hour_is_told_in_minutes() -> None:
    """As a clock shows it: 0.833 h in a brief is 50 minutes."""
    assert [lasting(hours) for hours in (0.1, 0.25, 0.8333, 1, 1.5, 24)] == [
        "6 min", "15 min", "50 min", "1 h", "1.5 h", "24 h"
    ]  # fmt: skip


def test_what_gives_nothing_is_not_in_the_picture() -> None:
    """The key of the binding spell names what gave: no sun where there are no panels, no alternator when it stood."""
    facts = facts_of("fjord_winter")
    kept = {name: key for name, key in facts.kit.choices.items() if name not in ("panels_1", "controller_1")}
    dark = Facts(facts.job, replace(facts.kit, choices=kept), facts.data, facts.file, facts.notes)
    fjord, gulf = named_in_spell(dark), named_in_spell(facts_of("gulf_autumn"))
    assert "alternator" in fjord
    assert "sun" not in fjord
    assert "sun" in gulf
    assert "alternator" not in gulf


def test_ratings_of_a_cold_box_are_in_the_units_of_the_brief() -> None:
    """The two points at which a box is rated: 25 and 32 degC, told as degF where the brief is in US units."""
    rated = {"gulf_autumn": "(77 °F and 89.6 °F around it)", "fjord_winter": "(25 °C and 32 °C around it)"}
    for name, words in rated.items():
        notes = [one.note for one in living(facts_of(name)).blocks if isinstance(one, Table)]
        assert any(words in note for note in notes)


def test_hours_without_anything_have_no_table() -> None:
    """A trillionth of a watt-hour, as sums of nothing come to, is nothing; half a watt-hour is told as one."""
    assert not shown_at_all([0.0, 2.8e-14, 0.49])
    assert shown_at_all([0.0, 0.5])


def named_in_spell(facts: Facts) -> set[str]:
    """The words of the picture of the binding spell."""
    chapter = energy(facts)
    assert chapter is not None
    (svg,) = (one.svg for one in chapter.blocks if isinstance(one, Figure) and one.name == "binding-spell")
    return set(re.findall(r">\s*([^<>]+?)\s*<", svg)) | set(re.findall(r"<!-- (.*?) -->", svg))


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (("battery",), "no disaster: come home a day early."),
        (("battery", "mains_charger"), "no disaster: plug in, or come home a day early."),
        (("alternator_charger", "mains_charger"), "no disaster: drive an hour, plug in, or come home a day early."),
    ],
)
def test_only_what_charges_the_bank_is_named_where_it_runs_short(kinds: tuple[str, ...], told: str) -> None:
    """Driving charges nothing without an alternator charger, nor does a hook-up without a mains charger."""
    groups = tuple(Group(kind, kind, (Option("it", ()),), True) for kind in kinds)
    problem = replace(example(EXAMPLES[0]).problem, groups=groups)
    replay = SimpleNamespace(departures=90, causes={"battery": 7})
    kit = Kit(dict.fromkeys(kinds, "it"), 12, 7)
    facts = SimpleNamespace(replay=replay, kit=kit, job=SimpleNamespace(problem=problem))
    assert told in _first(cast(Facts, facts))
