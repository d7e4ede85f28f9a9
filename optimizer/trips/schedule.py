"""What happens in each hour of a trip, whatever the kit: drives, uses, meals, the roof fan.

On the road: brief -> *schedule* -> scene -> trips. The clock of a trip starts at ``START_HOUR`` of the
departure day; trip hour ``t`` is so many hours later. Nothing here depends on the nights, so a shorter
trip is always the beginning of a longer one.

- **Drives** begin at their hour on calendar days 0, k, 2k, ... of the trip. What was driven before the
  trip's clock started brought them there and fills no bank.
- **Uses and meals** come at their hour in the first 24 hours of the clock and each so many days later.
  A daily use that began before the clock started is running when it starts. Uses bound to parked or
  driving days look at the calendar day on which they begin; those spread over the day, hour by hour.
- **Meals that can be cooked on the drive** are cooked as the drive of that calendar day begins; when
  that lies before the clock's start, or there is no drive, at their own hour.
- **The roof fan** runs in the hours before the night begins: no sun helps then, which is against the kit.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from optimizer.brief.brief import Brief
from optimizer.brief.trip import Driving
from optimizer.brief.uses import Meal, Use
from optimizer.physics import Array

START_HOUR = 12
"""Hour of the departure day at which the trip's clock starts, bank and tanks full. [h]"""

LONGEST_NIGHTS = 120
"""Nights that a schedule is written for; the most a brief may ask for."""

HOURS = 24 * LONGEST_NIGHTS


@dataclass(frozen=True)
class Schedule:
    """Hour by hour from the clock's start, ``HOURS`` long. T hours, U uses, M meals."""

    drive: Array
    """Share of the hour driven, shape (T,). [-]"""
    uses_w: Array
    """Draw of each use, shape (T, U). [W]"""
    fan: Array
    """Share of the hour the roof fan runs, shape (T,). [-]"""
    meals: Array
    """1 in the hour in which a meal is cooked at its own hour, shape (T, M)."""
    meals_driving: Array
    """The same when it can be cooked on the drive, shape (T, M)."""


def build_schedule(brief: Brief) -> Schedule:
    """The hours of any trip of this brief."""
    driving = brief.trip.driving
    at_hour = np.zeros((HOURS, len(brief.meals)))
    on_drive = np.zeros_like(at_hour)
    for column, meal in enumerate(brief.meals):
        _add_meal(at_hour[:, column], on_drive[:, column], meal, driving)
    uses = [use_watts(use, driving) for use in brief.uses]
    return Schedule(
        drive=_drive_hours(driving),
        uses_w=np.column_stack(uses) if uses else np.zeros((HOURS, 0)),
        fan=_fan_hours(brief),
        meals=at_hour,
        meals_driving=on_drive,
    )


def clock(hour: int, block: int = 0) -> int:
    """Trip hour of an hour of the day, in the ``block``-th 24 hours of the clock."""
    return 24 * block + (hour - START_HOUR) % 24


def calendar_day(trip_hour: int) -> int:
    """Day of the trip by the calendar; the departure day is 0."""
    return (trip_hour + START_HOUR) // 24


def drives_on(driving: Driving, day: int) -> bool:
    """Whether a drive begins on that calendar day of the trip."""
    return driving.every_days > 0 and driving.hours > 0 and day % driving.every_days == 0


def _fill(row: Array, start: int, hours: float, amount: float) -> None:
    """Add ``amount`` for ``hours`` from ``start`` on; the last hour may be a part of one."""
    for step in range(ceil(hours)):
        if 0 <= start + step < row.size:
            row[start + step] += amount * min(1.0, hours - step)


def _drive_hours(driving: Driving) -> Array:
    row = np.zeros(HOURS)
    for day in range(LONGEST_NIGHTS + 1):
        if drives_on(driving, day):
            _fill(row, 24 * day + driving.start_hour - START_HOUR, driving.hours, 1.0)
    return row


def _comes(use: Use, driving: Driving, day: int) -> bool:
    return use.when == "always" or drives_on(driving, day) == (use.when == "driving")


def use_watts(use: Use, driving: Driving) -> Array:
    """Draw of a use in each hour of the trip, all of its count together, shape (T,). [W]"""
    row = np.zeros(HOURS)
    power = use.power * use.count
    if use.start_hour is None:
        for hour in range(HOURS):
            if (hour // 24) % use.every_days == 0 and _comes(use, driving, calendar_day(hour)):
                row[hour] = power * use.hours / 24.0
        return row
    for block in range(-1 if use.every_days == 1 else 0, LONGEST_NIGHTS):
        start = clock(use.start_hour, block)
        if block % use.every_days == 0 and _comes(use, driving, calendar_day(start)):
            _fill(row, start, use.hours, power)
    return row


def _fan_hours(brief: Brief) -> Array:
    comfort = brief.comfort
    hour_of_day = (np.arange(HOURS) + START_HOUR) % 24
    hours_to_night = (comfort.night_from - 1 - hour_of_day) % 24
    share: Array = np.clip(comfort.fan_hours - hours_to_night, 0.0, 1.0)
    return share


def _add_meal(at_hour: Array, on_drive: Array, meal: Meal, driving: Driving) -> None:
    for block in range(0, LONGEST_NIGHTS, meal.every_days):
        own = clock(meal.hour, block)
        at_hour[own] += 1.0
        day = calendar_day(own)
        moved = 24 * day + driving.start_hour - START_HOUR
        cooked = moved if drives_on(driving, day) and moved >= 0 else own
        if cooked < HOURS:
            on_drive[cooked] += 1.0


def is_night(brief: Brief, hour_of_day: int) -> bool:
    """Whether people sleep in that hour of the day."""
    begins, ends = brief.comfort.night_from, brief.comfort.night_to
    if begins <= ends:
        return begins <= hour_of_day < ends
    return hour_of_day >= begins or hour_of_day < ends
