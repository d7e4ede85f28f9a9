"""Odd but possible briefs: each gets its sentence, and a plain brief gets none."""

from __future__ import annotations

import tomllib

import pytest
from brief_samples import GOOD, changed, consistency_faults

from optimizer.brief.oddities import oddities
from optimizer.brief.reading import brief_from_dict

BAY = "[[vehicle.bays]]"
BEFORE_OBSTACLES = "[[vehicle.roof.obstacles]]"
ONE_FLAT = (
    BEFORE_OBSTACLES,
    f'[[vehicle.roof.flats]]\nname = "rear"\nx = 1000\nlength = 500\nwidth = 600\n\n{BEFORE_OBSTACLES}',
)
A_LANE = (
    BEFORE_OBSTACLES,
    f'[[vehicle.roof.lanes]]\nname = "aisle"\nside = "rear"\nstart = 850\nwidth = 300\n\n{BEFORE_OBSTACLES}',
)
ODD = [
    ([("season_to = \"10-15\"", "season_to = \"04-15\"")],
     "trip.season_from and trip.season_to are both '04-15': the season is a single day, so one departure a"
     " year is all that is tried."),
    ([("sunless_days = 1", "sunless_days = 0")],
     "trip.sunless_days is 0 and trip.coverage is left out: no cloudy day is reckoned with, and the mean day"
     " of each month sizes the battery."),
    ([("sunless_days = 1", "daily_balance = false")],
     "trip.sunless_days is 0 and trip.coverage is left out: no cloudy day is reckoned with, and nothing sizes"
     " the battery."),
    ([("sunless_days = 1", "coverage = 60")],
     "trip.coverage is 60 %: more than one trip in five may run short of something."),
    ([("every_days = 2\nhours = 1.5", "every_days = 0")],
     "trip.driving.every_days is 0 (never): the alternator of vehicle.alternator_current = 150 A charges"
     " nothing."),
    ([("hours = 1.5", "hours = 3\nstart_hour = 22")],
     "trip.driving.start_hour is 22 and hours is 3: the drive goes on past midnight."),
    ([("every_days = 2", "every_days = 9")],
     "trip.driving.every_days is 9 and trip.nights is 7: the one drive is over before noon of the first day, when"
     " the trip's clock starts, and charges nothing."),
    ([("every_days = 2\nhours = 1.5", "every_days = 9\nhours = 1.5\nstart_hour = 11")],
     "trip.driving.every_days is 9 and trip.nights is 7: the van is driven on the first day only."),
    ([("[preferences]", "[preferences]\ngoal = \"longest\"")],
     "preferences.goal is 'longest': any stay from 1 to 60 nights (trip.nights_at_most) may come out, and"
     " trip.nights = 7 asks for nothing."),
    ([("every_days = 2\nhours = 1.5", "every_days = 0"), ("hours = 4", "hours = 4\nwhen = \"driving\"")],
     "The use 'light' has when = 'driving', but trip.driving.every_days is 0: it never runs."),
    ([("[place]", "[place]\ncoldest_night = 24")],
     "place.coldest_night is 24 °C: hardly any season's coldest night is so warm."),
    ([("[place]", "[place]\nsun_stress = 110")],
     "place.sun_stress is 110 %: more sun than the weather year has."),
    ([("[place]", "[place]\nshading = 70")],
     "place.shading is 70 %: most of the sun is lost before it reaches a panel."),
    ([("[[uses]]\nname = \"light\"\npower = 12\nhours = 4\n", "")],
     "There are no [[uses]]: not even a light takes power."),
    ([("power = 12", "power = 12\nstarting_power = 5")],
     "The use 'light' has starting_power = 5 W below its power = 12 W."),
    ([("power = 12", "power = 12\nevery_days = 8")],
     "The use 'light' has every_days = 8 and trip.nights is 7: it runs on the first day only."),
    ([("power = 12", "power = 12\nsupply = \"ac\""), ("[preferences]", "[preferences]\ninverter = false")],
     "The use 'light' has supply = 'ac', but preferences.inverter is false: no kit can run it."),
    ([("power = 12", "power = 2000"), ("[preferences]", "[preferences]\ninverter = false")],
     "The use 'light' takes 2000 W and preferences.inverter is false: check that it does run from the"
     " battery's voltage."),
    ([("power = 12", "power = 12\nsupply = \"ac\""), ('skills = ["mains_wiring"]', "skills = []")],
     "The use 'light' has supply = 'ac', but preferences.skills lacks 'mains_wiring': inverters that ask for"
     " it cannot be fitted."),
    ([('[[meals]]\nname = "supper"\nability = "boil"\nheat = 300\n', "")],
     "There are no [[meals]]: nothing that cooks will be chosen."),
    ([("heat = 300", "heat = 3500")],
     "The meal 'supper' has heat = 3500 Wh for 2 people: that boils more than a dozen litres of water for"
     " each."),
    ([("[comfort]", "[supplies]\nwater_per_person_day = 0\n\n[comfort]")],
     "supplies.water_per_person_day is 0: nobody drinks."),
    ([("[comfort]", "[supplies]\nfood_per_person_day = 0\n\n[comfort]")],
     "supplies.food_per_person_day is 0: no food is carried."),
    ([("[comfort]", "[supplies]\ngear = 0\n\n[comfort]")],
     "supplies.gear is 0: no clothes, no tools, no bedding count against the payload."),
    ([("[comfort]", "[supplies]\ntoilet = false\ntoilet_visits_per_person_day = 3\n\n[comfort]")],
     "supplies.toilet_visits_per_person_day is 3, but supplies.toilet is false."),
    ([("[comfort]", "[comfort]\nheating = false"), ("[place]", "[place]\ncoldest_night = 4")],
     "comfort.heating is false, but place.coldest_night is 4 °C: nothing heats the van."),
    ([("[comfort]", "[comfort]\nnight_temperature = 20")],
     "comfort.night_temperature is 20 °C and comfort.day_temperature 18 °C: the night is warmer."),
    ([("[comfort]", "[comfort]\nroof_fan = false\nfan_hours = 3")],
     "comfort.fan_hours is 3, but comfort.roof_fan is false: no fan runs."),
    ([("budget = 9000", "budget = 499")],
     "limits.budget is $499: that hardly buys a battery and a panel."),
    ([("budget = 9000", "budget = 9000\npanels = 0")],
     "limits.panels is 0: no solar panel can be chosen."),
    ([("budget = 9000", "budget = 9000\nparking_length = 4900")],
     "limits.parking_length is 4900 mm and vehicle.length 5000 mm: the van alone is longer than the space."),
    ([("budget = 9000", "budget = 9000\noverall_height = 1900")],
     "limits.overall_height is 1900 mm and vehicle.height 1960 mm: the bare van is too high already."),
    ([("[preferences]", "[preferences]\nreserve = 0")],
     "preferences.reserve is 0 %: the battery may be run down to its last usable watt-hour."),
    ([("[preferences]", "[preferences]\ngoal = \"lightest\"")],
     "preferences.goal and preferences.tie_break are both 'lightest': no tie is broken by it."),
    ([("[preferences]", "[preferences]\nowned = [{part = \"bat-a\"}]\nrefused = [\"bat-a\"]")],
     "The part 'bat-a' is in preferences.owned and in preferences.refused: it will not be used."),
    ([("[preferences]", "[preferences]\nown_kinds = [{name = \"bike\", file = \"b.csv\", at_most = 2}]")],
     "The own kind 'bike' has at_most = 2, which counts only with choose = 'any'."),
    ([("gross_mass = 2800", "gross_mass = 1800")],
     "vehicle.gross_mass is 1800 kg, but the van as weighed with people, fittings, supplies.gear and"
     " limits.payload_margin comes to 1810 kg before any part is in it."),
    ([("gross_mass = 2800", "gross_mass = 3100")],
     "vehicle.front_axle_rating and rear_axle_rating add up to 3000 kg, less than vehicle.gross_mass = 3100"
     " kg, which can never be reached."),
    ([("seat = \"right\"\n", "")],
     "1 of 2 people have no seat, though [[vehicle.seats]] names 2: the axle loads cannot tell where they"
     " travel."),
    ([("height = 380", "height = 99")],
     "The bay 'under the bed' has height = 99 mm: hardly any part is that small."),
    ([("height = 380", "height = 380\ndoor_width = 1300\ndoor_height = 300")],
     "The bay 'under the bed' has door_width = 1300 mm, wider than the bay."),
    ([("height = 380", "height = 380\ndoor_width = 1000\ndoor_height = 400")],
     "The bay 'under the bed' has door_height = 400 mm, higher than the bay."),
    ([("height = 380", "height = 380\ntags = []")],
     "The bay 'under the bed' has no tags: no part can live in it."),
    ([("x = 2900", "x = 4200")],
     "The bay 'under the bed' has x = 4200 mm, outside of the van, which reaches from -900 mm to 4100 mm."),
    ([("length = 2500", "length = 5100")],
     "vehicle.roof.length is 5100 mm and vehicle.length 5000 mm: the roof is longer than the van."),
    ([("width = 1350", "width = 1350\nedge_margin = 675")],
     "vehicle.roof.edge_margin is 675 mm: nothing of the roof is left between the edges."),
    ([("width = 1350", "width = 1350\nedge_margin = 75\ncurve = 600")],
     "vehicle.roof.edge_margin is 75 mm and vehicle.roof.curve 600 mm: nothing of the roof is left between the edges."),
    ([ONE_FLAT, ("width = 1350", "width = 1350\nedge_margin = 250")],
     "vehicle.roof.edge_margin is 250 mm: nothing of the flat part 'rear' is left between its edges."),
    ([("width = 1350", "width = 1350\nfan_x = 100\nfan_y = 300")],
     "The roof fan's place (vehicle.roof.fan_x, fan_y) is on the obstacle 'aerial': none fits."),
    ([A_LANE, ("width = 1350", "width = 1350\nfan_x = 951\nfan_y = 300")],
     "The roof fan's place (vehicle.roof.fan_x, fan_y) is in the lane 'aisle': none fits."),
]  # fmt: skip

