"""How much of what the brief asks or allows something is: what makes litres, kilograms and money comparable.

On the road: under *explain*, beside conflicts and ways out.
"""

from __future__ import annotations

from optimizer.explain.bench import Bench
from optimizer.explain.limits import rows_of
from optimizer.explain.members import Member
from optimizer.problem.records import Kit
from optimizer.rules import COVERAGE

MILLION = 1_000_000


def size(bench: Bench, kit: Kit, member: Member) -> int:
    """The brief's own number: what is allowed, or what is asked for where the kit does the allowing."""
    if member.name == COVERAGE:
        assert bench.trips is not None
        return int(bench.trips.scene.departures.size)
    rows = rows_of(bench, kit, member)
    fixed = member.name in ("budget", "payload", "roof_area", "roof_load", "overall_height", "parking_length",
                            "alternator_spare") or member.name.startswith("own:")  # fmt: skip
    return max((row.allowed if fixed else row.used for row in rows), default=1)


def share_of(bench: Bench, kit: Kit, member: Member, give: int) -> int:
    """How much of a member's number ``give`` is, in millionths."""
    return MILLION * give // max(1, size(bench, kit, member))


def weight_of(bench: Bench, kit: Kit, member: Member) -> int:
    """Millionths of what is asked or allowed today that one unit of a limit is, at least 1."""
    return max(1, MILLION // max(1, size(bench, kit, member)))
