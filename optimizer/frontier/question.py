"""One question of a frontier, and the number that stands for two goals at once.

On the road: inside ``frontier``, beneath asking.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from optimizer.choosing.aims import LARGEST_SUM
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.solve import Answer
from optimizer.choosing.store import Level
from optimizer.choosing.walls import Judge, Outlook, Wall
from optimizer.frontier.zones import Vector
from optimizer.problem.records import Kit

Value = Callable[[Vector], int]


@dataclass(frozen=True)
class Joined:
    """One goal, then the sum of the others, as one number to make small."""

    expression: Any
    weight: int
    leader: int
    """Place of the goal that comes first."""
    others: tuple[int, ...]
    most: int
    """What the others come to together at most."""

    def value(self, vector: Vector) -> int:
        """The number of a point."""
        return self.weight * vector[self.leader] + sum(vector[place] for place in self.others)

    def first_at_least(self, bound: int) -> int:
        """What the first goal cannot be below when the joined number is not below ``bound``."""
        return -((self.most - bound) // self.weight)


def joined_as(
    order: Sequence[int], spans: Sequence[tuple[int, int] | None], expressions: Sequence[Any]
) -> Joined | None:
    """The goal at the first of these places before the sum of those at the others; None where it may be too large.

    ``spans`` are between which integers each goal lies, None where that is not known; ``expressions`` a model's goals.
    """
    leader, *others = order
    leading, known = spans[leader], [span for place in others if (span := spans[place]) is not None]
    if leading is None or len(known) < len(others):
        return None
    weight = sum(high - low for low, high in known) + 1
    if weight * max(1, *map(abs, leading)) + sum(max(map(abs, span)) for span in known) > LARGEST_SUM:
        return None
    expression = weight * expressions[leader] + sum(expressions[place] for place in others)
    return Joined(expression, weight, leader, tuple(others), sum(high for _, high in known))


class Paused(Answer):
    """A stage left for now after as many rounds as it had; what was learnt stays."""


@dataclass(frozen=True)
class Question:
    """A stage: what is made small, within which bounds, judged how."""

    objective: Any
    value: Value | None
    limits: tuple[int, ...]
    allowed: int
    judges: tuple[Judge, ...]
    outlook: Callable[[], Outlook]
    """Worked out when a kit first fails: mostly none does."""

    def holds(self, vector: Vector) -> bool:
        """Whether a point is within the limits."""
        return all(number <= limit for number, limit in zip(vector, self.limits, strict=True))

    def passes(self, kit: Kit) -> bool:
        """Whether every judge lets a kit pass."""
        return all(judge.passes(kit) for judge in self.judges)

    def walls_of(self, kit: Kit) -> list[Wall]:
        """Of the first judge that the kit does not pass: the later ones are dearer to ask."""
        judge = next((judge for judge in self.judges if not judge.passes(kit)), None)
        return [] if judge is None else list(judge.walls(kit, self.outlook()))


class Trips(Protocol):
    """A judge for each number of departures that may fall short."""

    most: int
    """The largest number the brief allows."""

    def short(self, kit: Kit) -> int:
        """How many departures a kit leaves short."""

    def judge(self, allowed: int) -> Lifter:
        """Passes what leaves at most so many short."""

    def known(self) -> Iterable[tuple[Wall, int]]:
        """Walls that earlier runs found, and up to how many short departures each stands."""

    def told(self, levels: Iterable[Level]) -> Iterable[tuple[Wall, int]]:
        """Walls that levels found elsewhere come to, as far as they are new; they are kept."""
