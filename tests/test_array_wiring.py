"""Arrays and banks as they are strung: voltages of cold and heat, currents, fuses, one type each, few side by side."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from trip_cases import a_brief, flat_year, year_of
from wiring_cases import generic, shelf

from optimizer.brief.vehicle import Runs
from optimizer.buying.lines import CELLS_BOX, buy_list
from optimizer.circuits.plans import Planner
from optimizer.job import Job
from optimizer.parts.reading import read_catalog
from optimizer.parts.records import Battery, CellManager, ChargeController, Fitting, SolarPanel
from optimizer.physics.sun import nec_690_7_factor, voc_coldest
from optimizer.problem.build import build_problem
from optimizer.problem.power import strung
from optimizer.problem.records import Kit, Option, Problem
from optimizer.rules.arrays import ArrayCurrent, ArrayHeadroom, ArrayVoltage
from optimizer.rules.base import Limit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents

COLDEST_C = -20.0
PLACE = {"weather": ["station:723170"], "coldest_night": COLDEST_C}


def panel(**changes: Any) -> SolarPanel:
    """200 W, 24 V open-circuit, 20 V working, 10.6 A short-circuit."""
    return SolarPanel(**{
        "id": "pv", "name": "pv", "price_usd": 100, "mass_kg": 10, "length_mm": 1200, "width_mm": 600,
        "power_w": 200, "voc_v": 24, "vmp_v": 20, "isc_a": 10.6, "imp_a": 10, "bay_tags": "roof",
        "power_coefficient_pct_k": -0.4, "voc_coefficient_pct_k": -0.28, "noct_c": 45, "flexible": False, **changes,
    })  # fmt: skip


def controller(**changes: Any) -> ChargeController:
    """60 A out, 100 V and 60 A in, 5 V of headroom."""
    return ChargeController(**{
        "id": "cc", "name": "cc", "price_usd": 100, "mass_kg": 1, "tracking": True, "output_a": 60,
        "array_v_max": 100, "array_a_max": 60, "bank_v": "12", "efficiency": 0.97, "headroom_v": 5, **changes,
    })  # fmt: skip


@cache
def world(one: SolarPanel, other: ChargeController, bank_v: int = 12) -> Problem:
    """The problem with one panel and one controller on offer, a coldest night of -20 degC, air of 20 degC all year."""
    catalog = read_catalog(["generic"], (), Path())
    catalog = replace(catalog, parts={**catalog.parts, "solar_panel": (one,), "charge_controller": (other,)})
    brief = a_brief(place=PLACE, preferences={"voltages": [bank_v]}, limits={"budget": 9000, "panels": 6, "arrays": 1})
    return build_problem(brief, catalog, [flat_year()])


def told(problem: Problem, rule: Any, strings: str) -> Limit:
    """What a rule says of panels strung so, on the one controller."""
    key = problem.group("controller_1").options[-1].key
    (limit,) = rule.holds(problem, Kit({"panels_1": f"pv {strings}", "controller_1": key}, problem.voltages[0], 10))
    return limit


def string(problem: Problem, strings: str) -> Option:
    return problem.group("panels_1").option(f"pv {strings}")


def test_cold_voltage_with_the_makers_coefficient() -> None:
    """Three of 24 V at -20 degC, 45 K below 25: 72 (1 + 0.0028 45) = 81.07 V, and 2 % more; four break 100 V."""
    limit = told(world(panel(), controller()), ArrayVoltage(), "3s1p")
    assert limit.used == pytest.approx(82_694, abs=1)
    assert limit.met
    assert not told(world(panel(), controller()), ArrayVoltage(), "4s1p").met


def test_cold_voltage_without_a_coefficient_is_the_codes() -> None:
    """NFPA 70 Table 690.7(A): 1.18 from -16 to -20 degC, so three of 24 V come to 84.96 V, more than with -0.28 %/K."""
    limit = told(world(panel(voc_coefficient_pct_k=0), controller()), ArrayVoltage(), "3s1p")
    assert limit.used == 84_960
    assert not told(world(panel(voc_coefficient_pct_k=0), controller(array_v_max=84.9)), ArrayVoltage(), "3s1p").met


def test_panels_bear_the_frost_of_months_that_nobody_travels_in() -> None:
    """A van for June stands outside in January too: at -30 degC three of 24 V come to 72 (1 + 0.0028 55) 1.02 V."""
    air = np.full(8760, 20.0)
    air[7] = -30.0
    catalog = read_catalog(["generic"], (), Path())
    catalog = replace(catalog, parts={**catalog.parts, "solar_panel": (panel(),), "charge_controller": (controller(),)})
    brief = a_brief(
        place={**PLACE, "coldest_night": 5}, trip={"nights": 5, "season_from": "06-01", "season_to": "06-30"},
        limits={"budget": 9000, "panels": 6, "arrays": 1},
    )
    limit = told(build_problem(brief, catalog, [year_of(np.full(8760, 0.0), air)]), ArrayVoltage(), "3s1p")
    assert limit.used == pytest.approx(84_750, abs=2)


def test_a_data_sheet_without_a_coefficient_is_read(tmp_path: Path) -> None:
    """The column may be left empty, and then it is the table that counts, not a panel that cold does not touch."""
    columns = "id,name,price_usd,mass_kg,length_mm,width_mm,bay_tags,power_w,voc_v,vmp_v,isc_a,imp_a"
    columns += ",power_coefficient_pct_k,voc_coefficient_pct_k,noct_c,flexible"
    row = "mine,mine,100,10,1200,600,roof,200,24,20,10.6,10,-0.4,,45,false"
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "solar_panel.csv").write_text(f"{columns}\n{row}\n")
    part = read_catalog(["generic", "mine"], (), tmp_path).part("mine")
    assert isinstance(part, SolarPanel)
    assert voc_coldest(part.voc_v, part.voc_coefficient_pct_k, -8.0) == pytest.approx(24 * 1.14)


def test_below_the_table_the_voltage_goes_on_rising() -> None:
    """At -40 degC 1.25 by the table; below it 0.4 %/K from 25 degC, never less than the table at a step's cold end."""
    assert voc_coldest(100, 0, -40) == pytest.approx(125)
    # with a coefficient: its straight line, 0.3 % for each of 30 K, and 2 % on top
    assert voc_coldest(40, -0.3, -5.0) == pytest.approx(40 * 1.09 * 1.02)
    assert voc_coldest(100, 0, -50) == pytest.approx(130)
    for cold in range(-40, 25, 5):
        assert 1 + 0.004 * (25 - cold) >= nec_690_7_factor(cold) - 1e-9


