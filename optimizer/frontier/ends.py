"""How an asker of two goals asks from either end: one number for both, or one goal after another.

On the road: inside ``frontier``, between *asking* and ``two_ends``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from optimizer.choosing.solve import Answer
from optimizer.frontier.combed import CombedQuestions
from optimizer.frontier.question import Joined, Paused, Value, joined_as
from optimizer.frontier.two_ends import Pause, TwoEnds
from optimizer.problem.records import Kit

if TYPE_CHECKING:
    from optimizer.frontier.asking import KitAsker

MOST_WAITS = 63
"""How many questions two goals as one number are not tried in at most, after that failed; see ``Leading.led``."""


def two_ends(asker: KitAsker) -> TwoEnds | None:
    """For two goals that the model knows both, where they can be joined as one number either way round."""
    if len(asker.axes) != 2 or asker.joined is None or any(axis.judged for axis in asker.axes):
        return None
    turned = joined_as((1, 0), asker.spans, asker.expressions)
    if turned is None:
        return None
    leading = Leading(asker, turned)
    return TwoEnds(leading.near, leading.far, leading.settled, asker.vector)


class Leading:
    """Asks from either end.

    Parameters
    ----------
    asker : KitAsker
    turned : the two goals as one number, the second before the first
    """

    def __init__(self, asker: KitAsker, turned: Joined) -> None:
        self._asker, self._turned = asker, turned
        self._apart_work: float | None = None
        """The solver's work when two goals were last asked for one after another."""
        self._fails, self._waits = 0, 0

    def near(self, limits: Sequence[int], pause: Pause | None) -> Answer:
        """The best kit within limits by the first goal, then the second; its bound is one of the first goal."""
        asker = self._asker
        answer = self.led(*asker.leading, (0, 1), limits, pause, asker.combed)
        return answer if isinstance(answer, Paused) else replace(answer, bound=asker.first_at_least(answer.bound))

    def far(self, limits: Sequence[int], pause: Pause | None) -> Answer:
        """The best kit within limits by the second goal, then the first."""
        return self.led(self._turned.expression, self._turned.value, (1, 0), limits, pause)

    def settled(self, kit: Kit) -> Kit | None:
        """The kit that stands for all of the same two values, None where that was not settled."""
        asker = self._asker
        if asker.combed is not None and asker.combed.alone.get(asker.vector(kit)) == kit:
            asker.latest = kit
            return kit
        asker.latest = asker.least_number(kit, list(asker.vector(kit)))
        return asker.latest

    def led(
        self,
        number: Any,
        value: Value,
        order: Sequence[int],
        limits: Sequence[int],
        pause: Pause | None,
        combed: CombedQuestions | None = None,
    ) -> Answer:
        """Two goals as one number, or one after another in this order: whichever takes less of the solver's work.

        Where much is chosen from and few sums tell it apart, a number that joins two goals is led to by neither: a
        hundred kinds of ten rows were not settled in hours and are in two seconds so. Elsewhere one number is quicker.
        So it has as much work as the other way took last; where that does not do, it is tried more and more seldom.
        Where trips are asked too, one number it is.
        """
        asker = self._asker
        if asker.trips is not None:
            return asker.stage(number, value, limits, pause=pause, combed=combed)
        if self._apart_work is not None and not self._waits:
            answer = asker.stage(number, value, limits, pause=pause, work=self._apart_work)
            if answer.status != "unproven" or isinstance(answer, Paused) or asker.deadline.over:
                self._fails = 0
                return answer
            self._fails += 1
            self._waits = min(2**self._fails - 1, MOST_WAITS)
        self._waits = max(0, self._waits - 1)
        narrowed, spent = list(limits), 0.0
        for place in order:
            answer = asker.stage(asker.expressions[place], itemgetter(place), narrowed, pause=pause)
            spent += answer.work
            if answer.status != "proven" or answer.kit is None:
                return answer if isinstance(answer, Paused) else replace(answer, bound=None)
            narrowed[place] = asker.vector(answer.kit)[place]
        self._apart_work = spent
        return answer
