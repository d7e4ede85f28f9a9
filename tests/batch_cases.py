"""A brief that is quick to solve, and tables of variants of it."""

from __future__ import annotations

from pathlib import Path

BRIEF = """\
name = "small"
catalogs = ["generic"]
[[people]]
mass = 70
[trip]
nights = 4
season_from = "06-01"
season_to = "06-30"
sunless_days = 1
daily_balance = false
[place]
weather = ["station:723170"]
[[uses]]
name = "lights"
power = 12
hours = 4
[supplies]
water_per_person_day = 4
chilled = 20
toilet = false
[comfort]
heating = false
roof_fan = false
[vehicle]
gross_mass = 2900
front_axle_rating = 1600
rear_axle_rating = 1700
front_axle_mass = 1000
rear_axle_mass = 800
wheelbase = 3000
length = 4900
height = 1900
air_volume = 7
alternator_current = 120
alternator_spare = 40
[[vehicle.surfaces]]
name = "walls"
area = 15
[vehicle.roof]
length = 2500
width = 1400
load = 100
[limits]
budget = 4000
parking_length = 5200
[preferences]
inverter = false
"""
HEADING = "trip.nights,limits.budget,uses[1].power\n"
TABLE = HEADING + "4,,\n5,4000,30\n6,4000,12\n4,4000,12.0\n8,500,40 W\n9,4000,60\n"
DIFFERENT = 5
"""Rows of TABLE that ask for different things: the first and the fourth are one."""


def folder_with(path: Path, table: str = TABLE, name: str = "variants.csv") -> tuple[Path, Path]:
    """The brief and a table of variants in a folder."""
    brief, variants = path / "brief.toml", path / name
    brief.write_text(BRIEF, encoding="utf-8")
    variants.write_text(table, encoding="utf-8")
    return brief, variants
