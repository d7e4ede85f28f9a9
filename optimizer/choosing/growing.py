"""What was learnt for one question, learnt on for another: other options, another number of departures.

On the road: choosing <-> trips. A level holds wherever the scene is the same, but it was pushed over the options
that mattered then, and just so far as the departures that might fall short then. For a question with options
that were out of play it is pushed on over these; for a question with more departures that may fall short it is
begun anew among its own kits. That costs a hundredth of a solve each, and saves most of a search's rounds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from optimizer.choosing.lifting import Lifter, Tops
from optimizer.choosing.store import Level, LevelStore
from optimizer.problem.records import Problem

Options = frozenset[tuple[str, str]]
"""Groups and option keys."""


def out_of_play(problem: Problem) -> Options:
    """Options that the wishes of a brief keep out: for want of a skill, or because a part is refused."""
    skills, refused = set(problem.skills), set(problem.refused)
    return frozenset(
        (group.name, option.key) for group in problem.groups for option in group.options
        if not skills.issuperset(option.skills) or any(part in refused for part, _ in option.parts)
    )  # fmt: skip


class Grower:
    """Makes the levels of a store ready for one question after another.

    Parameters
    ----------
    problem : Problem
        What the levels in the store were found for, as far as it is known: it changes speed, never an answer.
    store : LevelStore
    """

    def __init__(self, problem: Problem, store: LevelStore) -> None:
        self.store = store
        self._out = out_of_play(problem)
        self._left_out: dict[Level, Options] = {}
        self._begun: dict[int, set[Level]] = {}

    def ready(self, lifter: Lifter, problem: Problem) -> None:
        """Levels pushed over all that is in play in a problem, for as many short departures as the lifter allows."""
        out = out_of_play(problem)
        begun = self._begun.setdefault(lifter.allowed, set())
        pushed = (level for level in self.store if level.pushed)
        older = [level for level in pushed if level.short <= lifter.allowed and level not in begun]
        for level in self.store.fitting(lifter.allowed):
            if level.short == lifter.allowed + 1:
                self._pushed_on(lifter, level, out)
        if older:
            begun.update(older)
            for new in for_more_short(lifter, older, _by_cost(lifter, out, None)):
                self._keep(new, out)

    def learnt(self, problem: Problem) -> None:
        """Levels that came in since were found for this problem."""
        out = out_of_play(problem)
        for level in self.store:
            self._left_out.setdefault(level, out)

    def _pushed_on(self, lifter: Lifter, level: Level, out: Options) -> None:
        """Over what is in play now and was not when the level was found."""
        left_out = self._left_out.get(level, self._out)
        fresh = left_out - out
        steps = _by_cost(lifter, out, fresh) if fresh else []
        tops = lifter.points(level) if steps else None
        if tops is not None:
            self.store.drop(level)
            self._keep(lifter.pushed_on(tops, steps, level.nights), left_out & out)

    def _keep(self, level: Level, left_out: Options) -> None:
        self.store.add([level])
        self._left_out[level] = left_out


def _by_cost(lifter: Lifter, out: Options, only: Options | None) -> list[tuple[int, int]]:
    """Group and row of what is in play (and among ``only``), by what it costs beyond the cheapest of its group."""
    steps = []
    for number, group in enumerate(lifter.effects.groups):
        costs = lifter.costs(number)
        names = [(group.group.name, key) for key in group.keys]
        rows = [row for row, name in enumerate(names) if name not in out and (only is None or name in only)]
        least = min((costs[row] for row in rows), default=0.0)
        steps += [(costs[row] - least, number, row) for row in rows]
    return [(number, row) for _, number, row in sorted(steps)]


def for_more_short(
    lifter: Lifter, levels: Iterable[Level], steps: Sequence[tuple[int, int]]
) -> Iterator[Level]:
    """Levels for a lifter that allows more departures to fall short than these levels tell of.

    Mostly all kits of a level fail still, since what fails seldom fails by one departure: then it is pushed on. Else
    it is begun from its cheapest kit, over its own options first, unless that kit passes. What lies within another
    that was made here is left out.
    """
    made: list[tuple[Tops, int]] = []

    def told(tops: Tops, nights: int) -> bool:
        return any(nights >= fewest and lifter.within(tops, other) for other, fewest in made)

    for level in levels:
        tops = lifter.points(level)
        if tops is None or told(tops, level.nights):
            continue
        covered = lifter.covered(tops)
        own = [(number, row) for number, row in steps if covered[number][row]]
        rest = [(number, row) for number, row in steps if not covered[number][row]]
        if not lifter.fail(tops, level.nights):
            cheapest: dict[int, int] = {}
            for number, row in own:
                cheapest.setdefault(number, row)
            if len(cheapest) < len(tops):
                continue
            tops, rest = lifter.tops_of([cheapest[number] for number in range(len(tops))]), [*own, *rest]
            if told(tops, level.nights) or not lifter.fail(tops, level.nights):
                continue
        new = lifter.pushed_on(tops, rest, level.nights)
        pushed = lifter.points(new)
        assert pushed is not None
        made.append((pushed, new.nights))
        yield new
