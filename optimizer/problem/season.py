"""What the place does to a kit: sun, warmth and cold of the season's months, from the weather years.

On the road: weather -> *problem*. Everything is a mean day of a month, over all weather years of the
brief, with the brief's stress on the sun and its colder-by setting already in; the coldest and hottest
hours are those of the season, but panels stay on the roof in light and frost all year. As on the trips,
colder-by chills the air for heating and for what must bear the cold only: panels and cold boxes would gain
by it, so they keep the weather years' own air.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.brief import Brief
from optimizer.parts.records import ColdBox, Insulation, SolarPanel
from optimizer.physics import cold, heat, sun
from optimizer.physics.glass import share_of_level
from optimizer.weather.year import HOURS, WeatherYear, month_of_hour

Array = NDArray[np.float64]
_MONTH_OF_HOUR = month_of_hour()
_HOUR_OF_DAY = np.arange(HOURS) % 24


@dataclass(frozen=True, eq=False)
class Season:
    """The weather years of a brief, seen month by month."""

    brief: Brief
    years: tuple[WeatherYear, ...]

    @cached_property
    def months(self) -> tuple[int, ...]:
        """Months that the departure window touches, in the order of the calendar."""
        first, last = int(self.brief.trip.season_from[:2]), int(self.brief.trip.season_to[:2])
        wraps = self.brief.trip.season_to < self.brief.trip.season_from
        count = last - first + 1 + (12 if wraps else 0)
        return tuple(sorted({(first - 1 + i) % 12 + 1 for i in range(min(count, 12))}))

    @cached_property
    def _in_month(self) -> dict[int, NDArray[np.bool_]]:
        month = np.tile(_MONTH_OF_HOUR, len(self.years))
        return {m: month == m for m in self.months}

    @cached_property
    def _in_season(self) -> NDArray[np.bool_]:
        return np.isin(np.tile(_MONTH_OF_HOUR, len(self.years)), self.months)

    @cached_property
    def ghi(self) -> Array:
        """Sun on the flat roof after stress, shading and dirt, all years in a row [W/m2]."""
        place = self.brief.place
        share = sun.loss_factor(place.soiling, place.shading, place.sun_stress)
        return np.concatenate([year.ghi for year in self.years]) * share

    @cached_property
    def _glass(self) -> Array:
        """Share of the sun that gets through the glass of panels that lie flat [-]."""
        return np.concatenate([share_of_level(year.ghi, year.dhi, year.sun_elevation_deg) for year in self.years])

    @cached_property
    def weather_air_c(self) -> Array:
        """Outside air of the weather years, all in a row [degC]."""
        return np.concatenate([year.air_c for year in self.years])

    @cached_property
    def air_c(self) -> Array:
        """Outside air after the colder-by setting, all years in a row [degC]."""
        return self.weather_air_c - self.brief.place.colder_by

    @cached_property
    def inside_c(self) -> Array:
        """Set-point hour by hour, all years in a row [degC]."""
        comfort = self.brief.comfort
        start, end = comfort.night_from, comfort.night_to
        night = (start <= _HOUR_OF_DAY) | (end > _HOUR_OF_DAY) if start > end else (
            (start <= _HOUR_OF_DAY) & (end > _HOUR_OF_DAY)
        )
        day = np.where(night, comfort.night_temperature, comfort.day_temperature)
        return np.tile(day, len(self.years))

    @property
    def altitude_m(self) -> float:
        """Height above sea level: the brief's, else the highest of the stations' [m]."""
        given = self.brief.place.altitude
        return max(year.altitude_m for year in self.years) if given is None else given

    @cached_property
    def coldest_hour_c(self) -> float:
        """The coldest hour of the season's months in the weather years [degC]."""
        return float(self.air_c[self._in_season].min())

    @cached_property
    def coldest_c(self) -> float:
        """Temperature to be safe at: the brief's coldest night, or the season's coldest hour if colder."""
        coldest = self.coldest_hour_c
        given = self.brief.place.coldest_night
        return coldest if given is None else min(given, coldest)

    @cached_property
    def bare_coldest_c(self) -> float:
        """What stays on the roof must bear: the coldest hour of whole years, or the brief's night if colder [degC]."""
        return min(self.coldest_c, float(self.air_c.min()))

    @cached_property
    def night_c(self) -> float:
        """Temperature to be warm at: the brief's coldest night, else the season's coldest hour [degC]."""
        given = self.brief.place.coldest_night
        return self.coldest_hour_c if given is None else given

    @cached_property
    def hottest_c(self) -> float:
        """The brief's hottest day, or the season's hottest hour if hotter [degC]."""
        hottest = float(self.weather_air_c[self._in_season].max())
        given = self.brief.place.hottest_day
        return hottest if given is None else max(given, hottest)

    def _mean_day(self, series: Array, month: int) -> float:
        return float(series[self._in_month[month]].mean()) * 24

    def sun_wh(self, month: int, panel: SolarPanel) -> float:
        """What one panel makes on the mean day, at its best working point [Wh]."""
        return panel.power_w * self._yield(month, panel.power_coefficient_pct_k, panel.noct_c)

    def _yield(self, month: int, coefficient: float, noct_c: float) -> float:
        key = (month, coefficient, noct_c)
        if key not in self._yields:
            hourly = sun.array_power(self.ghi, self.weather_air_c, 1.0, coefficient, noct_c) * self._glass
            self._yields[key] = self._mean_day(hourly, month)
        return self._yields[key]

    @cached_property
    def _yields(self) -> dict[tuple[int, float, float], float]:
        return {}

    def switched_wh(self, month: int, panel: SolarPanel, bank_v: float, series: int) -> float:
        """What one panel of a string gives through a switching controller on the mean day [Wh].

        Its working current flows at the bank's voltage; never more than the panel can make.
        """
        rated = min(panel.imp_a * bank_v / series, panel.power_w)
        key = (month, panel.power_coefficient_pct_k, panel.noct_c, rated / panel.power_w)
        if key not in self._switched:
            made = sun.array_power(self.ghi, self.weather_air_c, 1.0, panel.power_coefficient_pct_k, panel.noct_c)
            held = np.minimum(made, rated / panel.power_w * self.ghi / sun.STANDARD_SUN)
            self._switched[key] = self._mean_day(held * self._glass, month)
        return panel.power_w * self._switched[key]

    @cached_property
    def _switched(self) -> dict[tuple[int, float, float, float], float]:
        return {}

    def vmp_hot(self, panel: SolarPanel) -> float:
        """Working voltage of a panel in full sun on the hottest day [V].

        The power coefficient stands for the voltage's: it is the larger, so the voltage is never flattered.
        """
        cell = float(sun.cell_temperature(sun.STANDARD_SUN, self.hottest_c, panel.noct_c))
        return float(sun.vmp_hot(panel.vmp_v, panel.power_coefficient_pct_k, cell))

    def heat_loss(self, insulation: Insulation) -> float:
        """Heat loss of the van with that insulation, air changes included [W/K]."""
        vehicle, comfort = self.brief.vehicle, self.brief.comfort
        return heat.heat_loss(vehicle.surfaces, insulation, vehicle.air_volume, comfort.air_changes)

    @property
    def people_heat_w(self) -> float:
        """Heat the people give [W]."""
        return heat.body_heat(len(self.brief.people), self.brief.comfort.people_heat)

    def heat_wh(self, month: int, loss_w_k: float) -> float:
        """Heat a heater must supply on the mean day [Wh]."""
        demand = heat.heat_demand(loss_w_k, self.inside_c, self.air_c, self.people_heat_w)
        return self._mean_day(np.asarray(demand), month)

    def night_w(self, loss_w_k: float) -> float:
        """Heat a heater must hold on the coldest night [W]."""
        inside = self.brief.comfort.night_temperature
        return float(heat.heat_demand(loss_w_k, inside, self.night_c, self.people_heat_w))

    @cached_property
    def _around_c(self) -> Array:
        """Temperature around a cold box: the warmer of set-point and air, more in a van in the sun [degC]."""
        comfort = self.brief.comfort
        own = self.weather_air_c
        inside = np.maximum(self.inside_c, own) if comfort.heating else own
        ghi = np.concatenate([year.ghi for year in self.years])
        return inside + comfort.hot_van_rise * ghi / sun.STANDARD_SUN

    def cold_wh(self, month: int, box: ColdBox) -> float:
        """What a cold box takes on the mean day [Wh]."""
        draw = cold.cold_box_draw(box.wh_day_25 / 24, box.wh_day_32 / 24, self._around_c)
        return self._mean_day(np.asarray(draw), month)


def season_of(brief: Brief, years: Sequence[WeatherYear]) -> Season:
    """The season of a brief in these weather years."""
    return Season(brief, tuple(years))
