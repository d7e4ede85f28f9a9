"""The day's electric load at the bank, month by month: the account that two rules draw on.

On the road: under ``rules.energy``. ``add_day_load`` gives the model an unknown that is at least the
load; ``day_load`` computes it in plain arithmetic. Conversions always round up. All in Wh a day.
"""

from __future__ import annotations

from typing import Any

from optimizer.problem.kept import Kept
from optimizer.problem.records import Group, Kit, Option, Problem
from optimizer.rules.base import Variables

MOST_WH = 1_000_000
PPM = 1_000_000


def add_day_load(variables: Variables, slug: str, month: int) -> Any:
    """An unknown that is at least the mean day's load at the bank in ``month``, for one rule."""
    problem = variables.problem
    dc = variables.number(f"{slug} dc {month}", MOST_WH)
    ac = variables.number(f"{slug} ac {month}", MOST_WH)
    heat_dc, heat_ac = (_add_heater_draw(variables, slug, month, supply) for supply in ("dc", "ac"))
    variables.demand(
        slug,
        dc >= problem.need("dc_wh_day") + variables.total("dc_wh_day")
        + variables.total(f"cold_dc_{month}_wh") + heat_dc,
    )
    variables.demand(
        slug,
        ac >= problem.need("ac_wh_day") + variables.total("ac_wh_day")
        + variables.total(f"cold_ac_{month}_wh") + heat_ac,
    )
    from_dc = _add_through(variables, slug, f"converter {month}", "dc_converter", dc, or_plain=True)
    from_ac = _add_through(variables, slug, f"inverter {month}", "inverter", ac, or_plain=False)
    load = variables.number(f"{slug} load {month}", 4 * MOST_WH)
    idle = 24 * variables.total("idle_mw") + _add_switched_idle(variables, slug)
    variables.demand(slug, 1000 * load >= 1000 * from_dc + 1000 * from_ac + idle)
    return load


_HARDEST: Kept[tuple[int, ...]] = Kept(8)


def hardest_months(problem: Problem) -> tuple[int, ...]:
    """Months of the season in which the load of some kit may be the highest: no other asks as much of every option."""
    return _HARDEST.of((problem.groups,), problem.months, lambda: _hardest_months(problem))


def _hardest_months(problem: Problem) -> tuple[int, ...]:
    asked = {
        month: [
            group.weights(name) for group in problem.groups
            for name in (f"cold_dc_{month}_wh", f"cold_ac_{month}_wh", f"heat_{month}_wh")
        ]
        for month in problem.months
    }

    def easier(month: int, other: int) -> bool:
        pairs = zip(asked[month], asked[other], strict=True)
        no_more = all(wh <= there.get(key, 0) for here, there in pairs for key, wh in here.items())
        return no_more and (asked[month] != asked[other] or other < month)

    return tuple(month for month in asked if not any(easier(month, other) for other in asked if other != month))


def _add_switched_idle(variables: Variables, slug: str) -> Any:
    """The inverter's own draw: in the hours with AC uses, or all day beside something always on AC."""
    problem = variables.problem
    idle = variables.number(f"{slug} inverter idle", 24 * 1_000_000)
    drawn = variables.total("switched_idle_mw", "inverter")
    variables.demand(slug, idle >= problem.need("ac_hours") * drawn)
    for group in problem.groups:
        always = tuple(option.key for option in group.options if option.get("always_ac"))
        if always:
            variables.demand(slug, idle >= 24 * drawn, variables.any_of(group, always))
    return idle


def _add_heater_draw(variables: Variables, slug: str, month: int, supply: str) -> Any:
    draw = variables.number(f"{slug} heater {supply} {month}", MOST_WH)
    problem = variables.problem
    heaters = [
        (group, option) for group in problem.of_kind("heater") for option in group.options
        if option.get(f"draw_{supply}_ppm") or option.get(f"start_{supply}_wh")
    ]

    def needed(heat: int) -> Any:
        return variables.weighted(
            (group, heater, heat * heater.get(f"draw_{supply}_ppm") + PPM * heater.get(f"start_{supply}_wh"))
            for group, heater in heaters
        )

    for group in problem.of_kind("insulation") if heaters else ():
        by_heat = by_number(group, f"heat_{month}_wh")
        for heat, keys in by_heat.items():
            if heat:
                variables.demand(slug, PPM * draw >= needed(heat), variables.any_of(group, keys))
        least = min(by_heat, default=0) if group.needed else 0
        if least:  # says nothing new, but holds in the relaxation too
            variables.demand(slug, PPM * draw >= needed(least))
    return draw


