"""Other processes that ask about the same trade-offs, each with an asker of its own.

On the road: inside ``frontier``, between ``run`` and asking. With two goals another process asks from the other end
all the while; with three each takes a zone of its own. What the trips taught one is handed to the others with the
next question. Every answer is proven and ends in one kit, so this changes speed, never a trade-off.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from multiprocessing import get_context

from optimizer.choosing.store import Level, LevelStore
from optimizer.frontier.asking import KitAsker
from optimizer.frontier.making import Making
from optimizer.frontier.zones import Corner, Reply
from optimizer.places.judge import Places
from optimizer.problem.records import Kit

MANY_OPTIONS = 300
"""With fewer a question is mostly answered within a second or two."""
Question = Callable[[KitAsker, Sequence[int]], Reply[Kit]]


@dataclass(frozen=True)
class Told:
    """What another process says."""

    reply: Reply[Kit]
    levels: tuple[Level, ...]
    """What the trips taught it meanwhile."""
    undecided: int
    """Kits it has turned away so far though it is not known that they do not fit."""


class Hand:
    """Another process."""

    def __init__(self, making: Making) -> None:
        self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_begin, initargs=(making,))
        self._first: Future[None] = self._pool.submit(_ready)
        self.undecided = 0

    @property
    def ready(self) -> bool:
        """Whether it has begun; that takes some seconds."""
        return self._first.done()

    def ask(self, question: Question, about: Sequence[int], known: Sequence[Level]) -> Future[Told] | None:
        """Its answer to come; None where it has died."""
        try:
            return self._pool.submit(_answer, question, about, known)
        except BrokenProcessPool:
            return None

    def told(self, answer: Future[Told] | None) -> Told | None:
        """The answer, waited for; None where the process died at it."""
        try:
            told = None if answer is None else answer.result()
        except BrokenProcessPool:
            return None
        self.undecided = self.undecided if told is None else told.undecided
        return told

    def end(self) -> None:
        """End it, whatever it is at."""
        for process in list((getattr(self._pool, "_processes", None) or {}).values()):
            process.terminate()
        self._pool.shutdown(wait=True, cancel_futures=True)


class Together:
    """An asker with other processes beside it. Use as a context.

    They begin at once where there is much to choose from, else with the second question: one is answered sooner than
    they are ready.

    Parameters
    ----------
    making : what all of them are made of
    asker : this process's own
    store : where its levels are kept
    many : processes in all, this one among them
    """

    def __init__(self, making: Making, asker: KitAsker, store: LevelStore, many: int) -> None:
        self.many = 1 if asker.ends is not None else many
        """How many zones can be asked about at once."""
        self._others = min(many, 2) - 1 if asker.ends is not None else many - 1
        self._making, self._asker, self._store = making, asker, store
        self._hands: list[Hand] = []
        self._asked = sum(len(group.options) for group in making.problem.groups) >= MANY_OPTIONS

    def __enter__(self) -> Together:
        return self

    def __exit__(self, *_: object) -> None:
        for hand in self._hands:
            hand.end()

    @property
    def undecided(self) -> int:
        """Kits the other processes turned away though it is not known that they do not fit."""
        return sum(hand.undecided for hand in self._hands)

    def least(self, corner: Corner) -> Reply[Kit]:
        """As the asker of this process says, with help from the other end where there is one."""
        self._count()
        return self._asker.least(corner)

    def least_each(self, corners: Sequence[Corner]) -> list[Reply[Kit]]:
        """As ``least`` for each corner, at once as far as processes are ready."""
        self._count()
        ready = [hand for hand in self._hands if hand.ready]
        levels = tuple(self._store)
        asked = [(hand, hand.ask(_least, corner, levels)) for hand, corner in zip(ready, corners[1:], strict=False)]
        replies = [self._asker.least(corners[0])]
        for (hand, answer), corner in zip(asked, corners[1:], strict=False):
            told = hand.told(answer)
            if told is None:
                self._hands.remove(hand)
                hand.end()
                replies.append(self._asker.least(corner))
            else:
                self._asker.take_in(told.levels)
                replies.append(told.reply)
        return [*replies, *(self._asker.least(corner) for corner in corners[len(replies):])]

    def _count(self) -> None:
        """Begin the others when it is time."""
        if self._asked and not self._hands and self._others:
            making = self._making if self._asker.ends is None else self._making.turned()
            self._hands = [Hand(making) for _ in range(self._others)]
            self._others = 0
            if self._asker.ends is not None:
                self._asker.ends.other = _OtherEnd(self._hands[0], self._asker, self._store)
        self._asked = True


class _OtherEnd:
    """The process that asks from the other end: from the near one, with the goals turned round."""

    def __init__(self, hand: Hand, asker: KitAsker, store: LevelStore) -> None:
        self.works = True
        self._hand, self._asker, self._store = hand, asker, store
        self._within: tuple[int, ...] = ()
        self._answer: Future[Told] | None = None

    def has_news(self) -> bool:
        """Whether it has an answer that was not taken yet."""
        return self._answer is not None and self._answer.done()

    def news(self, limits: Sequence[int]) -> Reply[Kit] | None:
        """Its answer, where that says something within these limits; what it asks next is within them."""
        reply = self._taken(limits) if self.has_news() else None
        if self.works and self._answer is None and (reply is None or reply.vector is not None):
            most = limits[0] if reply is None or reply.vector is None else reply.vector[0] - 1
            self._within = (most, *limits[1:])
            self._answer = self._hand.ask(_from_far, self._within, tuple(self._store))
            self.works = self._answer is not None
        return reply

    def _taken(self, limits: Sequence[int]) -> Reply[Kit] | None:
        told, self._answer = self._hand.told(self._answer), None
        self.works = told is not None and told.reply.proven
        if told is None:
            return None
        self._asker.take_in(told.levels)
        # What was asked within narrower limits than these says nothing of what lies between.
        wide = all(asked >= limit for asked, limit in zip(self._within, limits, strict=True))
        return told.reply if wide and told.reply.proven else None


# -- in the other processes ---------------------------------------------------------------------

_mine: tuple[KitAsker, LevelStore, Places | None] | None = None


def _begin(making: Making) -> None:
    """First thing in a new process. Ctrl-C is for the parent to act on."""
    import signal

    from optimizer.job import places_for

    global _mine
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    store, places = LevelStore(), places_for(making.problem)
    _mine = making.asker(places, store), store, places


def _ready() -> None:
    """Asked first: answered as soon as the process has begun."""


def _answer(question: Question, about: Sequence[int], known: Sequence[Level]) -> Told:
    assert _mine is not None
    asker, store, places = _mine
    asker.take_in(known)
    before = set(store)
    reply = question(asker, about)
    levels = tuple(level for level in store if level not in before)
    return Told(reply, levels, places.undecided if places is not None else 0)


def _least(asker: KitAsker, corner: Sequence[int]) -> Reply[Kit]:
    return asker.least(tuple(corner))


def _from_far(asker: KitAsker, limits: Sequence[int]) -> Reply[Kit]:
    """The best point within limits by the second goal, then the first, of an asker for the goals turned round."""
    assert asker.ends is not None
    reply = asker.ends.from_near(limits[::-1])
    # A bound of what is made small from there is none of the first goal.
    return replace(reply, vector=None if reply.vector is None else reply.vector[::-1], bound=None)
