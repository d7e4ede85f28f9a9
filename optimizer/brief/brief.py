"""The whole brief: one frozen record, the first of the three that bound the core."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from optimizer.brief.comfort import Comfort
from optimizer.brief.limits import Limits
from optimizer.brief.place import Place
from optimizer.brief.preferences import Preferences
from optimizer.brief.topic import Topic
from optimizer.brief.trip import Person, Trip
from optimizer.brief.uses import Meal, Supplies, Use
from optimizer.brief.vehicle import Vehicle


class Brief(Topic):
    """What the person asks for."""

    name: str = Field(default="", description="a title for the output")
    units: Literal["metric", "us"] = Field(default="metric", description="units of the output")
    catalogs: tuple[str, ...] = Field(
        default=("generic",), min_length=1,
        description="'generic', or folders of CSV files; later ones override earlier ones",
    )
    people: tuple[Person, ...] = Field(min_length=1, max_length=9)
    trip: Trip
    place: Place
    uses: tuple[Use, ...] = ()
    meals: tuple[Meal, ...] = ()
    supplies: Supplies = Supplies()
    comfort: Comfort = Comfort()
    vehicle: Vehicle
    limits: Limits
    preferences: Preferences = Preferences()
