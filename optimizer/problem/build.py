"""Brief + catalog + weather years -> Problem. The one way in.

On the road: the last step before choosing. Faults that only show when brief and catalog meet (a part
that is required but not in the catalog, a column that no part has) are reported here, all at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil

from optimizer.brief.brief import Brief
from optimizer.brief.uses import Use
from optimizer.circuits.shelf import WIRING_KINDS
from optimizer.errors import Fault, FaultsFound, nearest
from optimizer.parts.catalog import Catalog
from optimizer.physics.fuel import FUELS
from optimizer.physics.wire import PLAIN_FUSE_DISTANCE_MM, SHEATHED_FUSE_DISTANCE_MM
from optimizer.problem.context import Context
from optimizer.problem.living import dc_uses, living_groups
from optimizer.problem.own import own_groups
from optimizer.problem.placing import free_roof_cm2, space_of
from optimizer.problem.power import power_groups
from optimizer.problem.records import Goal, Group, OwnedPart, OwnLimitNeed, Problem
from optimizer.problem.season import Season, season_of
from optimizer.problem.space import Space
from optimizer.units import demand_up, supply_down
from optimizer.weather.year import WeatherYear

NO_HEIGHT_MM = 10_000
"""What holds where the brief gives no overall height: no van comes near it."""
GOALS = {"cheapest": ("USD", 100), "lightest": ("kg", 1000), "longest": ("nights", 1)}


def build_problem(
    brief: Brief,
    catalog: Catalog,
    years: Sequence[WeatherYear],
    file: str = "brief",
    groups: Sequence[Group] | None = None,
) -> Problem:
    """Everything the choosing needs, as integers.

    ``groups`` are those of a brief with the same ``sameness.options_key``, to save building them again.

    Raises
    ------
    FaultsFound
        When the brief names parts or columns that the catalog does not have.
    """
    raise_mismatches(brief, catalog, file)
    season = season_of(brief, years)
    preferences = brief.preferences
    space = space_of(brief)
    owned = frozenset(owned.part for owned in preferences.owned)
    context = Context(brief, catalog, season, space, _columns(brief), owned)
    space = replace(space, reaches=context.lengths.reaches)
    if groups is None:
        groups = power_groups(context) + living_groups(context) + list(own_groups(context))
        _raise_clashes(brief, groups, file)
    goal = goal_of(preferences.goal)
    longest = preferences.goal == "longest"
    return Problem(
        groups=tuple(groups),
        owned=tuple(
            OwnedPart(o.part, o.count, demand_up(catalog.any_part(o.part).price_usd, 100))
            for o in sorted(preferences.owned, key=lambda owned: owned.part)
        ),
        voltages=tuple(sorted(set(preferences.voltages))),
        nights=tuple(range(1, brief.trip.nights_at_most + 1)) if longest else (brief.trip.nights,),
        months=season.months,
        needs=dict(sorted(_needs(brief, season, space).items())),
        goal=goal,
        tie_break=goal_of(preferences.tie_break),
        rules=_rules(brief),
        skills=tuple(sorted(preferences.skills)),
        required=tuple(sorted(preferences.required)),
        refused=tuple(sorted(preferences.refused)),
        own_limits=tuple(
            OwnLimitNeed(
                o.name, o.column, o.unit,
                None if o.at_most is None else supply_down(o.at_most, 1000),
                None if o.at_least is None else demand_up(o.at_least, 1000),
            )
            for o in brief.limits.own
        ),
        title=brief.name,
        space=space,
    )


def goal_of(slug: str) -> Goal:
    """The goal behind a word of the brief."""
    if slug.startswith("most:"):
        return Goal(slug, slug.removeprefix("most:"), 1000)
    return Goal(slug, *GOALS[slug])


def _rules(brief: Brief) -> tuple[str, ...]:
    from optimizer.rules import RULES

    out = set() if brief.trip.wants_daily_balance else {"daily_balance"}
    if not brief.trip.sunless_days:
        out.add("sunless_energy")
    return tuple(rule.slug for rule in RULES if rule.slug not in out)


def _columns(brief: Brief) -> tuple[str, ...]:
    return tuple(sorted({column for _, column in _columns_named(brief)}))


def _columns_named(brief: Brief) -> Iterator[tuple[str, str]]:
    """Keys of the brief that name a column to be summed, and that column."""
    for number, limit in enumerate(brief.limits.own, 1):
        yield f"limits.own[{number}].column", limit.column
    for key in ("goal", "tie_break"):
        goal = getattr(brief.preferences, key)
        if goal.startswith("most:"):
            yield f"preferences.{key}", goal.removeprefix("most:")


def raise_mismatches(brief: Brief, catalog: Catalog, file: str) -> None:
    """See that a catalog has what the brief names. Raises FaultsFound with all that it has not."""
    faults = []
    preferences = brief.preferences
    named = [(f"preferences.owned[{n}].part", o.part) for n, o in enumerate(preferences.owned, 1)]
    named += [(f"preferences.required[{n}]", part) for n, part in enumerate(preferences.required, 1)]
    named += [(f"preferences.refused[{n}]", part) for n, part in enumerate(preferences.refused, 1)]
    for place, part in named:
        if part not in catalog:
            faults.append(
                Fault(file, 0, place, f"'{part}'", "the id of a part in the catalog", nearest(part, catalog.ids))
            )
    for place, column in _columns_named(brief):
        if column not in catalog.column_names:
            remedy = nearest(column, catalog.column_names)
            expected = "a column of numbers that some part has"
            faults.append(Fault(file, 0, place, f"'{column}'", expected, remedy))
    faults += _each_faults(brief, catalog, file)
    for kind in WIRING_KINDS:
        if not catalog.parts[kind]:
            expected = f"a catalog with {kind}.csv, since every circuit is wired, fused and paid for"
            faults.append(Fault(file, 0, "catalogs", f"without any {kind}", expected, "Name 'generic' first."))
    if faults:
        raise FaultsFound(faults)


def _each_faults(brief: Brief, catalog: Catalog, file: str) -> Iterator[Fault]:
    """Own kinds chosen anew for each number of a column that their table has not."""
    for number, kind in enumerate(brief.preferences.own_kinds, 1):
        columns = sorted({column for part in catalog.own[kind.name] for column in part.columns})
        if kind.each and catalog.own[kind.name] and kind.each not in columns:
            place = f"preferences.own_kinds[{number}].each"
            expected = f"a column of numbers of {kind.file}"
            remedy = nearest(kind.each, columns) or "Add it, or leave 'each' out."
            yield Fault(file, 0, place, f"'{kind.each}'", expected, remedy)


def _raise_clashes(brief: Brief, groups: Sequence[Group], file: str) -> None:
    """An own kind whose choice would be called as another's: neither could be told from the other."""
    names = [group.name for group in groups]
    clashing = {group.kind for group in groups if group.kind.startswith("own:") and names.count(group.name) > 1}
    faults = [
        Fault(file, 0, f"preferences.own_kinds[{number}].name", f"'{kind.name}'",
              "a name that nothing else in a kit has", f"Call it 'my_{kind.name}'.")
        for number, kind in enumerate(brief.preferences.own_kinds, 1) if f"own:{kind.name}" in clashing
    ]  # fmt: skip
    if faults:
        raise FaultsFound(faults)


