"""Limits and wishes in the builder's words, with the brief's own keys and values.

On the road: *explain* -> words. ``line_of`` says what the brief asks; ``give_of`` what a give is.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from optimizer.brief.trip import LEAST_COVERAGE
from optimizer.explain.giving import ROOF, step_of
from optimizer.explain.members import Member
from optimizer.job import Job
from optimizer.rules import COVERAGE
from optimizer.showing import System, show

BETWEEN_PARTS = {
    "charge_current": "how fast the bank may be charged", "discharge_power": "how much the bank gives at once",
    "array_voltage": "the controller's highest panel voltage", "array_current": "the controller's panel current",
    "array_headroom": "the panel voltage left on the hottest day", "controller_current": "the controller's output",
}  # fmt: skip
NAMES_BETWEEN = {
    "charge_current": "charging current", "discharge_power": "bank power", "array_voltage": "array voltage",
    "array_current": "array current", "array_headroom": "array voltage when hot",
    "controller_current": "controller current",
}  # fmt: skip
NAMES = {
    "budget": "budget", "payload": "payload", "front_axle": "front axle", "rear_axle": "rear axle",
    "side_balance": "balance of the sides", ROOF: "roof", "roof_load": "roof load", "overall_height": "overall height",
    "parking_length": "parking length", "bay_space": "bays", "sunless_energy": "sunless days",
    "daily_balance": "daily balance", "alternator_spare": "alternator", "heat_output": "heat on the coldest night",
    "fuel": "fuel", "water": "fresh water", "grey_water": "waste water", "toilet": "toilet",
    "chilled": "chilled food", "frozen": "frozen food", COVERAGE: "coverage", **NAMES_BETWEEN,
}  # fmt: skip
UNITS = {
    "budget": ("USD", 100), "payload": ("kg", 1000), "front_axle": ("kg", 1000), "rear_axle": ("kg", 1000),
    "side_balance": ("kg", 1000), "roof_load": ("kg", 1000), "overall_height": ("mm", 1), "parking_length": ("mm", 1),
    "sunless_energy": ("Wh", 1), "daily_balance": ("Wh", 1), "alternator_spare": ("A", 1000), "heat_output": ("W", 1),
    "fuel": ("L", 1000), "water": ("L", 1000), "grey_water": ("L", 1000), "chilled": ("L", 1000),
    "frozen": ("L", 1000), "toilet": ("visits", 1000), "charge_current": ("A", 1000), "discharge_power": ("W", 1),
    "array_voltage": ("V", 1000), "array_headroom": ("V", 1000), "array_current": ("A", 1000),
    "controller_current": ("A", 1000), COVERAGE: ("departures", 1),
}  # fmt: skip


ALL_ASKED = {"chilled": "chilled_ml", "frozen": "frozen_ml"}
"""What the brief asks for in all of what is given up, where one number says it."""
MEASURED = {"m", "m2", "m3", "h", *(unit for unit, _ in UNITS.values())}
"""Units of which there may be a part of one; what others count may come in ones."""


def unit_of(job: Job, name: str) -> tuple[str, int]:
    """Unit of a limit's give, and how many of its integers make one."""
    if name == ROOF:
        return ("mm", 1) if job.problem.space is not None else ("m2", 10_000)
    if name.startswith("own:"):
        return next(((o.unit, 1000) for o in job.problem.own_limits if f"own:{o.name}" == name), ("", 1000))
    return UNITS[name]


def name_of(member: Member) -> str:
    """A limit or wish by name."""
    if member.name in NAMES:
        return NAMES[member.name]
    what, _, rest = member.name.replace("own:", "own ").partition(" ")
    return {"own": f"your own limit '{rest}'", "required": f"part '{rest}' wanted",
            "refused": f"part '{rest}' not wanted", "skill": f"no {rest.replace('_', ' ')}"}[what]  # fmt: skip


def amount(value: int, unit: str, scale: int, system: System) -> str:
    """So much of a unit, rounded up as it is shown: never less than what it takes."""
    return show(abs(value) / scale, unit, system, up=True)