def test_working_voltage_on_the_hottest_day() -> None:
    """A bank is charged at 14.4 V for each 12 V: with the headroom that is what hot strings must reach.

    By hand: air of 20 degC and full sun make cells of 20 + (45 - 20)/0.8 = 51.25 degC, and 20 V of 26.25 K above 25
    with -0.4 %/K 17.9 V. A headroom of 3 V asks for 17.4 V, one of 4 V for 18.4 V.
    """
    easy, hard = world(panel(), controller(headroom_v=3)), world(panel(), controller(headroom_v=4))
    assert told(easy, ArrayHeadroom(), "1s1p").used == 17_400
    assert told(easy, ArrayHeadroom(), "1s1p").allowed == 17_900
    assert told(easy, ArrayHeadroom(), "1s1p").met
    assert not told(hard, ArrayHeadroom(), "1s1p").met
    assert told(hard, ArrayHeadroom(), "2s1p").met
    upper = world(panel(), controller(bank_v="24"), 24)
    assert told(upper, ArrayHeadroom(), "1s1p").used == 33_800
    assert not told(upper, ArrayHeadroom(), "1s1p").met


def test_string_currents_add_up() -> None:
    """NEC 690.8(A): 1.25 times 10.6 A for each string side by side, 13.25 A; series adds none; five pass 60 A."""
    problem = world(panel(), controller())
    assert [told(problem, ArrayCurrent(), s).used for s in ("1s1p", "3s1p", "1s3p")] == [13_250, 13_250, 39_750]
    assert told(problem, ArrayCurrent(), "1s4p").met
    assert not told(problem, ArrayCurrent(), "1s5p").met


def test_strings_are_fused_from_three_on() -> None:
    """In the problem's options: none for two strings, one each for three, of at least 1.25 x 1.25 x 10.6 = 16.6 A."""
    problem = world(panel(), controller())
    for strings, parallel in (("1s2p", 2), ("1s3p", 3), ("2s3p", 3), ("1s4p", 4)):
        option = string(problem, strings)
        fuses = sum(n for part, n in option.parts if part.startswith("fuse-solar"))
        holders = sum(n for part, n in option.parts if part == "holder-solar")
        assert fuses == holders == (parallel if parallel > 2 else 0)
        (circuit,) = option.circuits
        assert (circuit.string_fuse_a >= 16.5625) == (parallel > 2)


