"""What of a brief can be given up: each limit and each wish, with the problem that is left without it.

On the road: under *explain*. A limit of numbers can be loosened bit by bit; a wish is kept or dropped whole.
What lies in the nature of things (a panel needs a controller, AC needs an inverter) is no member.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.explain.giving import AXLES, BAYS, PLENTY, given, roomy
from optimizer.problem.records import Problem
from optimizer.rules import COVERAGE

BY_BRIEF = (
    "budget", "payload", "front_axle", "rear_axle", "side_balance", "roof_area", "roof_load", "overall_height",
    "parking_length", "sunless_energy", "daily_balance", "alternator_spare", "heat_output", "fuel", "water",
    "grey_water", "toilet", "chilled", "frozen",
)
"""Limits that hang on a number of the brief."""
BY_PARTS = (
    "charge_current", "discharge_power", "array_voltage", "array_headroom", "array_current", "controller_current",
)
"""Limits that lie between parts: loosened only in thought, to see what they cost."""
OWN, REQUIRED, REFUSED, SKILL = "own:", "required ", "refused ", "skill "


@dataclass(frozen=True)
class Member:
    """One limit or wish."""

    name: str
    """Slug of a limit, 'coverage', 'own:NAME', 'required PART', 'refused PART' or 'skill NAME'."""
    numbers: bool
    """Whether it can be loosened bit by bit (through ``Problem.gives``)."""

    @property
    def slug(self) -> str:
        """Name under which the brief's ``keep`` knows it."""
        for prefix, slug in ((REQUIRED, "required"), (REFUSED, "refused"), (SKILL, "skills"), (OWN, "own_limit")):
            if self.name.startswith(prefix):
                return slug
        return self.name

    def dropped(self, problem: Problem) -> Problem:
        """The problem without it ('coverage' is left to whoever asks the trips)."""
        name = self.name
        if name == COVERAGE:
            return problem
        if name == BAYS:
            return roomy(problem)
        if problem.space is not None and name in PLENTY:
            return given(problem, {name: PLENTY[name]})
        if name.startswith(OWN):
            own = tuple(limit for limit in problem.own_limits if limit.name != name.removeprefix(OWN))
            return replace(problem, own_limits=own)
        if name.startswith(REQUIRED):
            return replace(problem, required=_less(problem.required, name.removeprefix(REQUIRED)))
        if name.startswith(REFUSED):
            return replace(problem, refused=_less(problem.refused, name.removeprefix(REFUSED)))
        if name.startswith(SKILL):
            return replace(problem, skills=tuple(sorted({*problem.skills, name.removeprefix(SKILL)})))
        return replace(problem, rules=_less(problem.rules, name))


def _less(names: tuple[str, ...], name: str) -> tuple[str, ...]:
    return tuple(other for other in names if other != name)


def members_of(problem: Problem, trips: bool, parts_too: bool = False) -> tuple[Member, ...]:
    """What can be given up, in the order of the report; ``parts_too``: with the limits between parts."""
    slugs = [slug for slug in problem.rules if slug in BY_BRIEF or (parts_too and slug in BY_PARTS)]
    if problem.space is None:
        slugs = [slug for slug in slugs if slug not in AXLES]
    if not problem.needs.get("heating", 1):
        slugs = [slug for slug in slugs if slug != "heat_output"]
    members = [Member(slug, True) for slug in slugs]
    members += [Member(BAYS, False)] if problem.space is not None and problem.space.has_bays else []
    members += [Member(COVERAGE, True)] if trips else []
    members += [Member(f"{OWN}{limit.name}", True) for limit in problem.own_limits]
    members += [Member(f"{REQUIRED}{part}", False) for part in problem.required]
    members += [Member(f"{REFUSED}{part}", False) for part in problem.refused]
    return (*members, *(Member(f"{SKILL}{skill}", False) for skill in _skills(problem)))


def _skills(problem: Problem) -> list[str]:
    """Skills that some option asks for and the builder does not have."""
    asked = {skill for group in problem.groups for option in group.options for skill in option.skills}
    return sorted(asked - set(problem.skills))
