"""A rule by itself: what its model allows and what its plain arithmetic says, kit by kit."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Kit, Problem
from optimizer.rules import BY_SLUG


def holds(problem: Problem, slug: str, kit: Kit) -> bool:
    """Whether the plain arithmetic of a rule says met."""
    return all(limit.met for limit in BY_SLUG[slug].holds(problem, kit))


class Fixed:
    """A model of one rule, asked about kits one after another."""

    def __init__(self, problem: Problem, slug: str, slack: Mapping[str, int] | None = None) -> None:
        self.problem = problem
        self.variables = ModelVariables(problem, slack=slack)
        BY_SLUG[slug].add(self.variables)

    def allows(self, kit: Kit) -> bool:
        """Whether the model with this kit's choices fixed is feasible."""
        model = self.variables.model.clone()
        for group in self.problem.groups:
            for option in group.options:
                model.add(self.variables.picked(group, option) == int(kit.choices.get(group.name) == option.key))
        model.add(self.variables.nights()[kit.nights] == 1)
        model.add(self.variables.voltages()[kit.voltage] == 1)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
        return status != cp_model.INFEASIBLE
