"""The bill stays under the budget."""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem
from optimizer.rules.base import Lever, Limit, Variables


class Budget:
    """Money for everything that is bought, and for what one trip uses up."""

    slug = "budget"
    sentence = "Everything bought, and what one trip uses up, costs no more than the budget."
    lever = Lever("budget_cents", "limits.budget", +1, "USD", 100)

    def add(self, variables: Variables) -> None:
        """Price at most the budget."""
        budget = variables.problem.need("budget_cents") + variables.give(self.slug)
        variables.demand(self.slug, variables.price() <= budget)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """The price against the budget."""
        used = price_cents(problem, kit)
        allowed = problem.need("budget_cents") + problem.give(self.slug)
        return (Limit(self.slug, self.slug, self.sentence, "USD", 100, used, allowed),)


def price_cents(problem: Problem, kit: Kit) -> int:
    """Money for a kit [cents]: parts, owned ones free up to their count, and one trip's consumables."""
    total = sum(option.price_cents for _, option in kit.options(problem))
    counts = kit.counts(problem) if problem.owned else {}
    for owned in problem.owned:
        total += owned.price_cents * max(0, counts.get(owned.part, 0) - owned.count)
    return total + kit.nights * sum(option.get("cents_night") for _, option in kit.options(problem))
