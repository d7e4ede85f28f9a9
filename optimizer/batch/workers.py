"""Who solves the variants: this process, several on this machine, or a Dask cluster. The rows are the same.

On the road: inside ``batch``. Each gives back (key, row) as variants finish, in any order. A worker that dies
loses only what it was at; that is given to another.
"""

from __future__ import annotations

import importlib
import itertools
import re
import threading
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

from optimizer.batch.ground import Ground
from optimizer.brief.brief import Brief
from optimizer.errors import KitwrightError, MissingExtra, UsageError

if TYPE_CHECKING:
    from optimizer.batch.dealing import Dealt
    from optimizer.batch.solving import VariantSolver
    from optimizer.choosing.solve import Settings

Row = dict[str, Any]
Briefs = Mapping[str, Brief]
Finished = Iterator[tuple[str, Row]]
DEATHS = 3
"""A variant at which more workers died than this is given up."""
CLUSTER_AHEAD = 2000
"""Variants handed to a cluster at once: a scheduler keeps each of them in memory."""
_ADDRESS = re.compile(r"(?:[a-z]+://)?[^/\s]+:[0-9]{1,5}")
WAIT_FOR_WORKERS_S = 60
AHEAD = 3
"""Variants handed out ahead for each worker of this machine."""


class WorkersLost(KitwrightError):  # noqa: N818 - what happened
    """Workers died again and again at the same variants."""


def one_by_one(briefs: Briefs, ground: Ground, settings: Settings | None, conflicts: bool) -> Finished:
    """In this process, in order. A variant broken off by Ctrl-C has no row: what it would say is half an answer."""
    from optimizer.batch.solving import VariantSolver

    solver = VariantSolver(ground, settings, conflicts)
    heard = threading.current_thread() is threading.main_thread()  # no other thread is told of Ctrl-C
    for key, brief in briefs.items():
        with solver.stop.at_ctrl_c() if heard else nullcontext():
            row = solver.row(brief)
        if solver.stop.asked:
            raise KeyboardInterrupt
        yield key, row


# -- processes ----------------------------------------------------------------------------------

_mine: VariantSolver | None = None


def _begin(ground: Ground, settings: Settings | None, conflicts: bool) -> None:
    """First thing in a new process. Ctrl-C is for the parent to act on."""
    import signal

    from optimizer.batch.solving import VariantSolver

    global _mine
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _mine = VariantSolver(ground, settings, conflicts)


def _solve(brief: Brief) -> Row:
    assert _mine is not None
    return _mine.row(brief)


def by_processes(
    briefs: Briefs, ground: Ground, settings: Settings | None, conflicts: bool, workers: int
) -> Finished:
    """On this machine, so many processes with one solver worker each."""
    from optimizer.batch.dealing import Dealt

    waiting = dict.fromkeys(briefs)
    deaths = dict.fromkeys(waiting, 0)
    while waiting:
        # Each process has a pool of its own, so that a family of variants can stay with one.
        pools = [
            ProcessPoolExecutor(
                1, mp_context=get_context("spawn"), initializer=_begin, initargs=(ground, settings, conflicts)
            )
            for _ in range(min(workers, len(waiting)))
        ]
        # After a death variants go one a worker, so that only what was being worked at is blamed.
        ahead = AHEAD if not any(deaths.values()) else 1
        out: dict[Future[Row], tuple[str, int]] = {}
        try:
            yield from _through(pools, waiting, Dealt({key: briefs[key] for key in waiting}, len(pools)), ahead, out)
            for pool in pools:
                pool.shutdown()
        except BrokenProcessPool:
            _end(pools)
            for key, _ in out.values():
                deaths[key] += 1
            _raise_if_lost([key for key in waiting if deaths[key] > DEATHS])
        except BaseException:
            _end(pools)
            raise


