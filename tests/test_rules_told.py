"""What every rule tells of one van: units, used and allowed worked out by hand, for a full kit and for a bare one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from one_rule import Fixed, holds

from optimizer.check import check, goal_value
from optimizer.problem.records import Goal, Group, Kit, Option, OwnedPart, OwnLimitNeed, Problem
from optimizer.rules import BY_SLUG

NEEDS = {
    "carried_g": 200_000, "rack_g": 9_000, "van_height_mm": 2000, "length_mm": 5000, "dc_wh_day": 500, "ac_wh_day": 90,
    "ac_hours": 5, "dc_base_ways": 3, "fuse_distance_mm": 150, "dc_base_w": 70, "ac_base_w": 110, "dc_alone_w": 40,
    "ac_alone_w": 130, "ac_start_extra_w": 350, "ac_alone_start_w": 210, "sunless_millidays": 1500, "heating": 1,
    "mean_fuel": 1, "food_g_night": 1100, "water_ml_night": 9000, "grey_ml_night": 6000, "millivisits_night": 4000,
    "chilled_ml": 21_000, "frozen_ml": 4000, "own_diesel_ml": 700, "own_petrol_ml": 0, "own_kerosene_ml": 0,
    "own_propane_ml": 0, "own_alcohol_ml": 0, "budget_cents": 300_000, "payload_g": 900_000, "roof_cm2": 30_000,
    "roof_load_g": 80_000, "height_mm": 2600, "parking_mm": 5400, "alternator_ma": 60_000,
    "fuse_distance_most_mm": 177,
}  # fmt: skip


def one(name: str, kind: str = "", mass: int = 0, price: int = 0, parts: int = 1, needed: bool = False,
        **amounts: int) -> Group:  # fmt: skip
    """A group with one option, called as the group is."""
    option = Option(name, ((name, parts),), price, mass, {"one": 1, **amounts})
    return Group(name, kind or name, (option,), needed)


GROUPS = (
    one("battery", mass=23_000, price=40_000, usable_wh=2000, roundtrip_permille=900, charge_ma=50_000,
        discharge_w=1200, burst_w=1500, fault_ma=3_000_000),
    one("panels_1", "solar_panel", 14_000, 20_000, 3, area_cm2=11_000, roof_g=14_000, height_mm=60, voc_cold_mv=44_000,
        vmp_hot_mv=31_000, isc_ma=12_000, array_12_ma=22_000, sun_tracked_6_wh=1600, column_worth=5000,
        column_worth_down=4900),
    one("controller_1", "charge_controller", array_v_mv=100_000, needed_mv=19_000, array_a_ma=30_000, output_ma=20_000,
        efficiency_permille=950, tracking=1, idle_mw=500),
    one("alternator_charger", charger_ma=18_000, taken_ma=21_000, alternator_wh_day=300),
    one("hookup_charger", hookup_ma=7000),
    one("inverter", efficiency_permille=800, continuous_w=300, peak_w=600, bank_draw_ma=34_000,
        switched_idle_mw=6001),
    one("cold_box", chilled_ml=18_000, ice_chilled_ml=5000, frozen_ml=3000, ice_frozen_ml=2000, cold_dc_6_wh=333,
        dc_run_w=45, dc_ways=1),
    one("roof_fan", mass=3000, area_cm2=1600, roof_g=3000, height_mm=90, dc_wh_day=40, ac_run_w=20),
    one("heater", mass=5000, heat_w=2000, burn_diesel_nl_wh=120_000, draw_dc_ppm=12_000, start_dc_wh=7, dc_run_w=30,
        dc_ways=1),
    one("insulation", night_w=1500, heat_6_wh=8000, heat_worst_wh=9000),
    one("can", "water", 2000, hold_water_ml=30_000, full_g=30_000),
    one("drum", "waste", 1500, hold_grey_ml=20_000, grey_g=20_000),
    one("toilet", hold_millivisits=15_000, flush_ml_night=400, used_g_night=50, cents_night=25),
    one("tank", "fuel", 1000, hold_diesel_ml=5000, hold_alcohol_ml=1000, full_g=4200),
    one("cooker ring", "cooker"),
    Group("meal stew", "meal", (Option("ring", (), amounts={
        "ac_w": 150, "dc_w": 25, "ac_start_w": 420, "cook_alcohol_nl_night": 200_000_001}),), True),
    one("safety main_fuse", "safety", rating_ma=100_000, interrupt_ma=5_000_000, guarded_ma=99_000,
        bank_v_max=60),
    one("safety disconnect", "safety", rating_ma=98_500, bank_v_max=60),
    one("safety fuse_box", "safety", feed_ma=30_000, ways=8, bank_v_max=60),
    one("safety co_alarm", "safety", needed=True, bank_v_max=15),
)  # fmt: skip
CHEAPEST = Goal("cheapest", "USD", 100)
PROBLEM = Problem(
    GROUPS, (OwnedPart("panels_1", 1, 7000),), (12,), (2, 3), (6,), NEEDS, CHEAPEST, CHEAPEST, tuple(BY_SLUG),
    required=("battery", "heater"), refused=("toilet", "petrol can"),
    own_limits=(OwnLimitNeed("worth", "worth", "points", 6000, 4000),),
)  # fmt: skip
FULL = Kit({group.name: group.options[0].key for group in GROUPS}, 12, 2)
BARE = Kit({"safety co_alarm": "safety co_alarm", "meal stew": "ring"}, 12, 2)
"""Nothing but the alarm that is never optional, and a meal without its cooker."""

FULL_TOLD = {
    "budget": ("USD", 100, 40_000 + 20_000 + 2 * 7000 + 2 * 25, 300_000),  # of three panels one is owned
    # parts, water and fuel, two nights of food and bags, and what is carried anyway
    "payload": ("kg", 1000, 49_500 + 34_200 + 2 * 1150 + 200_000, 900_000),
    "payload return": ("kg", 1000, 49_500 + 20_000 + 2 * 50 + 200_000, 900_000),
    "roof_area": ("m2", 10_000, 11_000 + 1600, 30_000),
    "roof_load": ("kg", 1000, 14_000 + 3000 + 9000, 80_000),
    "overall_height": ("mm", 1, 2000 + 90, 2600),
    "parking_length": ("mm", 1, 5000, 5400),
    # heating takes 8000 Wh x 1.2 % + 7 = 103; DC 500 + 40 + 333 + 103 = 976; AC 90 / 0.8 up = 113; idle 24 h x 0.5 W
    # and 5 h x 6.001 W = 42.005 up: 1132 Wh a day, of which one and a half days are 1698
    "sunless_energy": ("Wh", 1, 1698, 2000),
    "daily_balance Jun": ("Wh a day", 1, 1132, 1638),  # 0.9 of 300 + 0.95 x 1600
    "charge_current": ("A", 1000, 18_000 + 20_000, 50_000),  # the controller lets 20 of the panels' 22 A through
    # the meal: AC 110 + 20 + 150 = 280 behind 0.8 is 350, DC 70 + 45 + 30 + 25 = 170
    "discharge_power": ("W", 1, 350 + 170, 1200),
    # the meal's start: AC 110 + 20 + 420 = 550 behind 0.8 is 688, beside DC of 70 + 45 + 30
    "discharge_power starting": ("W", 1, 688 + 145, 1500),
    "inverter_continuous": ("W", 1, 130 + 150, 300),
    "inverter_starting": ("W", 1, 130 + 420, 600),
    "converter_power": ("W", 1, 0, 0),
    "alternator_spare": ("A", 1000, 21_000, 60_000),
    "array_voltage 1": ("V", 1000, 44_000, 100_000),
    "array_headroom 1": ("V", 1000, 19_000, 31_000),
    "array_current 1": ("A", 1000, 12_000, 30_000),
    "controller_current 1": ("A", 1000, 22_000, 20_000),
    "array_pair": ("arrays", 1, 0, 0),
    "heat_output": ("W", 1, 1500, 2000),
    "fuel diesel": ("L", 1000, 2 * 1080, 5000 + 700),  # 9000 Wh x 0.12 mL
    "fuel alcohol": ("L", 1000, 401, 1000),  # 2 x 200.000001 mL up
    "water": ("L", 1000, 2 * 9400, 30_000),
    "grey_water": ("L", 1000, 2 * 6000, 20_000),
    "toilet": ("visits", 1000, 2 * 4000, 15_000),
    "chilled": ("L", 1000, 21_000, 18_000 + 5000),  # ice still keeps in the second night
    "frozen": ("L", 1000, 4000, 3000 + 2000),
    "cooking": ("meals", 1, 1, 1),
    "skills": ("parts", 1, 0, 0),
    "required": ("parts", 1, 2, 2),
    "refused": ("parts", 1, 1, 0),
    "safety_kit": ("items", 1, 1, 1),
    "wiring": ("circuits", 1, 0, 0),
    "wiring fuse distance": ("mm", 1, 150, 177),
    "fuse_box current": ("A", 1000, 16_819, 30_000),  # 70 + 75 + 40 = 185 W at 11 V
    "fuse_box ways": ("circuits", 1, 3 + 2, 8),
    "main_fuse": ("A", 1000, 63_523, 100_000),  # a quarter above 34 + 185 / 11 A out, which is more than 45 A in
    "main_fuse interrupt": ("A", 1000, 3_000_000, 5_000_000),
    "disconnect": ("A", 1000, 99_000, 98_500),
}  # fmt: skip
BARE_TOLD = {
    **{name: (unit, scale, 0, 0) for name, (unit, scale, _, _) in FULL_TOLD.items()},
    "budget": ("USD", 100, 0, 300_000),
    "payload": ("kg", 1000, 2 * 1100 + 200_000, 900_000),
    "roof_area": ("m2", 10_000, 0, 30_000),
    "roof_load": ("kg", 1000, 9000, 80_000),
    "overall_height": ("mm", 1, 2000, 2600),
    "parking_length": ("mm", 1, 5000, 5400),
    "sunless_energy": ("Wh", 1, 885, 0),  # 1.5 x (500 + 90), the latter without an inverter's loss
    "daily_balance Jun": ("Wh a day", 1, 590, 0),
    "discharge_power": ("W", 1, 70 + 40, 0),
    "inverter_continuous": ("W", 1, 110 + 150, 0),
    "inverter_starting": ("W", 1, 110 + 420, 0),
    "alternator_spare": ("A", 1000, 0, 60_000),
    "fuel alcohol": ("L", 1000, 401, 0),
    "water": ("L", 1000, 2 * 9000, 0),
    "grey_water": ("L", 1000, 2 * 6000, 0),
    "toilet": ("visits", 1000, 2 * 4000, 0),
    "chilled": ("L", 1000, 21_000, 0),
    "frozen": ("L", 1000, 4000, 0),
    "cooking": ("meals", 1, 1, 0),
    "required": ("parts", 1, 2, 0),
    "safety_kit": ("items", 1, 1, 1),
    "wiring fuse distance": ("mm", 1, 150, 177),
    "fuse_box current": ("A", 1000, 10_000, 0),  # 110 W at 11 V
    "fuse_box ways": ("circuits", 1, 3, 0),
    "main_fuse": ("A", 1000, 12_500, 0),
}
for gone in ("payload return", "fuel diesel", "discharge_power starting"):
    del BARE_TOLD[gone]
OWN = [("points", 1000, 5000, 6000), ("points", 1000, 4000, 4900)]
GIVING = {
    "budget", "payload", "roof_area", "roof_load", "overall_height", "parking_length", "sunless_energy",
    "daily_balance", "charge_current", "discharge_power", "alternator_spare", "array_voltage", "array_headroom",
    "array_current", "controller_current", "heat_output", "fuel", "water", "grey_water", "toilet", "chilled", "frozen",
}  # fmt: skip
"""Limits that can be asked to give."""


def told(problem: Problem, kit: Kit) -> dict[str, tuple[str, int, int, int]]:
    """Every limit but the author's own, by name."""
    limits = [limit for rule in BY_SLUG.values() for limit in rule.holds(problem, kit)]
    names = [limit.name for limit in limits if limit.name != "own:worth"]
    assert len(set(names)) == len(names)
    return {one.name: (one.unit, one.scale, one.used, one.allowed) for one in limits if one.name != "own:worth"}


