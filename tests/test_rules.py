"""Each rule by itself: just inside, just outside, its model against its arithmetic, and floats from the brief."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import plain_limits as plain
import pytest
from enumeration import random_kit, turned, twins_in_order
from one_rule import Fixed, holds
from ortools.sat.python import cp_model
from small_catalogs import with_wiring
from small_worlds import small_problem, small_world, station

from optimizer.brief.brief import Brief
from optimizer.choosing.variables import ModelVariables
from optimizer.errors import FaultsFound
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import ColdBox, OwnPart
from optimizer.problem.kept import Kept
from optimizer.problem.records import Goal, Group, Kit, Option, OwnedPart, Problem
from optimizer.rules import BY_SLUG, RULES, Limit
from optimizer.rules.loads import hardest_months

SEEDS = 48
PLACES = {"front_axle", "rear_axle", "side_balance", "roof_plan", "bay_space", "bay_load", "cable_reach", "fuel_apart"}
"""Rules about places, which have tests of their own."""
SLUGS = [rule.slug for rule in RULES if rule.slug not in PLACES]
ENERGY = ("sunless_energy", "daily_balance")


@cache
def world(seed: int) -> tuple[Brief, Catalog, Problem]:
    """A small world."""
    brief, catalog = small_world(seed)
    return brief, with_wiring(catalog), small_problem(brief, catalog)


@cache
def kits(seed: int, count: int = 12) -> tuple[Kit, ...]:
    """Kits by chance with twins in the order that the model takes."""
    problem, rng = world(seed)[2], random.Random(seed)
    drawn = [kit for kit in (random_kit(problem, rng) for _ in range(count)) if kit is not None]
    return tuple(kit for kit in (turned(problem, kit) for kit in drawn) if twins_in_order(problem, kit))


def comparable(problem: Problem, slug: str, kit: Kit) -> bool:
    """The energy rules leave AC without an inverter to the inverter's rule, in the model only."""
    return slug not in ENERGY or holds(problem, "inverter_continuous", kit)


@pytest.mark.parametrize("slug", SLUGS)
def test_the_model_of_a_rule_allows_what_its_arithmetic_allows(slug: str) -> None:
    """On kits by chance, the model with that rule alone is feasible exactly when the plain check says met."""
    seen: Counter[bool] = Counter()
    for seed in range(SEEDS):
        problem = world(seed)[2]
        fixed = Fixed(problem, slug)
        for kit in kits(seed)[:4]:
            if comparable(problem, slug, kit):
                expected = holds(problem, slug, kit)
                seen[expected] += 1
                assert fixed.allows(kit) == expected, (seed, kit.choices)
    assert seen[True] > 10
    assert seen[False] or slug in ("array_pair", "cooking", "disconnect", "roof_area"), "these are told apart by hand"


GIVING = [slug for slug in SLUGS if slug in {
    "budget", "payload", "roof_area", "roof_load", "overall_height", "parking_length", "sunless_energy",
    "daily_balance", "charge_current", "discharge_power", "array_voltage", "array_headroom", "array_current",
    "controller_current", "alternator_spare", "heat_output", "water", "grey_water", "toilet", "chilled",
    "frozen",
}]  # fmt: skip


@pytest.mark.parametrize("slug", GIVING)
def test_just_inside_and_just_outside(slug: str) -> None:
    """With a limit drawn to exactly what a kit uses both tellings allow it, and with one integer less neither."""
    compared = 0
    for seed in range(SEEDS):
        problem = world(seed)[2]
        for kit in kits(seed)[:3]:
            limits = [limit for limit in BY_SLUG[slug].holds(problem, kit) if limit.slug == slug]
            if not any(limit.used > 0 for limit in limits) or not comparable(problem, slug, kit):
                continue  # a limit of which nothing is used is never drawn tighter
            room = min(limit.room for limit in limits)
            for less, expected in ((0, True), (1, False)):
                drawn = replace(problem, gives={slug: -room - less})
                assert holds(drawn, slug, kit) == expected
                assert Fixed(drawn, slug).allows(kit) == expected, (seed, kit.choices)
            compared += 1
    assert compared > 2


