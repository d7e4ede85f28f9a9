"""The rules of a model that are plain sums over what is chosen, read back off the model.

On the road: under ``combing``. A rule tells the solver a sum once; whoever looks at kits without the solver reads it
here, so no rule is told a third time. What is no plain sum is left out: so a kit that breaks none of these sums may
still break a rule, and one that breaks one does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.choosing.variables import ModelVariables

NO_END = 1 << 55
"""A bound beyond this is none."""


@dataclass(frozen=True)
class RuleSum:
    """What is chosen adds up to no more than so much, at one bank voltage or at any."""

    weights: Mapping[str, Mapping[str, int]]
    """What each option adds, by group and key; an option left out adds nothing."""
    at_most: int
    voltage: int = 0
    """0 = whichever it is."""


def rule_sums(variables: ModelVariables) -> list[RuleSum]:
    """Every sum of the model that is over options only, and asked for always or at one voltage."""
    options = variables.options_by_index()
    voltages = {literal.index: voltage for voltage, literal in variables.voltages().items()}
    found: list[RuleSum] = []
    for constraint in variables.model.proto.constraints:
        under = list(constraint.enforcement_literal)
        if not constraint.has_linear() or len(under) > 1 or any(literal not in voltages for literal in under):
            continue
        indices, bounds = list(constraint.linear.vars), list(constraint.linear.domain)
        if len(bounds) != 2 or any((index if index >= 0 else -index - 1) not in options for index in indices):
            continue
        weights: dict[str, dict[str, int]] = {}
        for index, weight in zip(indices, constraint.linear.coeffs, strict=True):
            group, key = options[index if index >= 0 else -index - 1]
            own = weights.setdefault(group, {})
            own[key] = own.get(key, 0) + (weight if index >= 0 else -weight)
        voltage = voltages[under[0]] if under else 0
        if bounds[1] < NO_END:
            found.append(RuleSum(weights, bounds[1], voltage))
        if bounds[0] > -NO_END:
            turned = {group: {key: -weight for key, weight in own.items()} for group, own in weights.items()}
            found.append(RuleSum(turned, -bounds[0], voltage))
    return found
