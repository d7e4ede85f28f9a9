"""Answers the method's questions: the least kit of a zone that keeps every rule and survives its trips.

On the road: frontier's ``zones`` -> *asking* -> choosing <-> trips. One model serves every question; the
bounds of a zone are put on a copy of it. Walls stay: a wall learnt for one zone holds in all of them, so
after the first few points hardly any question needs a second round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import Any

from optimizer.check import check
from optimizer.choosing.aims import names_aim
from optimizer.choosing.scouting import Patrol, Scout
from optimizer.choosing.solve import Answer, Deadline, Settings, impossible_options, minimise
from optimizer.choosing.store import Level
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Judge, Outlook, Wall
from optimizer.frontier.combed import CombedQuestions
from optimizer.frontier.completing import combed_questions
from optimizer.frontier.ends import two_ends
from optimizer.frontier.goals import Axis
from optimizer.frontier.question import Paused, Question, Trips, Value, joined_as
from optimizer.frontier.remembered import Remembered
from optimizer.frontier.two_ends import Pause
from optimizer.frontier.walls_met import WallsMet
from optimizer.frontier.zones import NO_BOUND, Corner, Reply, Vector
from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules import BY_SLUG

FALLEN = 5
"""Kits met during a solve that are looked around, besides the one it offers."""


def _first(vector: Vector) -> int:
    return vector[0]


class KitAsker:
    """Finds the least kit of a zone.

    Parameters
    ----------
    problem : Problem
    axes : the goals, the first never one that only the trips know
    trips : None where the brief asks for no trips
    judges : what else a kit must pass
    ties : break ties between kits of equal numbers by the part-id number
    """

    def __init__(
        self,
        problem: Problem,
        axes: Sequence[Axis],
        trips: Trips | None = None,
        judges: Sequence[Judge] = (),
        settings: Settings | None = None,
        *,
        ties: bool = True,
        report: Callable[[str], None] | None = None,
    ) -> None:
        if axes[0].judged or (trips is None and any(axis.judged for axis in axes)):
            raise ValueError("coverage needs trips, and cannot be the first goal")
        self.problem = problem
        self.axes = tuple(axes)
        self.rounds = 0
        self.trips = trips
        self.judges = tuple(judges)
        self.settings = settings or Settings()
        self.settings = replace(self.settings, probing=not self.settings.sums_only)
        self.deadline = Deadline(self.settings.seconds)
        self._ties = ties
        self._report = report or _quiet
        self.variables = ModelVariables(problem)
        for slug in problem.rules:
            BY_SLUG[slug].add(self.variables)
        self.expressions: list[Any] = [None if axis.judged else axis.expression(self.variables) for axis in axes]
        self.spans = [None if axis.judged else axis.span(problem) for axis in axes]
        # One question then does for two; where the numbers are too large the two are asked one after another.
        self.joined = joined_as((0, *self._others), self.spans, self.expressions) if self._others else None
        self._weights = names_aim().expression(self.variables) if ties else None
        self.ruled_out = self._impossible(())
        self.variables.rule_out(sorted(self.ruled_out))
        self.scout = Scout(problem, partial(_cost, self.axes[0]), self.ruled_out)
        self.walls = WallsMet(self.variables)
        self._mended: Kit | None = None
        self._alone_before = True
        self._met_kits = Remembered()
        self.latest: Kit | None = None
        self.combed = combed_questions(self) if self.joined is not None and len(axes) == 2 else None
        self.ends = two_ends(self)
        for wall, stands_to in () if trips is None else trips.known():
            self._know(wall, stands_to)

    # -- the question ---------------------------------------------------------------------------

    def least(self, corner: Corner) -> Reply[Kit]:
        """Least by the first goal, then by the sum of the others, then by the part-id number."""
        limits = [NO_BOUND, *(bound - 1 if bound < NO_BOUND else NO_BOUND for bound in corner)]
        if self.ends is not None:
            return self.ends.least(limits)
        first = self.stage(*self.leading, limits)
        if first.status == "impossible":
            return Reply(None)
        if first.status == "unproven" or first.kit is None:
            return Reply(None, proven=False, bound=self.first_at_least(first.bound))
        found = first.kit
        limits[0] = self.vector(found)[0]
        for stage in (self._least_sum, self._least_short, self.least_number):
            better = stage(found, limits)
            if better is None:
                return Reply(None, proven=False, bound=limits[0])
            found = better
        self.latest = found
        return Reply(self.vector(found), found)

    def first_at_least(self, bound: int | None) -> int | None:
        """What the first goal cannot be below, by a bound of what is made small first."""
        return bound if self.joined is None or bound is None else self.joined.first_at_least(bound)

    def best_known(self, judges: Sequence[Judge], limits: Sequence[int]) -> Kit | None:
        """The best kit met within limits that passes, by what a question makes small first."""
        return self._met_kits.best(judges, limits, self.leading[1])

    def take_in(self, levels: Iterable[Level]) -> None:
        """Learn from what the trips taught another asker of the same trips."""
        if self.trips is not None:
            for found, stands_to in self.trips.told(levels):
                self._know(found, stands_to)

    def extreme(self, place: int) -> Vector | None:
        """The goals of a kit that is best in one goal (best known by the model, for coverage: none short)."""
        if self.axes[place].judged:
            return None
        limits = [NO_BOUND] * len(self.axes)
        answer = self.stage(self.expressions[place], lambda v: v[place], limits)
        return self.vector(answer.kit) if answer.status == "proven" and answer.kit is not None else None

    def vector(self, kit: Kit) -> Vector:
        """The goals of a kit, less always better."""
        return tuple(
            self._short(kit) if axis.judged else axis.value(self.problem, kit) for axis in self.axes
        )

    def _short(self, kit: Kit) -> int:
        assert self.trips is not None
        return self.trips.short(kit)

    @property
    def _others(self) -> tuple[int, ...]:
        """Places of the goals the model knows, but the first."""
        return tuple(place for place, axis in enumerate(self.axes) if place and not axis.judged)

    @property
    def leading(self) -> tuple[Any, Value]:
        """What a question makes small first."""
        if self.joined is None:
            return self.expressions[0], _first
        return self.joined.expression, self.joined.value

    def _least_sum(self, kit: Kit, limits: list[int]) -> Kit | None:
        """The least sum of the goals the model knows, but the first; their values become bounds."""
        others = self._others
        if others and self.joined is None:
            total = sum(self.expressions[place] for place in others)
            answer = self.stage(total, lambda v: sum(v[place] for place in others), limits)
            if answer.status != "proven" or answer.kit is None:
                return None
            kit = answer.kit
        vector = self.vector(kit)
        for place in others:
            limits[place] = vector[place]
        return kit

    def _least_short(self, kit: Kit, limits: list[int]) -> Kit | None:
        """The fewest short departures at those values: asked for fewer until there is no such kit."""
        for place, axis in enumerate(self.axes):
            if axis.judged:
                while True:
                    limits[place] = self.vector(kit)[place] - 1
                    if limits[place] < 0:
                        break
                    answer = self.stage(None, None, limits)
                    if answer.status == "impossible":
                        break
                    if answer.status != "proven" or answer.kit is None:
                        return None
                    kit = answer.kit
                limits[place] += 1
        return kit

    def least_number(self, kit: Kit, limits: list[int]) -> Kit | None:
        """Of equal kits the one with the least part-id number."""
        if self._weights is None or self._alone(kit, limits):
            return kit
        answer = self.stage(self._weights, None, limits, start=kit)
        return answer.kit if answer.status == "proven" else None

    def _alone(self, kit: Kit, limits: list[int]) -> bool:
        """Whether no other kit is as good; not asked where it was not so last time.

        Asked with the goals to be made small, though that can come to nothing: what leads the search ends it soonest.
        """
        if self._alone_before:
            other = [literal.negated() for literal in self.literals(kit)]
            self._alone_before = self.stage(*self.leading, limits, besides=other).status == "impossible"
            return self._alone_before
        return False

    def literals(self, kit: Kit) -> list[Any]:
        """What is true of this kit, and of no other all of it."""
        variables = self.variables
        found = [variables.nights()[kit.nights], variables.voltages()[kit.voltage]]
        for group in self.problem.groups:
            key = kit.choices.get(group.name)
            if key is not None:
                found.append(variables.literal(group.name, key))
            elif not group.needed:
                found.append(variables.nothing(group))
        return found

    # -- offer, ask the judges, learn -----------------------------------------------------------

    def stage(
        self,
        objective: Any,
        value: Value | None,
        limits: Sequence[int],
        start: Kit | None = None,
        besides: Sequence[Any] = (),
        pause: Pause | None = None,
        combed: CombedQuestions | None = None,
        work: float | None = None,
    ) -> Answer:
        """The best kit within limits; ``besides`` is one more clause that kits must keep.

        As soon as a kit is known that passes, ``combed`` goes through all that could be better. After so much ``work``
        of the solver it is 'unproven'. It is ``Paused`` when ``pause`` says so, asked before each round.
        """
        allowed = self._allowed(limits)
        if allowed < 0:
            return Answer("impossible", None, None, None)
        by_place = {
            place: expression <= limit
            for place, (expression, limit) in enumerate(zip(self.expressions, limits, strict=True))
            if expression is not None and limit < NO_BOUND
        }
        trips = [self.trips.judge(allowed)] if self.trips is not None else []
        judges = (*trips, *self.judges)
        outlook = cache(partial(self._outlook, judges, by_place))
        asked = Question(objective, value, tuple(limits), allowed, judges, outlook)
        low: int | None = None
        self._mended = None
        begun = self.rounds
        while True:
            if pause is not None and pause(self.rounds - begun):
                return Paused("unproven", None, None, low)
            self.rounds += 1
            best = None if besides else start or self._met_kits.best(judges, limits, value)
            if combed is not None and combed.worth_asking(limits, self.first_at_least(low)):
                answer = combed.least(limits)
                if answer is not None:
                    return answer
            if best is not None and objective is None:
                return Answer("proven", best, None, None)
            fallen: list[Kit] = []
            clauses = self.walls.clauses(allowed)
            answer = minimise(
                self.variables, objective, self.settings, self.deadline,
                [*clauses, besides] if besides else clauses, self._hint(asked, best),
                on_kit=partial(self._met, judges, fallen) if judges else None,
                bounds=list(by_place.values()), work=work,
            )
            if answer.status != "proven" or answer.kit is None:
                known = [bound for bound in (answer.bound, low) if bound is not None]
                return replace(answer, bound=max(known, default=None))
            self.raise_if_unsound(answer.kit)
            if asked.passes(answer.kit):
                self.remember(answer.kit)
                return answer
            if best is not None and value is not None and value(self.vector(best)) == answer.value:
                return Answer("proven", best, answer.value, answer.value)
            low = answer.value
            self._report(f"round {self.rounds}: {len(self.walls)} walls known")
            self._learn_from(answer.kit, fallen, asked)

    def _outlook(self, judges: Sequence[Judge], by_place: Mapping[int, Any]) -> Outlook:
        """With two goals every zone lies in the one before, so what is out of it is out for good."""
        nested = bool(judges) and len(self.axes) == 2 and 1 in by_place
        ruled_out = self._impossible(list(by_place.values())) if nested else self.ruled_out
        return Outlook(ruled_out, over=lambda: self.deadline.over)

    def _impossible(self, bounds: Sequence[Any]) -> frozenset[tuple[str, str]]:
        if self.settings.second_opinion:
            return frozenset()
        return frozenset(impossible_options(self.variables, self.settings, self.deadline, bounds))

    def _hint(self, asked: Question, best: Kit | None) -> Kit | None:
        """The best kit known to keep every rule and get past every wall: the solver starts from it."""
        if self._mended is None or asked.value is None:
            return best or self.latest
        if best is not None and asked.value(self.vector(best)) < asked.value(self.vector(self._mended)):
            return best
        return self._mended

    def _allowed(self, limits: Sequence[int]) -> int:
        if self.trips is None:
            return 0
        asked = [limit for axis, limit in zip(self.axes, limits, strict=False) if axis.judged]
        return min([self.trips.most, *asked])

    def _met(self, judges: Sequence[Judge], fallen: list[Kit], kit: Kit) -> None:
        if all(judge.passes(kit) for judge in judges):
            self.remember(kit)
        else:
            fallen.append(kit)

    def _learn_from(self, kit: Kit, fallen: list[Kit], asked: Question) -> None:
        """Look at what is near failing kits and better than the best known within the limits; learn from what fails."""
        self._teach(asked, kit)  # whatever comes of looking around, this kit is not offered again
        self._mended = self.scout.explore([kit, *fallen[-FALLEN - 1 : -1]], self._patrol(asked))

    def _patrol(self, asked: Question) -> Patrol:
        value = asked.value or (lambda _: 0)
        known = self._met_kits.best(asked.judges, asked.limits, asked.value)
        best = [] if known is None else [value(self.vector(known))]

        def found(passing: Kit) -> None:
            self.remember(passing)
            best.append(value(self._counted(passing)))

        return Patrol(
            worth=lambda trial: value(self._counted(trial)),
            best=lambda: min(best, default=None),
            allows=lambda trial: asked.holds(self._counted(trial)),
            passes=asked.passes,
            found=found,
            teach=partial(self._teach, asked),
            over=lambda: self.deadline.over,
            descends=asked.value is not None,
        )

    def _counted(self, kit: Kit) -> Vector:
        """The goals of a kit as far as they are known without its trips: 0 for those only the trips tell."""
        return tuple(0 if axis.judged else axis.value(self.problem, kit) for axis in self.axes)

    def _teach(self, asked: Question, kit: Kit) -> None:
        self.learn(asked.walls_of(kit), asked.allowed)

    def _know(self, wall: Wall, stands_to: int) -> None:
        """Learn a wall that was found before or elsewhere, if it says something here."""
        if stands_to >= self._allowed(()) or any(axis.judged for axis in self.axes):
            self.learn([wall], stands_to)

    def learn(self, walls: Iterable[Wall], stands_to: int) -> None:
        for wall in walls:
            self.walls.add(wall, stands_to)
            self.scout.know(wall)

    def remember(self, kit: Kit) -> None:
        self._met_kits.add(kit, self.vector(kit))

    def raise_if_unsound(self, kit: Kit) -> None:
        """The solver's kit must pass the plain check: two independent tellings of every rule."""
        verdict = check(self.problem, kit)
        if not verdict.ok:
            raise AssertionError(f"the solver's kit breaks a rule: {'; '.join(verdict.faults)}")


def _cost(axis: Axis, option: Option) -> int:
    return option.mass_g if axis.slug == "mass" else option.price_cents


def _quiet(_: str) -> None:
    pass
