"""Who gets which variant next: families stay together, so that what one worker found helps its next variant.

On the road: inside ``batch``, between the table and the processes. It decides nothing but speed.
"""

from __future__ import annotations

from collections.abc import Mapping

from optimizer.batch.reuse import family
from optimizer.batch.solving import trips_key
from optimizer.brief.brief import Brief


class Dealt:
    """Variants in families, dealt to workers.

    Parameters
    ----------
    briefs : by key, in the order in which they are best solved
    workers : how many there are; each goes on with its family, then takes one nobody is at, then shares the
        longest that is left, from its end
    """

    def __init__(self, briefs: Mapping[str, Brief], workers: int) -> None:
        self._briefs = briefs
        families: dict[tuple[str, int], list[str]] = {}
        for key, brief in briefs.items():
            families.setdefault(family(brief, trips_key(brief)), []).append(key)
        self._fresh = list(families.values())
        self._at: list[list[str]] = [[] for _ in range(workers)]

    def following(self, worker: int) -> tuple[str, Brief] | None:
        """What a worker is to solve next; None when nothing is left."""
        if not self._at[worker]:
            self._at[worker] = self._fresh.pop(0) if self._fresh else self._shared()
        if not self._at[worker]:
            return None
        key = self._at[worker].pop(0)
        return key, self._briefs[key]

    def _shared(self) -> list[str]:
        """The second half of the longest family that some worker is at."""
        longest = max(self._at, key=len)
        half = longest[(len(longest) + 1) // 2 :] if len(longest) > 1 else longest[:]
        del longest[len(longest) - len(half) :]
        return half
