"""Keys of the brief that contradict each other: what no single key can show.

On the road: inside ``brief``, after each key has been found good by itself. Odd but possible things are
no matter of this room; see ``oddities``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from optimizer.brief.brief import Brief
from optimizer.brief.consistency_vehicle import VEHICLE_CHECKS
from optimizer.brief.entries import having, repeated, repeated_words
from optimizer.brief.findings import Finding, KeyPath
from optimizer.errors import did_you_mean, nearest

Check = Callable[[Brief], Iterator[Finding]]
GOALS = ("cheapest", "lightest", "longest")
_MOST = re.compile(r"most:\S(.*\S)?")
_STATION = re.compile(r"station:[0-9]+")
_LIKE_A_STATION = re.compile(r"\s*station\b[\s:=#]*[0-9]*\s*", re.IGNORECASE)


def clashes(
    brief: Brief, known_limits: Sequence[str] | None = None, *, holes: bool = False
) -> Iterator[Finding]:
    """Every contradiction. With ``holes`` the brief is partial, and a check that lacks a key is left out."""
    kept: Check = partial(_kept_limits, known_limits=known_limits)
    for check in (*_CHECKS, *VEHICLE_CHECKS, kept):
        try:
            yield from check(brief)
        except AttributeError:
            if not holes:
                raise


def _use_names(brief: Brief) -> Iterator[Finding]:
    yield from repeated(("uses",), brief.uses, "name", "use")


def _meal_names(brief: Brief) -> Iterator[Finding]:
    yield from repeated(("meals",), brief.meals, "name", "meal")


def _person_names(brief: Brief) -> Iterator[Finding]:
    named = [person if getattr(person, "name", "").strip() else None for person in brief.people]
    yield from repeated(("people",), named, "name", "person")


def _own_kind_names(brief: Brief) -> Iterator[Finding]:
    yield from repeated(("preferences", "own_kinds"), brief.preferences.own_kinds, "name", "own kind")


def _own_limit_names(brief: Brief) -> Iterator[Finding]:
    yield from repeated(("limits", "own"), brief.limits.own, "name", "own limit")


def _person_seats(brief: Brief) -> Iterator[Finding]:
    """Each person sits on a seat of the vehicle, and nobody on another's lap."""
    names = [seat.name for _, seat in having(brief.vehicle.seats, "name")]
    if len(names) < len(brief.vehicle.seats):
        return
    taken: dict[str, int] = {}
    for place, person in having(brief.people, "seat"):
        if not person.seat:
            continue
        if person.seat not in names:
            remedy = nearest(person.seat, sorted(set(names))) or "Add the seat under [[vehicle.seats]]."
            yield Finding(("people", place, "seat"), "the name of one of the vehicle.seats", remedy)
        elif person.seat in taken:
            yield Finding(
                ("people", place, "seat"), "a seat for each person",
                f"Person {taken[person.seat] + 1} has it already.",
            )
        taken.setdefault(person.seat, place)


def _night_hours(brief: Brief) -> Iterator[Finding]:
    if brief.comfort.night_from == brief.comfort.night_to:
        yield Finding(
            ("comfort", "night_to"), f"another hour than comfort.night_from ({brief.comfort.night_from})",
            "For one temperature all day set night_temperature to day_temperature.",
        )


def _nights(brief: Brief) -> Iterator[Finding]:
    wished = (brief.preferences.goal, brief.preferences.tie_break)
    if "longest" in wished and brief.trip.nights > brief.trip.nights_at_most:
        yield Finding(
            ("trip", "nights"),
            f"at most trip.nights_at_most ({brief.trip.nights_at_most}), because a goal is the longest stay",
            "Raise trip.nights_at_most.",
        )


def _driving(brief: Brief) -> Iterator[Finding]:
    driving = brief.trip.driving
    if driving.hours > 0 and driving.every_days == 0:
        yield Finding(
            ("trip", "driving", "hours"), "0, because trip.driving.every_days is 0 (never)",
            "Set every_days to the days from one drive to the next.",
        )
    if driving.hours == 0 and driving.every_days > 0:
        yield Finding(
            ("trip", "driving", "every_days"), "0, because trip.driving.hours is 0",
            "Set hours to the length of each drive.",
        )


