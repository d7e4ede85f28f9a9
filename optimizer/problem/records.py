"""The second of the three frozen records: what may be chosen, and what it is measured against.

On the road: brief + catalog + weather -> *problem* -> choosing <-> trips -> kit.

A problem is a list of groups. From each group one option is chosen (or, where the group allows it,
none). An option is a bundle of parts with everything the rules need to know about it as integers,
rounded against the kit. Money is in cents, mass in grams, volume in millilitres, power in watts,
energy in watt-hours, current in milliamperes, voltage in millivolts, length in millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from optimizer.circuits.records import Circuit
from optimizer.problem.space import Placement, Space, Thing

Amounts = Mapping[str, int]
LINKS_MA = 10_000_000
"""More than any links between batteries carry: what ``links_short_ma`` of a bank tells the lack of [mA]."""


@dataclass(frozen=True)
class Option:
    """One thing that can be chosen in a group."""

    key: str
    """Unique within the group and stable: made of part ids and counts."""
    parts: tuple[tuple[str, int], ...]
    """Part ids and how many of each."""
    price_cents: int = 0
    """Money for its parts, except owned parts, which the problem prices itself."""
    mass_g: int = 0
    """Empty mass of its parts."""
    amounts: Amounts = field(default_factory=dict)
    """What the rules read, by the names that ``problem.power``, ``living`` and ``own`` give."""
    voltage: int = 0
    """Bank voltage it is for, 0 = any."""
    skills: tuple[str, ...] = ()
    effects: Mapping[str, float] = field(default_factory=dict)
    """What the trips read: numbers by name, see ``kit_numbers``."""
    traits: Mapping[str, str] = field(default_factory=dict)
    """What the trips read that is no number: chemistry, fuel, supply."""
    words: str = ""
    """How it is wired or used, in a few words."""
    circuits: tuple[Circuit, ...] = ()
    """What feeds it or is fed by it; their cables, fuses and lugs are among ``parts``."""
    things: tuple[Thing, ...] = ()
    """What of it needs a place on the roof or in a bay."""
    reach_mm: int = 0
    """How far from what feeds it its cable reaches (see ``space.Reach``), 0 = wherever it stands."""

    @property
    def main(self) -> str:
        """Id of its first part: what it is an option of."""
        return self.parts[0][0] if self.parts else ""

    def get(self, name: str) -> int:
        """The amount called ``name``, 0 when the option has none."""
        return self.amounts.get(name, 0)

    def amount(self, name: str) -> int:
        """The same, with price and mass as amounts among the others."""
        if name == "price_cents":
            return self.price_cents
        if name == "mass_g":
            return self.mass_g
        return self.get(name)


@dataclass(frozen=True)
class Group:
    """Options of which exactly one, or at most one, is chosen."""

    name: str
    kind: str
    options: tuple[Option, ...]
    needed: bool
    """True: exactly one. False: at most one."""
    twin: str = ""
    """A group with the same options that must not come first (two cold boxes, two arrays)."""
    hidden: bool = False
    """Not a purchase of its own: which cooker cooks which meal."""

    def option(self, key: str) -> Option:
        """The option called ``key``; KeyError when there is none."""
        return self._by_key[key]

    @cached_property
    def _by_key(self) -> Mapping[str, Option]:
        return {option.key: option for option in self.options}

    def weights(self, amount: str) -> Mapping[str, int]:
        """An amount, or price or mass, of each option that has any, by key."""
        if amount not in self._weights:
            named = ((option.key, option.amount(amount)) for option in self.options)
            self._weights[amount] = {key: weight for key, weight in named if weight}
        return self._weights[amount]

    @cached_property
    def _weights(self) -> dict[str, Mapping[str, int]]:
        return {}


@dataclass(frozen=True)
class OwnedPart:
    """A part the person has: free up to ``count``."""

    part: str
    count: int
    price_cents: int


@dataclass(frozen=True)
class Goal:
    """What is best: the direction, and where the number comes from."""

    slug: str
    """'cheapest', 'lightest', 'longest' or 'most:COLUMN'."""
    unit: str
    scale: int

    @property
    def maximise(self) -> bool:
        """Whether more is better."""
        return self.slug == "longest" or self.slug.startswith("most:")


@dataclass(frozen=True)
class Problem:
    """Everything the choosing needs, and nothing else."""

    groups: tuple[Group, ...]
    owned: tuple[OwnedPart, ...]
    voltages: tuple[int, ...]
    nights: tuple[int, ...]
    """Nights that may be chosen; one unless the goal is the longest stay."""
    months: tuple[int, ...]
    """Months of the season, 1 to 12."""
    needs: Amounts
    """What the brief asks for and allows, by the names that ``problem.build`` gives."""
    goal: Goal
    tie_break: Goal
    rules: tuple[str, ...]
    """Slugs of the rules in force, in the order of the report."""
    skills: tuple[str, ...] = ()
    required: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    own_limits: tuple[OwnLimitNeed, ...] = ()
    title: str = ""
    space: Space | None = None
    """The van's places and axles; None when nothing needs a place."""
    gives: Mapping[str, int] = field(default_factory=dict)
    """What limits allow beyond what brief and parts say, by slug, in the limit's own integers: for asking
    what a little give would buy. Below zero they allow less."""

    def give(self, slug: str) -> int:
        """What a limit allows beyond what it says, mostly 0."""
        return self.gives.get(slug, 0)

    def group(self, name: str) -> Group:
        """The group called ``name``; KeyError when there is none."""
        return self._by_name[name]

    def has(self, name: str) -> bool:
        """Whether there is a group of that name."""
        return name in self._by_name

    def of_kind(self, *kinds: str) -> Iterator[Group]:
        """The groups of these kinds, in order."""
        return (group for group in self.groups if group.kind in kinds)

    def need(self, name: str) -> int:
        """What the brief asks for or allows under ``name``; KeyError when it says nothing."""
        return self.needs[name]

    @cached_property
    def _by_name(self) -> Mapping[str, Group]:
        return {group.name: group for group in self.groups}


