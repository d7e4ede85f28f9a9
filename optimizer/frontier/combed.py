"""Answers a frontier's questions about two sums by going through what walls leave, kit by kit.

On the road: inside ``frontier``, beside asking. The groups that act on the trips are gone through with bounds
(``choosing.combing``), and each kit of theirs that may be of interest is held against the trips. What survives is
handed to the solver with these groups fixed (``completing``): it finds the least that goes with them. So an answer
is proven: every other kit was turned away by a bound, a rule's sum, a wall, the trips themselves or the solver.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from optimizer.choosing.combing import Comb, Found, TooManyError, Walk
from optimizer.choosing.solve import Answer
from optimizer.frontier.zones import Vector
from optimizer.problem.records import Kit

LESSON_EVERY = 250
"""Of so many kits that fail the first is learnt from: a lesson costs as much as some hundred kits asked about."""
MOST_FAILED = 15_000
"""More that fail than this, and the solver is asked once more: it leads to better kits and better walls."""
MOST_BARREN = 20
"""More that survive and still go with nothing within the limits than this, and the solver is asked too: then what binds
is none of the sums that a walk knows.
"""
NEAR = 12
"""How far apart a bound of the first number and the best kit known are at most, to go through what is between [%]."""
WINDOWS = (2, 5, 10, 20)
"""Where no kit is known: how much more of the first number is looked at, one after another [%]."""


class Completes(Protocol):
    """Who knows trips, places and the solver; see ``completing``."""

    def fails(self, found: Found) -> bool:
        """Whether too many departures fall short, whatever else is chosen."""

    def learn_from(self, found: Found) -> None:
        """Learn walls before kits that have these groups so, or no better."""

    def over(self) -> bool:
        """Whether the time is up."""

    def vector(self, kit: Kit) -> Vector:
        """A kit's two numbers."""

    def known(self, limits: Sequence[int]) -> Kit | None:
        """The best kit known within limits that passes."""

    def complete(self, found: Found, limits: Sequence[int], besides: Kit | None = None) -> Answer:
        """The best kit within limits that passes and has these groups so; other than ``besides``."""


@dataclass
class _State:
    """What is known of the answer so far."""

    best: Kit | None
    tied: bool = False
    """Whether another kit has the same two numbers."""


class CombedQuestions:
    """Finds the least kit within limits: by the first number, then the second.

    Parameters
    ----------
    comb : Comb
        For these two numbers, in this order.
    house : who completes what is found
    """

    def __init__(self, comb: Comb, house: Completes) -> None:
        self._comb, self._house = comb, house
        self._floor: int | None = None
        """The first number of the last answer: what is asked next mostly has no less."""
        self._given_up, self._waits = 0, 0
        """How often in a row there was too much to go through; and how often not to try now."""
        self._barren = 0
        self.alone: dict[Vector, Kit] = {}
        """Kits found, by their numbers, that no other kit has."""

    def worth_asking(self, limits: Sequence[int], at_least: int | None) -> bool:
        """Whether little lies between what the first number is at least, as far as known, and the best kit known."""
        if self._waits:
            self._waits -= 1
            return False
        best, least = self._house.known(limits), self._floor if at_least is None else at_least
        if best is None or least is None:
            return least is not None and at_least is None
        return self._house.vector(best)[0] <= least + abs(least) * NEAR // 100

    def least(self, limits: Sequence[int]) -> Answer | None:
        """The answer; None where there is too much to go through."""
        state, self._barren = _State(self._house.known(limits)), 0
        try:
            for below in self._windows(state, limits):
                ended = self._search(state, Walk(self._comb, limits[1], below), limits)
                if ended is not None:
                    return ended
                if state.best is not None:
                    break
                if below > limits[0]:
                    return Answer("impossible", None, None, None)
            ended = self._settle(state)
        except TooManyError:
            self._given_up += 1
            self._waits = self._given_up
            return None
        self._given_up = 0
        if ended is not None or state.best is None:
            return ended
        vector = self._house.vector(state.best)
        self._floor = vector[0]
        if not state.tied:
            self.alone[vector] = state.best
        return Answer("proven", state.best, None, None)

    def _windows(self, state: _State, limits: Sequence[int]) -> Iterable[int]:
        """What the first number is to stay below: that of the best kit known, or else a little more than last time, and
        more and more.
        """
        if state.best is not None:
            yield self._house.vector(state.best)[0]
        elif self._floor is not None:
            for percent in WINDOWS:
                below = self._floor + 1 + abs(self._floor) * percent // 100
                yield min(below, limits[0] + 1)
                if below > limits[0]:
                    break

    def _search(self, state: _State, walk: Walk, limits: Sequence[int]) -> Answer | None:
        """The least of the first number; an answer only where it was ended early."""
        for found in self._surviving(walk):
            if found is None:
                return Answer("unproven", state.best, None, None)
            answer = self._completed(found, [walk.below - 1, limits[1]])
            if answer.status == "unproven":
                return answer
            if answer.kit is not None:
                state.best = answer.kit
                walk.below = self._house.vector(answer.kit)[0]
        return None

    def _settle(self, state: _State) -> Answer | None:
        """Of the least first number the least second one, and whether another kit has both; an answer as above."""
        if state.best is None:
            return None
        lead, other = self._house.vector(state.best)
        walk = Walk(self._comb, other, lead + 1)
        for found in self._surviving(walk):
            if found is None:
                return Answer("unproven", state.best, None, None)
            own = state.best if found.of(state.best) else None
            answer = self._completed(found, [lead, walk.most_other], own)
            if answer.status == "unproven":
                return answer
            if answer.kit is None:
                continue
            more = self._house.vector(answer.kit)[1]
            state.tied = more == walk.most_other
            if more < walk.most_other:
                state.best, walk.most_other = answer.kit, more
        return None

    def _completed(self, found: Found, limits: Sequence[int], besides: Kit | None = None) -> Answer:
        """See ``Completes``; too many in one question that nothing goes with are too many."""
        answer = self._house.complete(found, limits, besides)
        self._barren += answer.status == "impossible"
        if self._barren > MOST_BARREN:
            raise TooManyError
        return answer

    def _surviving(self, walk: Walk) -> Iterable[Found | None]:
        """Kits of the combed groups that do not fail whatever else is chosen; None where the time is up."""
        failed = 0
        while (found := walk.next()) is not None:
            if self._house.over():
                yield None
                return
            if not self._house.fails(found):
                yield found
                continue
            if failed % LESSON_EVERY == 0:
                self._house.learn_from(found)
            failed += 1
            if failed > MOST_FAILED:
                raise TooManyError
