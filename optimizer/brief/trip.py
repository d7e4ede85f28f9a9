"""Who goes, for how long, in which season, and how often the engine runs."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field

from optimizer.brief.topic import Topic, Wording
from optimizer.quantities import QuantityError
from optimizer.units import Hours, Kilograms, Percent

LEAST_COVERAGE = 50
"""The least that ``coverage`` may be [%]."""
_MONTH_DAY = "a day of the year as 'MM-DD', such as '06-15'"
_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _month_day(text: str) -> str:
    match = re.fullmatch(r"([0-9]{2})-([0-9]{2})", text)
    if match:
        month, day = int(match[1]), int(match[2])
        if 1 <= month <= 12 and 1 <= day <= _DAYS[month - 1]:
            return text
        if (month, day) == (2, 29):
            raise QuantityError(_MONTH_DAY, "A weather year has no leap day: write '02-28' or '03-01'.")
    raise ValueError(_MONTH_DAY)


MonthDay = Annotated[str, AfterValidator(_month_day), Wording(_MONTH_DAY)]


class Person(Topic):
    """One of the people who live in the van."""

    name: str = Field(default="", max_length=80, description="what to call them in the output")
    mass: Kilograms = Field(default=75.0, gt=0, le=300, description="body mass [kg]")
    seat: str = Field(default="", max_length=80, description="name of the vehicle's seat they travel on")


class Driving(Topic):
    """When the engine runs: the alternator charges only then."""

    every_days: int = Field(default=0, ge=0, le=60, description="a drive each so many days; 0 = never")
    hours: Hours = Field(default=0.0, ge=0, le=16, description="length of each drive [h]")
    start_hour: int = Field(default=10, ge=0, le=23, description="hour of the day the drive begins")


class Trip(Topic):
    """The trip: nights between resupplies, the season, and how sure it must be."""

    nights: int = Field(ge=1, le=120, description="nights between resupplies")
    nights_at_most: int = Field(
        default=60, ge=1, le=120, description="upper end when the goal is the longest stay"
    )
    season_from: MonthDay = Field(description="first departure day, 'MM-DD'")
    season_to: MonthDay = Field(description="last departure day, 'MM-DD'")
    sunless_days: float = Field(
        default=0.0, ge=0, le=14, description="days the battery alone must carry"
    )
    coverage: Percent | None = Field(
        default=None,
        ge=LEAST_COVERAGE,
        le=100,
        description="share of departures whose whole trip must run short of nothing [%];"
        " left out, no hour-by-hour trips are asked for",
    )
    daily_balance: bool | None = Field(
        default=None,
        description="ask that the mean day of each month breaks even; by default only when no"
        " coverage is asked for",
    )
    driving: Driving = Field(default=Driving(), description="when the engine runs")

    @property
    def wants_daily_balance(self) -> bool:
        """Whether the mean day of each month must break even."""
        return self.coverage is None if self.daily_balance is None else self.daily_balance
