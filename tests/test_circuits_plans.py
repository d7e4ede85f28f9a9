"""Which circuits and small parts each choice brings, and that it pays for them."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from one_rule import Fixed
from trip_cases import a_brief, flat_year
from wiring_cases import generic, shelf

from optimizer.brief.vehicle import Runs
from optimizer.circuits import small_parts
from optimizer.circuits.bank import charger_settings, fault_a, settings_table
from optimizer.circuits.check import circuit_faults
from optimizer.circuits.plans import Planner, draw_a, string_fuse_a
from optimizer.circuits.records import Wired, joined
from optimizer.parts.records import (
    AlternatorCharger,
    Battery,
    ColdBox,
    Cooker,
    Fitting,
    GreyContainer,
    Heater,
    Insulation,
    Inverter,
    MainsCharger,
    RoofFan,
    SafetyItem,
    SolarPanel,
    WaterContainer,
)
from optimizer.problem.build import build_problem
from optimizer.problem.records import LINKS_MA, Kit, Problem
from optimizer.rules import BY_SLUG


def planner(**runs: object) -> Planner:
    return Planner(shelf(), Runs(**runs), 230.0)  # type: ignore[arg-type]


def counts(wired: Wired) -> dict[str, int]:
    return {part.id: count for part, count in wired.parts}


def cents(wired: Wired) -> int:
    return sum(round(part.price_usd * 100) * count for part, count in wired.parts)


def roles(wired: Wired) -> dict[str, int]:
    found: dict[str, int] = {}
    for part, count in wired.parts:
        role = getattr(part, "role", "")
        found[role] = found.get(role, 0) + count
    return found


def part(part_id: str) -> object:
    return generic().part(part_id)


def test_a_thirstier_inverter_far_from_the_bank_pays_for_its_copper() -> None:
    """Price and mass of its circuit grow with power and with distance, and fall with the bank's voltage."""
    small, large = part("inv-12-600"), part("inv-12-2000")
    assert isinstance(small, Inverter)
    assert isinstance(large, Inverter)
    near, far = planner(bank_to_inverter=0.5), planner(bank_to_inverter=3)
    assert cents(near.inverter(small, 12)) < cents(far.inverter(small, 12)) < cents(far.inverter(large, 12))
    upper = part("inv-24-2000")
    assert isinstance(upper, Inverter)
    assert cents(far.inverter(upper, 24)) < cents(far.inverter(large, 12))


def test_current_of_an_inverter_by_hand() -> None:
    """2000 W at 90 % from a 12 V bank at 11 V: 202 A; from 24 V half of it."""
    assert draw_a(2000, 0.9, 12) == pytest.approx(2000 / 0.9 / 11)
    assert draw_a(2000, 0.9, 24) == pytest.approx(2000 / 0.9 / 22)


def test_a_wired_in_inverter_has_a_mains_side() -> None:
    """Board with residual-current device, cable and socket for those that ask for mains wiring; none for the small."""
    large, small = part("inv-12-2000"), part("inv-12-600")
    assert isinstance(large, Inverter)
    assert isinstance(small, Inverter)
    wired = planner().inverter(large, 12)
    assert [c.use for c in wired.circuits] == ["dc", "mains"]
    assert roles(wired)["mains_board"] == roles(wired)["mains_socket"] == 1
    assert "mains_board" not in roles(planner().inverter(small, 12))


@pytest.mark.parametrize(("mains_v", "part_id", "cables"), [
    (230.0, "inv-12-2000", 1), (230.0, "inv-12-3000", 2), (120.0, "inv-12-1500", 1), (120.0, "inv-12-2000", 2),
    (120.0, "inv-12-3000", 2),
])  # fmt: skip
def test_no_socket_hangs_on_a_breaker_above_its_own_rating(mains_v: float, part_id: str, cables: int) -> None:
    """A strong inverter has a board for all of it, and a socket, a cable and a breaker of 16 A for each share."""
    inverter = part(part_id)
    assert isinstance(inverter, Inverter)
    plan = Planner(shelf("metric" if mains_v > 200 else "awg"), Runs(), mains_v)
    wired = plan.inverter(inverter, 12)
    (circuit,) = (one for one in wired.circuits if one.use == "mains")
    assert wired.complete
    assert circuit.fuse_a == 16
    assert circuit_faults(circuit) == ()
    assert circuit.current_a * cables == pytest.approx(inverter.continuous_w / mains_v)
    assert roles(wired)["mains_socket"] == cables
    (board,) = (one for one, _ in wired.parts if getattr(one, "role", "") == "mains_board")
    assert isinstance(board, Fitting)
    assert board.rating_a >= 1.25 * inverter.continuous_w / mains_v
    assert all(counts(wired)[name] == cables * count for name, count in circuit.parts)
    assert circuit.name == ("inverter to mains sockets" if cables == 1 else "inverter to each of 2 mains sockets")