def _needs(brief: Brief, season: Season, space: Space) -> dict[str, int]:
    return {**_vehicle_needs(brief, space), **_power_needs(brief), **_living_needs(brief, season)}


def _vehicle_needs(brief: Brief, space: Space) -> dict[str, int]:
    vehicle, limits, roof = brief.vehicle, brief.limits, brief.vehicle.roof
    weighed = vehicle.front_axle_mass + vehicle.rear_axle_mass
    carried = sum(p.mass for p in brief.people) + sum(f.mass for f in vehicle.fittings) + brief.supplies.gear
    spare = vehicle.alternator_current * vehicle.alternator_spare / 100
    needs = {
        "budget_cents": supply_down(limits.budget, 100),
        "payload_g": supply_down(vehicle.gross_mass - weighed - limits.payload_margin, 1000),
        "carried_g": demand_up(carried, 1000),
        "roof_cm2": free_roof_cm2(space),
        "roof_load_g": supply_down(roof.load, 1000),
        "rack_g": demand_up(roof.rack_mass, 1000),
        "van_height_mm": demand_up(vehicle.height),
        "height_mm": supply_down(NO_HEIGHT_MM if limits.overall_height is None else limits.overall_height),
        "length_mm": demand_up(vehicle.length),
        "parking_mm": supply_down(limits.parking_length),
        "front_axle_g": supply_down(vehicle.front_axle_rating, 1000),
        "rear_axle_g": supply_down(vehicle.rear_axle_rating, 1000),
        "side_g": supply_down(vehicle.side_difference, 1000),
        "alternator_ma": supply_down(spare, 1000),
    }
    for fuel in FUELS:
        own = vehicle.fuel_for_heater if vehicle.fuel == fuel else 0.0
        needs[f"own_{fuel}_ml"] = supply_down(own, 1000)
    return needs


