"""A trip as a picture: sun and loads, what is left in the bank, temperatures, the spell.

On the road: replay -> *picture* -> build book. Told apart by line style and shade as well as by colour
(the colours are those of Okabe and Ito, "Color Universal Design", 2008, chosen for colour-blind readers;
values from memory), so that it reads in grey. The same trip gives the same bytes.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from optimizer.frames import write_picture
from optimizer.physics import Array
from optimizer.trips.flows import SOURCES, Flows
from optimizer.trips.replay import DepartureReport, Replay, Spell

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ORANGE, SKY, BLUE, VERMILION, GREY = "#E69F00", "#56B4E9", "#0072B2", "#D55E00", "#BBBBBB"


def draw_trip(replay: Replay, departure: int, path: Path) -> Path:
    """Draw one departure's trip to ``path``, an SVG or PNG by its ending; returns the path.

    The file is written whole or not at all. Raises UsageError for another ending, and MissingExtra
    without matplotlib, FaultsFound when it cannot be written.
    """
    write_picture(path, lambda figure: _draw(figure, replay, departure), (9.0, 7.0))
    return path


def _draw(figure: Figure, replay: Replay, departure: int) -> None:
    trip, spell, report = replay.flows(departure), replay.spell(departure), replay.report(departure)
    hours = np.arange(24.0 * replay.nights + 1)
    power, bank, warmth = figure.subplots(3, 1, sharex=True, height_ratios=(3, 3, 2))
    _power(power, hours, trip)
    _bank(bank, hours, trip, report)
    _warmth(warmth, hours, trip)
    for axes in (power, bank, warmth):
        if spell.hours:
            axes.axvspan(
                spell.begins.trip_hour, spell.ends.trip_hour + 1, facecolor=GREY, alpha=0.35, zorder=0,
                hatch="....", edgecolor="white", linewidth=0,
            )
        axes.set_xlim(0, hours[-1])
    _days(warmth, replay, departure)
    figure.suptitle(headline(report, spell), fontsize=10)


def headline(report: DepartureReport, spell: Spell) -> str:
    """What the picture shows, in two lines."""
    if report.when is None:
        ending = f"runs short of nothing, least room {report.room_wh:,.0f} Wh"
    else:
        ending = (
            f"runs short of {report.cause} on {report.when.date} at {report.when.hour:02d}:00,"
            f" lacking {report.lack:,.{2 if report.unit == 'L' else 0}f} {report.unit}"
        )
    stretch = (
        f"spell (shaded): {spell.hours} h from {spell.begins.date} {spell.begins.hour:02d}:00,"
        f" {spell.sunless_hours} h without sunshine, mean air {spell.mean_air_c:.1f} °C"
        if spell.hours else "no spell: the bank is full in the hour of least room"
    )
    return f"{report.year}, departure {report.date}: {ending}\n{stretch}"


def _held(values: Array) -> Array:
    """Hourly means as the height of steps: the last one is held to the end."""
    return np.append(values, values[-1])


def _power(axes: Axes, hours: Array, trip: Flows) -> None:
    used = trip.energy["sun"][0]
    offered = used + trip.turned_away["sun with a full bank"][0]
    offered += trip.turned_away["sun beyond the controller"][0]
    load = sum((wh[0] for name, wh in trip.energy.items() if name not in (*SOURCES, "lost in the bank")),
               np.zeros_like(used))
    axes.fill_between(hours, _held(offered), step="post", facecolor="white", edgecolor=ORANGE, hatch="////",
                      linewidth=0.6, label="sun turned away")
    axes.fill_between(hours, _held(used), step="post", color=ORANGE, linewidth=0, label="sun used")
    if trip.energy["alternator"].any():
        driven = trip.energy["alternator"][0] + trip.turned_away["alternator with a full bank"][0]
        axes.step(hours, _held(driven), where="post", color=BLUE, linestyle="--", label="alternator")
    axes.step(hours, _held(load), where="post", color="black", linewidth=0.9, label="load")
    axes.set_ylabel("power [W]")
    axes.set_ylim(bottom=0)
    _legend(axes)


def _bank(axes: Axes, hours: Array, trip: Flows, report: DepartureReport) -> None:
    capacity, depth = trip.capacity_wh[0], trip.depth_wh[0]
    left = np.append(capacity[0], capacity - depth)  # full at the start, then the end of each hour
    axes.plot(hours, np.append(capacity[0], capacity), color="black", linestyle=":", label="usable when full")
    if left.min() < 0:
        axes.fill_between(hours, np.minimum(left, 0.0), facecolor=VERMILION, edgecolor="white", hatch="xxx",
                          linewidth=0, label="lacking")
    axes.plot(hours, left, color=BLUE, linewidth=1.4, label="left in the bank")
    axes.axhline(0.0, color="black", linewidth=0.8)
    if report.when is not None:
        axes.axvline(report.when.trip_hour, color=VERMILION, linestyle="-.", label=f"short of {report.cause}")
    axes.set_ylabel("energy [Wh]")
    _legend(axes)


def _warmth(axes: Axes, hours: Array, trip: Flows) -> None:
    axes.step(hours, _held(trip.inside_c[0]), where="post", color="black", linestyle="--", linewidth=0.9,
              label="inside")
    axes.step(hours, _held(trip.air_c[0]), where="post", color=SKY, linewidth=1.2, label="outside")
    axes.set_ylabel("temperature [°C]")
    _legend(axes)


def _legend(axes: Axes) -> None:
    axes.legend(
        loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=5, frameon=False, fontsize=8, borderpad=0.1
    )


def _days(axes: Axes, replay: Replay, departure: int) -> None:
    every = max(1, -(-replay.nights // 12))
    midnights = range(12, 24 * replay.nights, 24 * every)
    axes.set_xticks(list(midnights), [replay.moment(departure, hour).date for hour in midnights])
    axes.set_xlabel("midnight that begins the day (month-day)")
