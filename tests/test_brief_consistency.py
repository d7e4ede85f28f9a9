"""Keys that contradict each other are faults; keys that only just agree are none."""

from __future__ import annotations

import tomllib

import pytest
from brief_samples import GOOD, changed, consistency_faults

from optimizer.brief.brief import Brief
from optimizer.brief.reading import brief_from_dict
from optimizer.brief.trip import Person
from optimizer.errors import Fault

PREFERENCES = "[preferences]"
AGREE = [
    [("front_axle_mass = 930", "front_axle_mass = 1450")],
    [("rear_axle_mass = 690", "rear_axle_mass = 1550")],
    [("gross_mass = 2800", "gross_mass = 1620")],
    [("length = 5000", "length = 3950")],
    [("x = 40", "x = 2430")],
    [("y = 640", "y = 1280")],
    [("[vehicle.roof]", "[vehicle.roof]\nfan_x = 2100\nfan_y = 950")],
    [("[vehicle.roof]", "[vehicle.roof]\nrack_mass = 120")],
    [("nights = 7", "nights = 60"), (PREFERENCES, '[preferences]\ngoal = "longest"')],
    [("nights = 7", "nights = 90"), (PREFERENCES, '[preferences]\ngoal = "lightest"')],
    [("every_days = 2\nhours = 1.5", "every_days = 0\nhours = 0")],
    [("[place]", "[place]\ncoldest_night = 10\nhottest_day = 10")],
    [('["station:723170"]', '["station:723170", "station.csv", "stations/a.epw"]')],
    [(PREFERENCES, '[preferences]\ngoal = "most:Own column (dB)"')],
    [(PREFERENCES, '[preferences]\nowned = [{part = "bat-a"}, {part = "bat-b"}]\nrequired = ["bat-a"]')],
    [(PREFERENCES, '[preferences]\nrefused = ["bat-a", "bat-b"]\nkeep = ["payload", "budget"]')],
    [("budget = 9000", 'budget = 9000\nown = [{name = "n", column = "a", at_most = 1, at_least = 1}]')],
    [
        ("budget = 9000", 'budget = 9000\nown = [{name = "noise", column = "a", at_most = 1}]'),
        (PREFERENCES, '[preferences]\nkeep = ["own:noise"]'),
    ],
    [("[vehicle]", '[vehicle]\nfuel = "electric"')],
    [("[vehicle]", '[vehicle]\nfuel = "lpg"\nfuel_for_heater = 5')],
    [("x = 1500", "x = 1500\ndoor_width = 300\ndoor_height = 300")],
    [('seat = "left"\n', ""), ('seat = "right"\n', "")],
    [('name = "one"\n', ""), ('name = "two"\n', "")],
    [('name = "supper"', 'name = "light"')],
]


@pytest.mark.parametrize("edits", AGREE, ids=[str(place) for place in range(len(AGREE))])
def test_what_only_just_agrees_is_good(edits: list[tuple[str, str]]) -> None:
    """At the very bound, or with the same word in another list, nothing is wrong."""
    brief = brief_from_dict(tomllib.loads(changed(*edits)), known_limits=("payload", "budget"))
    assert consistency_faults(brief, known_limits=("payload", "budget")) == []


def test_a_brief_changed_in_memory_is_checked_too() -> None:
    """A record made from a good one gets the faults of its contradictions, without lines."""
    good = brief_from_dict(tomllib.loads(GOOD))
    crowded = good.model_copy(update={"people": (*good.people, Person(name="three", seat="left"))})
    assert consistency_faults(crowded, "changed") == [
        Fault(
            "changed", 0, "people[3].seat (person 'three')", '"left"', "a seat for each person",
            "Person 1 has it already.",
        )
    ]  # fmt: skip


def test_kept_limits_are_checked_only_when_limits_are_known() -> None:
    """Without a list of limits any name may be kept; with one, no unknown name."""
    data = tomllib.loads(changed((PREFERENCES, '[preferences]\nkeep = ["anything"]')))
    assert brief_from_dict(data).preferences.keep == ("anything",)
    faults = consistency_faults(Brief.model_validate(data), known_limits=("budget",))
    assert [fault.sentence() for fault in faults] == [
        'brief: preferences.keep[1] is "anything"; expected the name of a limit. Valid: budget.'
    ]
