"""How warm inside, at which hours."""

from __future__ import annotations

from pydantic import Field

from optimizer.brief.topic import Topic
from optimizer.units import Degrees, Kelvins


class Comfort(Topic):
    """Set-points and air."""

    heating: bool = Field(default=True, description="a heater is wanted")
    day_temperature: Degrees = Field(
        default=18.0, ge=-10, le=30, description="temperature inside, awake [degC]"
    )
    night_temperature: Degrees = Field(
        default=12.0, ge=-10, le=30, description="temperature inside, asleep [degC]"
    )
    night_from: int = Field(default=22, ge=0, le=23, description="hour the night begins")
    night_to: int = Field(default=7, ge=0, le=23, description="hour the night ends")
    air_changes: float = Field(default=1.0, gt=0, le=20, description="air changes an hour")
    people_heat: float = Field(default=70.0, ge=0, le=200, description="sensible heat a person gives [W]")
    roof_fan: bool = Field(default=True, description="a roof fan is wanted")
    fan_hours: float = Field(default=4.0, ge=0, le=24, description="hours a day the roof fan runs")
    heater_starts_a_day: float = Field(
        default=4.0, ge=0, le=48, description="times a day the heater starts, when it is cold"
    )
    hot_van_rise: Kelvins = Field(
        default=8.0, ge=0, le=40, description="how much warmer than outside the van gets in full sun [K]"
    )
