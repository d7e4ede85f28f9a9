"""Lengths of cables from the places of their ends: by hand, never shorter than what is built, and paid for."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from wiring_cases import EXAMPLES, example

from optimizer.brief.preferences import Owned
from optimizer.brief.vehicle import Runs
from optimizer.check import check
from optimizer.job import Job
from optimizer.packing.bays import Stowed
from optimizer.packing.nearness import Near
from optimizer.packing.standing import stands
from optimizer.places.reaching import joining, nears_of, ways_of
from optimizer.places.things import box_of
from optimizer.problem.reaches import FROM_BANK, Lengths, Spread, classes
from optimizer.problem.records import Kit, Option
from optimizer.problem.space import BayPlace, Placement, Space, Thing
from optimizer.rules import BY_SLUG

IDS = [path.stem for path in EXAMPLES]
PLAINS = next(path for path in EXAMPLES if path.stem == "high_plains_spring")


def changed(job: Job, **vehicle: object) -> Job:
    """The job with some keys of its vehicle changed."""
    brief = job.brief.model_copy(update={"vehicle": job.brief.vehicle.model_copy(update=vehicle)})
    return Job(brief, job.catalog, job.years, job.file)


@cache
def stated() -> Job:
    """The plains with two runs as measured."""
    return changed(example(PLAINS), runs=Runs(bank_to_inverter=0.7, fuse_box_to_appliance=2.5))


def space_of(job: Job) -> Space:
    assert job.problem.space is not None
    return job.problem.space


def test_the_way_between_two_middles_by_hand() -> None:
    """1.0 to 1.2 m aft against 3.0 to 3.4 m: 2.4 m; sides 0.5 and 0.1 m apart at the most; 0.2 m up: 3.2 m."""
    one = Spread((2000, 2400), (-1000, -800), (1000, 1000))
    other = Spread((6000, 6800), (-1000, -400), (1300, 1400))
    assert one.farthest(other) == 2400 + 300 + 200
    assert other.farthest(one) == one.farthest(other)
    assert Spread((0, 1), (0, 0), (0, 0)).farthest(Spread((0, 0), (0, 0), (0, 0))) == 1  # half a millimetre up


def test_reaches_cover_every_way_with_the_least_cable_beyond() -> None:
    """Against every way to draw the lines: four ways of 1.1 to 4 m fall best into 1.2, 2.5 and 4 m."""
    ways = [1101, 1190, 2450, 3950]
    assert classes(ways) == (1200, 2500, 4000)
    assert classes([1101, 1190]) == (1200,)
    assert classes([1000, 2000], most=1) == (2000,)
    rng = random.Random(3)
    for _ in range(50):
        ways = [rng.randint(1, 60) * 100 for _ in range(rng.randint(1, 8))]
        found = classes(ways)

        def beyond(some: tuple[int, ...], ways: list[int] = ways) -> int:
            return sum(min(reach for reach in some if reach >= way) - way for way in ways)

        tried = (
            (*few, max(ways)) for number in range(3) for few in combinations(sorted(set(ways) - {max(ways)}), number)
        )
        assert found[-1] == max(ways)
        assert len(found) <= 3
        assert beyond(found) == min(beyond(few) for few in tried)


@pytest.mark.parametrize("path", EXAMPLES, ids=IDS)
def test_a_shorter_reach_is_cheaper_or_lighter_and_is_told(path: Path) -> None:
    """Each reach of a part pays for a cable of its length, shorter for less; the longest has the plain key."""
    job = example(path)
    seen = 0
    for group in job.problem.groups:
        if group.name not in FROM_BANK:
            continue
        by_part: dict[tuple[str, int], list[Option]] = {}
        for option in group.options:
            by_part.setdefault((option.parts[0][0], option.voltage), []).append(option)
        reach = next(reach for reach in space_of(job).reaches if reach.end == group.name)
        longest = max(option.reach_mm for option in group.options)
        for options in by_part.values():
            options.sort(key=lambda option: option.reach_mm)
            for option in options:
                circuit = joining(reach, option)
                assert (" within " in option.key) == (option.reach_mm < longest)
                assert not option.get("unwired")
                assert circuit is None or circuit.length_m * 1000 == pytest.approx(option.reach_mm)
                told = re.search(r"within ([0-9.]+) (ft|m) of the bank", option.words)
                assert told
                assert told[2] == ("ft" if job.brief.units == "us" else "m")
                metres = float(told[1]) * (0.3048 if told[2] == "ft" else 1)
                assert metres * 1000 - 0.05 <= option.reach_mm <= metres * 1000 + 31, option.words
            for short, long in pairwise(options):
                seen += 1
                assert f" within {short.reach_mm / 1000:g} m" in short.key
                assert short.price_cents < long.price_cents or short.mass_g < long.mass_g
    assert seen > 50


def test_a_reach_in_feet_is_that_of_the_limit_and_no_further() -> None:
    """2.2 m are 7.218 feet (NIST SP 811): told as 7.2; each reach's feet make no more than its own millimetres."""
    job = example(next(path for path in EXAMPLES if path.stem == "gulf_autumn"))
    assert job.brief.units == "us"
    seen = {}
    for group in FROM_BANK:
        for option in job.problem.group(group).options if group in {g.name for g in job.problem.groups} else ():
            found = re.search(r"within ([0-9.]+) ft of the bank", option.words)
            assert found, option.words
            seen[option.reach_mm] = float(found[1])
    assert len(seen) > 2
    for millimetres, feet in seen.items():
        assert millimetres - 30.48 < feet * 304.8 <= millimetres


