"""Everything about a brief's trips that no kit changes: weather, warmth, hours, departures.

On the road: brief + weather years -> *scene* -> trips. Every array by hour has the shape (B, 24): B days
of all the years one after another, each day running from noon (``schedule.START_HOUR``) to noon, so that
a trip is a run of whole rows. Trips run past the end of a year by going on at its start.

What is taken for granted, each time against the kit:

- Panels lie flat; sun stress, shading and soiling scale their power, their cells get warm as in the
  unscaled sun. ``colder_by`` chills the air for heating and for the battery only: panels and cold boxes
  would gain by the cold, so they keep the weather year's own air.
- The van is held at its set-point by day and night whether or not anyone is in; what people give off
  counts in the hours of night alone. The sun through the windows and the cooking warm nothing.
- Around a cold box it is as warm as inside, and warmer by ``hot_van_rise`` in 1000 W/m2 of sun.
- A warm bank is as warm as the inside. Without heating the inside is as cold as the air.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.brief import Brief
from optimizer.physics import Array
from optimizer.physics.battery import CAPACITY_CURVES, capacity_factor, may_charge
from optimizer.physics.glass import share_of_level
from optimizer.physics.sun import STANDARD_SUN, array_power, loss_factor
from optimizer.trips.schedule import (
    HOURS,
    LONGEST_NIGHTS,
    START_HOUR,
    Schedule,
    build_schedule,
    is_night,
)
from optimizer.weather.year import WeatherYear, date_of, day_index

DAYS = 365
COLD_BOX_BASE_C = 25.0
COLD_BOX_SPAN_K = 7.0
"""From 25 to 32 degC: between the two draws that a cold box is rated by, as ``physics.cold`` has them. [K]"""

BANK_CLASSES: tuple[tuple[str, bool, bool], ...] = tuple(
    (chemistry, warm, charges_cold)
    for chemistry in sorted(CAPACITY_CURVES)
    for warm in (False, True)
    for charges_cold in (False, True)
)
"""(chemistry, lives inside, may be charged below 0 degC); the index is the bank's class."""


@dataclass(frozen=True, eq=False)
class DayKinds:
    """Each kind of trip day from noon to noon: the schedule with its repetitions taken out."""

    drive: Array
    """Share of the hour driven, shape (D, 24). [-]"""
    fan: Array
    """Share of the hour the roof fan runs, shape (D, 24). [-]"""
    uses_dc: Array
    """All DC uses together, shape (D, 24). [W]"""
    uses_ac: Array
    """All AC uses together, shape (D, 24). [W]"""
    meals: Array
    """Meals cooked at their own hour, shape (D, 24, M)."""
    meals_driving: Array
    """Meals cooked on the drive where there is one, shape (D, 24, M)."""