def test_every_limit_of_a_full_kit_is_told_as_worked_by_hand() -> None:
    """Unit, scale, used and allowed of every limit there is, with one of everything aboard."""
    assert told(PROBLEM, FULL) == FULL_TOLD
    own = [(one.unit, one.scale, one.used, one.allowed) for one in BY_SLUG["own_limit"].holds(PROBLEM, FULL)]
    assert own == OWN


def test_every_limit_of_a_bare_kit_is_told_as_worked_by_hand() -> None:
    """Nothing chosen holds and gives nothing, and the brief still asks."""
    assert told(PROBLEM, BARE) == BARE_TOLD


def test_what_a_limit_gives_is_added_to_what_it_allows_and_to_nothing_else() -> None:
    """Three more of each limit that can give; the others stay."""
    giving = replace(PROBLEM, gives=dict.fromkeys(BY_SLUG, 3))
    for name, (unit, scale, used, allowed) in told(giving, FULL).items():
        more = 3 if name.split()[0] in GIVING else 0
        assert (unit, scale, used, allowed - more) == FULL_TOLD[name], name
    own = replace(PROBLEM, gives={"own:worth": 3})
    assert [(one.used, one.allowed) for one in BY_SLUG["own_limit"].holds(own, FULL)] == [(5000, 6003), (4000, 4903)]


