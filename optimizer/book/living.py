"""Fourth chapter: warmth, water, waste, cold food and cooking.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from optimizer.book import charts
from optimizer.book.answer import every
from optimizer.book.blocks import Bars, Block, Cell, Chapter, Figure, Num, Para, Subhead, Table
from optimizer.book.bounds import bars
from optimizer.book.facts import Facts
from optimizer.showing import L_PER_US_GALLON, show
from optimizer.trips.burnt import fuel_burnt
from optimizer.weather.year import MONTHS

_WARMTH = ("heat_output",)
_FUEL = ("fuel",)
_WATER = ("water", "grey_water", "toilet")
_COLD = ("chilled", "frozen")


RATED_C = (25.0, 32.0)
"""Around a cold box where catalogs tell its energy a day."""


def living(facts: Facts) -> Chapter:
    """Everything people feel, drink, eat and leave behind."""
    blocks: list[Block] = []
    if facts.job.brief.comfort.heating:
        blocks += [Subhead("Warmth"), *_warmth(facts)]
    blocks += _fuel(facts)
    blocks += [
        Subhead("Water and waste"),
        *_bars(facts, "Water, waste and toilet over the trip", _WATER),
        *_water(facts),
    ]
    if any(facts.option(g.name) for g in facts.job.problem.of_kind("cold_box")):
        blocks += [Subhead("Cold food"), *_bars(facts, "Cold room", _COLD), *_cold(facts)]
    if facts.job.brief.meals:
        blocks += [Subhead("Cooking"), _meals(facts)]
    return Chapter("living", "Heat, water, cold food, cooking", tuple(blocks))


def _bars(facts: Facts, caption: str, slugs: tuple[str, ...]) -> list[Block]:
    found = bars(facts, (limit for limit in facts.limits if limit.slug in slugs and limit.allowed))
    return [Bars(caption, found)] if found else []


def _warmth(facts: Facts) -> list[Block]:
    brief, units = facts.job.brief, facts.units
    insulation = facts.option("insulation")
    loss = insulation.effects["heat_loss_w_k"] if insulation else 0.0
    blocks = _bars(facts, "Heat on the coldest night, at the altitude of the brief", _WARMTH)
    words = f"The whole van loses {show(loss, 'W/K', units)}, air changes included"
    night = brief.place.coldest_night
    if night is not None:
        gap = brief.comfort.day_temperature - night
        words += (
            f"; from {show(night, 'degC', units)} outside"
            f" to {show(brief.comfort.day_temperature, 'degC', units)} inside"
            f" that is {show(loss * gap, 'W', units)} before the people's own heat"
        )
    rows: list[tuple[Cell, ...]] = [
        (surface.name, surface.kind, facts.num(surface.area, "m2"), surface.facing)
        for surface in brief.vehicle.surfaces
    ]
    return [
        *blocks, Para(words + "."),
        Table("The body as it was counted", ("surface", "kind", "area", "heat leaves"), tuple(rows), small=True,
              note="'insulated' and 'floor' take the insulation chosen; glass, door and bare do not."),
    ]  # fmt: skip


def _fuel(facts: Facts) -> list[Block]:
    replay = facts.replay
    blocks = _bars(facts, "Fuel for a trip (the thirstiest departure that comes through)", _FUEL)
    if replay is None:
        return [Subhead("Fuel"), *blocks] if blocks else []
    burnt = fuel_burnt(replay)
    on_board = {fuel: replay.numbers.fuel_l.get(fuel, 0.0) for fuel in burnt}
    if burnt:
        most = ", ".join(f"{show(float(litres.max()), 'L', facts.units)} of {fuel}" for fuel, litres in burnt.items())
        alt = f"What a trip from each departure day burns, at most {most}; flat lines show what is on board."
        picture = charts.fuel(burnt, on_board, replay, facts.units, alt)
        blocks.append(
            Figure("fuel-burnt", "What a trip burns by departure day, beside what is on board.", alt, picture)
        )
    return [Subhead("Fuel"), *blocks] if blocks else []


def _water(facts: Facts) -> list[Block]:
    brief = facts.job.brief
    a_day = brief.supplies.water_per_person_day * len(brief.people) + brief.supplies.other_water_day
    return [Para(
        f"Everybody together takes {show(a_day, 'L', facts.units)} a day for {facts.kit.nights}"
        f" {'day' if facts.kit.nights == 1 else 'days'};"
        f" {100 * brief.supplies.grey_share:.0f} % of it is kept as waste and emptied only where that is allowed."
    )]  # fmt: skip


def _cold(facts: Facts) -> list[Block]:
    rows: list[tuple[Cell, ...]] = []
    first = int(facts.job.brief.trip.season_from[:2])
    months = sorted(facts.job.problem.months, key=lambda month: (month - first) % 12)
    for group in facts.job.problem.of_kind("cold_box"):
        option = facts.option(group.name)
        if option is None:
            continue
        loads = {m: option.get(f"cold_dc_{m}_wh") + option.get(f"cold_ac_{m}_wh") for m in months}
        hottest = max(loads, key=lambda month: (loads[month], -month))
        rows.append((
            facts.name_of(option.parts[0][0]),
            *(Num(float(loads[m]), f"{loads[m]:,}", "") for m in months),
            MONTHS[hottest - 1],
        ))  # fmt: skip
    head = ("Wh a day", *(MONTHS[m - 1] for m in months), "thirstiest")
    low, high = (show(degrees, "degC", facts.units) for degrees in RATED_C)
    note = f"From two rated points ({low} and {high} around it), a straight line between them."
    return [Table("What the cold boxes draw on the mean day", head, tuple(rows), small=True, note=note)] if rows else []


def _small_volume(litres: float, facts: Facts) -> str:
    """Millilitres, or US fluid ounces: a 128th of a gallon."""
    if facts.units == "us":
        return f"{128 * litres / L_PER_US_GALLON:.1f} fl oz"
    return f"{1000 * litres:.0f} mL"


def _meals(facts: Facts) -> Table:
    rows: list[tuple[Cell, ...]] = []
    groups = list(facts.job.problem.of_kind("meal"))
    for group, meal in zip(groups, facts.job.brief.meals, strict=True):
        option = facts.option(group.name)
        if option is None:
            continue
        power = option.effects.get("dc_wh", 0.0) + option.effects.get("ac_wh", 0.0)
        cooker = facts.kit.choices[group.name]
        name = facts.name_of(cooker) if cooker in facts.job.catalog else cooker
        litres = option.effects.get("fuel_l", 0.0)
        fuel = f"{_small_volume(litres, facts)} of {option.traits['fuel']}" if litres else "none"
        rows.append((
            meal.name, meal.ability, f"{meal.hour:02d}:00", every(meal.every_days),
            name, facts.num(meal.heat, "Wh"), facts.num(power, "Wh"), fuel,
        ))  # fmt: skip
    head = ("meal", "how", "at", "how often", "cooked on", "heat into the food", "electricity", "fuel")
    return Table("What cooks what", head, tuple(rows))
