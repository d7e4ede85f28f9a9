"""README says what is so: its commands, its help, its tour; every command has help and a passage."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import documents
import pytest
from typer.main import get_command

from optimizer.cli import app

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "optimizer"
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def readme_command(name: str) -> str:
    """The one line of a command block of README."""
    found = re.findall(rf"<!-- command: {name} -->\n```sh\n(.*?)\n```", README)
    assert len(found) == 1
    return str(found[0])


def test_the_first_command_ends_with_a_kit() -> None:
    """One line: environment, install, choose; it names an example that is there."""
    steps = readme_command("choose").split(" && ")
    assert steps[0] == "python3 -m venv .venv"
    assert steps[1] == ".venv/bin/pip install --quiet ."
    program, command, brief = shlex.split(steps[2])
    assert (program, command) == (".venv/bin/kitwright", "choose")
    assert (ROOT / brief).is_file()


def test_the_second_command_is_what_ci_runs() -> None:
    """.ci/run ends with README's test command, word for word, and can be run."""
    script = ROOT / ".ci" / "run"
    assert script.read_text(encoding="utf-8").splitlines()[-1] == readme_command("test")
    assert script.stat().st_mode & 0o111
    for tool in ("ruff check", "mypy --strict optimizer", "pytest"):
        assert tool in readme_command("test")


@pytest.mark.parametrize("name", ["weather", "help", "choose", "replay"])
def test_readme_shows_what_is_printed(name: str) -> None:
    """Each block is what the command prints today; tests/documents.py makes them anew."""
    assert documents.shown_blocks(README)[name] == documents.cheap_blocks()[name]


@pytest.mark.parametrize("command", documents.commands())
def test_every_command_has_help_and_a_passage(command: str) -> None:
    """A command without a sentence of help, or without a row and a passage in README, is no command."""
    helped = documents.run(command, "--help")
    sentence = helped.split("\n\n")[1].strip()
    assert len(sentence) > 20
    assert f"| `kitwright {command}" in README
    outside = documents.with_blocks(README, dict.fromkeys(documents.shown_blocks(README), ""))
    assert outside.count(f"kitwright {command}") >= 2 or f"## {command}" in outside


@pytest.mark.parametrize("command", documents.commands())
def test_options_have_help(command: str) -> None:
    """No option or argument goes unexplained."""
    found = get_command(app).commands[command].params  # type: ignore[attr-defined]
    assert found
    assert not [one.name for one in found if not getattr(one, "help", None)]


def test_links_lead_somewhere() -> None:
    """Files that README and DEVELOPERS link to are there."""
    targets = [target for text in (README, DEVELOPERS) for target in re.findall(r"\]\(([^)#]+)\)", text)]
    assert "LICENSE" in targets
    assert not [target for target in targets if "://" not in target and not (ROOT / target).exists()]


def test_files_that_are_named_are_there() -> None:
    """What stands in backticks with a folder before it is a file here, or one of the package."""
    named = re.findall(r"`(?:python )?((?:[a-z_.]+/)+[a-z_]+\.(?:py|toml|md|csv|json))[^`]*`", README + DEVELOPERS)
    assert len(named) > 15
    assert not [name for name in named if not (ROOT / name).is_file() and not (PACKAGE / name).is_file()]


def test_developers_names_every_room() -> None:
    """A room or module at the top of the package that the page does not name has no place yet."""
    inside = (ROOT / "optimizer").iterdir()
    tops = {path.name for path in inside if path.suffix == ".py" or (path / "__init__.py").is_file()}
    missing = [name for name in sorted(tops - {"__init__.py"}) if f"`{name}" not in DEVELOPERS]
    assert not missing


def test_solver_is_pinned_to_one_minor() -> None:
    """What was measured with one minor version of the solver holds for that one."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (solver,) = (one for one in project["project"]["dependencies"] if one.startswith("ortools"))
    assert re.fullmatch(r"ortools>=9\.15(\.\d+)?,<9\.16", solver)
