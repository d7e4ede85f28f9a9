"""The values of the starter brief: an invented small van for two, made to be changed.

On the road: inside ``brief``, behind ``starter``. No existing vehicle is described. ``SAMPLE`` is what
the file sets; ``ASIDE`` is what it shows behind a '#', for keys that most briefs leave alone.
"""

from __future__ import annotations

from typing import Any

SAMPLE: dict[str, Any] = {
    "name": "Two people, one week",
    "people": [
        {"name": "first", "mass": 78, "seat": "driver"},
        {"name": "second", "mass": 66, "seat": "passenger"},
    ],
    "trip": {
        "nights": 7, "season_from": "04-15", "season_to": "10-15", "sunless_days": 1, "coverage": 95,
        "driving": {"every_days": 3, "hours": 1.5, "start_hour": 10},
    },
    "place": {"weather": ["station:723170"], "coldest_night": "25 degF", "shading": 10},
    "uses": [
        {"name": "lights", "power": 12, "hours": 4, "start_hour": 19},
        {"name": "phones", "power": 10, "hours": 2, "count": 2},
        {"name": "laptop", "power": 45, "hours": "2 h 30 min", "start_hour": 14, "when": "parked"},
        {"name": "water pump", "power": 50, "hours": "12 min"},
    ],
    "meals": [
        {"name": "tea and porridge", "ability": "boil", "heat": 220, "hour": 8},
        {"name": "supper", "ability": "fry", "heat": 350, "hour": 18},
    ],
    "supplies": {"water_per_person_day": "1.5 gal", "chilled": 30, "food_per_person_day": 1.2, "gear": 60},
    "comfort": {"day_temperature": 18, "night_temperature": 12, "night_from": 22, "night_to": 7},
    "vehicle": {
        "name": "small van", "gross_mass": 2800, "front_axle_rating": 1450, "rear_axle_rating": 1550,
        "front_axle_mass": 930, "rear_axle_mass": 690, "wheelbase": 3050, "length": "16 ft 4 in",
        "front_overhang": 920, "height": 1960, "fuel": "diesel", "fuel_for_heater": 15,
        "alternator_current": 150, "air_volume": 7.5,
        "roof": {
            "length": 2500, "width": 1350, "load": 120, "x": 500,
            "obstacles": [{"name": "aerial", "x": 40, "y": 640, "length": 70, "width": 70}],
        },
        "surfaces": [
            {"name": "side walls", "area": 8.5, "kind": "insulated", "facing": "side"},
            {"name": "roof", "area": 4.2, "kind": "insulated", "facing": "up"},
            {"name": "floor", "area": 4.2, "kind": "floor", "facing": "down"},
            {"name": "windows", "area": 2.4, "kind": "glass", "facing": "side"},
            {"name": "rear doors", "area": 2.0, "kind": "door", "facing": "side"},
        ],
        "bays": [
            {"name": "under the bed", "length": 1200, "width": 1200, "height": 380, "x": 2900, "z": 560,
             "load": 250, "tags": ["inside", "warm"]},
            {"name": "galley", "length": 1000, "width": 460, "height": 800, "x": 1500, "y": -450, "z": 560,
             "load": 120, "tags": ["inside", "warm", "vented"]},
            {"name": "under the floor", "length": 700, "width": 420, "height": 260, "x": 2200, "y": 400,
             "z": 260, "load": 90, "tags": ["outside", "drained"]},
            {"name": "gas locker", "length": 350, "width": 350, "height": 520, "x": 3500, "y": 480,
             "z": 560, "load": 30, "tags": ["gas_locker"]},
        ],
        "seats": [{"name": "driver", "x": 700, "y": -400}, {"name": "passenger", "x": 700, "y": 400}],
        "fittings": [
            {"name": "bed", "mass": 45, "x": 2900}, {"name": "cabinets", "mass": 60, "x": 1700, "y": -300},
        ],
    },
    "limits": {"budget": "$9,000", "payload_margin": 50, "parking_length": "17 ft 6 in"},
    "preferences": {"skills": ["mains_wiring", "roof_cutting", "body_cutting"]},
}  # fmt: skip

ASIDE: dict[str, Any] = {
    "trip": {"daily_balance": False},
    "place": {"altitude": "1500 ft", "hottest_day": 35},
    "uses": {"start_hour": 7},
    "supplies": {"gear_x": 2400, "food_x": 1500},
    "vehicle": {
        "starter_y": -500,
        "roof": {
            "curve": 60, "fan_x": 900, "fan_y": 480,
            "flats": {"name": "behind the step", "x": 800, "y": 0, "length": 1700, "width": 1350},
            "lanes": {"name": "way to the fan", "side": "left", "start": 0, "width": 350},
        },
        "bays": {"door_width": 600, "door_height": 350},
    },
    "limits": {
        "overall_height": "7 ft",
        "own": {"name": "noise", "column": "own_noise_db", "at_most": 200, "at_least": 0, "unit": "dB"},
    },
    "preferences": {
        "owned": {"part": "id-of-a-part", "count": 1},
        "own_kinds": {"name": "bicycle", "file": "bicycle.csv", "choose": "any", "at_most": 2},
        "required": ["id-of-a-part"],
        "refused": ["id-of-another-part"],
        "keep": ["payload", "budget"],
    },
}