@pytest.mark.parametrize("slug", sorted(BY_SLUG))
@pytest.mark.parametrize("kit", [FULL, BARE], ids=["full", "bare"])
def test_the_model_says_of_these_kits_what_is_told(slug: str, kit: Kit) -> None:
    """Of the full and of the bare kit, model and arithmetic say the same, rule by rule."""
    assert Fixed(PROBLEM, slug).allows(kit) == holds(PROBLEM, slug, kit)


EXACTLY = [
    ("inverter_continuous", "inverter", "continuous_w", 280), ("inverter_starting", "inverter", "peak_w", 550),
    ("fuse_box", "safety fuse_box", "feed_ma", 16_819), ("fuse_box", "safety fuse_box", "ways", 5),
    ("main_fuse", "safety main_fuse", "rating_ma", 63_523), ("discharge_power", "battery", "burst_w", 833),
    ("main_fuse", "safety main_fuse", "interrupt_ma", 3_000_000),
    ("disconnect", "safety disconnect", "rating_ma", 99_000), ("safety_kit", "safety co_alarm", "bank_v_max", 12),
    ("fuel", "tank", "hold_alcohol_ml", 401), ("fuel", "tank", "hold_diesel_ml", 1460),
    ("frozen", "cold_box", "ice_frozen_ml", 1000), ("charge_current", "battery", "charge_ma", 38_000),
    ("own_limit", "panels_1", "column_worth_down", 4000),
]  # fmt: skip


