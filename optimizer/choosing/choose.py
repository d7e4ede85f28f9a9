"""The choosing itself: the best kit that keeps every rule and survives its trips, with the proof.

On the road: problem -> *choosing* <-> trips -> kit. The solver offers the best kit it knows to be
allowed; judges say whether it passes (the trips: ``lifting``); if not, they name walls that every kit
which passes must get past, and the solver offers again. When the best kit offered passes, nothing better
can: that is the proof.

The goal comes before its tie-break, both as one number where that is not too large, and last comes a fixed
number drawn from the part ids, so that the same input gives the same kit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from optimizer.check import check, structure_faults
from optimizer.choosing.aims import Aim, Demand, Joined, goal_aims, goal_number, joined_aim, names_aim
from optimizer.choosing.order import cost_of
from optimizer.choosing.plenty import plenty_aim
from optimizer.choosing.scouting import Patrol, Scout
from optimizer.choosing.solve import Answer, Deadline, Settings, Status, impossible_options, minimise
from optimizer.choosing.variables import ModelVariables
from optimizer.choosing.walls import Judge, Outlook, Wall, clause, telling
from optimizer.problem.records import Goal, Kit, Problem
from optimizer.rules import BY_SLUG

PLENTY_WORK = 1.0
"""What a kit with plenty of everything is worth at most, as the solver counts work: some seconds, of which it mostly
takes a tenth."""
HURRIED_ROUNDS = 2
"""Rounds in which any kit that passes is looked for; where none was found by then there mostly is none."""
FALLEN = 5
"""Kits met during a solve that are looked around, besides the one it offers."""
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
        self._pinned: list[tuple[Aim, int]] = []
        self._bound: int | None = None
        self._mended: Kit | None = None
        self._unmatched = False
        """Whether no kit in question but the best is left: then it is the answer to every aim that is left."""
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
        # A kit of another problem may have what is not on offer here: then there is nothing to begin with.
        self.start = None if start is None or structure_faults(self.problem, start) else start
        if self.start is not None and self._allowed(self.start):
            self.best = self.start
        return self._run_aims(aims) if aims else self._run_goals()

    def _allowed(self, kit: Kit) -> bool:
        """Whether a kit keeps every rule, every demand, and passes."""
        kept = check(self.problem, kit).ok and all(demand.holds(kit) for demand in self.demands)
        return kept and self._passes(kit)

    def _run_aims(self, aims: Sequence[Aim]) -> Outcome:
        first: Answer | None = None
        for number, aim in enumerate(aims):
            if number and number == len(aims) - 2 and self._alone():
                break  # what is left only breaks ties
            answer = self._stage(aim)
            first = first or answer
            if answer.status != "proven":
                return self._outcome(first, ties_broken=False, sign=1)
        assert first is not None
        return self._outcome(first, ties_broken=True, sign=1)

    def _run_goals(self) -> Outcome:
        joined = joined_aim(self.problem)
        aims = goal_aims(self.problem) if joined is None else (joined,)
        if not self.clauses:
            self._look_for_plenty(aims[0])
        first: Answer | None = None
        for aim in aims:
            answer = self._stage(aim)
            first = first or self._by_goal(answer, joined)
            if answer.status != "proven":
                return self._outcome(first, ties_broken=False)
        assert first is not None
        if self._alone():
            return self._outcome(first, ties_broken=True)
        last = self._stage(names_aim())
        return self._outcome(first, ties_broken=last.status == "proven")

    def _by_goal(self, answer: Answer, joined: Joined | None) -> Answer:
        """An answer by the joined number told by the goal alone; that may be proven though the tie-break is not."""
        if joined is None or answer.status == "impossible":
            return answer
        value = None if answer.kit is None else goal_number(self.problem, answer.kit, self.problem.goal)
        bound = None if answer.bound is None else joined.goal_at_least(answer.bound)
        proven = answer.status == "proven" or (value is not None and value == bound)
        return Answer("proven" if proven else "unproven", answer.kit, value, value if proven else bound)

    def _alone(self) -> bool:
        """Whether no other kit is as good as the best by goal and tie-break, which are pinned.

        Mostly none is: one question instead of another stage. It is asked with the first aim to be made small,
        though that can come to nothing: what leads the search also ends it soonest.
        """
        if self._unmatched:
            return True
        if self.best is None or self._stopped:
            return False
        try:
            answer = minimise(
                self.variables, self._pinned[0][0].expression(self.variables), self.settings, self.deadline,
                [*self.clauses, self._other_than(self.best)],
            )  # fmt: skip
        except KeyboardInterrupt:
            self._stopped = True
            return False
        return answer.status == "impossible"

    def _other_than(self, kit: Kit) -> list[Any]:
        """The literals of which one must be true of any other kit."""
        problem, variables = self.problem, self.variables
        same = [variables.nights()[kit.nights], variables.voltages()[kit.voltage]]
        for group in problem.groups:
            if group.name in kit.choices:
                same.append(variables.picked(group, group.option(kit.choices[group.name])))
            elif not group.needed:
                same.append(variables.nothing(group))
        return [literal.negated() for literal in same]

    def _look_for_plenty(self, aim: Aim) -> None:
        """A kit to fall back on when the search is stopped: one with plenty of everything, made cheaper."""
        if not self.judges or self.start is not None:
            return
        try:
            objective = plenty_aim(self.problem).expression(self.variables)
            answer = minimise(
                self.variables, objective, self.settings, self.deadline, self.clauses, work=PLENTY_WORK
            )
            if answer.kit is not None:
                self._scout_from([answer.kit], aim)
        except KeyboardInterrupt:
            self._stopped = True

    def _stage(self, aim: Aim) -> Answer:
        """Offer, ask the judges, learn, until the best kit offered passes. Ctrl-C ends it early.

        From then on nothing may be worse by this aim than what was proven.
        """
        self._bound = None
        answer = Answer("unproven", None, None, None)
        try:
            if not self._stopped:
                objective = aim.expression(self.variables)
                answer = self._rounds(objective, aim)
                self._pin(answer, aim)
                return answer
        except KeyboardInterrupt:
            self._stopped = True
        return self._fallback(answer, aim)

    def _pin(self, answer: Answer, aim: Aim) -> None:
        """Nothing may be worse by this aim from now on; told goal by goal, since that ends a search sooner."""
        if answer.status != "proven" or answer.kit is None:
            return
        for part in aim.parts or (aim,):
            value = part.value(answer.kit)
            self.variables.model.add(part.expression(self.variables) <= value)
            self._pinned.append((part, value))

    def _rounds(self, objective: Any, aim: Aim) -> Answer:
        if self._unmatched and self.best is not None:
            return Answer("proven", self.best, aim.value(self.best), aim.value(self.best))
        while True:
            self.rounds += 1
            fallen: list[Kit] = []
            # The best kit known is mostly the best there is: is any other as good? If not, that ends ties too.
            today = self.best
            answer = minimise(
                self.variables, objective, self.settings, self.deadline,
                self.clauses if today is None else [*self.clauses, self._other_than(today)],
                self._hint(aim),
                on_kit=partial(self._met, fallen, aim),
                bounds=() if today is None else [objective <= aim.value(today)],
            )
            if answer.status == "impossible" and today is not None:
                self._unmatched = True
                return Answer("proven", today, aim.value(today), aim.value(today))
            if answer.status == "impossible" or answer.kit is None:
                return self._fallback(answer, aim)
            self._raise_if_unsound(answer, aim)
            if answer.status == "proven" and self._passes(answer.kit):
                self.best = answer.kit
                return answer
            if answer.status == "unproven":
                return self._fallback(answer, aim)
            bound = self._bound = answer.value
            self.report(f"round {self.rounds}: {len(self.clauses)} walls known")
            if self.best is not None and aim.value(self.best) == bound:
                return Answer("proven", self.best, bound, bound)
            self._teach(aim, answer.kit)  # whatever comes of looking around, this kit is not offered again
            self._scout_from([answer.kit, *fallen[-FALLEN - 1:-1]], aim)

    def _hint(self, aim: Aim) -> Kit | None:
        """A kit known to keep every rule and get past every wall, other than the best: the solver starts from it."""
        known = (self._mended, self.start if self.best is None else None)
        return min((kit for kit in known if kit is not None), key=aim.value, default=None)

    def _fallback(self, answer: Answer, aim: Aim) -> Answer:
        """An answer that is no proof: the best kit that survived, if any, with the bound known."""
        if answer.status == "impossible" and self.best is None:
            return answer
        if answer.status == "impossible":  # cannot be: a kit that survives is known
            raise AssertionError("a kit survives, yet the model is impossible")
        bounds = [bound for bound in (answer.bound, self._bound) if bound is not None]
        value = None if self.best is None else aim.value(self.best)
        return Answer("unproven", self.best, value, max(bounds, default=None))

    def _passes(self, kit: Kit) -> bool:
        return all(judge.passes(kit) for judge in self.judges)

    def _met(self, fallen: list[Kit], aim: Aim, kit: Kit) -> None:
        """A kit met on the way: kept when it passes and is the best so far, learnt from when not."""
        if not self._in_question(kit):
            return
        if not self._passes(kit):
            fallen.append(kit)
        elif self.best is None or aim.value(kit) < aim.value(self.best):
            self.best = kit

    def _in_question(self, kit: Kit) -> bool:
        """Whether a kit that keeps every rule also keeps every demand and is no worse than what is proven already."""
        kept = all(demand.holds(kit) for demand in self.demands)
        return kept and all(pinned.value(kit) <= value for pinned, value in self._pinned)

    def _scout_from(self, kits: Sequence[Kit], aim: Aim) -> None:
        """Look at what is near failing kits and better than the best known, and learn from what fails."""
        self._mended = self.scout.explore(kits, self._patrol(aim))

    def _patrol(self, aim: Aim) -> Patrol:
        return Patrol(
            worth=aim.value,
            best=lambda: None if self.best is None else aim.value(self.best),
            allows=self._in_question,
            passes=self._passes,
            found=partial(self._met, [], aim),
            teach=partial(self._teach, aim),
            over=lambda: self.deadline.over,
            descends=aim.a_cost > 0,
            hurried=self.best is None and self.rounds <= HURRIED_ROUNDS,
        )

    def _walls(self, kit: Kit, aim: Aim) -> list[Wall]:
        """Of the first judge that the kit does not pass: the later ones are dearer to ask."""
        judge = next((judge for judge in self.judges if not judge.passes(kit)), None)
        outlook = Outlook(self._ruled_out, self._most_extra(aim), lambda: self.deadline.over)
        return [] if judge is None else list(judge.walls(kit, outlook))

    def _most_extra(self, aim: Aim) -> int | None:
        """How much dearer than the bound the best kit known is, where the aim tells."""
        if not aim.a_cost or self.best is None or self._bound is None:
            return None
        return -((self._bound - aim.value(self.best)) // aim.a_cost)

    def _teach(self, aim: Aim, kit: Kit) -> None:
        self._learn(self._walls(kit, aim))

    def _learn(self, walls: Iterable[Wall]) -> None:
        for wall in walls:
            self.clauses.append(clause(wall, self.variables))
            self.scout.know(wall)

    def _raise_if_unsound(self, answer: Answer, aim: Aim) -> None:
        """The solver's kit must pass the plain check, and be worth what it says: two tellings of every rule."""
        assert answer.kit is not None
        verdict = check(self.problem, answer.kit)
        if not verdict.ok:
            raise AssertionError(f"the solver's kit breaks a rule: {'; '.join(verdict.faults)}")
        if answer.status == "proven" and aim.value(answer.kit) != answer.value:
            raise AssertionError(f"the solver counts {answer.value} for a kit that is worth {aim.value(answer.kit)}")

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
