"""The records of the brief: they take what is meant and never turn one thing into another."""

from __future__ import annotations

import tomllib

import pytest
from brief_samples import GOOD
from pydantic import ValidationError

from optimizer.brief.brief import Brief
from optimizer.brief.positions import find_positions
from optimizer.brief.topic import Topic, shapes
from optimizer.brief.trip import Driving, Trip
from optimizer.brief.uses import Use
from optimizer.brief.wording import expectation


def topics(topic: type[Topic] = Brief) -> list[type[Topic]]:
    """Every table of the brief."""
    inner = [shape.topic for shape in shapes(topic).values() if shape.topic is not None]
    return [topic, *(found for below in inner for found in topics(below))]


def test_every_key_is_described_and_bounded() -> None:
    """Each key has words, each number both bounds, each text and each list a longest."""
    for topic in topics():
        for name, shape in shapes(topic).items():
            assert topic.model_fields[name].description, name
            marks = {key for mark in shape.marks for key in ("gt", "ge", "lt", "le") if hasattr(mark, key)}
            if shape.kind in (int, float):
                assert marks & {"gt", "ge"}, name
                assert marks & {"lt", "le"}, name
            if shape.kind is str and name not in ("season_from", "season_to"):
                assert any(hasattr(mark, "max_length") for mark in shape.marks), name
            if shape.listed:
                assert any(hasattr(mark, "max_length") for mark in shape.counts), name


def test_defaults_are_within_their_bounds() -> None:
    """A default would be taken if it were written."""
    for topic in topics():
        for name, field in topic.model_fields.items():
            if not field.is_required() and field.default is not None and shapes(topic)[name].topic is None:
                assert name not in refused(topic, {name: field.default})


def refused(topic: type[Topic], data: dict[str, object]) -> set[str]:
    """The given keys that the record does not take."""
    try:
        topic.model_validate(data)
    except ValidationError as error:
        return {str(complaint["loc"][0]) for complaint in error.errors()}
    return set()


def test_units_are_read_in_records() -> None:
    """Text with a unit becomes the documented unit wherever a quantity stands."""
    use = Use(name="pump", power="0.05 kW", hours="12 min")  # type: ignore[arg-type]
    assert (use.power, use.hours) == (50.0, 0.2)


@pytest.mark.parametrize(
    "given", [True, "7", 7.5, None, [7], {"a": 1}, float("nan"), float("inf"), 10**30, -1, 0, 121]
)
def test_nights_are_whole_numbers(given: object) -> None:
    """Nothing but a whole number in its bounds counts nights: no true, no "7", no 7.5."""
    with pytest.raises(ValidationError):
        Trip(nights=given, season_from="01-01", season_to="01-02")  # type: ignore[arg-type]


@pytest.mark.parametrize("given", [1, 0, "true", "yes", None])
def test_switches_are_true_or_false(given: object) -> None:
    """Nothing but true and false is a switch."""
    with pytest.raises(ValidationError):
        Use(name="a", power=1, hours=1, alone=given)  # type: ignore[arg-type]


@pytest.mark.parametrize("day", ["02-29", "04-31", "13-01", "00-10", "1-1", "06-15 ", "٠٦-15", "2025-06-15"])
def test_days_that_are_none(day: str) -> None:
    """A day of the year that no year of 365 days has, or in another form, is refused."""
    with pytest.raises(ValidationError):
        Trip(nights=1, season_from=day, season_to="01-02")


def test_records_do_not_change() -> None:
    """A brief is frozen all through."""
    with pytest.raises(ValidationError):
        Driving().hours = 3.0


def test_daily_balance_follows_coverage() -> None:
    """Without word of its own the daily balance is asked for only when no coverage is."""
    days = {"season_from": "01-01", "season_to": "01-02"}
    assert Trip(nights=1, **days).wants_daily_balance
    assert not Trip(nights=1, coverage=95, **days).wants_daily_balance
    assert Trip(nights=1, coverage=95, daily_balance=True, **days).wants_daily_balance


def test_positions_find_every_key() -> None:
    """The position of each key is the line that its text stands on, in every style of TOML."""
    text = (
        'a.b = 1\n"q k".\'z\' = "x" # note\nlist = [1, {c = 2, d.e = [\n  3,\n  # note\n  4]},\n]\n'
        "[t]\nn = 3\n[t.u]\nh = 1_000\n[[v.bays]]\nname = '''\nmulti'''\n[[v.bays]]\nname = 2\n"
        "[v.bays.sub]\nk = 2024-01-01\n[[v.bays.deep]]\nl = 0x1F\n"
    )
    tomllib.loads(text)
    positions = find_positions(text)
    expected = {
        ("a", "b"): (1, "1"), ("q k", "z"): (2, '"x"'), ("list", 0): (3, "1"), ("list", 1, "c"): (3, "2"),
        ("list", 1, "d", "e", 1): (6, "4"), ("t", "n"): (9, "3"), ("t", "u", "h"): (11, "1_000"),
        ("v", "bays", 0, "name"): (13, "'''\nmulti'''"), ("v", "bays", 1, "name"): (16, "2"),
        ("v", "bays", 1, "sub", "k"): (18, "2024-01-01"), ("v", "bays", 1, "deep", 0, "l"): (20, "0x1F"),
    }  # fmt: skip
    for path, (line, written) in expected.items():
        assert (positions.line(path), positions.text(path)) == (line, written), path
    assert positions.line(("v", "bays", 1, "missing")) == 15
    assert positions.line(("nowhere",)) == 0


def test_every_key_of_the_good_brief_has_its_line() -> None:
    """Line by line, the key at a position is the key that the line names."""
    positions = find_positions(GOOD)
    lines = GOOD.split("\n")
    for path, line in positions.lines.items():
        names = [step for step in path if isinstance(step, str)]
        if path in positions.texts and isinstance(path[-1], str):
            assert lines[line - 1] == f"{names[-1]} = {positions.texts[path]}"
    assert len(positions.texts) == 60


def test_expectations_are_in_words() -> None:
    """What a key takes is said with its documented unit and bounds."""
    assert expectation(("trip", "nights")) == "a whole number from 1 to 120"
    assert expectation(("trip", "coverage")) == (
        "a number of % from 50 to 100, or text with a unit such as '45 %'"
    )
    assert expectation(("place", "shading")) == (
        "a number of % of at least 0 and below 100, or text with a unit such as '45 %'"
    )
    assert expectation(("vehicle", "bays")) == "at most 40 tables [[vehicle.bays]]"
    assert expectation(("vehicle", "bays", 0)) == "a table [[vehicle.bays]]"
    assert expectation(("trip", "driving")) == "a table [trip.driving]"
    assert expectation(("preferences", "voltages")) == "a list of 1 to 3 entries, each 12, 24 or 48"
    assert expectation(("no", "such")) == "a value of the brief"
