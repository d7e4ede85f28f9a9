"""Which limits cost anything at all: without which of them there would be a better kit.

On the road: best kit -> *binding* -> limits with prices. Asked about many at once first.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from optimizer.choosing.aims import Aim, Better, goal_aims
from optimizer.explain.bench import Bench
from optimizer.explain.giving import BAYS
from optimizer.explain.hands import Hands
from optimizer.explain.knowledge import Change, Found
from optimizer.explain.members import OWN, SKILL, Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE

ROOMY = (
    "budget", "payload", "front_axle", "rear_axle", "side_balance", "roof_area", "roof_load", "overall_height",
    "parking_length", "toilet", "frozen", BAYS,
)
"""Limits that say nothing of energy and warmth, and seldom cost anything."""
SETTLED_BY_OTHERS = (
    "charge_current", "discharge_power", "array_voltage", "array_headroom", "array_current", "alternator_spare",
    "heat_output", "daily_balance", "fuel",
)
"""Limits that bear on power and warmth: often what trips ask for goes beyond them. Sunless days and the current of
controllers do not belong here: they mostly cost something, and then all has to be asked again without them."""
TELLING_SKILLS = (f"{SKILL}cell_assembly",)
"""Skills that let in parts that are cheaper by much: asked about alone."""


def asked_together(members: Sequence[Member]) -> tuple[tuple[Member, ...], ...]:
    """Members that are dropped at once, in sets: those of which none is likely to cost anything, and the trips.

    All else lets many kits in: dropped at once, the trips of kits that nobody asked about would have to be
    learnt. It changes speed, never the answer.
    """
    roomy = [m for m in members if m.name in ROOMY or m.name.startswith(OWN)]
    settled = [m for m in members if m.name in SETTLED_BY_OTHERS or _usual_skill(m)]
    trips = [m for m in members if m.name == COVERAGE]
    return tuple(tuple(some) for some in (roomy, settled, trips))


def _usual_skill(member: Member) -> bool:
    return member.name.startswith(SKILL) and member.name not in TELLING_SKILLS


def binding(hands: Hands, kit: Kit, members: Sequence[Member]) -> dict[Member, Found]:
    """Of the members that are ``asked_together`` those without which, alone, the best kit is better.

    With a better kit, or none where it was not settled in the time. Whatever is dropped besides only lets
    more kits in. So when many are dropped at once and no kit is better, none of them costs anything alone.
    """
    found: dict[Member, Found] = {}
    for some in hands.each(partial(_sifted, kit=kit), asked_together(members)):
        found |= some
    return found


def _sifted(bench: Bench, members: tuple[Member, ...], kit: Kit) -> dict[Member, Found]:
    return _sift(bench, kit, members)


def _sift(bench: Bench, kit: Kit, members: tuple[Member, ...]) -> dict[Member, Found]:
    """Of these members those that cost something alone, with a better kit; those not settled without one."""
    if not members:
        return {}
    answer = better_kit(bench, kit, Change(without=members))
    if answer.status == "impossible":
        return {}
    if len(members) == 1:
        return {members[0]: answer}
    if answer.kit is None:
        half = len(members) // 2
        return _sift(bench, kit, members[:half]) | _sift(bench, kit, members[half:])
    return _apart(bench, kit, members, answer.kit)


def _apart(bench: Bench, kit: Kit, members: tuple[Member, ...], better: Kit) -> dict[Member, Found]:
    """What a better kit breaks is asked about one by one, and all the rest together again."""
    broken = [m for m in members if not bench.keeps(better, Change(without=tuple(o for o in members if o != m)))]
    if not broken:  # nothing that counts alone, only some of it together, as places do
        half = len(members) // 2
        return _sift(bench, kit, members[:half]) | _sift(bench, kit, members[half:])
    found = _sift(bench, kit, tuple(member for member in members if member not in broken))
    for member in broken:
        if bench.keeps(better, Change(without=(member,))):
            found[member] = Found(better, "proven")
        else:
            found |= _sift(bench, kit, (member,))
    return found


def better_kit(bench: Bench, kit: Kit, change: Change) -> Found:
    """Any kit that is better than today's, the first one met: 'proven' with a kit, or 'impossible'."""
    goal, *_ = goal_aims(bench.problem)
    return bench.ask(change, aims=(goal,), demands=(Better(bench.problem, kit),), start=kit, any_will_do=True)


def any_kit(bench: Bench, change: Change, better: Better | None, lead: Aim | None = None) -> Found:
    """Any kit with a change, better than today's if so asked: 'proven' with a kit, or 'impossible'.

    ``lead`` leads there where any will do.
    """
    return bench.possible(change, lead) if better is None else better_kit(bench, better.kit, change)
