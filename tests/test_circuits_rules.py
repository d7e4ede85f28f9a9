"""The rules of wiring: just inside, just outside, and the model's telling against the plain one."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from wiring_cases import EXAMPLES, drawn_kit, example, generic

from optimizer.choosing.variables import ModelVariables
from optimizer.errors import FaultsFound
from optimizer.parts.catalog import Catalog
from optimizer.problem.build import build_problem
from optimizer.problem.records import LINKS_MA, Group, Kit, Option, Problem
from optimizer.rules import BY_SLUG, Limit
from optimizer.rules.wiring import Disconnect, FuseBox, MainFuse, Wiring, charge_ma, discharge_ma

RULES = (Wiring(), FuseBox(), MainFuse(), Disconnect())


def option(**amounts: int) -> Option:
    return Option("it", (), amounts=amounts)


def world(voltage: int = 12, **changes: Option) -> tuple[Problem, Kit]:
    """A bank of 2.4 kA fault current, a 300 W inverter's 30 A, 150 W on 12 V, a 60 A main fuse and what hangs on it."""
    options = {
        "battery": option(fault_ma=2_400_000), "inverter": option(bank_draw_ma=30_000),
        "heater": option(dc_run_w=40, dc_ways=1),
        "controller_1": option(output_ma=30_000), "alternator_charger": option(charger_ma=18_000),
        "safety main_fuse": option(rating_ma=60_000, guarded_ma=60_000, interrupt_ma=3_000_000),
        "safety disconnect": option(rating_ma=100_000), "safety fuse_box": option(feed_ma=56_000, ways=6), **changes,
    }  # fmt: skip
    kinds = {"controller_1": "charge_controller", "converter": "dc_converter"}
    groups = tuple(
        Group(name, "safety" if name.startswith("safety") else kinds.get(name, name), (o,), needed=True)
        for name, o in options.items()
    )
    plain = example(EXAMPLES[0]).problem
    needs = {
        "dc_base_w": 110, "dc_alone_w": 0, "ac_alone_w": 0, "dc_base_ways": 5, "fuse_distance_mm": 150,
        "fuse_distance_most_mm": 177,
    }  # fmt: skip
    problem = replace(plain, groups=groups, needs=needs, voltages=(voltage,), owned=(), space=None, gives={})
    return problem, Kit(dict.fromkeys(options, "it"), voltage, plain.nights[0])


def limit(problem: Problem, kit: Kit, name: str) -> Limit:
    (found,) = [one for rule in RULES for one in rule.holds(problem, kit) if one.name == name]
    return found


def feasible(problem: Problem, kit: Kit, *slugs: str) -> bool:
    """Whether the model lets this kit pass under these rules alone (twins in any order)."""
    from ortools.sat.python import cp_model

    problem = replace(problem, groups=tuple(replace(group, twin="") for group in problem.groups))
    variables = ModelVariables(problem)
    for slug in slugs:
        BY_SLUG[slug].add(variables)
    for group in problem.groups:
        for one in group.options:
            variables.model.add(variables.picked(group, one) == (kit.choices.get(group.name) == one.key))
    variables.model.add(variables.voltages()[kit.voltage] == 1)
    return bool(cp_model.CpSolver().solve(variables.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE))


def test_currents_by_hand() -> None:
    """150 W at 11 V is 13.6 A; with the inverter's 30 A 43.6 A out; 48 A in; a quarter above 48 A is 60 A."""
    problem, kit = world()
    assert discharge_ma(problem, kit) == 30_000 + 13_637  # 13 636.4 mA, rounded up
    assert charge_ma(problem, kit) == 48_000
    assert limit(problem, kit, "main_fuse").used == 60_000
    assert limit(problem, kit, "fuse_box current").used == 13_637
    assert all(one.met for rule in RULES for one in rule.holds(problem, kit))
    assert feasible(problem, kit, "wiring", "fuse_box", "main_fuse", "disconnect")


