"""Questions about a problem, what they came to, and what is known from them: it can be handed to whoever asks on.

On the road: under the *bench*.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from optimizer.choosing.solve import Status
from optimizer.choosing.store import Level
from optimizer.explain.members import Member
from optimizer.problem.records import Kit


@dataclass(frozen=True)
class Found:
    """The answer to one question: a kit, and whether that answer is proven to the end."""

    kit: Kit | None
    status: Status


@dataclass(frozen=True)
class Change:
    """What is different from the brief."""

    without: tuple[Member, ...] = ()
    gives: Mapping[str, int] = field(default_factory=dict)
    """By how much limits give way, by slug; 'coverage' in departures."""
    required: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    whole: bool = False
    """Among all options, those too that another is better than in everything."""

    def lets_in_no_more(self, other: Change) -> bool:
        """Whether it lets in no kit that another does not."""
        wishes = (self.required, self.refused) == (other.required, other.refused)
        gives = all(give <= other.gives.get(name, 0) for name, give in self.gives.items())
        return wishes and gives and not any(give < 0 for give in other.gives.values()) and (
            {member.name for member in self.without} <= {member.name for member in other.without}
        )


@dataclass(frozen=True)
class Knowledge:
    """What is known of one problem, each once and in the order in which it came."""

    levels: tuple[Level, ...] = ()
    met: tuple[Kit, ...] = ()
    """Kits that kept the problem as changed in some way."""
    never: tuple[Change, ...] = ()
    """Changes with which it is impossible."""
    lent: Found | None = None
    """The best kit beyond the budget, where that was asked."""

    def and_also(self, others: Iterable[Knowledge]) -> Knowledge:
        """This and what others know."""
        levels, met, never, lent = dict.fromkeys(self.levels), list(self.met), list(self.never), self.lent
        for other in others:
            levels.update(dict.fromkeys(other.levels))
            met += [kit for kit in other.met if kit not in met]
            never += [change for change in other.never if change not in never]
            lent = lent or other.lent
        return Knowledge(tuple(levels), tuple(met), tuple(never), lent)

    def beyond(self, other: Knowledge) -> Knowledge:
        """What this has and another has not."""
        levels = set(other.levels)
        return Knowledge(
            tuple(level for level in self.levels if level not in levels),
            tuple(kit for kit in self.met if kit not in other.met),
            tuple(change for change in self.never if change not in other.never),
            self.lent if other.lent is None else None,
        )
