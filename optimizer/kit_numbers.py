"""A kit as the trips see it: the one place where options become ``KitNumbers``.

On the road: kit -> *numbers* -> trips (for ``replay``, and for every candidate while choosing).
"""

from __future__ import annotations

from optimizer.problem.records import Kit, Option, Problem
from optimizer.trips.numbers import (
    FUELS,
    ArrayNumbers,
    BankNumbers,
    HeaterNumbers,
    KitNumbers,
    MealNumbers,
)

PLENTY = 1e9
"""Stands for 'not looked at here': water, waste and toilet where the brief wants none."""


def kit_numbers(problem: Problem, kit: Kit) -> KitNumbers:
    """What the kit does on a trip.

    Raises KeyError when the kit has no battery or no insulation (no checked kit has none).
    """
    chosen = {group.name: option for group, option in kit.options(problem)}
    inverter, converter = chosen.get("inverter"), chosen.get("dc_converter")
    alternator = chosen.get("alternator_charger")
    fan = chosen.get("roof_fan")
    return KitNumbers(
        bank=_bank(chosen["battery"]),
        arrays=_arrays(chosen),
        alternator_w=alternator.effects["alternator_w"] if alternator else 0.0,
        inverter_efficiency=inverter.effects["inverter_efficiency"] if inverter else 1.0,
        inverter_idle_w=inverter.effects["inverter_idle_w"] if inverter else 0.0,
        converter_efficiency=converter.effects["converter_efficiency"] if converter else 1.0,
        idle_w=sum(option.effects.get("idle_w", 0.0) for option in chosen.values()),
        cold_dc=_cold(chosen, "dc"),
        cold_ac=_cold(chosen, "ac"),
        heater=_heater(chosen.get("heater")),
        fan_w=fan.effects["fan_w"] if fan else 0.0,
        heat_loss_w_k=chosen["insulation"].effects["heat_loss_w_k"],
        meals=tuple(_meal(chosen[group.name]) for group in problem.of_kind("meal")),
        fuel_l=_fuels(problem, chosen),
        water_l=_water(kit, chosen),
        grey_l=sum(option.effects.get("grey_l", 0.0) for option in chosen.values()),
        toilet_visits=chosen["toilet"].effects["toilet_visits"] if "toilet" in chosen else PLENTY,
    )


def _bank(option: Option) -> BankNumbers:
    effects = option.effects
    return BankNumbers(
        usable_wh=effects["usable_wh"],
        charge_w=effects["charge_w"],
        charge_efficiency=effects["charge_efficiency"],
        discharge_efficiency=effects["discharge_efficiency"],
        self_use_w=effects["self_use_w"],
        chemistry=option.traits["chemistry"],
        charges_cold=bool(effects["charges_cold"]),
        warm=bool(effects["warm"]),
    )


def _arrays(chosen: dict[str, Option]) -> tuple[ArrayNumbers, ...]:
    arrays = []
    for slot in (1, 2):
        panels, controller = chosen.get(f"panels_{slot}"), chosen.get(f"controller_{slot}")
        if panels is None or controller is None:
            continue
        arrays.append(
            ArrayNumbers(
                power_w=panels.effects["power_w"],
                switching_w=panels.effects["working_a"] * controller.effects["bank_v"],
                tracking=bool(controller.effects["tracking"]),
                coefficient_pct_k=panels.effects["coefficient_pct_k"],
                noct_c=panels.effects["noct_c"],
                output_w=controller.effects["output_w"],
                efficiency=controller.effects["efficiency"],
            )
        )
    return tuple(arrays)


def _cold(chosen: dict[str, Option], supply: str) -> tuple[float, float]:
    """Draws together at 25 and 32 degC; none falls with warmth, box by box, as ``physics.cold`` has it."""
    at_25 = [option.effects.get(f"cold_{supply}_25_w", 0.0) for option in chosen.values()]
    at_32 = [option.effects.get(f"cold_{supply}_32_w", 0.0) for option in chosen.values()]
    return sum(at_25), sum(max(pair) for pair in zip(at_25, at_32, strict=True))


def _heater(option: Option | None) -> HeaterNumbers | None:
    if option is None:
        return None
    supply = option.traits["supply"]
    return HeaterNumbers(
        output_w=option.effects["output_w"],
        draw_per_w=option.effects[f"draw_{supply}_per_w"],
        supply=supply,
        start_wh=option.effects["start_wh"],
        fuel=option.traits["fuel"],
        fuel_l_per_wh=option.effects["fuel_l_per_wh"],
    )


def _meal(option: Option) -> MealNumbers:
    return MealNumbers(
        dc_wh=option.effects.get("dc_wh", 0.0),
        ac_wh=option.effects.get("ac_wh", 0.0),
        fuel=option.traits["fuel"],
        fuel_l=option.effects.get("fuel_l", 0.0),
        while_driving=bool(option.effects["while_driving"]),
    )


def _water(kit: Kit, chosen: dict[str, Option]) -> float:
    """Water for the people: what the containers hold less what the toilet flushes away."""
    held = sum(option.effects.get("water_l", 0.0) for option in chosen.values())
    flushed = sum(option.effects.get("flush_l_day", 0.0) for option in chosen.values())
    return held - kit.nights * flushed


def _fuels(problem: Problem, chosen: dict[str, Option]) -> dict[str, float]:
    return {
        fuel: problem.need(f"own_{fuel}_ml") / 1000
        + sum(option.effects.get(f"fuel_l {fuel}", 0.0) for option in chosen.values())
        for fuel in FUELS
    }