def _power_needs(brief: Brief) -> dict[str, int]:
    driving_share = 1 / brief.trip.driving.every_days if brief.trip.driving.every_days else 0.0

    def day_wh(use: Use) -> float:
        share = {"always": 1.0, "driving": driving_share, "parked": 1 - driving_share}[use.when]
        return use.power * use.count * use.hours * share / use.every_days

    dc = [use for use in brief.uses if use.supply == "dc"]
    ac = [use for use in brief.uses if use.supply == "ac"]
    ac_hours = min(24, ceil(sum(use.hours for use in ac)) + len(brief.meals))
    # A start comes on top of what runs: those always running are in the base already.
    start_extra = max((max(0.0, u.starting_power - u.power) for u in ac if not u.alone), default=0.0)
    return {
        "dc_wh_day": demand_up(sum(map(day_wh, dc))),
        "ac_wh_day": demand_up(sum(map(day_wh, ac))),
        "ac_hours": ac_hours,
        "dc_base_ways": len(dc_uses(brief)),
        "fuse_distance_mm": demand_up(brief.vehicle.runs.fuse_from_source),
        "fuse_distance_most_mm": supply_down(
            SHEATHED_FUSE_DISTANCE_MM if brief.vehicle.runs.sheathed else PLAIN_FUSE_DISTANCE_MM
        ),
        "dc_base_w": demand_up(sum(u.power * u.count for u in dc if not u.alone)),
        "ac_base_w": demand_up(sum(u.power * u.count for u in ac if not u.alone)),
        "dc_alone_w": demand_up(max((u.power * u.count for u in dc if u.alone), default=0.0)),
        "ac_alone_w": demand_up(max((u.power * u.count for u in ac if u.alone), default=0.0)),
        "ac_start_extra_w": demand_up(start_extra),
        "ac_alone_start_w": demand_up(max((_starting_w(u) for u in ac if u.alone), default=0.0)),
        "sunless_millidays": demand_up(brief.trip.sunless_days, 1000),
        "sun_permille": supply_down(brief.place.sun_stress, 10),
    }


def _starting_w(use: Use) -> float:
    """Power of a use as the last of its ``count`` starts, the others running, as they do on the trips [W]."""
    return use.power * (use.count - 1) + max(use.power, use.starting_power)


def _living_needs(brief: Brief, season: Season) -> dict[str, int]:
    supplies, people = brief.supplies, len(brief.people)
    water = supplies.water_per_person_day * people + supplies.other_water_day
    visits = supplies.toilet_visits_per_person_day * people if supplies.toilet else 0.0
    return {
        "heating": int(brief.comfort.heating),
        "mean_fuel": int(brief.comfort.heating and brief.trip.coverage is None),
        "coldest_unused": supply_down(season.night_c, 1000),
        "food_g_night": demand_up(supplies.food_per_person_day * people, 1000),
        "water_ml_night": demand_up(water, 1000),
        "grey_ml_night": demand_up(water * supplies.grey_share, 1000),
        "millivisits_night": demand_up(visits, 1000),
        "chilled_ml": demand_up(supplies.chilled, 1000),
        "frozen_ml": demand_up(supplies.frozen, 1000),
    }
