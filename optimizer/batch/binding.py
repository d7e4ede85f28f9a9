"""Which limits of the brief bind a best kit: a cheap look one swap far.

On the road: inside ``batch``, for a column of the result.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from optimizer.check import goal_value
from optimizer.explain.members import BY_BRIEF
from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules import BY_SLUG

if TYPE_CHECKING:
    from optimizer.choosing.lifting import Lifter
    from optimizer.rules.base import Rule


def binding(problem: Problem, kit: Kit, lifter: Lifter | None) -> list[str]:
    """Limits of the brief that alone stand in the way of a better kit one swap away: slugs, and 'coverage'.

    A swap changes what one group has; whether small parts (fuses, cables) still go with it is not asked, for
    they follow. A limit that binds only together with another, or only against several swaps at once, is not
    found; break-evens tell more, and cost more.
    """
    sign = -1 if problem.goal.maximise else 1
    value = sign * goal_value(problem, kit, problem.goal)
    rules = [BY_SLUG[slug] for slug in problem.rules if slug in BY_BRIEF or slug == "own_limit"]
    found: set[str] = set()
    for trial in _swaps(problem, kit):
        if sign * goal_value(problem, trial, problem.goal) < value:
            broken = _broken(problem, trial, rules)
            if len(broken) < 2 and lifter is not None and not lifter.passes(trial):
                broken.add("coverage")
            found |= broken if len(broken) == 1 else set()
    return sorted(found)


def _broken(problem: Problem, kit: Kit, rules: list[Rule]) -> set[str]:
    """Slugs of the limits a kit breaks; no more than two are looked for. What broke last is asked first."""
    broken: set[str] = set()
    for place, rule in enumerate(tuple(rules)):
        slugs = {limit.slug for limit in rule.holds(problem, kit) if not limit.met}
        if slugs:
            rules.insert(0, rules.pop(place))
            broken |= slugs
            if len(broken) > 1:
                break
    return broken


def _swaps(problem: Problem, kit: Kit) -> Iterator[Kit]:
    for group in problem.groups:
        now = kit.chosen(problem, group.name)
        rest = {name: key for name, key in kit.choices.items() if name != group.name}
        if not group.needed and now is not None:
            yield replace(kit, choices=rest)
        for option in group.options:
            if option is not now and option.voltage in (0, kit.voltage) and _may_save(problem, kit, now, option):
                yield replace(kit, choices={**rest, group.name: option.key})


def _may_save(problem: Problem, kit: Kit, now: Option | None, option: Option) -> bool:
    """Whether a swap may better the goal, so far as that is plain from the two options alone."""
    before: Mapping[str, int] = {} if now is None else now.amounts
    if problem.goal.slug == "cheapest" and not problem.owned:
        nightly = kit.nights * (option.get("cents_night") - before.get("cents_night", 0))
        return option.price_cents + nightly < (0 if now is None else now.price_cents)
    if problem.goal.slug == "lightest":
        return option.mass_g < (0 if now is None else now.mass_g)
    return True
