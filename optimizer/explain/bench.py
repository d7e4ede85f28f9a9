"""Where questions about a kit are asked: one problem, its trips, and all that was learnt from them so far.

On the road: problem + best kit -> *explain* <-> choosing. Every question is the same choosing again with
something changed; walls that the trips taught serve all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from optimizer.check import check
from optimizer.choosing.aims import ANY, Aim, Demand, excess, goal_aims, slack_aim
from optimizer.choosing.choose import choose, cost_of, id_weight, order_of
from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.solve import Settings, Status
from optimizer.choosing.store import LevelStore
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import NOTHING_KNOWN, Judge, Outlook, Wall
from optimizer.explain.giving import STEPS, given
from optimizer.explain.members import Member, members_of
from optimizer.places.judge import Places
from optimizer.problem.dominance import Reduced, without_dominated
from optimizer.problem.records import Group, Kit, Problem
from optimizer.problem.space import Placement
from optimizer.rules import COVERAGE
from optimizer.trips.run import short_departures
from optimizer.trips.scene import Scene

ELASTIC = {"budget": 10**9, "payload": 10**8, "roof_area": 10**7}
"""Limits that may be made elastic, and by how much at most: more than any kit uses."""
Report = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Trips:
    """The trips asked for, and how many departures may fall short."""

    scene: Scene
    allowed: int


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


def closing_aims(problem: Problem) -> tuple[Aim, ...]:
    """Goal, tie-break and part ids: what is left is one kit, whatever was learnt before."""
    return (*goal_aims(problem), names_aim(problem))


def names_aim(problem: Problem) -> Aim:
    """The number drawn from part ids that ends all ties."""

    def expression(variables: ModelVariables) -> Any:
        options = ((group, option) for group in variables.problem.groups for option in group.options)
        return sum(id_weight(group.name, option.key) * variables.picked(group, option) for group, option in options)

    return Aim(expression, lambda kit: sum(id_weight(name, key) for name, key in kit.choices.items()))


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
    """

    def __init__(
        self,
        problem: Problem,
        trips: Trips | None = None,
        settings: Settings | None = None,
        store: LevelStore | None = None,
        report: Report | None = None,
    ) -> None:
        self.problem = problem
        self.trips = trips
        self.settings = settings or Settings()
        self.store = store if store is not None else LevelStore()
        self.report = report or (lambda _: None)
        self.asked = 0
        self._reduced: dict[tuple[tuple[str, ...], ...], Reduced] = {}
        self._effects: dict[int, tuple[tuple[Group, ...], Effects]] = {}
        self._lifters: dict[tuple[int, int], Lifter] = {}
        self._places: dict[tuple[object, ...], Remembered] = {}
        self._shorts: dict[tuple[object, ...], int] = {}

    # -- asking ---------------------------------------------------------------------------------

    def ask(
        self,
        change: Change | None = None,
        aims: Sequence[Aim] | None = None,
        demands: Sequence[Demand] = (),
        slack: Mapping[str, int] | None = None,
        start: Kit | None = None,
        judged: bool = True,
    ) -> Found:
        """The best kit of the problem as changed; ``aims`` in place of ``closing_aims``.

        Not ``judged``: by the rules alone, whatever trips and places say.
        """
        change = change or Change()
        self.asked += 1
        self.report(f"question {self.asked}")
        problem = self.changed(change)
        if slack:
            problem = replace(problem, gives={**problem.gives, **slack})
        lifter = self._lifter(problem, change) if judged else None
        places = self._places_of(problem) if judged else None
        judges: list[Judge] = [judge for judge in (lifter, places) if judge is not None]
        outcome = choose(
            problem, judges, self.settings, self._known(lifter, places), None,
            closing_aims(problem) if aims is None else aims, demands, slack, start,
        )
        proven = outcome.status != "proven" or outcome.ties_broken
        if places is not None and places.judge.undecided:
            proven = False
        kit = outcome.kit
        if kit is not None and places is not None:
            where = places.judge.where(kit)
            assert isinstance(where, Placement)
            kit = replace(kit, places=where)
        return Found(kit, outcome.status if proven else "unproven")

    def _known(self, lifter: Lifter | None, places: Remembered | None) -> list[Wall]:
        walls = lifter.known() if lifter is not None else []
        return walls + (places.known if places is not None else [])

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

    def possible(self, change: Change, start: Kit | None = None) -> Found:
        """Any kit that keeps what is left of the brief: 'proven' with a kit, or 'impossible'.

        The rules alone settle most such questions. For the rest one limit in force is made elastic, and its
        excess small: what leads to the kits that pass also proves soonest that there are none.
        """
        plain = self.ask(change, aims=(ANY,), start=start, judged=False)
        if plain.status == "impossible" or (plain.kit is not None and self.keeps(plain.kit, change)):
            return plain
        problem = self.changed(change)
        slug = next((slug for slug in ELASTIC if slug in problem.rules), None)
        if slug is None:
            return self.ask(change, aims=(ANY,), start=start)
        found = self.ask(change, aims=(slack_aim(problem, {slug: 1}),), slack={slug: ELASTIC[slug]}, start=start)
        if found.kit is None or excess(problem, found.kit, slug) <= 0:
            return replace(found, status="proven") if found.kit is not None else found
        return Found(None, "impossible" if found.status == "proven" else "unproven")

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
                required = {*problem.required, *change.required} - set(change.refused)
                refused = {*problem.refused, *change.refused} - set(change.required)
                rules = [*problem.rules, *(slug for slug in ("required", "refused") if slug not in problem.rules)]
                problem = replace(
                    problem, required=tuple(sorted(required)), refused=tuple(sorted(refused)), rules=tuple(rules)
                )
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
        return Bench(member.dropped(self.problem), trips, self.settings, self.store, self.report)

    def only(self, kept: Iterable[Member], every: Iterable[Member]) -> Change:
        """The change that keeps these members and drops the rest of ``every``."""
        names = {member.name for member in kept}
        return Change(without=tuple(member for member in every if member.name not in names))