def test_hook_up_by_lead_or_wired_in() -> None:
    """A plug-in charger comes with a lead that has its own residual-current device, the others with inlet and board."""
    plug_in, fixed = part("mc-12-15"), part("mc-12-50")
    assert isinstance(plug_in, MainsCharger)
    assert isinstance(fixed, MainsCharger)
    assert roles(planner().mains_charger(plug_in, 12))["hookup_lead"] == 1
    wired = planner().mains_charger(fixed, 12)
    assert {"hookup_inlet", "mains_board", "sealant"} <= set(roles(wired))
    assert "hookup_lead" not in roles(wired)


def test_alternator_charger_is_fused_at_both_ends() -> None:
    """Starter battery and bank are sources both; the first stretch runs through the engine space."""
    charger = part("alt-12-50")
    assert isinstance(charger, AlternatorCharger)
    wired = planner().alternator(charger, 55.0, 14.0, 12)
    first, second = wired.circuits
    assert first.engine_space
    assert not second.engine_space
    assert first.fuse_a >= 1.25 * 55
    assert second.fuse_a >= 1.25 * 50


@pytest.mark.parametrize(("parallel", "fuses"), [(1, 0), (2, 0), (3, 3)])
def test_string_fuses_from_three_strings_on(parallel: int, fuses: int) -> None:
    """One for each string, of at least 1.56 times its short-circuit current (NEC 690.8 and 690.9)."""
    panel = part("pv-rigid-100")
    assert isinstance(panel, SolarPanel)
    wired = planner().array(panel, 2, parallel, 60.0)
    assert wired.complete
    assert sum(n for id_, n in counts(wired).items() if id_.startswith("fuse-solar")) == fuses
    (circuit,) = wired.circuits
    assert (circuit.string_fuse_a >= string_fuse_a(panel.isc_a)) == bool(fuses)
    assert circuit.ampacity_a >= 1.5625 * parallel * panel.isc_a * (1 - 1e-9)


def test_string_fuse_by_hand() -> None:
    """NEC 690.8: 10 A short-circuit current asks for 15.6 A."""
    assert string_fuse_a(10.0) == pytest.approx(15.625)


@pytest.mark.parametrize(("count", "parallel", "links"), [(1, 1, 0), (2, 1, 1), (2, 2, 2), (4, 2, 4), (16, 1, 15)])
def test_batteries_are_strapped_and_linked(count: int, parallel: int, links: int) -> None:
    """A strap each; one link fewer than batteries, and one more for each further string; two lugs a link."""
    wired = planner().bank(count, parallel, 100.0, 12, 400.0)
    assert roles(wired)["battery_strap"] == count
    assert roles(wired).get("lug", 0) == (max(4, 2 * links) if links else 0)
    assert all(c.ampacity_a >= 100 for c in wired.circuits)


def test_loose_cells_have_the_busbars_of_their_manager() -> None:
    """A strap for each few cells, and no links or lugs: the manager brings what joins them."""
    wired = planner().bank(8, 1, 100.0, 24, 400.0, loose=True)
    assert roles(wired) == {"battery_strap": 2}
    assert not wired.circuits


def test_links_carry_no_more_than_the_main_fuse_passes() -> None:
    """A bank that could give 800 A is linked for what its 400 A fuse lets through."""
    (circuit,) = planner().bank(4, 4, 800.0, 12, 400.0).circuits
    assert circuit.current_a == pytest.approx(320)
    assert circuit.ampacity_a >= 400


