"""Everyday questions: one more night, one degree colder, one person more. Each is a whole new choosing.

On the road: job + best kit -> *changed jobs* -> words. What was learnt from the trips is shared wherever
weather, loads and nights are the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from optimizer.brief.brief import MOST_PEOPLE, Brief
from optimizer.brief.trip import Person
from optimizer.brief.uses import Use
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.explain.stopping import Stop
from optimizer.job import Job, Result, choose_kit
from optimizer.problem.records import Kit
from optimizer.showing import show
from optimizer.trips.schedule import LONGEST_NIGHTS

DEARER = 1.2
COLDER_K, HOTTER_K, GEAR_KG = 1.0, 3.0, 10.0
COOLER_K, COOLEST_C = 2.0, -10.0
"""How much cooler inside is asked about, and the least that a brief may ask for."""
BANK_VOLTAGES = (12, 24, 48)


@dataclass(frozen=True)
class Question:
    """What is changed, in words, and the changed job."""

    words: str
    job: Job
    same_trips: bool
    """Whether weather, loads and nights stay as they are, so that what the trips taught still holds."""


@dataclass(frozen=True)
class Reply:
    """The best kit for a changed job, or that there is none or none was found in the time; None when not asked."""

    question: Question
    result: Result | None


def replies(
    job: Job, kit: Kit, settings: Settings | None = None, store: LevelStore | None = None,
    report: Callable[[str], None] | None = None, stop: Stop | None = None,
) -> Iterator[Reply]:
    """The fixed table of questions, answered one by one; once stopped those that are left have no answer."""
    stop = stop or Stop()
    for question in questions(job, kit):
        if report is not None:
            report(question.words)
        shared = store if question.same_trips else None
        result = None
        if not stop.asked:
            with stop.question():
                result = choose_kit(question.job, settings, shared)
        yield Reply(question, result)


def questions(job: Job, kit: Kit) -> tuple[Question, ...]:
    """The table, less what has no meaning for this brief."""
    brief = job.brief
    trip, place = brief.trip, brief.place
    found = []
    if brief.preferences.goal != "longest" and trip.nights < LONGEST_NIGHTS:
        found.append(_asked(job, "one more night", trip={"nights": trip.nights + 1}))
    if trip.coverage is not None and trip.coverage < 100:
        more = min(100.0, trip.coverage + 5)
        words = f"a coverage of {more:g} % instead of {trip.coverage:g} %"
        found.append(_asked(job, words, same=True, trip={"coverage": more}))
    colder = {"colder_by": place.colder_by + COLDER_K}
    if place.coldest_night is not None:
        colder["coldest_night"] = place.coldest_night - COLDER_K
    found.append(_asked(job, f"every hour and the coldest night {_degrees(job, COLDER_K)} colder", place=colder))
    hottest = _hottest(job) + HOTTER_K
    words = f"the hottest day {_degrees(job, HOTTER_K)} hotter"
    found.append(_asked(job, words, same=True, place={"hottest_day": hottest}))
    if len(brief.people) < MOST_PEOPLE:
        person = Person(name="one more")
        words = f"one person more ({show(person.mass, 'kg', brief.units)})"
        found.append(_question(job, words, brief.model_copy(update={"people": (*brief.people, person)})))
    gear = brief.supplies.gear + GEAR_KG
    found.append(_asked(job, f"{show(GEAR_KG, 'kg', brief.units)} more gear", same=True, supplies={"gear": gear}))
    return (*found, *_given_up(job), *_dearer(job, kit))


def _given_up(job: Job) -> Iterator[Question]:
    """What the brief asks for besides its limits, given up one by one: what is fitted, warmth, the hungriest use."""
    brief, comfort, wishes = job.brief, job.brief.comfort, job.brief.preferences
    if wishes.hookup_charger:
        words = "no charger for hook-ups (preferences.hookup_charger)"
        yield _asked(job, words, preferences={"hookup_charger": False, "required": _not_of(job, "mains_charger")})
    if not wishes.inverter:
        yield _asked(job, "an inverter allowed (preferences.inverter)", preferences={"inverter": True})
    if set(wishes.voltages) < set(BANK_VOLTAGES):
        words = "any bank voltage, 12, 24 or 48 V (preferences.voltages)"
        yield _asked(job, words, preferences={"voltages": BANK_VOLTAGES})
    if comfort.roof_fan:
        words = "no roof fan, damp going out another way (comfort.roof_fan)"
        wished = {"required": _not_of(job, "roof_fan")}
        yield _asked(job, words, comfort={"roof_fan": False}, preferences=wished)
    for key, when in (("night_temperature", "at night"), ("day_temperature", "by day")):
        cooler = getattr(comfort, key) - COOLER_K
        if comfort.heating and cooler >= COOLEST_C:
            yield _asked(job, f"{_degrees(job, COOLER_K)} cooler inside {when} (comfort.{key})", comfort={key: cooler})
    if brief.uses:
        hungriest = max(brief.uses, key=_energy_a_day)
        left = tuple(use for use in brief.uses if use is not hungriest)
        words = f"without '{hungriest.name}', which uses the most energy (uses)"
        yield _question(job, words, brief.model_copy(update={"uses": left}))


def _not_of(job: Job, kind: str) -> tuple[str, ...]:
    """The parts that must be in, less those of a kind: with the kind itself they are given up too."""
    own = {part.id for part in job.catalog.parts.get(kind, ())}
    return tuple(part for part in job.brief.preferences.required if part not in own)


def _energy_a_day(use: Use) -> float:
    """Watt-hours a day while it is used at all; which days these are does not count here."""
    return use.power * use.count * use.hours / use.every_days


def _degrees(job: Job, kelvin: float) -> str:
    """A difference in the degrees of the brief's units."""
    return show(kelvin, "K", "us") if job.brief.units == "us" else show(kelvin, "K").replace("K", "°C")


def _hottest(job: Job) -> float:
    from optimizer.problem.season import season_of

    return season_of(job.brief, job.years).hottest_c


def _asked(job: Job, words: str, same: bool = False, **topics: Mapping[str, object]) -> Question:
    """A question that changes keys of some topics of the brief."""
    changed = {name: getattr(job.brief, name).model_copy(update=keys) for name, keys in topics.items()}
    return _question(job, words, job.brief.model_copy(update=changed), same)


def _question(job: Job, words: str, brief: Brief, same: bool = False) -> Question:
    """A question with another brief."""
    return Question(words, replace(job, brief=brief), same)


def _dearer(job: Job, kit: Kit) -> Iterator[Question]:
    """The part on which most money goes, a fifth dearer."""
    owned = {o.part for o in job.problem.owned}
    spent = {
        part: count * job.catalog.any_part(part).price_usd
        for part, count in kit.counts(job.problem).items() if part not in owned and part in set(job.catalog.ids)
    }
    parts = {part.id: part for part in job.catalog.all_parts}
    spent = {part: money for part, money in spent.items() if part in parts}
    if spent:
        dearest = max(sorted(spent), key=lambda part: spent[part])
        changed = parts[dearest].model_copy(update={"price_usd": parts[dearest].price_usd * DEARER})
        words = f"{parts[dearest].name} ({dearest}) 20 % dearer"
        yield Question(words, replace(job, catalog=job.catalog.with_parts(changed)), same_trips=True)