@dataclass(frozen=True)
class OwnLimitNeed:
    """A limit of the author's own, in thousandths of its unit."""

    name: str
    column: str
    unit: str
    at_most: int | None
    at_least: int | None


@dataclass(frozen=True)
class Kit:
    """The third frozen record: what was chosen."""

    choices: Mapping[str, str]
    """Group name to option key; groups left empty are absent."""
    voltage: int
    nights: int
    places: Placement | None = field(default=None, compare=False)
    """Where everything is, once that has been found."""

    def options(self, problem: Problem) -> tuple[tuple[Group, Option], ...]:
        """Every chosen option with its group, in the problem's order."""
        return self._tally(problem).options

    def sum(self, problem: Problem, amount: str, *kinds: str) -> int:
        """Sum of an amount over what was chosen, of all kinds or of these."""
        totals = self._tally(problem).totals
        return sum(totals.get((kind, amount), 0) for kind in kinds or ("",))

    def _tally(self, problem: Problem) -> _Tally:
        """Options and sums, worked out once: one check asks for them a hundred times."""
        tally = self.__dict__.get("_kept")
        if not isinstance(tally, _Tally) or tally.problem is not problem:
            tally = _Tally.of(problem, self.choices)
            object.__setattr__(self, "_kept", tally)
        return tally

    def __getstate__(self) -> dict[str, object]:
        return {"choices": self.choices, "voltage": self.voltage, "nights": self.nights, "places": self.places}

    def chosen(self, problem: Problem, group: str) -> Option | None:
        """What was chosen in a group, or None."""
        key = self.choices.get(group)
        return None if key is None else problem.group(group).option(key)

    def counts(self, problem: Problem) -> dict[str, int]:
        """How many of each part, by id."""
        total: dict[str, int] = {}
        for _, option in self.options(problem):
            for part, count in option.parts:
                total[part] = total.get(part, 0) + count
        return dict(sorted(total.items()))


@dataclass(frozen=True, eq=False)
class _Tally:
    problem: Problem
    options: tuple[tuple[Group, Option], ...]

    @classmethod
    def of(cls, problem: Problem, choices: Mapping[str, str]) -> _Tally:
        found = ((g, choices.get(g.name)) for g in problem.groups)
        return cls(problem, tuple((g, g.option(key)) for g, key in found if key is not None))

    @cached_property
    def totals(self) -> Mapping[tuple[str, str], int]:
        """Sums by kind and amount; kind '' for all. Only who asks for a sum pays for them."""
        totals: dict[tuple[str, str], int] = {}
        for group, option in self.options:
            for amount, value in option.amounts.items():
                for kind in ("", group.kind):
                    totals[kind, amount] = totals.get((kind, amount), 0) + value
        return totals
