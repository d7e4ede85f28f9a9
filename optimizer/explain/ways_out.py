"""The cheapest ways out of an impossible brief: how little must give, alone or two together.

On the road: conflict -> *ways out* -> words. Only members of a conflict can help: whatever is given up, one
of each conflict must be among it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from optimizer.brief.trip import LEAST_COVERAGE
from optimizer.choosing.aims import Giving, giving_first, goal_aims, slack_aim
from optimizer.explain.bench import Bench
from optimizer.explain.break_evens import least_give
from optimizer.explain.conflicts import Conflict, taken_in
from optimizer.explain.giving import step_of
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import Member
from optimizer.explain.shares import MILLION, share_of, weight_of
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE
from optimizer.rules.provisions import shortfalls


@dataclass(frozen=True)
class Step:
    """One thing that gives."""

    member: Member
    give: int
    """In the limit's own integers; 0 for a wish that is dropped."""


@dataclass(frozen=True)
class WayOut:
    """What gives, and the best kit that is possible then."""

    steps: tuple[Step, ...]
    kit: Kit
    proven: bool

    @property
    def names(self) -> frozenset[str]:
        """Names of what gives."""
        return frozenset(step.member.name for step in self.steps)


class Early:
    """Answers for the ways out that can be had while the conflict is still looked for; see ``conflicts.Beside``."""

    def __init__(self) -> None:
        self.alone: dict[Member, WayOut | None] = {}
        self.seconds: dict[_Lone, list[tuple[Member, Member, Kit]]] = {}

    def early(self, certain: Mapping[Member, Kit | None]) -> list[tuple[Member, Kit | None]]:
        """How little each must give."""
        return list(certain.items())

    def late(self, conflict: Sequence[Member], certain: Iterable[Member]) -> list[_Lone]:
        """What is enough beside each that is not enough alone."""
        return _lone(conflict, set(certain))

    def ask(self) -> Callable[[Bench, Any], Any]:
        """Either."""
        return _early

    def told(self, questions: Sequence[Any], answers: Sequence[Any]) -> None:
        """Keep them."""
        for question, answer in zip(questions, answers, strict=True):
            if isinstance(question, _Lone):
                self.seconds[question] = answer
            else:
                self.alone[question[0]] = answer


def _early(bench: Bench, item: _Lone | tuple[Member, Kit | None]) -> Any:
    return _seconds(bench, item) if isinstance(item, _Lone) else _alone(bench, item)


def ways_out(
    bench: Bench,
    conflict: Conflict,
    keep: Sequence[str] = (),
    hands: Hands | None = None,
    known: Early | None = None,
) -> tuple[WayOut, ...]:
    """Every way out by one thing alone, and by two where two are needed or share the burden.

    Sorted: what a brief may ask for comes first, of that what touches nothing that the person would ``keep`` (``keep``
    names the dearest first), then fewer things, then the smaller share of what is allowed today. ``hands`` ask about
    what does not hang on each other; this process alone when left out. ``known`` is what was answered before.
    """
    hands, known = hands or Hands(bench, 1), known or Early()
    pairs = [pair for pair in zip(conflict.members, conflict.witnesses, strict=True) if pair[0] not in known.alone]
    pairs = [pair for pair in pairs if not _never_alone(bench, pair[0])]
    # What is lacking in the budget this process mostly knows already.
    singles = [*known.alone.values(), *(_alone(bench, pair) for pair in pairs if pair[0].name == "budget")]
    singles += hands.each(_alone, [pair for pair in pairs if pair[0].name != "budget"])
    enough = [way for way in singles if way is not None]
    lone = _lone(conflict.members, {way.steps[0].member for way in enough})
    helping = [pair for one in lone for pair in known.seconds.get(one, ())]
    asked: list[_Lone | tuple[WayOut, WayOut]] = [one for one in lone if one not in known.seconds]
    told = hands.each(_by_two, [*asked, *_sharing(hands, enough)])
    helping += [pair for found in told if isinstance(found, list) for pair in found]
    ways = enough + [found for found in told if isinstance(found, WayOut)] + hands.each(_pair, helping)

    def rank(way: WayOut) -> tuple[bool, int, int, int, list[str]]:
        return _beyond_asking(bench, way), _dearest(way, keep), len(way.steps), share(bench, way), sorted(way.names)

    return tuple(sorted(ways, key=rank))


def _beyond_asking(bench: Bench, way: WayOut) -> bool:
    """Whether a way leaves a lower coverage than a brief may ask for."""
    if bench.trips is None:
        return False
    departures = int(bench.trips.scene.departures.size)
    short = bench.trips.allowed + sum(step.give for step in way.steps if step.member.name == COVERAGE)
    return 100 * (departures - short) < LEAST_COVERAGE * departures


def _dearest(way: WayOut, keep: Sequence[str]) -> int:
    ranks = [len(keep) - keep.index(step.member.slug) for step in way.steps if step.member.slug in keep]
    return max(ranks, default=0)


