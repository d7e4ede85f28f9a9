"""Where questions about a kit are asked: one problem, its trips, and all that was learnt from them so far.

On the road: problem + best kit -> *explain* <-> choosing. Every question is the same choosing again with
something changed; walls that the trips taught serve all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from optimizer.check import check, structure_faults
from optimizer.choosing.aims import ANY, Aim, Demand, excess, goal_aims, names_aim
from optimizer.choosing.choose import choose
from optimizer.choosing.effects import Effects
from optimizer.choosing.growing import Grower
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.order import cost_of, order_of
from optimizer.choosing.plenty import plenty_aim
from optimizer.choosing.solve import Deadline, Settings
from optimizer.choosing.store import LevelStore
from optimizer.choosing.walls import NOTHING_KNOWN, Judge, Outlook, Wall
from optimizer.explain.enough import Enough, PassedError
from optimizer.explain.giving import STEPS, given, wishing
from optimizer.explain.knowledge import Change, Found, Knowledge
from optimizer.explain.members import Member, members_of
from optimizer.explain.stopping import Stop
from optimizer.places.judge import Places
from optimizer.problem.dominance import Reduced, without_dominated
from optimizer.problem.records import Group, Kit, Problem
from optimizer.problem.space import Placement
from optimizer.rules import COVERAGE
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.trips.run import short_departures
from optimizer.trips.scene import Scene

Report = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Trips:
    """The trips asked for, and how many departures may fall short."""

    scene: Scene
    allowed: int


def closing_aims(problem: Problem) -> tuple[Aim, ...]:
    """Goal, tie-break and part ids: what is left is one kit, whatever was learnt before."""
    return (*goal_aims(problem), names_aim())


def price_aim(problem: Problem) -> Aim:
    """The price, small."""
    a_cost = int(problem.goal.slug == "cheapest")
    return Aim(lambda variables: variables.price(), lambda kit: price_cents(problem, kit), a_cost)


def _leading_to_any(problem: Problem) -> Aim:
    """What leads soonest to a kit that passes, or to there being none."""
    if "budget" in problem.rules:
        return price_aim(problem)
    if "payload" in problem.rules:
        return Aim(lambda variables: variables.total("mass_g"), lambda kit: kit_mass_g(problem, kit))
    return plenty_aim(problem)


class Remembered:
    """A judge of places that keeps the walls it named, for later questions about the same places."""

    def __init__(self, judge: Places) -> None:
        self.judge = judge
        self.known: list[Wall] = []

    def passes(self, kit: Kit) -> bool:
        """Whether the kit passes."""
        return self.judge.passes(kit)

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """Walls that a kit which does not pass stands before."""
        named = self.judge.walls(kit, outlook)
        self.known += [wall for wall in named if wall not in self.known]
        return named


class Bench:
    """Asks the choosing one changed question after another.

    Parameters
    ----------
    problem : Problem
        Whole, nothing left out.
    trips : Trips, or None when none are asked for
    settings, store, report : as for the choosing
    stop : whether to ask no more; one of its own when left out
    in_all : the time that all questions have together; as long as it takes when left out
    """

    def __init__(
        self,
        problem: Problem,
        trips: Trips | None = None,
        settings: Settings | None = None,
        store: LevelStore | None = None,
        report: Report | None = None,
        stop: Stop | None = None,
        in_all: Deadline | None = None,
    ) -> None:
        self.problem = problem
        self.trips = trips
        self.settings = settings or Settings()
        self.store = store if store is not None else LevelStore()
        self.report = report or (lambda _: None)
        self.stop = stop or Stop()
        self._in_all = in_all or Deadline(None)
        self.asked = 0
        self._grower = Grower(problem, self.store)
        self._reduced: dict[tuple[tuple[str, ...], ...], Reduced] = {}
        self._effects: dict[int, tuple[tuple[Group, ...], Effects]] = {}
        self._lifters: dict[tuple[int, int], Lifter] = {}
        self._places: dict[tuple[object, ...], Remembered] = {}
        self._shorts: dict[tuple[object, ...], int] = {}
        self._fewer: dict[int, Lifter] = {}
        self._met: list[Kit] = []
        self._never: list[Change] = []
        self._lent: Found | None = None

    # -- asking ---------------------------------------------------------------------------------

    def ask(
        self,
        change: Change | None = None,
        aims: Sequence[Aim] | None = None,
        demands: Sequence[Demand] = (),
        slack: Mapping[str, int] | None = None,
        start: Kit | None = None,
        judged: bool = True,
        any_will_do: bool = False,
        by_walls: bool = False,
    ) -> Found:
        """The best kit of the problem as changed; ``aims`` in place of goal, tie-break and names.

        Not ``judged``: by the rules alone, whatever trips and places say; ``by_walls``: by the rules and what is known
        of trips and places, which are not asked. With ``any_will_do`` the first kit met that passes is the answer. Once
        it is ``over`` nothing is found any more.
        """
        if not self.over:
            with self.stop.question():
                return self._asked(
                    change or Change(), aims or (), demands, slack, start, judged, any_will_do, by_walls
                )
        return Found(None, "unproven")

    def _asked(
        self, change: Change, aims: Sequence[Aim], demands: Sequence[Demand], slack: Mapping[str, int] | None,
        start: Kit | None, judged: bool, any_will_do: bool, by_walls: bool,
    ) -> Found:  # fmt: skip
        self.asked += 1
        self.report(f"question {self.asked}")
        problem = self.changed(change)
        if slack:
            problem = replace(problem, gives={**problem.gives, **slack})
        lifter = self._lifter(problem, change) if judged else None
        places = self._places_of(problem) if judged else None
        judges: list[Judge] = [judge for judge in (lifter, places) if judge is not None and not by_walls]
        known = self._known(problem, lifter, places)
        places = None if by_walls else places
        if any_will_do:
            enough = Enough(lambda kit: all(demand.holds(kit) for demand in demands))
            judges = [enough.first, *judges, enough]
        try:
            times = [seconds for seconds in (self.settings.seconds, self.left()) if seconds is not None]
            settings = replace(self.settings, probing=bool(slack), seconds=min(times, default=None))
            outcome = choose(problem, judges, settings, known, None, aims, demands, slack, start)
        except PassedError as passed:
            return Found(passed.kit, "proven")
        finally:
            self._grower.learnt(problem)
        proven = outcome.status != "proven" or outcome.ties_broken
        if places is not None and places.judge.undecided:
            proven = False
        kit = outcome.kit
        if kit is not None and places is not None:
            where = places.judge.where(kit)
            assert isinstance(where, Placement)
            kit = replace(kit, places=where)
        return Found(kit, outcome.status if proven else "unproven")

    def left(self) -> float | None:
        """Seconds that all questions still have together; None = as long as they take."""
        return self._in_all.left()

    def has_left(self, seconds: float | None) -> None:
        """Give all questions from now on so many seconds together."""
        self._in_all = Deadline(seconds)

    @property
    def over(self) -> bool:
        """Whether nothing more will be found: it was asked to stop, or the time for all questions has passed."""
        return self.stop.asked or self._in_all.over

    def _known(self, problem: Problem, lifter: Lifter | None, places: Remembered | None) -> list[Wall]:
        known = list(places.known) if places is not None else []
        if lifter is not None:
            self._grower.ready(lifter, problem)
            known += lifter.known()
        return known

    def keeps(self, kit: Kit, change: Change) -> bool:
        """Whether a kit keeps everything of the problem as changed."""
        problem = self.changed(change)
        bare = replace(kit, places=None)
        if not check(problem, bare).ok:
            return False
        judges = (self._lifter(problem, change), self._places_of(problem))
        return all(judge.passes(bare) for judge in judges if judge is not None)

    def fits(self, problem: Problem, kit: Kit) -> bool:
        """Whether a kit keeps every rule and has a place for everything, whatever its trips."""
        places = self._places_of(problem)
        return check(problem, kit).ok and (places is None or places.passes(kit))

    def _places_of(self, problem: Problem) -> Remembered | None:
        """The judge of places, the same one for the same groups, space and gives."""
        if problem.space is None:
            return None
        key = (id(problem.groups), problem.space, *(problem.give(slug) for slug in sorted(STEPS)))
        if key not in self._places:
            self._places[key] = Remembered(Places(problem))
        return self._places[key]

    def possible(self, change: Change, lead: Aim | None = None) -> Found:
        """Any kit that keeps what is left of the brief: 'proven' with a kit, or 'impossible'.

        A kit met before will do, and what was impossible with more given up still is. Where neither trips nor places
        have a say the rules alone settle it. For the rest the search is led by ``lead``: from cheap to dear under a
        budget when left out, from light to heavy under a payload, since that proves soonest that there are none; with
        neither in force, to a kit with plenty of everything. The first kit that passes ends it.
        """
        found = self.known(change)
        if found is None:
            found = self._any(change, lead)
            self.note(change, found)
        return found

    def known(self, change: Change) -> Found | None:
        """What ``possible`` says of a change without asking; None where that is not known."""
        if self.settings.second_opinion:
            return None
        kit = next((kit for kit in reversed(self._met) if self.keeps(kit, change)), None)
        if kit is not None:
            return Found(kit, "proven")
        return Found(None, "impossible") if any(change.lets_in_no_more(other) for other in self._never) else None

    def note(self, change: Change, found: Found) -> None:
        """Keep in mind what was found possible under a change, or not to be."""
        if found.kit is not None:
            self._met.append(found.kit)
        elif found.status == "impossible" and not self.settings.second_opinion:
            self._never.append(change)

    def _any(self, change: Change, lead: Aim | None) -> Found:
        problem = self.changed(change)
        if self.trips is None or any(member.name == COVERAGE for member in change.without):
            plain = self.ask(change, aims=(ANY,), judged=False)
            if plain.status == "impossible" or (plain.kit is not None and self.keeps(plain.kit, change)):
                return plain
        return self.ask(change, aims=(lead or _leading_to_any(problem),), any_will_do=True)

    def meet_misses(self) -> None:
        """Have in mind, of the kits that the trips turned away and that keep all else, the one with the fewest
        departures short: what the coverage must give is come down to from there.
        """
        change = Change(without=tuple(member for member in self.members() if member.name == COVERAGE))
        problem = self.changed(change)
        missed = [kit for kit in self.store.missed if not structure_faults(problem, kit) and check(problem, kit).ok]
        missed.sort(key=self.short)
        kit = next((kit for kit in missed if self.keeps(kit, change)), None)
        self._met += [] if kit is None else [kit]

    def lent(self) -> Found:
        """The best kit of those that keep all of the brief but the budget, as little beyond it as will do."""
        if self._lent is None:
            budget = tuple(member for member in self.members() if member.name == "budget")
            dearer = self.problem.goal.slug != "cheapest"
            aims = (price_aim(self.problem), *closing_aims(self.problem)) if dearer else ()
            self._lent = self.ask(Change(without=budget), aims=aims)
            self._met += [self._lent.kit] if self._lent.kit is not None else []
        return self._lent

    def knows(self) -> Knowledge:
        """All that is known by now."""
        return Knowledge(tuple(self.store), tuple(self._met), tuple(self._never), self._lent)

    def take_in(self, known: Knowledge) -> None:
        """Know besides what was found elsewhere for the same problem."""
        self.store.add(known.levels)
        every = Knowledge((), tuple(self._met), tuple(self._never), self._lent).and_also([known])
        self._met, self._never, self._lent = list(every.met), list(every.never), every.lent

    def aside(self) -> Bench:
        """A bench for the same problem that begins anew: what was learnt by whatever was asked before has no say in
        which kits it meets. Nor is what it learns known here.
        """
        other = Bench(self.problem, self.trips, self.settings, None, self.report, self.stop, self._in_all)
        other._reduced, other._effects = self._reduced, self._effects
        return other

    def broken(self, kit: Kit, members: Sequence[Member]) -> list[Member]:
        """Of these members those that a kit does not keep, each looked at with all others dropped."""
        return [member for member in members if not self.keeps(kit, self.only([member], members))]

    def changed(self, change: Change) -> Problem:
        """The problem with a change made, options left out that cannot matter."""
        problem = self.smaller(change).problem
        for member in change.without:
            problem = member.dropped(problem)
        return given(problem, change.gives)

    def smaller(self, change: Change) -> Reduced:
        """The problem without options that can never matter, and what stands in for them."""
        key = (change.required, change.refused, ("whole",) if change.whole else ())
        if key not in self._reduced:
            problem = self.problem
            if change.required or change.refused:
                problem = wishing(problem, change.required, change.refused)
            self._reduced[key] = Reduced(problem, {}) if change.whole else without_dominated(problem, order_of(problem))
        return self._reduced[key]

    # -- the trips ------------------------------------------------------------------------------

    def _lifter(self, problem: Problem, change: Change) -> Lifter | None:
        if self.trips is None or any(member.name == COVERAGE for member in change.without):
            return None
        allowed = self.trips.allowed + change.gives.get(COVERAGE, 0)
        key = (id(problem.groups), allowed)
        if key not in self._lifters:
            effects = self._effects_of(problem, self.trips.scene)
            cost = partial(cost_of, problem.goal)
            self._lifters[key] = Lifter(effects, allowed, cost, self.store)
        return self._lifters[key]

    def _effects_of(self, problem: Problem, scene: Scene) -> Effects:
        """Numbers for the trips; they hang on the groups alone, and on fuel that no question changes."""
        key = id(problem.groups)
        if key not in self._effects:
            self._effects[key] = (problem.groups, Effects(problem, scene))
        return self._effects[key][1]

    def short(self, kit: Kit) -> int:
        """How many departures a kit leaves short; 0 when no trips are asked for."""
        if self.trips is None:
            return 0
        key = (kit.nights, *sorted(kit.choices.items()))
        if key not in self._shorts:
            row = self._effects_of(self.problem, self.trips.scene).kit_row(kit)
            self._shorts[key] = int(short_departures(self.trips.scene, row, kit.nights))
        return self._shorts[key]

    def leaves_fewer(self, kit: Kit, short: int) -> bool:
        """Whether a kit leaves fewer departures short than so many; told sooner than how many."""
        if self.trips is None or short > self.departures:
            return True
        effects = self._effects_of(self.problem, self.trips.scene)
        if short not in self._fewer:
            self._fewer[short] = Lifter(effects, short - 1, partial(cost_of, self.problem.goal), LevelStore())
        return self._fewer[short].passes(kit)

    @property
    def departures(self) -> int:
        """How many departures there are; 0 when no trips are asked for."""
        return 0 if self.trips is None else int(self.trips.scene.departures.size)

    def excess(self, kit: Kit, name: str) -> int:
        """By how much a kit passes a limit of the brief as it stands; below zero the room it leaves."""
        if name == COVERAGE:
            assert self.trips is not None
            return self.short(kit) - self.trips.allowed
        return excess(self.problem, kit, name)

    # -- members --------------------------------------------------------------------------------

    def members(self, parts_too: bool = False) -> tuple[Member, ...]:
        """What of the brief can be given up."""
        return members_of(self.problem, self.trips is not None, parts_too)

    def without(self, member: Member) -> Bench:
        """A bench for the problem without a member, sharing what was learnt."""
        trips = None if member.name == COVERAGE else self.trips
        problem = member.dropped(self.problem)
        return Bench(problem, trips, self.settings, self.store, self.report, self.stop, self._in_all)

    def only(self, kept: Iterable[Member], every: Iterable[Member]) -> Change:
        """The change that keeps these members and drops the rest of ``every``."""
        names = {member.name for member in kept}
        return Change(without=tuple(member for member in every if member.name not in names))
