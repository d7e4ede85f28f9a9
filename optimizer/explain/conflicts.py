"""Why a brief is impossible: the smallest set of its limits and wishes that cannot all be kept.

On the road: an impossible brief -> *conflict* -> ways out. A kit is met that keeps the little that is in the conflict
so far, and something that it breaks is taken in, until no kit keeps all of it; then what can be left out while the rest
is still impossible goes again. The conflict found is asked again with other search settings, and for each member there
is a kit that keeps all the others: nothing is named that does not count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from optimizer.explain.bench import Bench
from optimizer.explain.giving import AXLES, BAYS, ROOF
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import Member
from optimizer.explain.shares import MILLION, share_of
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE

JUDGED = (COVERAGE, BAYS, ROOF, *AXLES)
"""Members that hang on more than sums: on trips and places."""

COSTLY = ("chilled", "frozen", "sunless_energy", "daily_balance", "heat_output")
"""What is asked of energy and warmth: to be rid of it saves most of all that trips and budget are at odds about."""


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


class Beside(Protocol):
    """What is to be asked meanwhile, and once the conflict is known."""

    def early(self, certain: Mapping[Member, Kit | None]) -> Sequence[Any]:
        """Questions about members that are enough alone, mostly with a kit that keeps all the others."""

    def late(self, conflict: Sequence[Member], certain: Iterable[Member]) -> Sequence[Any]:
        """Further questions, with members of the conflict known."""

    def ask(self) -> Callable[[Bench, Any], Any]:
        """What answers a question; at home in a module, since others may be asked."""

    def told(self, questions: Sequence[Any], answers: Sequence[Any]) -> None:
        """Is told the answers."""


def find_conflict(
    bench: Bench,
    members: Sequence[Member] | None = None,
    known: bool = False,
    hands: Hands | None = None,
    beside: Beside | None = None,
) -> Conflict | None:
    """A smallest conflict of a bench's problem; None when it is possible (or not known to be impossible).

    Parameters
    ----------
    bench : Bench
    members : what may be given up; all of the brief's limits and wishes when left out
    known : that it is impossible has been proven already
    hands : ask what does not hang on each other; this process alone when left out. The conflict is the same
    beside : what is to be asked meanwhile
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
    plain = [member for member in members if member.name not in JUDGED]
    search = _Search(bench, members)
    if len(plain) < len(members) and bench.possible(bench.only(plain, members)).status != "impossible":
        found, witnesses, proven = _with_trips(bench, search, hands, beside)
    else:  # sums alone settle it
        found, witnesses = search.smallest([], hard, plain, {}, at_once=True)
        proven = search.confirmed(found)
        bench.take_in(search.bench.knows())
    return Conflict(found, witnesses, proven)


def _with_trips(
    bench: Bench, search: _Search, hands: Hands, beside: Beside | None
) -> tuple[tuple[Member, ...], tuple[Kit | None, ...], bool]:
    """It begins with what is likely in each conflict: budget and coverage. What a kit that keeps these breaks is asked
    about alone: members that are enough alone are in every conflict, and each has a witness then.
    """
    likely = [member for member in search.members if member.name in ("budget", COVERAGE)]
    met = search.keeping(likely)
    broken = [] if met.kit is None else [member for member in search.broken(met.kit) if member not in likely]
    asked = [*(member for member in likely if member.name == COVERAGE), *broken]
    bench.meet_misses()
    found_alone = hands.possible([Change(without=(member,)) for member in asked])
    certain: dict[Member, Kit | None] = {m: found.kit for m, found in zip(asked, found_alone, strict=True) if found.kit}
    kept = list(search.members)
    start = [member for member in likely if member.name == "budget" or member in certain]
    if start != likely:
        # The rest is impossible without the coverage: sums alone settle it then.
        kept = [m for m in kept if m.name != COVERAGE or found_alone[0].status != "impossible"]
        met = search.keeping(start)

    def smallest() -> tuple[tuple[Member, ...], tuple[Kit | None, ...], bool]:
        found, witnesses = search.smallest(start, met, kept, certain)
        proven = search.confirmed(found)
        bench.take_in(search.bench.knows())
        return found, witnesses, proven

    if beside is None:
        return smallest()
    # That money helps is as good as certain: with what kit, and whether, is asked meanwhile.
    budget = next((member for member in start if member.name == "budget"), None)
    certain = certain if budget is None else {**certain, budget: None}
    early = beside.early(certain)
    done, answers = hands.beside(smallest, beside.ask(), early, lambda found: beside.late(found[0], certain))
    beside.told([*early, *beside.late(done[0], certain)], answers)
    if budget is None:
        return done
    lent = bench.lent()
    if lent.status == "impossible":
        del certain[budget]
        return smallest()
    members, witnesses, proven = done
    told_too = (lent.kit if m == budget else kit for m, kit in zip(members, witnesses, strict=True))
    return members, tuple(told_too), proven


