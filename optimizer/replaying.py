"""What becomes of a kit on its trips, told in words or JSON; one trip's hours and picture as files.

On the road: kit + trips -> *terminal*, tables, pictures.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.errors import MissingExtra, UsageError
from optimizer.files import has_folder, write_whole
from optimizer.frames import known_picture, known_table
from optimizer.kitfile import dumps
from optimizer.showing import System, show
from optimizer.tables import aligned
from optimizer.trips.burnt import fuel_burnt
from optimizer.trips.replay import DepartureReport, EnergyRow, Replay, Spell

if TYPE_CHECKING:
    import pandas as pd

WORST = 10
HOUR_TABLES = (".csv", ".parquet")
SIDES = ("given", "taken", "turned away")
WITHOUT_A_ROW = 0.5
"""Entries of the energy table below so many Wh are left out of the words."""


@dataclass(frozen=True)
class Wanted:
    """What is to be shown and written."""

    departure: str | None = None
    """One trip by its departure day, 'MM-DD' or 'NAME MM-DD' where there are several weather years."""
    hours: Path | None = None
    """Write that trip's hours here (CSV or Parquet)."""
    picture: Path | None = None
    """Draw that trip here (SVG or PNG)."""
    as_json: bool = False


def tell_replay(replay: Replay, units: System, wanted: Wanted) -> str:
    """All trips, or the one asked for; files are written on the way, each whole or not at all.

    Without a departure the files show the trip that sets the size: the closest call that came through.

    Raises
    ------
    UsageError
        For a day that is no departure, or another file ending.
    MissingExtra
        For Parquet without pyarrow, and pictures without matplotlib.
    """
    for path, known in ((wanted.hours, partial(known_table, endings=HOUR_TABLES)), (wanted.picture, known_picture)):
        if path is not None:  # before anything is written
            known(path)
            has_folder(path)
    departure = find_departure(replay, wanted.departure)
    shown = replay.binding_spell().departure if departure is None else departure
    written = _write_files(replay, shown, wanted)
    if wanted.as_json:
        return dumps(trip_data(replay, departure) if departure is not None else all_data(replay))
    told = tell_all(replay, units) if departure is None else tell_trip(replay, departure, units)
    return "\n".join([told, *written]) + "\n"


def find_departure(replay: Replay, day: str | None) -> int | None:
    """The place of a departure among the scene's; None when none is asked for. Raises UsageError."""
    if day is None:
        return None
    dates = [replay.scene.date(place) for place in range(replay.departures)]
    wanted_year, _, wanted_date = day.strip().rpartition(" ")
    found = [
        place for place, (year, date) in enumerate(dates)
        if date == wanted_date and wanted_year.strip() in ("", year)
    ]
    if not found:
        first, last = dates[0][1], dates[-1][1]
        raise UsageError(
            f"--departure is '{day}'; expected a day of the season, from {first} to {last}, as MM-DD"
            " (with the weather year's name before it where there are several)."
        )
    return found[0]


def tell_all(replay: Replay, units: System) -> str:
    """Coverage, causes, the worst departures, the spell that binds, fuel, and the mean trip's energy."""
    lines = [coverage_line(replay)]
    if replay.causes:
        lines.append("What ran short first: " + ", ".join(f"{c} ({n})" for c, n in replay.causes.items()) + ".")
    lines += ["", "Worst departures:", _worst_table(replay, units)]
    lines += ["", spell_sentence(replay.binding_spell(), units)]
    lines += _fuel_lines(replay, units)
    lines += ["", f"Energy of a trip of {show(replay.nights, 'nights')}, mean of all departures:"]
    lines.append(energy_table(replay.energy))
    return "\n".join(lines)


def coverage_line(replay: Replay) -> str:
    """How many departures run short of nothing."""
    return (
        f"{replay.covered} of {replay.departures} departures run short of nothing in {show(replay.nights, 'nights')}"
        f" ({replay.coverage_pct:.1f} %)."
    )


