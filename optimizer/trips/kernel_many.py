"""The compiled pass over many rows of numbers at once. Imported lazily by ``trips.asking``: it pulls in numba.

On the road: scene + rows of numbers -> *which of them come through*. A search asks about tens of thousands of
rows that differ little; taken one by one from Python, handing them over costs more than answering.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from optimizer.compiling import compiled
from optimizer.trips.kernel import (
    SLACK,
    Floats,
    Fuels,
    Hours,
    Ints,
    Kinds,
    Kit,
    Scratch,
    cooked,
    falls_short,
    kit_days,
)  # fmt: skip

SCALARS, CLASSES, ENERGIES = 34, 3, 4
NO_LIMIT_W = 1e9
"""Entries of a row: scalars, classes, and energies of a meal, and what no limit is,
as in ``layout``; ``asking`` holds them to it."""


class Curves(NamedTuple):
    """The scene's hours for every class; a class that is not there has the last place of ``yields``."""

    yields: Floats
    """Shape (panel classes + 1, B, 24), the last one dark."""
    shares: Floats
    """Shape (bank classes, B, 24)."""
    may_charge: Floats
    """Shape (bank classes, B, 24)."""


class Trip(NamedTuple):
    """What is the same for every row."""

    kinds: Kinds
    day_type: Ints
    departures: Ints
    nights: int
    meal_counts: Floats
    stores: Floats
    """Water [L], waste water [L] and toilet visits wanted, of the whole trip, shape (3,)."""
    fuels: int
    """How many fuels there are."""
    allowed: int
    """Departures that may fall short."""


@compiled
def kit_of(row: Floats) -> Kit:
    """The scalars of a row, in the order of ``layout.SCALARS``."""
    return Kit(
        row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], row[10], row[11],
        row[12], row[13], row[14], row[15], row[16], row[17], row[18], row[19], row[20], row[21], row[22],
        row[23], row[24], row[25], row[26], row[27], row[28], row[29], row[30], row[31], row[32], row[33],
    )  # fmt: skip


@compiled
def hours_of(hours: Hours, curves: Curves, bank: int, one: int, two: int) -> Hours:
    """The hours with the curves of these classes."""
    return Hours(
        curves.yields[one], curves.yields[two], hours.sun, hours.gap, hours.gain, hours.over, hours.under,
        curves.shares[bank], curves.may_charge[bank], hours.starts_per_hour, hours.cold_floor,
    )  # fmt: skip


@compiled
def passes(row: Floats, hours: Hours, curves: Curves, trip: Trip, order: Ints, scratch: Scratch) -> bool:
    """Whether at most ``trip.allowed`` departures fall short with a row of numbers.

    Departures that fell short are moved to the front of ``order``, so that the next row that fails is
    found out sooner.
    """
    kit = kit_of(row)
    for held, wanted in zip((kit.water_l, kit.grey_l, kit.toilet_visits), trip.stores):  # noqa: B905 (compiled)
        if wanted - held > SLACK:
            return bool(trip.departures.size <= trip.allowed)
    bank, one, two = int(row[SCALARS]), int(row[SCALARS + 1]), int(row[SCALARS + 2])
    tail = row[SCALARS + CLASSES :]
    cooking = tail[2 * trip.fuels :].reshape(trip.meal_counts.size, ENERGIES + trip.fuels)
    own = hours_of(hours, curves, bank, one, two)
    days = kit_days(trip.kinds, kit, cooking[:, :ENERGIES])
    burnt = cooked(trip.meal_counts, cooking[:, ENERGIES:])
    fuels = Fuels(tail[: trip.fuels], burnt, tail[trip.fuels : 2 * trip.fuels])
    scratch.base.ready[:] = False
    scratch.known[:] = False
    count = 0
    for looked in range(order.size):
        place = order[looked]
        if falls_short(kit, own, days, fuels, trip.day_type, trip.departures[place], trip.nights, scratch):
            order[looked] = order[count]
            order[count] = place
            count += 1
            if count > trip.allowed:
                return False
    return True


class Parcel(NamedTuple):
    """Numbers group by group, of which a row takes one line a group."""

    lines: Floats
    """Every line of every group, shape (lines, W): the row's entries, then those that only work through others."""
    starts: Ints
    """First line of each group, and one past the last, shape (groups + 1,)."""
    base: Floats
    """What a row starts from, shape (W,)."""
    switching: Ints
    """For each array: entries of tracking, working current, bank voltage, and of the limit made of them; -1 none."""


@compiled
def fill_row(row: Floats, parcel: Parcel, chosen: Ints, number: int, line: Floats) -> None:
    """The row of the chosen lines, with ``line`` in the place of group ``number``'s (-1: no group's)."""
    row[:] = 0.0
    for group in range(chosen.size):
        row += line if group == number else parcel.lines[chosen[group]]
    row += parcel.base
    for slot in range(parcel.switching.shape[0]):
        tracking, amperes, volts, limit = parcel.switching[slot]
        if tracking >= 0:
            row[limit] = NO_LIMIT_W if row[tracking] >= 0.5 else row[amperes] * row[volts]


@compiled
def all_fail(
    parcel: Parcel, number: int, line: Floats, hours: Hours, curves: Curves, trip: Trip, order: Ints,
    scratch: Scratch, length: int,
) -> bool:
    """Whether no row that takes one line of each group passes; of group ``number`` it takes ``line``.

    ``length`` is the length of a row without the entries that only work through others.
    """
    groups = parcel.starts.size - 1
    chosen, row = parcel.starts[:groups].copy(), np.empty(parcel.base.size)
    while True:
        fill_row(row, parcel, chosen, number, line)
        if passes(row[:length], hours, curves, trip, order, scratch):
            return False
        group = groups - 1
        while group >= 0:
            chosen[group] += 1
            if group != number and chosen[group] < parcel.starts[group + 1]:
                break
            chosen[group] = parcel.starts[group]
            group -= 1
        if group < 0:
            return True