def test_links_are_wired_for_the_main_fuse_that_holds_what_the_bank_gives() -> None:
    """Two packs of 100 A side by side give 2560 W, 233 A at 11 V: a fuse of 300 A holds that, and links carry it; so
    a fuse of 400 A, which would let them burn, is against the rule, and one pack by itself has no links to burn."""
    brief = a_brief(preferences={"voltages": [12]})
    problem = build_problem(brief, generic(), [flat_year()])
    bank = problem.group("battery")
    pair, single = bank.option("bat-lfp-100 1s2p"), bank.option("bat-lfp-100 1s1p")
    assert single.get("links_short_ma") == 0
    carries = LINKS_MA - pair.get("links_short_ma")
    assert 300_000 <= carries < 400_000
    for fuse, met in (("safe-fuse-300-t", True), ("safe-fuse-400-t", False)):
        kit = Kit({"battery": pair.key, "safety main_fuse": fuse}, 12, brief.trip.nights)
        (limit,) = (one for one in BY_SLUG["main_fuse"].holds(problem, kit) if one.name == "main_fuse links")
        assert (limit.used, limit.allowed, limit.met) == (1000 * int(fuse[10:13]), carries, met)
        alone = Kit({"battery": single.key, "safety main_fuse": fuse}, 12, brief.trip.nights)
        assert "main_fuse links" not in {one.name for one in BY_SLUG["main_fuse"].holds(problem, alone)}
        for chosen, allowed in ((kit, met), (alone, True)):
            assert Fixed(_guarding(problem), "main_fuse").allows(chosen) == allowed


def _guarding(problem: Problem) -> Problem:
    """The problem with nothing but bank and main fuse, and nothing that runs."""
    groups = tuple(g for g in problem.groups if g.name in ("battery", "safety main_fuse"))
    return replace(problem, groups=groups, needs={**problem.needs, "dc_base_w": 0, "dc_alone_w": 0})


def test_main_fuse_guards_its_lead() -> None:
    """The lead from the bank carries the main fuse's whole rating, and so do the busbars."""
    for item in generic().find(SafetyItem, role="main_fuse"):
        wired = planner().main_fuse(item)
        assert wired.complete
        (lead,) = wired.circuits
        assert lead.ampacity_a >= item.rating_a == lead.fuse_a
        # Both ends of both cores, and both sides of main fuse and disconnect.
        assert roles(wired)["lug"] == 8
        (bars,) = [p for p, _ in wired.parts if getattr(p, "role", "") == "busbar"]
        assert bars.rating_a >= item.rating_a  # type: ignore[attr-defined]


def test_fuse_box_feed_and_branches() -> None:
    """The feed is fused within the box's rating; each use has its circuit with a fuse above its current."""
    (box,) = [p for p in generic().find(SafetyItem, role="fuse_box") if p.id == "safe-box-6"]
    assert planner().feed_limit_a(box) == pytest.approx(70 / 1.25)
    assert planner().feed_limit_a(box.model_copy(update={"rating_a": 20})) == 0  # bolted fuses start at 30 A
    wired = planner().fuse_box(box, [("lights", 18.0), ("pump", 55.0)])
    feed, lights, pump = wired.circuits
    assert feed.fuse_a <= box.rating_a
    assert lights.current_a == pytest.approx(18 / 11)
    assert pump.fuse_a == 7.5  # 5 A asks for 6.25 A


def test_what_does_not_take_12_volt_has_no_circuit() -> None:
    """Everything is fed from the 12 V fuse box, so a 24 V fan or heater cannot be wired."""
    fan, heater = part("fan-400-24"), part("heat-diesel-2-24")
    assert isinstance(fan, RoofFan)
    assert isinstance(heater, Heater)
    assert not small_parts.roof_fan(planner(), fan).complete
    assert not small_parts.heater(planner(), heater).complete


def test_heaters_bring_their_lines() -> None:
    """Liquid fuel: line, filter, sleeve, sealant; gas: pipe, valve, sleeve; an electric fan heater nothing."""
    lines = {"fuel_line", "fuel_filter", "exhaust_sleeve", "sealant"}
    bring = partial(small_parts.heater, planner())
    diesel, gas, electric = part("heat-diesel-2"), part("heat-gas-2"), part("heat-fan-500")
    assert isinstance(diesel, Heater)
    assert isinstance(gas, Heater)
    assert isinstance(electric, Heater)
    assert lines <= set(roles(bring(diesel)))
    assert {"gas_pipe", "gas_valve", "exhaust_sleeve"} <= set(roles(bring(gas)))
    assert bring(electric) == Wired()


