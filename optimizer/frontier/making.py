"""What an asker of kits is made of, so that another process can make its own.

On the road: inside ``frontier``, between ``run`` and asking.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from optimizer.choosing.effects import Effects
from optimizer.choosing.order import id_weight
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.coverage import TripsByCoverage
from optimizer.frontier.goals import Axis
from optimizer.places.judge import Places
from optimizer.problem.dominance import without_dominated
from optimizer.problem.records import Group, Option, Problem
from optimizer.trips.scene import Scene


@dataclass(frozen=True, eq=False)
class Making:
    """A problem without options that never matter, its goals, its trips."""

    problem: Problem
    axes: tuple[Axis, ...]
    scene: Scene | None
    """None where no trips are asked for."""
    allowed: int
    """How many departures may fall short."""
    settings: Settings

    def asker(
        self, places: Places | None, store: LevelStore | None, report: Callable[[str], None] | None = None
    ) -> KitAsker:
        """An asker; ``places`` are judged besides, levels of ``store`` are known to it."""
        trips = None
        if self.scene is not None:
            cost = blended_cost(self.problem, self.axes)
            trips = TripsByCoverage(Effects(self.problem, self.scene), self.allowed, cost, store)
        judges = [places] if places is not None else []
        return KitAsker(self.problem, self.axes, trips, judges, self.settings, report=report)

    def turned(self) -> Making:
        """The same with the goals the other way round."""
        return replace(self, axes=self.axes[::-1])


def smaller(problem: Problem, axes: Sequence[Axis]) -> Problem:
    """The problem without options that can never be in a trade-off."""
    return without_dominated(problem, order_by(axes)).problem


def order_by(axes: Sequence[Axis]) -> Callable[[Group, Option], tuple[int, ...]]:
    """By which options are told apart when those that never matter are left out."""

    def order(group: Group, option: Option) -> tuple[int, ...]:
        costs = tuple(axis.cost(group, option) for axis in axes)
        return (*costs, id_weight(group.name, option.key), option.price_cents)

    return order


def blended_cost(problem: Problem, axes: Sequence[Axis]) -> Callable[[Option], int]:
    """What an option costs, by price and mass alike where both are goals.

    The trips push failing kits over in this order. By the first goal alone the walls would be weak wherever
    the other goal is what counts.
    """
    names = {axis.slug for axis in axes}
    if "mass" not in names:
        return lambda option: option.price_cents
    if "price" not in names:
        return lambda option: option.mass_g
    options = [option for group in problem.groups for option in group.options]
    cents, grams = sum(option.price_cents for option in options), sum(option.mass_g for option in options)
    return lambda option: option.price_cents + option.mass_g * cents // max(1, grams)
