"""Third chapter: where energy comes from and goes, by month, and the spell that binds hour by hour.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from optimizer.book import charts
from optimizer.book.blocks import Block, Cell, Chapter, Figure, Num, Para, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.physics import Array
from optimizer.replaying import coverage_line, spell_sentence
from optimizer.showing import in_system, show
from optimizer.trips.flows import SOURCES, flows
from optimizer.trips.replay import SUNSHINE_W_M2, Replay, Spell
from optimizer.trips.scene import DAYS, month_day
from optimizer.trips.schedule import START_HOUR
from optimizer.weather.year import MONTHS

_SUNSHINE = (
    f"An hour counts as without sunshine when the direct sun stays below {SUNSHINE_W_M2:g} W/m²: the nights, and grey"
    " days, on which panels still give a little."
)
_AT_ONCE = 64
LONGEST_TABLE_DAYS = 14
"""Days of the spell that the book prints hour by hour; the file of hours has them all."""
_LEAST_WH = 0.5
WORST = 6
DRAWN = 6
"""Takers that the chart by month names."""


def energy(facts: Facts) -> Chapter | None:
    """The chapter; None for a brief without trips."""
    replay = facts.replay
    if replay is None:
        return None
    blocks: list[Block] = [Para(coverage_line(replay))]
    if replay.causes:
        blocks.append(Para("What ran short first: " + ", ".join(f"{c} ({n})" for c, n in replay.causes.items()) + "."))
    blocks += [_departures(replay), *_months(facts, replay), *_spell(facts, replay), _worst(facts, replay)]
    lead = "Every departure day of the season was run hour by hour through the weather years named on the first page."
    return Chapter("energy", "Energy, month by month, hour by hour", tuple(blocks), lead)


def _departures(replay: Replay) -> Figure:
    rooms = replay.outcomes.room_wh
    alt = (
        f"One bar for each of {replay.departures} departures: the least energy left in the bank, from"
        f" {rooms.min():,.0f} to {rooms.max():,.0f} watt-hours; {replay.departures - replay.covered} are marked short."
    )
    return Figure("departures", "How near each departure comes to an empty bank.", alt, charts.departures(replay, alt))


def monthly(replay: Replay) -> dict[str, dict[int, float]]:
    """Mean day of each calendar month: entry -> month -> Wh a day, over all hours of all departures."""
    sums: dict[str, Array] = {}
    hours = np.zeros(13)
    month_of = _months_of_hours()
    for start in range(0, replay.departures, _AT_ONCE):
        some = replay.outcomes.departures[start : start + _AT_ONCE]
        trip = flows(replay.scene, replay.numbers, replay.nights, some)
        months = np.array([month_of[replay.scene.rows(int(place), replay.nights) % DAYS].ravel() for place in some])
        hours += np.bincount(months.ravel(), minlength=13)
        for name, wh in {**trip.energy, **{f"turned away: {n}": w for n, w in trip.turned_away.items()}}.items():
            added: Array = np.bincount(months.ravel(), weights=wh.ravel(), minlength=13).astype(np.float64)
            sums[name] = sums[name] + added if name in sums else added
    seen = [month for month in range(1, 13) if hours[month]]
    return {name: {m: float(24 * wh[m] / hours[m]) for m in seen} for name, wh in sums.items()}


def _months_of_hours() -> NDArray[np.int64]:
    """The month of each hour of a row: rows run from noon to noon, shape (365, 24)."""
    months = np.array([int(month_day(day)[:2]) for day in range(DAYS)])
    table = np.repeat(months[:, None], 24, axis=1)
    table[:, 24 - START_HOUR :] = np.roll(months, -1)[:, None]
    return table


def _months(facts: Facts, replay: Replay) -> list[Block]:
    found = monthly(replay)
    months = sorted(next(iter(found.values())))
    order = _in_season(months, facts.job.brief.trip.season_from)
    kept = {name: values for name, values in found.items() if max(abs(v) for v in values.values()) >= _LEAST_WH}
    given: dict[str, Array] = {name: _series(kept[name], order) for name in ("sun", "alternator") if name in kept}
    taken = {
        n.removeprefix("use: ") if n.removeprefix("use: ") not in kept else n: _series(v, order)
        for n, v in kept.items() if n not in SOURCES and not n.startswith("turned away")
    }  # fmt: skip
    store = _series(kept["store"], order) if "store" in kept else np.zeros(len(order))
    drawn = {"bank, emptier than it was": np.maximum(store, 0.0)} if store.max() >= _LEAST_WH else {}
    filled = {"bank, fuller than it was": np.maximum(-store, 0.0)} if store.min() <= -_LEAST_WH else {}
    alt = (
        "Two stacked bars for each month, what gives and what takes, in watt-hours a day."
        " The table below has the numbers."
    )
    head = ("Wh a day", *(MONTHS[month - 1] for month in order))
    rows: list[tuple[Cell, ...]] = [_row(f"gives: {name}", wh) for name, wh in given.items()]
    if "store" in kept:
        rows.append(_row("gives: bank, emptier at the end than at the start", _series(kept["store"], order)))
    rows += [_row(f"takes: {name}", wh) for name, wh in taken.items()]
    rows += [_row(name, _series(v, order)) for name, v in kept.items() if name.startswith("turned away")]
    rows.append(_row("takes, all together", sum(taken.values(), np.zeros(len(order)))))
    caption = "The mean day of each month, over all hours of all departures."
    picture = charts.by_month(order, {**given, **drawn}, {**_biggest(taken), **filled}, alt)
    figure = Figure("energy-by-month", caption, alt, picture)
    return [
        Subhead("By month"),
        figure,
        Table("Energy of the mean day by month", head, tuple(rows), feet=1, small=True),
    ]


def _biggest(taken: dict[str, Array]) -> dict[str, Array]:
    """The biggest takers by name and all else together: more could not be told apart in a picture."""
    order = sorted(taken, key=lambda name: (-float(taken[name].sum()), name))
    rest = [taken[name] for name in order[DRAWN:]]
    shown = {name: taken[name] for name in order[:DRAWN]}
    return {**shown, "all else": np.sum(rest, axis=0)} if rest else shown


def _in_season(months: list[int], season_from: str) -> list[int]:
    first = int(season_from[:2])
    return sorted(months, key=lambda month: (month - first) % 12)


def _series(values: dict[int, float], order: list[int]) -> Array:
    return np.array([values[month] for month in order])


def _row(name: str, wh: Array) -> tuple[Cell, ...]:
    return (name, *(Num(float(value), f"{value:,.0f}") for value in wh))


def _spell(facts: Facts, replay: Replay) -> list[Block]:
    found = replay.binding_spell()
    sentence = spell_sentence(found, facts.units)
    alt = f"Power, energy in the bank and temperatures over the hours around the spell. {sentence}"
    picture = charts.spell(replay, found.departure, facts.units, alt)
    caption = f"The spell that binds, hour by hour (shaded), with half a day on both sides. {_SUNSHINE}"
    figure = Figure("binding-spell", caption, alt, picture)
    blocks: list[Block] = [Subhead("The spell that sets the size"), Para(sentence), figure]
    return [*blocks, *_hour_by_hour(facts, replay, found)]


def shown_at_all(wh: Iterable[float]) -> bool:
    """Whether any of the hours would be told as more than 0 Wh: sums of nothing can come to a trillionth."""
    return any(value >= 0.5 for value in wh)


def _hour_by_hour(facts: Facts, replay: Replay, found: Spell) -> list[Block]:
    """The spell as tables, a row for each day and a column for each hour of it."""
    table = replay.hours(found.departure)
    first, last = found.begins.trip_hour, found.ends.trip_hour + 1
    shown = table.iloc[max(first, last - 24 * LONGEST_TABLE_DAYS) : last]
    if shown.empty:
        return []
    given = [(name, shown[f"given: {name}"]) for name in ("sun", "alternator") if shown_at_all(shown[f"given: {name}"])]
    taken = sum((shown[name] for name in shown.columns if name.startswith("taken: ")), 0.0 * shown["air_c"])
    american = facts.units == "us"
    degrees = "°F" if american else "°C"
    air = [Num(float(c), f"{in_system(c, 'degC', facts.units)[0]:.{0 if american else 1}f}") for c in shown["air_c"]]
    whole = len(shown) == last - first
    grids = [
        *((f"Given by the {name} [Wh]", [Num(float(v), f"{v:.0f}") for v in series]) for name, series in given),
        ("Taken [Wh]", [Num(float(v), f"{v:.0f}") for v in taken]),
        ("Left in the bank at the end of the hour [Wh]", [Num(float(v), f"{v:.0f}") for v in shown["bank_left_wh"]]),
        (f"Air outside [{degrees}]", air),
    ]
    days, hours = list(shown["date"]), [int(hour) for hour in shown["hour"]]
    lead = Para(
        "Hour by hour, each hour by when it begins."
        + (" The file hours.csv has the whole trip." if whole else " Its last days; the file hours.csv has all.")
    )
    return [lead, *(_grid(caption, days, hours, cells) for caption, cells in grids)]


def _grid(caption: str, days: list[str], hours: list[int], cells: list[Num]) -> Table:
    """Values of hours that follow each other, a row a day; hours outside are left empty."""
    rows: dict[str, list[Cell]] = {day: [""] * 24 for day in dict.fromkeys(days)}
    for day, hour, cell in zip(days, hours, cells, strict=True):
        rows[day][hour] = cell
    head = ("day", *(f"{hour:02d}" for hour in range(24)))
    return Table(caption, head, tuple((day, *row) for day, row in rows.items()), grid=True)


def _worst(facts: Facts, replay: Replay) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for report in replay.worst(WORST):
        when = f"{report.when.date} {report.when.hour:02d}:00" if report.when else "-"
        lacks = show(report.lack, report.unit, facts.units) if report.when else "-"
        rows.append((f"{report.date} ({report.year})", report.cause if report.when else "nothing", when, lacks,
                     facts.num(max(0.0, report.room_wh), "Wh")))  # fmt: skip
    head = ("departure", "runs short of", "first", "lacks at most", "least in the bank")
    return Table("The worst departures", head, tuple(rows))