def _add_through(
    variables: Variables, slug: str, name: str, kind: str, energy: Any, or_plain: bool
) -> Any:
    """Energy at the bank for ``energy`` behind a converter; ``or_plain``: direct when none is fitted."""
    at_bank = variables.number(f"{slug} {name}", 2 * MOST_WH)
    add_conversion(variables, slug, kind, energy, at_bank)
    if or_plain:
        variables.demand(slug, at_bank >= energy)
        return at_bank
    groups = tuple(variables.problem.of_kind(kind))
    fitted = sum(variables.picked(group, option) for group in groups for option in group.options)
    # Without an inverter nothing can run on AC.
    variables.demand("inverter_continuous", energy <= MOST_WH * fitted)
    add_best_conversion(variables, slug, kind, energy, at_bank)
    return at_bank


def add_conversion(variables: Variables, slug: str, kind: str, behind: Any, at_bank: Any) -> None:
    """What is drawn behind a converter takes more at the bank, by the efficiency of the one that is chosen."""
    for group in variables.problem.of_kind(kind):
        for permille, keys in by_number(group, "efficiency_permille").items():
            variables.demand(slug, permille * at_bank >= 1000 * behind, variables.any_of(group, keys))


def add_best_conversion(variables: Variables, slug: str, kind: str, behind: Any, at_bank: Any) -> None:
    """No converter takes less than the best one: says nothing new, but holds in the relaxation too.

    Only where nothing is drawn without a converter.
    """
    groups = variables.problem.of_kind(kind)
    best = max((permille for group in groups for permille in by_number(group, "efficiency_permille")), default=0)
    if best:
        variables.demand(slug, best * at_bank >= 1000 * behind)


def by_number(group: Group, amount: str) -> dict[int, tuple[str, ...]]:
    """Keys of a group's options by an amount of theirs; many share one, and then one condition serves them all."""
    keys: dict[int, tuple[str, ...]] = {}
    for option in group.options:
        keys[option.get(amount)] = (*keys.get(option.get(amount), ()), option.key)
    return dict(sorted(keys.items()))


def day_load(problem: Problem, kit: Kit, month: int) -> int:
    """The mean day's load at the bank in ``month`` [Wh], rounded up at each step."""
    heat_dc = heater_draw(problem, kit, month, "dc")
    heat_ac = heater_draw(problem, kit, month, "ac")
    dc = problem.need("dc_wh_day") + kit.sum(problem, "dc_wh_day") + kit.sum(problem, f"cold_dc_{month}_wh")
    ac = problem.need("ac_wh_day") + kit.sum(problem, "ac_wh_day") + kit.sum(problem, f"cold_ac_{month}_wh")
    at_bank = through(problem, kit, "dc_converter", dc + heat_dc) + through(
        problem, kit, "inverter", ac + heat_ac
    )
    hours_on = 24 if kit.sum(problem, "always_ac") else problem.need("ac_hours")
    idle_mwh = 24 * kit.sum(problem, "idle_mw") + hours_on * kit.sum(problem, "switched_idle_mw", "inverter")
    return at_bank + ceil_div(idle_mwh, 1000)


def heater_draw(problem: Problem, kit: Kit, month: int, supply: str) -> int:
    """What the heater takes on the mean day of ``month`` from that supply [Wh]."""
    heat = kit.sum(problem, f"heat_{month}_wh", "insulation")
    heater = _heater(problem, kit)
    if not heat or heater is None:
        return 0
    _, option = heater
    return ceil_div(heat * option.get(f"draw_{supply}_ppm"), PPM) + option.get(f"start_{supply}_wh")


def _heater(problem: Problem, kit: Kit) -> tuple[Group, Option] | None:
    return next(((g, o) for g, o in kit.options(problem) if g.kind == "heater"), None)


def through(problem: Problem, kit: Kit, kind: str, energy: int) -> int:
    """Energy at the bank behind the converter of that kind, or the same when there is none [Wh]."""
    for group, option in kit.options(problem):
        if group.kind == kind:
            return ceil_div(1000 * energy, option.get("efficiency_permille"))
    return energy


def ceil_div(numerator: int, denominator: int) -> int:
    """Division rounded up, for whole numbers."""
    return -(-numerator // denominator)
