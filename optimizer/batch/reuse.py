"""Answers that an earlier variant has given already, proof and all.

On the road: inside ``batch``, in each worker. A variant that only allows less than an earlier one has no kit that
the earlier one had not. So when the best kit of the earlier one still keeps every rule and passes every judge,
it is the best of this one too, by goal and by every tie-break; and where the earlier one had none, this one has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.check import check
from optimizer.problem.records import OwnLimitNeed, Problem

if TYPE_CHECKING:
    from optimizer.brief.brief import Brief
    from optimizer.choosing.choose import Outcome
    from optimizer.choosing.walls import Judge

MOST = 64
ALLOWANCES = frozenset((
    "budget_cents", "payload_g", "roof_load_g", "height_mm", "parking_mm", "front_axle_g", "rear_axle_g", "side_g",
    "alternator_ma",
))  # fmt: skip
"""Needs that are the right side of one limit each: less of them allows less, and changes nothing else."""
DEMANDS = frozenset(("sunless_millidays",))
"""Needs that are the left side of one limit: more of them allows less."""
SAME = (
    "groups", "voltages", "nights", "months", "goal", "tie_break", "rules", "skills", "required", "refused", "owned",
    "space", "gives",
)  # fmt: skip


@dataclass(frozen=True)
class Solved:
    """A variant with a proven best kit, or proven to have none."""

    problem: Problem
    trips: str
    """What its trips hang on."""
    allowed_short: int
    outcome: Outcome


class Answered:
    """The latest proven answers."""

    def __init__(self) -> None:
        self._solved: list[Solved] = []

    def keep(self, solved: Solved) -> None:
        """Remember an answer whose ties were broken too, or that there is none."""
        outcome = solved.outcome
        if outcome.status == "impossible" or (outcome.status == "proven" and outcome.ties_broken):
            self._solved = [*self._solved[1 - MOST:], solved]

    def answer(self, problem: Problem, trips: str, allowed_short: int, judges: Sequence[Judge]) -> Outcome | None:
        """The outcome of an earlier variant that is this one's too, if there is one."""
        for one in reversed(self._solved):
            if one.trips != trips or allowed_short > one.allowed_short or not allows_less(problem, one.problem):
                continue
            kit = one.outcome.kit
            if kit is None:
                return one.outcome
            if check(problem, kit).ok and all(judge.passes(kit) for judge in judges):
                return one.outcome
        return None


def allows_less(problem: Problem, other: Problem) -> bool:
    """Whether every kit of ``problem`` is a kit of ``other``: the same but for allowances, none of them more."""
    if problem.needs.keys() != other.needs.keys():
        return False
    for name, value in problem.needs.items():
        before = other.needs[name]
        less = (name in ALLOWANCES and value < before) or (name in DEMANDS and value > before)
        if value != before and not less:
            return False
    return _own_allow_less(problem, other) and all(getattr(problem, name) == getattr(other, name) for name in SAME)


def _own_allow_less(problem: Problem, other: Problem) -> bool:
    """The same own limits, each as tight or tighter."""
    def sums(limits: Sequence[OwnLimitNeed]) -> list[tuple[str, str, bool, bool]]:
        return [(o.name, o.column, o.at_most is None, o.at_least is None) for o in limits]

    return sums(problem.own_limits) == sums(other.own_limits) and all(
        (now.at_most is None or before.at_most is None or now.at_most <= before.at_most)
        and (now.at_least is None or before.at_least is None or now.at_least >= before.at_least)
        for now, before in zip(problem.own_limits, other.own_limits, strict=True)
    )


def family(brief: Brief, trips: str) -> tuple[str, int]:
    """Variants of one family have the same trips; mostly one's answer or walls help the next."""
    return trips, brief.trip.nights


def solving_order(brief: Brief, trips: str) -> tuple[float | str, ...]:
    """Families together, and of a family those that allow more first."""
    coverage, limits, vehicle = brief.trip.coverage or 0.0, brief.limits, brief.vehicle
    return (
        *family(brief, trips), coverage, brief.trip.sunless_days, -limits.budget, limits.payload_margin,
        -vehicle.gross_mass, -limits.parking_length,
    )
