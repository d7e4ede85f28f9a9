"""A kit's trips told in full: coverage, the worst departures, the energy, the spell that binds.

On the road: brief + weather years + kit numbers -> *replay* -> terminal and build book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.brief import Brief
from optimizer.trips.flows import SOURCES, Flows, flows
from optimizer.trips.numbers import KitNumbers
from optimizer.trips.run import CAUSES, LACK_UNITS, Layout, Outcomes, outcomes
from optimizer.trips.scene import Scene, build_scene, day_of_year, month_day
from optimizer.trips.schedule import START_HOUR

if TYPE_CHECKING:
    import pandas as pd

    from optimizer.weather.year import WeatherYear

SUNSHINE_W_M2 = 120.0
"""Direct sun from which an hour counts as sunshine [W/m2]: WMO-No. 8, Guide to Instruments and Methods
of Observation, chapter 8 (from memory)."""

_AT_ONCE = 64
"""Departures whose flows are held in memory together."""


@dataclass(frozen=True)
class Moment:
    """An hour of a trip on the calendar."""

    trip_hour: int
    date: str
    """'MM-DD'."""
    hour: int
    """Hour of the day that begins then."""


@dataclass(frozen=True)
class DepartureReport:
    """What became of one departure."""

    departure: int
    """Place in ``Scene.departures``."""
    year: str
    date: str
    """'MM-DD'."""
    cause: str
    """One of ``run.CAUSES``: what ran short first, or 'none'."""
    when: Moment | None
    """The first hour that was short."""
    lack: float
    """Largest lack of it over the trip, in ``unit``."""
    unit: str
    room_wh: float
    """Least energy left in the bank; below 0 what it lacks. [Wh]"""


@dataclass(frozen=True)
class Spell:
    """The stretch of a trip that leads to the least room in the bank."""

    departure: int
    year: str
    date: str
    survived: bool
    begins: Moment
    """First hour after the bank was last full."""
    ends: Moment
    """The hour of least room."""
    hours: int
    """Length; 0 when the bank was full in the hour of least room. [h]"""
    sunless_hours: int
    """Hours of it, nights included, without sunshine (direct sun below ``SUNSHINE_W_M2``). [h]"""
    mean_air_c: float
    room_wh: float
    capacity_wh: float
    """Usable energy of the bank at 25 degC. [Wh]"""


@dataclass(frozen=True)
class EnergyRow:
    """One line of the energy table."""

    name: str
    side: str
    """'given', 'taken', or 'turned away' (offered, but neither used nor stored)."""
    wh: float
    """Over the whole trip. [Wh]"""


@dataclass(frozen=True, eq=False)
class Replay:
    """All trips of a kit."""

    scene: Scene
    numbers: KitNumbers
    nights: int
    outcomes: Outcomes

    @property
    def departures(self) -> int:
        """How many departures there are."""
        return int(self.outcomes.departures.size)

    @property
    def covered(self) -> int:
        """How many of them run short of nothing."""
        return int(self.outcomes.survived.sum())

    @property
    def coverage_pct(self) -> float:
        """Their share. [%]"""
        return 100.0 * self.covered / self.departures

    @property
    def causes(self) -> dict[str, int]:
        """How many departures run short of what first; in the order of ``CAUSES``, without zeros."""
        counts = np.bincount(self.outcomes.cause, minlength=len(CAUSES))
        return {CAUSES[cause]: int(counts[cause]) for cause in range(1, len(CAUSES)) if counts[cause]}

    def moment(self, departure: int, trip_hour: int) -> Moment:
        """A trip hour on the calendar."""
        since = trip_hour + START_HOUR
        day = (day_of_year(self.scene.date(departure)[1]) + since // 24) % 365
        return Moment(trip_hour, month_day(day), since % 24)

    def report(self, departure: int) -> DepartureReport:
        """What became of a departure (its place in ``Scene.departures``)."""
        year, date = self.scene.date(departure)
        cause, hour = CAUSES[int(self.outcomes.cause[departure])], int(self.outcomes.hour[departure])
        return DepartureReport(
            departure=departure,
            year=year,
            date=date,
            cause=cause,
            when=self.moment(departure, hour) if hour >= 0 else None,
            lack=float(self.outcomes.lack[departure]),
            unit=LACK_UNITS[cause],
            room_wh=float(self.outcomes.room_wh[departure]),
        )

    def worst(self, count: int = 10) -> tuple[DepartureReport, ...]:
        """The worst departures: short ones by how soon, then the closest calls."""
        return tuple(self.report(int(place)) for place in self.outcomes.worst_first()[:count])

    def spell(self, departure: int) -> Spell:
        """The spell of a departure."""
        found = self.outcomes
        last, first = int(found.room_hour[departure]), int(found.spell_from[departure])
        year, date = self.scene.date(departure)
        rows = self.scene.rows(departure, self.nights)
        # An empty spell still names its hour, and tells that hour's weather.
        hours = slice(min(first, last), last + 1)
        dni, air = (series[rows].ravel()[hours] for series in (self.scene.dni, self.scene.air_c))
        return Spell(
            departure=departure,
            year=year,
            date=date,
            survived=bool(found.survived[departure]),
            begins=self.moment(departure, min(first, last)),
            ends=self.moment(departure, last),
            hours=max(0, last + 1 - first),
            sunless_hours=int((dni < SUNSHINE_W_M2).sum()) if first <= last else 0,
            mean_air_c=float(air.mean()),
            room_wh=float(found.room_wh[departure]),
            capacity_wh=self.numbers.bank.usable_wh,
        )

    def binding_spell(self) -> Spell:
        """The closest call: the covered departure with the least room in the bank.

        When none is covered, the departure that lacks least. The first of equals.
        """
        room, alive = self.outcomes.room_wh, self.outcomes.survived
        place = np.where(alive, room, np.inf).argmin() if alive.any() else room.argmax()
        return self.spell(int(place))

    @cached_property
    def energy(self) -> tuple[EnergyRow, ...]:
        """The energy of a trip, mean over all departures. Given equals taken to rounding."""
        return self._energy(self.outcomes.departures)

    def energy_of(self, departure: int) -> tuple[EnergyRow, ...]:
        """The energy of one departure's trip."""
        return self._energy(np.array([departure], dtype=np.int64))

    def flows(self, departure: int) -> Flows:
        """Every flow of one departure, arrays of shape (1, T)."""
        return flows(self.scene, self.numbers, self.nights, np.array([departure], dtype=np.int64))

    def hours(self, departure: int) -> pd.DataFrame:
        """One departure hour by hour: a row an hour, energies in Wh, temperatures in degC."""
        import pandas as pd

        hourly = self.flows(departure)
        moments = [self.moment(departure, hour) for hour in range(24 * self.nights)]
        columns: dict[str, object] = {
            "date": [moment.date for moment in moments],
            "hour": [moment.hour for moment in moments],
            "air_c": hourly.air_c[0],
            "inside_c": hourly.inside_c[0],
            "sun_w_m2": hourly.ghi[0],
            "heat_w": hourly.heat_w[0],
            "bank_left_wh": (hourly.capacity_wh - hourly.depth_wh)[0],
            "bank_missing_wh": hourly.depth_wh[0],
        }
        columns |= {f"given: {name}": hourly.energy[name][0] for name in SOURCES}
        columns |= {f"taken: {name}": wh[0] for name, wh in hourly.energy.items() if name not in SOURCES}
        columns |= {f"turned away: {name}": wh[0] for name, wh in hourly.turned_away.items()}
        return pd.DataFrame(columns, index=pd.RangeIndex(len(moments), name="trip_hour"))

    def _energy(self, departures: NDArray[np.int64]) -> tuple[EnergyRow, ...]:
        totals: dict[tuple[str, str], float] = {}
        for start in range(0, departures.size, _AT_ONCE):
            some = flows(self.scene, self.numbers, self.nights, departures[start : start + _AT_ONCE])
            for name, wh in some.energy.items():
                key = (name, "given" if name in SOURCES else "taken")
                totals[key] = totals.get(key, 0.0) + float(wh.sum())
            for name, wh in some.turned_away.items():
                totals[name, "turned away"] = totals.get((name, "turned away"), 0.0) + float(wh.sum())
        return tuple(EnergyRow(name, side, wh / departures.size) for (name, side), wh in totals.items())


def replay(
    brief: Brief, years: Sequence[WeatherYear], numbers: KitNumbers, nights: int | None = None
) -> Replay:
    """Run a kit's trips from every departure and keep what is worth telling.

    Parameters
    ----------
    brief, years, numbers : what is asked for, where, and with which kit
    nights : the brief's own when left out
    """
    return replay_scene(build_scene(brief, years), numbers, brief.trip.nights if nights is None else nights)


def replay_scene(scene: Scene, numbers: KitNumbers, nights: int) -> Replay:
    """``replay`` for a scene that is there already."""
    return Replay(scene, numbers, nights, outcomes(scene, Layout(scene).vector(numbers), nights))
