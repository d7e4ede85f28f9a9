"""A result in plain words, as a builder reads it on the terminal.

On the road: kit -> terminal. Only text is made here; the commands print it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from optimizer.check import Verdict
from optimizer.circuits.shelf import WIRING_KINDS
from optimizer.job import Job, Result
from optimizer.places.as_laid import overloads
from optimizer.places.openings import openings
from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules import Limit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.rules.roof import OverallHeight
from optimizer.showing import System, show
from optimizer.tables import aligned
from optimizer.told_limits import told_limits
from optimizer.trips.replay import Replay

SYSTEMS: dict[str, tuple[str, ...]] = {
    "Power": (
        "battery", "cell_manager", "solar_panel", "charge_controller", "alternator_charger", "mains_charger",
        "inverter", "dc_converter",
    ),
    "Warmth": ("heater", "insulation", "fuel_tank"),
    "Cold food": ("cold_box",),
    "Cooking": ("cooker",),
    "Water and waste": ("water_container", "grey_container", "toilet"),
    "Air": ("roof_fan",),
    "Safety": ("safety",),
}
OWN_SYSTEM = "Your own kinds"
_AMOUNT = re.compile(r"(\d+(?:\.\d+)?) (m3/h|W/K|L|m2|mm)\b")
CAUTION = (
    "Lithium banks, mains wiring, gas, fuel heaters and holes in the roof can burn, poison or drown you. "
    "Check all of it against local codes and have a licensed person do or inspect what the law asks; "
    "never sleep without a working carbon-monoxide alarm."
)


def system_of(kind: str) -> str:
    """The heading under which a kind of part is shown."""
    return next((system for system, kinds in SYSTEMS.items() if kind in kinds), OWN_SYSTEM)


def tell(result: Result) -> str:
    """The whole answer."""
    kit = result.kit
    if kit is None:
        return _tell_nothing(result)
    job = result.job
    parts = [_headline(result, kit), _tell_kit(job, kit), *_tell_places(job, kit), _tell_limits(result)]
    if result.replay is not None:
        parts.append(tell_trips(result.replay, job.brief.units))
    return "\n\n".join([*parts, CAUTION])


def _headline(result: Result, kit: Kit) -> str:
    outcome, job = result.outcome, result.job
    units, people = job.brief.units, len(job.brief.people)
    price = show(price_cents(job.problem, kit) / 100, "USD", units)
    mass = show(kit_mass_g(job.problem, kit) / 1000, "kg", units)
    lasts = f"{people} {'person' if people == 1 else 'people'}, {show(kit.nights, 'nights')}, {kit.voltage} V bank"
    lines = [job.brief.name or "The kit", f"{price}, {mass} of parts; {lasts}.", proof_sentence(result)]
    if outcome.status == "proven" and not outcome.ties_broken:
        lines.append("Equally good kits were not told apart within the time.")
    return "\n".join(lines)


def proof_sentence(result: Result) -> str:
    """What is proven about a result, in a sentence."""
    outcome = result.outcome
    word = _goal_words(outcome.goal.slug)
    if outcome.status == "proven":
        trips = " and survives the trips asked for" if result.replay is not None else ""
        return f"Proven: no kit that keeps every rule{trips} is {word}."
    if result.undecided:
        return (
            f"Not proven: {_kits(result.undecided)} better than this may or may not fit; laying them out was not"
            " settled within the effort. This is the best kit known to fit."
        )
    gap = ""
    if outcome.value is not None and outcome.bound is not None and outcome.value:
        share = abs(outcome.value - outcome.bound) / abs(outcome.value)
        bound = outcome.bound / outcome.goal.scale
        best = show(bound, outcome.goal.unit, result.job.brief.units)
        left = f", so at most {share:.1%} is left to gain" if share < 1 else ""
        gap = f" No kit can be better than {best}{left}."
    return f"Not proven: this is the best kit known within the time.{gap}"


def _kits(count: int) -> str:
    return "one kit" if count == 1 else f"{count} kits"


def _goal_words(goal: str) -> str:
    words = {"cheapest": "cheaper", "lightest": "lighter", "longest": "good for more nights"}
    return words.get(goal, f"better in {goal.removeprefix('most:')}")


def broken_rules(verdict: Verdict, units: System) -> list[str]:
    """What the check finds wrong with a kit, limits in the units of the brief; empty when it keeps every rule."""
    unmet = [limit for limit in verdict.limits if not limit.met]
    words = []
    for limit in unmet:
        used, allowed = (show(v / limit.scale, limit.unit, units) for v in (limit.used, limit.allowed))
        words.append(f"{limit.name.replace('_', ' ')}: used {used}, allowed {allowed}")
    return [*words, *verdict.faults[len(unmet):]]


def _tell_kit(job: Job, kit: Kit) -> str:
    problem, units = job.problem, job.brief.units
    lines = []
    for system in [*SYSTEMS, OWN_SYSTEM]:
        chosen = [(g, o) for g, o in kit.options(problem) if system_of(g.kind) == system and not g.hidden]
        if not chosen:
            continue
        price = sum(option_cents(problem, kit, option) for _, option in chosen) / 100
        mass = sum(option.mass_g for _, option in chosen) / 1000
        lines.append(f"{system}: {show(price, 'USD', units)}, {show(mass, 'kg', units)}")
        for _, option in chosen:
            lines += [f"  {line}" for line in _part_lines(job, option.parts, option.words)]
            lines += _used_up_line(kit, option)
        lines += _meal_lines(problem, kit) if system == "Cooking" else []
    return "\n".join([*lines, _small_parts_line(job, kit)])


def _small_parts_line(job: Job, kit: Kit) -> str:
    """What of it are cables, fuses and fittings, priced with what they serve."""
    units = job.brief.units
    found = [(job.catalog.part(p), n) for p, n in kit.counts(job.problem).items() if _is_small(job, p)]
    price = sum(part.price_usd * count for part, count in found)
    mass = sum(part.mass_kg * count for part, count in found)
    circuits = sum(len(option.circuits) for _, option in kit.options(job.problem))
    return (
        f"In this are {show(price, 'USD', units)} and {show(mass, 'kg', units)} of cables, fuses and fittings for"
        f" {circuits} circuits; 'kitwright buy' lists them."
    )


def _is_small(job: Job, part: str) -> bool:
    return job.catalog.kind_of(part) in WIRING_KINDS


def option_cents(problem: Problem, kit: Kit, option: Option) -> int:
    """Money for one chosen option [cents]: its parts, those owned free, and what it uses up on the trip.

    Over all options of a kit these sum to its price: a part is owned once, so where several options
    hold it, the first in the problem's order is the free one.
    """
    cents = option.price_cents + kit.nights * option.get("cents_night")
    for owned in problem.owned:
        count = dict(option.parts).get(owned.part, 0)
        if count:
            left = owned.count - _held_before(problem, kit, option, owned.part)
            cents += owned.price_cents * max(0, count - max(0, left))
    return cents


def _held_before(problem: Problem, kit: Kit, option: Option, part: str) -> int:
    held = 0
    for _, other in kit.options(problem):
        if other is option:
            break
        held += dict(other.parts).get(part, 0)
    return held


def _used_up_line(kit: Kit, option: Option) -> list[str]:
    cents = kit.nights * option.get("cents_night")
    return [f"    {show(cents / 100, 'USD')} of it is used up on the trip"] if cents else []


def _part_lines(job: Job, parts: Iterable[tuple[str, int]], words: str) -> list[str]:
    lines = []
    owned = {o.part: o.count for o in job.problem.owned}
    shown = [(part, count) for part, count in parts if not _is_small(job, part)]
    for number, (part, count) in enumerate(shown):
        record = job.catalog.any_part(part)
        many = f"{count} x " if count > 1 else ""
        note = f" ({in_units(words, job.brief.units)})" if words and not number else ""
        had = owned.get(part, 0)
        mark = "" if not had else " [owned]" if count <= had else f" [{had} owned]"
        lines.append(f"{many}{record.name}{note}, {part}{mark}")
    return lines


def in_units(words: str, units: System) -> str:
    """An option's own words with their amounts in the units of the brief."""

    def shown(found: re.Match[str]) -> str:
        value, unit = float(found[1]), found[2]
        return f"{show(value / 60, 'm3', units)}/min" if unit == "m3/h" else show(value, unit, units)

    return _AMOUNT.sub(shown, words) if units == "us" else words.replace("m2", "m²").replace("m3", "m³")