def anywhere(rng: random.Random, place: BayPlace, thing: Thing) -> Stowed | None:
    """A box somewhere in a bay, or None when it does not go in."""
    box = box_of("battery/it/1", thing, "")
    ways = stands((replace(place.bay, load=10**9),), box, 1, every=True)
    if not ways:
        return None
    length, width, height = rng.choice(ways).sizes
    air = box.clearance
    x = rng.choice((air, place.bay.length - length - air, rng.randint(air, place.bay.length - length - air)))
    y = rng.choice((air, place.bay.width - width - air, rng.randint(air, place.bay.width - width - air)))
    return Stowed("", place.bay.name, x, y, length, width, height)


@pytest.mark.parametrize("path", EXAMPLES, ids=IDS)
def test_no_two_things_are_ever_further_apart_than_the_table_says(path: Path) -> None:
    """Banks and inverters, chargers, controllers drawn into corners and middles of all bays."""
    job = example(path)
    space, rng = space_of(job), random.Random(1)
    banks = [o for o in job.problem.group("battery").options if o.things]
    farthest = 0.0
    for reach in space.reaches:
        if reach.source != "battery" or not job.problem.has(reach.end):
            continue
        table = {(one, other): mm for one, other, mm in reach.apart}
        for _ in range(150):
            bank, end = rng.choice(banks), rng.choice(job.problem.group(reach.end).options)
            here, there = rng.choice(space.bays), rng.choice(space.bays)
            one, other = anywhere(rng, here, bank.things[0]), anywhere(rng, there, end.things[0])
            if one is None or other is None or not _may(bank, here) or not _may(end, there):
                continue
            apart = sum(abs(a - b) for a, b in zip(middle(one, here), middle(other, there), strict=True))
            assert apart <= table[here.bay.name, there.bay.name]
            farthest = max(farthest, apart / table[here.bay.name, there.bay.name])
    assert farthest > 0.85  # and not much further off than it must be


def _may(option: Option, place: BayPlace) -> bool:
    return bool(set(option.things[0].tags) & set(place.bay.tags))


def middle(stowed: Stowed, place: BayPlace) -> tuple[float, float, float]:
    """Middle of a box in the van's own directions [mm]."""
    assert place.at.x_low is not None
    return (
        place.at.x_low - place.bay.length / 2 + stowed.x + stowed.length / 2,
        place.at.y_low - place.bay.width / 2 + stowed.y + stowed.width / 2,
        place.floor + stowed.height / 2,
    )


def test_a_stated_run_is_the_length_and_the_limit() -> None:
    """Every inverter then has the one cable of 0.7 m, and everything on the fuse box one of 2.5 m."""
    problem = stated().problem
    assert problem.space is not None
    assert {o.reach_mm for o in problem.group("inverter").options} == {700}
    assert {c.length_m for o in problem.group("inverter").options for c in o.circuits if c.use == "dc"} == {0.7}
    assert {reach.end for reach in problem.space.reaches if reach.stated} >= {"inverter", "heater", "cold_box_1"}
    for option in problem.group("heater").options:
        assert option.reach_mm == (2500 if option.circuits else 0)
        assert all(circuit.length_m == 2.5 for circuit in option.circuits)