def tell_trip(replay: Replay, departure: int, units: System) -> str:
    """One trip: what became of it, its spell, its fuel and its energy."""
    report = replay.report(departure)
    lines = [
        f"Departure {report.date} ({report.year}), {show(replay.nights, 'nights')}: {_ending(report, units)}.",
        spell_sentence(replay.spell(departure), units),
        *[
            f"Burns {show(float(litres[departure]), 'L', units)} of {fuel}."
            for fuel, litres in fuel_burnt(replay).items()
        ],
        "",
        "Energy of this trip:",
        energy_table(replay.energy_of(departure)),
    ]
    return "\n".join(lines)


def _ending(report: DepartureReport, units: System) -> str:
    if report.when is None:
        return f"runs short of nothing, {show(report.room_wh, 'Wh', units)} left at the least"
    return (
        f"runs short of {report.cause} first, on {report.when.date} at {report.when.hour:02d}:00,"
        f" lacking {show(report.lack, report.unit, units)}"
    )


def _worst_table(replay: Replay, units: System) -> str:
    rows = [("departure", "short of", "first", "lacks", "least in the bank")]
    for report in replay.worst(WORST):
        first = f"{report.when.date} {report.when.hour:02d}:00" if report.when else "-"
        lacks = show(report.lack, report.unit, units) if report.when else "-"
        cause = report.cause if report.when else "nothing"
        room = show(max(0.0, report.room_wh), "Wh", units)
        rows.append((_day(replay, report), cause, first, lacks, room))
    return aligned(rows, left=2)


def _day(replay: Replay, report: DepartureReport) -> str:
    return f"{report.date} ({report.year})" if len(replay.scene.year_names) > 1 else report.date


def spell_sentence(spell: Spell, units: System) -> str:
    """The stretch in which a trip comes closest to running short of electricity."""
    if not spell.hours:
        return f"The bank of the departure of {spell.date} ({spell.year}) is never drawn down."
    air = show(spell.mean_air_c, "degC", units)
    if spell.room_wh >= 0:
        end = f"ends with {show(spell.room_wh, 'Wh', units)} of {show(spell.capacity_wh, 'Wh', units)} left"
    else:
        end = f"ends {show(-spell.room_wh, 'Wh', units)} short"
    return (
        f"Hardest spell of the departure of {spell.date} ({spell.year}): from {spell.begins.date}"
        f" {spell.begins.hour:02d}:00 to {spell.ends.date} {spell.ends.hour:02d}:00, {spell.hours} hours of which"
        f" {spell.sunless_hours} without sunshine at a mean of {air} outside, the bank is never full and {end}."
    )


def _fuel_lines(replay: Replay, units: System) -> list[str]:
    lines = []
    for fuel, litres in fuel_burnt(replay).items():
        held = show(replay.numbers.fuel_l.get(fuel, 0.0), "L", units)
        mean, most = (show(float(amount), "L", units) for amount in (litres.mean(), litres.max()))
        lines.append(f"Fuel: a trip burns {mean} of {fuel} in the mean and {most} at most; {held} are on board.")
    return lines


def energy_table(rows: Sequence[EnergyRow]) -> str:
    """Where the energy comes from and goes to, with sums that agree, in Wh.

    Each number is rounded so that the rounded numbers still add up to the rounded sum.
    """
    table = [("energy", "Wh")]
    for side in ("given", "taken"):
        entries = [row for row in rows if row.side == side and abs(row.wh) >= WITHOUT_A_ROW]
        whole = _rounded_to_sum([row.wh for row in entries], sum(row.wh for row in rows if row.side == side))
        table += [(_label(row), f"{wh:,}") for row, wh in zip(entries, whole, strict=True)]
        table.append((f"= {side}", f"{sum(whole):,}"))
    table += [
        (f"turned away: {row.name}", f"{row.wh:,.0f}")
        for row in rows if row.side == "turned away" and row.wh >= WITHOUT_A_ROW
    ]
    return aligned(table)


def _label(row: EnergyRow) -> str:
    if row.name == "store":
        return "bank, emptier at the end than at the start"
    return row.name


