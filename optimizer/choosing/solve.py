"""One solve: an objective made small over a model, with its proof status said plainly.

Settings that matter (measured, OR-Tools 9.15): one worker is deterministic; presolve's inclusion
search is left out, since an open report shows it certifying a wrong optimum on models of
exactly-one groups and sums, and it buys nothing here. So is everything about symmetries: with them presolve calls a
model of a few sums impossible that has solutions (``tests/test_solver_trust.py``), whatever else is set.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Literal

from ortools.sat.python import cp_model

from optimizer.choosing.variables import ModelVariables
from optimizer.problem.records import Kit

Status = Literal["proven", "impossible", "unproven"]
LARGE = 4000
"""Unknowns from which on cuts pay: with three times the rows a last proof takes a third of the time with them. Below
they cost up to as much as they save, and where mass is tight, as on a frontier, several times as much."""


@dataclass(frozen=True)
class Settings:
    """How to solve. Few, and each is shown in the result."""

    seconds: float | None = None
    """Stop after so long [s]; None = never."""
    seed: int = 1
    second_opinion: bool = False
    """Another set of search parameters, to check the first by."""
    presolve: Literal["none", "usual", "more"] = "none"
    """For a second opinion: as in the first, or more of it, with cuts. Whole briefs take too long without."""
    probing: bool = False
    """Try out longer what each choice rules out, before the search. It costs a tenth of a second a solve; a frontier,
    where mass is tight in every question, is quicker for it."""
    sums_only: bool = False
    """For problems of choices and sums without conversions: a lighter relaxation is quicker there."""


@dataclass(frozen=True)
class Answer:
    """What one solve found."""

    status: Status
    kit: Kit | None
    value: int | None
    bound: int | None
    work: float = 0.0
    """What the solver counted as work, the same on any machine; 0 where that was not looked at."""


class Deadline:
    """The time that is left, counted from when it is made."""

    def __init__(self, seconds: float | None) -> None:
        self._end = None if seconds is None else time.monotonic() + seconds

    def left(self) -> float | None:
        """Seconds left, None = no end."""
        return None if self._end is None else max(0.0, self._end - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether it has passed."""
        left = self.left()
        return left is not None and left <= 0


def minimise(
    variables: ModelVariables,
    objective: Any,
    settings: Settings,
    deadline: Deadline,
    clauses: Sequence[Sequence[Any]] = (),
    hint: Kit | None = None,
    on_kit: Callable[[Kit], None] | None = None,
    bounds: Sequence[Any] = (),
    work: float | None = None,
) -> Answer:
    """Make ``objective`` small under the model, the extra clauses and the extra ``bounds``.

    The model itself is left as it was, so it can be used again: each solve works on a copy. ``on_kit``
    is called with every better kit met on the way. With ``work`` it ends, 'unproven', after so much of what the
    solver counts as work: the same on any machine, unlike time.
    """
    model = variables.model.clone()
    for clause in clauses:
        model.add_bool_or(clause)
    for bound in bounds:
        model.add(bound)
    if objective is not None:
        model.minimize(objective)
    if hint is not None:
        _hint(model, variables, hint)
    solver = _solver(settings, deadline)
    if len(model.proto.variables) >= LARGE and not (settings.probing or settings.sums_only):
        solver.parameters.cut_level = 1
    if work is not None:
        solver.parameters.max_deterministic_time = min(work, solver.parameters.max_deterministic_time)
    watcher = _Watcher(variables, on_kit) if on_kit is not None else None
    status = _solved(solver, model, watcher)
    if status == cp_model.MODEL_INVALID:
        raise AssertionError(f"the model is not valid: {model.validate()}")
    spent = float(solver.response_proto.deterministic_time)
    if status == cp_model.INFEASIBLE:
        return Answer("impossible", None, None, None, spent)
    least = None if objective is None else round(solver.best_objective_bound)
    if status == cp_model.UNKNOWN:
        # Stopped before it had any bound the solver says 0, which is none.
        return Answer("unproven", None, None, least or None, spent)
    kit = variables.kit(solver.boolean_value)
    value = 0 if objective is None else round(solver.objective_value)
    proven = status == cp_model.OPTIMAL or objective is None
    return Answer("proven" if proven else "unproven", kit, value, value if proven else least, spent)