def line_of(job: Job, member: Member) -> str:
    """What the brief says, with the key to look for and its value."""
    name = member.name
    if name in _LINES:
        return _LINES[name](job)
    if name in BETWEEN_PARTS:
        return f"{BETWEEN_PARTS[name]} (it lies between the parts)"
    what, _, rest = name.partition(" ")
    if what == "required":
        return f"part '{rest}' must be in (preferences.required)"
    if what == "refused":
        return f"part '{rest}' must stay out (preferences.refused)"
    if what == "skill":
        return f"nobody for {rest.replace('_', ' ')} (preferences.skills)"
    own = next(o for o in job.brief.limits.own if f"own:{o.name}" == name)
    bounds = [f"at most {own.at_most:g}"] if own.at_most is not None else []
    bounds += [f"at least {own.at_least:g}"] if own.at_least is not None else []
    also = _also_us(job, [bound for bound in (own.at_most, own.at_least) if bound is not None], own.unit)
    words = f"{' and '.join(bounds)} {own.unit}{also} of {own.column} in all (limits.own '{own.name}')"
    return words.replace("  ", " ")


def _also_us(job: Job, bounds: list[float], unit: str) -> str:
    """The brief's own bounds once more in US units, as all else about them is told, where these are others."""
    shown = [_say(job, bound, unit) for bound in bounds]
    others = shown != [show(bound, unit) for bound in bounds]
    return f" ({' and '.join(shown)})" if others else ""


def _say(job: Job, value: float, unit: str) -> str:
    return show(value, unit, job.brief.units)


def _payload(job: Job) -> str:
    vehicle, margin = job.brief.vehicle, job.brief.limits.payload_margin
    left = job.problem.need("payload_g") / 1000
    return (
        f"a gross rating of {_say(job, vehicle.gross_mass, 'kg')} (vehicle.gross_mass) with"
        f" {_say(job, margin, 'kg')} kept free, which leaves {_say(job, left, 'kg')} to load"
    )


def _nights(job: Job) -> str:
    return f"{show(job.brief.trip.nights, 'nights')} (trip.nights)"


def _coldest(job: Job) -> str:
    given = job.brief.place.coldest_night
    cold = "the coldest hour of the season" if given is None else f"{_say(job, given, 'degC')} (place.coldest_night)"
    inside = _say(job, job.brief.comfort.night_temperature, "degC")
    return f"a heater strong enough for {inside} inside (comfort.night_temperature) at {cold}"


def _sunless(job: Job) -> str:
    days = job.brief.trip.sunless_days
    return f"{days:g} sunless {'day' if days == 1 else 'days'} on the bank alone (trip.sunless_days)"


def _height(job: Job) -> str:
    given = job.brief.limits.overall_height
    return "no more height than 10 m" if given is None else (
        f"an overall height of {_say(job, given, 'mm')} (limits.overall_height)"
    )


def _roof(job: Job) -> str:
    roof = job.brief.vehicle.roof
    parts = f" with {len(roof.flats)} flat parts" if roof.flats else ""
    return f"a roof of {_say(job, roof.length, 'mm')} by {_say(job, roof.width, 'mm')}{parts} (vehicle.roof)"


def _bays(job: Job) -> str:
    many = len(job.brief.vehicle.bays)
    return f"{many} bays as they are (vehicle.bays)" if many > 1 else "one bay as it is (vehicle.bays)"


def _spare(job: Job) -> str:
    vehicle, amperes = job.brief.vehicle, job.problem.need("alternator_ma") / 1000
    return (
        f"{_say(job, amperes, 'A')} to spare from the alternator, {vehicle.alternator_spare:g} % of its"
        f" {_say(job, vehicle.alternator_current, 'A')} (vehicle.alternator_spare)"
    )


