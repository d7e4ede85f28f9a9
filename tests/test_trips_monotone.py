"""Every number of a kit has a good direction, and no trip is lost by going that way."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from trip_cases import PANEL_CLASSES, a_brief, random_brief, random_kit, random_year, with_bank

from optimizer.physics import Array
from optimizer.trips.numbers import KitNumbers
from optimizer.trips.run import Layout, short_departures, survivors
from optimizer.trips.scene import BANK_CLASSES, Scene, build_scene

STEPS = st.one_of(st.just(0.0), st.floats(1e-3, 3.0), st.just(1e6))


@cache
def scene_of(number: int) -> Scene:
    """One of a few scenes by chance, each with cold days and dark ones."""
    rng = np.random.default_rng(8200 + number)
    brief = random_brief(rng)
    return build_scene(brief, [random_year(rng)], PANEL_CLASSES)


def a_row(number: int, seed: int) -> Array:
    """A random kit's row in that scene, near enough to the edge that some departures fail."""
    rng = np.random.default_rng(seed)
    scene = scene_of(number)
    return Layout(scene).vector(random_kit(rng, len(scene.brief.meals)))


def pushed(value: float, direction: int, step: float) -> float:
    """A better value: one bit better for a step of 0."""
    if step == 0.0:
        return float(np.nextafter(value, np.inf * direction)) if value > 0 or direction > 0 else 0.0
    return value * (1 + step) + step if direction > 0 else value / (1 + step)


@settings(deadline=None, max_examples=300)
@given(
    number=st.integers(0, 7), seed=st.integers(0, 10**6), nights=st.integers(1, 14),
    places=st.lists(st.tuples(st.floats(0, 1, exclude_max=True), STEPS), min_size=1, max_size=6),
)
def test_a_better_number_never_loses_a_departure(
    number: int, seed: int, nights: int, places: list[tuple[float, float]]
) -> None:
    """Numbers of a random kit pushed the good way, by one bit or by a lot, keep every covered departure."""
    scene, row = scene_of(number), a_row(number, seed)
    layout = Layout(scene)
    better = row.copy()
    for share, step in places:
        place = int(share * len(layout))
        direction = int(layout.directions[place])
        if direction:
            better[place] = pushed(row[place], direction, step)
    before, after = survivors(scene, row, nights), survivors(scene, better, nights)
    assert not (before & ~after).any()


def test_every_number_can_make_a_difference() -> None:
    """For each entry there is a kit and scene in which the bad way loses a departure: none is idle."""
    idle: set[str] = set()
    names = {dim.name for dim in Layout(scene_of(0)).dims}
    moved: set[str] = set()
    for number in range(8):
        scene = scene_of(number)
        layout = Layout(scene)
        for seed in range(60):
            row = a_row(number, seed)
            alive = survivors(scene, row, 4)
            for place, dim in enumerate(layout.dims):
                if dim.direction and alive.any() and dim.name not in moved:
                    worse = row.copy()
                    worse[place] = 0.001 * row[place] if dim.direction > 0 else row[place] + 1000.0
                    if (alive & ~survivors(scene, worse, 4)).any():
                        moved.add(dim.name)
            names |= {dim.name for dim in layout.dims}
    # Falling off with cold below 25 degC is small beside the rest; it is held by the hand-worked tests.
    idle = {name for name in names - moved if not name.endswith((".class", "fall_w_k"))}
    assert not idle


@pytest.mark.parametrize("number", range(4))
def test_a_class_that_is_no_worse_loses_no_departure(number: int) -> None:
    """Panels and banks may be exchanged for a class that ``no_worse`` allows."""
    scene = scene_of(number)
    layout = Layout(scene)
    compared = 0
    for seed in range(12):
        row = a_row(number, seed)
        before = survivors(scene, row, 5)
        for name, count in (("bank.class", len(BANK_CLASSES)), ("array_1.class", len(PANEL_CLASSES))):
            other = int(row[layout.index(name)])
            for one in range(count):
                if layout.no_worse(name, one, other):
                    changed = row.copy()
                    changed[layout.index(name)] = one
                    assert not (before & ~survivors(scene, changed, 5)).any()
                    compared += one != other
    assert compared > 20


def alive(kit: KitNumbers, scene: Scene, nights: int) -> NDArray[np.bool_]:
    """Which departures the kit survives."""
    return survivors(scene, Layout(scene).vector(kit), nights)


@pytest.mark.parametrize("seed", range(12))
def test_longer_trips_never_cover_more(seed: int) -> None:
    """A departure that falls short in some nights falls short in more of them."""
    scene = scene_of(seed % 8)
    kit = random_kit(np.random.default_rng(seed), len(scene.brief.meals))
    kit = replace(kit, water_l=1e5, grey_l=1e5, toilet_visits=1e5)
    row = Layout(scene).vector(kit)
    runs = [survivors(scene, row, nights) for nights in (1, 2, 3, 5, 8, 13, 21)]
    for shorter, longer in pairwise(runs):
        assert not (longer & ~shorter).any()
    assert runs[0].sum() >= runs[-1].sum()


@pytest.mark.parametrize("seed", range(8))
def test_colder_darker_or_busier_never_covers_more(seed: int) -> None:
    """Colder air, less sun, more uses, more people: each may only lose departures."""
    rng = np.random.default_rng(500 + seed)
    year, kit = random_year(rng), random_kit(rng, 0)
    # Outside: a bank that lives inside would rightly gain by a warmer van.
    kit = replace(with_bank(kit, warm=False), water_l=200.0, grey_l=1e5, toilet_visits=1e5)
    place = {"weather": ["station:723170"]}
    calm = build_scene(a_brief(), [year])
    busy = {"name": "lamp", "power": 15, "hours": 6, "start_hour": 18}
    harder = {
        "colder": {"place": {**place, "colder_by": 4}},
        "darker": {"place": {**place, "sun_stress": 85}},
        "dirtier": {"place": {**place, "soiling": 12, "shading": 5}},
        "busier": {"uses": [busy]},
        "busier on the mains": {"uses": [{**busy, "supply": "ac"}]},
        "warmer": {"comfort": {"day_temperature": 21, "night_temperature": 15}},
        "thirstier": {"supplies": {"other_water_day": 9}},
    }
    before = alive(kit, calm, 5)
    for tables in harder.values():
        assert not (alive(kit, build_scene(a_brief(**tables), [year]), 5) & ~before).any()


@settings(deadline=None, max_examples=60)
@given(
    number=st.integers(0, 7), seed=st.integers(0, 10**6), stop=st.integers(0, 30), shuffle=st.integers(0, 9)
)
def test_early_exit_tells_the_same_as_the_full_count(number: int, seed: int, stop: int, shuffle: int) -> None:
    """Stopping early, in any order, gives the full count or one more than asked."""
    scene, row = scene_of(number), a_row(number, seed)
    full = short_departures(scene, row, 6)
    order = np.random.default_rng(shuffle).permutation(scene.departures.size)
    assert short_departures(scene, row, 6, stop_after=stop, order=order) == min(full, stop + 1)
