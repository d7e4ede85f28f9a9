"""The next trade-off of two goals, looked for from both ends by turns.

On the road: inside ``frontier``, between the method and asking. Where the first goal has to give much for a little
of the other, the next kit lies far from all that is known, and to show that none is nearer takes many rounds. From
the other end it may be near. So after some rounds the best kits by the second goal are asked about, one after
another; what lies between the two ends shrinks from both, and no kit is asked for twice. Where another process
asks from the other end all the while, this one only looks now and then what came of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from optimizer.choosing.solve import Answer
from optimizer.frontier.question import Paused
from optimizer.frontier.zones import Reply, Vector
from optimizer.problem.records import Kit

TURN = 10
"""Rounds that one end has before it is the other's turn."""
Pause = Callable[[int], bool]
"""Whether to pause after so many rounds."""
Ask = Callable[[Sequence[int], Pause | None], Answer]
"""The best kit within limits by an end's goals; where it may pause it can be ``Paused``."""


class FarEnd(Protocol):
    """Whoever asks from the other end meanwhile."""

    @property
    def works(self) -> bool:
        """Whether anything is to be expected of it."""

    def has_news(self) -> bool:
        """Whether it has an answer that was not taken yet."""

    def news(self, limits: Sequence[int]) -> Reply[Kit] | None:
        """Its answer, where that says something within these limits; what it asks next is within them."""


class TwoEnds:
    """Answers a sweep's questions about two goals.

    Parameters
    ----------
    near, far : the best kit within limits by the first goal, then the second; and the other way round
    settled : the kit that stands for all of the same two values, None where that was not settled
    vector : a kit's two goals
    """

    def __init__(
        self, near: Ask, far: Ask, settled: Callable[[Kit], Kit | None], vector: Callable[[Kit], Vector]
    ) -> None:
        self.other: FarEnd | None = None
        self._near, self._far, self._settled, self._vector = near, far, settled, vector
        self._beyond: list[tuple[Vector, Kit]] = []
        """The trade-offs at the other end, the nearest last; between the first of them and it there are no more."""
        self._met = False
        """Whether the two ends have met: what is left is what lies at the other."""

    def least(self, limits: Sequence[int]) -> Reply[Kit]:
        """The least point within limits (of which only the second is given), as the method asks for it."""
        second = limits[1]
        if self._met or (self._beyond and self._beyond[-1][0][1] > second):
            # What lies before a point of the other end in the first goal would be better in both: there is nothing.
            self._beyond = [(vector, kit) for vector, kit in self._beyond if vector[1] <= second]
            return self._nearest()
        while True:
            for ask in (self._from_other, self._from_near, self._from_far):
                reply = ask((self._beyond[-1][0][0] - 1 if self._beyond else limits[0], second))
                if reply is not None:
                    return reply

    def from_near(self, limits: Sequence[int]) -> Reply[Kit]:
        """The best point within limits by the first goal, then the second, whatever lies at the other end."""
        return self._reply(self._near(limits, None))

    def _from_other(self, within: Sequence[int]) -> Reply[Kit] | None:
        """What the other end's own answers settle: that nothing is left between. None while something may be."""
        if not self._helped:
            return None
        assert self.other is not None
        news = self.other.news(within)
        return None if news is None or not news.proven else self._closed_by(news, within[1])

    def _from_near(self, within: Sequence[int]) -> Reply[Kit] | None:
        """The next point from this end, or that there is none; None when it paused, to see what is new."""
        answer = self._near(within, self._pauses)
        if isinstance(answer, Paused):
            return None
        reply = self._reply(answer)
        return self._nearest() if reply.proven and reply.vector is None else reply

    def _from_far(self, within: Sequence[int]) -> Reply[Kit] | None:
        """A turn of the other end, where nobody else has it."""
        if self._helped:
            return None
        answer = self._far(within, self._pauses)
        if isinstance(answer, Paused):
            return None
        reply = self._reply(answer)
        # A bound of what is made small from there is none of the first goal.
        return self._closed_by(reply, within[1]) if reply.proven else Reply(None, proven=False)

    def _closed_by(self, found: Reply[Kit], second: int) -> Reply[Kit] | None:
        """Take up a point at the other end; where it is none, or is no better than what is asked for, all is found."""
        if found.vector is None or found.thing is None or found.vector[1] > second:
            return self._nearest()
        self._beyond.append((found.vector, found.thing))
        return None

    @property
    def _helped(self) -> bool:
        return self.other is not None and self.other.works

    def _pauses(self, rounds: int) -> bool:
        """Whether this end is to look at the other."""
        return self.other.has_news() if self.other is not None and self.other.works else rounds >= TURN

    def _reply(self, answer: Answer) -> Reply[Kit]:
        """An answer with the kit that stands for it."""
        if answer.status == "impossible":
            return Reply(None)
        if answer.status != "proven" or answer.kit is None:
            return Reply(None, proven=False, bound=answer.bound)
        kit = self._settled(answer.kit)
        if kit is None:
            return Reply(None, proven=False, bound=self._vector(answer.kit)[0])
        return Reply(self._vector(kit), kit)

    def _nearest(self) -> Reply[Kit]:
        """The nearest at the other end, or that there is none; for when nothing lies between any more."""
        self._met = True
        return Reply(*self._beyond.pop()) if self._beyond else Reply(None)

