"""The charts of the book: energy by month, the spell that binds, every departure, axles, money and mass.

On the road: facts -> *charts* -> chapters. Needs matplotlib, and only when a chart is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from optimizer.book.look import BLUE, FILLS, GREY, INK, ORANGE, SKY, VERMILION, chart
from optimizer.physics import Array
from optimizer.places.weighing import Weights
from optimizer.showing import KG_PER_POUND, L_PER_US_GALLON, System, in_system
from optimizer.trips.flows import SOURCES
from optimizer.trips.replay import Replay
from optimizer.weather.year import MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROUNDING_WH = 1e-6
"""What gives no more than this in any hour gives nothing, and is not in the picture."""


def _shortened(name: str, most: int = 34) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def by_month(months: Sequence[int], given: Mapping[str, Array], taken: Mapping[str, Array], alt: str) -> str:
    """Mean day of each month as two stacked bars: what gives and what takes [Wh a day]."""

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        places = np.arange(len(months), dtype=float)
        styles = iter(FILLS * 4)
        for side, offset in ((given, -0.2), (taken, 0.2)):
            base = np.zeros(len(months))
            for name, wh in side.items():
                colour, hatch = next(styles)
                axes.bar(
                    places + offset,
                    wh,
                    0.36,
                    bottom=base,
                    color=colour,
                    hatch=hatch,
                    edgecolor="white",
                    linewidth=0.4,
                    label=_shortened(name),
                )
                base = base + wh
        axes.set_xticks(places, [MONTHS[month - 1] for month in months])
        axes.set_ylabel("Wh a day")
        axes.grid(axis="x", visible=False)
        axes.set_title("left bar: what gives; right bar: what takes", fontsize=8.5, loc="left")
        figure.legend(loc="outside lower center", fontsize=8, ncols=3)

    return chart("energy-by-month", alt, (7.6, 4.2), draw)


def spell(replay: Replay, departure: int, units: System, alt: str) -> str:
    """The hours around the spell of a departure: power, what is left in the bank, temperatures."""
    found, trip = replay.spell(departure), replay.flows(departure)
    first = max(0, found.begins.trip_hour - 12)
    last = min(24 * replay.nights, found.ends.trip_hour + 13)
    hours = np.arange(first, last + 1, dtype=float)

    def draw(figure: Figure) -> None:
        power, bank, warmth = figure.subplots(3, 1, sharex=True, height_ratios=(3, 3, 2))
        _power(power, hours, trip.energy, slice(first, last))
        left = (trip.capacity_wh - trip.depth_wh)[0, first:last]
        bank.fill_between(hours[1:], left, color=SKY, alpha=0.6, linewidth=0, label="left in the bank")
        bank.plot(hours[1:], left, color=BLUE, linewidth=1.5)
        bank.plot(hours[1:], trip.capacity_wh[0, first:last], color=INK, linestyle=":", label="usable when full")
        bank.set_ylim(bottom=min(0.0, float(left.min())))
        bank.set_ylabel("Wh")
        for series, style, name in ((trip.inside_c, "--", "inside"), (trip.air_c, "-", "outside")):
            degrees = [in_system(float(value), "degC", units)[0] for value in series[0, first:last]]
            colour = INK if name == "inside" else VERMILION
            warmth.plot(hours[1:], degrees, style, color=colour, linewidth=1.2, label=name)
        warmth.set_ylabel("°F" if units == "us" else "°C")
        for axes in (power, bank, warmth):
            axes.axvspan(found.begins.trip_hour, found.ends.trip_hour + 1, facecolor=GREY, alpha=0.16, zorder=0)
            axes.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=5, fontsize=8, borderpad=0.1)
            axes.margins(x=0)
        _clock(warmth, replay, departure, first, last)

    return chart("binding-spell", alt, (7.6, 4.9), draw)


def _power(axes: Axes, hours: Array, energy: Mapping[str, Array], some: slice) -> None:
    load = sum((wh[0, some] for name, wh in energy.items() if name not in SOURCES), np.zeros(len(hours) - 1))
    sun, driven = energy["sun"][0, some], energy["alternator"][0, some]
    if sun.max(initial=0.0) > _ROUNDING_WH:
        axes.bar(
            hours[:-1], sun, 1.0, align="edge", color=ORANGE, hatch="///", edgecolor="white", linewidth=0, label="sun"
        )
    if driven.max(initial=0.0) > _ROUNDING_WH:
        axes.bar(
            hours[:-1], driven, 1.0, bottom=sun, align="edge", color=BLUE, hatch="...", edgecolor="white",
            linewidth=0, label="alternator",
        )  # fmt: skip
    axes.step(hours, np.append(load, load[-1]), where="post", color=INK, linewidth=1.3, label="taken")
    axes.set_ylabel("W")


def _clock(axes: Axes, replay: Replay, departure: int, first: int, last: int) -> None:
    step = 12 if last - first <= 120 else 24 if last - first <= 240 else 48
    ticks = [hour for hour in range(first, last + 1) if (hour + 12) % step == 0]
    moments = [replay.moment(departure, hour) for hour in ticks]
    axes.set_xticks(ticks, [f"{m.date}\n{m.hour:02d}:00" if m.hour == 0 else f"{m.hour:02d}:00" for m in moments])
    axes.set_xlabel("month-day and hour; shaded: from the bank's last full hour to its least")


def departures(replay: Replay, alt: str) -> str:
    """The least that every departure leaves in the bank, by departure day [Wh]."""
    room, alive = replay.outcomes.room_wh, replay.outcomes.survived
    days = np.arange(replay.departures)

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        axes.bar(days[alive], room[alive], 0.9, color=BLUE, linewidth=0, label="runs short of nothing")
        if (~alive).any():
            axes.plot(days[~alive], room[~alive], "x", color=VERMILION, label="runs short of something")
        axes.axhline(0.0, color=INK, linewidth=0.9)
        names = [replay.scene.date(int(day)) for day in days]
        firsts = [int(day) for day in days if names[day][1].endswith("-01") or day == 0]
        every = max(1, len(firsts) // 12)
        axes.set_xticks(firsts[::every], [names[day][1] for day in firsts[::every]])
        axes.set_ylabel("least left in the bank,\nbelow 0: lacking [Wh]")
        axes.set_xlabel("departure, month-day" + (", year after year" if len(replay.scene.year_names) > 1 else ""))
        axes.margins(x=0.01)
        axes.grid(axis="x", visible=False)
        axes.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, fontsize=8)

    return chart("departures", alt, (7.6, 2.7), draw)


def fuel(burnt: Mapping[str, Array], on_board: Mapping[str, float], replay: Replay, units: System, alt: str) -> str:
    """What every departure burns of each fuel, with what is on board."""
    factor = 1 / L_PER_US_GALLON if units == "us" else 1.0
    styles = ("-", "--", "-.", ":")

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        for (name, litres), style, (colour, _) in zip(burnt.items(), styles, FILLS, strict=False):
            axes.plot(litres * factor, style, color=colour, linewidth=1.4, label=f"{name} burnt")
            level = on_board.get(name, 0.0) * factor
            axes.axhline(level, color=colour, linestyle=":", linewidth=1.6)
            axes.annotate(
                f"{name} on board", (replay.departures / 2, level), xytext=(0, 3), textcoords="offset points",
                fontsize=8, color=INK, ha="center",
            )  # fmt: skip
        names = [replay.scene.date(day)[1] for day in range(replay.departures)]
        firsts = [day for day, name in enumerate(names) if name.endswith("-01") or day == 0]
        every = max(1, len(firsts) // 12)
        axes.set_xticks(firsts[::every], [names[day] for day in firsts[::every]])
        axes.set_ylim(bottom=0)
        axes.set_ylabel("US gallons a trip" if units == "us" else "litres a trip")
        axes.set_xlabel("departure, month-day")
        axes.margins(x=0.01)
        axes.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, fontsize=8)

    return chart("fuel-burnt", alt, (7.6, 2.7), draw)


def axles(states: Sequence[Weights], allowed: Mapping[str, int], units: System, alt: str) -> str:
    """Front axle, rear axle and side difference in each loading state, beside what each may carry."""
    factor = (1 / KG_PER_POUND if units == "us" else 1.0) / 1000

    def draw(figure: Figure) -> None:
        some = figure.subplots(1, 3)
        for axes, (name, used) in zip(
            some,
            (("front axle", [s.front for s in states]), ("rear axle", [s.rear for s in states]),
             ("side difference", [s.difference for s in states])),
            strict=True,
        ):  # fmt: skip
            places = np.arange(len(states))
            axes.barh(places, [grams * factor for grams in used], 0.6, color=BLUE)
            limit = allowed[name] * factor
            for place, value in zip(places, [grams * factor for grams in used], strict=True):
                inside = value > limit / 4  # else there is no room for the number in the bar
                axes.text(
                    value / 2 if inside else value + limit / 50, place, f"{value:,.0f}", fontsize=8, va="center",
                    ha="center" if inside else "left", color="white" if inside else INK, fontweight="bold",
                )  # fmt: skip
            axes.axvline(limit, color=VERMILION, linestyle="--", linewidth=1.4)
            axes.set_title(f"{name}: {limit:,.0f} allowed", fontsize=9, loc="left")
            axes.set_yticks(places, [s.state for s in states] if axes is some[0] else [""] * len(states))
            axes.invert_yaxis()
            axes.set_xlim(0, 1.12 * max(limit, *(grams * factor for grams in used)))
            axes.set_xlabel("lb" if units == "us" else "kg")
            axes.grid(axis="y", visible=False)

    return chart("axles", alt, (7.6, 2.2), draw)


def by_system(names: Sequence[str], cents: Sequence[int], grams: Sequence[int], units: System, alt: str) -> str:
    """Money and mass of each system side by side."""
    factor = (1 / KG_PER_POUND if units == "us" else 1.0) / 1000

    def draw(figure: Figure) -> None:
        money, mass = figure.subplots(1, 2, sharey=True)
        places = np.arange(len(names))
        one = money.barh(places, [value / 100 for value in cents], 0.65, color=BLUE)
        money.bar_label(one, [f"${value / 100:,.0f}" for value in cents], padding=3, fontsize=8)
        money.set_xlabel("US dollars")
        other = mass.barh(
            places, [value * factor for value in grams], 0.65, color=ORANGE, hatch="///", edgecolor="white"
        )
        mass.bar_label(other, [f"{value * factor:,.1f}" for value in grams], padding=3, fontsize=8)
        mass.set_xlabel("lb" if units == "us" else "kg")
        money.set_yticks(places, [_shortened(name, 26) for name in names])
        money.invert_yaxis()
        for axes in (money, mass):
            axes.grid(axis="y", visible=False)
            axes.margins(x=0.16)

    return chart("by-system", alt, (7.6, 0.5 + 0.32 * len(names)), draw)


def tradeoffs(
    numbers: Sequence[Sequence[float]], knees: Sequence[int], names: tuple[str, str], units: tuple[str, str],
    mine: tuple[float, float] | None, system: System, alt: str,
) -> str:  # fmt: skip
    """Kits by two goals, less of both being better, with knees and the book's own kit marked."""

    def one(value: float, unit: str) -> float:
        return value / KG_PER_POUND if system == "us" and unit == "kg" else value

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        across, up = ([one(values[place], units[place]) for values in numbers] for place in (0, 1))
        axes.step(across, up, where="post", color=GREY, linewidth=1.0, zorder=1)
        axes.plot(across, up, "o", color=BLUE, label="trade-off")
        if knees:
            axes.plot(
                [across[k] for k in knees], [up[k] for k in knees], "D", markersize=11, markerfacecolor="none",
                markeredgecolor=INK, label="knee",
            )  # fmt: skip
        if mine is not None:
            own = [one(value, unit) for value, unit in zip(mine, units, strict=True)]
            axes.plot([own[0]], [own[1]], "x", color=VERMILION, markersize=10, markeredgewidth=2, label="this book")
        shown = ["lb" if system == "us" and unit == "kg" else unit for unit in units]
        axes.set_xlabel(f"{names[0]} [{shown[0]}]")
        axes.set_ylabel(f"{names[1]} [{shown[1]}]")
        axes.legend(loc="upper right")

    return chart("tradeoffs", alt, (7.6, 3.8), draw)