def share(bench: Bench, way: WayOut) -> int:
    """How much gives, in millionths of what is allowed today; a wish counts as a whole."""
    return sum(
        share_of(bench, way.kit, step.member, step.give) if step.give else MILLION for step in way.steps
    )


def _never_alone(bench: Bench, member: Member) -> bool:
    """Whether one member is known not to be enough."""
    known = bench.known(Change(without=(member,)))
    return known is not None and known.status == "impossible"


def _alone(bench: Bench, pair: tuple[Member, Kit | None]) -> WayOut | None:
    """The least give of one member that is enough; its witness keeps the rest of the conflict, and often all."""
    member, witness = pair
    change = Change(without=(member,))
    if witness is None or not bench.keeps(witness, change):
        witness = (bench.lent() if member.name == "budget" else bench.possible(change)).kit
    kit = witness
    if kit is None:
        return None
    if not member.numbers:
        best = bench.ask(change, start=kit)
        return WayOut((Step(member, 0),), best.kit or kit, best.status == "proven")
    least, _ = least_give(bench, member, kit)
    assert least is not None
    assert least.kit is not None
    return WayOut((Step(member, least.give),), least.kit, least.proven)


@dataclass(frozen=True)
class _Lone:
    """A member of the conflict that is not enough alone."""

    member: Member
    enough: frozenset[Member]
    """Members that are."""
    earlier: tuple[Member, ...]
    """Other lone ones whose pairs are looked for elsewhere."""


def _lone(conflict: Sequence[Member], enough: set[Member]) -> list[_Lone]:
    """Members of the conflict of which each needs a second: one of another conflict without it.

    What is enough alone is in every conflict; without one of the first conflict's there may be others.
    """
    lone = [member for member in conflict if member not in enough]
    return [_Lone(first, frozenset(enough), tuple(lone[:place])) for place, first in enumerate(lone)]


def _by_two(bench: Bench, item: _Lone | tuple[WayOut, WayOut]) -> list[tuple[Member, Member, Kit]] | WayOut | None:
    """Of a lone member what is enough beside it; of two that are enough alone what they give together."""
    return _seconds(bench, item) if isinstance(item, _Lone) else _shared(bench, item)


def _seconds(bench: Bench, lone: _Lone) -> list[tuple[Member, Member, Kit]]:
    """What is enough beside a lone member, each with a kit that keeps all the rest.

    Whatever is enough beside it is in each conflict without it, so one such conflict holds all there are.
    """
    members = bench.members()
    kept = [member for member in members if member != lone.member]
    start = [member for member in kept if member in lone.enough]
    others = [member for member in taken_in(bench, start, kept, members) if member not in lone.enough]
    helping = _helping(bench, lone.member, [member for member in others if member not in lone.earlier])
    return [(lone.member, second, kit) for second, kit in helping]


def _helping(bench: Bench, first: Member, seconds: Sequence[Member]) -> list[tuple[Member, Kit]]:
    """Which of these are enough beside the first; all together are asked about first, then halves of them."""
    found = bench.possible(Change(without=(first, *seconds))) if seconds else None
    if found is None or found.status == "impossible":
        return []
    if len(seconds) == 1:
        return [] if found.kit is None else [(seconds[0], found.kit)]
    half = len(seconds) // 2
    return _helping(bench, first, seconds[:half]) + _helping(bench, first, seconds[half:])


