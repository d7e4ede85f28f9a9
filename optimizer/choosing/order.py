"""By which numbers two options of a group are told apart: goal, tie-break, and last a number drawn from names.

On the road: beside choosing; *dominance* and *lifting* are told the same order.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from optimizer.problem.records import Goal, Group, Option, Problem


def order_of(problem: Problem) -> Callable[[Group, Option], tuple[int, ...]]:
    """The numbers by which options of a group are told apart: goal, tie-break, part-id number."""

    def order(group: Group, option: Option) -> tuple[int, ...]:
        costs = (cost_of(problem.goal, option), cost_of(problem.tie_break, option))
        return (*costs, id_weight(group.name, option.key), option.price_cents)

    return order


def cost_of(goal: Goal, option: Option) -> int:
    """What an option costs by the first goal, near enough to scout by."""
    if goal.slug.startswith("most:"):
        return -option.get(f"column_{goal.slug.removeprefix('most:')}_down")
    return option.mass_g if goal.slug == "lightest" else option.price_cents


def id_weight(group: str, key: str) -> int:
    """A fixed number from 0 to 2^24 drawn from names alone: the last tie-break."""
    return int.from_bytes(hashlib.sha256(f"{group}:{key}".encode()).digest()[:3], "big")
