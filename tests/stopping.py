"""Stops in the middle of a solve at the same step on every machine, which a clock can't."""

from __future__ import annotations

from typing import Any

import pytest
from ortools.sat.python import cp_model

from optimizer.choosing import solve


def stop_each_solve_after(patch: pytest.MonkeyPatch, effort: float) -> None:
    """Every solve from here on ends after so much ``effort`` (the solver's count of its own work, no time)."""
    made = solve._solver

    def hurried(*asked: Any) -> cp_model.CpSolver:
        solver = made(*asked)
        solver.parameters.max_deterministic_time = effort
        return solver

    patch.setattr(solve, "_solver", hurried)
