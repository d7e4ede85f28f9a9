"""What else may be made small, and what else may be asked of a kit, besides goals and rules.

On the road: handed to choosing by *explain* and the trade-offs. Each is told twice, as a rule is: to the
model, and in plain arithmetic for a kit met on the way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

from ortools.sat.python import cp_model

from optimizer.check import goal_value
from optimizer.choosing.order import cost_of, id_weight
from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Goal, Kit, Problem
from optimizer.rules import BY_SLUG
from optimizer.rules.provisions import missing, shortfalls

LARGEST_SUM = 1 << 50
"""A number that joins two is no larger: whole numbers up to here stay exact in the solver's floating-point bounds."""


@dataclass(frozen=True)
class Aim:
    """A number to make small: as a model expression, and for a kit."""

    expression: Callable[[ModelVariables], Any]
    value: Callable[[Kit], int]
    a_cost: int = 0
    """How much one unit of what an option costs by the problem's goal counts here; 0 = costs do not tell."""
    parts: tuple[Aim, ...] = ()
    """What it joins, the first before the second: once proven they are held one by one, which ends a search sooner."""


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
    return tuple(_goal_aim(problem, goal) for goal in goals)


def _goal_aim(problem: Problem, goal: Goal) -> Aim:
    by_options = goal == problem.goal and goal.slug != "longest"
    return Aim(lambda variables: variables.goal(goal), lambda kit: goal_number(problem, kit, goal), int(by_options))