# Just inside of what is odd: nothing is said.
PLAIN: list[list[tuple[str, str]]] = [
    [("sunless_days = 1", "sunless_days = 0\ncoverage = 80")],
    [("sunless_days = 1", "sunless_days = 0.5")],
    [("every_days = 2", "every_days = 7")],
    [("hours = 1.5", "hours = 2\nstart_hour = 22")],
    [("[place]", "[place]\ncoldest_night = 20")],
    [("[place]", "[place]\nsun_stress = 100\nshading = 60")],
    [("power = 12", "power = 12\nstarting_power = 12\nevery_days = 7")],
    [("power = 12", "power = 1999"), ("[preferences]", "[preferences]\ninverter = false")],
    [("power = 12", "power = 3000\nsupply = \"ac\"")],
    [("heat = 300", "heat = 3000")],
    [("[comfort]", "[comfort]\nheating = false"), ("[place]", "[place]\ncoldest_night = 5")],
    [("[comfort]", "[comfort]\nnight_temperature = 18")],
    [("[comfort]", "[comfort]\nroof_fan = false")],
    [("[comfort]", "[supplies]\ntoilet = false\n\n[comfort]")],
    [("budget = 9000", "budget = 500\nparking_length = 5000\noverall_height = 1960")],
    [("gross_mass = 2800", "gross_mass = 1810")],
    [("gross_mass = 2800", "gross_mass = 3000")],
    [("height = 380", "height = 100\ndoor_width = 1200\ndoor_height = 100")],
    [("x = 2900", "x = 4100")],
    [("x = 2900", "x = 4300\ntags = [\"rear_hang\"]")],
    [("length = 2500", "length = 5000")],
    [("width = 1350", "width = 1350\nedge_margin = 674")],
    [("width = 1350", "width = 1350\nedge_margin = 74\ncurve = 600")],
    [ONE_FLAT, ("width = 1350", "width = 1350\nedge_margin = 249")],
    [("width = 1350", "width = 1350\nfan_x = 110\nfan_y = 300")],
    [("width = 1350", "width = 1350\nfan_x = 100\nfan_y = 710")],
    [A_LANE, ("width = 1350", "width = 1350\nfan_x = 950\nfan_y = 300")],
    [A_LANE, ("width = 1350", "width = 1350\nfan_x = 1650\nfan_y = 300")],
]
BODY = (
    "name = \"walls\"\narea = 8.5",
    "name = \"walls\"\narea = 8.5\n\n[[vehicle.surfaces]]\nname = \"roof\"\narea = 4\nfacing = \"up\"\n\n"
    "[[vehicle.surfaces]]\nname = \"floor\"\narea = 4\nkind = \"floor\"\nfacing = \"down\"",
)


