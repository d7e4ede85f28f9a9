"""The starter brief: complete, good, and written whole or not at all."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from optimizer.brief.brief import Brief
from optimizer.brief.oddities import oddities
from optimizer.brief.reading import read_brief
from optimizer.brief.starter import STARTER_NAME, starter_text, write_starter
from optimizer.brief.topic import Topic, shapes
from optimizer.errors import UsageError

KEY_LINE = re.compile(r"#?([a-z_]+) = ")
HEADING = re.compile(r"#?\[\[?([a-z_.]+)\]\]?$")


def every_key(topic: type[Topic] = Brief, above: str = "") -> Iterator[tuple[str, str]]:
    """Table and key of everything a brief may hold."""
    for name, shape in shapes(topic).items():
        if shape.topic is None:
            yield above, name
        else:
            yield from every_key(shape.topic, f"{above}.{name}" if above else name)


def test_starter_is_a_good_brief(tmp_path: Path) -> None:
    """The starter reads without a fault, and nothing about it is odd."""
    path = write_starter(tmp_path)
    assert path == tmp_path / STARTER_NAME
    brief = read_brief(path, ("payload", "budget"))
    assert len(brief.people) == 2
    assert brief.place.weather == ("station:723170",)
    assert oddities(brief) == []


def test_starter_with_every_key_set_is_a_good_brief(tmp_path: Path) -> None:
    """The keys it shows behind a '#' are good too, all of them at once."""
    lines = [
        line[1:] if line.startswith("#") and (KEY_LINE.match(line) or HEADING.match(line)) else line
        for line in starter_text().split("\n")
    ]
    path = tmp_path / "full.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    brief = read_brief(path, ("payload", "budget"))
    assert brief.preferences.own_kinds
    assert brief.limits.own
    assert brief.vehicle.bays[0].door_width is not None


def test_starter_shows_every_key_of_every_table() -> None:
    """No table and no key of the brief is missing, and each first showing has its line of words."""
    shown: set[tuple[str, str]] = set()
    table, before = "", ""
    for line in starter_text().split("\n"):
        heading, key = HEADING.match(line), KEY_LINE.match(line)
        if heading:
            table = heading[1]
        elif key and (table, key[1]) not in shown:
            shown.add((table, key[1]))
            assert before.startswith("# "), line
            assert re.search(r"default|must be given|left out|else", before), before
        before = line
    assert shown == set(every_key())


def test_starter_names_units_and_choices() -> None:
    """Each quantity says its unit in brackets, and each choice all that may be chosen."""
    text = starter_text()
    lines = text.split("\n")
    for topic in topics():
        for name, shape in shapes(topic).items():
            field = topic.model_fields[name]
            if shape.measure is not None:
                words = [line for line in lines if line.startswith(f"# {field.description}")]
                assert words, name
                unit = {"delta_degC": "K"}.get(shape.measure.unit, shape.measure.unit)
                assert all(f"[{unit}]" in line for line in words), words
    for choice in ("rear_hang", "body_cutting", "slow_cook", "lpg", "bare", "48", "at_most_one", "metric"):
        assert any(choice in line for line in lines if line.startswith("# ")), choice


def topics(topic: type[Topic] = Brief) -> list[type[Topic]]:
    """Every table of the brief."""
    inner = [shape.topic for shape in shapes(topic).values() if shape.topic is not None]
    return [topic, *(found for below in inner for found in topics(below))]


def test_defaults_shown_are_the_defaults() -> None:
    """A brief from the starter without its own values for optional keys has the records' defaults."""
    for topic in topics():
        for name, shape in shapes(topic).items():
            field = topic.model_fields[name]
            if shape.topic is None and not field.is_required() and field.default is not None:
                found = re.findall(
                    rf"^# {re.escape(str(field.description))}.*; default (.*)\n#?{name} = ",
                    starter_text(),
                    re.MULTILINE,
                )
                assert found, name
                for text in found:
                    value = tomllib.loads(f"value = {text}")["value"]
                    assert (tuple(value) if isinstance(value, list) else value) == field.default


def test_starter_makes_its_folder(tmp_path: Path) -> None:
    """A folder that is not there is made."""
    assert write_starter(tmp_path / "a" / "b").is_file()


def test_starter_never_overwrites(tmp_path: Path) -> None:
    """A brief that is there stays as it is."""
    (tmp_path / STARTER_NAME).write_text("mine")
    with pytest.raises(UsageError) as caught:
        write_starter(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path / STARTER_NAME} is there already; expected a folder without it."
        " Move it, or name another folder."
    )
    assert (tmp_path / STARTER_NAME).read_text() == "mine"


def test_starter_where_nothing_can_be_written(tmp_path: Path) -> None:
    """A file in place of the folder is a usage fault with a reason."""
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match="cannot be written"):
        write_starter(tmp_path / "file")


@pytest.mark.parametrize("broken", ["replace", "fsync"])
def test_starter_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    """When the disk gives up half way, neither the brief nor a piece of it is left."""

    def give_up(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, broken, give_up)
    with pytest.raises(UsageError, match="no space left on device"):
        write_starter(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_starter_is_plain_text() -> None:
    """The starter is ASCII without spaces at line ends: it opens the same in every editor."""
    assert starter_text().isascii()
    assert all(line == line.rstrip() for line in starter_text().split("\n"))
