"""The whole brief: one frozen record, the first of the three that bound the core."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from optimizer.brief.comfort import Comfort
from optimizer.brief.limits import Limits
from optimizer.brief.place import Place
from optimizer.brief.preferences import Preferences
from optimizer.brief.topic import Topic, Wording
from optimizer.brief.trip import Person, Trip
from optimizer.brief.uses import Meal, Supplies, Use
from optimizer.brief.vehicle import Vehicle

CatalogName = Annotated[
    str, Field(pattern=r"\S", max_length=300), Wording("'generic' or the name of a folder of CSV files")
]


MOST_PEOPLE = 9


class Brief(Topic):
    """What the person asks for."""

    name: str = Field(default="", max_length=120, description="a title for the output")
    units: Literal["metric", "us"] = Field(default="metric", description="units of the output")
    catalogs: tuple[CatalogName, ...] = Field(
        default=("generic",), min_length=1, max_length=20,
        description="'generic', or folders of CSV files; later ones override earlier ones",
    )
    people: tuple[Person, ...] = Field(min_length=1, max_length=MOST_PEOPLE, description="who lives in the van")
    trip: Trip = Field(description="how long, when, how sure")
    place: Place = Field(description="where it goes")
    uses: tuple[Use, ...] = Field(default=(), max_length=200, description="what takes power")
    meals: tuple[Meal, ...] = Field(default=(), max_length=60, description="what is cooked")
    supplies: Supplies = Field(default=Supplies(), description="water, waste and food")
    comfort: Comfort = Field(default=Comfort(), description="how warm inside")
    vehicle: Vehicle = Field(description="the van as it stands")
    limits: Limits = Field(description="what may not be passed")
    preferences: Preferences = Field(default=Preferences(), description="what is best, owned, required")
