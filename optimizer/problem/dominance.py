"""Options that can never be in the answer, left out before choosing.

On the road: problem -> *smaller problem* -> choosing. An option goes when another of its group is at
least as good in everything any rule, trip or picture of the kit reads, and comes before it in the order
of goal, tie-break and part-id number, so the answer stays the same to the letter. Only plain monotone
numbers count: one that is in neither table below must be equal.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from optimizer.places.hardness import fits_wherever
from optimizer.problem.records import Group, Option, Problem

LESS = re.compile(
    r"area_cm2|roof_g|height_mm|panels|voc_cold_mv|isc_ma|array_\d+_ma|idle_mw|switched_idle_mw|full_g|grey_g|"
    r"cents_night|used_g_night|flush_ml_night|[ad]c_wh_day|[ad]c_run_w|cold_[ad]c_\d+_wh|heat_\d+_wh|"
    r"heat_worst_wh|night_w|draw_[ad]c_ppm|start_[ad]c_wh|burn_\w+_nl_wh|gas|open_flame|always_ac|"
    r"charger_ma|taken_ma|needed_mv|self_use_w|idle_w|inverter_idle_w|draw_[ad]c_per_w|start_wh|"
    r"unwired|fault_ma|links_short_ma|bank_draw_ma|dc_ways|ac_start_w|fuel_l_per_wh|heat_loss_w_k|fan_w|cold_[ad]c_(25|32|cold)_w|flush_l_day"
)
MORE = re.compile(
    r"usable_wh|stored_wh|charge_ma|discharge_w|burst_w|roundtrip_permille|array_w|vmp_hot_mv|sun_\w+_wh|"
    r"array_v_mv|array_a_ma|efficiency_permille|tracking|alternator_wh_day|continuous_w|peak_w|"
    r"heat_w|hold_\w+|chilled_ml|frozen_ml|bank_v_max|rating_ma|charge_w|charge_efficiency|"
    r"discharge_efficiency|charges_cold|power_w|working_a|output_w|efficiency|bank_v|alternator_w|"
    r"feed_ma|ways|interrupt_ma|inverter_efficiency|converter_efficiency|fuel_l \w+|water_l|grey_l|toilet_visits"
)
ALONE = ("meal", "cooker")
"""Kinds whose options hang on other groups: left as they are."""

SPANS_TO_THE_ENDS = 9
"""Of 7 K, between the two ratings of a cold box: from 25 degC down to -38 and up to 88."""

OrderKey = Callable[[Group, Option], tuple[int, ...]]
StandIn = Callable[[Option, Option], bool]


@dataclass(frozen=True)
class Reduced:
    """The smaller problem, and which option stands in for each that was left out."""

    problem: Problem
    stand_ins: dict[tuple[str, str], str]
    """(group, left-out key) to the key of an option that is no worse in anything."""


def without_dominated(problem: Problem, order: OrderKey) -> Reduced:
    """Leave out what can never be chosen.

    Parameters
    ----------
    problem : Problem
    order : the numbers by which two kits that differ in one option are told apart, first to last: goal,
        tie-break, part-id number; each a number that is better when smaller
    """
    stand_ins: dict[tuple[str, str], str] = {}
    groups = []
    for group in problem.groups:
        if group.kind in ALONE or group.kind.startswith("own:") or group.hidden or len(group.options) < 2:
            groups.append(group)
            continue
        # Twins keep the same options: they are judged under the first one's name.
        name = group.twin or group.name
        beaten = _beaten(problem, replace(group, name=name), order)
        stand_ins |= {(group.name, lost): winner for lost, winner in beaten.items()}
        kept = tuple(option for option in group.options if option.key not in beaten)
        groups.append(replace(group, options=kept))
    return Reduced(replace(problem, groups=tuple(groups)), stand_ins)


def _beaten(problem: Problem, group: Group, order: OrderKey) -> dict[str, str]:
    wanted = set(problem.required)
    special = wanted | {owned.part for owned in problem.owned} | set(problem.refused)
    classes: dict[tuple[object, ...], list[Option]] = {}
    for option in group.options:
        if not any(part in special for part, _ in option.parts):
            classes.setdefault(_class(option), []).append(option)
    beaten: dict[str, str] = {}
    for options in classes.values():
        if len(options) > 1:
            beaten |= _beaten_in(group, options, order, set(problem.skills), _stand_in(problem))
    return beaten


def _class(option: Option) -> tuple[object, ...]:
    """What must be equal for two options to be compared at all."""
    numbers = {**option.amounts, **option.effects}
    fixed = tuple(sorted((k, v) for k, v in numbers.items() if not _compared(k)))
    return (option.voltage, tuple(sorted(option.traits.items())), fixed)


@cache
def _compared(name: str) -> bool:
    """Whether a number is better smaller or larger; another must be equal."""
    return LESS.fullmatch(name) is not None or MORE.fullmatch(name) is not None


def _stand_in(problem: Problem) -> StandIn:
    """Whether an option fits wherever another does; always, where nothing needs a place."""
    space = problem.space
    if space is None:
        return lambda _, __: True
    return partial(fits_wherever, space)


def _beaten_in(
    group: Group, options: list[Option], order: OrderKey, skills: set[str], stands_in: StandIn
) -> dict[str, str]:
    table = _table(options)
    keys = [order(group, option) for option in options]
    by_order = sorted(range(len(options)), key=lambda place: keys[place])
    # Rows of what is kept and any builder may fit, side by side: a list of them made anew for each option is quadratic.
    rows = np.empty_like(table)
    rivals: list[int] = []
    beaten: dict[str, str] = {}
    for place in by_order:
        no_worse = _rows_below(rows[: len(rivals)], table[place])
        better = (rivals[found] for found in no_worse)
        winner = next((rival for rival in better if stands_in(options[rival], options[place])), None)
        if winner is not None:
            beaten[options[place].key] = options[winner].key
        elif not set(options[place].skills) - skills:
            rows[len(rivals)] = table[place]
            rivals.append(place)
    return beaten


def _rows_below(rows: NDArray[np.float64], row: NDArray[np.float64]) -> list[int]:
    """Places of the rows that are nowhere above ``row``; column by column, since few rows are left after two."""
    left = np.arange(len(rows))
    for column, value in enumerate(row):
        left = left[rows[left, column] <= value]
        if not len(left):
            return []
    return [int(place) for place in left]


def _table(options: list[Option]) -> NDArray[np.float64]:
    """One row an option, every number turned so that less is better."""
    every = [_numbers(option) for option in options]
    names = sorted({name for numbers in every for name in numbers})
    rows = [[numbers.get(name, 0.0) for name in names] for numbers in every]
    signs = np.array([-1.0 if _more(name) else 1.0 for name in names])
    return signs * np.array(rows, dtype=np.float64).reshape(len(options), len(names))


def _more(name: str) -> bool:
    return MORE.fullmatch(name.removesuffix(" amount").removesuffix(" effect")) is not None


def _numbers(option: Option) -> dict[str, float]:
    numbers: dict[str, float] = {"price": float(option.price_cents), "mass": float(option.mass_g)}
    numbers |= {f"{k} amount": float(v) for k, v in option.amounts.items()}
    numbers |= {f"{k} effect": float(v) for k, v in option.effects.items()}
    for supply in ("dc", "ac"):
        at_25, at_32 = (option.effects.get(f"cold_{supply}_{t}_w", 0.0) for t in (25, 32))
        # Draw is a line over temperature; below at both ends of any weather is below everywhere.
        far = (at_32 - at_25) * SPANS_TO_THE_ENDS
        numbers |= {f"cold_{supply}_cold_w": at_25 - far, f"cold_{supply}_hot_w": at_25 + far}
    return numbers
