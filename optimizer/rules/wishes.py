"""What the person asked for or ruled out: meals, skills, parts required and refused, own limits."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Limit, Variables


class Cooking:
    """Each meal is cooked on a chosen cooker that can do it."""

    slug = "cooking"
    sentence = "The cookers together can do everything the meals ask for."

    def add(self, variables: Variables) -> None:
        """A meal's cooker must be in the kit; a meal has exactly one (its group is needed)."""
        problem = variables.problem
        for group in problem.of_kind("meal"):
            for option in group.options:
                cooker = problem.group(_cooker_group(option.key))
                there = variables.picked(cooker, cooker.options[0])
                variables.demand(self.slug, variables.picked(group, option) <= there)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Meals against meals that can be cooked."""
        meals = list(problem.of_kind("meal"))
        cooked = 0
        for group in meals:
            key = kit.choices.get(group.name)
            cooked += key is not None and _cooker_group(key) in kit.choices
        return (Limit(self.slug, self.slug, self.sentence, "meals", 1, len(meals), cooked),) if meals else ()


def _cooker_group(part: str) -> str:
    return f"cooker {part}"


class Skills:
    """No part asks for work the builder cannot do."""

    slug = "skills"
    sentence = "No part asks for a skill that the builder does not have."

    def add(self, variables: Variables) -> None:
        """Options that ask for a missing skill are out."""
        problem = variables.problem
        beyond = [
            variables.picked(group, option) for group in problem.groups for option in group.options
            if set(option.skills) - set(problem.skills)
        ]
        if beyond:
            variables.demand(self.slug, sum(beyond) == 0)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Counts chosen parts that ask for a missing skill."""
        missing = sum(
            any(skill not in problem.skills for skill in option.skills) for _, option in kit.options(problem)
        )
        return (Limit(self.slug, self.slug, self.sentence, "parts", 1, missing, 0),)


class Required:
    """What must be in, is in."""

    slug = "required"
    sentence = "Every part the brief requires is in the kit."

    def add(self, variables: Variables) -> None:
        """At least one chosen option holds each required part."""
        problem = variables.problem
        for part in problem.required:
            holders = [
                variables.picked(group, option)
                for group in problem.groups if not group.hidden
                for option in group.options if any(p == part for p, _ in option.parts)
            ]
            variables.demand(self.slug, sum(holders) >= 1)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Required parts against required parts present."""
        counts = kit.counts(problem)
        present = sum(counts.get(part, 0) > 0 for part in problem.required)
        if not problem.required:
            return ()
        return (Limit(self.slug, self.slug, self.sentence, "parts", 1, len(problem.required), present),)


class Refused:
    """What must be out, is out."""

    slug = "refused"
    sentence = "No part that the brief refuses is in the kit."

    def add(self, variables: Variables) -> None:
        """Options that hold a refused part are out."""
        problem = variables.problem
        refused = set(problem.refused)
        for group in problem.groups:
            for option in group.options:
                if any(part in refused for part, _ in option.parts):
                    variables.demand(self.slug, variables.picked(group, option) == 0)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Counts refused parts in the kit."""
        if not problem.refused:
            return ()
        counts = kit.counts(problem)
        present = sum(counts.get(part, 0) > 0 for part in problem.refused)
        return (Limit(self.slug, self.slug, self.sentence, "parts", 1, present, 0),)


class OwnLimits:
    """Limits that the brief's author added, on the sum of a column."""

    slug = "own_limit"
    sentence = "The author's own limits on the sum of a column hold."

    def add(self, variables: Variables) -> None:
        """Sum at most, sum at least."""
        for limit in variables.problem.own_limits:
            total = variables.total(f"column_{limit.column}")
            slug = f"own:{limit.name}"
            give = variables.give(slug)
            if limit.at_most is not None:
                variables.demand(slug, total <= limit.at_most + give)
            if limit.at_least is not None:
                variables.demand(slug, limit.at_least <= variables.total(f"column_{limit.column}_down") + give)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Each own limit with its sum."""
        limits = []
        for limit in problem.own_limits:
            slug = f"own:{limit.name}"
            if limit.at_most is not None:
                total = kit.sum(problem, f"column_{limit.column}")
                text = f"The sum of {limit.column} is at most {limit.at_most / 1000:g} {limit.unit}".strip() + "."
                allowed = limit.at_most + problem.give(slug)
                limits.append(Limit(slug, slug, text, limit.unit, 1000, total, allowed))
            if limit.at_least is not None:
                total = kit.sum(problem, f"column_{limit.column}_down") + problem.give(slug)
                text = f"The sum of {limit.column} is at least {limit.at_least / 1000:g} {limit.unit}".strip() + "."
                limits.append(Limit(slug, slug, text, limit.unit, 1000, limit.at_least, total))
        return tuple(limits)


class SafetyKit:
    """Alarms, extinguisher, disconnect and fuses are never optional."""

    slug = "safety_kit"
    sentence = (
        "Carbon-monoxide and smoke alarms, extinguisher, disconnect and fuses are in the kit, a gas alarm"
        " with gas; no heater burns with an open flame inside."
    )

    def add(self, variables: Variables) -> None:
        """One of each role (those groups are needed); with gas on board a gas alarm too."""
        problem = variables.problem
        for group in problem.of_kind("heater"):
            for option in group.options:
                if option.get("open_flame"):
                    variables.demand(self.slug, variables.picked(group, option) == 0)
        alarm = variables.of("safety gas_alarm", "one") if problem.has("safety gas_alarm") else 0
        for group in problem.groups:
            for option in group.options:
                if option.get("gas"):
                    variables.demand(self.slug, variables.picked(group, option) <= alarm)
        for group in problem.of_kind("safety"):
            for option in group.options:
                for voltage, chosen in variables.voltages().items():
                    if voltage > option.get("bank_v_max"):
                        variables.demand(self.slug, variables.picked(group, option) == 0, chosen)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Roles asked for against roles filled with something fit for the bank's voltage."""
        wanted = [g.name for g in problem.of_kind("safety") if g.needed]
        if any(option.get("gas") for _, option in kit.options(problem)):
            wanted.append("safety gas_alarm")
        filled = 0
        for name in wanted:
            option = kit.chosen(problem, name) if problem.has(name) else None
            filled += option is not None and kit.voltage <= option.get("bank_v_max")
        unfit = [
            group.name for group, option in kit.options(problem)
            if group.kind == "safety" and group.name not in wanted and kit.voltage > option.get("bank_v_max")
        ]
        wanted_items = len(wanted) + len(unfit) + kit.sum(problem, "open_flame", "heater")
        return (Limit(self.slug, self.slug, self.sentence, "items", 1, wanted_items, filled),)
