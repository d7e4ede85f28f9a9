"""The method: zones that may still hide a trade-off, searched in the order of the first goal.

On the road: the ground of ``frontier``; knows neither kits nor solvers. All goals are integers, less is better.

A zone is a corner: it holds every point that is below the corner in each goal but the first. At the start one
zone without bounds holds all. The least point of a zone (least in the first goal, then in the sum of the
others) is taken up as soon as no other zone can hide one with less of the first goal; then every zone that
holds it is cut into the parts of it that are better in one of the other goals. A zone inside another is
dropped. So each point costs one question and each zone left empty at the end one more, at most twice the
points and one. With two goals there is one zone at a time: the well-known step down from the value achieved.

References
----------
Klamroth K., Lacour R., Vanderpooten D. (2015): On the representation of the search region in multi-objective
optimization. European Journal of Operational Research 245(3), 767-778. From memory.
Haimes Y., Lasdon L., Wismer D. (1971): On a bicriterion formulation of the problems of integrated system
identification and system optimization. IEEE Transactions on Systems, Man, and Cybernetics 1(3), 296-297, for
the step with two goals. From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

Vector = tuple[int, ...]
Corner = tuple[int, ...]
"""What a zone stays below, for each goal but the first."""
NO_BOUND = 1 << 62

Thing = TypeVar("Thing")
Asked = TypeVar("Asked")


@dataclass(frozen=True)
class Reply(Generic[Thing]):
    """The least point of a zone; ``vector`` None when there is none, or when it is not known."""

    vector: Vector | None
    thing: Thing | None = None
    proven: bool = True
    bound: int | None = None
    """Without proof: no point of the zone has less of the first goal than this, as far as known."""


class Asker(Protocol[Asked]):
    """Finds the least point of a zone."""

    def least(self, corner: Corner) -> Reply[Asked]:
        """The point with the least first goal, then least sum of the others, below the corner."""


class Crowd(Protocol[Asked]):
    """Finds the least points of several zones at once."""

    @property
    def many(self) -> int:
        """Of how many."""

    def least_each(self, corners: Sequence[Corner]) -> list[Reply[Asked]]:
        """As ``Asker.least`` says, for each corner."""


@dataclass
class _Zone(Generic[Thing]):
    corner: Corner
    floor: int
    """No point of the zone has less of the first goal than this."""
    found: Reply[Thing] | None = None

    def holds(self, rest: Corner) -> bool:
        return all(value < bound for value, bound in zip(rest, self.corner, strict=True))


@dataclass(frozen=True)
class Taken(Generic[Thing]):
    """A trade-off: proven, and better than all others in something."""

    vector: Vector
    thing: Thing


class Sweep(Generic[Thing]):
    """Takes up one trade-off after another, in the order of the first goal.

    Parameters
    ----------
    goals : how many goals, from 1 on
    asker : answers for zones
    gap : how far, for each goal but the first, another point may be better than one taken up and still be
        left out; given the goal's place and its value there. None leaves nothing out.
    crowd : answers for several zones at once, in place of the asker; what is found is the same
    """

    def __init__(
        self, goals: int, asker: Asker[Thing], gap: Callable[[int, int], int] | None = None,
        crowd: Crowd[Thing] | None = None,
    ) -> None:
        self._asker, self._crowd = asker, crowd
        self._gap = gap
        self._goals = goals
        self._zones: list[_Zone[Thing]] = [_Zone((NO_BOUND,) * (goals - 1), -NO_BOUND)]
        self.questions = 0
        self.stopped = False
        self.taken: list[Taken[Thing]] = []
        """What has been taken up; whole, and true to ``complete_below``, even where a Ctrl-C breaks in anywhere."""

    @property
    def complete_below(self) -> int | None:
        """Every trade-off with less of the first goal than this is taken up; None = every one there is."""
        return min(zone.floor for zone in self._zones) if self._zones else None

    def points(self) -> Iterator[Taken[Thing]]:
        """The trade-offs, each as soon as it is proven; ends early (``stopped``) at an answer without proof."""
        while self._zones:
            zone = min(self._zones, key=_rank)
            if zone.found is None:
                if not self._ask(zone):
                    self.stopped = True
                    return
                continue
            vector, thing = zone.found.vector, zone.found.thing
            assert vector is not None
            assert thing is not None
            self.taken.append(Taken(vector, thing))
            self._cut(vector)
            yield self.taken[-1]

    def _ask(self, zone: _Zone[Thing]) -> bool:
        """Ask about a zone, and about those that are next at once where there is a crowd; False without a proof."""
        zones = [zone]
        if self._crowd is not None and self._crowd.many > 1:
            zones = sorted((other for other in self._zones if other.found is None), key=_rank)[: self._crowd.many]
        self.questions += len(zones)
        if self._crowd is not None and len(zones) > 1:
            replies = self._crowd.least_each([one.corner for one in zones])
        else:
            replies = [self._asker.least(zone.corner)]
        # Each is taken in, whatever the first says.
        taken = [self._take(one, reply) for one, reply in zip(zones, replies, strict=True)]
        return all(taken)

    def _take(self, zone: _Zone[Thing], reply: Reply[Thing]) -> bool:
        if not reply.proven:
            zone.floor = zone.floor if reply.bound is None else max(zone.floor, reply.bound)
            return False
        if reply.vector is None:
            self._zones.remove(zone)
            return True
        zone.found = reply
        zone.floor = max(zone.floor, reply.vector[0])
        return True

    def _cut(self, vector: Vector) -> None:
        rest = vector[1:]
        limit = rest
        if self._gap is not None:
            limit = tuple(v - max(0, self._gap(place, v)) for place, v in enumerate(rest, start=1))
        # With two goals nothing of the same first goal is left: the sum of the others was the least.
        floor = vector[0] + (1 if self._goals == 2 else 0)
        kept = [zone for zone in self._zones if not zone.holds(limit)]
        parts = [part for zone in self._zones if zone.holds(limit) for part in _parts(zone, limit, floor)]
        for part in parts:
            if not any(_inside(part, other) for other in kept):
                kept = [other for other in kept if not _inside(other, part)]
                kept.append(part)
        self._zones = kept


def _rank(zone: _Zone[Thing]) -> tuple[int, bool, Vector, Corner]:
    """Lowest floor first; where floors tie, zones not asked yet before those that are."""
    found = zone.found.vector if zone.found is not None else None
    return zone.floor, found is not None, found or (), zone.corner


def _parts(zone: _Zone[Thing], rest: Corner, floor: int) -> Iterator[_Zone[Thing]]:
    for place, value in enumerate(rest):
        corner = (*zone.corner[:place], min(value, zone.corner[place]), *zone.corner[place + 1:])
        part = _Zone[Thing](corner, max(zone.floor, floor))
        vector = zone.found.vector if zone.found is not None else None
        if vector is not None and part.holds(vector[1:]):
            part.found = zone.found
        yield part


def _inside(zone: _Zone[Thing], other: _Zone[Thing]) -> bool:
    return all(one <= two for one, two in zip(zone.corner, other.corner, strict=True))
