"""What README shows and the examples' answers, made anew: ``python tests/documents.py``.

Run it after a change that is meant to change an answer, look at the difference, and commit both.
"""

from __future__ import annotations

import json
import os
import re
from functools import cache
from pathlib import Path
from typing import Any

from typer.main import get_command
from typer.testing import CliRunner

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
GOLDEN = ROOT / "tests" / "golden"
README = ROOT / "README.md"
NAMES = ("fjord_winter", "gulf_autumn", "high_plains_spring")
TOUR = "high_plains_spring"
_BLOCK = re.compile(r"<!-- block: (\w+) -->\n(.*?)<!-- end -->", re.DOTALL)


@cache
def chosen(name: str) -> Any:
    """The result of choosing for an example."""
    from optimizer.job import choose_kit, open_job

    return choose_kit(open_job(EXAMPLES / f"{name}.toml"))


def answer(name: str) -> dict[str, Any]:
    """What must stay the same about an example's answer while catalog and rules do."""
    from optimizer.kitfile import as_json

    data = as_json(chosen(name))
    kept = ("status", "goal", "value", "bound", "ties_broken", "nights", "voltage", "totals")
    return {
        **{key: data[key] for key in kept},
        "trips": data["trips"],
        "choices": data["choices"],
    }


def words(name: str) -> str:
    """An example's answer as ``choose`` tells it."""
    from optimizer.telling import tell

    return tell(chosen(name)) + "\n"


def replayed(name: str) -> str:
    """An example's trips as ``replay`` tells them."""
    from optimizer.replaying import Wanted, tell_replay

    result = chosen(name)
    return tell_replay(result.replay, result.job.brief.units, Wanted())


def commands() -> list[str]:
    """Every command, in the order of the help."""
    from optimizer.cli import app

    return list(get_command(app).commands)  # type: ignore[attr-defined]


def run(*arguments: str) -> str:
    """What a command prints, in a terminal of ordinary width."""
    from optimizer.cli import app

    done = CliRunner(env={"COLUMNS": "80", "TERMINAL_WIDTH": "80"}).invoke(app, list(arguments), prog_name="kitwright")
    assert done.exit_code == 0, done.output
    return done.stdout


def help_text() -> str:
    """The help of kitwright and of each command."""
    pages = [("kitwright --help", run("--help"))]
    pages += [(f"kitwright {command} --help", run(command, "--help")) for command in commands()]
    return "\n".join(f"$ {asked}\n{page.strip()}\n" for asked, page in pages)


def cheap_blocks() -> dict[str, str]:
    """The blocks of README that take no choosing."""
    return {
        "weather": run("weather", "station:723170"),
        "help": help_text(),
        "choose": (GOLDEN / f"{TOUR}.txt").read_text(encoding="utf-8"),
        "replay": (GOLDEN / f"{TOUR}_replay.txt").read_text(encoding="utf-8"),
    }


def shown_blocks(text: str) -> dict[str, str]:
    """The blocks as README shows them."""
    return {name: re.sub(r"^```text\n|```\n$", "", body) for name, body in _BLOCK.findall(text)}


def with_blocks(text: str, blocks: dict[str, str]) -> str:
    """README with its blocks made anew."""
    return _BLOCK.sub(
        lambda found: f"<!-- block: {found[1]} -->\n```text\n{blocks[found[1]]}```\n<!-- end -->", text
    )


def golden_text(data: dict[str, Any]) -> str:
    """An answer as it is kept."""
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def write_all() -> None:
    """Every golden file and README."""
    GOLDEN.mkdir(exist_ok=True)
    for name in NAMES:
        (GOLDEN / f"{name}.json").write_text(golden_text(answer(name)), encoding="utf-8")
        (GOLDEN / f"{name}.txt").write_text(words(name), encoding="utf-8")
    (GOLDEN / f"{TOUR}_replay.txt").write_text(replayed(TOUR), encoding="utf-8")
    README.write_text(with_blocks(README.read_text(encoding="utf-8"), cheap_blocks()), encoding="utf-8")


if __name__ == "__main__":
    os.chdir(ROOT)
    write_all()
