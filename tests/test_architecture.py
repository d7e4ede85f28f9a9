"""Imports run one way, heavy libraries come late, and only the ends print."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "optimizer"
MODULES = sorted(PACKAGE.rglob("*.py"))
HEAVY = ("ortools", "pandas", "pvlib", "numba", "pint", "matplotlib", "openpyxl", "pyarrow", "numpy")
SOLVER_ROOMS = ("optimizer.choosing", "optimizer.packing")


def name_of(path: Path) -> str:
    """The dotted name of a module."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def typing_only(tree: ast.Module) -> set[ast.AST]:
    """Everything below ``if TYPE_CHECKING``."""
    return {
        below
        for node in ast.walk(tree) if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for below in ast.walk(node)
    }


def imports_of(path: Path) -> Iterator[str]:
    """Every module that a module imports at run time, at the top or later."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    left_out = typing_only(tree)
    for node in ast.walk(tree):
        if node in left_out:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide the direction"
            assert node.module is not None
            yield node.module


def under(module: str, *rooms: str) -> bool:
    """Whether a module is one of these rooms or lies in one."""
    return any(module == room or module.startswith(f"{room}.") for room in rooms)


FORBIDDEN = {
    "optimizer.errors": ("optimizer",),
    "optimizer.units": ("optimizer.brief", "optimizer.parts", "optimizer.problem", "optimizer.physics"),
    "optimizer.physics": ("optimizer", "ortools", "pandas", "pint", "numba"),
    "optimizer.brief": ("optimizer.problem", "optimizer.choosing", "optimizer.trips", "optimizer.weather"),
    "optimizer.parts": ("optimizer.problem", "optimizer.choosing", "optimizer.trips", "optimizer.weather"),
    "optimizer.weather": ("optimizer.problem", "optimizer.rules", "optimizer.choosing", "optimizer.trips"),
    "optimizer.trips": ("optimizer.rules", "optimizer.choosing", "optimizer.problem", "optimizer.parts"),
    "optimizer.rules": (
        "optimizer.choosing", "optimizer.packing.model", "optimizer.packing.stowing", "optimizer.trips", "ortools",
    ),
    "optimizer.check": ("optimizer.choosing", "ortools"),
    "optimizer.circuits": ("optimizer.choosing", "ortools"),
    "optimizer.kit_numbers": ("optimizer.choosing", "ortools"),
    "optimizer.problem": ("optimizer.choosing", "ortools"),
    "optimizer.packing": ("optimizer.choosing", "optimizer.problem", "optimizer.rules"),
}


@pytest.mark.parametrize("room", FORBIDDEN)
def test_imports_run_one_way(room: str) -> None:
    """No room imports what comes after it on the road: trips know no rules, rules no solver."""
    found = [
        f"{name_of(path)} imports {module}"
        for path in MODULES if under(name_of(path), room)
        for module in imports_of(path)
        if under(module, *FORBIDDEN[room]) and not under(module, room)
    ]
    assert not found


def test_only_choosing_and_packing_call_the_solver() -> None:
    """The solver is imported by the rooms named for it, and by them indeed."""
    callers = {name_of(path) for path in MODULES if any(under(m, "ortools") for m in imports_of(path))}
    assert callers
    assert not [caller for caller in callers if not under(caller, *SOLVER_ROOMS)]


def test_nothing_in_the_library_prints() -> None:
    """Only the commands talk to the terminal."""
    found = [
        f"{name_of(path)}, line {node.lineno}"
        for path in MODULES if name_of(path) not in ("optimizer.cli", "optimizer.cli_many")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("print", "typer.echo", "sys.stdout.write")
    ]
    assert not found


def test_every_module_says_its_place() -> None:
    """Each module opens with a sentence about what it is for."""
    without = [name_of(path) for path in MODULES if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert not without


def loaded_by(code: str) -> set[str]:
    """Which heavy libraries are there after running ``code`` in a new interpreter."""
    asked = f"{code}\nimport sys\nprint(' '.join(n for n in {HEAVY!r} if n in sys.modules))"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.split("\n")[-2].split())


def test_help_imports_nothing_heavy() -> None:
    """``kitwright --help`` answers before solver, tables, sun or compiler are loaded."""
    assert loaded_by(
        "import sys\nsys.argv = ['kitwright', '--help']\nfrom optimizer.cli import app\n"
        "try:\n    app()\nexcept SystemExit as end:\n    assert not end.code"
    ) == set()


@pytest.mark.parametrize("module", ["optimizer.errors", "optimizer.units", "optimizer.brief", "optimizer.parts"])
def test_cheap_rooms_stay_cheap(module: str) -> None:
    """Brief, parts, errors and units load none of the heavy libraries."""
    assert loaded_by(f"import {module}") == set()


@pytest.mark.parametrize("module", ["optimizer.check", "optimizer.rules", "optimizer.trips.replay"])
def test_the_check_and_the_trips_load_no_solver(module: str) -> None:
    """Not even by a detour: the second opinion stands on its own."""
    assert "ortools" not in loaded_by(f"import {module}")


def test_the_measure_of_heaviness_can_fail() -> None:
    """A module that does load a heavy library is seen to."""
    assert "numpy" in loaded_by("import optimizer.trips.numbers, numpy")


KEPT_FOR_EVER = {
    "optimizer.brief.partial", "optimizer.brief.topic", "optimizer.packing.corners", "optimizer.parts.cells",
    "optimizer.physics.wire", "optimizer.problem.dominance", "optimizer.trips.asking", "optimizer.trips.run",
}
"""Where what is kept hangs on the code alone: records, columns, sizes of wire, compiled modules."""


def test_what_is_kept_of_a_persons_files_has_an_end() -> None:
    """Whoever reads many catalogs in one run does not fill the memory: no other function keeps all its answers."""
    found = {
        name_of(path)
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.FunctionDef)
        for mark in node.decorator_list if ast.unparse(mark) in ("cache", "functools.cache", "lru_cache(maxsize=None)")
    }
    assert found == KEPT_FOR_EVER
