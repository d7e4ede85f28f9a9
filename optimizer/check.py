"""The solver-free verdict on a kit: every rule and the goal's value, again, in plain arithmetic.

On the road: kit -> *check*. Shares no code with the solver model: it calls the ``holds`` of every rule,
never ``add``, and first makes sure that the kit is a choice the problem offers at all.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.circuits.check import circuit_faults
from optimizer.places.checking import bay_faults, roof_faults
from optimizer.problem.records import Goal, Kit, Problem
from optimizer.rules import BY_SLUG, Limit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents


@dataclass(frozen=True)
class Verdict:
    """How a kit stands: its limits, and what is wrong with it."""

    limits: tuple[Limit, ...]
    faults: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether the kit keeps every rule."""
        return not self.faults


def check(problem: Problem, kit: Kit) -> Verdict:
    """Every rule of the problem, on this kit; every circuit; and every place, once the kit has places."""
    faults = structure_faults(problem, kit)
    if faults:
        return Verdict((), tuple(faults))
    limits = tuple(limit for slug in problem.rules for limit in BY_SLUG[slug].holds(problem, kit))
    broken = [f"{limit.name}: used {limit.used}, allowed {limit.allowed}" for limit in limits if not limit.met]
    wired = (fault for _, option in kit.options(problem) for c in option.circuits for fault in circuit_faults(c))
    return Verdict(limits, (*broken, *wired, *roof_faults(problem, kit), *bay_faults(problem, kit)))


def structure_faults(problem: Problem, kit: Kit) -> list[str]:
    """What is wrong with the choice as such: unknown, missing, for another voltage, out of order."""
    faults = []
    names = {group.name for group in problem.groups}
    faults += [f"there is nothing called '{name}' to choose" for name in sorted(set(kit.choices) - names)]
    if kit.voltage not in problem.voltages:
        faults.append(f"a {kit.voltage} V bank is not allowed")
    if kit.nights not in problem.nights:
        faults.append(f"{kit.nights} nights are not asked for")
    for group in problem.groups:
        key = kit.choices.get(group.name)
        if key is None:
            if group.needed:
                faults.append(f"nothing is chosen for {group.name}")
            continue
        option = next((o for o in group.options if o.key == key), None)
        if option is None:
            faults.append(f"'{key}' is not on offer for {group.name}")
        elif option.voltage not in (0, kit.voltage):
            faults.append(f"'{key}' is not for a {kit.voltage} V bank")
    return faults


def goal_value(problem: Problem, kit: Kit, goal: Goal) -> int:
    """The goal's number for a kit, in integers of ``1/goal.scale`` of its unit."""
    if goal.slug == "cheapest":
        return price_cents(problem, kit)
    if goal.slug == "lightest":
        return kit_mass_g(problem, kit)
    if goal.slug == "longest":
        return kit.nights
    return kit.sum(problem, f"column_{goal.slug.removeprefix('most:')}_down")
