"""Everyday questions: one more night, one degree colder, one person more. Each is a whole new choosing.

On the road: job + best kit -> *changed jobs* -> words. What was learnt from the trips is shared wherever
weather, loads and nights are the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from optimizer.brief.brief import MOST_PEOPLE, Brief
from optimizer.brief.trip import Person
from optimizer.choosing.solve import Settings
from optimizer.choosing.store import LevelStore
from optimizer.explain.stopping import Stop
from optimizer.job import Job, Result, choose_kit
from optimizer.problem.records import Kit
from optimizer.showing import show
from optimizer.trips.schedule import LONGEST_NIGHTS

DEARER = 1.2
COLDER_K, HOTTER_K, GEAR_KG = 1.0, 3.0, 10.0


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
    return (*found, *_dearer(job, kit))


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
