"""Options of everything that keeps people warm, fed, watered and safe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from optimizer.brief.brief import Brief
from optimizer.brief.uses import Meal
from optimizer.circuits import small_parts
from optimizer.circuits.records import Wired, joined
from optimizer.parts.records import (
    ColdBox,
    Cooker,
    FuelTank,
    GreyContainer,
    Heater,
    Insulation,
    RoofFan,
    SafetyItem,
    Toilet,
    WaterContainer,
)
from optimizer.physics.fuel import FUEL_DENSITY_KG_L, FUEL_LHV_WH_L, FUELS, burner_output
from optimizer.physics.water import WATER_KG_L
from optimizer.problem.context import Context, joined_words, ordered
from optimizer.problem.placing import fan_taken_cm2
from optimizer.problem.reaches import Length
from optimizer.problem.records import Group, Option
from optimizer.units import demand_up, supply_down

GAS = "propane"
TANKS_AT_MOST = 3
SAFETY_ROLES = ("co_alarm", "smoke_alarm", "extinguisher", "disconnect", "main_fuse", "fuse_box", "gas_alarm")
NL = 1_000_000_000
"""Nanolitres in a litre."""
COMPRESSOR_START = 6.0
"""What a mains compressor draws for the moment of its start, times its running power; one on DC is started softly by
its own electronics. Common practice, no source."""
COOKING_HOURS = {"boil": 1.5, "fry": 1.5, "grill": 1.5, "bake": 3.0, "slow_cook": 8.0}
"""Longest a meal may take on a cooker by what it does [h]; common practice, no source."""


def living_groups(context: Context) -> list[Group]:
    """All groups of this room, in the order of the report."""
    comfort, supplies = context.brief.comfort, context.brief.supplies
    groups = []
    if comfort.heating:
        groups.append(Group("heater", "heater", ordered(_heaters(context)), needed=True))
    groups.append(Group("insulation", "insulation", ordered(_insulations(context)), needed=True))
    groups += _tank_groups(context)
    groups += _cold_groups(context)
    groups += _cooking_groups(context)
    groups += _counted(context, "water_container", "water")
    groups += _counted(context, "grey_container", "grey")
    if supplies.toilet:
        groups.append(Group("toilet", "toilet", ordered(_toilets(context)), needed=True))
    if comfort.roof_fan:
        groups.append(Group("roof_fan", "roof_fan", ordered(_fans(context)), needed=True))
    return groups + list(_safety_groups(context))


def _heaters(context: Context) -> Iterator[Option]:
    comfort, altitude = context.brief.comfort, context.season.altitude_m
    for part in context.catalog.parts["heater"]:
        assert isinstance(part, Heater)
        burns = bool(part.fuel)
        output = float(burner_output(part.output_w, altitude)) if burns else part.output_w
        if altitude > part.altitude_max_m:
            output = 0.0
        draw = part.draw_w / part.output_w if burns else 1 / part.efficiency
        litres = 1 / (part.efficiency * FUEL_LHV_WH_L[part.fuel]) if burns else 0.0
        amounts = {
            "heat_w": supply_down(output),
            f"draw_{part.supply}_ppm": demand_up(draw, 1_000_000),
            f"start_{part.supply}_wh": demand_up(part.start_wh * comfort.heater_starts_a_day),
            f"{part.supply}_run_w": demand_up(draw * (output or part.output_w)),  # too high up it runs for nothing
            "open_flame": int(burns and not part.room_sealed),
            "gas": int(part.fuel == GAS),
            "always_ac": int(part.supply == "ac"),
            "dc_ways": int(part.supply == "dc" and draw > 0),
        }
        if burns:
            amounts[f"burn_{part.fuel}_nl_wh"] = demand_up(litres, NL)
        yield context.option(
            part.id, [(part, 1)], amounts,
            effects={
                "output_w": output, f"draw_{part.supply}_per_w": draw,
                "start_wh": part.start_wh, "fuel_l_per_wh": litres,
            },
            traits={"fuel": part.fuel, "supply": part.supply},
            words=part.fuel or "electric",
            wired=(wired := small_parts.heater(context.plan, part)),
            reach_mm=context.lengths.appliance_mm(bool(wired.circuits)),
        )


def _insulations(context: Context) -> Iterator[Option]:
    season, brief = context.season, context.brief
    area = sum(s.area for s in brief.vehicle.surfaces if s.kind in ("insulated", "floor"))
    for part in context.catalog.parts["insulation"]:
        assert isinstance(part, Insulation)
        loss = season.heat_loss(part)
        heat = {m: demand_up(season.heat_wh(m, loss)) if brief.comfort.heating else 0 for m in season.months}
        amounts = {f"heat_{month}_wh": wh for month, wh in heat.items()}
        amounts["heat_worst_wh"] = max(heat.values())
        amounts["night_w"] = demand_up(season.night_w(loss))
        yield context.option(
            part.id, [(part, 1)], amounts, times=area,
            effects={"heat_loss_w_k": loss},
            wired=small_parts.insulation(context.plan, part, area),
            words=f"{area:.1f} m2, {part.thickness_mm:g} mm, whole van loses {loss:.0f} W/K",
        )


def _tank_groups(context: Context) -> Iterator[Group]:
    for fuel in FUELS:
        tanks = [p for p in context.catalog.parts["fuel_tank"] if isinstance(p, FuelTank) and p.fuel == fuel]
        options = [_tank(context, tank, n) for tank in tanks for n in range(1, TANKS_AT_MOST + 1)]
        if options:
            yield Group(f"tank {fuel}", "fuel_tank", ordered(options), needed=False)


def _tank(context: Context, tank: FuelTank, count: int) -> Option:
    litres = count * tank.volume_l
    amounts = {
        f"hold_{tank.fuel}_ml": supply_down(litres, 1000),
        "full_g": demand_up(litres * FUEL_DENSITY_KG_L[tank.fuel], 1000),
        "gas": int(tank.fuel == GAS),
    }
    return context.option(
        f"{tank.id} x{count}", [(tank, count)], amounts,
        effects={f"fuel_l {tank.fuel}": litres}, words=f"{litres:g} L of {tank.fuel}",
    )


def _cold_groups(context: Context) -> Iterator[Group]:
    supplies = context.brief.supplies
    if supplies.chilled or supplies.frozen:
        options = ordered(_cold_boxes(context))
        yield Group("cold_box_1", "cold_box", options, needed=True)
        yield Group("cold_box_2", "cold_box", options, needed=False, twin="cold_box_1")


def _cold_boxes(context: Context) -> Iterator[Option]:
    for part in context.catalog.parts["cold_box"]:
        assert isinstance(part, ColdBox)
        # A box without power keeps cold for some nights only, and how many there are may be open still.
        kept = "ice_" if part.style == "passive" else ""
        amounts = {
            f"{kept}chilled_ml": supply_down(part.chilled_l, 1000),
            f"{kept}frozen_ml": supply_down(part.frozen_l, 1000),
            f"{part.supply}_run_w": demand_up(max(part.peak_w, part.wh_day_25 / 24, part.wh_day_32 / 24)),
            "always_ac": int(part.supply == "ac" and part.wh_day_25 > 0),
            "dc_ways": int(part.supply == "dc" and part.wh_day_25 > 0),
        }
        if part.supply == "ac":  # on top of its running, which is among what runs on AC already
            amounts["ac_start_w"] = demand_up((COMPRESSOR_START - 1) * part.peak_w)
        for month in context.season.months:
            amounts[f"cold_{part.supply}_{month}_wh"] = demand_up(context.season.cold_wh(month, part))
        yield context.option(
            part.id, [(part, 1)], amounts,
            effects={
                f"cold_{part.supply}_25_w": part.wh_day_25 / 24,
                f"cold_{part.supply}_32_w": part.wh_day_32 / 24,
            },
            wired=(wired := small_parts.cold_box(context.plan, part)),
            reach_mm=context.lengths.appliance_mm(bool(wired.circuits)),
            words=f"{part.chilled_l:g} L chilled, {part.frozen_l:g} L frozen",
        )


def _cooking_groups(context: Context) -> Iterator[Group]:
    meals = context.brief.meals
    if not meals:
        return
    cookers = [p for p in context.catalog.parts["cooker"] if isinstance(p, Cooker)]
    for cooker in cookers:
        if any(_can_cook(cooker, meal) for meal in meals):
            amounts = {"gas": int(cooker.fuel == GAS), "dc_ways": int(not cooker.fuel and cooker.supply == "dc")}
            option = context.option(
                cooker.id, [(cooker, 1)], amounts, words=cooker.abilities.replace("|", ", "),
                wired=(wired := small_parts.cooker(context.plan, cooker)),
                reach_mm=context.lengths.appliance_mm(bool(wired.circuits)),
            )
            yield Group(f"cooker {cooker.id}", "cooker", (option,), needed=False)
    for meal in meals:
        options = ordered(_cooked(cooker, meal) for cooker in cookers if _can_cook(cooker, meal))
        yield Group(f"meal {meal.name}", "meal", options, needed=True, hidden=True)


def _can_cook(cooker: Cooker, meal: Meal) -> bool:
    able = meal.ability in cooker.abilities.split("|")
    return able and meal.heat / (cooker.efficiency * cooker.power_w) <= COOKING_HOURS[meal.ability]


def _cooked(cooker: Cooker, meal: Meal) -> Option:
    """A meal on a cooker. No parts of its own: the cooker is bought in its own group."""
    energy = meal.heat / cooker.efficiency
    amounts: dict[str, int] = {}
    effects: dict[str, float] = {}
    if cooker.fuel:
        litres = energy / FUEL_LHV_WH_L[cooker.fuel]
        amounts[f"cook_{cooker.fuel}_nl_night"] = demand_up(litres / meal.every_days, NL)
        effects["fuel_l"] = litres
    else:
        amounts[f"{cooker.supply}_wh_day"] = demand_up(energy / meal.every_days)
        amounts[f"{cooker.supply}_w"] = demand_up(cooker.power_w)
        if cooker.supply == "ac":
            amounts["ac_start_w"] = demand_up(max(cooker.power_w, cooker.starting_w))
        effects[f"{cooker.supply}_wh"] = energy
    effects["while_driving"] = float(cooker.while_driving)
    return Option(
        key=cooker.id, parts=(), amounts=amounts, effects=effects, traits={"fuel": cooker.fuel},
        words=f"{meal.heat:g} Wh of useful heat",
    )


def _counted(context: Context, kind: str, name: str) -> Iterator[Group]:
    """A group a container: so many of it, or none."""
    for part in context.catalog.parts[kind]:
        assert isinstance(part, WaterContainer | GreyContainer)
        options = [_container(context, part, name, n) for n in range(1, part.at_most + 1)]
        yield Group(f"{name} {part.id}", kind, ordered(options), needed=False)


def _container(context: Context, part: WaterContainer | GreyContainer, name: str, count: int) -> Option:
    litres = count * part.volume_l
    amounts = {f"hold_{name}_ml": supply_down(litres, 1000)}
    if name == "water":
        amounts["full_g"] = demand_up(litres * WATER_KG_L, 1000)
    else:
        amounts["grey_g"] = demand_up(litres * WATER_KG_L, 1000)
    # Keys sort by count as numbers do.
    return context.option(
        f"{part.id} x{count:02d}", [(part, count)], amounts, effects={f"{name}_l": litres}, words=f"{litres:g} L",
        wired=small_parts.water(context.plan, part),
    )


def _toilets(context: Context) -> Iterator[Option]:
    supplies, people = context.brief.supplies, len(context.brief.people)
    visits = supplies.toilet_visits_per_person_day * people
    for part in context.catalog.parts["toilet"]:
        assert isinstance(part, Toilet)
        flush = part.water_l_per_visit * visits
        amounts = {
            "hold_millivisits": supply_down(part.visits, 1000),
            "cents_night": demand_up(part.usd_per_visit * visits, 100),
            "used_g_night": demand_up(part.kg_per_visit * visits, 1000),
            "flush_ml_night": demand_up(flush, 1000),
        }
        yield context.option(
            part.id, [(part, 1)], amounts, effects={"toilet_visits": part.visits, "flush_l_day": flush},
            words=f"{part.visits:g} visits", wired=small_parts.toilet(context.plan, part),
        )


def _fans(context: Context) -> Iterator[Option]:
    roof, comfort = context.brief.vehicle.roof, context.brief.comfort
    for part in context.catalog.parts["roof_fan"]:
        assert isinstance(part, RoofFan)
        opening = demand_up(roof.fan_length)
        side = max(demand_up(part.length_mm), demand_up(part.width_mm), opening) + 2 * demand_up(part.clearance_mm)
        amounts = {
            "dc_wh_day": demand_up(part.draw_w * comfort.fan_hours),
            "dc_run_w": demand_up(part.draw_w),
            "roof_g": demand_up(part.mass_kg, 1000),
            "height_mm": demand_up(part.height_mm),
            "area_cm2": fan_taken_cm2(context.space, side),
            "dc_ways": int(part.draw_w > 0),
        }
        yield context.option(
            part.id, [(part, 1)], amounts, effects={"fan_w": part.draw_w}, words=f"{part.airflow_m3_h:g} m3/h",
            fan_side=opening, wired=small_parts.roof_fan(context.plan, part),
        )


def _safety_groups(context: Context) -> Iterator[Group]:
    roles: dict[str, list[SafetyItem]] = {role: [] for role in SAFETY_ROLES}
    for part in context.catalog.parts["safety"]:
        assert isinstance(part, SafetyItem)
        roles[part.role].append(part)
    for role, parts in roles.items():
        options = ordered(option for part in parts for option in _safety(context, part))
        yield Group(f"safety {role}", "safety", options, needed=role != "gas_alarm")


def _safety(context: Context, part: SafetyItem) -> Iterator[Option]:
    rating = supply_down(part.rating_a, 1000)
    amounts = {"bank_v_max": supply_down(part.bank_v_max), "rating_ma": rating}
    words, wired = part.role.replace("_", " "), Wired()
    if part.role == "fuse_box":
        return context.by_reach("safety fuse_box", part, partial(_fuse_box, context, part, amounts))
    if part.role == "main_fuse":
        amounts |= {"guarded_ma": rating, "interrupt_ma": supply_down(part.interrupt_a, 1000)}
        wired = context.plan.main_fuse(part) if rating else Wired(complete=False)
    effects: dict[str, float] = {}
    if part.draw_w:  # a wired alarm has a circuit of its own, and is never switched off
        draw = demand_up(part.draw_w, 1000)
        amounts |= {"idle_mw": draw, "dc_run_w": demand_up(part.draw_w), "dc_ways": 1}
        effects["idle_w"] = part.draw_w
        wired = joined(wired, context.plan.appliance(words, part.draw_w, steady=True))
    return iter([context.option(part.id, [(part, 1)], amounts, effects=effects, words=words, wired=wired)])


def _fuse_box(context: Context, part: SafetyItem, rated: Mapping[str, int], length: Length) -> Option:
    feed = supply_down(context.plan.feed_limit_a(part), 1000)
    return context.option(
        part.id + length.suffix, [(part, 1)], {**rated, "feed_ma": feed, "ways": part.ways},
        words=joined_words("fuse box", length.words),
        wired=context.plan.fuse_box(part, dc_uses(context.brief), length.metres),
    )


def dc_uses(brief: Brief) -> list[tuple[str, float]]:
    """Name and power at once of each of the brief's uses that runs on 12 V [W]."""
    return [(use.name, use.power * use.count) for use in brief.uses if use.supply == "dc" and use.power > 0]