def impossible_options(
    variables: ModelVariables, settings: Settings, deadline: Deadline, bounds: Sequence[Any] = ()
) -> set[tuple[str, str]]:
    """Options (group, key) that no kit within the extra ``bounds`` can have, as far as it is seen without any search.

    Only what follows from the rules counts: the solver is told to keep every kit that is possible.
    """
    model = variables.model.clone()
    for bound in bounds:
        model.add(bound)
    solver = _solver(settings, deadline)
    parameters = solver.parameters
    parameters.stop_after_presolve = True
    parameters.cp_model_probing_level = 2 if settings.probing else 0  # it says little more here
    parameters.fill_tightened_domains_in_response = True
    parameters.keep_all_feasible_solutions_in_presolve = True
    if _solved(solver, model, None) != cp_model.UNKNOWN:
        return set()  # settled at once, one way or the other: nothing is left to be told
    tightened = solver.response_proto.tightened_variables
    if not len(tightened):
        return set()
    return {
        (group.name, option.key)
        for group in variables.problem.groups for option in group.options
        if list(tightened[variables.picked(group, option).index].domain) == [0, 0]
    }  # fmt: skip


def _solved(solver: cp_model.CpSolver, model: cp_model.CpModel, watcher: _Watcher | None) -> Any:
    """The status of a solve. It runs in a thread of its own, so that Ctrl-C is heard at once and stops it."""
    with ThreadPoolExecutor(max_workers=1) as pool:
        running = pool.submit(solver.solve, model, watcher)
        try:
            return running.result()
        except KeyboardInterrupt:
            solver.stop_search()
            raise


def _solver(settings: Settings, deadline: Deadline) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.catch_sigint_signal = False  # its own way of catching Ctrl-C leaves later ones to kill the process
    parameters.random_seed = settings.seed
    parameters.presolve_inclusion_work_limit = 0
    parameters.symmetry_level = 0
    # Conversions (x chosen => energy scaled) are weak unless linearised: 16 times faster on the examples, 40
    # times with walls. The relaxation is then tight, so long presolve only costs time, and cuts mostly too. A little
    # probing costs next to nothing; where mass is tight to the gram solves of eight seconds take less than one with it.
    parameters.linearization_level = 1 if settings.sums_only else 2
    parameters.cut_level = 0
    parameters.cp_model_probing_level = 2 if settings.probing else 1
    parameters.max_presolve_iterations = 1
    left = deadline.left()
    if left is not None:
        parameters.max_time_in_seconds = max(left, 0.01)
    if settings.second_opinion:
        parameters.random_seed = settings.seed + 7919
        parameters.linearization_level = 1
        parameters.search_branching = cp_model.PSEUDO_COST_SEARCH
        parameters.cp_model_presolve = settings.presolve != "none"
    if settings.second_opinion and settings.presolve != "none":
        parameters.linearization_level = 2
    if settings.second_opinion and settings.presolve == "more":
        parameters.cp_model_probing_level = 2
        parameters.max_presolve_iterations = 3
        parameters.cut_level = 1
    return solver


def _hint(model: cp_model.CpModel, variables: ModelVariables, kit: Kit) -> None:
    for group in variables.problem.groups:
        chosen = kit.choices.get(group.name)
        for option in group.options:
            model.add_hint(variables.picked(group, option), option.key == chosen)


class _Watcher(cp_model.CpSolverSolutionCallback):
    """Hands every better kit met on the way to someone."""

    def __init__(self, variables: ModelVariables, on_kit: Callable[[Kit], None]) -> None:
        super().__init__()
        self._variables = variables
        self._on_kit = on_kit

    def on_solution_callback(self) -> None:
        """Called by the solver."""
        self._on_kit(self._variables.kit(self.boolean_value))
