"""Frontiers of briefs made of nothing but own kinds and own limits, held to dynamic programming and enumeration.

Reference: Nemhauser G., Ullmann Z. (1969), Discrete dynamic programming and capital allocation, Management Science
15(9), 494-505, for sums over choices kept only where nothing of no more weight is as good; from memory. It shares
nothing with the solver, the zones or the problem's scaled integers.
"""

from __future__ import annotations

import csv
import itertools
import random
import tomllib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.brief import Brief
from optimizer.brief.oddities import oddities
from optimizer.brief.reading import brief_from_dict
from optimizer.errors import FaultsFound
from optimizer.frontier.plain import Total, nondominated
from optimizer.frontier.run import find_frontier
from optimizer.job import Job, open_job
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import OwnPart
from optimizer.problem.build import raise_mismatches

EXAMPLE = Path(__file__).parents[1] / "examples" / "own_kinds" / "brief.toml"
BARE = EXAMPLE.read_text(encoding="utf-8").split("\n[[limits.own]]")[0] + "\n"
Kinds = list[list[dict[str, int]]]
NOTHING = -1


def kinds_of(seed: int, kinds: int, rows: int, columns: str, top: int) -> Kinds:
    """Rows of small whole numbers."""
    rng = random.Random(seed)
    return [[{c: rng.randint(0, top) for c in columns} for _ in range(rows)] for _ in range(kinds)]


def programmed(kinds: Kinds, most: int) -> set[tuple[int, int]]:
    """Most of a against most of b with at most so much of w: the best b for each sum of w and a, kind by kind."""
    top = sum(max(row["a"] for row in rows) for rows in kinds)
    best = np.full((most + 1, top + 1), NOTHING)
    best[0, 0] = 0
    for rows in kinds:
        after = np.full_like(best, NOTHING)
        for row in rows:
            w, a = row["w"], row["a"]
            if w <= most:
                before = best[: most + 1 - w, : top + 1 - a]
                into = after[w:, a:]
                np.maximum(into, np.where(before >= 0, before + row["b"], NOTHING), out=into)
        best = after
    found: set[tuple[int, int]] = set()
    reached = NOTHING
    for a, b in reversed(list(enumerate(best.max(axis=0).tolist()))):
        if b > reached:
            found.add((a, b))
            reached = b
    return found


