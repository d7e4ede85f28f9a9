"""What batches save: families stay with a worker, options are built once, tighter variants take earlier answers."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from batch_cases import folder_with

from optimizer.batch.dealing import Dealt
from optimizer.batch.reuse import Answered, allows_less
from optimizer.batch.run import How, rows_batch
from optimizer.batch.variants import variants_from_rows
from optimizer.brief.brief import Brief
from optimizer.brief.reading import brief_data
from optimizer.job import open_job
from optimizer.problem.build import build_problem
from optimizer.problem.sameness import FREE, options_key
from optimizer.rules import limit_names

OTHER: Mapping[str, Mapping[str, Any]] = {
    "trip": {"coverage": 60, "sunless_days": 2},
    "limits": {"budget": 777, "payload_margin": 31, "parking_length": 5010, "overall_height": 2222},
    "vehicle": {
        "name": "another", "gross_mass": 2950, "front_axle_rating": 1590, "rear_axle_rating": 1690,
        "side_difference": 70,
    },
    "preferences": {"keep": ("budget",)},
}  # fmt: skip


def changed(brief: Brief, table: str, **values: object) -> Brief:
    """The brief with other values in one of its tables."""
    return brief.model_copy(update={table: getattr(brief, table).model_copy(update=values)})


@pytest.mark.parametrize(("table", "key"), [(table, key) for table, keys in FREE.items() for key in keys])
def test_keys_said_to_leave_the_options_alone_do(tmp_path: Path, table: str, key: str) -> None:
    """Each built anew has the same groups; with groups handed over the problem is the one built anew."""
    job = open_job(folder_with(tmp_path)[0])
    other = changed(job.brief, table, **{key: OTHER[table][key]})
    assert other != job.brief
    assert options_key(other) == options_key(job.brief)
    anew = build_problem(other, job.catalog, job.years)
    assert anew.groups == job.problem.groups
    assert build_problem(other, job.catalog, job.years, groups=job.problem.groups) == anew


def test_heavier_people_have_the_same_options_and_more_people_have_not(tmp_path: Path) -> None:
    """Who they are is free, how many is not; nor are nights, uses or bays."""
    job = open_job(folder_with(tmp_path)[0])
    (one,) = job.brief.people
    heavy = job.brief.model_copy(update={"people": (one.model_copy(update={"mass": 99.0, "name": "Kim"}),)})
    assert options_key(heavy) == options_key(job.brief)
    assert build_problem(heavy, job.catalog, job.years).groups == job.problem.groups
    for other in (
        job.brief.model_copy(update={"people": (one, one)}), changed(job.brief, "trip", nights=2),
        changed(job.brief, "limits", panels=2), changed(job.brief, "vehicle", alternator_current=90.0),
    ):  # fmt: skip
        assert options_key(other) != options_key(job.brief)


def test_families_stay_together_and_everything_is_dealt_once(tmp_path: Path) -> None:
    """Two workers, three families of different length: all keys, none twice, the longest one shared at the end."""
    brief = open_job(folder_with(tmp_path)[0]).brief
    briefs = {
        f"{nights} {place}": changed(brief, "trip", nights=nights) for nights, many in ((3, 2), (4, 2), (5, 9))
        for place in range(many)
    }
    dealt = Dealt(briefs, 2)
    given = [(worker, found[0]) for turn in range(9) for worker in (0, 1) if (found := dealt.following(worker))]
    keys = [key for _, key in given]
    assert sorted(keys) == sorted(briefs)
    assert [key for worker, key in given if worker == 0][:4] == ["3 0", "3 1", "5 0", "5 1"]
    assert [key for worker, key in given if worker == 1][:2] == ["4 0", "4 1"]
    assert {key[0] for worker, key in given[6:]} == {"5"}
    assert dealt.following(0) is None


def test_what_allows_less_is_known(tmp_path: Path) -> None:
    """Limits one way, demands the other; a wish more or another goal is another question."""
    job = open_job(folder_with(tmp_path)[0])

    def problem(table: str, **values: object) -> Any:
        return build_problem(changed(job.brief, table, **values), job.catalog, job.years)

    assert allows_less(problem("limits", budget=100.0), job.problem)
    assert not allows_less(problem("limits", budget=9000.0), job.problem)
    assert allows_less(problem("trip", sunless_days=2.0), job.problem)
    assert not allows_less(problem("trip", sunless_days=0.5), job.problem)
    assert not allows_less(problem("preferences", goal="lightest"), job.problem)


def test_own_limits_and_sunless_days_used_again_give_the_rows_of_choosing_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ladders of an own limit and of sunless days, down to where nothing is possible."""
    brief, _ = folder_with(tmp_path)
    with brief.open("a", encoding="utf-8") as file:
        file.write('[[limits.own]]\nname = "light"\ncolumn = "mass_kg"\nat_most = 90\n')
    rows: list[dict[str, object]] = [
        {"limits.own[1].at_most": most, "trip.sunless_days": days} for most in (90, 60, 55, 30, 20) for days in (1, 2)
    ]
    assert len(variants_from_rows(rows, brief_data(brief), limit_names()).rows) == 10
    again = rows_batch(brief, rows, None, how=How(workers=1, conflicts=False))
    used = []
    find = Answered.answer
    monkeypatch.setattr(Answered, "answer", lambda *given: used.append(find(*given)))
    anew = rows_batch(brief, rows, None, how=How(workers=1, conflicts=False))
    assert again.rows == anew.rows
    assert {row["status"] for row in again.rows} == {"proven", "impossible"}
    assert any(found is not None and found.status == "impossible" for found in used)
    assert any(found is not None and found.status == "proven" for found in used)
