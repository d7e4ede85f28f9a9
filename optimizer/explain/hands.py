"""More than one pair of hands: questions that do not hang on each other, asked in several processes at once.

On the road: beside the bench, under *explain*. Each process has a bench of its own for the same problem. What the
trips taught one is handed to the others with the next question. That changes speed, never an answer: every answer
is proven, and ends in one kit.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing import get_context
from typing import Any, TypeVar

from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.explain.bench import Bench, Trips
from optimizer.explain.knowledge import Change, Found, Knowledge
from optimizer.machine import hands
from optimizer.problem.records import Problem

Item = TypeVar("Item")
Result = TypeVar("Result")
Own = TypeVar("Own")
LISTEN_S = 0.2


class Hands:
    """This process and some others. Use as a context; the others begin with the first questions they get.

    Parameters
    ----------
    bench : Bench
        This process's own; the others ask the same problem with the same settings.
    many : processes in all, this one among them; None = one a core, four at most
    """

    def __init__(self, bench: Bench, many: int | None = None) -> None:
        self.bench = bench
        self.many = hands(many)
        self._pools: list[ProcessPoolExecutor] = []

    def __enter__(self) -> Hands:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        self._end()

    def _end(self) -> None:
        """End the other processes, whatever they are at.

        The thread that minds each is waited for: one still closing its pipes as the interpreter ends is told as a
        traceback.
        """
        for pool in self._pools:
            for process in list((getattr(pool, "_processes", None) or {}).values()):
                process.terminate()
            pool.shutdown(wait=True, cancel_futures=True)
        self._pools = []

    def each(self, ask: Callable[[Bench, Item], Result], items: Sequence[Item]) -> list[Result]:
        """What ``ask`` says of each item, in their order. Whoever is free takes the next; what is long goes first.

        ``ask`` must be at home in a module, and items and results must be such as can be handed over.
        """
        return self._asked(lambda: None, ask, items, None, own_share=1)[1]

    def beside(
        self,
        own: Callable[[], Own],
        ask: Callable[[Bench, Item], Result],
        items: Sequence[Item],
        more: Callable[[Own], Sequence[Item]] | None = None,
    ) -> tuple[Own, list[Result]]:
        """What comes of ``own``, which this process does first; others begin with the items meanwhile.

        What there is ``more`` to ask once that is known comes after the items. Else as ``each``.
        """
        return self._asked(own, ask, items, more, own_share=0)

    def _asked(
        self,
        own: Callable[[], Own],
        ask: Callable[[Bench, Item], Result],
        items: Sequence[Item],
        more: Callable[[Own], Sequence[Item]] | None,
        own_share: int,
    ) -> tuple[Own, list[Result]]:
        """As ``beside``; so many items at least are this process's own."""
        others = min(self.many - 1, len(items) - own_share)
        if others < 1 or self.bench.stop.asked:
            done = own()
            return done, [ask(self.bench, item) for item in [*items, *(more(done) if more else ())]]
        work = _Work(deque(enumerate(items)))
        helpers = [
            threading.Thread(target=self._feed, args=(pool, ask, work), daemon=True) for pool in self._begun(others)
        ]
        for helper in helpers:
            helper.start()
        try:
            done = own()
            work.add(enumerate(more(done) if more else (), len(items)))
        finally:
            work.close()
        while (turn := work.next()) is not None:
            place, item = turn
            work.done[place] = ask(self.bench, item)
        while any(helper.is_alive() for helper in helpers):
            helpers[0].join(LISTEN_S)
            if self.bench.stop.asked:  # what the others are at is left, as what this process was at
                self._end()
                for helper in helpers:
                    helper.join()
            helpers = [helper for helper in helpers if helper.is_alive()]
        for place, item in work.left:  # a process died at it
            work.done[place] = ask(self.bench, item)
        for error in work.errors:
            raise error
        for learnt in work.learnt:
            self.bench.take_in(learnt)
        return done, [work.done[place] for place in range(len(work.done))]

    def possible(self, changes: Sequence[Change]) -> list[Found]:
        """What ``Bench.possible`` says of each change; what this process knows already is not asked again."""
        known = [self.bench.known(change) for change in changes]
        unknown = [change for change, found in zip(changes, known, strict=True) if found is None]
        asked = iter(self.each(_possible, unknown))
        for place, change in enumerate(changes):
            if known[place] is None:
                known[place] = found = next(asked)
                self.bench.note(change, found)
        return [found for found in known if found is not None]

    def begin(self) -> None:
        """Start the other processes now: they take some seconds, in which this one has something to do.

        Each is handed the problem when it can read it; a thread waits for that.
        """
        if not self.bench.stop.asked:
            for pool in self._begun(self.many - 1):
                threading.Thread(target=_submit, args=(pool,), daemon=True).start()

    def _begun(self, many: int) -> list[ProcessPoolExecutor]:
        """So many other processes, each in a pool of its own, so that each is handed what it has not got yet."""
        bench = self.bench
        while len(self._pools) < many:
            self._pools.append(
                ProcessPoolExecutor(
                    1, mp_context=get_context("spawn"), initializer=_begin,
                    initargs=(bench.problem, bench.trips, bench.settings),
                )
            )  # fmt: skip
        return self._pools[:many]

    def _feed(self, pool: ProcessPoolExecutor, ask: Callable[[Bench, Any], Any], work: _Work) -> None:
        """Hand one item after another to another process; it works while this thread waits."""
        while (turn := work.next()) is not None:
            place, item = turn
            try:
                known = self.bench.knows().and_also(work.learnt)
                result, learnt = pool.submit(_answer, ask, item, known, self.bench.left()).result()
            except BaseException as error:
                if isinstance(error, BrokenProcessPool) or self.bench.stop.asked:
                    work.left.append(turn)
                else:
                    work.fail(error)  # told by whoever waits for the answers
                return
            work.done[place] = result
            work.learnt.append(learnt)


