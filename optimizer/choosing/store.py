"""What runs learnt about weather, loads and nights, kept for later runs with the same physics.

On the road: beside choosing. A level says that numbers no better than these leave so many departures
short; that holds for every catalog, budget and rule, as long as the scene is the same. Re-use changes
speed, never the answer: levels only cut off kits that fail.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from optimizer.problem.records import Kit

GroupLevel = tuple[int, tuple[float, ...]]
"""A best option that still fails: its class (bank or panels, -1 = none) and its numbers."""


@dataclass(frozen=True)
class Level:
    """Numbers, group by group, at which ``short`` departures or more fall short in ``nights`` nights."""

    short: int
    nights: int
    groups: tuple[tuple[str, tuple[GroupLevel, ...]], ...]
    pushed: bool = True
    """Whether it was pushed as far as all still fails; if not, it is one kit's own numbers, to tell sums from."""


MOST_KITS = 20
MOST_MISSED = 100


class LevelStore:
    """Levels found so far, oldest first, none twice; and the latest kits that were best, to begin with."""

    def __init__(self, levels: Iterable[Level] = (), kits: Iterable[Kit] = ()) -> None:
        self._levels: dict[Level, None] = dict.fromkeys(levels)
        self.kits: tuple[Kit, ...] = tuple(kits)[-MOST_KITS:]
        self.missed: deque[Kit] = deque(maxlen=MOST_MISSED)
        """The latest kits that the trips turned away; some may miss by little."""

    def copy(self) -> LevelStore:
        """One of the same levels and kits that grows by itself."""
        return LevelStore(self._levels, self.kits)

    def add_kits(self, kits: Iterable[Kit]) -> None:
        """Keep kits, as the latest. Where they come from does not matter: whoever begins with one tries it first."""
        kits = [replace(kit, places=None) for kit in kits]
        self.kits = (*(kit for kit in self.kits if kit not in kits), *kits)[-MOST_KITS:]

    def __len__(self) -> int:
        return len(self._levels)

    def add(self, levels: Iterable[Level]) -> list[Level]:
        """Keep levels; gives back those that are new."""
        new = [level for level in levels if level not in self._levels]
        self._levels.update(dict.fromkeys(new))
        return new

    def drop(self, level: Level) -> None:
        """Forget a level, since another says more."""
        self._levels.pop(level, None)

    def fitting(self, allowed: int) -> list[Level]:
        """Pushed levels at which more departures fall short than are allowed."""
        return [level for level in self._levels if level.pushed and level.short > allowed]

    def failing(self, allowed: int) -> list[Level]:
        """Numbers of kits that leave more departures short than are allowed."""
        return [level for level in self._levels if not level.pushed and level.short > allowed]

    def __iter__(self) -> Iterator[Level]:
        return iter(self._levels)