NEEDS = [
    ("budget", "budget_cents", -1), ("payload", "payload_g", -1), ("payload", "carried_g", 1),
    ("roof_area", "roof_cm2", -1), ("roof_load", "roof_load_g", -1), ("roof_load", "rack_g", 1),
    ("overall_height", "height_mm", -1), ("parking_length", "parking_mm", -1), ("parking_length", "length_mm", 1),
    ("sunless_energy", "sunless_millidays", 1), ("sunless_energy", "dc_wh_day", 1), ("daily_balance", "dc_wh_day", 1),
    ("discharge_power", "dc_base_w", 1), ("alternator_spare", "alternator_ma", -1),
    ("inverter_continuous", "ac_base_w", 1), ("inverter_starting", "ac_start_extra_w", 1),
    ("converter_power", "dc_base_w", 1), ("fuel", "own_diesel_ml", -1), ("water", "water_ml_night", 1),
    ("grey_water", "grey_ml_night", 1), ("toilet", "millivisits_night", 1), ("chilled", "chilled_ml", 1),
    ("frozen", "frozen_ml", 1), ("fuse_box", "dc_base_ways", 1), ("fuse_box", "dc_base_w", 1),
    ("main_fuse", "dc_base_w", 1), ("wiring", "fuse_distance_mm", 1),
]  # fmt: skip


@pytest.mark.parametrize(("slug", "need", "harder"), NEEDS)
def test_both_tellings_turn_at_the_same_number_of_the_brief(slug: str, need: str, harder: int) -> None:
    """A number of the brief pushed until the plain check turns: there, and not a unit before, the model turns too."""
    turned_at = 0
    for seed in range(0, SEEDS, 2):
        problem = world(seed)[2]
        for kit in kits(seed)[:2]:
            edge = _edge(problem, slug, need, harder, kit)
            if edge is None:
                continue
            assert Fixed(_with(problem, need, edge), slug).allows(kit), (seed, kit.choices)
            assert not Fixed(_with(problem, need, edge + harder), slug).allows(kit), (seed, kit.choices)
            turned_at += 1
    assert turned_at > 2


def _with(problem: Problem, need: str, value: int) -> Problem:
    return replace(problem, needs={**problem.needs, need: value})


def _edge(problem: Problem, slug: str, need: str, harder: int, kit: Kit) -> int | None:
    """The hardest value at which the plain check still says met, by bisection."""
    if not comparable(problem, slug, kit):
        return None
    inside, outside = (0, 10**6) if harder > 0 else (10**8, -1)
    met = [holds(_with(problem, need, value), slug, kit) for value in (inside, outside)]
    if met != [True, False]:
        return None
    while abs(outside - inside) > 1:
        middle = (inside + outside) // 2
        inside, outside = (middle, outside) if holds(_with(problem, need, middle), slug, kit) else (inside, middle)
    return inside


# -- rules by hand ----------------------------------------------------------------------------------

ASKING_NOTHING = {
    **dict.fromkeys((
        "carried_g", "rack_g", "van_height_mm", "length_mm", "dc_wh_day", "ac_wh_day", "ac_hours", "dc_base_ways",
        "fuse_distance_mm", "dc_base_w", "ac_base_w", "dc_alone_w", "ac_alone_w", "ac_start_extra_w",
        "ac_alone_start_w", "sunless_millidays", "heating", "mean_fuel", "food_g_night", "water_ml_night",
        "grey_ml_night", "millivisits_night", "chilled_ml", "frozen_ml", "own_diesel_ml", "own_petrol_ml",
        "own_kerosene_ml", "own_propane_ml", "own_alcohol_ml",
    ), 0),
    **dict.fromkeys((
        "budget_cents", "payload_g", "roof_cm2", "roof_load_g", "height_mm", "parking_mm", "alternator_ma",
        "fuse_distance_most_mm", "sun_permille", "front_axle_g", "rear_axle_g", "side_g",
    ), 1000),
}  # fmt: skip


def bare(*groups: Group, **changes: object) -> Problem:
    """A 12 V problem of one night that asks nothing and offers only these groups."""
    cheapest = Goal("cheapest", "USD", 100)
    problem = Problem(groups, (), (12,), (1,), (6,), ASKING_NOTHING, cheapest, cheapest, tuple(BY_SLUG))
    return replace(problem, **changes)  # type: ignore[arg-type]


