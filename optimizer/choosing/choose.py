"""The choosing itself: the best kit that keeps every rule and survives its trips, with the proof.

On the road: problem -> *choosing* <-> trips -> kit. The solver offers the best kit it knows to be
allowed; judges say whether it passes (the trips: ``lifting``); if not, they name walls that every kit
which passes must get past, and the solver offers again. When the best kit offered passes, nothing better
can: that is the proof.

Goals come one after another: the goal, its tie-break, and last a fixed number drawn from the part
ids, so that the same input gives the same kit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from optimizer.check import check, goal_value
from optimizer.choosing.aims import Aim, Demand
from optimizer.choosing.order import cost_of, id_weight
from optimizer.choosing.plenty import plenty_aim
from optimizer.choosing.scouting import Scout
from optimizer.choosing.solve import Answer, Deadline, Settings, Status, impossible_options, minimise
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Judge, Outlook, Wall, clause, telling
from optimizer.problem.records import Goal, Kit, Problem
from optimizer.rules import BY_SLUG

SCOUTING_STEPS = 8
PLENTY_TRIES = 5
Report = Callable[[str], None]


@dataclass(frozen=True)
class Outcome:
    """What choosing found. ``value`` and ``bound`` are integers of ``1/goal.scale`` of its unit."""

    status: Status
    goal: Goal
    kit: Kit | None
    value: int | None
    bound: int | None
    ties_broken: bool
    """Whether the tie-breaks were proven too."""
    rounds: int
    walls: int
    size: dict[str, int] = field(default_factory=dict)
    """Of the model: Booleans, constraints."""


def choose(
    problem: Problem,
    judges: Sequence[Judge] = (),
    settings: Settings | None = None,
    known: Iterable[Wall] = (),
    report: Report | None = None,
    aims: Sequence[Aim] = (),
    demands: Sequence[Demand] = (),
    slack: Mapping[str, int] | None = None,
    start: Kit | None = None,
) -> Outcome:
    """The best kit of a problem, with its proof status.

    Parameters
    ----------
    problem : Problem
    judges : say whether a kit passes (its trips, its places), and why not
    settings : how to solve
    known : walls known already
    report : is told in a few words what is going on
    aims : what is made small, first to last, instead of goal, tie-break and part-id number; ``value``
        and ``bound`` of the outcome are then those of the first aim
    demands : what kits must keep besides the rules
    slack : by how much a limit may be passed at most, by slug, for aims at the least of it; the problem's
        ``gives`` must allow as much
    start : a kit to start looking from
    """
    search = _Search(problem, judges, settings or Settings(), known, report or _quiet, demands, slack or {})
    return search.run(aims, start)


def _quiet(_: str) -> None:
    pass


class _Search:
    def __init__(
        self,
        problem: Problem,
        judges: Sequence[Judge],
        settings: Settings,
        known: Iterable[Wall],
        report: Report,
        demands: Sequence[Demand] = (),
        slack: Mapping[str, int] | None = None,
    ) -> None:
        self.problem = problem
        self.judges = judges
        self.settings = settings
        self.report = report
        self.deadline = Deadline(settings.seconds)
        self._stopped = False
        self.variables = ModelVariables(problem, slack=slack)
        for slug in problem.rules:
            BY_SLUG[slug].add(self.variables)
        self.demands = demands
        for demand in demands:
            demand.add(self.variables)
        ruled_out = self._rule_out_impossible()
        self.start: Kit | None = None
        self.clauses: list[list[Any]] = []
        self.best: Kit | None = None
        self._pinned: list[tuple[Goal | Aim, int]] = []
        self._bound: int | None = None
        self._most_extra: int | None = None
        self._mended: Kit | None = None
        self.rounds = 0
        self.scout = Scout(problem, partial(cost_of, problem.goal), ruled_out)
        self._ruled_out = ruled_out
        self._learn(telling(known, self.variables.possible))

    def _rule_out_impossible(self) -> frozenset[tuple[str, str]]:
        """Options that cannot be in any kit are settled once, not in every solve; a second opinion does without."""
        if self.settings.second_opinion:
            return frozenset()
        try:
            found = impossible_options(self.variables, self.settings, self.deadline)
        except KeyboardInterrupt:
            self._stopped = True
            found = set()
        self.variables.rule_out(sorted(found))
        return frozenset(found)

    def run(self, aims: Sequence[Aim] = (), start: Kit | None = None) -> Outcome:
        self.start = start
        if start is not None and self._allowed(start):
            self.best = start
        return self._run_aims(aims) if aims else self._run_goals()

    def _allowed(self, kit: Kit) -> bool:
        """Whether a kit keeps every rule, every demand, and passes."""
        kept = check(self.problem, kit).ok and all(demand.holds(kit) for demand in self.demands)
        return kept and self._passes(kit)

    def _run_aims(self, aims: Sequence[Aim]) -> Outcome:
        first: Answer | None = None
        for aim in aims:
            expression = aim.expression(self.variables)
            answer = self._stage(expression, aim)
            first = first or answer
            if answer.status != "proven":
                return self._outcome(first, ties_broken=False, sign=1)
            self._pin(expression, aim, answer)
        assert first is not None
        return self._outcome(first, ties_broken=True, sign=1)

    def _run_goals(self) -> Outcome:
        problem = self.problem
        if not self.clauses:
            self._look_for_plenty()
        goals = [problem.goal, *([problem.tie_break] if problem.tie_break != problem.goal else [])]
        first: Answer | None = None
        for goal in goals:
            answer = self._stage(self.variables.goal(goal), goal)
            first = first or answer
            if answer.status != "proven":
                return self._outcome(first, ties_broken=False)
            self._pin(self.variables.goal(goal), goal, answer)
            if self._alone(answer.kit):
                return self._outcome(first, ties_broken=True)
        last = self._stage(self._id_weights(), None)
        assert first is not None
        return self._outcome(first, ties_broken=last.status == "proven")

    def _alone(self, kit: Kit | None) -> bool:
        """Whether no other kit is as good as this one by the goals so far and no worse by the tie-break.

        Mostly none is: one question instead of a stage for each tie-break that is left. It is asked with the goal
        to be made small, though that can come to nothing: what leads the search also ends it soonest.
        """
        problem, variables = self.problem, self.variables
        if kit is None or self._stopped:
            return False
        same = [variables.nights()[kit.nights], variables.voltages()[kit.voltage]]
        for group in problem.groups:
            if group.name in kit.choices:
                same.append(variables.picked(group, group.option(kit.choices[group.name])))
            elif not group.needed:
                same.append(variables.nothing(group))
        other = [literal.negated() for literal in same]
        tie = self._value(problem.tie_break, kit)
        try:
            answer = minimise(
                variables, variables.goal(problem.goal), self.settings, self.deadline, [*self.clauses, other],
                bounds=[variables.goal(problem.tie_break) <= tie],
            )
        except KeyboardInterrupt:
            self._stopped = True
            return False
        return answer.status == "impossible"

    def _look_for_plenty(self) -> None:
        """A kit to fall back on when the search is stopped: one with plenty of everything, made cheaper."""
        if not self.judges or self.start is not None:
            return
        try:
            for _ in range(PLENTY_TRIES):
                objective = plenty_aim(self.problem).expression(self.variables)
                answer = minimise(self.variables, objective, self.settings, self.deadline, self.clauses)
                if answer.kit is None:
                    return
                if self._passes(answer.kit):
                    self._descend(answer.kit, self.problem.goal)
                    return
                self._learn(self._walls(answer.kit))
        except KeyboardInterrupt:
            self._stopped = True

    def _pin(self, objective: Any, goal: Goal | Aim, answer: Answer) -> None:
        """From now on nothing may be worse by this goal than what was proven."""
        assert answer.value is not None
        self.variables.model.add(objective <= answer.value)
        self._pinned.append((goal, answer.value))

    def _stage(self, objective: Any, goal: Goal | Aim | None) -> Answer:
        """Offer, ask the judges, learn, until the best kit offered passes. Ctrl-C ends it early."""
        self._bound = None
        try:
            if not self._stopped:
                return self._rounds(objective, goal)
        except KeyboardInterrupt:
            self._stopped = True
        return self._fallback(Answer("unproven", None, None, None), goal)

    def _rounds(self, objective: Any, goal: Goal | Aim | None) -> Answer:
        while True:
            self.rounds += 1
            fallen: list[Kit] = []
            answer = minimise(
                self.variables, objective, self.settings, self.deadline, self.clauses, self._hint(goal),
                on_kit=partial(self._met, fallen, goal),
            )
            if answer.status == "impossible" or answer.kit is None:
                return self._fallback(answer, goal)
            self._raise_if_unsound(answer, goal)
            if answer.status == "proven" and self._passes(answer.kit):
                self.best = answer.kit
                return answer
            if answer.status == "unproven":
                return self._fallback(answer, goal)
            bound = self._bound = answer.value
            self.report(f"round {self.rounds}: {len(self.clauses)} walls known")
            if goal is not None and self.best is not None and self._value(goal, self.best) == bound:
                return Answer("proven", self.best, bound, bound)
            self._most_extra = self._gap(goal)
            self._learn_from(answer.kit, fallen, goal)

    def _gap(self, goal: Goal | Aim | None) -> int | None:
        """How far the best kit known is above the bound, where options cost what the goal counts."""
        if not isinstance(goal, Goal) or self.best is None or self._bound is None or goal.slug == "longest":
            return None
        return self._value(goal, self.best) - self._bound

    def _hint(self, goal: Goal | Aim | None) -> Kit | None:
        """The best kit known to keep every rule and get past every wall: the solver starts from it."""
        known = self.best or self.start
        if self._mended is None or goal is None or known is None:
            return known or self._mended
        return min(known, self._mended, key=lambda kit: self._value(goal, kit))

    def _value(self, goal: Goal | Aim, kit: Kit) -> int:
        if isinstance(goal, Aim):
            return goal.value(kit)
        value = goal_value(self.problem, kit, goal)
        return -value if goal.maximise else value

    def _fallback(self, answer: Answer, goal: Goal | Aim | None) -> Answer:
        """An answer that is no proof: the best kit that survived, if any, with the bound known."""
        if answer.status == "impossible" and self.best is None:
            return answer
        value = self._value(goal, self.best) if goal is not None and self.best is not None else None
        if answer.status == "impossible":  # cannot be: a kit that survives is known
            raise AssertionError("a kit survives, yet the model is impossible")
        bounds = [bound for bound in (answer.bound, self._bound) if bound is not None]
        return Answer("unproven", self.best, value, max(bounds, default=None))

    def _passes(self, kit: Kit) -> bool:
        return all(judge.passes(kit) for judge in self.judges)

    def _met(self, fallen: list[Kit], goal: Goal | Aim | None, kit: Kit) -> None:
        """A kit met on the way: kept when it passes and is the best so far, learnt from when not."""
        if not all(demand.holds(kit) for demand in self.demands):
            return
        if any(self._value(pinned, kit) > value for pinned, value in self._pinned):
            return
        if not self._passes(kit):
            fallen.append(kit)
        elif goal is None or self.best is None or self._value(goal, kit) < self._value(goal, self.best):
            self.best = kit

    def _learn_from(self, kit: Kit, fallen: list[Kit], goal: Goal | Aim | None) -> None:
        for failing in fallen[-3:-1]:
            self._teach(failing)
        self._scout_from(kit, goal)

    def _walls(self, kit: Kit) -> list[Wall]:
        """Of the first judge that the kit does not pass: the later ones are dearer to ask."""
        judge = next((judge for judge in self.judges if not judge.passes(kit)), None)
        return [] if judge is None else list(judge.walls(kit, Outlook(self._ruled_out, self._most_extra)))

    def _scout_from(self, kit: Kit, goal: Goal | Aim | None) -> None:
        """Mend the kit step by step until it passes, learning from every step that fails."""
        trial: Kit | None = kit
        self._mended = None
        for _ in range(SCOUTING_STEPS):
            if trial is None or self.deadline.over:
                return
            if self._passes(trial):
                self._descend(trial, goal)
                return
            self._teach(trial)
            trial = self.scout.mended(trial)
        self._mended = trial

    def _descend(self, kit: Kit, goal: Goal | Aim | None) -> None:
        """Make a kit that passes cheaper, as long as it goes, and learn from what falls on the way."""
        if isinstance(goal, Goal):
            kit = self.scout.cheapened(kit, self._passes, self._teach)
        self._met([], goal, kit)

    def _teach(self, kit: Kit) -> None:
        self._learn(self._walls(kit))

    def _learn(self, walls: Iterable[Wall]) -> None:
        for wall in walls:
            self.clauses.append(clause(wall, self.variables))
            self.scout.know(wall)

    def _raise_if_unsound(self, answer: Answer, goal: Goal | Aim | None) -> None:
        """The solver's kit must pass the plain check, and be worth what it says: two tellings of every rule."""
        assert answer.kit is not None
        verdict = check(self.problem, answer.kit)
        if not verdict.ok:
            raise AssertionError(f"the solver's kit breaks a rule: {'; '.join(verdict.faults)}")
        if isinstance(goal, Goal) and answer.status == "proven":
            worth = self._value(goal, answer.kit)
            if worth != answer.value:
                raise AssertionError(f"the solver counts {answer.value} for a kit that is worth {worth}")

    def _id_weights(self) -> Any:
        total: Any = 0
        for group in self.problem.groups:
            for option in group.options:
                total += id_weight(group.name, option.key) * self.variables.picked(group, option)
        return total

    def _outcome(self, first: Answer, ties_broken: bool, sign: int = 0) -> Outcome:
        model = self.variables.model.proto
        goal = self.problem.goal
        sign = sign or (-1 if goal.maximise else 1)
        kit = self.best if first.kit is not None else None
        return Outcome(
            status=first.status,
            goal=goal,
            kit=kit,
            value=None if first.value is None else sign * first.value,
            bound=None if first.bound is None else sign * first.bound,
            ties_broken=ties_broken,
            rounds=self.rounds,
            walls=len(self.clauses),
            size={"booleans": len(model.variables), "constraints": len(model.constraints)},
        )
