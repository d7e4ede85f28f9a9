"""The walk through every kit of a few groups, compiled. Imported lazily by ``combing``: it pulls in numba.

On the road: under *combing*. Group after group takes one candidate after another; a branch is left as soon as no kit
in it can be of interest. Twenty million candidates and more are looked at in a second, for what is held against each
is a few sums.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.compiling import compiled
from optimizer.trips.kernel import Ints

Words = NDArray[np.uint64]
NOTHING = 1 << 60
"""Stands for: there is none."""
NO_WALL, ONE_WALL = np.uint64(0), np.uint64(1)


class Candidates(NamedTuple):
    """What each candidate adds; group after group, N in all."""

    first: Ints
    """Where each group's candidates begin, and N last, shape (L + 1,)."""
    leading: Ints
    """To what is made small, shape (N,); within a group it never falls."""
    other: Ints
    """To what stays within a limit, shape (N,)."""
    takes: Ints
    """Of the room that each sum of the rules has, shape (N, R)."""
    room: Ints
    """Room of each sum, shape (R,)."""


class Known(NamedTuple):
    """What is known of kits that fail."""

    past: Words
    """The walls that a candidate gets past by itself, a bit each, shape (N, words)."""
    every: Words
    """Every wall there is, shape (words,)."""
    adds: Ints
    """What it adds to each sum that gets past a wall, shape (N, S)."""
    least: Ints
    """What each sum has to be, shape (S,)."""
    begins: Ints
    """Where the sums of each wall begin in ``sums``, shape (W + 1,)."""
    sums: Ints
    """Sums, wall after wall."""


class Ahead(NamedTuple):
    """What the groups still to come can bring, by how many have been passed."""

    past: Words
    """The walls that one of them can get past by itself, shape (L + 1, words)."""
    most: Ints
    """The most that they add to each sum, shape (L + 1, S)."""
    points: Ints
    """How many points ``leading`` and ``other`` have, shape (L + 1,)."""
    leading: Ints
    """What they add at least: none of them brings less of both than one of these points; shape (L + 1, points)."""
    other: Ints
    """See ``leading``: it falls from point to point."""


@compiled
def at_least(ahead: Ahead, place: int, other: int, most_other: int) -> int:
    """The least that is still added to what is made small, within the other's limit; ``NOTHING`` where nothing is."""
    low, high = 0, ahead.points[place]  # the first that fits is from low to high; high is none
    while low < high:
        middle = (low + high) // 2
        if other + ahead.other[place, middle] <= most_other:
            high = middle
        else:
            low = middle + 1
    return int(ahead.leading[place, low]) if low < ahead.points[place] else NOTHING


@compiled
def gets_past(known: Known, ahead: Ahead, place: int, past: Words, total: Ints, adds: Ints) -> bool:
    """Whether every wall can still be got past, with what was chosen so far and what is to come.

    ``past`` has the candidate taken last, ``total`` has not: that one ``adds`` to it.
    """
    for word in range(past.size):
        closed = known.every[word] & ~(past[word] | ahead.past[place, word])
        bit = 0
        while closed != NO_WALL:
            if closed & ONE_WALL != NO_WALL:
                wall, open_way = 64 * word + bit, False
                for turn in range(known.begins[wall], known.begins[wall + 1]):
                    number = known.sums[turn]
                    if total[number] + adds[number] + ahead.most[place, number] >= known.least[number]:
                        open_way = True
                        break
                if not open_way:
                    return False
            closed >>= ONE_WALL
            bit += 1
    return True


@compiled
def walk(
    candidates: Candidates, known: Known, ahead: Ahead, most_other: int, below: int, most_steps: int, at: Ints
) -> tuple[bool, int]:
    """On to the next kit of these groups that may be of interest.

    Parameters
    ----------
    most_other : the other number is at most this
    below : what is made small is less than this
    most_steps : candidates looked at, at most
    at : where the walk stands, shape (L + 1,): for each group entered the candidate that is looked at next, and last
        how many groups are behind it; changed in place. Walls may be learnt and ``below`` lowered from one kit to the
        next: what lies behind stays behind.

    Returns
    -------
    Whether a kit was met (the candidates before those in ``at``), and how many candidates were looked at: more than
    ``most_steps`` where it was ended.
    """
    groups, rooms, words, sums = at.size - 1, candidates.room.size, known.every.size, known.least.size
    leading, other = np.zeros(groups + 1, dtype=np.int64), np.zeros(groups + 1, dtype=np.int64)
    room = np.zeros((groups + 1, rooms), dtype=np.int64)
    room[0] = candidates.room
    past, total = np.zeros((groups + 1, words), dtype=np.uint64), np.zeros((groups + 1, sums), dtype=np.int64)
    place, steps = 0, 0
    while place < at[groups]:  # as far as what is known by now leaves the way there open
        one = at[place] - 1
        leading[place + 1] = leading[place] + candidates.leading[one]
        other[place + 1] = other[place] + candidates.other[one]
        room[place + 1] = room[place] - candidates.takes[one]
        past[place + 1] = past[place] | known.past[one]
        total[place + 1] = total[place] + known.adds[one]
        still = at_least(ahead, place + 1, other[place + 1], most_other)
        if still == NOTHING or leading[place + 1] + still >= below:
            break
        if not gets_past(known, ahead, place + 1, past[place + 1], total[place], known.adds[one]):
            break
        place += 1
    while place >= 0:
        one = at[place]
        if one >= candidates.first[place + 1]:
            place -= 1
            continue
        steps += 1
        if steps > most_steps:
            break
        at[place] += 1
        lead, rest = leading[place] + candidates.leading[one], other[place] + candidates.other[one]
        if lead + ahead.leading[place + 1, 0] >= below:  # and so it is with all that come after it
            at[place] = candidates.first[place + 1]
            continue
        still = at_least(ahead, place + 1, rest, most_other)
        if still == NOTHING or lead + still >= below:
            continue
        fits = True
        for number in range(rooms):
            left = room[place, number] - candidates.takes[one, number]
            room[place + 1, number] = left
            if left < 0:
                fits = False
                break
        if not fits:
            continue
        for word in range(words):
            past[place + 1, word] = past[place, word] | known.past[one, word]
        if not gets_past(known, ahead, place + 1, past[place + 1], total[place], known.adds[one]):
            continue
        for number in range(sums):
            total[place + 1, number] = total[place, number] + known.adds[one, number]
        leading[place + 1], other[place + 1] = lead, rest
        if place + 1 == groups:
            at[groups] = place
            return True, steps
        place += 1
        at[place] = candidates.first[place]
    at[groups] = max(place, 0)
    return False, steps
