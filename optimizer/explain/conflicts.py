"""Why a brief is impossible: the smallest set of its limits and wishes that cannot all be kept.

On the road: an impossible brief -> *conflict* -> ways out. Members are left out many at once, then fewer;
what can be left out while the rest is still impossible is no part of the conflict. The conflict found is
asked again with other search settings, and for each member there is a kit that keeps all the others: nothing
is named that does not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer.explain.bench import Bench, Change, Found
from optimizer.explain.giving import AXLES, BAYS, ROOF
from optimizer.explain.members import Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE

JUDGED = (COVERAGE, BAYS, ROOF, *AXLES)
"""Members that hang on more than sums: on trips and places."""


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
    found, witnesses = _smallest(bench, members, hard.kit)
    return Conflict(found, witnesses, _confirmed(bench, found, members))


def _smallest(
    bench: Bench, members: Sequence[Member], known: Kit
) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
    """Members of which each is needed, with a kit for each that keeps all the others.

    Trips and places are dropped first, all at once: often sums alone settle it. Then half of what is left, a
    quarter, and so on to single members. What could not be dropped with more of the rest still there cannot
    be dropped with less of it: its kit stays its witness.
    """
    kept = sorted(members, key=_dearness)
    kits = [known]
    witnesses: dict[str, Kit | None] = {}
    plain = [member for member in kept if member.name not in JUDGED]
    if len(plain) < len(kept):
        found = _kept_by(bench, kits, bench.only(plain, members))
        if found.status == "impossible":
            kept = plain
        else:
            kits += [*([found.kit] if found.kit is not None else []), *bench.lent()]
    step = max(1, len(kept) // 2)
    while True:
        start = 0
        while start < len(kept):
            some, others = kept[start : start + step], kept[:start] + kept[start + step :]
            found = _kept_by(bench, kits, bench.only(others, members))
            if found.status == "impossible":
                kept = others
                continue
            kits += [found.kit] if found.kit is not None else []
            if len(some) == 1:
                witnesses[some[0].name] = found.kit
            start += step
        if step == 1:
            break
        step //= 2
    in_order = tuple(member for member in members if member in kept)
    return in_order, tuple(witnesses[member.name] for member in in_order)


def _dearness(member: Member) -> int:
    """What is dropped first: trips and places, since without them the rules alone settle the rest."""
    return 0 if member.name in JUDGED else 1 + member.numbers


def _kept_by(bench: Bench, kits: Sequence[Kit], change: Change) -> Found:
    """A kit that keeps what is left: one met before, or one asked for."""
    kit = next((kit for kit in kits if bench.keeps(kit, change)), None)
    return Found(kit, "proven") if kit is not None else bench.possible(change)


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
    rules = tuple(Member(slug, False) for slug in bench.problem.rules)
    needed = list(rules)
    step = max(1, len(needed) // 2)
    while True:
        start = 0
        while start < len(needed):
            others = needed[:start] + needed[start + step :]
            if bench.possible(bench.only(others, rules)).status == "impossible":
                needed = others
            else:
                start += step
        if step == 1:
            return tuple(rule.name for rule in needed)
        step //= 2
