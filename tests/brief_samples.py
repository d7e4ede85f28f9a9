"""A short good brief for the tests of the brief's door; every line of it is a place for a fault."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.brief.brief import Brief
from optimizer.brief.consistency import clashes
from optimizer.brief.findings import as_fault
from optimizer.errors import Fault

GOOD = """\
name = "short"

[[people]]
name = "one"
seat = "left"

[[people]]
name = "two"
seat = "right"

[trip]
nights = 7
season_from = "04-15"
season_to = "10-15"
sunless_days = 1

[trip.driving]
every_days = 2
hours = 1.5

[place]
weather = ["station:723170"]

[[uses]]
name = "light"
power = 12
hours = 4

[[meals]]
name = "supper"
ability = "boil"
heat = 300

[comfort]
night_from = 22
night_to = 7

[vehicle]
gross_mass = 2800
front_axle_rating = 1450
rear_axle_rating = 1550
front_axle_mass = 930
rear_axle_mass = 690
wheelbase = 3050
length = 5000
height = 1960
alternator_current = 150
air_volume = 7.5

[vehicle.roof]
length = 2500
width = 1350
load = 120

[[vehicle.roof.obstacles]]
name = "aerial"
x = 40
y = 640
length = 70
width = 70

[[vehicle.surfaces]]
name = "walls"
area = 8.5

[[vehicle.bays]]
name = "under the bed"
length = 1200
width = 1200
height = 380
x = 2900
load = 250

[[vehicle.bays]]
name = "galley"
length = 1000
width = 460
height = 800
x = 1500
load = 120

[[vehicle.seats]]
name = "left"
x = 700

[[vehicle.seats]]
name = "right"
x = 700

[limits]
budget = 9000

[preferences]
skills = ["mains_wiring"]
"""


def changed(*edits: tuple[str, str]) -> str:
    """The good brief with each text replaced once; the text must be there."""
    text = GOOD
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def consistency_faults(brief: Brief, file: str = "brief", known_limits: Sequence[str] | None = None) -> list[Fault]:
    """Every contradiction of a brief as a fault without a line."""
    data = brief.model_dump()
    return sorted({as_fault(clash, file, data, None) for clash in clashes(brief, known_limits)})