def group(name: str, kind: str, *options: Option, needed: bool = False) -> Group:
    return Group(name, kind, options, needed)


def part(key: str, skills: tuple[str, ...] = (), **amounts: int) -> Option:
    return Option(key, ((key, 1),), amounts={"one": 1, **amounts}, skills=skills)


def kit(voltage: int = 12, **choices: str) -> Kit:
    return Kit({name.replace("__", " "): key for name, key in choices.items()}, voltage, 1)


@pytest.mark.parametrize("slug", sorted(BY_SLUG))
def test_a_problem_that_asks_nothing_keeps_every_rule(slug: str) -> None:
    """With nothing asked, nothing chosen is enough."""
    assert holds(bare(), slug, kit())
    assert Fixed(bare(), slug).allows(kit())


BATTERY = group("battery", "battery", part("b"))
ALARMS = (
    group("heater", "heater", part("gas-heater", gas=1), part("flame", open_flame=1), part("plain")),
    group("safety gas_alarm", "safety", part("alarm", bank_v_max=30)),
    group("safety co_alarm", "safety", part("low", bank_v_max=15), part("high", bank_v_max=60), needed=True),
)
COOKING = (
    group("cooker ring", "cooker", part("ring")), group("cooker oven", "cooker", part("oven")),
    group("meal stew", "meal", Option("ring", ()), Option("oven", ())),
)
ARRAYS = tuple(
    group(f"{name}_{slot}", kind, part(name[0]))
    for slot in (1, 2) for name, kind in (("panels", "solar_panel"), ("controller", "charge_controller"))
)  # fmt: skip
CONVERTER = group("dc_converter", "dc_converter", part("c", continuous_w=100, efficiency_permille=900))
SKILLED = group("heater", "heater", part("h", ("gas_fitting",)))
SWITCHES = (
    group("safety main_fuse", "safety", part("f300", guarded_ma=300), part("f400", guarded_ma=400)),
    group("safety disconnect", "safety", part("d300", rating_ma=300)),
)
SAFE = {"safety__co_alarm": "high"}
HAND: list[tuple[str, Problem, Kit, bool]] = [
    ("skills", bare(SKILLED), kit(heater="h"), False),
    ("skills", bare(SKILLED, skills=("gas_fitting",)), kit(heater="h"), True),
    ("skills", bare(SKILLED), kit(), True),
    ("required", bare(BATTERY, required=("b",)), kit(battery="b"), True),
    ("required", bare(BATTERY, required=("b",)), kit(), False),
    ("required", bare(BATTERY, required=("other",)), kit(battery="b"), False),
    ("refused", bare(BATTERY, refused=("b",)), kit(battery="b"), False),
    ("refused", bare(BATTERY, refused=("b",)), kit(), True),
    ("cooking", bare(*COOKING), kit(cooker__ring="ring", meal__stew="ring"), True),
    ("cooking", bare(*COOKING), kit(cooker__oven="oven", meal__stew="ring"), False),
    ("array_pair", bare(*ARRAYS), kit(panels_1="p", controller_1="c"), True),
    ("array_pair", bare(*ARRAYS), kit(panels_1="p"), False),
    ("array_pair", bare(*ARRAYS), kit(controller_1="c"), False),
    ("array_pair", bare(*ARRAYS), kit(panels_2="p", controller_2="c"), False),
    ("array_pair", bare(*ARRAYS), kit(panels_1="p", controller_1="c", panels_2="p", controller_2="c"), True),
    ("safety_kit", bare(*ALARMS), kit(heater="gas-heater", safety__gas_alarm="alarm", **SAFE), True),
    ("safety_kit", bare(*ALARMS), kit(heater="gas-heater", **SAFE), False),
    ("safety_kit", bare(*ALARMS), kit(heater="flame", **SAFE), False),
    ("safety_kit", bare(*ALARMS), kit(heater="plain", **SAFE), True),
    ("safety_kit", bare(*ALARMS, voltages=(48,)), kit(48, heater="plain", safety__co_alarm="low"), False),
    ("safety_kit", bare(*ALARMS, voltages=(48,)), kit(48, heater="plain", safety__gas_alarm="alarm", **SAFE), False),
    ("disconnect", bare(*SWITCHES), kit(safety__main_fuse="f300", safety__disconnect="d300"), True),
    ("disconnect", bare(*SWITCHES), kit(safety__main_fuse="f400", safety__disconnect="d300"), False),
    ("disconnect", bare(*SWITCHES), kit(safety__main_fuse="f300"), False),
    ("converter_power", bare(CONVERTER), kit(), True),
    ("converter_power", bare(CONVERTER), kit(dc_converter="c"), False),
    ("converter_power", bare(CONVERTER, voltages=(24,)), kit(24), False),
    ("converter_power", bare(CONVERTER, voltages=(24,)), kit(24, dc_converter="c"), True),
]  # fmt: skip


