"""Why a brief is impossible: the smallest set of its limits and wishes that cannot all be kept.

On the road: an impossible brief -> *conflict* -> ways out. Members are left out one by one; what can be left
out while the rest is still impossible is no part of the conflict. The conflict found is asked again with
other search settings, and for each member there is a kit that keeps all the others: nothing is named that
does not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer.explain.bench import Bench, Change
from optimizer.explain.members import Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE


@dataclass(frozen=True)
class Conflict:
    """Limits and wishes that no kit keeps together."""

    members: tuple[Member, ...]
    """Empty when the parts themselves cannot make a kit, whatever the brief allows."""
    witnesses: tuple[Kit | None, ...]
    """For each member a kit that keeps all the others; None where none was found in the time."""
    proven: bool
    """Whether it was proven impossible, a second time with other search settings too."""
    nothing_for: tuple[str, ...] = ()
    """Groups with nothing on offer."""
    by_parts: tuple[str, ...] = ()
    """Rules between parts that cannot all be kept, when ``members`` is empty."""

    @property
    def minimal(self) -> bool:
        """Whether without any one member the rest is proven possible."""
        return self.proven and None not in self.witnesses


def find_conflict(
    bench: Bench, members: Sequence[Member] | None = None, known: bool = False
) -> Conflict | None:
    """A smallest conflict of a bench's problem; None when it is possible (or not known to be impossible).

    Parameters
    ----------
    bench : Bench
    members : what may be given up; all of the brief's limits and wishes when left out
    known : that it is impossible has been proven already
    """
    members = bench.members() if members is None else tuple(members)
    empty = tuple(g.name for g in bench.problem.groups if g.needed and not g.options)
    if empty:
        return Conflict((), (), True, nothing_for=empty)
    if not known and bench.possible(Change()).status != "impossible":
        return None
    hard = bench.possible(Change(without=members))
    if hard.kit is None:
        proven = hard.status == "impossible"
        return Conflict((), (), proven, by_parts=_between_parts(bench) if proven else ())
    found, witnesses = _smallest(bench, members, (hard.kit,))
    return Conflict(found, witnesses, _confirmed(bench, found, members))


def _smallest(
    bench: Bench, members: Sequence[Member], known: tuple[Kit, ...]
) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
    """Members of which each is needed, with a kit for each that keeps all the others."""
    kept = list(members)
    kits = list(known)
    witnesses: dict[str, Kit | None] = {}
    for member in sorted(members, key=lambda m: _dearness(bench, m)):
        others = [other for other in kept if other != member]
        change = bench.only(others, members)
        kit = next((known for known in kits if bench.keeps(known, change)), None)
        if kit is None:
            found = bench.possible(change)
            if found.status == "impossible":
                kept = others
                continue
            kit = found.kit
        if kit is not None:
            kits.append(kit)
        witnesses[member.name] = kit
    return tuple(kept), tuple(witnesses[member.name] for member in kept)


def _dearness(bench: Bench, member: Member) -> int:
    """The trips first: without them all else is asked in no time. Wishes next, then plain limits."""
    return 0 if member.name == COVERAGE else 1 + member.numbers


def _confirmed(bench: Bench, conflict: Sequence[Member], members: Sequence[Member]) -> bool:
    """Asked again with other search settings."""
    settings = bench.settings
    bench.settings = replace(settings, second_opinion=True)
    try:
        return bench.possible(bench.only(conflict, members)).status == "impossible"
    finally:
        bench.settings = settings


def _between_parts(bench: Bench) -> tuple[str, ...]:
    """Rules that cannot all be kept by any choice of parts, even when the brief asks for nothing."""
    rules = [Member(slug, False) for slug in bench.problem.rules]
    needed = list(rules)
    for rule in rules:
        others = [other for other in needed if other != rule]
        if bench.possible(bench.only(others, rules)).status == "impossible":
            needed = others
    return tuple(rule.name for rule in needed)
