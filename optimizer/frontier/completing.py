"""What goes with a kit of the combed groups: asked of the solver, with these groups fixed, and of the judges.

On the road: inside ``frontier``, between *combed* questions and the asker whose model, walls and judges they share.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from optimizer.choosing.combing import Comb, Found, rest_points
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.solve import Answer, minimise
from optimizer.choosing.sums import rule_sums
from optimizer.choosing.walls import NONE, Outlook, Wall
from optimizer.frontier.combed import CombedQuestions
from optimizer.frontier.zones import NO_BOUND, Vector
from optimizer.problem.records import Kit

if TYPE_CHECKING:
    from optimizer.frontier.asking import KitAsker


def combed_questions(asker: KitAsker) -> CombedQuestions | None:
    """For an asker of two goals that are sums over what is chosen; None where there is nothing to comb through."""
    one_length = len(asker.problem.nights) == 1
    if asker.trips is None or not one_length or asker.settings.second_opinion:
        return None
    if not all(axis.adds_up for axis in asker.axes):
        return None
    first, second = asker.axes
    costs, numbers = (first.cost, second.cost), (asker.expressions[0], asker.expressions[1])
    rest = rest_points(asker.variables, numbers, costs, asker.settings, asker.deadline)
    if not rest:
        return None
    sums = rule_sums(asker.variables)
    comb = Comb(asker.problem, costs, sums, rest, asker.scout.tables, asker.ruled_out)
    return CombedQuestions(comb, Completing(asker, asker.trips.judge(asker.trips.most)))


class Completing:
    """Answers for the combed questions of one asker."""

    def __init__(self, asker: KitAsker, lifter: Lifter) -> None:
        self._asker, self._lifter = asker, lifter
        self._judges = (lifter, *asker.judges)
        self._outlook = Outlook(asker.ruled_out, over=self.over)

    def fails(self, found: Found) -> bool:
        """Whether too many departures fall short, whatever else is chosen."""
        return self._lifter.fail_whatever(found.choices, self._asker.problem.nights[0])

    def learn_from(self, found: Found) -> None:
        """Learn walls before kits that have these groups so, or no better."""
        self._learn(self._lifter.walls_whatever(found.choices, self._asker.problem.nights[0], self._outlook))

    def over(self) -> bool:
        """Whether the time is up."""
        return self._asker.deadline.over

    def vector(self, kit: Kit) -> Vector:
        """A kit's two numbers."""
        return self._asker.vector(kit)

    def known(self, limits: Sequence[int]) -> Kit | None:
        """The best kit known within limits that passes."""
        return self._asker.best_known(self._judges, limits)

    def complete(self, found: Found, limits: Sequence[int], besides: Kit | None = None) -> Answer:
        """The best kit within limits that passes and has the combed groups as found; other than ``besides``.

        'impossible' where there is none; what a judge turns down is learnt from.
        """
        asker, variables = self._asker, self._asker.variables
        fixed = [[variables.voltages()[found.voltage]]]
        for name, key in found.choices.items():
            nothing = key == NONE
            fixed.append([variables.nothing(asker.problem.group(name)) if nothing else variables.literal(name, key)])
        if besides is not None:
            fixed.append([literal.negated() for literal in asker.literals(besides)])
        numbers = zip(asker.expressions, limits, strict=True)
        bounds = [number <= limit for number, limit in numbers if limit < NO_BOUND]
        while True:
            clauses = [*asker.walls.clauses(self._lifter.allowed), *fixed]
            answer = minimise(
                variables, asker.leading[0], asker.settings, asker.deadline, clauses, bounds=bounds
            )  # fmt: skip
            if answer.status != "proven" or answer.kit is None:
                return answer
            asker.raise_if_unsound(answer.kit)
            judge = next((judge for judge in self._judges if not judge.passes(answer.kit)), None)
            if judge is None:
                asker.remember(answer.kit)
                return answer
            self._learn(judge.walls(answer.kit, self._outlook))

    def _learn(self, walls: Iterable[Wall]) -> None:
        self._asker.learn(walls, self._lifter.allowed)