@pytest.mark.parametrize(("slug", "problem", "chosen", "expected"), HAND)
def test_rules_of_yes_and_no_by_hand(slug: str, problem: Problem, chosen: Kit, expected: bool) -> None:
    """Small cases in which the answer is plain, told by both tellings."""
    assert holds(problem, slug, chosen) == expected
    assert Fixed(problem, slug).allows(chosen) == expected


# -- rules whose parts bring what is seldom met ------------------------------------------------------


def changed(seed: int, **tables: dict[str, object]) -> tuple[Brief, Catalog]:
    """A small world with some keys of its brief changed."""
    brief, catalog = small_world(seed)
    data = brief.model_dump()
    for table, keys in tables.items():
        data[table] |= keys
    return Brief.model_validate(data), catalog


def cold_box(key: str, **fields: object) -> ColdBox:
    plain_box = {"id": key, "name": "invented", "price_usd": 50, "mass_kg": 5, "chilled_l": 30, "frozen_l": 0}
    drawing = {"style": "chest", "wh_day_25": 200, "wh_day_32": 260, "peak_w": 45}
    return ColdBox.model_validate({**plain_box, **drawing, **fields})


def test_ice_keeps_cold_for_two_nights_however_many_are_chosen() -> None:
    """When the stay is to be as long as can be, a box of ice is good for two nights of it and no more."""
    stay = {"nights": 1, "nights_at_most": 5}
    cold = {"chilled": 10, "frozen": 0}
    brief, catalog = changed(3, preferences={"goal": "longest"}, trip=stay, supplies=cold)
    boxes = [part.id for part in catalog.parts["cold_box"]]
    ice = cold_box("ice", style="passive", wh_day_25=0, wh_day_32=0, peak_w=0)
    problem = small_problem(brief, catalog.without(*boxes).with_parts(ice))
    for nights in problem.nights:
        chosen = Kit({"cold_box_1": "ice"}, problem.voltages[0], nights)
        assert holds(problem, "chilled", chosen) == (nights <= 2)
        variables = ModelVariables(problem)
        BY_SLUG["chilled"].add(variables)
        variables.model.add(variables.literal("cold_box_1", "ice") == 1)
        variables.model.add(variables.nights()[nights] == 1)
        variables.model.add(variables.nothing(problem.group("cold_box_2")) == 1)
        assert (cp_model.CpSolver().solve(variables.model) != cp_model.INFEASIBLE) == (nights <= 2)


def test_a_cold_box_on_mains_asks_for_an_inverter_even_when_its_peak_is_not_told() -> None:
    """What draws on the mean day draws at some moment: a catalog's peak of 0 W does not spare the inverter."""
    brief, catalog = changed(3, supplies={"chilled": 10, "frozen": 0})
    boxes = [part.id for part in catalog.parts["cold_box"]]
    problem = small_problem(brief, catalog.without(*boxes).with_parts(cold_box("silent", supply="ac", peak_w=0)))
    assert not holds(problem, "inverter_continuous", Kit({"cold_box_1": "silent"}, problem.voltages[0], 2))


