"""What a judge teaches the search: of these ways out, a kit must take one.

On the road: choosing <-> trips, and choosing <-> places. A judge looks at a kit that keeps every rule and
says whether it passes (survives its trips, fits its places). If not, it names walls: sets of options, group
by group, of which at least one must be chosen by any kit that passes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Kit

NONE = ""
"""Key of choosing nothing from a group."""


@dataclass(frozen=True, eq=False)
class Sum:
    """A sum over what is chosen that is to reach a number; each stands for itself, none is compared by its terms."""

    terms: tuple[tuple[str, tuple[tuple[str, int], ...]], ...]
    """Group, and what each option (``NONE``: nothing) adds; those that are not named add nothing."""
    least: int

    @cached_property
    def weights(self) -> Mapping[str, Mapping[str, int]]:
        """What each option adds, by group and key."""
        return {group: dict(named) for group, named in self.terms}

    def reached(self, kit: Kit) -> bool:
        """Whether a kit's sum is enough."""
        chosen = (named.get(kit.choices.get(group, NONE), 0) for group, named in self.weights.items())
        return sum(chosen) >= self.least


@dataclass(frozen=True)
class Wall:
    """At least one of these ways out must be taken."""

    ways: tuple[tuple[str, tuple[str, ...]], ...]
    """Group, and the option keys (``NONE``: nothing) that get past the wall; groups in order."""
    fewer_nights: int = 0
    """Fewer nights than this get past it too; 0 = no number of nights does."""
    sums: tuple[Sum, ...] = ()
    """Reaching one of these gets past it too."""

    def passed_by(self, kit: Kit) -> bool:
        """Whether a kit takes one of the ways out."""
        if kit.nights < self.fewer_nights:
            return True
        if any(kit.choices.get(group, NONE) in keys for group, keys in self.ways):
            return True
        return any(found.reached(kit) for found in self.sums)


def _never() -> bool:
    return False


@dataclass(frozen=True)
class Outlook:
    """What a search knows already of the kits that are still in question."""

    ruled_out: frozenset[tuple[str, str]] = frozenset()
    """Options (group, key) that no kit in question has."""
    most_extra: int | None = None
    """What an option may cost beyond a kit's own, at most, to be in a kit that is still in question."""
    over: Callable[[], bool] = _never
    """Whether the time is up: then a wall is told as it is by then, true but with more ways out than need be."""


NOTHING_KNOWN = Outlook()


class Judge(Protocol):
    """Says whether a kit passes, and why not."""

    def passes(self, kit: Kit) -> bool:
        """Whether the kit passes."""

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> Iterable[Wall]:
        """Walls that a kit which does not pass stands before; at least one stops this very kit.

        They are true whatever the ``outlook``; it says which ways out are not worth a thought.
        """


def telling(walls: Iterable[Wall], possible: Callable[[str, tuple[str, ...]], tuple[str, ...]]) -> list[Wall]:
    """Walls that say something beside the others; ``possible`` tells which of a group's options may be chosen.

    A wall says no more than another when it has all of its ways out. Fewer walls make every solve quicker.
    """
    bits: dict[tuple[str, str] | Sum, int] = {}
    ways: dict[Wall, int] = {}
    for wall in walls:
        ways_out: list[tuple[str, str] | Sum] = list(wall.sums)
        ways_out += [(group, key) for group, keys in wall.ways for key in possible(group, keys)]
        ways[wall] = sum(1 << bits.setdefault(way, len(bits)) for way in ways_out)
    kept: list[Wall] = []
    for wall in sorted(ways, key=lambda wall: (ways[wall].bit_count(), wall.fewer_nights)):
        mine = ways[wall]
        if not any(ways[w] & mine == ways[w] and w.fewer_nights <= wall.fewer_nights for w in kept):
            kept.append(wall)
    return kept


def clause(wall: Wall, variables: ModelVariables) -> list[Any]:
    """The literals of which one must be true."""
    problem = variables.problem
    open_ways = ((problem.group(group), variables.possible(group, keys)) for group, keys in wall.ways)
    literals = [variables.any_of(group, keys) for group, keys in open_ways if keys]
    literals += [variables.reaches(found.terms, found.least) for found in wall.sums]
    return literals + [literal for n, literal in variables.nights().items() if n < wall.fewer_nights]
