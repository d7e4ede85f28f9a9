"""Where the trip goes: the weather years, how cold, how high, how shaded."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimizer.brief.topic import Topic, Wording
from optimizer.units import Degrees, Kelvins, Metres, Percent

WeatherName = Annotated[
    str,
    Field(pattern=r"\S", max_length=300),
    Wording("a station such as 'station:723170', or the name of a weather file"),
]


class Place(Topic):
    """The place, told by weather years; several may be named and all of them count."""

    weather: tuple[WeatherName, ...] = Field(
        min_length=1,
        max_length=40,
        description="weather years: a station 'station:723170', or a file (EPW, TMY2, TMY3, PVGIS CSV)",
    )
    altitude: Metres | None = Field(
        default=None, ge=-430, le=6000, description="height above sea level [m]; else the station's"
    )
    coldest_night: Degrees | None = Field(
        default=None, ge=-60, le=40, description="outside temperature to be warm at [degC]; else the"
        " coldest hour of the season"
    )
    hottest_day: Degrees | None = Field(
        default=None, ge=-20, le=60, description="outside temperature on the hottest day [degC]; else"
        " the hottest hour of the season"
    )
    sun_stress: Percent = Field(
        default=100.0, gt=0, le=120, description="share of the weather year's sun to count on [%]"
    )
    colder_by: Kelvins = Field(
        default=0.0, ge=0, le=20, description="take every hour so much colder [K]"
    )
    shading: Percent = Field(
        default=0.0, ge=0, lt=100, description="share of the sun lost to trees and hills [%]"
    )
    soiling: Percent = Field(default=3.0, ge=0, lt=100, description="share of the sun lost to dirt [%]")
