"""What else may be made small, and what else may be asked of a kit, besides goals and rules.

On the road: handed to choosing by *explain* and the trade-offs. Each is told twice, as a rule is: to the
model, and in plain arithmetic for a kit met on the way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from optimizer.check import check, goal_value
from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Goal, Kit, Problem


@dataclass(frozen=True)
class Aim:
    """A number to make small: as a model expression, and for a kit."""

    expression: Callable[[ModelVariables], Any]
    value: Callable[[Kit], int]


ANY = Aim(lambda _: 0, lambda _: 0)
"""Nothing to make small: the first kit that is allowed will do."""


class Demand(Protocol):
    """Something a kit must keep."""

    def add(self, variables: ModelVariables) -> None:
        """Put it into a model."""

    def holds(self, kit: Kit) -> bool:
        """Whether a kit keeps it."""


def goal_number(problem: Problem, kit: Kit, goal: Goal) -> int:
    """A goal's number for a kit, turned so that less is better."""
    value = goal_value(problem, kit, goal)
    return -value if goal.maximise else value


def goal_aims(problem: Problem) -> tuple[Aim, ...]:
    """The goal, then its tie-break."""
    goals = [problem.goal, *([problem.tie_break] if problem.tie_break != problem.goal else [])]

    def aim(goal: Goal) -> Aim:
        return Aim(lambda variables: variables.goal(goal), lambda kit: goal_number(problem, kit, goal))

    return tuple(aim(goal) for goal in goals)


def excess(problem: Problem, kit: Kit, slug: str) -> int:
    """By how much a kit passes the limits of a slug, at most; below zero the least room left."""
    limits = [limit for limit in check(problem, kit).limits if limit.slug == slug]
    return max((-limit.room for limit in limits), default=0)


def slack_aim(problem: Problem, weights: Mapping[str, int]) -> Aim:
    """How far limits are passed, each by its weight, added up; ``problem`` says what they allow today."""

    def expression(variables: ModelVariables) -> Any:
        return sum(weight * variables.give(slug) for slug, weight in weights.items())

    def value(kit: Kit) -> int:
        return sum(weight * max(0, excess(problem, kit, slug)) for slug, weight in weights.items())

    return Aim(expression, value)


def leading(first: Aim, second: Aim, most: int) -> Aim:
    """Two aims as one, the first before the second, whose number is from 0 to ``most``."""
    weight = most + 1
    return Aim(
        lambda variables: weight * first.expression(variables) + second.expression(variables),
        lambda kit: weight * first.value(kit) + second.value(kit),
    )


@dataclass(frozen=True)
class Better:
    """Better than a kit by the goal, or as good and better by the tie-break."""

    problem: Problem
    kit: Kit

    @property
    def numbers(self) -> tuple[int, int]:
        """Goal and tie-break of the kit to beat, less is better."""
        goals = (self.problem.goal, self.problem.tie_break)
        first, second = (goal_number(self.problem, self.kit, goal) for goal in goals)
        return first, second

    def add(self, variables: ModelVariables) -> None:
        """One literal chooses which of the two it is."""
        goal, tie = self.numbers
        by_goal = variables.model.new_bool_var("better by the goal")
        first, second = (variables.goal(g) for g in (self.problem.goal, self.problem.tie_break))
        variables.model.add(first <= goal)
        variables.model.add(first <= goal - 1).only_enforce_if(by_goal)
        variables.model.add(second <= tie - 1).only_enforce_if(by_goal.negated())

    def holds(self, kit: Kit) -> bool:
        """Goal and tie-break before today's."""
        goals = (self.problem.goal, self.problem.tie_break)
        first, second = (goal_number(self.problem, kit, goal) for goal in goals)
        return (first, second) < self.numbers


@dataclass(frozen=True)
class OtherParts:
    """Not these parts, nor these with more added: of at least one part it has fewer.

    A kit that only adds things to another is no news to anybody.
    """

    problem: Problem
    counts: tuple[tuple[str, int], ...]

    def add(self, variables: ModelVariables) -> None:
        """A literal for fewer of each part; one of them must hold."""
        model, holders = variables.model, _holders(variables.problem, variables)
        fewer_of = []
        for part, many in self.counts:
            fewer = model.new_bool_var(f"fewer of {part}")
            number = sum(count * literal for literal, count in holders.get(part, ()))
            model.add(number <= many - 1).only_enforce_if(fewer)
            fewer_of.append(fewer)
        model.add_bool_or(fewer_of)

    def holds(self, kit: Kit) -> bool:
        """Counts compared."""
        counts = kit.counts(self.problem)
        return any(counts.get(part, 0) < many for part, many in self.counts)


def _holders(problem: Problem, variables: ModelVariables) -> dict[str, list[tuple[Any, int]]]:
    """For each part, the literals of the options that hold it, and how many of it each holds."""
    holders: dict[str, list[tuple[Any, int]]] = {}
    for group in problem.groups:
        for option in group.options:
            for part, count in option.parts:
                holders.setdefault(part, []).append((variables.picked(group, option), count))
    return holders


@dataclass(frozen=True)
class AtMost:
    """A goal's number of at most so much (turned so that less is better)."""

    problem: Problem
    goal: Goal
    most: int

    def add(self, variables: ModelVariables) -> None:
        """One bound."""
        variables.model.add(variables.goal(self.goal) <= self.most)

    def holds(self, kit: Kit) -> bool:
        """The same in plain numbers."""
        return goal_number(self.problem, kit, self.goal) <= self.most


def sharing_aim(problem: Problem, counts: Mapping[str, int]) -> Aim:
    """How many kinds of parts a kit shares with these."""

    def expression(variables: ModelVariables) -> Any:
        model, shared = variables.model, []
        for part, terms in _holders(variables.problem, variables).items():
            if part in counts:
                there = model.new_bool_var("still there")
                for literal, _ in terms:
                    model.add_implication(literal, there)
                shared.append(there)
        return sum(shared)

    def value(kit: Kit) -> int:
        return sum(part in counts for part in kit.counts(problem))

    return Aim(expression, value)
