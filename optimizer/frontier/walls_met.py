"""Walls met so far over all questions of a frontier, each told once and only while it says something.

On the road: inside ``frontier``, beside asking. A wall whose ways out are all among another's makes the other
say nothing; a third of all walls goes that way, and every solve is quicker for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Sum, Wall, clause


@dataclass(frozen=True)
class _Met:
    ways: frozenset[tuple[str, str] | Sum]
    fewer_nights: int
    stands_to: int
    literals: list[Any]

    def says_no_more_than(self, other: _Met) -> bool:
        """Whether whatever gets past the other gets past this one, wherever this one stands."""
        nights = other.fewer_nights <= self.fewer_nights
        return nights and other.stands_to >= self.stands_to and other.ways <= self.ways


class WallsMet:
    """Walls in a model's words, each with the most short departures at which it stands."""

    def __init__(self, variables: ModelVariables) -> None:
        self._variables = variables
        self._met: list[_Met] = []

    def __len__(self) -> int:
        return len(self._met)

    def add(self, wall: Wall, stands_to: int) -> None:
        """Take in a wall."""
        options = [(group, key) for group, keys in wall.ways for key in self._variables.possible(group, keys)]
        ways: frozenset[tuple[str, str] | Sum] = frozenset([*options, *wall.sums])
        new = _Met(ways, wall.fewer_nights, stands_to, [])
        if any(new.says_no_more_than(old) for old in self._met):
            return
        self._met = [old for old in self._met if not old.says_no_more_than(new)]
        self._met.append(_Met(ways, wall.fewer_nights, stands_to, clause(wall, self._variables)))

    def clauses(self, allowed: int) -> list[list[Any]]:
        """What stands where so many departures may fall short."""
        return [wall.literals for wall in self._met if wall.stands_to >= allowed]