@dataclass(frozen=True, eq=False)
class Scene:
    """A brief's trips without a kit. B days of all years, D kinds of day, M meals."""

    brief: Brief
    year_names: tuple[str, ...]
    departures: NDArray[np.int64]
    """Row of each departure's first day, by year and then by date, shape (N,)."""
    schedule: Schedule
    ghi: Array
    """The weather years' sun on the flat. [W/m2]"""
    dni: Array
    """The weather years' direct sun. [W/m2]"""
    glass: Array
    """Share of it that gets through the glass of panels that lie flat. [-]"""
    sun: Array
    """Sun counted on behind the glass, as a share of 1000 W/m2. [-]"""
    weather_air_c: Array
    """Air of the weather years. [degC]"""
    air_c: Array
    """Air, made colder as the brief asks. [degC]"""
    inside_c: Array
    heat_gap_k: Array
    """Set-point above the air, 0 where it is not, or where no heating is wanted. [K]"""
    heat_gain_w: Array
    """What people give off. [W]"""
    around_over_k: Array
    """Surroundings of a cold box above 25 degC. [K]"""
    around_under_k: Array
    """Surroundings of a cold box below 25 degC. [K]"""
    day_type: NDArray[np.int64]
    """Kind of each day of a trip, shape (``LONGEST_NIGHTS``,)."""
    kinds: DayKinds
    stores_night: tuple[float, float, float]
    """Water [L], waste water [L] and toilet visits of 24 hours."""
    _dark: Array = field(repr=False)
    _panels: dict[tuple[float, float], int] = field(default_factory=dict, repr=False)
    _yields: list[Array] = field(default_factory=list, repr=False)
    _banks: dict[int, tuple[Array, Array]] = field(default_factory=dict, repr=False)
    _counts: dict[int, Array] = field(default_factory=dict, repr=False)

    def panel_class(self, coefficient_pct_k: float, noct_c: float) -> int:
        """Number of a class of panels; a class not met before gets the next one."""
        key = (float(coefficient_pct_k), float(noct_c))
        if key not in self._panels:
            self._yields.append(_panel_yield(self, *key))
            self._panels[key] = len(self._yields) - 1
        return self._panels[key]

    @property
    def panel_classes(self) -> dict[tuple[float, float], int]:
        """Number of each class of panels met so far, by coefficient [%/K] and NOCT [degC]."""
        return dict(self._panels)

    def panel_yield(self, number: int) -> Array:
        """Power of a rated watt of that class of panels, shape (B, 24); -1 stands for none. [W/W]"""
        return self._dark if number < 0 else self._yields[number]

    def bank_series(self, number: int) -> tuple[Array, Array]:
        """Share of the capacity, and 1 where it may be charged, of a bank class, both (B, 24). [-]"""
        if number not in self._banks:
            self._banks[number] = _bank_series(self, *BANK_CLASSES[number])
        return self._banks[number]

    def date(self, departure: int) -> tuple[str, str]:
        """Name of the year and 'MM-DD' of a departure."""
        year, day = divmod(int(self.departures[departure]), DAYS)
        return self.year_names[year], month_day(day)

    def rows(self, departure: int, nights: int) -> NDArray[np.int64]:
        """The rows of a departure's trip, one a night."""
        year, day = divmod(int(self.departures[departure]), DAYS)
        run: NDArray[np.int64] = year * DAYS + (day + np.arange(nights, dtype=np.int64)) % DAYS
        return run

    def meal_counts(self, nights: int) -> Array:
        """How often each meal is cooked in so many nights, shape (M,)."""
        if nights not in self._counts:
            self._counts[nights] = self.schedule.meals[: 24 * nights].sum(axis=0)
        return self._counts[nights]


def build_scene(
    brief: Brief, years: Sequence[WeatherYear], panel_classes: Iterable[tuple[float, float]] = ()
) -> Scene:
    """The scene of a brief in its weather years.

    Parameters
    ----------
    brief : Brief
    years : one or more weather years, hours in local standard time
    panel_classes : pairs (power coefficient [%/K], NOCT [degC]) to number first, in sorted order, so
        that the numbers do not hang on which kit is looked at first
    """
    if not years:
        raise ValueError("a scene needs at least one weather year")
    schedule = build_schedule(brief)
    day_type, kinds = _kinds_of_day(brief, schedule)
    count = len(years)
    night = np.tile([is_night(brief, (START_HOUR + hour) % 24) for hour in range(24)], (DAYS * count, 1))
    ghi, own_air = _joined([year.ghi for year in years]), _joined([year.air_c for year in years])
    glass = _joined([share_of_level(year.ghi, year.dhi, year.sun_elevation_deg) for year in years])
    comfort, place = brief.comfort, brief.place
    air = own_air - place.colder_by
    wanted = np.where(night, comfort.night_temperature, comfort.day_temperature)
    rise = comfort.hot_van_rise * ghi / STANDARD_SUN
    around = (np.maximum(wanted, own_air) if comfort.heating else own_air) + rise - COLD_BOX_BASE_C
    scene = Scene(
        brief=brief,
        year_names=tuple(year.name for year in years),
        departures=_departures(brief, count),
        schedule=schedule,
        ghi=ghi,
        dni=_joined([year.dni for year in years]),
        glass=glass,
        sun=ghi * glass / STANDARD_SUN * loss_factor(place.soiling, place.shading, place.sun_stress),
        weather_air_c=own_air,
        air_c=air,
        inside_c=np.maximum(wanted, air) if comfort.heating else air,
        heat_gap_k=np.maximum(wanted - air, 0.0) if comfort.heating else np.zeros_like(air),
        heat_gain_w=np.where(night, comfort.people_heat * len(brief.people), 0.0),
        around_over_k=np.maximum(around, 0.0),
        around_under_k=np.maximum(-around, 0.0),
        day_type=day_type,
        kinds=kinds,
        stores_night=_stores_night(brief),
        _dark=np.zeros_like(ghi),
    )
    for pair in sorted(set(panel_classes)):
        scene.panel_class(*pair)
    return scene