def _rounded_to_sum(values: Sequence[float], total: float) -> list[int]:
    """Whole numbers near the values whose sum is the rounded total: largest remainders go up first."""
    floors = [int(value // 1) for value in values]
    missing = round(round(total, 6)) - sum(floors)
    order = sorted(range(len(values)), key=lambda place: (floors[place] - values[place], place))
    for place in order[: max(0, missing)]:
        floors[place] += 1
    return floors


def all_data(replay: Replay) -> dict[str, Any]:
    """Everything that ``tell_all`` tells, as plain data."""
    return {
        "nights": replay.nights,
        "departures": replay.departures,
        "covered": replay.covered,
        "coverage_pct": round(replay.coverage_pct, 6),
        "short_of": replay.causes,
        "worst": [_report_data(report) for report in replay.worst(WORST)],
        "binding": _spell_data(replay.binding_spell()),
        "fuel_l": {
            fuel: {
                "mean": round(float(litres.mean()), 6), "most": round(float(litres.max()), 6),
                "on_board": replay.numbers.fuel_l.get(fuel, 0.0),
            }
            for fuel, litres in fuel_burnt(replay).items()
        },
        "energy_wh": _energy_data(replay.energy),
    }


def trip_data(replay: Replay, departure: int) -> dict[str, Any]:
    """Everything that ``tell_trip`` tells, as plain data."""
    return {
        "nights": replay.nights,
        **_report_data(replay.report(departure)),
        "spell": _spell_data(replay.spell(departure)),
        "fuel_l": {fuel: round(float(litres[departure]), 6) for fuel, litres in fuel_burnt(replay).items()},
        "energy_wh": _energy_data(replay.energy_of(departure)),
    }


def _report_data(report: DepartureReport) -> dict[str, Any]:
    when = report.when
    return {
        "departure": report.date, "year": report.year, "short_of": report.cause,
        "first_short": None if when is None else {"date": when.date, "hour": when.hour, "trip_hour": when.trip_hour},
        "lack": round(report.lack, 6), "unit": report.unit, "room_wh": round(report.room_wh, 6),
    }  # fmt: skip


def _spell_data(spell: Spell) -> dict[str, Any]:
    begins, ends = ({"date": moment.date, "hour": moment.hour} for moment in (spell.begins, spell.ends))
    return {
        "departure": spell.date, "year": spell.year, "survived": spell.survived, "begins": begins, "ends": ends,
        "hours": spell.hours, "sunless_hours": spell.sunless_hours, "mean_air_c": round(spell.mean_air_c, 6),
        "room_wh": round(spell.room_wh, 6), "capacity_wh": round(spell.capacity_wh, 6),
    }  # fmt: skip


def _energy_data(rows: Sequence[EnergyRow]) -> dict[str, dict[str, float]]:
    return {side: {row.name: round(row.wh, 6) for row in rows if row.side == side} for side in SIDES}


def _write_files(replay: Replay, departure: int, wanted: Wanted) -> list[str]:
    day = replay.report(departure).date
    written = []
    if wanted.hours is not None:
        write_hours(replay.hours(departure), wanted.hours)
        written.append(f"Wrote the hours of the departure of {day} to {wanted.hours}.")
    if wanted.picture is not None:
        from optimizer.trips.picture import draw_trip

        draw_trip(replay, departure, wanted.picture)
        written.append(f"Drew the departure of {day} into {wanted.picture}.")
    return written


def write_hours(table: pd.DataFrame, path: Path) -> None:
    """Write an hourly table whole or not at all, CSV or Parquet by its ending."""
    known_table(path, HOUR_TABLES)
    if path.suffix.lower() == ".csv":
        write_whole(path, table.to_csv(float_format="%.6g", lineterminator="\n"))
        return
    try:
        import pyarrow  # noqa: F401
    except ImportError:
        raise MissingExtra("pyarrow", "tables", "Writing Parquet") from None
    written = io.BytesIO()
    table.to_parquet(written)
    write_whole(path, written.getvalue())