def written(folder: Path, kinds: Kinds, limits: Sequence[tuple[str, int]]) -> Job:
    """The same kinds as one table and a brief beside it."""
    columns = list(kinds[0][0])
    with (folder / "rows.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(["id", "name", "slot", *columns])
        for number, rows in enumerate(kinds, start=1):
            for place, row in enumerate(rows):
                table.writerow([f"r{number}-{place}", f"Row {place} of {number}", number, *row.values()])
    text = BARE + "".join(
        f'[[limits.own]]\nname = "l{place}"\ncolumn = "{column}"\nat_most = {most}\n'
        for place, (column, most) in enumerate(limits)
    )
    text += '[preferences]\ninverter = false\nown_kinds = [{ name = "row", file = "rows.csv", each = "slot" }]\n'
    path = folder / "brief.toml"
    path.write_text(text, encoding="utf-8")
    return open_job(path)


def shown(job: Job, goals: list[str]) -> set[tuple[float, ...]]:
    """The frontier of a brief, in the goals' units; complete, proven, and one row chosen in each slot."""
    found = find_frontier(job, goals)
    assert found.complete
    assert found.proven
    slots = {group.name for group in found.problem.groups if group.kind == "own:row"}
    assert all(slots <= point.kit.choices.keys() for point in found.points)
    return {found.numbers(point) for point in found.points}


@pytest.mark.parametrize("seed", range(4))
def test_ten_and_thirty_kinds_equal_dynamic_programming(seed: int) -> None:
    """Bare integers, two goals, one limit."""
    kinds = kinds_of(seed, (10, 30)[seed % 2], 5, "abw", 9)
    most = len(kinds) * 4
    found = nondominated(kinds, ["most:a", "most:b"], [Total("w", at_most=most)])
    assert {choice.values for choice in found} == programmed(kinds, most)
    assert len(found) > 8


def test_a_brief_of_thirty_own_kinds_equals_dynamic_programming(tmp_path: Path) -> None:
    """The same through brief and table; nothing else of the van gets into the way of the goals."""
    kinds = kinds_of(5, 30, 4, "abw", 4)
    expected = programmed(kinds, 50)
    assert len(expected) > 8
    assert shown(written(tmp_path, kinds, [("w", 50)]), ["most:a", "most:b"]) == expected


def test_a_brief_of_three_goals_and_five_limits_equals_enumeration(tmp_path: Path) -> None:
    """Seven kinds, every choice looked at."""
    kinds = kinds_of(8, 7, 3, "abcvwxyz", 6)
    limits = [(column, 25) for column in "vwxyz"]
    sums = [
        {column: sum(row[column] for row in rows) for column in "abcvwxyz"} for rows in itertools.product(*kinds)
    ]
    points = {(s["a"], s["b"], s["c"]) for s in sums if all(s[column] <= most for column, most in limits)}
    best = {
        p for p in points
        if not any(q != p and q[0] >= p[0] and q[1] <= p[1] and q[2] >= p[2] for q in points)
    }
    assert len(best) > 8
    assert shown(written(tmp_path, kinds, limits), ["most:a", "least:b", "most:c"]) == best


@pytest.mark.long
@pytest.mark.parametrize(("many", "rows", "top"), [(100, 5, 2), (100, 10, 3), (300, 3, 1), (300, 5, 1)])
def test_hundreds_of_own_kinds_equal_dynamic_programming(tmp_path: Path, many: int, rows: int, top: int) -> None:
    """A hundred and three hundred kinds, bare and as a brief."""
    kinds = kinds_of(many + rows, many, rows, "abw", top)
    most = many * top // 3
    expected = programmed(kinds, most)
    assert len(expected) > 5
    found = nondominated(kinds, ["most:a", "most:b"], [Total("w", at_most=most)])
    assert {choice.values for choice in found} == expected
    assert shown(written(tmp_path, kinds, [("w", most)]), ["most:a", "most:b"]) == expected


def test_the_example_is_enumerated() -> None:
    """Every tool chest of the example looked at."""
    with (EXAMPLE.parent / "choices.csv").open(encoding="utf-8") as file:
        table = list(csv.DictReader(file))
    slots = [[row for row in table if row["choice"] == number] for number in sorted({r["choice"] for r in table})]
    chests = itertools.product(*slots)
    sums = {(sum(int(r["worth"]) for r in chest), sum(int(r["litres"]) for r in chest)) for chest in chests}
    allowed = {point for point in sums if point[1] <= 22}
    best = {p for p in allowed if not any(q != p and q[0] >= p[0] and q[1] <= p[1] for q in allowed)}
    found = find_frontier(open_job(EXAMPLE), ["most:worth", "least:litres"])
    assert {found.numbers(point) for point in found.points} == best


def brief_with(**kind: object) -> Brief:
    """The example's brief with other keys in its own kind."""
    data = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))
    data["preferences"]["own_kinds"][0] |= kind
    return brief_from_dict(data)


def test_a_column_that_is_none_is_a_fault() -> None:
    """Named with what was expected and the nearest column there is."""
    catalog = open_job(EXAMPLE).catalog
    with pytest.raises(FaultsFound, match=r"'choises'; expected a column of numbers of choices\.csv\..*'choice'"):
        raise_mismatches(brief_with(each="choises"), catalog, "brief")
    bare = {"tool": [OwnPart(id="saw", name="Saw")]}
    with pytest.raises(FaultsFound, match=r"'choice'; expected a column of numbers .* Add it, or leave 'each' out"):
        raise_mismatches(brief_with(), Catalog.of(catalog.all_parts, bare), "brief")


def test_each_with_any_is_odd() -> None:
    """Where any number may be chosen nothing is left to choose anew."""
    assert any("each = 'choice'" in text for text in oddities(brief_with(choose="any")))
    assert not any("each = 'choice'" in text for text in oddities(brief_with()))
