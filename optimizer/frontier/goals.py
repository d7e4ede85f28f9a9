"""What can be traded against what: each goal as a model expression and, apart, as plain arithmetic.

On the road: inside ``frontier``. Inside the method every goal is an integer of which less is better; a goal
that wants more is negated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from optimizer.choosing.variables import ModelVariables
from optimizer.errors import UsageError, nearest
from optimizer.parts.catalog import Catalog
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.units import demand_up, supply_down

MOST, LEAST = "most:", "least:"
ON_ROOF = ("solar_panel", "roof_fan")
BAY_AMOUNT = "frontier_bay_ml"
ML_PER_MM3 = 1e-3


@dataclass(frozen=True)
class Axis:
    """One goal of a frontier."""

    slug: str
    unit: str
    scale: int
    maximise: bool = False
    amount: str = ""
    """What is summed over the kit; empty for price, mass, nights and coverage."""
    kinds: tuple[str, ...] = ()

    @property
    def called(self) -> str:
        """What it is called in a sentence: a column of one's own without the way it is to go."""
        return self.slug.split(":", 1)[-1]

    @property
    def judged(self) -> bool:
        """Whether only the trips know the number (coverage): then it is departures that fall short."""
        return self.slug == "coverage"

    @property
    def adds_up(self) -> bool:
        """Whether the number is a sum over what is chosen, but for owned parts and what is used up."""
        return self.slug in ("price", "mass") or bool(self.amount)

    def expression(self, variables: ModelVariables) -> Any:
        """The number to make small, for a model."""
        if self.slug == "price":
            return variables.price()
        if self.slug == "mass":
            return variables.total("mass_g")
        if self.slug == "nights":
            return -sum(n * literal for n, literal in variables.nights().items())
        total = variables.total(self.amount, *self.kinds)
        return -total if self.maximise else total

    def value(self, problem: Problem, kit: Kit) -> int:
        """The number to make small, for a kit."""
        if self.slug == "price":
            return price_cents(problem, kit)
        if self.slug == "mass":
            return kit_mass_g(problem, kit)
        if self.slug == "nights":
            return -kit.nights
        total = kit.sum(problem, self.amount, *self.kinds)
        return -total if self.maximise else total

    def cost(self, group: Group, option: Option) -> int:
        """What an option adds to the number, owned parts apart."""
        if self.slug in ("price", "mass"):
            return option.price_cents if self.slug == "price" else option.mass_g
        if not self.amount or (self.kinds and group.kind not in self.kinds):
            return 0
        return -option.get(self.amount) if self.maximise else option.get(self.amount)

    def span(self, problem: Problem) -> tuple[int, int] | None:
        """Between which integers the inner number lies, whatever is chosen; None where that is not known."""
        if self.slug == "price":
            return (0, problem.need("budget_cents")) if "budget" in problem.rules else None
        if self.slug == "nights":
            return -max(problem.nights), 0
        low = high = 0
        for group in problem.groups:
            costs = [self.cost(group, option) for option in group.options] + ([] if group.needed else [0])
            low, high = low + min(costs, default=0), high + max(costs, default=0)
        return low, high

    def shown(self, value: int) -> float:
        """The inner number in the goal's unit."""
        return (-value if self.maximise else value) / self.scale


NAMED: dict[str, Axis] = {
    axis.slug: axis
    for axis in (
        Axis("price", "USD", 100),
        Axis("mass", "kg", 1000),
        Axis("nights", "nights", 1, maximise=True),
        Axis("coverage", "%", 1, maximise=True),
        Axis("battery", "Wh", 1, maximise=True, amount="usable_wh", kinds=("battery",)),
        Axis("array", "W", 1, maximise=True, amount="array_w", kinds=("solar_panel",)),
        Axis("roof", "m2", 10_000, amount="area_cm2", kinds=ON_ROOF),
        Axis("bays", "L", 1000, amount=BAY_AMOUNT),
    )
}
"""Goals by name; 'most:COLUMN' and 'least:COLUMN' besides."""


def axes_of(words: Sequence[str]) -> tuple[Axis, ...]:
    """The goals behind their names, each once. Raises UsageError."""
    axes = tuple(_axis(word.strip()) for word in words)
    if not 2 <= len(axes) <= 3:
        raise UsageError("A frontier needs two or three goals, such as --goals price,mass.")
    if len(set(axes)) < len(axes):
        raise UsageError("Each goal of a frontier must be another one.")
    return axes


def _axis(word: str) -> Axis:
    for prefix in (MOST, LEAST):
        if word.startswith(prefix) and word != prefix:
            return column_axis(word.removeprefix(prefix), maximise=prefix == MOST)
    if word not in NAMED:
        remedy = nearest(word, sorted(NAMED))
        raise UsageError(f"'{word}' is no goal; expected a name, most:COLUMN or least:COLUMN. {remedy}")
    return NAMED[word]


def column_axis(column: str, *, maximise: bool, scale: int = 1000) -> Axis:
    """A goal on the sum of a column, rounded against the kit."""
    amount = f"column_{column}_down" if maximise else f"column_{column}"
    return Axis(f"{MOST if maximise else LEAST}{column}", "", scale, maximise, amount)


def columns_of(axes: Sequence[Axis]) -> tuple[str, ...]:
    """The columns that goals sum."""
    named = (axis.slug.split(":", 1)[1] for axis in axes if ":" in axis.slug)
    return tuple(sorted(set(named)))


def with_goals(problem: Problem, catalog: Catalog, axes: Sequence[Axis], nights_at_most: int) -> Problem:
    """The problem with what the goals ask of each option, and nights left open where they are a goal."""
    columns = columns_of(axes)
    for column in columns:
        if column not in catalog.column_names:
            remedy = nearest(column, catalog.column_names)
            raise UsageError(f"No part has a column of numbers called '{column}'. {remedy}")
    if any(axis.slug == "nights" for axis in axes):
        problem = replace(problem, nights=tuple(range(1, nights_at_most + 1)))
    if not columns and not any(axis.amount == BAY_AMOUNT for axis in axes):
        return problem
    return replace(problem, groups=tuple(_measured(group, catalog, columns) for group in problem.groups))


def _measured(group: Group, catalog: Catalog, columns: Sequence[str]) -> Group:
    if group.hidden:
        return group
    return replace(group, options=tuple(_measured_option(group, o, catalog, columns) for o in group.options))


def _measured_option(group: Group, option: Option, catalog: Catalog, columns: Sequence[str]) -> Option:
    extra: dict[str, int] = {}
    for column in columns:
        total = sum(count * catalog.column(part, column) for part, count in option.parts)
        extra[f"column_{column}"] = demand_up(total, 1000)
        extra[f"column_{column}_down"] = supply_down(total, 1000)
    extra[BAY_AMOUNT] = 0 if group.kind in ON_ROOF else demand_up(_box_ml(option, catalog))
    return replace(option, amounts={**option.amounts, **{name: value for name, value in extra.items() if value}})


def _box_ml(option: Option, catalog: Catalog) -> float:
    """Outer boxes of an option's parts that must stand in a bay [mL]."""
    total = 0.0
    for part, count in option.parts:
        sizes = [catalog.column(part, name) for name in ("length_mm", "width_mm", "height_mm")]
        if getattr(catalog.any_part(part), "bay_tags", ""):
            total += count * sizes[0] * sizes[1] * sizes[2] * ML_PER_MM3
    return total