def test_without_bays_the_runs_of_the_brief_serve() -> None:
    """Nothing has a place, so nothing has a reach, and a default is a length like any other."""
    problem = changed(example(PLAINS), bays=()).problem
    assert problem.space is not None
    assert problem.space.reaches == ()
    assert {o.reach_mm for group in problem.groups for o in group.options} == {0}
    lengths = {c.length_m for o in problem.group("inverter").options for c in o.circuits if c.use == "dc"}
    assert lengths == {Runs().bank_to_inverter}


def test_light_circuits_take_the_longest_way_there_is() -> None:
    """Heater, cold box, cooker, fan, the roof, and the starter battery to its charger: by hand for the last.

    The charger may stand in the bay right under the bed, whose middle is 2.9 m aft and 0.42 m to a side: 0.55 m more
    aft less half the smallest charger; the starter battery 0.4 m ahead of the front axle on either side.
    """
    job = example(PLAINS)
    lengths = Lengths(job.brief, job.catalog, space_of(job))
    assert set(lengths.fixed) == {
        "heater", "cold_box", "cooker", "roof_fan", "roof_to_controller", "alternator_to_charger"
    }
    corner = 2.9 + 0.55 + 0.4 + 0.42 + 0.26 + job.brief.vehicle.track / 2000 + 0.2
    assert corner - 0.6 < lengths.fixed["alternator_to_charger"] <= corner + 0.1
    near = changed(job, starter_x=1500.0, starter_y=400.0)
    assert Lengths(near.brief, near.catalog, space_of(near)).fixed["alternator_to_charger"] < corner / 1.5


def test_cable_that_is_owned_is_never_taken_for_free_twice() -> None:
    """A longer reach that only looks as cheap since its cable is owned does not replace the shorter."""
    job = example(PLAINS)
    cables = tuple(Owned(part=part.id, count=3) for part in job.catalog.parts["cable"])
    preferences = job.brief.preferences.model_copy(update={"owned": cables})
    owning = Job(job.brief.model_copy(update={"preferences": preferences}), job.catalog, job.years, job.file)

    def counts(of: Job) -> list[str]:
        return [option.key for option in of.problem.group("inverter").options]

    assert counts(owning) == counts(job)


def kit_placed(bank: str = "bat-lfp-200-lean 1s1p", **homes: tuple[str, int]) -> tuple[Job, Kit]:
    """A kit of the plains with things put by hand: group to bay and x."""
    job = example(PLAINS)
    problem = job.problem
    choices = {
        "battery": bank, "inverter": "inv-12-300 @12V within 1.6 m",
        "safety fuse_box": "safe-box-12", "tank alcohol": "spirit-5 x1", "tank diesel": "tank-diesel-5 x1",
    }  # fmt: skip
    places = []
    for group, (bay, x) in homes.items():
        name = {"fuse_box": "safety fuse_box", "spirit": "tank alcohol", "diesel": "tank diesel"}.get(group, group)
        thing = problem.group(name).option(choices[name]).things[0]
        places.append(Stowed(f"{name}/{thing.part}/1", bay, x, 60, thing.length, thing.width, thing.height))
    return job, Kit(choices, 12, 10, Placement((), tuple(places)))


def test_what_stands_beyond_its_cable_is_caught_without_the_solver() -> None:
    """Bank and inverter side by side pass; with the inverter in another bay its 1.6 m do not reach."""
    job, kit = kit_placed(battery=("under the bed, left", 0), inverter=("under the bed, left", 700))
    (way,) = ways_of(job.problem, kit)
    assert way.circuit == "busbars to inverter"
    assert way.cable_mm == 1600
    assert way.placed_mm <= 1600
    (limit,) = BY_SLUG["cable_reach"].holds(job.problem, kit)
    told = (limit.name, limit.unit, limit.scale, limit.used, limit.allowed)
    assert told == ("cable_reach busbars to inverter", "mm", 1, way.placed_mm, 1600)
    job, kit = kit_placed(battery=("under the bed, left", 0), inverter=("electrics cupboard", 0))
    (way,) = ways_of(job.problem, kit)
    assert way.placed_mm > 1600
    faults = check(job.problem, replace(kit, choices={**kit.choices, **_rest(job)})).faults
    assert any("cable_reach busbars to inverter" in fault for fault in faults)


