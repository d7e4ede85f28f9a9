"""Where a frontier bends, and what changes along it.

On the road: inside ``frontier``, after the points are known.

A knee gives most for least. Goals are told as shares of their range over the frontier. The strongest knee is the
point farthest on the good side of the plane through the best points of each goal; with two goals, corners of the
lower hull count too where the gain per give falls to half or less.

References
----------
Das I. (1999): On characterizing the "knee" of the Pareto curve based on normal-boundary intersection.
Structural Optimization 18(2-3), 107-115, for the distance from the plane. From memory. The half is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from optimizer.frontier.records import Point
from optimizer.problem.records import Problem
from optimizer.showing import show

SHARP = 2.0
Shares = tuple[float, ...]


def finished(problem: Problem, points: Sequence[Point]) -> tuple[Point, ...]:
    """The points with knees marked and compared with their neighbours."""
    shares = shares_of([point.values for point in points])
    bends = knees(shares)
    done: list[Point] = []
    for place, point in enumerate(points):
        near = nearest(shares, place)
        changes = () if near is None else changed(problem, points[near], point)
        done.append(replace(point, knee=place in bends, neighbour=near, changes=changes))
    return tuple(done)


def shares_of(vectors: Sequence[tuple[int, ...]]) -> list[Shares]:
    """Each goal as a share of its range: 0 best, 1 worst; 0 where all are alike."""
    columns = list(zip(*vectors, strict=True))
    lows, spans = [min(c) for c in columns], [max(c) - min(c) for c in columns]
    return [
        tuple((v - low) / span if span else 0.0 for v, low, span in zip(vector, lows, spans, strict=True))
        for vector in vectors
    ]


def knees(shares: Sequence[Shares]) -> frozenset[int]:
    """Places of the points where the frontier bends; none among fewer than three."""
    if len(shares) < 3:
        return frozenset()
    sums = [round(sum(share), 12) for share in shares]
    best = min(range(len(shares)), key=lambda place: (sums[place], place))
    found = {best} if sums[best] < 1 else set()
    if len(shares[0]) == 2:
        found |= _corners(shares)
    return frozenset(found)


def _corners(shares: Sequence[Shares]) -> set[int]:
    """Inner corners of the lower hull at which the gain per give falls to half or less."""
    hull: list[int] = []
    for place in sorted(range(len(shares)), key=lambda p: shares[p]):
        while len(hull) >= 2 and _turn(shares[hull[-2]], shares[hull[-1]], shares[place]) <= 0:
            hull.pop()
        hull.append(place)
    found = set()
    for before, here, after in zip(hull, hull[1:], hull[2:], strict=False):
        gain_in, give_in = shares[before][1] - shares[here][1], shares[here][0] - shares[before][0]
        gain_on, give_on = shares[here][1] - shares[after][1], shares[after][0] - shares[here][0]
        if sum(shares[here]) < 1 and gain_in * give_on >= SHARP * gain_on * give_in:
            found.add(here)
    return found


def _turn(one: Shares, two: Shares, three: Shares) -> float:
    return (two[0] - one[0]) * (three[1] - one[1]) - (two[1] - one[1]) * (three[0] - one[0])


def nearest(shares: Sequence[Shares], place: int) -> int | None:
    """The earlier point to compare with: the one before, or with three goals the nearest."""
    if place == 0:
        return None
    if len(shares[0]) == 2:
        return place - 1

    def apart(other: int) -> tuple[float, int]:
        return round(sum((a - b) ** 2 for a, b in zip(shares[place], shares[other], strict=True)), 12), other

    return min(range(place), key=apart)


def changed(problem: Problem, one: Point, other: Point) -> tuple[str, ...]:
    """What the other kit has more of (+) and less of (-), in the order of part ids; nights and volts first."""
    words = []
    if one.kit.nights != other.kit.nights:
        words.append(f"{show(other.kit.nights, 'nights')} instead of {one.kit.nights}")
    if one.kit.voltage != other.kit.voltage:
        words.append(f"{other.kit.voltage} V instead of {one.kit.voltage} V")
    before, after = one.kit.counts(problem), other.kit.counts(problem)
    gone: list[str] = []
    come: list[str] = []
    for part in sorted(before.keys() | after.keys()):
        more = after.get(part, 0) - before.get(part, 0)
        if more:
            (come if more > 0 else gone).append(f"{'+' if more > 0 else '-'}{abs(more)} {part}")
    if not words and not gone and not come:
        return ("the same parts, configured or used another way",)
    return (*words, *gone, *come)