def test_a_start_sizes_the_heaters_circuit() -> None:
    """The glow plug's five minutes take more than the fan: start energy over a twelfth of an hour."""
    heater = part("heat-diesel-2")
    assert isinstance(heater, Heater)
    (circuit,) = small_parts.heater(planner(), heater).circuits
    assert circuit.current_a == pytest.approx(heater.start_wh * 12 / 11)
    assert circuit.drop_limit == 0.03


def test_gas_water_and_seams() -> None:
    """Pipe and valve for a fixed gas hob, hose for a built-in tank and each waste container, tape by area."""
    plan = planner()
    hob, spirit = part("cook-gas-2"), part("cook-spirit-1")
    tank, can, grey = part("water-tank-50"), part("water-can-20"), generic().parts["grey_container"][0]
    board, none = part("ins-xps-20"), part("ins-none")
    assert isinstance(hob, Cooker)
    assert isinstance(spirit, Cooker)
    assert isinstance(tank, WaterContainer)
    assert isinstance(can, WaterContainer)
    assert isinstance(grey, GreyContainer)
    assert isinstance(board, Insulation)
    assert isinstance(none, Insulation)
    assert roles(small_parts.cooker(plan, hob)) == {"gas_pipe": 3, "gas_valve": 1}
    assert small_parts.cooker(plan, spirit) == Wired()
    assert roles(small_parts.water(plan, tank)) == {"water_hose": 3}
    assert small_parts.water(plan, can) == Wired()
    assert roles(small_parts.water(plan, grey)) == {"waste_hose": 1}
    assert roles(small_parts.insulation(plan, board, 16.1)) == {"tape": 3}
    assert small_parts.insulation(plan, none, 16.1) == Wired()


def test_cold_boxes_on_mains_or_ice_have_no_circuit() -> None:
    """Only what runs on DC hangs on the fuse box."""
    for box in generic().find(ColdBox):
        wired = small_parts.cold_box(planner(), box)
        assert bool(wired.circuits) == (box.supply == "dc" and box.wh_day_25 > 0), box.id


def test_bundles_add_up() -> None:
    """The same part in two bundles is counted once with both counts; one that is incomplete spoils the sum."""
    plan = planner()
    both = joined(plan.pieces("sealant", 2), plan.pieces("sealant", 1), plan.pieces("gland", 1))
    assert counts(both) == {"gland-roof": 1, "sealant-tube": 3}
    assert not joined(both, plan.pieces("busbar", 1, rating_a=900)).complete
    assert plan.pieces("sealant", 0) == Wired()


def test_every_role_of_the_generic_catalog_is_used() -> None:
    """No fitting stands in the catalog for show."""
    import inspect

    from optimizer.circuits import plans, sizing

    text = "".join(inspect.getsource(module) for module in (plans, sizing, small_parts))
    for role in {p.role for p in generic().parts["fitting"]}:  # type: ignore[attr-defined]
        assert f'"{role}"' in text, role


def test_fault_current_grows_with_strings_not_with_series() -> None:
    """35 A for each ampere-hour of an LFP string: common practice, no source."""
    assert fault_a("lfp", 100, 1) == 3500
    assert fault_a("lfp", 100, 2) == 7000
    assert fault_a("agm", 100, 1) < fault_a("lfp", 100, 1)


def test_charger_settings_by_chemistry_and_class() -> None:
    """Every chemistry of the catalog has settings, in proportion to the class, in an order that makes sense."""
    assert {s.chemistry for s in settings_table(12)} == {b.chemistry for b in generic().find(Battery)}
    for settings in settings_table(12):
        assert settings.low_cutoff_v < settings.float_v < settings.absorption_v <= 14.4
        double = charger_settings(settings.chemistry, 24)
        assert double.absorption_v == pytest.approx(2 * settings.absorption_v)
        assert double.no_charge_below_c == settings.no_charge_below_c
    assert charger_settings("lfp", 12).equalise_v == 0
    assert charger_settings("flooded", 12).equalise_v > 15
