"""Whole answers for the commands: why this kit, and why there is none.

On the road: job (+ saved kit) -> *explain* -> terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from optimizer.choosing.solve import Deadline, Settings
from optimizer.choosing.store import LevelStore
from optimizer.errors import KitwrightError, UsageError, nearest
from optimizer.explain import data, telling
from optimizer.explain.bench import Bench, Trips
from optimizer.explain.binding import better_kit
from optimizer.explain.conflicts import find_conflict
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change
from optimizer.explain.limits import FUEL, Stories, rows_of, stories
from optimizer.explain.members import Member
from optimizer.explain.next_best import most_different, next_best
from optimizer.explain.parts import kinds_of, why_part
from optimizer.explain.questions import replies
from optimizer.explain.ways_out import Early, ways_out
from optimizer.job import Job, replay_kit
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE
from optimizer.told_limits import as_burnt


class OpenError(KitwrightError):
    """Nothing can be told before something is settled that was not settled within the time."""


@dataclass(frozen=True)
class Wanted:
    """What is asked about a kit."""

    part: str | None = None
    rivals: int = 0
    """How many next-best kits; 0 = none."""
    within: float | None = None
    """The most different kit within so many per cent of the best."""
    questions: bool = False
    together: bool = False
    """Which limits hold only together."""
    tight: bool = False
    """What is best when a limit is drawn tighter than today's kit needs."""

    @property
    def limits(self) -> bool:
        """Whether the limits are asked about: by name, or when nothing else is."""
        other = self.part is not None or self.rivals or self.within is not None or self.questions
        return self.together or self.tight or not other


def bench_for(
    job: Job, settings: Settings | None = None, store: LevelStore | None = None,
    report: Callable[[str], None] | None = None, in_all: float | None = None,
) -> Bench:
    """The bench of a job; its questions have ``in_all`` seconds together, as long as they take when left out."""
    trips = None if job.brief.trip.coverage is None else Trips(job.scene, job.allowed_short)
    return Bench(job.problem, trips, settings, store, report, in_all=Deadline(in_all))


def why_none(
    bench: Bench, job: Job, known: bool = False, hands: Hands | None = None
) -> tuple[str, dict[str, Any]]:
    """Why there is no kit, and the ways out, in words and as data; empty when a kit is possible after all.

    ``known``: that it is impossible has been proven already. ``hands`` ask what does not hang on each other,
    this process alone when left out.
    """
    early = Early()
    conflict = find_conflict(bench, known=known, hands=hands, beside=early)
    if conflict is None:
        return "", {}
    ways = None if bench.over else ways_out(bench, conflict, job.brief.preferences.keep, hands, early)
    text, found = telling.tell_conflict(job, conflict, ways), data.conflict_data(job, conflict, ways or ())
    found["ways_out_settled"] = not (bench.over and conflict.members)
    if not found["ways_out_settled"]:
        text += f"\n\nWhether there are {'other ways' if ways else 'ways'} out was not settled within the time."
    return text, found


def why(bench: Bench, job: Job, saved: Kit, wanted: Wanted, hands: Hands | None = None) -> tuple[str, dict[str, Any]]:
    """Why this kit, in words and as data; ``hands`` ask about the limits, this process alone when left out.

    Raises
    ------
    UsageError
        When the part is unknown, or the saved kit is not the best of this brief.
    OpenError
        When it is not settled within the time whether it is the best.
    """
    ids = sorted(kinds_of(job.problem))
    if wanted.part is not None and wanted.part not in ids:
        raise UsageError(_not_offered(job, wanted.part, ids))
    kit = _best(bench, saved)
    words: list[str] = []
    found: dict[str, Any] = {"kit": data.kit_change(job, None, kit)}
    if wanted.limits:
        told = _as_burnt(bench, job, stories(bench, kit, wanted.together, wanted.tight, hands))
        words.append(telling.tell_stories(job, told))
        found |= data.stories_data(job, told)
    if wanted.part is not None:
        answer = why_part(bench, kit, wanted.part)
        words.append(telling.tell_part(job, kit, answer))
        found["part"] = data.part_data(job, kit, answer)
    if wanted.rivals:
        rivals = next_best(bench, kit, wanted.rivals)
        words.append(telling.tell_rivals(job, kit, rivals, "The next-best kits"))
        found["next_best"] = data.rivals_data(job, kit, rivals)
        found["next_best_settled"] = rivals.settled
    if wanted.within is not None:
        others = most_different(bench, kit, wanted.within)
        words.append(telling.tell_rivals(job, kit, others, f"The most different kit within {wanted.within:g} %"))
        found["most_different"] = data.rivals_data(job, kit, others)
        found["most_different_settled"] = others.settled
    if wanted.questions:
        answers = list(replies(job, kit, bench.settings, bench.store, bench.report, bench.stop))
        words.append("\n".join(telling.tell_reply(job, kit, reply) for reply in answers))
        found["questions"] = [data.reply_data(job, kit, reply) for reply in answers]
    return "\n\n".join(words), found


def _not_offered(job: Job, part: str, ids: Sequence[str]) -> str:
    """That a part is none, or that it is one for which this brief has no use."""
    if part not in set(job.catalog.ids):
        return f"No choice of this brief has a part '{part}'. {nearest(part, ids)}"
    return (
        f"No choice of this brief has the part '{part}' of the catalog: the brief has no use for it. What there is to"
        " choose from hangs on its bank voltages (preferences.voltages), heating (comfort.heating), uses and meals."
    )


def _as_burnt(bench: Bench, job: Job, told: Stories) -> Stories:
    """Fuel as the trips burn it, as it stands everywhere else, and with the coverage, which running out of it counts
    against.
    """
    if job.brief.trip.coverage is None:
        return told
    replay = replay_kit(job, told.kit)
    fuel = rows_of(bench, told.kit, Member(FUEL, True))
    return replace(told, limits=tuple(
        replace(story, rows=as_burnt((*story.rows, *(fuel if story.member.name == COVERAGE else ())), replay))
        for story in told.limits
    ))  # fmt: skip


def _best(bench: Bench, saved: Kit) -> Kit:
    """The best kit, which the saved one must be as good as: prices of limits mean nothing for another."""
    found = better_kit(bench, saved, Change())
    if found.kit is not None or not bench.keeps(saved, Change()):
        raise UsageError("The saved kit is not the best of this brief. Choose again, save, and ask then.")
    if found.status != "impossible":
        raise OpenError("That the saved kit is the best could not be shown within the time. Give it more time.")
    return saved