@dataclass(frozen=True)
class Joined(Aim):
    """Goal and tie-break as one number, so that one search settles both."""

    weight: int = 1
    """What one step of the goal counts."""
    most: int = 0
    """What the tie-break's number is at most."""

    def goal_at_least(self, bound: int) -> int:
        """What the goal's number cannot be below when this one is not below ``bound``."""
        return -((self.most - bound) // self.weight)


def joined_aim(problem: Problem) -> Joined | None:
    """Goal before tie-break; None where there is one only, or where the number might get too large."""
    goal, *rest = goal_aims(problem)
    goal_span, tie_span = span_of(problem, problem.goal), span_of(problem, problem.tie_break)
    if not rest or goal_span is None or tie_span is None:
        return None
    (tie,), weight = rest, tie_span[1] - tie_span[0] + 1
    if weight * max(1, *map(abs, goal_span)) + max(map(abs, tie_span)) > LARGEST_SUM:
        return None
    both = leading(goal, tie, tie_span[1] - tie_span[0])
    priced = problem.goal.slug == "longest" and problem.tie_break.slug == "cheapest"
    return Joined(both.expression, both.value, 1 if priced else both.a_cost, both.parts, weight, tie_span[1])


def span_of(problem: Problem, goal: Goal) -> tuple[int, int] | None:
    """Between which integers a goal's number (less is better) lies, whatever is chosen; None where nothing tells."""
    if goal.slug == "cheapest":
        most = problem.need("budget_cents") + problem.give("budget") if "budget" in problem.rules else None
        return None if most is None else (0, most)
    if goal.slug == "longest":
        return -max(problem.nights), 0
    low = high = 0
    for group in problem.groups:
        costs = [cost_of(goal, option) for option in group.options] + ([] if group.needed else [0])
        low, high = low + min(costs, default=0), high + max(costs, default=0)
    return low, high


def names_aim() -> Aim:
    """The number drawn from part ids that ends all ties."""

    def expression(variables: ModelVariables) -> Any:
        options = ((group, option) for group in variables.problem.groups for option in group.options)
        return sum(id_weight(group.name, option.key) * variables.picked(group, option) for group, option in options)

    return Aim(expression, lambda kit: sum(id_weight(name, key) for name, key in kit.choices.items()))


def excess(problem: Problem, kit: Kit, slug: str) -> int:
    """By how much a kit passes the limits of a slug, at most; below zero the least room left."""
    rule = BY_SLUG.get("own_limit" if slug.startswith("own:") else slug)
    if rule is None or rule.slug not in problem.rules:
        return 0
    limits = [limit for limit in rule.holds(problem, kit) if limit.slug == slug]
    return max((-limit.room for limit in limits), default=0)


def slack_aim(problem: Problem, weights: Mapping[str, int]) -> Aim:
    """How far limits are passed, each by its weight, added up; ``problem`` says what they allow today."""

    def expression(variables: ModelVariables) -> Any:
        return sum(weight * variables.give(slug) for slug, weight in weights.items())

    def value(kit: Kit) -> int:
        return sum(weight * max(0, excess(problem, kit, slug)) for slug, weight in weights.items())

    return Aim(expression, value)


def leading(first: Aim, second: Aim, most: int) -> Aim:
    """Two aims as one, the first before the second, whose greatest number is ``most`` above its least."""
    weight = most + 1
    return Aim(
        lambda variables: weight * first.expression(variables) + second.expression(variables),
        lambda kit: weight * first.value(kit) + second.value(kit),
        weight * first.a_cost,
        (*(first.parts or (first,)), *(second.parts or (second,))),
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
        """One sum of both where it is not too large; else a literal chooses which of the two it is."""
        # Where the budget may be given up a price has no end that is known beforehand.
        joined = joined_aim(self.problem) if self.problem.tie_break.slug != "cheapest" else None
        if joined is not None:
            variables.model.add(joined.expression(variables) <= joined.value(self.kit) - 1)
            return
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


FINE = ("payload", "front_axle", "rear_axle", "side_balance", "roof_load", "budget")
"""Limits on sums to which nearly every option adds something."""


def giving_first(
    problem: Problem, weights: Mapping[str, int], most: Mapping[str, int], better: Better | None = None
) -> tuple[Aim, ...]:
    """The least that limits give, each by its weight and at most so much; then the goal, then its tie-break.

    What is given and the goal are one number where that is not too large and where the give is led to gram by gram: to
    hold the least mass and then look for the best kit took a minute where both at once take a second. Where litres
    are given the two are asked one after another, which is quicker by as much.
    """
    slack, (goal, *rest) = slack_aim(problem, weights), goal_aims(problem)
    span = span_of(replace(problem, gives={**problem.gives, **most}), problem.goal)
    if better is not None and not problem.goal.maximise:
        span = 0, better.numbers[0]
    given = sum(weight * most[slug] for slug, weight in weights.items())
    fine = better is not None or any(slug in FINE for slug in weights)
    if not fine or span is None or (span[1] - span[0] + 1) * (given + 1) > LARGEST_SUM:
        return (slack, goal, *rest)
    return (leading(slack, goal, span[1] - span[0]), *rest)


@dataclass(frozen=True)
class Giving:
    """Limits are passed by what they can be passed by, and by no more in all.

    Without it the relaxation shares what is given in drops, where containers come in sizes.
    """

    problem: Problem
    """As the limits stand today."""
    most: Mapping[str, int]
    """By how much each may be passed."""
    exactly: str = ""
    """A limit, of those with known shortfalls, that is passed by all that it may be."""
    weights: Mapping[str, int] = field(default_factory=dict)
    """What a unit of each counts towards ``in_all``."""
    in_all: int | None = None
    more_than: int = -1
    """Each, with known shortfalls, by more than this; -1 = that does not matter."""

    def add(self, variables: ModelVariables) -> None:
        """The numbers that each unknown may be, and their sum."""
        for slug, most in self.most.items():
            if slug == self.exactly:
                variables.model.add(missing(variables, slug) == most)
            if self.more_than >= 0:
                variables.model.add(missing(variables, slug) > self.more_than)
            steps = shortfalls(self.problem, slug) or ()
            spans = [[step, step] for step in steps if self.more_than < step <= most]
            domain = cp_model.Domain.from_intervals(spans or [[self.more_than + 1, most]])
            variables.model.add_linear_expression_in_domain(variables.give(slug), domain)
        if self.in_all is not None:
            given = slack_aim(self.problem, self.weights).expression(variables)
            variables.model.add(given <= self.in_all)

    def holds(self, kit: Kit) -> bool:
        """Each limit asked for its excess."""
        given = {slug: max(0, excess(self.problem, kit, slug)) for slug in self.most}
        if self.exactly and given[self.exactly] != self.most[self.exactly]:
            return False
        if self.more_than >= 0 and any(give <= self.more_than for give in given.values()):
            return False
        return self.in_all is None or sum(self.weights[slug] * give for slug, give in given.items()) <= self.in_all


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