def _rest(job: Job) -> dict[str, str]:
    """Something of all that a kit must have."""
    chosen = {"battery", "inverter", "safety fuse_box"}
    return {
        group.name: next(o.key for o in group.options if o.voltage in (0, 12))
        for group in job.problem.groups if group.needed and group.name not in chosen
    }


def test_a_bay_that_is_unknown_to_the_brief_is_no_way() -> None:
    """A placement that names a bay the brief has not is told elsewhere, not measured."""
    job, kit = kit_placed(battery=("nowhere", 0), inverter=("under the bed, left", 0))
    assert ways_of(job.problem, kit) == ()


RIGHT = "under the bed, right"


def test_fuel_beside_a_spark_is_caught_without_the_solver() -> None:
    """A spirit can in the inverter's bay breaks the rule, one in a bay of its own does not, and diesel never does."""
    apart = BY_SLUG["fuel_apart"]
    for homes, used in (
        ({"inverter": (RIGHT, 0), "spirit": (RIGHT, 400)}, 1),
        ({"inverter": ("electrics cupboard", 0), "spirit": (RIGHT, 400)}, 0),
        ({"inverter": (RIGHT, 0), "diesel": (RIGHT, 400)}, 0),
    ):
        job, kit = kit_placed(**homes)
        (limit,) = apart.holds(job.problem, kit)
        assert (limit.used, limit.allowed, limit.met) == (used, 0, not used)


def test_a_flooded_bank_beside_a_spark_is_caught_and_never_placed_so() -> None:
    """Its hydrogen meets no inverter or fuse box, and spirit keeps away from its terminals; a sealed one may stand
    beside them. Where places are looked for, the two halves agree."""
    apart, flooded = BY_SLUG["fuel_apart"], "bat-flooded-105 1s1p"
    for bank, homes, used in (
        (flooded, {"battery": (RIGHT, 0), "inverter": (RIGHT, 600)}, 1),
        (flooded, {"battery": (RIGHT, 0), "spirit": (RIGHT, 600)}, 1),
        (flooded, {"battery": (RIGHT, 0), "inverter": ("electrics cupboard", 0)}, 0),
        ("bat-agm-100 1s1p", {"battery": (RIGHT, 0), "inverter": (RIGHT, 600)}, 0),
    ):
        job, kit = kit_placed(bank, **homes)
        (limit,) = apart.holds(job.problem, kit)
        assert (limit.used, limit.met) == (used, not used)
    assert job.problem.space is not None
    gassing = Kit({"battery": flooded, "inverter": kit.choices["inverter"]}, 12, 10)
    asked = nears_of(job.problem.space, job.problem.space.bays[:2], tuple(gassing.options(job.problem)))
    assert Near(0, (1,), ((0, 0), (1, 1))) in asked


def test_what_may_spark_and_what_gives_off_vapour() -> None:
    """By kind: everything at the bank's fuses and switches, and heaters; flooded banks; spirit, petrol, kerosene, but
    neither diesel nor gas, which has a locker of its own."""
    problem = example(PLAINS).problem
    told = {
        group.name: {thing.hazard for option in group.options for thing in option.things} for group in problem.groups
    }
    for name in (*FROM_BANK, "battery", "safety disconnect"):
        assert told.get(name, set()) <= ({"spark", "gassing"} if name == "battery" else {"spark"}), name
    hazards = {option.traits["chemistry"]: option.things[0].hazard for option in problem.group("battery").options}
    assert {chemistry for chemistry, hazard in hazards.items() if hazard == "gassing"} == {"flooded"}
    assert told["inverter"] == told["safety fuse_box"] == told["heater"] == {"spark"}
    assert told["tank alcohol"] == told["tank petrol"] == told["tank kerosene"] == {"vapour"}
    assert told["tank diesel"] == told["tank propane"] == {""}