def _pair(bench: Bench, pair: tuple[Member, Member, Kit]) -> WayOut:
    """The least give of two members together, by their shares; with a kit that keeps all the rest.

    A wish is dropped; what is judged (trips, places) gives last, as little as will do beside the other.
    """
    first, second, kit = pair
    judged = [m for m in (first, second) if m.numbers and step_of(bench.problem, m.name)]
    numbers = [m for m in (first, second) if m.numbers and m not in judged]
    wishes = [m for m in (first, second) if not m.numbers]
    dropped = tuple(wishes + judged)
    gives = {m.name: 0 for m in (first, second)}
    proven = True
    if len(numbers) == 1:
        step, _ = least_give(bench, numbers[0], kit, base=Change(without=dropped))
        assert step is not None
        assert step.kit is not None
        kit, proven, gives[numbers[0].name] = step.kit, step.proven, step.give
    elif numbers:
        weights = {m.name: weight_of(bench, kit, m) for m in numbers}
        in_all = sum(weights[m.name] * max(0, bench.excess(kit, m.name)) for m in numbers)
        most = {name: in_all // weight for name, weight in weights.items()}
        demands = [Giving(bench.problem, most)]
        least = bench.ask(Change(without=dropped), giving_first(bench.problem, weights, most), demands, most, kit)
        kit, proven = least.kit or kit, least.status == "proven"
        gives |= {m.name: max(0, bench.excess(kit, m.name)) for m in numbers}
    for number, member in enumerate(judged):
        base = Change(
            without=(*wishes, *judged[number + 1 :]), gives={name: give for name, give in gives.items() if give}
        )
        step, _ = least_give(bench, member, kit, base=base)
        assert step is not None
        assert step.kit is not None
        kit, proven, gives[member.name] = step.kit, proven and step.proven, step.give
    if not numbers and not judged:
        best = bench.ask(Change(without=dropped), start=kit)
        kit, proven = best.kit or kit, best.status == "proven"
    return WayOut(tuple(Step(m, gives[m.name]) for m in (first, second)), kit, proven)


def _sharing(hands: Hands, singles: Sequence[WayOut]) -> list[tuple[WayOut, WayOut]]:
    """Pairs of limits of which each is enough alone, and that may give less each together.

    Most pairs may not, so many are asked about at once: where no kit does with a little less from each of some, no two
    of these share. Where one does, a limit that it makes use of is held against the others, and those among themselves.
    """
    bench = hands.bench
    numbers = [way for way in singles if way.steps[0].give > 1 and not step_of(bench.problem, way.steps[0].member.name)]
    pairs: list[tuple[WayOut, WayOut]] = []
    asked = [_Sharers(None, tuple(numbers))] if len(numbers) > 1 else []
    while asked:
        pairs += [(one.all[0], one.all[1]) for one in asked if len(one.all) == 2]
        many = [one for one in asked if len(one.all) > 2]
        found = hands.possible([Change(gives=one.gives) for one in many])
        asked = [
            part for one, answer in zip(many, found, strict=True) if answer.status != "impossible"
            for part in one.parts(bench, answer.kit)
        ]  # fmt: skip
    return [pair for pair in combinations(numbers, 2) if pair in pairs or pair[::-1] in pairs]


@dataclass(frozen=True)
class _Sharers:
    """Ways out by one limit alone, of which two may give less together."""

    one: WayOut | None
    """It is one of the two; None where it may be any two."""
    others: tuple[WayOut, ...]

    @property
    def all(self) -> tuple[WayOut, ...]:
        """Each of them."""
        return self.others if self.one is None else (self.one, *self.others)

    @property
    def gives(self) -> dict[str, int]:
        """From each a little less than it must give alone."""
        return {way.steps[0].member.name: way.steps[0].give - 1 for way in self.all}

    def parts(self, bench: Bench, kit: Kit | None) -> list[_Sharers]:
        """Smaller ones that hold every pair; ``kit`` does with what these give."""
        if self.one is not None:
            half = len(self.others) // 2
            return [_Sharers(self.one, self.others[:half]), _Sharers(self.one, self.others[half:])]
        used = [way for way in self.others if kit is not None and bench.excess(kit, way.steps[0].member.name) > 0]
        one = (used or self.others)[0]
        rest = tuple(way for way in self.others if way is not one)
        return [_Sharers(one, rest), *([_Sharers(None, rest)] if len(rest) > 1 else [])]


def _shared(bench: Bench, pair: tuple[WayOut, WayOut]) -> WayOut | None:
    """Two limits that give less each than either must alone.

    Where one of them gives in steps these are gone through from the least on: the search would share what is given
    between the two in every way there is. That neither is enough with less is known by then, and whether all of them
    together are is asked first: mostly they are not.
    """
    steps = [way.steps[0] for way in pair]
    weights = {step.member.name: weight_of(bench, pair[0].kit, step.member) for step in steps}
    most = {step.member.name: step.give - 1 for step in steps}
    stepped = next((slug for slug in most if shortfalls(bench.problem, slug)), None)
    if stepped is None or not all(way.proven for way in pair):
        gives = Giving(bench.problem, most)
        found = bench.ask(aims=giving_first(bench.problem, weights, most), demands=[gives], slack=most)
    else:
        found = _stepped(bench, stepped, weights, most)
    if found.kit is None:
        return None
    shared = tuple(Step(step.member, bench.excess(found.kit, step.member.name)) for step in steps)
    return WayOut(shared, found.kit, found.status == "proven")


def _stepped(bench: Bench, stepped: str, weights: Mapping[str, int], most: Mapping[str, int]) -> Found:
    """The least that two limits give together, one step of the first after another, and the best kit for it."""
    problem = bench.problem
    best: Kit | None = None
    given, goals = slack_aim(problem, weights), goal_aims(problem)

    def worth(kit: Kit) -> tuple[int, ...]:
        return given.value(kit), *(goal.value(kit) for goal in goals)

    steps = [step for step in shortfalls(problem, stepped) or () if 0 < step <= most[stepped]]
    if len(steps) > 1 and bench.possible(Change(gives=most)).status == "impossible":
        return Found(None, "impossible")
    for step in steps:
        in_all = None if best is None else given.value(best)
        if in_all is not None and weights[stepped] * step > in_all:
            break
        here = {**most, stepped: step}
        demand = Giving(problem, here, stepped, weights, in_all)
        found = bench.ask(aims=giving_first(problem, weights, here), demands=[demand], slack=here)
        if found.kit is not None and (best is None or worth(found.kit) < worth(best)):
            best = found.kit
        if found.status == "unproven":  # a later step is told by what those before it came to
            return Found(best, "unproven")
    return Found(best, "impossible" if best is None else "proven")
