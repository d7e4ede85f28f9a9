"""From one kit that fails to a sum that every kit must reach: what its spells bring against what they take.

On the road: choosing <-> trips, beside lifting. A spell is the run of hours in which a departure's bank is emptied:
what it holds, and what sun and driving bring in these hours, must be at least what they take. Told with conversions
no better than some, that is a sum over what is chosen, group by group, which no kit that survives the spell falls
short of. Where ``m`` departures may fall short, at least ``n - m`` of any ``n`` are survived; so, option by option,
the ``n - m`` best of what it brings to these departures make one sum that every kit which passes must reach, unless
it converts better. Where the departures fall short in spells apart, one of several sums must be reached.

An hour is told as a sum that is never more than what it truly adds to the depth of the battery, for any kit whose
conversions are no better than those taken for granted:

- a gain counts with the charge efficiency and a lack over the discharge efficiency, as the failing kit had it: the
  true step is the larger of both;
- sun is at most what the panels give (or what a switching controller lets through of their current), and at most
  what the controller puts out, whichever the failing kit met;
- what charges the bank is at most what it takes, where the failing kit met that;
- a heater draws at least ``h0 * e + e0 * (h - h0)``, where ``h0`` is the least heat and ``e0`` the least draw there is;
- a cold box draws at least its line without the floor below it; an inverter idles at least while uses run on AC.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.choosing.effects import Effects
from optimizer.choosing.ledger import Failing, Granted, Ledger
from optimizer.choosing.spells import Features, Sums, summed
from optimizer.choosing.walls import Sum, Wall
from optimizer.problem.records import Kit
from optimizer.trips.run import SLACK, Outcomes, outcomes

Array = NDArray[np.float64]
Places = NDArray[np.int64]

UNITS_A_WH = 10
"""Sums are told in tenths of a watt-hour, rounded up: in a kit's favour."""
LEAST_LACK_WH = 1.0
"""A sum that the failing kit misses by less says too little."""
MOST_PARTS = 3
"""More sums in one wall cost the solver more than they save."""
DEPARTURES = 40
"""So many of the departures that fall furthest short are looked at, or twice as many as may fall short."""


class Told(NamedTuple):
    """What a failing kit teaches."""

    wall: Wall
    short: int
    """How many departures its battery leaves short."""


class Balances:
    """Names the sums that failing kits miss.

    Parameters
    ----------
    effects : Effects
    allowed : departures that may fall short
    """

    def __init__(self, effects: Effects, allowed: int) -> None:
        self.effects = effects
        self.allowed = allowed
        kinds = [group.group.kind for group in effects.groups]
        once = ("battery", "inverter", "dc_converter", "heater", "insulation")
        self._able = "battery" in kinds and all(kinds.count(kind) <= 1 for kind in once)

    def failing(self, kit: Kit) -> Failing:
        """A kit's numbers."""
        chosen = list(zip(self.effects.groups, self.effects.rows_of(kit), strict=True))
        values = tuple(group.values[row] for group, row in chosen)
        return Failing(kit.nights, values, tuple(int(group.classes[row]) for group, row in chosen))

    def told(self, failing: Failing) -> Told | None:
        """A wall that the failing kit stands before; None where its battery is not what fails, or no sum tells it."""
        if not self._able:
            return None
        row = self.effects.row(list(failing.values), list(failing.classes))
        result = outcomes(self.effects.scene, row, failing.nights)
        short = int((result.room_wh < -SLACK).sum())
        if short <= self.allowed:
            return None
        worst = np.argsort(result.room_wh, kind="stable")[: min(short, max(DEPARTURES, 2 * self.allowed + 2))]
        wall = Telling(self.effects, self.allowed, failing, result, worst).wall()
        return None if wall is None else Told(wall, short)


