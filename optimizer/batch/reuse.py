"""Answers that an earlier variant has given already, proof and all.

On the road: inside ``batch``, in each worker. A variant that only allows less than an earlier one has no kit that
the earlier one had not. So when the best kit of the earlier one still keeps every rule and passes every judge,
it is the best of this one too, by goal and by every tie-break.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimizer.check import check
from optimizer.problem.records import Problem

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
SAME = (
    "groups", "voltages", "nights", "months", "goal", "tie_break", "rules", "skills", "required", "refused", "owned",
    "own_limits", "space", "gives",
)  # fmt: skip


@dataclass(frozen=True)
class Solved:
    """A variant with a proven best kit."""

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
        """Remember an answer whose ties were broken too."""
        if solved.outcome.status == "proven" and solved.outcome.ties_broken and solved.outcome.kit is not None:
            self._solved = [*self._solved[1 - MOST:], solved]

    def answer(self, problem: Problem, trips: str, allowed_short: int, judges: Sequence[Judge]) -> Outcome | None:
        """The outcome of an earlier variant that is this one's too, if there is one."""
        for one in reversed(self._solved):
            if one.trips != trips or allowed_short > one.allowed_short or not allows_less(problem, one.problem):
                continue
            kit = one.outcome.kit
            assert kit is not None
            if check(problem, kit).ok and all(judge.passes(kit) for judge in judges):
                return one.outcome
        return None


def allows_less(problem: Problem, other: Problem) -> bool:
    """Whether every kit of ``problem`` is a kit of ``other``: the same but for allowances, none of them more."""
    if problem.needs.keys() != other.needs.keys():
        return False
    for name, value in problem.needs.items():
        before = other.needs[name]
        if value != before and not (name in ALLOWANCES and value < before):
            return False
    return all(getattr(problem, name) == getattr(other, name) for name in SAME)


def solving_order(brief: Brief, trips: str) -> tuple[str, int, float, float, float]:
    """Variants with the same trips together, and of them those that allow more first."""
    coverage = brief.trip.coverage or 0.0
    return trips, brief.trip.nights, coverage, -brief.limits.budget, -brief.vehicle.gross_mass