@pytest.mark.parametrize(
    ("slug", "name", "group", "changed"),
    [
        ("main_fuse", "main_fuse", "controller_1", option(output_ma=30_001)),
        ("main_fuse", "main_fuse", "inverter", option(bank_draw_ma=34_364)),
        ("main_fuse", "main_fuse interrupt", "battery", option(fault_ma=3_000_001)),
        ("disconnect", "disconnect", "safety disconnect", option(rating_ma=59_999)),
        ("fuse_box", "fuse_box ways", "heater", option(dc_run_w=40, dc_ways=2)),
        ("fuse_box", "fuse_box current", "safety fuse_box", option(feed_ma=13_636, ways=6)),
        ("wiring", "wiring", "inverter", option(bank_draw_ma=30_000, unwired=1)),
    ],
)
def test_just_outside(slug: str, name: str, group: str, changed: Option) -> None:
    """One step more and the rule says no, in the model as in the check, and no other limit does."""
    problem, kit = world(**{group: changed})
    assert [one.name for rule in RULES for one in rule.holds(problem, kit) if not one.met] == [name]
    assert not feasible(problem, kit, slug)


@pytest.mark.parametrize(("carried", "met"), [(60_000, True), (59_999, False)])
def test_links_between_batteries_carry_what_the_main_fuse_lets_through(carried: int, met: bool) -> None:
    """To the milliampere, in both tellings; a bank of one battery has no links, and nothing is told of them."""
    bank = option(fault_ma=2_400_000, links_short_ma=LINKS_MA - carried)
    problem, kit = world(battery=bank)
    links = limit(problem, kit, "main_fuse links")
    assert (links.used, links.allowed, links.unit, links.scale) == (60_000, carried, "A", 1000)
    assert links.met == met
    assert feasible(problem, kit, "main_fuse") == met
    alone, same = world()
    assert "main_fuse links" not in [one.name for one in MainFuse().holds(alone, same)]


def test_without_a_main_fuse_nothing_runs_through_the_links() -> None:
    """The fuse that is not there lets nothing through; that it is missing is told beside."""
    problem, kit = world(battery=option(fault_ma=2_400_000, links_short_ma=LINKS_MA - 1))
    bare = replace(kit, choices={name: key for name, key in kit.choices.items() if name != "safety main_fuse"})
    assert limit(problem, bare, "main_fuse links").used == 0
    assert not limit(problem, bare, "main_fuse").met


def test_fuse_too_far_from_its_source() -> None:
    """178 mm is over the 7 inches of 33 CFR 183.455, whatever is chosen."""
    problem, kit = world()
    far = replace(problem, needs={**problem.needs, "fuse_distance_mm": 178})
    assert not limit(far, kit, "wiring fuse distance").met
    assert not feasible(far, kit, "wiring")


def test_at_24_volt_the_converter_counts_instead_of_the_12_volt_load() -> None:
    """Behind a converter the 12 V load is the converter's own draw at the bank."""
    problem, kit = world(24, converter=option(bank_draw_ma=10_000))
    assert discharge_ma(problem, kit) == 40_000
    assert feasible(problem, kit, "main_fuse")


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_model_and_the_check_agree_on_kits_drawn_by_chance(path: Path) -> None:
    """Rule by rule, what the model forbids is what the check finds, and both happen."""
    problem = example(path).problem
    rng = random.Random(11)
    seen = set()
    for _ in range(25):
        kit = drawn_kit(problem, rng)
        for rule in RULES:
            met = all(one.met for one in rule.holds(problem, kit))
            seen.add((rule.slug, met))
            assert feasible(problem, kit, rule.slug) == met, rule.slug
    assert {("fuse_box", True), ("main_fuse", True), ("main_fuse", False), ("disconnect", False)} <= seen


def test_a_catalog_without_cables_is_a_fault() -> None:
    """Nobody gets a kit whose wiring was left out without a word."""
    job = example(EXAMPLES[0])
    bare = Catalog.of([part for part in generic().all_parts if generic().kind_of(part.id) not in ("cable", "fuse")])
    with pytest.raises(FaultsFound) as caught:
        build_problem(job.brief, bare, job.years)
    told = [fault.sentence() for fault in caught.value.faults]
    assert any("without any cable" in sentence for sentence in told)
    assert any("without any fuse" in sentence and "Name 'generic' first." in sentence for sentence in told)


