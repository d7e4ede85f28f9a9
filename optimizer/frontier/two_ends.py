"""The next trade-off of two goals, looked for from both ends by turns.

On the road: inside ``frontier``, between the method and asking. Where the first goal has to give much for a little
of the other, the next kit lies far from all that is known, and to show that none is nearer takes many rounds. From
the other end it may be near. So after some rounds the best kits by the second goal are asked about, one after
another; what lies between the two ends shrinks from both, and no kit is asked for twice.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from optimizer.choosing.solve import Answer
from optimizer.frontier.question import Paused
from optimizer.frontier.zones import Reply, Vector
from optimizer.problem.records import Kit

TURN = 10
"""Rounds that one end has before it is the other's turn."""
Ask = Callable[[Sequence[int], int | None], Answer]
"""The best kit within limits by an end's goals; with a number of rounds it may pause."""


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
        self._near, self._far, self._settled, self._vector = near, far, settled, vector
        self._beyond: list[tuple[Vector, Kit]] = []
        """The trade-offs at the other end, the nearest last; between the first of them and it there are no more."""

    def least(self, limits: Sequence[int]) -> Reply[Kit]:
        """The least point within limits (of which only the second is given), as the method asks for it."""
        first, second = limits
        if self._beyond and self._beyond[-1][0][1] > second:
            # What lies before it in the first goal would be better in both: there is nothing.
            self._beyond = [(vector, kit) for vector, kit in self._beyond if vector[1] <= second]
            return self._nearest()
        while True:
            most = self._beyond[-1][0][0] - 1 if self._beyond else first
            for ask in (self._near, self._far):
                answer = ask((most, second), TURN)
                if isinstance(answer, Paused):
                    continue
                if answer.status == "impossible":
                    return self._nearest()
                if answer.status != "proven" or answer.kit is None:
                    bound = answer.bound if ask is self._near else None
                    return Reply(None, proven=False, bound=bound)
                kit = self._settled(answer.kit)
                if kit is None:
                    return Reply(None, proven=False, bound=self._vector(answer.kit)[0] if ask is self._near else None)
                if ask is self._near:
                    return Reply(self._vector(kit), kit)
                self._beyond.append((self._vector(kit), kit))

    def _nearest(self) -> Reply[Kit]:
        """The nearest at the other end, or that there is none."""
        return Reply(*self._beyond.pop()) if self._beyond else Reply(None)