def test_more_parts_than_are_owned_may_be_bought_however_many() -> None:
    """Of a part owned once, a bank of 256 can still be chosen: 255 of them are paid."""
    bank = Option("cells", (("cell", 256),), amounts={"one": 1})
    owned = OwnedPart("cell", 1, 1000)
    problem = bare(group("battery", "battery", bank, needed=True), owned=(owned,))
    problem = _with(problem, "budget_cents", 255_000)
    assert holds(problem, "budget", kit(battery="cells"))
    assert Fixed(problem, "budget").allows(kit(battery="cells"))
    assert not Fixed(_with(problem, "budget_cents", 254_999), "budget").allows(kit(battery="cells"))


def test_what_a_long_stay_uses_up_is_paid_however_dear_it_is() -> None:
    """Where the nights are open, 120 of them at 1,000 dollars each come to 120,000: within a budget of just that."""
    toilet = Option("bags", (("bags", 1),), amounts={"one": 1, "cents_night": 100_000})
    problem = bare(group("toilet", "toilet", toilet, needed=True), nights=(1, 120))
    stay = replace(kit(toilet="bags"), nights=120)
    for budget in (12_000_000, 11_999_999):
        enough = _with(problem, "budget_cents", budget)
        assert holds(enough, "budget", stay) == Fixed(enough, "budget").allows(stay) == (budget == 12_000_000)


def test_what_is_kept_is_bounded() -> None:
    """The newest few results are given again, the others made anew, however few those are."""
    for most in (1, 2):
        kept: Kept[int] = Kept(most)
        things = [(object(),) for _ in range(most + 1)]
        for number, thing in enumerate(things):
            assert kept.of(thing, None, lambda number=number: number) == number
        assert [kept.of(thing, None, lambda: -1) for thing in things[::-1]] == [*range(most, 0, -1), -1]


def test_an_own_kind_may_not_be_called_as_something_built_in() -> None:
    """An own kind named 'battery' would take the place of the bank: it is a fault that says so."""
    brief, catalog = changed(3, preferences={"own_kinds": [{"name": "battery", "file": "b.csv"}]})
    own = OwnPart(id="mine", name="invented")
    with pytest.raises(FaultsFound, match=r"preferences\.own_kinds\[1\]\.name is 'battery'; expected a name that"):
        small_problem(brief, catalog.with_parts(battery=[own]))


# -- floats from brief, catalog and weather ---------------------------------------------------------

Told = tuple[float, float]


def plainly(seed: int, slug: str, chosen: Kit) -> list[tuple[str, Told]]:
    """What a limit uses and allows in floats, with the limit's name; nothing where it does not apply."""
    brief, catalog, problem = world(seed)
    counts, year = chosen.counts(problem), station(brief.place.weather[0].removeprefix("station:"))
    slots = [slot for slot in (1, 2) if f"panels_{slot}" in chosen.choices and f"controller_{slot}" in chosen.choices]
    told: dict[str, Callable[[], list[tuple[str, Told]]]] = {
        "budget": lambda: [(slug, plain.price(brief, catalog, chosen, counts))],
        "payload": lambda: [(slug, plain.payload(brief, catalog, chosen, counts))],
        "water": lambda: [(slug, plain.water(brief, catalog, chosen, counts))],
        "grey_water": lambda: [(slug, plain.grey_water(brief, catalog, chosen, counts))],
        "chilled": lambda: [(slug, plain.chilled(brief, catalog, chosen))],
        "heat_output": lambda: [(slug, plain.heat_output(brief, catalog, counts, year))],
        "array_voltage": lambda: [
            (f"{slug} {slot}", plain.array_voltage(brief, catalog, chosen, slot, year)) for slot in slots
        ],
        "controller_current": lambda: [
            (f"{slug} {slot}", plain.controller_current(catalog, chosen, slot)) for slot in slots
        ],
    }
    if slug == "heat_output" and not brief.comfort.heating:
        return []
    return told[slug]()


def compare(limit: Limit, told: Told, roundings: int) -> None:
    """Never more generous than the floats, and no further from them than the roundings explain."""
    used, allowed = told[0] * limit.scale, told[1] * limit.scale
    assert used - 1e-4 <= limit.used <= used + roundings + 1e-4, (limit, told)
    assert allowed - roundings - 1e-4 <= limit.allowed <= allowed + 1e-4, (limit, told)