def notes(*edits: tuple[str, str], coldest_hour: float | None = None) -> list[str]:
    """The notes on the good brief with a whole body and these changes; it must be free of faults."""
    brief = brief_from_dict(tomllib.loads(changed(BODY, *edits)))
    assert consistency_faults(brief) == []
    return oddities(brief, coldest_hour)


def test_a_plain_brief_is_not_odd() -> None:
    """Nothing is said about a brief with nothing odd."""
    assert notes() == []


@pytest.mark.parametrize(("edits", "sentence"), ODD, ids=[sentence[:40] for _, sentence in ODD])
def test_what_is_odd_is_said(edits: list[tuple[str, str]], sentence: str) -> None:
    """Each oddity has exactly this sentence, which names key and value."""
    assert sentence in notes(*edits)


@pytest.mark.parametrize("edits", PLAIN, ids=[str(place) for place in range(len(PLAIN))])
def test_just_inside_is_not_odd(edits: list[tuple[str, str]]) -> None:
    """What is just inside is not called odd."""
    assert notes(*edits) == []


def test_missing_surfaces_are_odd() -> None:
    """A body without roof or floor loses no heat there, which is said."""
    assert oddities(brief_from_dict(tomllib.loads(GOOD))) == [
        "None of the [[vehicle.surfaces]] has facing = 'up': the roof loses no heat.",
        "None of the [[vehicle.surfaces]] has facing = 'down': the floor loses no heat.",
    ]


def test_no_bays_is_odd() -> None:
    """A van without bays has no place for most parts."""
    start, end = GOOD.index(BAY), GOOD.index("[[vehicle.seats]]")
    text = GOOD[:start] + GOOD[end:]
    assert (
        "There are no [[vehicle.bays]]: whether parts fit inside is not looked at, and each counts in full on"
        " both axles."
    ) in oddities(
        brief_from_dict(tomllib.loads(text))
    )


def test_coldest_night_against_the_weather() -> None:
    """A coldest night far above the coldest hour of the weather is odd; a little above is not."""
    night = ("[place]", "[place]\ncoldest_night = 2")
    assert notes(night, coldest_hour=-3.0) == []
    assert notes(night, coldest_hour=-3.1) == [
        "place.coldest_night is 2 °C, but the weather of the season goes down to -3.1 °C."
    ]


def test_notes_follow_the_units_of_the_brief() -> None:
    """A brief in US units is spoken of in US units."""
    edits = [('name = "short"', 'units = "us"'), ("budget = 9000", 'budget = 9000\nparking_length = "16 ft"')]
    assert notes(*edits) == [
        "limits.parking_length is 16 ft and vehicle.length 16 ft 4 7/8 in: the van alone is longer than the"
        " space."
    ]
