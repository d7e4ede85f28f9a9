"""Why a brief is impossible: the smallest set of its limits and wishes that cannot all be kept.

On the road: an impossible brief -> *conflict* -> ways out. Members are left out many at once, then fewer;
what can be left out while the rest is still impossible is no part of the conflict. The conflict found is
asked again with other search settings, and for each member there is a kit that keeps all the others: nothing
is named that does not count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from optimizer.explain.bench import Bench, Change
from optimizer.explain.giving import AXLES, BAYS, ROOF
from optimizer.explain.hands import Hands
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
    bench: Bench, members: Sequence[Member] | None = None, known: bool = False, hands: Hands | None = None
) -> Conflict | None:
    """A smallest conflict of a bench's problem; None when it is possible (or not known to be impossible).

    Parameters
    ----------
    bench : Bench
    members : what may be given up; all of the brief's limits and wishes when left out
    known : that it is impossible has been proven already
    hands : ask what does not hang on each other; this process alone when left out
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
    hands = hands or Hands(bench, 1)
    hands.begin()
    found, witnesses = _smallest(bench, members, hands)
    return Conflict(found, witnesses, _confirmed(bench, found, members))


def _smallest(
    bench: Bench, members: Sequence[Member], hands: Hands
) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
    """Members of which each is needed, with a kit for each that keeps all the others.

    Where sums alone settle it, trips and places are dropped at once. Else members that some kit breaks and no
    other are in it for certain; what a kit that keeps these breaks is taken in, until no kit keeps all of it;
    what was taken in beyond need is left out again.
    """
    plain = [member for member in members if member.name not in JUDGED]
    if len(plain) < len(members) and bench.possible(bench.only(plain, members)).status != "impossible":
        certain, kept = _certain(bench, members)
        return _left_out(hands, taken_in(bench, list(certain), kept, members), members, certain)
    return _left_out(hands, plain, members, {})


def _certain(bench: Bench, members: Sequence[Member]) -> tuple[dict[Member, Kit], list[Member]]:
    """Members that some kit breaks and nothing else, with that kit; and all that may be in a conflict.

    Such kits are looked for where they are likely: for the budget, and for the trips.
    """
    certain: dict[Member, Kit] = {}
    kept = list(members)
    for member in members:
        if member.name == "budget" and (lent := bench.lent().kit) is not None:
            certain[member] = lent
        if member.name == COVERAGE:
            found = bench.possible(Change(without=(member,)))
            if found.kit is not None:
                certain[member] = found.kit
            elif found.status == "impossible":
                kept.remove(member)
    return certain, kept


def taken_in(
    bench: Bench, start: Sequence[Member], kept: Sequence[Member], members: Sequence[Member]
) -> list[Member]:
    """Of ``kept`` members, of ``members`` in all, some that no kit keeps together.

    What each kit met breaks is taken in. They begin with ``start``. That no kit keeps all of ``kept`` is known.
    """
    taken = list(start)
    while True:
        found = bench.possible(bench.only(taken, members))
        rest = [member for member in kept if member not in taken]
        if found.kit is None or not rest:
            return taken if found.status == "impossible" else list(kept)
        broken = set(bench.broken(found.kit, members))
        fresh = [member for member in rest if member in broken]
        taken += fresh or [member for member in rest if member.name in JUDGED] or rest


def _left_out(
    hands: Hands, kept: Sequence[Member], members: Sequence[Member], certain: Mapping[Member, Kit]
) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
    """What is left when members go as long as the rest is impossible: half of them at once, a quarter, one by one.

    What could not be dropped with more of the rest still there cannot be dropped with less of it: its kit stays
    its witness. So as many are asked about at once as there are hands, and what is left is the same.
    """
    bench = hands.bench
    left = sorted((member for member in kept if member not in certain), key=_dearness)
    witnesses: dict[Member, Kit | None] = dict(certain)
    step = max(1, len(left) // 2)
    while left:
        start = 0
        while start < len(left):
            parts = [left[at : at + step] for at in range(start, len(left), step)][: hands.many]
            rests = [bench.only([*certain, *(m for m in left if m not in part)], members) for part in parts]
            for part, found in zip(parts, hands.possible(rests), strict=True):
                if found.status == "impossible":
                    left = [member for member in left if member not in part]
                    break  # what was asked beside it counted on its being there
                if len(part) == 1:
                    witnesses[part[0]] = found.kit
                start += step
        if step == 1:
            break
        step //= 2
    in_order = tuple(member for member in members if member in certain or member in left)
    return in_order, tuple(witnesses[member] for member in in_order)


def _dearness(member: Member) -> int:
    """What is dropped first: trips and places, since without them the rules alone settle the rest."""
    return 0 if member.name in JUDGED else 1 + member.numbers


def _confirmed(bench: Bench, conflict: Sequence[Member], members: Sequence[Member]) -> bool:
    """Asked again with other search settings."""
    settings = bench.settings
    bench.settings = replace(settings, second_opinion=True, presolve="usual")
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
