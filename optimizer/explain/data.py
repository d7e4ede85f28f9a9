"""Explanations as plain data, ready for JSON: the same numbers as the sentences, in the documented units."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from optimizer.explain.break_evens import BreakEven
from optimizer.explain.conflicts import Conflict
from optimizer.explain.limits import Stories
from optimizer.explain.members import Member
from optimizer.explain.next_best import Rivals
from optimizer.explain.parts import WhyPart, differences
from optimizer.explain.questions import Reply
from optimizer.explain.ways_out import WayOut
from optimizer.explain.words import line_of, unit_of
from optimizer.job import Job
from optimizer.problem.records import Kit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

Data = dict[str, Any]
_PROOFS = ("proven", "together_proven", "next_best_settled", "most_different_settled")


def stories_data(job: Job, told: Stories) -> Data:
    """Limits with prices."""
    limits = []
    for story in told.limits:
        rows = [
            {"name": r.name, "unit": r.unit, "used": r.used / r.scale, "allowed": r.allowed / r.scale,
             "room": r.room / r.scale}
            for r in story.rows
        ]  # fmt: skip
        limits.append({
            "name": story.member.name, "brief": line_of(job, story.member), "standing": rows, "proven": story.proven,
            "looser": _event(job, told.kit, story.member, story.looser),
            "tighter": _event(job, told.kit, story.member, story.tighter),
        })  # fmt: skip
    together = None if told.together is None else [[member.name for member in some] for some in told.together]
    return {"limits": limits, "together": together, "together_proven": told.settled}


def _event(job: Job, today: Kit, member: Member, event: BreakEven | None) -> Data | None:
    if event is None:
        return None
    return {**_give(job, member, event.give), "proven": event.proven,
            "kit": None if event.kit is None else kit_change(job, today, event.kit)}  # fmt: skip


def _give(job: Job, member: Member, give: int) -> Data:
    if not member.numbers:
        return {"dropped": member.name}
    unit, scale = unit_of(job, member.name)
    return {"give": give / scale, "unit": unit}


def kit_change(job: Job, today: Kit | None, kit: Kit, of: Job | None = None) -> Data:
    """A kit's price, mass and choices, and how its parts differ from today's."""
    own, problem = job.problem, (of or job).problem
    data: Data = {
        "price": price_cents(problem, kit) / 100, "mass_kg": kit_mass_g(problem, kit) / 1000, "nights": kit.nights,
        "choices": dict(sorted(kit.choices.items())),
    }
    if today is not None:
        changes = differences(own, today, kit, problem)
        data["parts"] = [{"id": d.part, "today": d.today, "then": d.then} for d in changes]
    return data


def conflict_data(job: Job, conflict: Conflict, ways: Sequence[WayOut] = ()) -> Data:
    """A conflict and the ways out of it."""
    return {
        "conflict": [{"name": m.name, "brief": line_of(job, m)} for m in conflict.members],
        "minimal": conflict.minimal, "proven": conflict.proven, "nothing_for": list(conflict.nothing_for),
        "between_parts": list(conflict.by_parts),
        "ways_out": [
            {"steps": [{"name": s.member.name, **_give(job, s.member, s.give)} for s in way.steps],
             "proven": way.proven, "kit": kit_change(job, None, way.kit)}
            for way in ways
        ],
    }  # fmt: skip


def part_data(job: Job, kit: Kit, why: WhyPart) -> Data:
    """Why a part is in, or not."""
    return {
        "part": why.part, "inside": why.inside, "proven": why.proven, "stand_in": why.stand_in or None,
        "kit": None if why.kit is None else kit_change(job, kit, why.kit),
        "conflict": None if why.conflict is None else conflict_data(job, why.conflict),
    }  # fmt: skip


def rivals_data(job: Job, kit: Kit, rivals: Rivals) -> list[Data]:
    """Rivals, best first."""
    return [{"differs_in": list(r.kinds), "proven": r.proven, **kit_change(job, kit, r.kit)} for r in rivals.kits]


def unsettled(found: object) -> bool:
    """Whether anything in an answer is not proven."""
    if isinstance(found, dict):
        open_ = any(found.get(name) is False for name in _PROOFS)
        return open_ or found.get("status") == "unproven" or any(map(unsettled, found.values()))
    return isinstance(found, list) and any(map(unsettled, found))


def reply_data(job: Job, kit: Kit, reply: Reply) -> Data:
    """An everyday question's answer."""
    result = reply.result
    if result is None or result.kit is None:
        status = "unproven" if result is None else result.outcome.status
        return {"question": reply.question.words, "status": status, "kit": None}
    changed = kit_change(job, kit, result.kit, reply.question.job)
    return {"question": reply.question.words, "status": result.outcome.status, "kit": changed}
