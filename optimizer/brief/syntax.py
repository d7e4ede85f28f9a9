"""The text of a brief becomes raw data; what is no TOML becomes faults in plain words.

On the road: inside ``brief``, before any key is looked at. A line that cannot be read is left out and
the reading goes on, so that one report tells of every such line and of the keys besides.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from optimizer.brief.findings import shorten
from optimizer.errors import Fault

MOST_SYNTAX_FAULTS = 20
LONGEST_RETRIED = 200_000  # characters; a longer text is not read again and again
_QUOTES = 'Text, days and numbers with a unit go in quotes, such as "06-15" or "17 ft 6 in".'
_ONCE = "Take one of the two out, or write [[name]] for each of several tables."
_CLOSE = "Close the text with the quote it began with."


@dataclass(frozen=True)
class _Meaning:
    pattern: str
    expected: str
    remedy: str
    one_line: bool  # the rest of the file can still be read without this line


_TOO_DEEP = "Too deep"
_MEANINGS = (
    _Meaning(_TOO_DEEP, "lists, tables and keys nested less than 64 deep", "Take the slip of the pen out.", False),
    _Meaning(r"Invalid value", "a number, text in quotes, true, false, a [list] or a {table}", _QUOTES, True),
    _Meaning(r"Expected newline", "nothing more on this line", _QUOTES, True),
    _Meaning(r"Cannot overwrite|Duplicate inline", "each key and each table once", _ONCE, True),
    _Meaning(r"Cannot (declare|mutate|redefine)", "each key and each table once", _ONCE, False),
    _Meaning(r"Expected '='", "'=' behind the key", "Write key = value.", True),
    _Meaning(r"Expected '\]\]'", "']]' at the end of the heading", "Write [[name]].", False),
    _Meaning(r"Expected '\]'", "']' at the end of the heading", "Write [name].", False),
    _Meaning(r"Unclosed array", "',' or ']' here", "Put commas between entries and close with ']'.", False),
    _Meaning(r"Unclosed inline", "',' or '}' here", "Put commas between the keys and close with '}'.", False),
    _Meaning(r"Illegal character '\\n'", "a closing quote", _CLOSE, True),
    _Meaning(r"Unterminated|Expected (\"'''\"|'\"\"\"')", "a closing quote", _CLOSE, False),
    _Meaning(
        r"Unescaped|Invalid hex|Escaped", "a known escape behind the backslash",
        "Write file names with / or in 'single quotes'.", True,
    ),
    _Meaning(r"Illegal|Found invalid", "printable characters", "Take the control character out.", True),
    _Meaning(r"Invalid date", "a day that exists", _QUOTES, True),
    _Meaning(
        r"Invalid statement|Invalid initial", "a key, a [table] or a # comment", "Write key = value.", False,
    ),
)  # fmt: skip
_OTHER = _Meaning("", "TOML that can be read", "Look for a slip of the pen here.", False)
_STATEMENT = re.compile(r"\s*(?:([A-Za-z0-9_-]+)|\"([^\"\\]+)\")\s*(=?)")
_WHERE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)
_LONG_NUMBER = re.compile(r"[0-9_]{4000}")


_DEEP_KEY = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){64}""", re.ASCII
)  # the standard library's reader takes the square of a dotted key's length, in time and memory


def load_toml(text: str) -> dict[str, Any]:
    """Raw data of a TOML text. Raises ValueError; keys and values nested without end are refused at once."""
    deep = _DEEP_KEY.search(text)
    if deep is not None:
        line, column = text.count("\n", 0, deep.start()) + 1, deep.start() - text.rfind("\n", 0, deep.start())
        raise ValueError(f"{_TOO_DEEP} (at line {line}, column {column})")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError(f"{_TOO_DEEP} (at end of document)") from None


@dataclass(frozen=True)
class Parsed:
    """Raw data, the faults of the syntax, the text that was read, and the keys that had to be left out."""

    data: dict[str, Any]
    faults: tuple[Fault, ...]
    text: str
    skipped: frozenset[str]


def parse(text: str, file: str) -> Parsed:
    """Read TOML. Lines that cannot be read are faults and are left out; without any data when hopeless."""
    lines = text.split("\n")
    faults: list[Fault] = []
    skipped: set[str] = set()
    most = MOST_SYNTAX_FAULTS if len(text) <= LONGEST_RETRIED else 1
    while True:
        try:
            left = "\n".join(lines)
            return Parsed(load_toml(left), tuple(faults), left, frozenset(skipped))
        except ValueError as error:
            line, column, meaning = _understood(str(error), lines)
            faults.append(_fault(file, lines, line, column, meaning))
            name = _one_line_key(lines[line - 1], column) if meaning.one_line and line else ""
            if name and len(faults) < most:
                skipped.add(name)
                lines[line - 1] = ""
                continue
        return Parsed({}, tuple(faults), "", frozenset(skipped))


def _understood(message: str, lines: list[str]) -> tuple[int, int, _Meaning]:
    """Line and column (0 when unknown) and what the parser's message means to a person."""
    where = _WHERE.fullmatch(message)
    if where is None:
        long = next((place for place, line in enumerate(lines, 1) if _LONG_NUMBER.search(line)), 0)
        number = _Meaning("", "numbers of ordinary size", "Write fewer digits.", False)
        return long, 1, number if long else _OTHER
    meaning = next((known for known in _MEANINGS if re.match(known.pattern, where[1])), _OTHER)
    if where[2] is None:
        last = max((place for place, line in enumerate(lines, 1) if line.strip()), default=1)
        return last, len(lines[last - 1].rstrip()) + 1, meaning
    return int(where[2]), int(where[3]), meaning


def _fault(file: str, lines: list[str], line: int, column: int, meaning: _Meaning) -> Fault:
    shown = shorten(lines[line - 1]) if line else ""
    place = f"column {column}" + (f" in '{shown}'" if shown else "")
    return Fault(file, line, place if line else "", "", meaning.expected, meaning.remedy)


def _one_line_key(line: str, column: int) -> str:
    """The key whose value this line alone holds; empty when other lines may hang on it."""
    statement = _STATEMENT.match(line)
    if not statement:
        return ""
    rest = line[statement.end() :]
    if any(mark in rest for mark in ("[", "{", '"""', "'''")):
        return ""
    behind = statement.end() < column if statement[3] else not rest.lstrip().startswith(("]", ",", "}"))
    return (statement[1] or statement[2]) if behind else ""
