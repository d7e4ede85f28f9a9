"""What a rule is: a slug, the sentence a builder reads, ``add`` for the model, ``holds`` for the check.

On the road: *problem* -> choosing (``add``) and kit -> check (``holds``). ``add`` and ``holds`` are
written apart on purpose and share no arithmetic: one is a promise, the other the proof of it. No rule
imports the solver; ``add`` is handed what it needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from optimizer.problem.records import Group, Kit, Option, Problem


@dataclass(frozen=True)
class Limit:
    """How one limit stands: what is used, what is allowed, in integers of ``1/scale`` of ``unit``."""

    slug: str
    name: str
    """The slug, or for a limit that stands several times (months, fuels) the slug and which."""
    sentence: str
    unit: str
    scale: int
    used: int
    allowed: int

    @property
    def room(self) -> int:
        """What is left; below zero when the limit is passed."""
        return self.allowed - self.used

    @property
    def met(self) -> bool:
        """Whether the limit holds."""
        return self.used <= self.allowed


class Variables(Protocol):
    """What ``add`` is handed: the unknowns of one model. ``Any`` stands for solver expressions."""

    problem: Problem

    def picked(self, group: Group, option: Option) -> Any:
        """1 when that option is chosen."""

    def any_of(self, group: Group, keys: tuple[str, ...]) -> Any:
        """1 when one of these options is chosen; '' stands for nothing."""

    def total(self, amount: str, *kinds: str) -> Any:
        """Sum of an amount over everything chosen, of all kinds or of these."""

    def of(self, group: str, amount: str) -> Any:
        """The amount of whatever is chosen in a group, 0 for nothing."""

    def weighted(self, terms: Iterable[tuple[Group, Option, int]]) -> Any:
        """Sum of so much for each of these options that is chosen."""

    def nights(self) -> Mapping[int, Any]:
        """For each number of nights that may be chosen, 1 when it is."""

    def voltages(self) -> Mapping[int, Any]:
        """For each bank voltage that may be chosen, 1 when it is."""

    def number(self, name: str, most: int) -> Any:
        """A new unknown from 0 to ``most``; the same one when asked again by the same name."""

    def price(self) -> Any:
        """Money for everything chosen [cents]."""

    def give(self, slug: str) -> Any:
        """What a limit allows beyond what it says."""

    def demand(self, slug: str, condition: Any, *under: Any) -> None:
        """Ask for a condition on behalf of a limit, where all of ``under`` are 1."""


class Rule(Protocol):
    """One small object a rule."""

    @property
    def slug(self) -> str:
        """Short name, as in the brief's ``keep`` and in every output."""

    @property
    def sentence(self) -> str:
        """What the rule asks, as a builder reads it."""

    def add(self, variables: Variables) -> None:
        """Put the rule into a model."""

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """How the rule stands for a kit, in plain arithmetic."""


@dataclass(frozen=True)
class Lever:
    """The brief's number that a limit hangs on, for asking what a little give would buy."""

    need: str
    """Name in ``Problem.needs``."""
    key: str
    """Key in the brief."""
    loosen: int
    """+1 when more is looser, -1 when less is looser."""
    unit: str
    scale: int