_LINES: dict[str, Callable[[Job], str]] = {
    "budget": lambda j: f"a budget of {_say(j, j.brief.limits.budget, 'USD')} (limits.budget)",
    "payload": _payload,
    "front_axle": lambda j: f"a front axle rated {_say(j, j.brief.vehicle.front_axle_rating, 'kg')}"
    " (vehicle.front_axle_rating)",
    "rear_axle": lambda j: f"a rear axle rated {_say(j, j.brief.vehicle.rear_axle_rating, 'kg')}"
    " (vehicle.rear_axle_rating)",
    "side_balance": lambda j: f"no more than {_say(j, j.problem.need('side_g') / 1000, 'kg')} between the sides"
    " (vehicle.side_difference)",
    ROOF: _roof,
    "roof_load": lambda j: f"a roof that carries {_say(j, j.brief.vehicle.roof.load, 'kg')} (vehicle.roof.load)",
    "overall_height": _height,
    "parking_length": lambda j: f"a parking space of {_say(j, j.brief.limits.parking_length, 'mm')}"
    " (limits.parking_length)",
    "bay_space": _bays,
    "sunless_energy": _sunless,
    "daily_balance": lambda _: "the mean day of each month must break even (trip.daily_balance)",
    "alternator_spare": _spare,
    "heat_output": _coldest,
    "fuel": lambda j: f"fuel for {_nights(j)}",
    "water": lambda j: f"{_say(j, j.problem.need('water_ml_night') / 1000, 'L')} of water a night"
    f" (supplies.water_per_person_day) for {_nights(j)}",
    "grey_water": lambda j: f"{_say(j, j.problem.need('grey_ml_night') / 1000, 'L')} of waste water a night"
    f" (supplies.grey_share) for {_nights(j)}",
    "toilet": lambda j: f"{j.problem.need('millivisits_night') / 1000:g} toilet visits a night"
    f" (supplies.toilet_visits_per_person_day) for {_nights(j)}",
    "chilled": lambda j: f"{_say(j, j.brief.supplies.chilled, 'L')} of chilled food (supplies.chilled)",
    "frozen": lambda j: f"{_say(j, j.brief.supplies.frozen, 'L')} of frozen food (supplies.frozen)",
    COVERAGE: lambda j: f"{j.brief.trip.coverage:g} % of the departures must run short of nothing (trip.coverage)",
}

_MORE = {
    "budget": "{} more to spend", "payload": "{} more payload", "front_axle": "{} more on the front axle",
    "rear_axle": "{} more on the rear axle", "side_balance": "{} more between the sides",
    ROOF: "{} more roof length", "roof_load": "{} more on the roof", "overall_height": "{} more height",
    "parking_length": "{} more parking space", "sunless_energy": "{} less kept for the sunless days",
    "daily_balance": "{} a day that need not be made up", "alternator_spare": "{} more from the alternator",
    "heat_output": "{} less heat on the coldest night", "fuel": "{} less fuel to carry",
    "water": "{} less fresh water on the trip", "grey_water": "{} less waste water on the trip",
    "toilet": "{} fewer on the trip", "chilled": "{} less chilled food", "frozen": "{} less frozen food",
    COVERAGE: "{} more that may run short",
    **{slug: f"{{}} more {words}" for slug, words in (
        ("charge_current", "charging current for the bank"), ("discharge_power", "power from the bank"),
        ("array_voltage", "panel voltage at the controller"), ("array_headroom", "panel voltage on the hottest day"),
        ("array_current", "panel current at the controller"), ("controller_current", "current from the controller"))},
}  # fmt: skip
_OPPOSITE = {" more ": " less ", " less ": " more ", " fewer ": " more "}