def test_connectors_carry_their_current() -> None:
    """Roof connectors: the array's own pair for 1.25 times all its strings, the pairs of strings for one of them."""
    catalog = generic()
    for parallel in (1, 2, 3, 4):
        wired = Planner(shelf(), Runs(), 230.0).array(panel(), 1, parallel, 28.0)
        pairs = [(p, n) for p, n in wired.parts if isinstance(p, Fitting) and p.role == "solar_plug"]
        assert sum(n for _, n in pairs) == 1 + 2 * (parallel - 1)
        assert max(p.rating_a for p, _ in pairs) >= 1.25 * parallel * 10.6
        assert min(p.rating_a for p, _ in pairs) >= 1.25 * 10.6
    assert len(catalog.find(Fitting, role="solar_plug")) > 1


def test_one_type_of_panel_a_controller_and_of_battery_a_bank() -> None:
    """Every option of an array or a bank holds one type, and a kit takes one option of each: types cannot mix."""
    brief = a_brief(preferences={"skills": ["cell_assembly"], "voltages": [12, 24]})
    problem = build_problem(brief, generic(), [flat_year()])
    for name, kind in (("panels_1", SolarPanel), ("battery", Battery)):
        assert len(problem.group(name).options) > 10
        for option in problem.group(name).options:
            types = {part for part, _ in option.parts if isinstance(generic().part(part), kind)}
            assert len(types) == 1


def test_strings_of_batteries_are_few() -> None:
    """Neither more side by side than the data sheet lets, nor more than the brief does."""
    for most in (1, 2, 4):
        brief = a_brief(limits={"budget": 9000, "parallel_batteries": most}, preferences={"skills": ["cell_assembly"]})
        seen = set()
        for option in build_problem(brief, generic(), [flat_year()]).group("battery").options:
            part_id, wiring = option.key.split()[:2]
            part, found = generic().part(part_id), re.fullmatch(r"([0-9]+)s([0-9]+)p", wiring)
            assert isinstance(part, Battery)
            assert found
            assert int(found[2]) <= min(most, part.parallel_max)
            assert int(found[1]) <= part.series_max
            seen.add(int(found[2]))
        assert max(seen) == most


def test_loose_cells_bring_what_makes_them_a_bank() -> None:
    """A manager for as many cells as stand in series, with its price, mass, limits and skill; a strap for four."""
    brief = a_brief(preferences={"skills": ["cell_assembly"], "voltages": [12, 24]})
    catalog = generic()
    problem = build_problem(brief, catalog, [flat_year()])
    loose = [o for o in problem.group("battery").options if o.key.startswith("cell-")]
    assert loose
    for option in loose:
        part_id, wiring, manager_id = option.key.split()
        cell, manager = catalog.part(part_id), catalog.part(manager_id)
        assert isinstance(cell, Battery)
        assert isinstance(manager, CellManager)
        series, parallel = map(int, re.findall("[0-9]+", wiring))
        assert manager.cells == series
        counts = dict(option.parts)
        assert (counts[part_id], counts[manager_id]) == (series * parallel, 1)
        assert "cell_assembly" in option.skills
        assert option.price_cents == sum(round(100 * catalog.part(p).price_usd) * n for p, n in option.parts)
        assert option.mass_g == pytest.approx(sum(1000 * catalog.part(p).mass_kg * n for p, n in option.parts), abs=20)
        assert option.get("charge_ma") <= 1000 * min(manager.charge_a, parallel * cell.charge_a)
        assert option.effects["charge_w"] <= manager.charge_a * series * cell.nominal_v + 1e-6
        assert option.get("discharge_w") <= manager.discharge_a * series * cell.nominal_v
        assert counts["strap-bank"] == -(-series * parallel // 4)


def test_loose_cells_on_the_buy_list() -> None:
    """Cells, manager and straps are lines of their own, and the manager's says what it is."""
    catalog = generic()
    brief = a_brief(preferences={"skills": ["cell_assembly"]})
    job = Job(brief, catalog, [flat_year()], Path("brief.toml"))
    option = next(o for o in job.problem.group("battery").options if o.key.startswith("cell-"))
    kit = Kit({"battery": option.key}, 12, 10)
    bought = buy_list(job, kit)
    (line,) = [line for line in bought.lines if catalog.kind_of(line.part) == "cell_manager"]
    assert (line.quantity, line.purposes) == (1, (CELLS_BOX,))
    assert {line.part for line in bought.lines} == {part for part, _ in option.parts}
    assert (bought.cents, bought.mass_g) == (price_cents(job.problem, kit), kit_mass_g(job.problem, kit))


@pytest.mark.parametrize(
    ("series", "parallel", "words"),
    [(1, 1, "one battery"), (4, 1, "4 in series"), (1, 2, "2 side by side"), (4, 2, "4 in series, 2 side by side")],
)
def test_words_count_only_what_there_is_more_than_one_of(series: int, parallel: int, words: str) -> None:
    """A single battery is one battery, not one in series and one side by side."""
    assert strung(series, parallel, "battery") == words
