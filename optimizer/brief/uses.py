"""What takes power, what is cooked, and what is drunk, chilled and carried away."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from optimizer.brief.topic import Name, Topic
from optimizer.units import Hours, Kilograms, Litres, Millimetres, WattHours, Watts

Ability = Literal["boil", "fry", "grill", "slow_cook", "bake"]
When = Literal["parked", "driving", "always"]
Supply = Literal["dc", "ac"]


class Use(Topic):
    """One thing that takes power."""

    name: Name = Field(description="what it is")
    power: Watts = Field(gt=0, le=10000, description="power while running [W]")
    hours: Hours = Field(gt=0, le=24, description="running hours a day [h]")
    start_hour: int | None = Field(
        default=None, ge=0, le=23, description="hour it is switched on; left out, spread over the day"
    )
    count: int = Field(default=1, ge=1, le=50, description="how many of them")
    supply: Supply = Field(default="dc", description="'dc' from the battery or 'ac' through the inverter")
    when: When = Field(default="always", description="'parked' days only, 'driving' days only, or 'always'")
    starting_power: Watts = Field(
        default=0.0, ge=0, le=30000, description="power for a moment at the start [W]"
    )
    every_days: int = Field(default=1, ge=1, le=30, description="wanted once each so many days")
    alone: bool = Field(
        default=False, description="never runs together with another 'alone' use or meal"
    )


class Meal(Topic):
    """One meal, for everybody together."""

    name: Name = Field(description="what it is")
    ability: Ability = Field(description="boil, fry, grill, slow_cook or bake")
    heat: WattHours = Field(gt=0, le=5000, description="useful heat into the food, all people [Wh]")
    hour: int = Field(default=18, ge=0, le=23, description="hour of the day it is cooked")
    every_days: int = Field(default=1, ge=1, le=30, description="wanted once each so many days")


class Supplies(Topic):
    """Water, waste and food."""

    water_per_person_day: Litres = Field(
        default=6.0, ge=0, le=100, description="water a person takes a day [L]"
    )
    other_water_day: Litres = Field(
        default=0.0, ge=0, le=200, description="water for pets, plants ... a day [L]"
    )
    grey_share: float = Field(
        default=0.7, ge=0, le=1, description="share of the water that must be kept as waste, 0 to 1"
    )
    toilet: bool = Field(default=True, description="a toilet on board")
    toilet_visits_per_person_day: float = Field(
        default=4.0, ge=0, le=20, description="toilet visits a person a day"
    )
    chilled: Litres = Field(default=0.0, ge=0, le=500, description="chilled food at once [L]")
    frozen: Litres = Field(default=0.0, ge=0, le=500, description="frozen food at once [L]")
    food_per_person_day: Kilograms = Field(
        default=1.2, ge=0, le=10, description="packed food a person a day [kg]"
    )
    gear: Kilograms = Field(default=40.0, ge=0, le=1000, description="clothes, tools, bicycles ... [kg]")
    gear_x: Millimetres | None = Field(
        default=None, ge=-4000, le=14000,
        description="where gear is, aft from the front axle [mm]; left out, it counts in full on both axles",
    )
    gear_y: Millimetres = Field(
        default=0.0, ge=-1500, le=1500, description="where gear is, right of the centre line [mm]"
    )
    food_x: Millimetres | None = Field(
        default=None, ge=-4000, le=14000,
        description="where food is, aft from the front axle [mm]; left out, it counts in full on both axles",
    )
    food_y: Millimetres = Field(
        default=0.0, ge=-1500, le=1500, description="where food is, right of the centre line [mm]"
    )
