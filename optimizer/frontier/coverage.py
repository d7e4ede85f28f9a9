"""The trips as a judge at any level of coverage, for frontiers on which coverage is a goal.

On the road: inside ``frontier``, between asking and choosing's ``lifting``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from optimizer.choosing.effects import Effects
from optimizer.choosing.lifting import Lifter, wall
from optimizer.choosing.store import Level, LevelStore
from optimizer.choosing.walls import Wall
from optimizer.problem.records import Kit, Option
from optimizer.trips.run import short_departures

REMEMBERED = 20_000


class TripsByCoverage:
    """One lifter for each number of departures that may fall short, all on the same store.

    Parameters
    ----------
    effects : Effects
    most : departures that may fall short under the brief
    cost : what an option costs by the first goal
    store : LevelStore
    """

    def __init__(
        self, effects: Effects, most: int, cost: Callable[[Option], int], store: LevelStore | None = None
    ) -> None:
        self.most = most
        self._effects = effects
        self._cost = cost
        self._store = store if store is not None else LevelStore()
        self._lifters: dict[int, Lifter] = {}
        self._short: dict[tuple[int, ...], int] = {}

    def short(self, kit: Kit) -> int:
        """How many departures a kit leaves short."""
        key = (kit.nights, *self._effects.rows_of(kit))
        if key not in self._short:
            if len(self._short) >= REMEMBERED:
                self._short.clear()
            self._short[key] = short_departures(self._effects.scene, self._effects.kit_row(kit), kit.nights)
        return self._short[key]

    def judge(self, allowed: int) -> Lifter:
        """The lifter at that level."""
        if allowed not in self._lifters:
            self._lifters[allowed] = Lifter(self._effects, allowed, self._cost, self._store)
        return self._lifters[allowed]

    def known(self) -> Iterator[tuple[Wall, int]]:
        """Walls of the store, each with the most short departures at which it stands."""
        return self._walls(self._store.fitting(0))

    def told(self, levels: Iterable[Level]) -> Iterator[tuple[Wall, int]]:
        """Walls that levels found elsewhere come to, as far as they are new; they are kept."""
        return self._walls(level for level in self._store.add(levels) if level.pushed)

    def _walls(self, levels: Iterable[Level]) -> Iterator[tuple[Wall, int]]:
        for level in levels:
            found = wall(level, self._effects)
            if found is not None:
                yield found, level.short - 1