def with_amounts(**changes: dict[str, int]) -> Problem:
    """The problem with some amounts of some groups changed; it allows 24 V too."""
    groups = tuple(
        replace(g, options=(replace(g.options[0], amounts={**g.options[0].amounts, **changes[g.name]}),))
        if g.name in changes else g for g in GROUPS
    )  # fmt: skip
    return replace(PROBLEM, groups=groups, voltages=(12, 24))


@pytest.mark.parametrize(("slug", "name", "amount", "least"), EXACTLY)
def test_exactly_enough_is_enough_and_one_less_is_not(slug: str, name: str, amount: str, least: int) -> None:
    """What a part gives drawn to what is used: both tellings allow it, and with one less neither does."""
    for value in (least, least - 1):
        problem = with_amounts(**{name: {amount: value}})
        assert holds(problem, slug, FULL) == (value == least)
        assert Fixed(problem, slug).allows(FULL) == (value == least)
        giving = replace(problem, gives={slug: 1})
        assert holds(giving, slug, FULL) == (value == least or slug in GIVING)
        assert Fixed(giving, slug).allows(FULL) == (value == least or slug in GIVING)


@pytest.mark.parametrize(
    ("driven", "hooked", "least"), [(18_000, 30_000, 50_000), (18_000, 7000, 38_000), (0, 9, 20_009)]
)
def test_a_bank_takes_the_sun_with_the_stronger_of_engine_and_hook_up(driven: int, hooked: int, least: int) -> None:
    """20 A of sun and what the alternator or the hook-up brings, which do not run at once, in both tellings."""
    for most in (least, least - 1):
        problem = with_amounts(
            alternator_charger={"charger_ma": driven}, hookup_charger={"hookup_ma": hooked}, battery={"charge_ma": most}
        )
        assert holds(problem, "charge_current", FULL) == (most == least)
        assert Fixed(problem, "charge_current").allows(FULL) == (most == least)


