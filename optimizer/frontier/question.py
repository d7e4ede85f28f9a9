"""One question of a frontier, and the number that stands for two goals at once.

On the road: inside ``frontier``, beneath asking.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from optimizer.choosing.walls import Judge, Outlook, Wall
from optimizer.frontier.zones import Vector
from optimizer.problem.records import Kit

Value = Callable[[Vector], int]


@dataclass(frozen=True)
class Joined:
    """The first goal and the sum of the others as one number to make small."""

    expression: Any
    weight: int
    others: tuple[int, ...]
    most: int
    """What the others come to together at most."""

    def value(self, vector: Vector) -> int:
        """The number of a point."""
        return self.weight * vector[0] + sum(vector[place] for place in self.others)

    def first_at_least(self, bound: int) -> int:
        """What the first goal cannot be below when the joined number is not below ``bound``."""
        return -((self.most - bound) // self.weight)


@dataclass(frozen=True)
class Question:
    """A stage: what is made small, within which bounds, judged how."""

    objective: Any
    value: Value | None
    limits: tuple[int, ...]
    allowed: int
    judges: tuple[Judge, ...]
    outlook: Outlook

    def holds(self, vector: Vector) -> bool:
        """Whether a point is within the limits."""
        return all(number <= limit for number, limit in zip(vector, self.limits, strict=True))

    def passes(self, kit: Kit) -> bool:
        """Whether every judge lets a kit pass."""
        return all(judge.passes(kit) for judge in self.judges)

    def walls_of(self, kit: Kit) -> list[Wall]:
        """Of the first judge that the kit does not pass: the later ones are dearer to ask."""
        judge = next((judge for judge in self.judges if not judge.passes(kit)), None)
        return [] if judge is None else list(judge.walls(kit, self.outlook))