def _meal_lines(problem: Problem, kit: Kit) -> list[str]:
    return [
        f"    {group.name.removeprefix('meal ')}: cooked on {kit.choices[group.name]}"
        for group in problem.of_kind("meal")
    ]


def _tell_places(job: Job, kit: Kit) -> list[str]:
    """Which bay holds what, and what needs a hole."""
    if kit.places is None:
        return []
    bays: dict[str, dict[str, int]] = {}
    for stowed in kit.places.stowed:
        part = stowed.id.rsplit("/", 2)[1]
        inside = bays.setdefault(stowed.bay, {})
        inside[part] = inside.get(part, 0) + 1
    lines = [
        f"  {bay}: " + ", ".join(f"{count} x {part}" if count > 1 else part for part, count in sorted(inside.items()))
        for bay, inside in sorted(bays.items())
    ]
    lines += [f"  {sentence}" for sentence in (*opening_sentences(job, kit), *overload_sentences(job, kit))]
    return ["\n".join(["Places:", *lines])] if lines else []


def opening_sentences(job: Job, kit: Kit) -> list[str]:
    """What of a kit needs a hole in the van, and the skill that it asks for."""
    return [
        f"{job.catalog.any_part(one['part']).name} needs a hole in the {one['opening']}"
        + (f" (skill: {one['skill']})" if one["skill"] else "")
        + "; seal it, and keep clear of wiring, fuel and brake lines."
        for one in openings(job.problem, kit)
    ]