class _Search:
    """The search for a conflict, one question after another on a bench of its own.

    What kits it meets decides what it takes in: so that the conflict is the same whatever was asked before, and whoever
    asks what else, nothing is known here to begin with. It takes as long: walls cost the solver what they save here.
    """

    def __init__(self, bench: Bench, members: Sequence[Member]) -> None:
        self.bench, self.members = bench.aside(), members

    def keeping(self, some: Sequence[Member]) -> Found:
        """Any kit that keeps these members."""
        return self.bench.possible(self.bench.only(some, self.members))

    def broken(self, kit: Kit) -> list[Member]:
        """The members that a kit does not keep."""
        return self.bench.broken(kit, self.members)

    def smallest(
        self, start: Sequence[Member], met: Found, kept: Sequence[Member], certain: Mapping[Member, Kit | None],
        at_once: bool = False,
    ) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
        """Of ``kept`` members, which no kit keeps together, such of which each is needed; with a kit for each that
        keeps all the others.

        ``start`` are likely in it, those that are ``certain`` are, with such a kit where it is known; ``met`` is what
        keeping the start alone came to. All that a kit breaks is taken in ``at_once`` where it is as soon shown that
        there is none as that there is one: where sums alone settle it. Where trips have a say that takes the longer the
        less is in it, so it is shown of as little as can be from the first on.
        """
        taken, last, witnesses = list(start), None, dict(certain)
        while met.kit is not None:
            fresh = self._fresh(met.kit, [member for member in kept if member not in taken])
            if not fresh:
                break
            if not at_once:
                fresh = [member for member in fresh if member in certain] or fresh[:1]
            last, before = (fresh[0] if len(fresh) == 1 else None), met.kit
            taken += fresh
            met = self.keeping(taken)
        if met.status != "impossible":
            taken = list(kept)
        elif last is not None:
            witnesses.setdefault(last, before)  # it keeps all that was taken in before
        return self._left_out(taken, witnesses)

    def _fresh(self, kit: Kit, rest: Sequence[Member]) -> list[Member]:
        """Those of the rest that a kit breaks, what it breaks by most first, then what mostly costs most."""
        broken = set(self.broken(kit))
        fresh = [member for member in rest if member in broken]
        fresh = fresh or [member for member in rest if member.name in JUDGED] or list(rest)
        return sorted(fresh, key=lambda member: self._turn(kit, member))

    def _turn(self, kit: Kit, member: Member) -> tuple[bool, int, bool]:
        """What is judged comes last: it is long to ask about."""
        sums = member.numbers and member.name not in JUDGED
        share = share_of(self.bench, kit, member, self.bench.excess(kit, member.name)) if sums else MILLION
        return member.name in JUDGED, -share, member.name not in COSTLY

    def _left_out(
        self, taken: Sequence[Member], known: Mapping[Member, Kit | None]
    ) -> tuple[tuple[Member, ...], tuple[Kit | None, ...]]:
        """What is left when members go as long as the rest is impossible: half of them at once, a quarter, one by one.

        Those that are ``known`` to be needed stay: a witness keeps all that is left, too.
        """
        witnesses = {member: kit for member, kit in known.items() if member in taken}
        left = sorted((member for member in taken if member not in witnesses), key=_dearness)
        step = max(1, len(left) // 2)
        while left:
            start = 0
            while start < len(left):
                part = left[start : start + step]
                found = self.keeping([member for member in taken if member not in part])
                if found.status == "impossible":
                    left = [member for member in left if member not in part]
                    taken = [member for member in taken if member not in part]
                    continue
                if len(part) == 1:
                    witnesses[part[0]] = found.kit
                start += step
            if step == 1:
                break
            step //= 2
        in_order = tuple(member for member in self.members if member in taken)
        return in_order, tuple(witnesses[member] for member in in_order)

    def confirmed(self, conflict: Sequence[Member]) -> bool:
        """Whether it is impossible to keep these, asked again with other search settings."""
        settings = self.bench.settings
        self.bench.settings = replace(settings, second_opinion=True, presolve="usual")
        try:
            return self.keeping(conflict).status == "impossible"
        finally:
            self.bench.settings = settings


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


def _dearness(member: Member) -> int:
    """What is dropped first: trips and places, since without them the rules alone settle the rest."""
    return 0 if member.name in JUDGED else 1 + member.numbers


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
