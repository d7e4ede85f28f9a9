"""The compiled pass against the slow simulator that was written without it."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from slow_trip import slow_trip
from trip_cases import PANEL_CLASSES, random_brief, random_kit, random_year

from optimizer.trips.asking import Asker
from optimizer.trips.run import CAUSES, Layout, outcomes, short_departures, survivors
from optimizer.trips.scene import BANK_CLASSES, DAYS, build_scene

SCENES, KITS, TRIPS = 18, 30, 2  # 540 kits, 1,080 trips


@pytest.mark.parametrize("number", range(SCENES))
def test_pass_and_slow_simulator_agree_on_random_kits(number: int) -> None:
    """Cause, hour, lack, least room and spell are the same to rounding, and so is the verdict alone."""
    rng = np.random.default_rng(7100 + number)
    brief = random_brief(rng)
    years = [random_year(rng, name) for name in ("one", "two")]
    scene = build_scene(brief, years, PANEL_CLASSES)
    layout = Layout(scene)
    for _ in range(KITS):
        kit, nights = random_kit(rng, len(brief.meals)), int(rng.integers(1, 9))
        vector = layout.vector(kit)
        chosen = rng.integers(scene.departures.size, size=TRIPS)
        found = outcomes(scene, vector, nights, chosen)
        for place, departure in enumerate(chosen):
            year, day = divmod(int(scene.departures[departure]), DAYS)
            slow = slow_trip(brief, years[year], kit, day, nights)
            assert CAUSES[found.cause[place]] == slow.cause
            assert found.hour[place] == slow.hour
            assert found.lack[place] == pytest.approx(slow.lack, rel=1e-9, abs=1e-6)
            assert found.room_wh[place] == pytest.approx(slow.least_room, rel=1e-9, abs=1e-6)
            assert found.room_hour[place] == slow.room_hour
            assert found.spell_from[place] == slow.spell_from
            only = np.array([departure])
            assert short_departures(scene, vector, nights, order=only) == (slow.cause != "none")


def test_random_kits_meet_every_ending() -> None:
    """The comparison above is worth something only if its kits survive, and fail of each cause, often."""
    seen: Counter[str] = Counter()
    for number in range(SCENES):
        rng = np.random.default_rng(7100 + number)
        brief = random_brief(rng)
        scene = build_scene(brief, [random_year(rng, name) for name in ("one", "two")], PANEL_CLASSES)
        for _ in range(KITS):
            kit, nights = random_kit(rng, len(brief.meals)), int(rng.integers(1, 9))
            chosen = rng.integers(scene.departures.size, size=TRIPS)
            found = outcomes(scene, Layout(scene).vector(kit), nights, chosen)
            seen.update(CAUSES[cause] for cause in found.cause)
    assert min(seen[cause] for cause in CAUSES) >= 10
    assert min(seen["none"], seen["battery"]) > 100


@pytest.mark.parametrize("number", range(6))
def test_verdict_alone_and_hourly_outcomes_agree_on_every_departure(number: int) -> None:
    """The walk over boiled-down days and the walk over hours tell the same departures apart."""
    rng = np.random.default_rng(7200 + number)
    brief = random_brief(rng)
    scene = build_scene(brief, [random_year(rng)], PANEL_CLASSES)
    for _ in range(20):
        vector = Layout(scene).vector(random_kit(rng, len(brief.meals)))
        nights = int(rng.integers(1, 30))
        alive = survivors(scene, vector, nights)
        assert (alive == outcomes(scene, vector, nights).survived).all()
        assert short_departures(scene, vector, nights) == (~alive).sum()


@pytest.mark.parametrize("number", range(8))
def test_many_rows_asked_at_once_are_answered_as_one_by_one(number: int) -> None:
    """Rows put together of two groups' lines, whatever was asked before: the same as each row counted alone."""
    rng = np.random.default_rng(7300 + number)
    brief = random_brief(rng)
    scene = build_scene(brief, [random_year(rng)], PANEL_CLASSES)
    layout = Layout(scene)
    allowed = int(rng.integers(0, scene.departures.size // 2))
    asker = Asker(scene, allowed, range(len(BANK_CLASSES)))
    none = np.full((2, 4), -1)
    base = np.zeros(len(layout))
    answers = Counter[bool]()
    for _ in range(25):
        rows = np.array([layout.vector(random_kit(rng, len(brief.meals))) for _ in range(3)])
        first = rng.random(len(layout)) < 0.3
        lines = [np.where(first, rows[:2], 0.0), np.where(first, 0.0, rows)]
        nights = int(rng.integers(1, 9))
        parcel = asker.parcel(lines, base, none)

        def fails(one: np.ndarray, other: np.ndarray, nights: int = nights) -> bool:
            return short_departures(scene, one + other, nights) > allowed

        said = asker.all_fail(parcel, nights)
        assert said == all(fails(one, other) for one in lines[0] for other in lines[1])
        instead = asker.all_fail(parcel, nights, 0, lines[0][1])
        assert instead == all(fails(lines[0][1], other) for other in lines[1])
        answers.update([said, instead])
    assert sum(answers.values()) == 50


def test_many_rows_asked_at_once_get_both_answers() -> None:
    """The comparison above would be worth nothing if all rows failed, or none."""
    said = Counter[bool]()
    for number in range(8):
        rng = np.random.default_rng(7300 + number)
        brief = random_brief(rng)
        scene = build_scene(brief, [random_year(rng)], PANEL_CLASSES)
        asker = Asker(scene, scene.departures.size // 4, range(len(BANK_CLASSES)))
        base, none = np.zeros(len(Layout(scene))), np.full((2, 4), -1)
        rows = [Layout(scene).vector(random_kit(rng, len(brief.meals))) for _ in range(30)]
        said.update(asker.all_fail(asker.parcel([row[np.newaxis]], base, none), 2) for row in rows)
    assert min(said[True], said[False]) >= 10