@pytest.mark.parametrize(
    ("voltage", "drawn", "least"),
    [
        (12, 0, 56_250),  # all chargers at once: 20 + 18 + 7 A and a quarter
        (24, 0, 56_250),
        (24, 60_000, 75_000),  # the converter's draw is among the 60 A; what runs on 12 V is not counted again
    ],
)
def test_the_main_fuse_holds_the_larger_of_charge_and_draw(voltage: int, drawn: int, least: int) -> None:
    """A quarter above what goes in or out, whichever is more, to the milliampere in both tellings."""
    kit = replace(FULL, voltage=voltage)
    for rating in (least, least - 1):
        changes = {"inverter": {"bank_draw_ma": drawn}, "safety main_fuse": {"rating_ma": rating}}
        if voltage == 12:
            changes |= {"heater": {"dc_run_w": 0}, "cold_box": {"dc_run_w": 0}}
        problem = with_amounts(**changes)
        assert holds(problem, "main_fuse", kit) == (rating == least)
        assert Fixed(problem, "main_fuse").allows(kit) == (rating == least)


@pytest.mark.parametrize("missing", ["safety main_fuse", "safety disconnect"])
def test_without_a_main_fuse_or_a_disconnect_on_offer_nothing_is_compared(missing: str) -> None:
    """Where the problem has only one of the two, the one says nothing of the other."""
    problem = replace(PROBLEM, groups=tuple(group for group in GROUPS if group.name != missing))
    kit = replace(FULL, choices={name: key for name, key in FULL.choices.items() if name != missing})
    assert BY_SLUG["disconnect"].holds(problem, kit) == ()
    assert Fixed(problem, "disconnect").allows(kit)


def test_a_kit_of_nothing_at_all_is_as_high_as_the_van() -> None:
    """With no choice made there is no highest thing."""
    (limit,) = BY_SLUG["overall_height"].holds(PROBLEM, Kit({}, 12, 2))
    assert limit.used == 2000


def test_where_the_trips_count_the_heating_the_rule_counts_cooking_only() -> None:
    """Without the mean day's fuel the tank of diesel is told as untouched, in either telling."""
    problem = replace(PROBLEM, needs={**NEEDS, "mean_fuel": 0, "own_diesel_ml": -5000})
    told_fuel = {limit.name: (limit.used, limit.allowed) for limit in BY_SLUG["fuel"].holds(problem, FULL)}
    assert told_fuel == {"fuel diesel": (0, 0), "fuel alcohol": (401, 1000)}
    assert Fixed(problem, "fuel").allows(FULL)


def test_a_height_that_is_given_has_to_be_given_to_the_millimetre() -> None:
    """Where what a limit gives is an unknown, what stands a millimetre too high needs a millimetre."""
    slug = "overall_height"
    problem = replace(PROBLEM, needs={**NEEDS, "height_mm": 2089}, gives={slug: 5})
    for given, expected in ((0, False), (1, True)):
        fixed = Fixed(problem, slug, slack={slug: 5})
        fixed.variables.model.add(fixed.variables.give(slug) == given)
        assert fixed.allows(FULL) == expected