def month_day(day: int) -> str:
    """'MM-DD' of a day of the year counted from 0, without leap days."""
    return "{:02d}-{:02d}".format(*date_of(day))


def day_of_year(text: str) -> int:
    """Day of the year counted from 0 of an 'MM-DD'."""
    return day_index(int(text[:2]), int(text[3:]))


def _stores_night(brief: Brief) -> tuple[float, float, float]:
    supplies, people = brief.supplies, len(brief.people)
    water = supplies.water_per_person_day * people + supplies.other_water_day
    visits = supplies.toilet_visits_per_person_day * people if supplies.toilet else 0.0
    return water, supplies.grey_share * water, visits


def _joined(series: Sequence[Array]) -> Array:
    """Years of 8760 hours as rows from noon to noon."""
    days = [np.roll(hours, -START_HOUR).reshape(DAYS, 24) for hours in series]
    return np.ascontiguousarray(np.concatenate(days), dtype=np.float64)


def _departures(brief: Brief, years: int) -> NDArray[np.int64]:
    first, last = day_of_year(brief.trip.season_from), day_of_year(brief.trip.season_to)
    days = (first + np.arange((last - first) % DAYS + 1, dtype=np.int64)) % DAYS
    return np.concatenate([year * DAYS + days for year in range(years)])


def _kinds_of_day(brief: Brief, schedule: Schedule) -> tuple[NDArray[np.int64], DayKinds]:
    """Days of the schedule that are alike share a kind, numbered as they first come."""
    parts = (schedule.drive, schedule.fan, schedule.uses_w, schedule.meals, schedule.meals_driving)
    days = np.column_stack([part.reshape(HOURS, -1) for part in parts]).reshape(LONGEST_NIGHTS, -1)
    known: dict[bytes, int] = {}
    of_day = np.empty(LONGEST_NIGHTS, dtype=np.int64)
    rows: list[int] = []
    for number, day in enumerate(days):
        key = day.tobytes()
        if key not in known:
            known[key] = len(rows)
            rows.append(number)
        of_day[number] = known[key]

    def each(hourly: Array) -> Array:
        by_day = hourly.reshape(LONGEST_NIGHTS, 24, *hourly.shape[1:])
        return np.ascontiguousarray(by_day[rows])

    is_dc = np.array([use.supply == "dc" for use in brief.uses], dtype=bool)
    return of_day, DayKinds(
        drive=each(schedule.drive),
        fan=each(schedule.fan),
        uses_dc=each(schedule.uses_w[:, is_dc].sum(axis=1)),
        uses_ac=each(schedule.uses_w[:, ~is_dc].sum(axis=1)),
        meals=each(schedule.meals),
        meals_driving=each(schedule.meals_driving),
    )


def _panel_yield(scene: Scene, coefficient_pct_k: float, noct_c: float) -> Array:
    place = scene.brief.place
    counted = loss_factor(place.soiling, place.shading, place.sun_stress)
    brighter = max(1.0, place.sun_stress / 100.0)  # a sun above the year's own warms the cells as well
    power = array_power(scene.ghi * brighter, scene.weather_air_c, 1.0, coefficient_pct_k, noct_c)
    scaled: Array = power * scene.glass * (counted / brighter)
    return scaled


def _bank_series(scene: Scene, chemistry: str, warm: bool, charges_cold: bool) -> tuple[Array, Array]:
    cells = scene.inside_c if warm else scene.air_c
    allowed: Array = may_charge(chemistry, cells) * (charges_cold | (cells >= 0.0))
    share: Array = capacity_factor(chemistry, cells)
    return np.ascontiguousarray(share), np.ascontiguousarray(allowed)
