"""The unknowns of one model: implements ``rules.base.Variables`` on CP-SAT.

Everything is built in the problem's order, which is sorted, so the same problem gives the same model.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ortools.sat.python import cp_model

from optimizer.problem.records import Goal, Group, Kit, Option, Problem


class ModelVariables:
    """The unknowns, the constraints asked for so far, and sums over what is chosen.

    Parameters
    ----------
    problem : Problem
    slack : mapping of str to int
        Limits, by slug, that may be passed: each by an unknown from 0 to so much.
    """

    def __init__(self, problem: Problem, slack: Mapping[str, int] | None = None) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self._slack = {slug: self.model.new_int_var(0, most, f"slack {slug}") for slug, most in (slack or {}).items()}
        self._numbers: dict[str, Any] = {}
        self._price: list[Any] | None = None
        self._totals: dict[tuple[str, ...], Any] = {}
        self._picked: dict[tuple[str, str], Any] = {}
        self._sets: dict[tuple[str, ...], Any] = {}
        self._ruled_out: set[tuple[str, str]] = set()
        self._night: dict[int, Any] = {}
        self._voltage: dict[int, Any] = {}
        self._build_nights_and_voltages()
        self._build_groups()

    # -- building -------------------------------------------------------------------------------

    def _build_nights_and_voltages(self) -> None:
        model = self.model
        self._night = {n: model.new_bool_var(f"{n} nights") for n in self.problem.nights}
        self._voltage = {v: model.new_bool_var(f"{v} V") for v in self.problem.voltages}
        model.add_exactly_one(self._night.values())
        model.add_exactly_one(self._voltage.values())

    def _build_groups(self) -> None:
        for group in self.problem.groups:
            literals = []
            by_voltage: dict[int, list[Any]] = {}
            for option in group.options:
                literal = self.model.new_bool_var(f"{group.name}: {option.key}")
                self._picked[group.name, option.key] = literal
                literals.append(literal)
                if option.voltage:
                    by_voltage.setdefault(option.voltage, []).append(literal)
            if group.needed:
                self.model.add_exactly_one(literals)
            elif literals:
                self.model.add_at_most_one(literals)
            for voltage, some in by_voltage.items():
                # Together, not one by one: no split of the choice gets past the voltage in the relaxation.
                self.model.add_at_most_one([*some, self._voltage[voltage].negated()])
        for group in self.problem.groups:
            if group.twin:
                self._order_twins(self.problem.group(group.twin), group)

    def _order_twins(self, first: Group, second: Group) -> None:
        """Of two groups with the same options the second takes no earlier option, and not alone."""

        def rank(group: Group) -> Any:
            return sum((i + 1) * self.picked(group, option) for i, option in enumerate(group.options))

        self.model.add(rank(second) <= rank(first))

    # -- what rules use -------------------------------------------------------------------------

    def picked(self, group: Group, option: Option) -> Any:
        """1 when that option is chosen."""
        return self._picked[group.name, option.key]

    def nothing(self, group: Group) -> Any:
        """1 when nothing is chosen from a group."""
        name = f"nothing: {group.name}"
        if name not in self._numbers:
            literal = self.model.new_bool_var(name)
            self.model.add_exactly_one([literal, *(self.picked(group, option) for option in group.options)])
            self._numbers[name] = literal
        return self._numbers[name]

    def any_of(self, group: Group, keys: tuple[str, ...]) -> Any:
        """1 when one of these options is chosen ('' stands for nothing); the same literal when asked again.

        Walls learnt from trips ask for the same few sets again and again; a literal for each keeps them short.
        """
        if len(keys) == 1:
            return self._picked[group.name, keys[0]] if keys[0] else self.nothing(group)
        name = (group.name, *keys)
        if name not in self._sets:
            literal = self.model.new_bool_var(f"{group.name}: one of {len(keys)}, {len(self._sets)}")
            members = [self._picked[group.name, key] if key else self.nothing(group) for key in keys]
            self.model.add(sum(members) == literal)
            self._sets[name] = literal
        return self._sets[name]

    def reaches(self, terms: Iterable[tuple[str, Iterable[tuple[str, int]]]], least: int) -> Any:
        """1 only when what is chosen adds up to ``least`` by these terms (group, and what each option adds)."""
        literals: list[Any] = []
        weights: list[int] = []
        for name, named in terms:
            group = self.problem.group(name)
            for key, weight in named:
                literals.append(self._picked[name, key] if key else self.nothing(group))
                weights.append(weight)
        reached = self.model.new_bool_var(f"sum {len(self.model.proto.variables)}")
        self.model.add(cp_model.LinearExpr.weighted_sum(literals, weights) >= least).only_enforce_if(reached)
        return reached

    def rule_out(self, options: Iterable[tuple[str, str]]) -> None:
        """From now on these options (group, key) are known to be in no kit."""
        for option in options:
            if option not in self._ruled_out:
                self._ruled_out.add(option)
                self.model.add(self._picked[option] == 0)

    def possible(self, group: str, keys: tuple[str, ...]) -> tuple[str, ...]:
        """Those of these options that are not ruled out."""
        return tuple(key for key in keys if (group, key) not in self._ruled_out)

    def options_by_index(self) -> dict[int, tuple[str, str]]:
        """Group and key of each option, by the place of its unknown in the model."""
        return {literal.index: option for option, literal in self._picked.items()}

    def literal(self, group: str, key: str) -> Any:
        """1 when that option is chosen, both by name."""
        return self._picked[group, key]

    def total(self, amount: str, *kinds: str) -> Any:
        """Sum of an amount over everything chosen, of all kinds or of these."""
        name = ("total", amount, *kinds)
        if name not in self._totals:
            groups = self.problem.of_kind(*kinds) if kinds else iter(self.problem.groups)
            self._totals[name] = self._sum(groups, amount)
        return self._totals[name]

    def of(self, group: str, amount: str) -> Any:
        """The amount of whatever is chosen in a group, 0 for nothing."""
        name = ("of", group, amount)
        if name not in self._totals:
            self._totals[name] = self._sum([self.problem.group(group)], amount)
        return self._totals[name]

    def weighted(self, terms: Iterable[tuple[Group, Option, int]]) -> Any:
        """Sum of so much for each of these options that is chosen."""
        literals: list[Any] = []
        weights: list[int] = []
        for group, option, weight in terms:
            literals.append(self._picked[group.name, option.key])
            weights.append(weight)
        return cp_model.LinearExpr.weighted_sum(literals, weights) if literals else 0

    def _sum(self, groups: Iterable[Group], amount: str) -> Any:
        literals: list[Any] = []
        weights: list[int] = []
        for group in groups:
            counted = group.weights(amount)
            literals += [self._picked[group.name, key] for key in counted]
            weights += counted.values()
        return cp_model.LinearExpr.weighted_sum(literals, weights) if literals else 0

    def nights(self) -> Mapping[int, Any]:
        """For each number of nights that may be chosen, 1 when it is."""
        return self._night

    def voltages(self) -> Mapping[int, Any]:
        """For each bank voltage that may be chosen, 1 when it is."""
        return self._voltage

    def number(self, name: str, most: int) -> Any:
        """A new unknown from 0 to ``most``; the same one when asked again by the same name."""
        if name not in self._numbers:
            self._numbers[name] = self.model.new_int_var(0, most, name)
        return self._numbers[name]

    def demand(self, slug: str, condition: Any, *under: Any) -> None:
        """Ask for a condition on behalf of a limit, where all of ``under`` are 1."""
        enforcing = [literal for literal in under if not self._always(literal)]
        if isinstance(condition, bool):
            if not condition:
                self.model.add_bool_or([literal.negated() for literal in enforcing])
            return
        constraint = self.model.add(condition)
        if enforcing:
            constraint.only_enforce_if(*enforcing)

    def _always(self, literal: Any) -> bool:
        """Whether a literal is 1 anyway, being the only night count or voltage there is."""
        only = [v for many in (self._night, self._voltage) if len(many) == 1 for v in many.values()]
        return any(literal is one for one in only)

    def give(self, slug: str) -> Any:
        """What a limit allows beyond what it says: the problem's, or an unknown where that is asked for."""
        return self._slack.get(slug, self.problem.give(slug))

    # -- money and goals ------------------------------------------------------------------------

    def price(self) -> Any:
        """Money for everything chosen [cents]."""
        if self._price is None:
            self._price = [self.total("price_cents"), *self._owned_price(), *self._consumables()]
        # A sum of its own for each who asks: the solver's sums grow in place under +=, their terms do not.
        return sum(self._price[1:], self._price[0])

    def _consumables(self) -> list[Any]:
        """What is used up on the trip."""
        per_night = self.total("cents_night")
        if isinstance(per_night, int):
            return []
        if len(self._night) == 1:
            (nights,) = self._night
            return [nights * per_night]
        dearest = sum(max(group.weights("cents_night").values(), default=0) for group in self.problem.groups)
        consumables = self.model.new_int_var(0, max(self._night) * dearest, "consumables")
        for nights, lasts in self._night.items():
            self.model.add(consumables >= nights * per_night).only_enforce_if(lasts)
        return [consumables]

    def _owned_price(self) -> list[Any]:
        """What is bought of a part beyond what is owned of it."""
        prices = []
        for owned in self.problem.owned:
            count = [
                (self._picked[group.name, option.key], number)
                for group in self.problem.groups if not group.hidden
                for option in group.options
                for part, number in option.parts if part == owned.part
            ]
            if not count:
                continue
            paid = self.model.new_int_var(0, sum(n for _, n in count), f"bought beyond owned: {owned.part}")
            self.model.add(paid >= sum(n * literal for literal, n in count) - owned.count)
            prices.append(owned.price_cents * paid)
        return prices

    def goal(self, goal: Goal) -> Any:
        """The expression to make small (a goal that wants more is negated)."""
        if goal.slug == "cheapest":
            return self.price()
        if goal.slug == "lightest":
            return self.total("mass_g")
        if goal.slug == "longest":
            return -sum(n * literal for n, literal in self._night.items())
        return -self.total(f"column_{goal.slug.removeprefix('most:')}_down")

    def kit(self, value: Any) -> Kit:
        """Read the kit off a solver (``value`` maps a literal to a Boolean)."""
        choices = {
            group.name: option.key
            for group in self.problem.groups
            for option in group.options
            if value(self._picked[group.name, option.key])
        }
        nights = next(n for n, literal in self._night.items() if value(literal))
        voltage = next(v for v, literal in self._voltage.items() if value(literal))
        return Kit(choices, voltage, nights)
