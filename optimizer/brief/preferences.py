"""What is best, what is owned, what must be in or out, and what the builder can do."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from optimizer.brief.topic import Name, ShortName, Topic, Wording
from optimizer.units import Percent

PartId = Annotated[str, Field(pattern=r"\S", max_length=60), Wording("the id of a part, such as 'bat-a'")]
Goal = Annotated[
    str, Field(max_length=90), Wording("'cheapest', 'lightest', 'longest' or 'most:COLUMN'")
]
Skill = Literal["mains_wiring", "gas_fitting", "cell_assembly", "roof_cutting", "body_cutting"]


class Owned(Topic):
    """Parts the person has already: free of charge, up to a count."""

    part: PartId = Field(description="the part's id")
    count: int = Field(default=1, ge=1, le=99, description="how many")


class OwnKind(Topic):
    """A kind of the author's own, read from a CSV beside the brief."""

    name: ShortName = Field(description="a short name, a-z and _")
    file: Name = Field(
        description="CSV beside the brief with id, name, price_usd, mass_kg and any other columns"
    )
    choose: Literal["exactly_one", "at_most_one", "any"] = Field(
        default="exactly_one", description="how many of its parts are chosen"
    )
    at_most: int = Field(default=1, ge=1, le=99, description="count of each part when choose = 'any'")
    each: Annotated[str, Field(max_length=80)] = Field(
        default="", description="a column of numbers: from the rows of each number it is chosen anew; empty = once"
    )


class Preferences(Topic):
    """What the person wants most, and what is given."""

    goal: Goal = Field(default="cheapest", description="'cheapest', 'lightest', 'longest' or 'most:COLUMN'")
    tie_break: Goal = Field(default="lightest", description="a second goal for equal kits")
    voltages: tuple[Literal[12, 24, 48], ...] = Field(
        default=(12,), min_length=1, max_length=3, description="bank voltages allowed [V]"
    )
    reserve: Percent = Field(
        default=10.0, ge=0, le=80, description="share of the usable battery kept back [%]"
    )
    hookup_charger: bool = Field(default=False, description="a charger for when there is a hook-up after all")
    inverter: bool = Field(default=True, description="an inverter may be fitted")
    skills: tuple[Skill, ...] = Field(
        default=(), max_length=20, description="what the builder can do or will have done"
    )
    owned: tuple[Owned, ...] = Field(default=(), max_length=500, description="parts there already, free")
    required: tuple[PartId, ...] = Field(
        default=(), max_length=500, description="part ids that must be in the kit"
    )
    refused: tuple[PartId, ...] = Field(
        default=(), max_length=2000, description="part ids that must not be in the kit"
    )
    own_kinds: tuple[OwnKind, ...] = Field(default=(), max_length=1000, description="kinds of your own")
    keep: tuple[Name, ...] = Field(
        default=(), max_length=80, description="limits the person would give up last, first = dearest"
    )
    split_bays: bool = Field(
        default=False, description="a bank or a set of containers may be spread over bays"
    )