def overload_sentences(job: Job, kit: Kit) -> list[str]:
    """Where the axles would carry too much with everything just where it is drawn."""
    units = job.brief.units
    return [
        f"As drawn, {one.what} {one.state} comes to {show(one.used / 1000, 'kg', units)} of"
        f" {show(one.allowed / 1000, 'kg', units)}, since the limits count each thing at the middle of its bay:"
        " move heavy things within their bays, then weigh the van."
        for one in overloads(job.problem, kit)
    ]


def _tell_limits(result: Result) -> str:
    brief = result.job.brief
    rows = [("limit", "used", "allowed", "room")]
    for limit in told_limits(result):
        name, used, allowed, room = limit_row(limit, brief.units)
        if limit.slug == OverallHeight.slug and brief.limits.overall_height is None:
            allowed = room = show(math.inf, "mm")  # nobody asked for the ten metres that the rule then holds
        if limit.used or limit.allowed:
            rows.append((name, used, allowed, room))
    return aligned(rows)


def limit_row(limit: Limit, units: System) -> tuple[str, str, str, str]:
    """Name, used, allowed and room of a limit as text."""
    used, allowed, room = (
        show(value / limit.scale, limit.unit, units) for value in (limit.used, limit.allowed, limit.room)
    )
    return limit.name.replace("_", " ").removeprefix("own:"), used, allowed, room


def tell_trips(replay: Replay, units: System) -> str:
    """Coverage, and what set the size: the departure and spell that bind."""
    lines = [
        f"Trips: {replay.covered} of {replay.departures} departures run short of nothing"
        f" ({replay.coverage_pct:.1f} %)."
    ]
    if replay.causes:
        causes = ", ".join(f"{count} of {cause}" for cause, count in replay.causes.items())
        lines.append(f"The others run short first: {causes}.")
    return "\n".join([*lines, *binding_lines(replay, units)])


def binding_lines(replay: Replay, units: System) -> list[str]:
    """What set the size: the departure and spell that bind."""
    if not replay.covered:
        return []
    spell = replay.binding_spell()
    air = show(spell.mean_air_c, "degC", units)
    room, capacity = (show(wh, "Wh", units) for wh in (spell.room_wh, spell.capacity_wh))
    return [
        f"What sets the size: the departure of {spell.date} ({spell.year}) comes closest without running short."
        f" From {spell.begins.date} {spell.begins.hour:02d}:00 to {spell.ends.date} {spell.ends.hour:02d}:00,"
        f" {spell.hours} hours of which {spell.sunless_hours} without sunshine at a mean of {air} outside,"
        f" the bank is never full and ends with {room} of {capacity} left."
    ]


def _tell_nothing(result: Result) -> str:
    name = result.job.brief.name or "This brief"
    if result.outcome.status == "impossible":
        return f"{name}\nImpossible: no kit of this catalog keeps every rule. That is proven."
    if result.undecided:
        return (
            f"{name}\nNot proven: no kit was found that fits for sure; of {_kits(result.undecided)} it was not settled"
            " within the effort whether everything has a place."
        )
    return f"{name}\nNot proven: no kit was found within the time, and none was ruled out. Give it more time."