def _through(
    pools: Sequence[ProcessPoolExecutor],
    waiting: dict[str, None],
    dealt: Dealt,
    ahead: int,
    out: dict[Future[Row], tuple[str, int]],
) -> Finished:
    """Hand out, collect; ``waiting`` keeps what is not finished, ``out`` what is handed out, and to whom."""

    def hand(place: int) -> None:
        following = dealt.following(place)
        if following is not None:
            key, brief = following
            out[pools[place].submit(_solve, brief)] = key, place

    for _ in range(ahead):
        for place in range(len(pools)):
            hand(place)
    while out:
        done, _ = wait(out, return_when=FIRST_COMPLETED)
        for future in sorted(done, key=lambda f: out[f]):
            row, (key, place) = future.result(), out[future]
            del out[future], waiting[key]
            yield key, row
            hand(place)


def _end(pools: Sequence[ProcessPoolExecutor]) -> None:
    """Stop at once: what is finished is kept elsewhere."""
    for pool in pools:
        processes = list((getattr(pool, "_processes", None) or {}).values())
        pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            process.terminate()


def _raise_if_lost(lost: list[str]) -> None:
    if lost:
        raise WorkersLost(
            f"Workers died more than {DEATHS} times at the same {len(lost)} variants, perhaps for want of memory."
            " Finished rows are kept; start again with --workers 1, or give the machine more memory."
        )


# -- a cluster ----------------------------------------------------------------------------------

_local = threading.local()


def _solve_there(ground: Ground, mark: str, settings: Settings | None, conflicts: bool, brief: Brief) -> Row:
    """On a worker of the cluster: each of its threads keeps a solver of its own, for the latest batch."""
    from optimizer.batch.solving import VariantSolver

    if getattr(_local, "mark", None) != mark:
        _local.mark, _local.solver = mark, VariantSolver(ground, settings, conflicts)
    row: Row = _local.solver.row(brief)
    return row


def by_cluster(
    briefs: Briefs, ground: Ground, settings: Settings | None, conflicts: bool, address: str, mark: str
) -> Finished:
    """Through the Dask scheduler at ``address``, which gives the work of a dead worker to another.

    Raises
    ------
    MissingExtra
        Without Dask.
    UsageError
        For an address that is none, and when no scheduler answers.
    """
    if not _ADDRESS.fullmatch(address):  # such a client complains once more while it is cleared away
        raise UsageError(f"'{address}' is no address of a Dask scheduler; expected one such as tcp://HOST:8786.")
    try:
        dask: Any = importlib.import_module("distributed")
    except ImportError as error:
        raise MissingExtra("dask and distributed", "cluster", "A cluster") from error
    try:
        client = dask.Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise UsageError(f"No Dask scheduler answers at {address} ({error}). Start one with: dask scheduler") from error
    try:
        client.wait_for_workers(1, timeout=WAIT_FOR_WORKERS_S)
        yield from _through_cluster(dask, client, briefs, (ground, mark, settings, conflicts))
    except TimeoutError as error:
        raise UsageError(f"The scheduler at {address} has no workers. Start some: dask worker {address}") from error
    finally:
        client.close()


def _given(ground: Ground) -> Ground:
    """A task and not scattered data, so that the cluster can make it again when a worker dies."""
    return ground


def _through_cluster(
    dask: Any, client: Any, briefs: Briefs, rest: tuple[Ground, str, Settings | None, bool]
) -> Finished:
    ground, mark, settings, conflicts = rest
    shared = client.submit(_given, ground, pure=False)
    waiting = iter(briefs.items())
    keys: dict[Any, str] = {}

    def handed() -> Iterator[Any]:
        for key, brief in itertools.islice(waiting, CLUSTER_AHEAD - len(keys)):
            future = client.submit(_solve_there, shared, mark, settings, conflicts, brief, pure=False)
            keys[future] = key
            yield future

    done = dask.as_completed(list(handed()), loop=client.loop)
    for future in done:
        key = keys.pop(future)
        try:
            yield key, future.result()
        except dask.KilledWorker:
            _raise_if_lost([key])
        for more in handed():
            done.add(more)
