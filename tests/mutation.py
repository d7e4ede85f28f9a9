"""Rules, check and physics with one thing broken at a time: the tests must notice.

Run with ``PYTHONPATH=.:tests python tests/mutation.py [--each 8] [--only rules/axles.py:17] [--all] [--quick 3]`` from
the top of the repository. First the tests that matter run once, and for each function it is noted which tests call it.
Then, one at a time in a forked process, a comparison, sign, constant, ``and`` or ``or``, branch or returned value of a
function is changed and the tests that call it run, first those that noticed a change of this function before, then the
quickest, until one fails. Without ``--all`` a fixed sample of each module is tried; ``--only`` takes part of a path,
and a line of it; ``--quick`` asks only tests of at most so many seconds and ``--tests`` only some files, so that more
survive.
What is broken outside functions (tables, defaults), or in functions that run at the import only, is not tried.
Prints a table and the survivors, less those in mutants_alike.toml beside this file: changes that were looked at and
make no difference to any answer, with the reason.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import random
import resource
import signal
import sys
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Generator, Sequence
from pathlib import Path
from types import FrameType, FunctionType
from typing import Any

import pytest
from mutants import Mutant, Where, mutants

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "optimizer"
MEMORY = 8_000_000_000
"""Bytes of address space for the tests of a mutant."""
HANGS = "the tests hang"
IMPORT = "at the import"
FATES = ("tried", "noticed", "alike", "survived")
NOTES = Path(__file__).parent / "mutants_alike.toml"
"""Changes that make no difference, by module and :attr:`Mutant.key`, with the reason."""
RULE_TESTS = (
    "test_rules_told.py", "test_rules.py", "test_circuits_rules.py", "test_axles.py", "test_places_check.py",
    "test_enumeration.py", "test_choosing_properties.py", "test_circuits_check.py", "test_wired_alarms.py",
    "test_array_wiring.py", "test_reaches.py", "test_bays_rules.py", "test_shortfalls.py",
)  # fmt: skip
ROOMS: dict[str, tuple[tuple[str, ...], Callable[[], list[Path]]]] = {
    "rules and check": (
        RULE_TESTS, lambda: [*sorted((PACKAGE / "rules").glob("[a-z]*.py")), PACKAGE / "check.py"],
    ),
    "physics": (("test_physics_*.py", "test_array_wiring.py"), lambda: sorted((PACKAGE / "physics").glob("[a-z]*.py"))),
}  # fmt: skip
"""What is broken, and the tests that should notice."""


# -- which tests call what --------------------------------------------------------------------------


class Calls:
    """A pytest plugin that notes how long each test takes and which functions of some files it calls."""

    def __init__(self, files: set[str]) -> None:
        self.files = files
        self.seconds: dict[str, float] = {}
        self.tests: dict[tuple[str, Where], set[str]] = defaultdict(set)

    @contextlib.contextmanager
    def _noting(self, name: str) -> Generator[None, None, None]:
        def noted(frame: FrameType, event: str, _: object) -> None:
            code = frame.f_code
            if event == "call" and code.co_filename in self.files:
                self.tests[code.co_filename, (code.co_qualname, code.co_firstlineno)].add(name)

        sys.setprofile(noted)
        try:
            yield
        finally:
            sys.setprofile(None)

    @pytest.hookimpl(wrapper=True)
    def pytest_collection(self) -> Generator[None, object, object]:
        """Around the import of everything."""
        with self._noting(IMPORT):
            return (yield)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Generator[None, object, object]:
        """Around every test."""
        begun = time.process_time()
        try:
            with self._noting(item.nodeid):
                return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - begun

    def only_at_import(self, mutant: Mutant) -> bool:
        """Whether a function has done its work before any test: changing it then changes nothing."""
        return self.tests.get((str(mutant.path), mutant.where)) == {IMPORT}


def observed(tests: Sequence[str], files: Sequence[Path]) -> Calls:
    """The tests run once as they are, which also warms what they keep. Raises SystemExit when one fails."""
    calls = Calls({str(path) for path in files})
    names = []
    for pattern in tests:
        found = sorted(str(path) for path in (ROOT / "tests").glob(pattern))
        if not found:
            raise SystemExit(f"no tests are called {pattern}")
        names += found
    if pytest.main(["-q", "-x", "-p", "no:cacheprovider", "--no-header", *names], plugins=[calls]) != 0:
        raise SystemExit("the tests fail as they are")
    return calls


# -- breaking ---------------------------------------------------------------------------------------


class Noticing:
    """A pytest plugin that writes the test that fails into a pipe."""

    def __init__(self, pipe: int) -> None:
        self.pipe = pipe

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """After each part of a test."""
        if report.failed:
            os.write(self.pipe, f"{report.nodeid}\n".encode())


def noticed_by(mutant: Mutant, live: Live, tests: Sequence[str], seconds: float) -> str:
    """The test that fails first, empty when none does. ``seconds`` is what these tests take as they are.

    Raises:
        RuntimeError: The tests could not be run at all, which says nothing of the mutant.
    """
    pipe, inner = os.pipe()
    child = os.fork()
    if not child:
        code = 99
        try:
            live.put_in(mutant)
            # Of processor time, since others may keep the machine busy; the clock is only for what waits for ever.
            signal.setitimer(signal.ITIMER_PROF, 60 + 4 * seconds)
            signal.alarm(int(1200 + 20 * seconds))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            with open(os.devnull, "w") as nothing:
                os.dup2(nothing.fileno(), 1)
                os.dup2(nothing.fileno(), 2)
                with contextlib.redirect_stdout(nothing), contextlib.redirect_stderr(nothing):
                    words = ["-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", *tests]
                    code = int(pytest.main(words, plugins=[Noticing(inner)]))
        finally:
            os._exit(code)
    os.close(inner)
    with os.fdopen(pipe) as said:
        first = said.readline().strip()
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if code < 0:
        return HANGS if -code in (signal.SIGPROF, signal.SIGALRM) else f"the process dies ({code})"
    if code not in (0, 1):
        raise RuntimeError(f"the tests ended with {code}: {mutant}")
    return first if code else ""


def order_of(mutant: Mutant, calls: Calls, before: Sequence[str], quick: float) -> list[str]:
    """The tests that are asked. Of a function that no test was seen to call (it was kept, say) every test is."""
    some = calls.tests.get((str(mutant.path), mutant.where), set()) - {IMPORT} or calls.seconds
    quick_ones = [test for test in some if calls.seconds[test] <= quick]
    return sorted(quick_ones, key=lambda test: (test not in before, calls.seconds[test], test))


class Live:
    """What is in memory once the tests have run: functions by file and place, and what keeps answers."""

    def __init__(self) -> None:
        self.functions: dict[tuple[str, Where], list[FunctionType]] = defaultdict(list)
        self.keepers: list[Any] = []
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                code = thing.__code__
                self.functions[code.co_filename, (code.co_qualname, code.co_firstlineno)].append(thing)
            elif type(thing).__name__ == "_lru_cache_wrapper" and thing.__module__.startswith("optimizer"):
                self.keepers.append(thing)
        gc.freeze()

    def put_in(self, mutant: Mutant) -> None:
        """Give the live function its changed code, and empty what is kept."""
        found = self.functions[str(mutant.path), mutant.where]
        assert found, mutant
        for function in found:
            function.__code__ = mutant.code
        for keeper in self.keepers:
            keeper.cache_clear()


def main(words: Sequence[str]) -> int:
    """Break, look, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=8, help="mutants of each module")
    parser.add_argument("--all", action="store_true", help="every mutant of each module")
    parser.add_argument("--only", default="", help="modules whose path holds these words; :17 after it for a line")
    parser.add_argument("--quick", type=float, default=1e9, help="only tests of at most so many seconds")
    parser.add_argument("--tests", nargs="+", help="only these files of tests, instead of all that matter")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(words)
    sums: dict[str, Counter[str]] = {}
    notes = tomllib.loads(NOTES.read_text(encoding="utf-8"))
    for room, (tests, modules) in ROOMS.items():
        part, _, line = asked.only.partition(":")
        paths = [path for path in modules() if part in str(path)]
        if not paths:
            continue
        calls = observed(asked.tests or tests, paths)
        live = Live()
        print(f"{'module':<28}" + "".join(f"{word:>10}" for word in ("mutants", *FATES)), flush=True)
        total = sums.setdefault(room, Counter())
        for path in paths:
            tryable = [mutant for mutant in mutants(path) if not calls.only_at_import(mutant)]
            every = [mutant for mutant in tryable if not line or mutant.line == int(line)]
            dice = random.Random(f"{asked.seed} {path.name}")
            some = every if asked.all else dice.sample(every, min(asked.each, len(every)))
            name = path.relative_to(PACKAGE).as_posix()
            some.sort(key=lambda mutant: (mutant.line, mutant.key))
            fates, lines = _tried(some, calls, live, notes.get(name, {}), asked.quick)
            total += fates
            print(f"{name:<28}{len(every):>10}" + "".join(f"{fates[word]:>10}" for word in FATES), flush=True)
            print("".join(f"    {name}:{line}\n" for line in lines), end="", flush=True)
            known = {mutant.key for mutant in mutants(path)}
            gone = [key for key in notes.get(name, {}) if key not in known]
            print("".join(f"    NOTED, BUT NO SUCH CHANGE: {key}\n" for key in gone), end="")
    for room, fates in sums.items():
        of = fates["tried"] - fates["alike"]
        print(f"{room}: {fates['noticed']} of {of} that make a difference noticed, "
              f"{100 * fates['noticed'] / max(of, 1):.1f} %; {fates['alike']} make none")  # fmt: skip
    return 0


def _tried(
    some: Sequence[Mutant], calls: Calls, live: Live, notes: dict[str, str], quick: float
) -> tuple[Counter[str], list[str]]:
    """What became of mutants of one module, and a line for each that survived or is noted wrongly."""
    fates: Counter[str] = Counter()
    lines = []
    before: dict[Where, list[str]] = defaultdict(list)
    for mutant in some:
        begun = time.monotonic()
        tests = order_of(mutant, calls, before[mutant.where], quick)
        by = noticed_by(mutant, live, tests, sum(calls.seconds[test] for test in tests))
        if by in calls.seconds:
            before[mutant.where].append(by)
        fate = "noticed" if by else "alike" if mutant.key in notes else "survived"
        fates.update(["tried", fate])
        took = time.monotonic() - begun
        print(f"{mutant.line} {mutant.key}: {by or fate}, {took:.0f} s", file=sys.stderr, flush=True)
        if fate == "survived":
            lines.append(f"{mutant.line} SURVIVED {mutant.key}")
        elif by and mutant.key in notes:
            lines.append(f"{mutant.line} NOTED AS MAKING NO DIFFERENCE, BUT NOTICED {mutant.key}, by {by}")
    return fates, lines


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
