"""What may not be passed: money, mass, length, height, and limits of the author's own."""

from __future__ import annotations

from pydantic import Field

from optimizer.brief.topic import ShortName, Topic
from optimizer.units import Dollars, Kilograms, Millimetres


class OwnLimit(Topic):
    """A limit on the sum of a column over everything chosen."""

    name: ShortName = Field(description="a short name, a-z and _")
    column: str = Field(min_length=1, max_length=80, description="the column that is summed")
    at_most: float | None = Field(default=None, ge=-1e9, le=1e9, description="the sum may not pass this")
    at_least: float | None = Field(default=None, ge=-1e9, le=1e9, description="the sum must reach this")
    unit: str = Field(default="", max_length=20, description="unit shown in the output")


class Limits(Topic):
    """Budget, margins, lengths."""

    budget: Dollars = Field(gt=0, le=1_000_000, description="money for everything bought [USD]")
    payload_margin: Kilograms = Field(default=0.0, ge=0, le=1000, description="kept free of the rating [kg]")
    parking_length: Millimetres = Field(
        default=5500.0, gt=1000, le=20000, description="space to park in [mm]"
    )
    overall_height: Millimetres | None = Field(
        default=None, gt=500, le=4500, description="lowest door or barrier to pass [mm]; left out, 10 m"
    )
    arrays: int = Field(default=1, ge=1, le=2, description="solar controllers at most, one panel type each")
    panels: int = Field(default=6, ge=0, le=24, description="panels a controller at most")
    parallel_batteries: int = Field(
        default=4, ge=1, le=16, description="battery strings side by side at most"
    )
    own: tuple[OwnLimit, ...] = Field(default=(), max_length=40, description="limits of your own")