def give_of(job: Job, member: Member, give: int) -> str:
    """What gives, in words; below zero the other way round."""
    what, _, rest = member.name.partition(" ")
    if not member.numbers:
        return {"required": f"not wanting part '{rest}' any more", "refused": f"allowing part '{rest}' after all",
                "skill": f"someone for {rest.replace('_', ' ')}", "bay_space": "larger bays"}[what]  # fmt: skip
    unit, scale = unit_of(job, member.name)
    much = amount(give, unit, scale, job.brief.units)
    asked = job.problem.needs.get(ALL_ASKED.get(member.name, ""), 0)
    if asked and give >= asked:  # not more than there is to give, by rounding
        box = ", though still with a box" if member.name == "chilled" else ""
        return f"{_MORE[member.name].format(_say(job, asked / scale, unit))} (none at all{box})"
    if member.name.startswith("own:"):
        return _own_give(job, member, give, much)
    words = _MORE.get(member.name, "{} more ")
    if member.name == ROOF and unit == "m2":
        words = "{} more roof"
    if give < 0:
        words = next((words.replace(a, b) for a, b in _OPPOSITE.items() if a in words), words)
        words = words.replace("need not be made up", "must be left over")
        words = words.replace(" less ", " fewer ") if member.name == COVERAGE else words
    beside = (_as_in_brief(job, member, give), _share_left(job, member, give), _step(job, member, give))
    return words.format(much) + "".join(beside)


def with_give(job: Job, member: Member, give: int) -> str:
    """The same as the beginning of a sentence."""
    words = give_of(job, member, give)
    return f"{words[0].upper()}{words[1:]}" if member.slug in ("required", "refused") else f"With {words}"


def _own_give(job: Job, member: Member, give: int, much: str) -> str:
    """A limit of the brief's own, lowered where it asks for something, raised where it allows something."""
    own = next(o for o in job.brief.limits.own if f"own:{o.name}" == member.name)
    if own.at_least is not None and own.at_most is not None:
        how = "looser" if give > 0 else "tighter"
    else:
        how = "lower" if (own.at_least is not None) == (give > 0) else "higher"
    bounds = [bound for bound in (own.at_least, own.at_most) if bound is not None]
    if own.unit not in MEASURED and all(bound == int(bound) for bound in bounds):  # what the brief counts by ones
        much = amount(-(-abs(give) // 1000) * 1000, own.unit, 1000, job.brief.units)
    if own.unit == own.name:  # 'boards' lower by 1, not by '1 boards'
        much = much.removesuffix(f" {own.unit}")
    return f"your own limit '{own.name}' {how} by {much}"


def _step(job: Job, member: Member, give: int) -> str:
    """The steps in which a give was looked for, where it is not told to the last unit; only a roof shrinks in steps."""
    step = step_of(job.problem, member.name)
    if step <= 1 or (give < 0 and member.name != ROOF):
        return ""
    unit, scale = unit_of(job, member.name)
    return f" (looked for in steps of {_say(job, step / scale, unit)})"


def _share_left(job: Job, member: Member, give: int) -> str:
    """The share of departures that is still asked for, as the brief says it; rounded down, so that it is enough."""
    if member.name != COVERAGE or not job.years:
        return ""
    departures = int(job.scene.departures.size)
    left = math.floor(1000 * (departures - job.allowed_short - give) / departures) / 10
    beyond = f", less than the {LEAST_COVERAGE} % that a brief may ask for" if left < LEAST_COVERAGE else ""
    return f" (a coverage of {left:g} %{beyond})"


def _as_in_brief(job: Job, member: Member, give: int) -> str:
    """What the brief's own line would say: the share of water or of a current; by how much the litres a day change."""
    nights = job.brief.trip.nights
    if member.name == "alternator_spare" and (current := round(1000 * job.brief.vehicle.alternator_current)):
        left = 1000 * (job.problem.need("alternator_ma") + give)
        permille = -(-left // current) if give > 0 else left // current
        return f" ({permille / 10:g} % of its current)" if 0 <= permille <= 1000 else ""
    if member.name == "water":
        a_day = amount(give, "L", 1000 * len(job.brief.people) * nights, job.brief.units)
        waste = ", as much of it waste as today" if job.problem.needs.get("grey_ml_night", 0) else ""
        return f" ({a_day} a person a day {'less' if give > 0 else 'more'}{waste})"
    water = nights * job.problem.needs.get("water_ml_night", 0)
    if member.name != "grey_water" or not water:
        return ""
    left = 1000 * (nights * job.problem.need("grey_ml_night") - give)
    permille = left // water if give > 0 else -(-left // water)
    return f" (a share of {permille / 1000:g})" if 0 <= permille <= 1000 else ""
