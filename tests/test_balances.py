"""Sums told from failing kits: no kit that survives misses one, and what they rest on is what the trips say."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from documents import GOLDEN
from enumeration import allowed_short, random_kit
from sampled_worlds import EXAMPLE, sampled_job
from test_effects import drawn, lifter_of
from test_enumeration_trips import PLACES, World, world

from optimizer.choosing.balances import UNITS_A_WH, Balances, Part, Telling, lack_of
from optimizer.choosing.effects import Effects
from optimizer.choosing.ledger import Failing
from optimizer.choosing.lifting import Lifter
from optimizer.choosing.store import Level, LevelStore
from optimizer.choosing.tables import WallTables
from optimizer.choosing.walls import NONE, Sum, Wall
from optimizer.job import Job, open_job
from optimizer.learnt import levels_in
from optimizer.problem.records import Kit
from optimizer.trips.run import outcomes, short_departures

COVERAGES = (100.0, 90.0, 60.0)
EXAMPLES = ("high_plains_spring", "gulf_autumn")
MOVED = ("battery", "solar_panel", "charge_controller", "inverter", "cold_box", "alternator_charger", "heater")


def told_of(some: World, lifter: Lifter, seed: int, most: int) -> Iterator[tuple[Kit, Wall]]:
    """Failing kits that a sum tells of."""
    balances = Balances(lifter.effects, lifter.allowed)
    found = 0
    for kit in drawn(some, seed, 80):
        told = balances.told(balances.failing(kit))
        if told is not None:
            assert some.trips.short(kit) >= told.short > lifter.allowed
            found += 1
            yield kit, told.wall
        if found == most:
            return


@pytest.mark.parametrize("coverage", COVERAGES)
@pytest.mark.parametrize("place", PLACES)
def test_no_kit_that_survives_stands_before_a_sum(place: str, coverage: float) -> None:
    """By a slow simulator: whatever stands before the wall falls short too often; the failing kit does stand there."""
    sums = before = survived = 0
    for seed in range(24):
        some = world(seed, place)
        lifter = lifter_of(some, coverage)
        others = list(drawn(some, seed + 1, 60)) + [kit for _, kit in some.kits[::7]]
        for kit, wall in told_of(some, lifter, seed, 4):
            sums += 1
            assert not wall.passed_by(kit)
            for other in others:
                fails = some.trips.short(other) > lifter.allowed
                survived += not fails
                before += not wall.passed_by(other)
                assert fails or wall.passed_by(other)
    assert sums > 25
    assert before > 300
    assert survived > 300


@pytest.mark.parametrize("number", range(6))
def test_sums_of_whole_catalogs_are_true_near_where_kits_begin_to_survive(number: int) -> None:
    """The generic catalog: kits a few swaps from one with plenty, some of which survive and some of which do not."""
    job = sampled_job(number, coverage=80)
    problem, rng = job.problem, random.Random(number)
    effects, allowed = Effects(problem, job.scene), job.allowed_short
    balances = Balances(effects, allowed)
    kits = list(near_plenty(effects, rng))
    short = [short_departures(job.scene, effects.kit_row(kit), kit.nights) for kit in kits]
    walls = []
    for kit, many in zip(kits, short, strict=True):
        told = balances.told(balances.failing(kit)) if many > allowed else None
        if told is not None:
            walls.append(told.wall)
            assert not told.wall.passed_by(kit)
        if len(walls) == 25:
            break
    for kit, many in zip(kits, short, strict=True):
        if many <= allowed:
            assert all(wall.passed_by(kit) for wall in walls)


def test_a_sum_is_no_less_than_what_is_left_unless_a_kit_converts_better() -> None:
    """Around the best kits of the examples: one departure's sum against what the trips leave in the bank there.

    Whatever is swapped, the sum is at least the least that is left; else the kit takes one of the ways out, as many do.
    """
    looked_at: Counter[str] = Counter()
    better: Counter[str] = Counter()
    for name in EXAMPLES:
        job, best = example(name)
        effects, rng = Effects(job.problem, job.scene), random.Random(name)
        groups = [group for group in job.problem.groups if group.kind in MOVED]
        options = {group.name: [o for o in group.options if o.voltage in (0, best.voltage)] for group in groups}
        for _ in range(16):
            choices = {group.name: rng.choice(options[group.name]).key for group in rng.sample(groups, 3)}
            kit = replace(best, choices={**best.choices, **choices})
            result = outcomes(job.scene, effects.kit_row(kit), kit.nights)
            departure = np.argsort(result.room_wh)[:1]
            telling = Telling(effects, 0, Balances(effects, 0).failing(kit), result, departure)
            found = telling.sum_of(telling.brought(telling.told[0], telling.own), np.array([0]), 1)
            ways = Wall(telling.ledger.ways(telling.own))
            for group in groups:
                for option in rng.sample(options[group.name], min(40, len(options[group.name]))):
                    other = replace(kit, choices={**kit.choices, group.name: option.key})
                    left = outcomes(job.scene, effects.kit_row(other), kit.nights, departure).room_wh[0]
                    terms = (named.get(other.choices.get(name, NONE), 0) for name, named in found.weights.items())
                    enough = sum(terms) - found.least >= UNITS_A_WH * left - 1e-3
                    looked_at[group.kind] += 1
                    better[group.kind] += not enough
                    assert enough or ways.passed_by(other), (group.name, option.key)
    assert min(looked_at[kind] for kind in MOVED) > 100
    assert min(better[kind] for kind in ("battery", "inverter", "charge_controller", "cold_box")) > 5, better


def example(name: str) -> tuple[Job, Kit]:
    """An example and its best kit."""
    told = json.loads((GOLDEN / f"{name}.json").read_text(encoding="utf-8"))
    return open_job(EXAMPLE.parent / f"{name}.toml"), Kit(told["choices"], told["voltage"], told["nights"])


def near_plenty(effects: Effects, rng: random.Random) -> Iterator[Kit]:
    """Kits of the dearest options but in a few groups."""
    problem = effects.problem
    for _ in range(400):
        kit = random_kit(problem, rng)
        assert kit is not None
        choices = dict(kit.choices)
        for group in problem.groups:
            fitting = [option for option in group.options if option.voltage in (0, kit.voltage)]
            if fitting and group.kind in ("battery", "solar_panel", "charge_controller") and rng.random() < 0.7:
                choices[group.name] = max(fitting, key=lambda option: (option.price_cents, option.key)).key
        if "panels_2" not in choices or "panels_1" in choices:
            yield replace(kit, choices=choices)


def test_alack_of_is_never_more_than_the_trips_say() -> None:
    """A single departure told with the kit's own conversions: at most what its bank truly lacks.

    Just that, where nothing is told as less than it is: no heater, and no cooking on AC with its idling inverter.
    """
    lacks = exact = 0
    for number in range(8):
        job = sampled_job(number, coverage=80)
        effects, rng = Effects(job.problem, job.scene), random.Random(number)
        balances = Balances(effects, 0)
        for kit in near_plenty(effects, rng):
            failing = charging_less(effects, balances.failing(kit), rng.choice([1.0, 0.03]))
            row = effects.row(list(failing.values), list(failing.classes))
            result = outcomes(job.scene, row, kit.nights)
            worst = np.argsort(result.room_wh, kind="stable")[:3]
            if result.room_wh[worst[-1]] > -1e-3:
                continue
            telling = Telling(effects, 0, failing, result, worst)
            cooked = [table.own("ac_wh") for table in telling.ledger.of_kind("meal")]
            plain = not any(cooked) and not any(telling.ledger.of_kind("heater"))
            own = np.vstack(telling.brought(telling.told[0], telling.own, own_only=True))
            for place, departure in enumerate(worst.tolist()):
                lack = lack_of(own, np.array([place]), 1)
                assert lack <= -result.room_wh[departure] + 1e-5
                lacks += 1
                if plain:
                    assert lack == pytest.approx(-result.room_wh[departure], abs=1e-5)
                    exact += 1
            if lacks > 60 * (number + 1):
                break
    assert lacks > 300
    assert exact > 30


def charging_less(effects: Effects, failing: Failing, share: float) -> Failing:
    """The same with a bank that takes less power, so that it is met."""
    values = list(failing.values)
    for number, group in enumerate(effects.groups):
        if group.group.kind == "battery":
            values[number] = values[number].copy()
            values[number][[entry.name for entry in group.entries].index("charge_w")] *= share
    return failing._replace(values=tuple(values))


def test_of_more_departures_than_may_fall_short_the_best_saved_count() -> None:
    """Sums of several departures take the best of each option, so they lack no more than any of them alone."""
    own = np.array([[5.0, 1.0, 3.0], [-9.0, -8.0, -7.0]])
    assert lack_of(own, np.array([0]), 1) == 4.0
    assert lack_of(own, np.array([0, 1, 2]), 1) == 2.0
    assert lack_of(own, np.array([0, 1, 2]), 2) == 3.5
    assert Part(np.array([0, 1]), 1).saved == 1


def test_sums_kept_are_told_again_the_same() -> None:
    """What a lifter learnt is known to the next with the same store, and after a way through a file."""
    from optimizer.learnt import _path, keep

    for seed in range(40):
        some = world(seed, PLACES[0])
        store = LevelStore()
        lifter = lifter_of(some, 90.0, store)
        walls = [found for kit in drawn(some, seed, 40) if not lifter.passes(kit) for found in lifter.walls(kit)]
        told = [spelled(found) for found in walls if found.sums]
        if not told:
            continue
        assert {spelled(found) for found in lifter_of(some, 90.0, store).known() if found.sums} == set(told)
        assert keep(some.scene, store)
        again = levels_in(_path(some.scene))
        assert list(again) == list(store)
        assert {level.pushed for level in again} == {level.pushed for level in store} >= {False}
        return
    pytest.fail("no kit was told by a sum")


def spelled(wall: Wall) -> tuple[object, ...]:
    """A wall by its terms, since sums are not compared by theirs."""
    return wall.ways, wall.fewer_nights, tuple((found.terms, found.least) for found in wall.sums)


def test_a_level_of_other_groups_tells_no_sum() -> None:
    """Numbers of a kit with groups or banks that are not here are passed over."""
    some = world(1, PLACES[0])
    store = LevelStore([Level(10**6, 1, (("battery", ((0, (1.0,)),)),), pushed=False)])
    assert lifter_of(some, 90.0, store).known() == []


@pytest.mark.parametrize("seed", range(8))
def test_tables_say_what_walls_say(seed: int) -> None:
    """As it stands, with one thing swapped and with several: the same as asking each wall about each kit."""
    some, rng = world(seed, PLACES[0]), random.Random(seed)
    problem = some.problem
    groups = problem.groups
    keys = [[option.key for option in group.options] + ([] if group.needed else [NONE]) for group in groups]
    tables, walls = WallTables(groups, keys), []
    for number in range(70):  # more than the room that the tables begin with
        ways = [
            (group.name, tuple(key for key in some_keys if rng.random() < 0.3))
            for group, some_keys in zip(groups, keys, strict=True) if rng.random() < 0.3
        ]
        sums = [
            Sum(tuple(
                (group.name, tuple((key, rng.randint(-9, 9)) for key in some_keys))
                for group, some_keys in zip(groups, keys, strict=True) if rng.random() < 0.7
            ), rng.randint(-20, 5))
            for _ in range(number % 3)
        ]  # fmt: skip
        walls.append(Wall(tuple(ways), rng.choice([0, 0, problem.nights[-1]]), tuple(sums)))
        tables.know(walls[-1])
    agreed = {True: 0, False: 0}

    def same(said: bool, kit: Kit, among: list[Wall]) -> None:
        assert said == all(wall.passed_by(kit) for wall in among)
        agreed[said] += 1

    for few in (1, 2, 4, 70):
        tables = WallTables(groups, keys)
        for wall in walls[-few:]:
            tables.know(wall)
        for kit in drawn(some, seed, 10):
            stand, here = tables.stand(kit), walls[-few:]
            same(stand.past_all(), kit, here)
            for number, group in enumerate(groups):
                allowed = stand.swaps(number)
                for row, key in enumerate(keys[number]):
                    same(bool(allowed[row]), swapped(kit, {group.name: key}), here)
            picked = rng.sample(range(len(groups)), min(3, len(groups)))
            rows = [(number, rng.randrange(len(keys[number]))) for number in picked]
            changed = swapped(kit, {groups[number].name: keys[number][row] for number, row in rows})
            same(stand.past_with(rows), changed, here)
    assert min(agreed.values()) > 50


def swapped(kit: Kit, changes: dict[str, str]) -> Kit:
    choices = {**kit.choices, **changes}
    return replace(kit, choices={group: key for group, key in choices.items() if key != NONE})


def test_allowed_departures_are_counted_as_the_brief_does() -> None:
    """The worlds' count of departures that may fall short is the lifter's own."""
    some = world(0, PLACES[0])
    assert lifter_of(some, 90.0).allowed == allowed_short(some.scene, 90.0)