ROUNDINGS = {"budget": 400, "payload": 400, "water": 40, "grey_water": 40, "chilled": 4, "heat_output": 3,
             "array_voltage": 2, "controller_current": 2}  # fmt: skip
"""Integers by which a limit's sum may be rounded against the kit: one a part, and one a night."""


@pytest.mark.parametrize("slug", sorted(ROUNDINGS))
def test_limits_agree_with_floats_and_are_rounded_against_the_kit(slug: str) -> None:
    """Used and allowed, recomputed from brief and parts alone, agree within rounding, on the safe side."""
    compared = 0
    for seed in range(SEEDS):
        problem = world(seed)[2]
        for chosen in kits(seed):
            limits = {limit.name: limit for limit in BY_SLUG[slug].holds(problem, chosen)}
            for name, told in plainly(seed, slug, chosen):
                compare(limits[name], told, ROUNDINGS[slug])
                compared += 1
    assert compared > 50


def test_heating_fuel_agrees_with_a_plain_sum_over_the_hours() -> None:
    """Litres of the coldest month's mean day, summed hour by hour, where the heater alone burns its fuel."""
    compared = 0
    for seed in range(2 * SEEDS):
        brief, catalog, problem = world(seed)
        year = station(brief.place.weather[0].removeprefix("station:"))
        for chosen in kits(seed)[:2]:
            heater = chosen.chosen(problem, "heater")
            if heater is None or not heater.traits["fuel"] or problem.has("meal meal 0") or problem.has("meal meal 1"):
                continue
            limits = {limit.name: limit for limit in BY_SLUG["fuel"].holds(problem, chosen)}
            counts = chosen.counts(problem)
            used, allowed = plain.heating_fuel(brief, catalog, chosen, counts, year)
            limit = limits[f"fuel {heater.traits['fuel']}"]
            assert 1000 * used - 1e-3 <= limit.used <= 1000 * used * 1.001 + 2
            assert 1000 * allowed - 4 <= limit.allowed <= 1000 * allowed + 1e-4
            compared += 1
    assert compared > 8


def test_the_charge_limit_of_a_bank_is_its_strings_or_its_managers() -> None:
    """Strings side by side add up, and a manager of loose cells may hold less."""
    compared = managed = 0
    for seed in range(2 * SEEDS):
        _, catalog, problem = world(seed)
        for chosen in kits(seed):
            (limit,) = BY_SLUG["charge_current"].holds(problem, chosen)
            assert limit.allowed == pytest.approx(1000 * plain.charge_limit(catalog, chosen), abs=1)
            compared += 1
            managed += len(chosen.choices["battery"].split()) == 3
    assert compared > 100
    assert managed > 5


def test_a_heater_too_high_up_to_give_heat_still_needs_its_supply() -> None:
    """Above its altitude limit a heater gives nothing, and one on mains runs through the inverter all the same."""
    seen = 0
    for seed in range(20):
        brief, catalog = small_world(seed)
        high = brief.model_copy(update={"place": brief.place.model_copy(update={"altitude": 5200})})
        for group in small_problem(high, catalog).of_kind("heater"):
            for option in group.options:
                assert option.get("heat_w") == 0
                if option.traits["supply"] == "ac":
                    assert option.get("ac_run_w") > 0
                    seen += 1
    assert seen >= 2


@pytest.mark.parametrize(
    ("june", "july", "hardest"),
    [
        ((5, 9), (5, 10), (7,)),
        ((5, 10), (5, 10), (6,)),
        ((1, 9), (0, 10), (6, 7)),
        ((5, 9), (4, 10), (6, 7)),
    ],
)
def test_a_month_is_left_out_only_where_another_asks_as_much_of_every_option(
    june: tuple[int, int], july: tuple[int, int], hardest: tuple[int, ...]
) -> None:
    options = tuple(
        Option(f"box {place}", (), amounts={"cold_dc_6_wh": here, "cold_dc_7_wh": there})
        for place, (here, there) in enumerate(zip(june, july, strict=True))
    )
    group = Group("cold_box_1", "cold_box", options, needed=False)
    problem = replace(small_problem(*small_world(0)), groups=(group,), months=(6, 7))
    assert hardest_months(problem) == hardest