@dataclass
class _Work:
    """What is asked, by place, and what came of it."""

    waiting: deque[tuple[int, Any]]
    done: dict[int, Any] = field(default_factory=dict)
    left: list[tuple[int, Any]] = field(default_factory=list)
    learnt: list[Knowledge] = field(default_factory=list)
    errors: list[BaseException] = field(default_factory=list)

    closed: bool = False
    """Whether nothing comes in any more."""
    changed: threading.Condition = field(default_factory=threading.Condition)

    def add(self, turns: Iterable[tuple[int, Any]]) -> None:
        """Items that come in late, by place."""
        with self.changed:
            self.waiting.extend(turns)
            self.changed.notify_all()

    def close(self) -> None:
        """Nothing comes in any more."""
        with self.changed:
            self.closed = True
            self.changed.notify_all()

    def fail(self, error: BaseException) -> None:
        """Something went wrong: no more items are taken."""
        with self.changed:
            self.errors.append(error)
            self.changed.notify_all()

    def next(self) -> tuple[int, Any] | None:
        """The next item with its place, waited for; None when all are taken or something went wrong."""
        with self.changed:
            while not (self.waiting or self.closed or self.errors):
                self.changed.wait()
            return None if self.errors or not self.waiting else self.waiting.popleft()


# -- in the other processes ---------------------------------------------------------------------

_mine: Bench | None = None


def _begin(problem: Problem, trips: Trips | None, settings: Settings) -> None:
    """First thing in a new process. Ctrl-C is for the parent to act on."""
    import signal

    global _mine
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _mine = Bench(problem, trips, settings, LevelStore())


def _ready() -> None:
    """Asked first of a process that is to be ready when it is needed."""


def _submit(pool: ProcessPoolExecutor) -> None:
    with suppress(RuntimeError):  # it was ended before it began
        pool.submit(_ready)


def _possible(bench: Bench, change: Change) -> Found:
    return bench.possible(change)


def _answer(
    ask: Callable[[Bench, Any], Any], item: Any, known: Knowledge, left: float | None
) -> tuple[Any, Knowledge]:
    """An answer within the seconds that are left for all, with what is known by then; and what was learnt for it."""
    assert _mine is not None
    _mine.has_left(left)
    _mine.take_in(known)
    before = _mine.knows()
    result = ask(_mine, item)
    return result, _mine.knows().beyond(before)