def _temperatures(brief: Brief) -> Iterator[Finding]:
    coldest, hottest = brief.place.coldest_night, brief.place.hottest_day
    if coldest is not None and hottest is not None and hottest < coldest:
        yield Finding(
            ("place", "hottest_day"), f"at least place.coldest_night ({coldest:.9g} degC)",
            "Change the two round.",
        )


def _weather(brief: Brief) -> Iterator[Finding]:
    path: KeyPath = ("place", "weather")
    yield from repeated_words(path, brief.place.weather, "A weather year counts once, however often named.")
    for place, name in enumerate(brief.place.weather):
        if _LIKE_A_STATION.fullmatch(name) and not _STATION.fullmatch(name):
            yield Finding((*path, place), "'station:' with the station's number behind it",
                          "Write it as 'station:723170'.")  # fmt: skip


def _goals(brief: Brief) -> Iterator[Finding]:
    for key in ("goal", "tie_break"):
        goal = getattr(brief.preferences, key)
        if goal not in GOALS and not _MOST.fullmatch(goal):
            remedy = did_you_mean(goal, [*GOALS, "most:COLUMN"])
            if goal.startswith("most:"):
                remedy = "Write the name of one column behind 'most:'."
            yield Finding(
                ("preferences", key), "'cheapest', 'lightest', 'longest' or 'most:COLUMN'", remedy
            )


def _parts(brief: Brief) -> Iterator[Finding]:
    wishes = brief.preferences
    yield from repeated(("preferences", "owned"), wishes.owned, "part", "owned part")
    yield from repeated_words(("preferences", "required"), wishes.required, "Take one of the two out.")
    yield from repeated_words(("preferences", "refused"), wishes.refused, "Take one of the two out.")
    for place, part in enumerate(wishes.refused):
        if part in wishes.required:
            yield Finding(
                ("preferences", "refused", place), "a part that preferences.required does not name",
                "Take it out of one of the two lists.",
            )


def _voltages(brief: Brief) -> Iterator[Finding]:
    yield from repeated_words(("preferences", "voltages"), brief.preferences.voltages, "Take one of the two out.")


def _own_limits(brief: Brief) -> Iterator[Finding]:
    for place, limit in having(brief.limits.own, "at_most", "at_least"):
        path: KeyPath = ("limits", "own", place)
        if limit.at_most is None and limit.at_least is None:
            yield Finding(
                (*path, "at_most"), "a number here or in at_least", "Give one of the two.", "missing"
            )
        elif limit.at_most is not None and limit.at_least is not None and limit.at_least > limit.at_most:
            expected = f"no more than at_most ({limit.at_most:.9g})"
            yield Finding((*path, "at_least"), expected, "Change the two round.")


def _heater_fuel(brief: Brief) -> Iterator[Finding]:
    if brief.vehicle.fuel == "electric" and brief.vehicle.fuel_for_heater > 0:
        yield Finding(
            ("vehicle", "fuel_for_heater"), "0, because vehicle.fuel is 'electric'",
            "A van without a fuel tank has nothing for a heater to draw.",
        )


def _kept_limits(brief: Brief, *, known_limits: Sequence[str] | None) -> Iterator[Finding]:
    path: KeyPath = ("preferences", "keep")
    kept = brief.preferences.keep
    yield from repeated_words(path, kept, "Take one of the two out; the first counts as the dearer.")
    if known_limits is None:
        return
    own = [f"own:{limit.name}" for limit in brief.limits.own]
    for place, name in enumerate(kept):
        if name not in known_limits and name not in own:
            remedy = f"Write it as 'own:{name}'." if f"own:{name}" in own else ""
            remedy = remedy or nearest(name, [*known_limits, *own])
            yield Finding((*path, place), "the name of a limit", remedy)


_CHECKS: tuple[Check, ...] = (
    _use_names, _meal_names, _person_names, _own_kind_names, _own_limit_names, _person_seats, _night_hours,
    _nights, _driving, _temperatures, _weather, _goals, _parts, _voltages, _own_limits, _heater_fuel,
)  # fmt: skip
