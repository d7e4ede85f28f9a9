"""Kits met on the way, to start the next question from; only so many, for frontiers may be long.

On the road: inside ``frontier``, beside asking.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from optimizer.choosing.walls import Judge
from optimizer.frontier.zones import Vector
from optimizer.problem.records import Kit

MOST = 200
_Key = tuple[tuple[tuple[str, str], ...], int, int]


class Remembered:
    """The latest kits met, each with its goals."""

    def __init__(self) -> None:
        self._kits: dict[_Key, tuple[Kit, Vector]] = {}

    def add(self, kit: Kit, vector: Vector) -> None:
        """Remember a kit, as the latest."""
        key = (tuple(sorted(kit.choices.items())), kit.voltage, kit.nights)
        self._kits.pop(key, None)
        self._kits[key] = (kit, vector)
        while len(self._kits) > MOST:
            del self._kits[next(iter(self._kits))]

    def best(
        self, judges: Sequence[Judge], limits: Sequence[int], value: Callable[[Vector], int] | None
    ) -> Kit | None:
        """Of the kits inside the limits that pass, the one nearest to what is asked."""
        inside = [
            (value(vector) if value is not None else 0, vector, kit)
            for kit, vector in self._kits.values()
            if all(number <= limit for number, limit in zip(vector, limits, strict=True))
        ]
        inside.sort(key=lambda entry: entry[:2])
        return next((kit for _, _, kit in inside if all(judge.passes(kit) for judge in judges)), None)
