"""Rules, check and physics with one thing broken at a time: the tests must notice.

Run with ``PYTHONPATH=.:tests python tests/mutation.py [--each 8] [--only rules/axles.py] [--all]`` from the top of the
repository. First the tests that matter run once, and for each function it is noted which tests call it. Then, one at a
time in a forked process, a comparison, sign, constant, ``and`` or ``or``, branch or returned value of a function is
changed and the tests that call it run, the quickest first, until one fails. Without ``--all`` a fixed sample of each
module is tried. What is broken outside functions (tables, defaults) is not tried. Prints a table and the survivors.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import gc
import os
import random
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "optimizer"
SECONDS = 120
"""A mutant whose tests take longer hangs: it is noticed."""
RULE_TESTS = (
    "test_rules.py", "test_circuits_rules.py", "test_axles.py", "test_places_check.py", "test_enumeration.py",
    "test_choosing_properties.py", "test_circuits_check.py", "test_weighing_things.py",
)  # fmt: skip
ROOMS: dict[str, tuple[tuple[str, ...], Callable[[], list[Path]]]] = {
    "rules and check": (
        RULE_TESTS, lambda: [*sorted((PACKAGE / "rules").glob("[a-z]*.py")), PACKAGE / "check.py"],
    ),
    "physics": (("test_physics_*.py",), lambda: sorted((PACKAGE / "physics").glob("[a-z]*.py"))),
}  # fmt: skip
"""What is broken, and the tests that should notice."""

Where = tuple[str, int]
"""A function: its qualified name and its first line."""


@dataclass(frozen=True)
class Mutant:
    """One thing changed in one function."""

    path: Path
    where: Where
    line: int
    change: str
    code: CodeType
    """Of the function, changed."""


# -- what can be broken -----------------------------------------------------------------------------

_COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
_TWINS = {
    "max": "min", "min": "max", "any": "all", "all": "any", "demand_up": "supply_down", "supply_down": "demand_up",
    "ceil": "floor", "floor": "ceil", "maximum": "minimum", "minimum": "maximum", "sin": "cos", "cos": "sin",
}  # fmt: skip


def _ways(node: ast.AST) -> Iterator[tuple[str, Callable[[Any], None]]]:
    """What can be done to a node: in words, and the doing."""
    if isinstance(node, ast.Compare):
        for place, op in enumerate(node.ops):
            other = _COMPARISONS[type(op)]
            yield f"{type(op).__name__} to {other.__name__}", lambda n, p=place, o=other: n.ops.__setitem__(p, o())
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        swap = _OPERATORS[type(node.op)]
        yield f"{type(node.op).__name__} to {swap.__name__}", lambda n, o=swap: setattr(n, "op", o())
    elif isinstance(node, ast.AugAssign) and type(node.op) in _OPERATORS:
        swap = _OPERATORS[type(node.op)]
        yield f"{type(node.op).__name__}= to {swap.__name__}=", lambda n, o=swap: setattr(n, "op", o())
    elif isinstance(node, ast.BoolOp):
        turned = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield f"{type(node.op).__name__} to {turned.__name__}", lambda n, o=turned: setattr(n, "op", o())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        kind = type(node.op).__name__
        yield f"{kind} taken out", lambda n: n.__dict__.update(op=ast.UAdd() if kind == "USub" else ast.Not()) or (
            setattr(n, "operand", ast.UnaryOp(ast.Not(), n.operand)) if kind == "Not" else None)  # fmt: skip
    elif isinstance(node, ast.Constant) and isinstance(node.value, (bool, int, float)):
        new = (not node.value) if isinstance(node.value, bool) else node.value + 1
        yield f"{node.value} to {new}", lambda n, v=new: setattr(n, "value", v)
    elif isinstance(node, (ast.If, ast.IfExp)):
        yield "branch turned round", lambda n: setattr(n, "test", ast.UnaryOp(ast.Not(), n.test))
    elif isinstance(node, ast.Return) and node.value is not None and not isinstance(node.value, ast.Constant):
        yield "nothing returned", lambda n: setattr(n, "value", ast.Constant(None))
    elif isinstance(node, ast.Call):
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        if name in _TWINS:
            field = "id" if isinstance(node.func, ast.Name) else "attr"
            yield f"{name} to {_TWINS[name]}", lambda n, f=field, t=_TWINS[name]: setattr(n.func, f, t)


def mutants(path: Path) -> list[Mutant]:
    """Every change to the functions of a module that still compiles, in the order of its lines."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    left_out = {below for node in ast.walk(tree) for part in _said_only(node) for below in ast.walk(part)}
    made = []
    for place, node in enumerate(ast.walk(tree)):
        if node in left_out:
            continue
        for change, do in _ways(node):
            other = copy.deepcopy(tree)
            do(next(n for at, n in enumerate(ast.walk(other)) if at == place))
            ast.fix_missing_locations(other)
            before, after = (dict(_functions(compile(t, str(path), "exec"))) for t in (tree, other))
            changed = [where for where, code in after.items() if before.get(where) != code]
            if changed:  # else outside of functions
                outermost = min(changed, key=lambda where: where[0].count("."))
                made.append(Mutant(path, outermost, getattr(node, "lineno", 0), change, after[outermost]))
    return sorted(made, key=lambda m: (m.line, m.change))


