"""How the limits of a result stand once its trips have been run.

On the road: check + trips -> *told limits* -> terminal, JSON, book. The rules know mean days; where trips
were run, what they burnt and how many came through are told instead.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from optimizer.job import Result
from optimizer.rules import COVERAGE, Limit
from optimizer.rules.wishes import SafetyKit
from optimizer.trips.burnt import most_burnt
from optimizer.trips.replay import Replay
from optimizer.units import demand_up

FUEL_SENTENCE = "Tanks and bottles hold what the thirstiest departure that comes through burns."
COVERAGE_SENTENCE = "As many departures as asked for run short of nothing on their whole trip."


def told_limits(result: Result) -> tuple[Limit, ...]:
    """The limits of a result's kit, in the order of the report: the rules', with the trips among them.

    Coverage follows the battery's limits; fuel is what the thirstiest departure burns of those that come
    through. Empty when there is no kit.
    """
    if result.verdict is None:
        return ()
    limits = result.verdict.limits
    if result.replay is None:
        return limits
    told = as_burnt(limits, result.replay)
    return tuple(_with_coverage(told, result.replay, result.job.allowed_short))


def as_burnt(limits: Iterable[Limit], replay: Replay) -> tuple[Limit, ...]:
    """Limits with what the trips burn in the place of mean days."""
    burnt = most_burnt(replay)
    return tuple(_fuel(limit, burnt) for limit in limits)


def _fuel(limit: Limit, burnt: dict[str, float]) -> Limit:
    if limit.slug != "fuel":
        return limit
    fuel = limit.name.removeprefix("fuel ")
    # The trips let a shortfall of a millionth pass as rounding; so does this.
    used = demand_up(burnt.get(fuel, 0.0) - 1e-6, limit.scale)
    return replace(limit, used=used, sentence=FUEL_SENTENCE)


def _with_coverage(limits: Iterable[Limit], replay: Replay, allowed_short: int) -> list[Limit]:
    wanted = replay.departures - allowed_short
    coverage = Limit(COVERAGE, COVERAGE, COVERAGE_SENTENCE, "departures", 1, wanted, replay.covered)
    told = list(limits)
    before = next((place for place, limit in enumerate(told) if limit.slug in _AFTER_COVERAGE), len(told))
    return [*told[:before], coverage, *told[before:]]


_AFTER_COVERAGE = ("sunless_energy", "daily_balance", "charge_current", SafetyKit.slug)