@pytest.mark.parametrize("slug", sorted(GIVING - {"fuel"}))
def test_a_limit_drawn_to_what_is_used_holds_and_one_less_does_not(slug: str) -> None:
    """The same for limits that give: both tellings turn at the same integer."""
    room = min(limit.room for limit in BY_SLUG[slug].holds(PROBLEM, FULL))
    for less in (0, 1):
        drawn = replace(PROBLEM, gives={slug: -room - less})
        assert holds(drawn, slug, FULL) == (not less)
        assert Fixed(drawn, slug).allows(FULL) == (not less)


WORSE = {
    "inverter": {"efficiency_permille": 500}, "insulation": {"heat_6_wh": 16_000}, "controller_1": {
        "efficiency_permille": 600},
}  # fmt: skip
"""Rivals of what the full kit has, that ask more of the bank."""


@pytest.mark.parametrize("slug", ["sunless_energy", "daily_balance"])
@pytest.mark.parametrize("name", sorted(WORSE))
def test_a_worse_part_on_offer_asks_nothing_of_a_kit_without_it(slug: str, name: str) -> None:
    """What holds for every choice is told to the model beforehand: it must not be more than the best one asks."""
    room = min(limit.room for limit in BY_SLUG[slug].holds(PROBLEM, FULL))

    def rival(option: Option) -> Option:
        return replace(option, key="rival", amounts={**option.amounts, **WORSE[name]})

    groups = tuple(
        replace(group, options=(*group.options, rival(group.options[0])), needed=True) if group.name == name else group
        for group in GROUPS
    )
    for less in (0, 1):
        drawn = replace(PROBLEM, groups=groups, gives={slug: -room - less})
        assert holds(drawn, slug, FULL) == (not less)
        assert Fixed(drawn, slug).allows(FULL) == (not less)


def test_a_converter_is_told_with_a_bank_of_24_v_and_none_with_12_v() -> None:
    """A bank that is not 12 V asks for a converter, even where nothing else would run on 12 V; a 12 V bank for none."""
    problem = replace(PROBLEM, groups=(one("dc_converter", continuous_w=100),), owned=(), voltages=(12, 24))
    nothing = {**NEEDS, "dc_base_w": 0, "dc_alone_w": 0}

    def told_of(asked: Problem, voltage: int, *names: str) -> tuple[str, int, int, int]:
        (limit,) = BY_SLUG["converter_power"].holds(asked, Kit({name: name for name in names}, voltage, 2))
        return limit.unit, limit.scale, limit.used, limit.allowed

    assert told_of(problem, 24, "dc_converter") == ("W", 1, 110, 100)
    assert told_of(problem, 24) == ("W", 1, 110, 0)
    assert told_of(replace(problem, needs=nothing), 24) == ("W", 1, 1, 0)
    assert told_of(replace(problem, needs=nothing), 24, "dc_converter") == ("W", 1, 0, 100)
    assert told_of(problem, 12) == ("W", 1, 0, 0)
    assert told_of(problem, 12, "dc_converter") == ("W", 1, 0, -1)


def test_arrays_without_a_mate_are_counted() -> None:
    """Panels alone are one fault; panels and no first array are two; a full second slot alone is one."""
    arrays = [one(f"{name}_{slot}", name) for slot in (1, 2) for name in ("panels", "controller")]
    problem = replace(PROBLEM, groups=tuple(arrays), owned=())

    def odd(*names: str) -> int:
        (limit,) = BY_SLUG["array_pair"].holds(problem, Kit({name: name for name in names}, 12, 2))
        return limit.used

    assert odd("panels_1") == odd("controller_1") == 1
    assert odd("panels_1", "controller_2") == 2
    assert odd("panels_2") == 2
    assert odd("panels_2", "controller_2") == 1
    assert odd("panels_1", "controller_1", "panels_2", "controller_2") == 0