def _said_only(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that run at no time or only say something: annotations, what an assertion or error says."""
    if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.returns is not None:
        yield node.returns
    if isinstance(node, (ast.arg, ast.AnnAssign)) and node.annotation is not None:
        yield node.annotation
    if isinstance(node, (ast.Assert, ast.Raise, ast.JoinedStr)):
        yield node


def _functions(code: CodeType) -> Iterator[tuple[Where, CodeType]]:
    """The functions of a module's code that are not within another; those of its classes too."""
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            inside_class = not constant.co_flags & 0x2  # CO_NEWLOCALS: a class body has none
            if inside_class:
                yield from _functions(constant)
            elif not constant.co_name.endswith("comp>") and constant.co_name != "<genexpr>":  # these ran at the import
                yield (constant.co_qualname, constant.co_firstlineno), constant


# -- which tests call what --------------------------------------------------------------------------


class Calls:
    """A pytest plugin that notes how long each test takes and which functions of some files it calls."""

    def __init__(self, files: set[str]) -> None:
        self.files = files
        self.seconds: dict[str, float] = {}
        self.tests: dict[tuple[str, Where], set[str]] = defaultdict(set)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Generator[None, object, object]:
        """Around every test."""

        def noted(frame: FrameType, event: str, _: object) -> None:
            code = frame.f_code
            if event == "call" and code.co_filename in self.files:
                self.tests[code.co_filename, (code.co_qualname, code.co_firstlineno)].add(item.nodeid)

        begun = time.process_time()
        sys.setprofile(noted)
        try:
            return (yield)
        finally:
            sys.setprofile(None)
            self.seconds[item.nodeid] = time.process_time() - begun


def observed(tests: Sequence[str], files: Sequence[Path]) -> Calls:
    """The tests run once as they are, which also warms what they keep. Raises SystemExit when one fails."""
    calls = Calls({str(path) for path in files})
    names = sorted({str(path) for pattern in tests for path in (ROOT / "tests").glob(pattern)})
    if pytest.main(["-q", "-x", "-p", "no:cacheprovider", "--no-header", *names], plugins=[calls]) != 0:
        raise SystemExit("the tests fail as they are")
    return calls


# -- breaking ---------------------------------------------------------------------------------------


def survives(mutant: Mutant, calls: Calls) -> bool:
    """Whether no test notices. Of a function that no test was seen to call (it was kept, say) every test is asked."""
    some = calls.tests.get((str(mutant.path), mutant.where)) or calls.seconds
    tests = sorted(some, key=lambda test: calls.seconds[test])
    child = os.fork()
    if not child:
        code = 1
        try:
            _put_in(mutant)
            signal.alarm(SECONDS)
            with open(os.devnull, "w") as nothing:
                os.dup2(nothing.fileno(), 1)
                os.dup2(nothing.fileno(), 2)
                with contextlib.redirect_stdout(nothing), contextlib.redirect_stderr(nothing):
                    code = int(pytest.main(["-q", "-x", "-p", "no:cacheprovider", *tests]) != 0)
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def _put_in(mutant: Mutant) -> None:
    """Give the live function its changed code, and empty what it has kept."""
    found = 0
    for thing in gc.get_objects():
        if isinstance(thing, FunctionType):
            code = thing.__code__
            if code.co_filename == str(mutant.path) and (code.co_qualname, code.co_firstlineno) == mutant.where:
                thing.__code__ = mutant.code
                found += 1
    assert found, mutant
    for thing in gc.get_objects():
        if type(thing).__name__ == "_lru_cache_wrapper" and getattr(thing, "__module__", "").startswith("optimizer"):
            thing.cache_clear()


def main(words: Sequence[str]) -> int:
    """Break, look, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=8, help="mutants of each module")
    parser.add_argument("--all", action="store_true", help="every mutant of each module")
    parser.add_argument("--only", default="", help="modules whose path holds these words")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(words)
    sums: dict[str, list[int]] = {}
    for room, (tests, modules) in ROOMS.items():
        paths = [path for path in modules() if asked.only in str(path)]
        if not paths:
            continue
        calls = observed(tests, paths)
        print(f"{'module':<28}{'mutants':>8}{'tried':>7}{'noticed':>9}{'survived':>10}", flush=True)
        total = sums.setdefault(room, [0, 0])
        for path in paths:
            every = mutants(path)
            dice = random.Random(f"{asked.seed} {path.name}")
            some = every if asked.all else dice.sample(every, min(asked.each, len(every)))
            fates = [(mutant, survives(mutant, calls)) for mutant in sorted(some, key=lambda m: m.line)]
            alive = [mutant for mutant, survived in fates if survived]
            total[0] += len(fates)
            total[1] += len(fates) - len(alive)
            name = str(path.relative_to(PACKAGE))
            print(f"{name:<28}{len(every):>8}{len(fates):>7}{len(fates) - len(alive):>9}{len(alive):>10}",
                  flush=True)  # fmt: skip
            for mutant in alive:
                print(f"    SURVIVED {name}:{mutant.line} {mutant.where[0]}: {mutant.change}", flush=True)
    for room, (tried, noticed) in sums.items():
        print(f"{room}: {noticed} of {tried} noticed, {100 * noticed / max(tried, 1):.1f} %")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
