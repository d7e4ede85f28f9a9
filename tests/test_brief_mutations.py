"""A good brief changed at random: it is read, or it gets a report; nothing else ever happens."""

from __future__ import annotations

import copy
import datetime
import math
import tomllib
from pathlib import Path
from typing import Any

from brief_samples import GOOD, consistency_faults
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.brief.brief import Brief
from optimizer.brief.findings import KeyPath
from optimizer.brief.oddities import oddities
from optimizer.brief.reading import brief_from_dict, read_brief
from optimizer.errors import FaultsFound

DATA = tomllib.loads(GOOD)
WORDS = ("12 V", "17 ft 6 in", "1,5 m", "", " ", "station:", "most:", "dc", "x" * 200, "\ud800", "é", "06-15")

scalars = st.one_of(
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**20, max_value=10**400),
    st.floats(),
    st.text(max_size=20),
    st.sampled_from(WORDS),
    st.dates(),
    st.datetimes(),
    st.just(datetime.time(1, 2)),
    st.none(),
)
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.one_of(st.sampled_from(["name", "length", "x", "nights"]), st.text(max_size=5)),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=6,
)  # fmt: skip


def paths(data: Any, above: KeyPath = ()) -> list[KeyPath]:
    """Every key path of raw data."""
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [path for step, value in steps for path in ((*above, step), *paths(value, (*above, step)))]


EVERY_PATH = paths(DATA)


def with_changes(changes: list[tuple[KeyPath, str, Any]]) -> dict[str, Any]:
    """The good brief's data with values replaced, taken out, doubled or put in."""
    data = copy.deepcopy(DATA)
    for path, how, value in changes:
        parent: Any = data
        for step in path[:-1]:
            try:
                parent = parent[step]
            except (KeyError, IndexError, TypeError):
                parent = None
                break
        last: Any = path[-1]
        if isinstance(parent, dict):
            if how == "take out":
                parent.pop(last, None)
            else:
                parent[last if how == "replace" else f"{last}x"] = value
        elif isinstance(parent, list) and isinstance(last, int) and last < len(parent):
            if how == "take out":
                del parent[last]
            elif how == "replace":
                parent[last] = value
            else:
                parent.append(parent[last])
    return data


changes = st.lists(
    st.tuples(st.sampled_from(EVERY_PATH), st.sampled_from(["replace", "take out", "add"]), values),
    min_size=1,
    max_size=4,
)


def check_good(brief: Brief) -> None:
    """A brief that is read keeps its promises: finite numbers, no contradictions, notes without a crash."""
    assert consistency_faults(brief) == []
    assert all(note.endswith(".") for note in oddities(brief))
    waiting: list[Any] = [brief.model_dump()]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, tuple):
            waiting += value
        elif isinstance(value, float):
            assert math.isfinite(value)


def check_report(report: FaultsFound, lines: int = 10_000) -> None:
    """A report has faults, a line of print each, in plain words, on lines that the file has."""
    assert report.faults
    for fault in report.faults:
        sentence = fault.sentence()
        assert fault.expected
        assert 0 <= fault.line <= lines
        assert "\n" not in sentence
        assert "Input should" not in sentence
        assert len(sentence) < 1200


@settings(deadline=None, max_examples=300)
@given(changes)
def test_changed_data_is_read_or_reported(edits: list[tuple[KeyPath, str, Any]]) -> None:
    """Random values, missing keys, unknown keys and doubled entries: a brief or a report."""
    data = with_changes(edits)
    try:
        brief = brief_from_dict(data)
    except FaultsFound as report:
        check_report(report)
    else:
        check_good(brief)


@settings(deadline=None, max_examples=100)
@given(values)
def test_anything_at_all_is_reported(data: Any) -> None:
    """What is no brief in any way gets a report too."""
    try:
        brief_from_dict(data)
    except FaultsFound as report:
        check_report(report)
    else:
        raise AssertionError("a brief out of nothing")


@settings(deadline=None, max_examples=300)
@given(
    st.lists(
        st.tuples(
            st.integers(min_value=0, max_value=len(GOOD)),
            st.integers(min_value=0, max_value=12),
            st.one_of(
                st.text(alphabet="[]{}=\"'#,.\\\n\r abx019-+_", max_size=6),
                st.sampled_from(
                    ["\"\"\"", "'''", "[[x]]\n", "[trip]\n", "nights = 3\n", "= ", "é", "\x00", "\x07", "inf"]
                ),
            ),
        ),
        min_size=1,
        max_size=4,
    )
)  # fmt: skip
def test_changed_text_is_read_or_reported(
    tmp_path_factory: Any, edits: list[tuple[int, int, str]]
) -> None:
    """Random cuts and insertions in the file: a brief, or a report whose lines are in the file."""
    text = GOOD
    for start, length, new in edits:
        text = text[:start] + new + text[start + length :]
    path = Path(tmp_path_factory.getbasetemp()) / "changed.toml"
    path.write_bytes(text.encode())
    try:
        brief = read_brief(path)
    except FaultsFound as report:
        check_report(report, lines=text.count("\n") + 1)
    else:
        check_good(brief)


@settings(deadline=None, max_examples=150)
@given(st.binary(max_size=200))
def test_any_bytes_are_reported(tmp_path_factory: Any, raw: bytes) -> None:
    """A file of any bytes gets a report."""
    path = Path(tmp_path_factory.getbasetemp()) / "bytes.toml"
    path.write_bytes(raw)
    try:
        read_brief(path)
    except FaultsFound as report:
        check_report(report)
    else:
        raise AssertionError("a brief out of nothing")


@settings(deadline=None, max_examples=100)
@given(changes)
def test_reports_do_not_depend_on_order(edits: list[tuple[KeyPath, str, Any]]) -> None:
    """The same faults come in the same order whatever the order of the tables."""
    data = with_changes(edits)
    turned = dict(reversed(data.items()))

    def told(source: dict[str, Any]) -> str:
        try:
            brief_from_dict(source)
        except FaultsFound as report:
            return str(report)
        return ""

    assert told(data) == told(turned)