def test_items_of_the_safety_kit_are_counted() -> None:
    """Gas asks for its alarm; an open flame is one item too many; what is unfit for the voltage fills nothing."""
    groups = (
        Group("heater", "heater", tuple(
            Option(key, ((key, 1),), amounts={"one": 1, **amounts})
            for key, amounts in (("gas", {"gas": 1}), ("flame", {"open_flame": 1}))
        ), False),
        one("safety gas_alarm", "safety", bank_v_max=30), one("safety co_alarm", "safety", needed=True, bank_v_max=60),
    )  # fmt: skip
    problem = replace(PROBLEM, groups=groups, owned=(), voltages=(12, 48))

    def items(voltage: int, **chosen: str) -> tuple[int, int]:
        kit = Kit({name.replace("__", " "): key for name, key in chosen.items()}, voltage, 2)
        (limit,) = BY_SLUG["safety_kit"].holds(problem, kit)
        return limit.used, limit.allowed

    both = {"safety__co_alarm": "safety co_alarm", "safety__gas_alarm": "safety gas_alarm"}
    assert items(12, heater="gas", **both) == (2, 2)
    assert items(12, heater="gas", safety__co_alarm="safety co_alarm") == (2, 1)
    assert items(12, heater="flame", safety__co_alarm="safety co_alarm") == (2, 1)
    assert items(48, heater="gas", **both) == (2, 1)
    assert items(48, **both) == (2, 1)
    assert items(12, **both) == (1, 1)
    assert items(30, **both) == (1, 1)  # the gas alarm is good for just that

    without = replace(problem, groups=tuple(group for group in groups if group.name != "safety gas_alarm"))
    gassy = Kit({"heater": "gas", "safety co_alarm": "safety co_alarm"}, 12, 2)
    assert not holds(without, "safety_kit", gassy)
    assert not Fixed(without, "safety_kit").allows(gassy)


@pytest.mark.parametrize(("at_most", "at_least"), [(5000, None), (None, 4900), (5000, 4900)])
def test_the_authors_own_limit_turns_at_the_thousandth(at_most: int | None, at_least: int | None) -> None:
    """At most and at least, drawn to the sum and one beyond it, with one given and without."""
    for beyond, given in ((0, 0), (1, 0), (1, 1), (2, 1)):
        limit = OwnLimitNeed(
            "worth", "worth", "points", None if at_most is None else at_most - beyond,
            None if at_least is None else at_least + beyond,
        )  # fmt: skip
        problem = replace(PROBLEM, own_limits=(limit,), gives={"own:worth": given})
        assert holds(problem, "own_limit", FULL) == (beyond <= given)
        assert Fixed(problem, "own_limit").allows(FULL) == (beyond <= given)


def test_the_check_tells_every_fault_of_a_kit_that_is_no_choice_at_all() -> None:
    """Unknown groups and options, other voltages and nights, things for another bank, and what is missing."""
    groups = (*PROBLEM.groups, Group("pump", "pump", (Option("p24", (), voltage=24),), False))
    problem = replace(PROBLEM, groups=groups)
    kit = Kit({"battery": "another", "pump": "p24", "sail": "red", "oar": "long"}, 36, 5)
    verdict = check(problem, kit)
    assert not verdict.ok
    assert verdict.limits == ()
    assert verdict.faults == (
        "there is nothing called 'oar' to choose", "there is nothing called 'sail' to choose",
        "a 36 V bank is not allowed", "5 nights are not asked for", "'another' is not on offer for battery",
        "nothing is chosen for meal stew", "nothing is chosen for safety co_alarm", "'p24' is not for a 36 V bank",
    )  # fmt: skip


def test_the_check_tells_every_broken_limit_with_its_numbers() -> None:
    """Of the full kit three limits are broken, and nothing else is."""
    verdict = check(PROBLEM, FULL)
    assert verdict.faults == (
        "controller_current 1: used 22000, allowed 20000", "refused: used 1, allowed 0",
        "disconnect: used 99000, allowed 98500",
    )  # fmt: skip
    assert len(verdict.limits) == len(FULL_TOLD) + len(OWN)


@pytest.mark.parametrize(
    ("slug", "value"), [("cheapest", 74_050), ("lightest", 49_500), ("longest", 2), ("most:worth", 4900)]
)
def test_the_value_of_a_goal_is_worked_by_hand(slug: str, value: int) -> None:
    """Money, empty mass, nights, and an own column rounded down."""
    assert goal_value(PROBLEM, FULL, Goal(slug, "", 1)) == value
