"""What is odd about a brief though nothing is wrong with it: said once, before anything is chosen.

On the road: beside ``brief``; the commands print these sentences as notes. Each names key and value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from optimizer.brief.brief import Brief
from optimizer.brief.oddities_vehicle import VEHICLE_ODDITIES
from optimizer.units import show

NOON = 12  # h; bank and tanks are full at noon of the departure day
SMALL_BUDGET = 500.0  # USD; below the least a battery and a panel cost; common practice, no source
BIG_USE = 2000.0  # W; more than a 12 V thing mostly takes; common practice, no source
COLD_NIGHT = 5.0  # degC; people ask for a heater below it; common practice, no source
WARM_NIGHT = 20.0  # degC; a "coldest night" that is no cold night; common practice, no source
LOW_COVERAGE = 80.0  # %; below it more than one trip in five may run short
MUCH_SHADE = 60.0  # %; more than half of the sun is gone
MUCH_HEAT = 1500.0  # Wh a person; a litre of cold water takes about 100 Wh to boil
FAR_ABOVE_WEATHER = 5.0  # K; more than the hours of one place differ by chance; common practice, no source


def oddities(brief: Brief, coldest_hour: float | None = None) -> list[str]:
    """One sentence for each odd but possible thing, in a fixed order.

    ``coldest_hour`` is the coldest hour of the season in the weather years [degC], where that is known.
    """
    looks = (*_LOOKS, *VEHICLE_ODDITIES)
    return [*_mild_nights(brief, coldest_hour), *(sentence for look in looks for sentence in look(brief))]


def _mild_nights(brief: Brief, coldest_hour: float | None) -> Iterator[str]:
    night = brief.place.coldest_night
    if night is None:
        return
    told = f"place.coldest_night is {show(night, 'degC', brief.units)}"
    if coldest_hour is not None and night > coldest_hour + FAR_ABOVE_WEATHER:
        yield f"{told}, but the weather of the season goes down to {show(coldest_hour, 'degC', brief.units)}."
    elif night > WARM_NIGHT:
        yield f"{told}: hardly any season's coldest night is so warm."


def _season(brief: Brief) -> Iterator[str]:
    if brief.trip.season_from == brief.trip.season_to:
        yield (
            f"trip.season_from and trip.season_to are both '{brief.trip.season_from}': the season is a single"
            " day, so one departure a year is all that is tried."
        )


def _sureness(brief: Brief) -> Iterator[str]:
    trip = brief.trip
    if trip.coverage is None and trip.sunless_days == 0:
        balance = "the mean day of each month" if trip.wants_daily_balance else "nothing"
        yield (
            "trip.sunless_days is 0 and trip.coverage is left out: no cloudy day is reckoned with, and"
            f" {balance} sizes the battery."
        )
    if trip.coverage is not None and trip.coverage < LOW_COVERAGE:
        yield (
            f"trip.coverage is {trip.coverage:.9g} %: more than one trip in five may run short of something."
        )


def _driving(brief: Brief) -> Iterator[str]:
    driving, van = brief.trip.driving, brief.vehicle
    if driving.every_days == 0 and van.alternator_current > 0:
        yield (
            "trip.driving.every_days is 0 (never): the alternator of vehicle.alternator_current ="
            f" {van.alternator_current:.9g} A charges nothing."
        )
    if driving.hours > 0 and driving.start_hour + driving.hours > 24:
        yield (
            f"trip.driving.start_hour is {driving.start_hour} and hours is {driving.hours:.9g}: the drive"
            " goes on past midnight."
        )
    if driving.every_days > brief.trip.nights:
        first = "the van is driven on the first day only"
        if driving.start_hour + driving.hours <= NOON:
            first = (
                "the one drive is over before noon of the first day, when the trip's clock starts, and charges nothing"
            )
        yield f"trip.driving.every_days is {driving.every_days} and trip.nights is {brief.trip.nights}: {first}."
    for use in brief.uses:
        if use.when == "driving" and driving.every_days == 0:
            yield (
                f"The use '{use.name}' has when = 'driving', but trip.driving.every_days is 0: it never runs."
            )


def _weather(brief: Brief) -> Iterator[str]:
    place = brief.place
    if place.sun_stress > 100:
        yield f"place.sun_stress is {place.sun_stress:.9g} %: more sun than the weather year has."
    if place.shading > MUCH_SHADE:
        yield f"place.shading is {place.shading:.9g} %: most of the sun is lost before it reaches a panel."


def _warmth(brief: Brief) -> Iterator[str]:
    comfort, coldest = brief.comfort, brief.place.coldest_night
    if not comfort.heating and coldest is not None and coldest < COLD_NIGHT:
        yield (
            "comfort.heating is false, but place.coldest_night is"
            f" {show(coldest, 'degC', brief.units)}: nothing heats the van."
        )
    if comfort.heating and comfort.night_temperature > comfort.day_temperature:
        night = show(comfort.night_temperature, "degC", brief.units)
        day = show(comfort.day_temperature, "degC", brief.units)
        yield f"comfort.night_temperature is {night} and comfort.day_temperature {day}: the night is warmer."
    if not comfort.roof_fan and "fan_hours" in comfort.model_fields_set and comfort.fan_hours > 0:
        yield f"comfort.fan_hours is {comfort.fan_hours:.9g}, but comfort.roof_fan is false: no fan runs."


def _mains(brief: Brief) -> Iterator[str]:
    for use in brief.uses:
        if brief.preferences.inverter:
            break
        if use.supply == "ac":
            yield (
                f"The use '{use.name}' has supply = 'ac', but preferences.inverter is false: no kit can"
                " run it."
            )
        elif use.power * use.count >= BIG_USE:
            yield (
                f"The use '{use.name}' takes {use.power * use.count:.9g} W and preferences.inverter is false:"
                " check that it does run from the battery's voltage."
            )
    if brief.preferences.inverter and "mains_wiring" not in brief.preferences.skills:
        for use in brief.uses:
            if use.supply == "ac":
                yield (
                    f"The use '{use.name}' has supply = 'ac', but preferences.skills lacks 'mains_wiring':"
                    " inverters that ask for it cannot be fitted."
                )


def _uses(brief: Brief) -> Iterator[str]:
    if not brief.uses:
        yield "There are no [[uses]]: not even a light takes power."
    for use in brief.uses:
        if 0 < use.starting_power < use.power:
            yield (
                f"The use '{use.name}' has starting_power = {use.starting_power:.9g} W below its power"
                f" = {use.power:.9g} W."
            )
        if use.every_days > brief.trip.nights:
            yield (
                f"The use '{use.name}' has every_days = {use.every_days} and trip.nights is"
                f" {brief.trip.nights}: it runs on the first day only."
            )


def _food(brief: Brief) -> Iterator[str]:
    supplies, people = brief.supplies, len(brief.people)
    if not brief.meals:
        yield "There are no [[meals]]: nothing that cooks will be chosen."
    for meal in brief.meals:
        if meal.heat / people > MUCH_HEAT:
            yield (
                f"The meal '{meal.name}' has heat = {meal.heat:.9g} Wh for {people} people: that boils"
                " more than a dozen litres of water for each."
            )
    if supplies.water_per_person_day == 0:
        yield "supplies.water_per_person_day is 0: nobody drinks."
    if supplies.food_per_person_day == 0:
        yield "supplies.food_per_person_day is 0: no food is carried."
    if supplies.gear == 0:
        yield "supplies.gear is 0: no clothes, no tools, no bedding count against the payload."
    if not supplies.toilet and "toilet_visits_per_person_day" in supplies.model_fields_set:
        yield (
            "supplies.toilet_visits_per_person_day is"
            f" {supplies.toilet_visits_per_person_day:.9g}, but supplies.toilet is false."
        )


def _limits(brief: Brief) -> Iterator[str]:
    limits, van = brief.limits, brief.vehicle
    if limits.budget < SMALL_BUDGET:
        yield f"limits.budget is {show(limits.budget, 'USD')}: that hardly buys a battery and a panel."
    if limits.panels == 0:
        yield "limits.panels is 0: no solar panel can be chosen."
    if limits.parking_length < van.length:
        yield (
            f"limits.parking_length is {show(limits.parking_length, 'mm', brief.units)} and vehicle.length"
            f" {show(van.length, 'mm', brief.units)}: the van alone is longer than the space."
        )
    if limits.overall_height is not None and limits.overall_height < van.height:
        yield (
            f"limits.overall_height is {show(limits.overall_height, 'mm', brief.units)} and vehicle.height"
            f" {show(van.height, 'mm', brief.units)}: the bare van is too high already."
        )


def _wishes(brief: Brief) -> Iterator[str]:
    wishes = brief.preferences
    if wishes.reserve == 0:
        yield "preferences.reserve is 0 %: the battery may be run down to its last usable watt-hour."
    if wishes.goal == "longest":
        yield (
            f"preferences.goal is 'longest': any stay from 1 to {brief.trip.nights_at_most} nights"
            f" (trip.nights_at_most) may come out, and trip.nights = {brief.trip.nights} asks for nothing."
        )
    if wishes.goal == wishes.tie_break:
        yield f"preferences.goal and preferences.tie_break are both '{wishes.goal}': no tie is broken by it."
    for part in sorted({owned.part for owned in wishes.owned} & set(wishes.refused)):
        yield f"The part '{part}' is in preferences.owned and in preferences.refused: it will not be used."
    for kind in wishes.own_kinds:
        if kind.choose != "any" and kind.at_most > 1:
            yield (
                f"The own kind '{kind.name}' has at_most = {kind.at_most}, which counts only with"
                " choose = 'any'."
            )
        if kind.choose == "any" and kind.each:
            yield f"The own kind '{kind.name}' has each = '{kind.each}', which counts for nothing with choose = 'any'."


_LOOKS: tuple[Callable[[Brief], Iterator[str]], ...] = (
    _season, _sureness, _driving, _weather, _uses, _mains, _food, _warmth, _limits, _wishes,
)  # fmt: skip