class Telling:
    """One failing kit, told as sums."""

    def __init__(self, effects: Effects, allowed: int, failing: Failing, result: Outcomes, worst: Places) -> None:
        self.allowed = allowed
        self.ledger = ledger = Ledger(effects, failing)
        self.own, self._best = ledger.granted(own=True), ledger.granted(own=False)
        self._features = Features(effects.scene, worst, failing.nights)
        plain = self._features.plain(ledger.losses, min(ledger.losses, default=0.0))
        first, last = result.spell_from[worst], result.room_hour[worst]
        self._nights = int(last.max()) // 24 + 1
        self._dates = effects.scene.departures[worst]
        together = np.zeros_like(first), np.full_like(last, int(np.median(last)))
        classes = ledger.panel_classes, sorted(effects.bank_classes - {-1})
        met = ledger.met(self._features, plain)
        self.told = [summed(self._features, plain, met, *classes, *spell) for spell in ((first, last), together)]

    # -- what is taken for granted --------------------------------------------------------------

    def _loosened(self) -> Iterator[Callable[[Granted], Granted]]:
        """What grants one conversion or another at its best."""
        best = self._best
        yield lambda granted: replace(granted, inverter=best.inverter)
        yield lambda granted: replace(granted, converter=best.converter)
        yield lambda granted: replace(granted, charge=best.charge, discharge=best.discharge)
        for slot in range(len(best.suns)):
            yield partial(self._sun_at_best, slot)
        yield lambda granted: replace(granted, always_on=False)

    def _sun_at_best(self, slot: int, granted: Granted) -> Granted:
        return replace(granted, suns=(*granted.suns[:slot], self._best.suns[slot], *granted.suns[slot + 1 :]))

    # -- the sums -------------------------------------------------------------------------------

    def wall(self) -> Wall | None:
        """The sums with as little taken for granted as leaves them missed; None where none is."""
        granted, missed = self.own, self._missed(self.own)
        if missed is None:
            return None
        easiest = self._missed(self._best)
        if easiest is not None:
            granted, missed = self._best, easiest
        else:
            for loosened in self._loosened():
                looser = loosened(granted)
                found = self._missed(looser)
                if found is not None:
                    granted, missed = looser, found
        brought = self.brought(self.told[missed.told], granted)
        sums = tuple(self.sum_of(brought, some, saved) for some, saved in missed.parts)
        return Wall(self.ledger.ways(granted), self._nights, sums)

    def _missed(self, granted: Granted) -> _Missed | None:
        """The sums that the failing kit misses: the one it misses by most, or else a few of which one is reached."""
        own = [np.vstack(self.brought(told, granted, own_only=True)) for told in self.told]
        tries = [
            (lack_of(rows, *part), _Missed(told, [part])) for told, rows in enumerate(own) for part in self._whole()
        ]
        most, best = max(tries, key=lambda lack: lack[0])
        if most >= LEAST_LACK_WH:
            return best
        parts = self._apart(own[0])
        return None if parts is None else _Missed(0, parts)

    def _whole(self) -> Iterator[Part]:
        """The departures that fall furthest short, so many or so many, as one."""
        count, allowed = self._features.shape[0], self.allowed
        for some in sorted({allowed + 1, 3 * (allowed + 1) // 2, 2 * (allowed + 1), count}):
            if allowed < some <= count:
                yield Part(np.arange(some), some - allowed)

    def _apart(self, own: Array) -> list[Part] | None:
        """One more departure than may fall short, in as few parts as leave each part's sum missed; None if too many.

        One of them must be survived, so in one of the parts one is. Departures one after another are put together,
        since the same bad weather empties their banks.
        """
        worst = np.arange(self.allowed + 1)
        by_date = worst[np.argsort(self._dates[worst], kind="stable")]
        parts: list[list[int]] = []
        for place in by_date.tolist():
            if parts and lack_of(own, np.array([*parts[-1], place]), 1) >= LEAST_LACK_WH:
                parts[-1].append(place)
            elif len(parts) < MOST_PARTS and lack_of(own, np.array([place]), 1) >= LEAST_LACK_WH:
                parts.append([place])
            else:
                return None
        return [Part(np.array(places), 1) for places in parts]

    def brought(self, told: Sums, granted: Granted, own_only: bool = False) -> list[Array]:
        """What each candidate of each group brings to each departure's spell, (candidates, n); last what is anyway."""
        amounts = told.weighed(granted.charge, granted.discharge)
        found = []
        for table in self.ledger.tables:
            rows = slice(-1, None) if own_only else slice(None)
            brought = np.zeros((1 if own_only else table.classes.size, self._features.shape[0]))
            for name, column in self.ledger.columns(table, granted).items():
                if column[rows].any():
                    brought += np.outer(column[rows], amounts[name])
            found.append(brought)
        anyway = sum(amount * amounts[name] for name, amount in self.ledger.taken_anyway(granted).items())
        return [*found, np.asarray(anyway)[None, :]]

    def sum_of(self, brought: Sequence[Array], some: Places, saved: int) -> Sum:
        """What the best saved of some departures bring, to be no less than nothing; in whole units."""
        terms = []
        for table, amounts in zip(self.ledger.tables, brought, strict=False):
            units = _units(_best_of(amounts, some, saved))
            named = tuple((key, unit) for key, unit in zip(table.effects.keys, units, strict=False) if unit)
            if named:
                terms.append((table.effects.group.name, named))
        (anyway,) = _units(_best_of(brought[-1], some, saved))
        return Sum(tuple(terms), -anyway)


class Part(NamedTuple):
    """Departures, as places among those looked at, of which at least so many are survived."""

    places: Places
    saved: int


class _Missed(NamedTuple):
    """Which telling of the spells, and the departures in one or more parts."""

    told: int
    parts: list[Part]


def _best_of(amounts: Array, some: Places, saved: int) -> Array:
    """The mean of the ``saved`` largest among ``some`` of each row."""
    best: Array = np.sort(amounts[:, some], axis=1)[:, -saved:].mean(axis=1)
    return best


def lack_of(own: Array, some: Places, saved: int) -> float:
    """By how much the failing kit misses the sum of what its groups bring, (groups, n) [Wh]."""
    return -float(_best_of(own, some, saved).sum())


def _units(amounts: Array) -> list[int]:
    """In whole units, rounded up beyond what the sums' own rounding can be."""
    return [ceil(amount * UNITS_A_WH + 1e-3) if amount else 0 for amount in amounts.tolist()]
