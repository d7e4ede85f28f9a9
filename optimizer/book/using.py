"""Living with it: which months it is good for, how cold it may get, what to do when it runs short.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

import math

import numpy as np

from optimizer.book.blocks import Answers, Block, Cell, Chapter, Num, Table
from optimizer.book.facts import Facts
from optimizer.damp import damp_warning
from optimizer.parts.records import AlternatorCharger, ChargeController, Cooker, Heater, MainsCharger
from optimizer.problem.season import season_of
from optimizer.showing import show
from optimizer.weather.year import MONTHS

_CHARGERS = (ChargeController, AlternatorCharger, MainsCharger)


def using(facts: Facts) -> Chapter:
    """The chapter."""
    blocks: list[Block] = []
    if facts.replay is not None:
        blocks.append(_by_month(facts))
    found = [
        ("What charges the bank?", _uncharged(facts)),
        ("How long does the bank last without sun?", _sunless(facts)),
        ("How cold may it get outside?", _coldest(facts)),
        ("May the bank be charged in frost?", _frost(facts)),
        ("Will it drip?", _damp(facts)),
        ("What runs out first, and what then?", _first(facts)),
        ("What stays in its bay?", _stowed(facts)),
        ("How is it left standing?", _standing(facts)),
    ]
    blocks.append(Answers(tuple((question, answer) for question, answer in found if answer)))
    return Chapter("using", "Living with it", tuple(blocks))


def _by_month(facts: Facts) -> Table:
    """Of the departures of each month, how many run short of nothing, and the least that is left."""
    replay = facts.replay
    assert replay is not None
    months = np.array([int(replay.scene.date(day)[1][:2]) for day in range(replay.departures)])
    alive, room = replay.outcomes.survived, replay.outcomes.room_wh
    rows: list[tuple[Cell, ...]] = []
    for month in dict.fromkeys(months.tolist()):
        some = months == month
        covered, count = int(alive[some].sum()), int(some.sum())
        rows.append((
            MONTHS[month - 1], Num(float(count), str(count)), Num(float(covered), str(covered), f"covered {month}"),
            Num(100 * covered / count, f"{100 * covered / count:.0f} %"),
            facts.num(max(0.0, float(room[some].min())), "Wh"),
        ))  # fmt: skip
    head = ("departure in", "departures", "short of nothing", "share", "least in the bank")
    note = "Months that are not here were not asked for; nothing is said of them."
    return Table("Which months it is good for", head, tuple(rows), note=note)


def _uncharged(facts: Facts) -> str:
    if any(isinstance(record, _CHARGERS) for record in facts.records):
        return ""
    return "Nothing in this kit does. Every trip was counted from a full bank: charge it elsewhere before you leave."


def _sunless(facts: Facts) -> str:
    bank, limit = facts.option("battery"), facts.limit("sunless_energy")
    days = facts.job.brief.trip.sunless_days
    if bank is None or limit is None or not days:
        return ""
    a_day, held = limit.used / limit.scale / days, limit.allowed / limit.scale
    lasts = math.floor(10 * held / a_day + 1e-9) / 10
    return (
        f"The mean day of the thirstiest month takes {show(a_day, 'Wh', facts.units)}; the bank gives"
        f" {show(held, 'Wh', facts.units)} on such a day, so {lasts:.1f} days with no sun and no drive. Switch"
        " off what you can do without when two grey days are forecast."
    )


def _coldest(facts: Facts) -> str:
    limit, insulation = facts.limit("heat_output"), facts.option("insulation")
    if limit is None or insulation is None:
        return ""
    comfort, season = facts.job.brief.comfort, season_of(facts.job.brief, facts.job.years)
    loss, gives = insulation.effects["heat_loss_w_k"], limit.allowed / limit.scale
    words = [
        f"{show(inside - (gives + season.people_heat_w) / loss, 'degC', facts.units)} for"
        f" {show(inside, 'degC', facts.units)} inside {when}"
        for inside, when in ((comfort.day_temperature, "by day"), (comfort.night_temperature, "at night"))
    ]
    return (
        f"The heater gives {show(gives, 'W', facts.units)}, the people {show(season.people_heat_w, 'W', facts.units)},"
        f" and the van loses {show(loss, 'W/K', facts.units)}. That holds down to {' and '.join(words)}, steady and"
        " without wind; below that it gets colder inside. Water pipes and waste tanks outside the warm part freeze"
        " first: drain them before a night of frost."
    )


def _frost(facts: Facts) -> str:
    bank = facts.option("battery")
    if bank is None or not bank.traits["chemistry"].startswith("lfp"):
        return ""
    bay = facts.bay_of("battery")
    stands = f" It stands in '{bay}'" if bay else ""
    warm = (", which the heater keeps warm." if bank.effects["warm"] else ", which nothing keeps warm.") if bay else ""
    if bank.effects["charges_cold"]:
        return f"Yes: it warms its cells before it takes any charge.{stands}{warm}"
    return (
        "No: cells below freezing are harmed by any charge, and the manager must cut it off. The trips count no charge"
        f" into a cold bank.{stands}{warm} After days parked unheated, heat first, then let it charge."
    )


def _damp(facts: Facts) -> str:
    if not facts.job.brief.comfort.heating:
        return ""
    return damp_warning(facts.job, facts.kit) or (
        "Not on the lined walls on the coldest night of the brief, at the humidity of an aired van; glass and bare ribs"
        " are colder and will be wet some mornings. Air the van while you cook."
    )


def _first(facts: Facts) -> str:
    replay = facts.replay
    if replay is None:
        return ""
    if not replay.causes:
        return "Nothing did on any departure of the weather years that were run. A harder year than those may come."
    named = ", ".join(f"{cause} on {count}" for cause, count in replay.causes.items())
    kinds = {group.kind for group, _ in facts.kit.options(facts.job.problem)}
    charging = {"alternator_charger": "drive an hour", "mains_charger": "plug in"}
    ways = [what for kind, what in charging.items() if kind in kinds]
    ways.append("or come home a day early" if ways else "come home a day early")
    return (
        f"Of {replay.departures} departures: {named}. Running short is no disaster: {', '.join(ways)}."
        " Look at the bank's state of charge each evening, and at the tanks every second day."
    )


def _stowed(facts: Facts) -> str:
    """What a bay only holds on the road. Common practice, no source."""
    if facts.kit.places is None:
        return ""
    words = (
        "On the road everything, strapped. The plan finds room for all of it; what you reach for while parked comes out"
        " or gets a lid."
    )
    fixed = {r.skill == "gas_fitting" for r in facts.records if isinstance(r, Cooker)}
    if False in fixed:
        words += (
            " A stove in a closed bay is only stowed: take it out, cook on a firm level top with a window open, let it"
            " cool before it goes back."
        )
    if True in fixed:
        words += (
            " A gas cooker stays where its pipe ends: open its bay above it before you light it, with a window open and"
            " nothing near that burns."
        )
    if any(isinstance(r, Heater) and not r.opening for r in facts.records):
        words += " A heater in a closed bay is only stowed: run it in the open, upright, with nothing on or near it."
    return words + (
        " The extinguisher must be in reach of bed and door: where its bay is not, hang it beside the door."
        " Alarms go where their makers say, not in a bay."
    )


def _standing(facts: Facts) -> str:
    frost = facts.job.brief.place.coldest_night
    drain = ", drain water, waste and pump before frost" if frost is None or frost < 0 else ""
    return (
        "Disconnect open, bank about half full for lithium and full for lead, cold box empty and ajar, gas and fuel"
        f" shut{drain}. Makers' sheets go first. Charge again every few months."
    )
