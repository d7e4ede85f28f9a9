"""On which line of a brief a key stands, and how its value is written there.

On the road: inside ``brief``; loaded only once there is a fault to place. The values themselves come
from the standard library's TOML reader; this syntax tree serves for positions alone.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field

import tree_sitter
import tree_sitter_toml

from optimizer.brief.findings import KeyPath

_KEYS = ("bare_key", "quoted_key", "dotted_key")


@dataclass
class Positions:
    """Line (from 1) and text of each key path found."""

    lines: dict[KeyPath, int] = field(default_factory=dict)
    texts: dict[KeyPath, str] = field(default_factory=dict)

    def line(self, path: KeyPath) -> int:
        """The line of ``path``, or of the nearest table around it; 0 for the whole file."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 0)

    def text(self, path: KeyPath) -> str:
        """The value at ``path`` as written; empty for a table or a path that is not there."""
        return self.texts.get(path, "")


def find_positions(text: str) -> Positions:
    """Positions of every key, table and list entry in a TOML text. Never raises on odd TOML."""
    language = tree_sitter.Language(tree_sitter_toml.language())
    root = tree_sitter.Parser(language).parse(text.encode("utf-8")).root_node
    positions = Positions()
    entries: dict[KeyPath, int] = {}  # how many [[tables]] of a path there are so far
    for node in root.children:
        if node.type == "pair":
            _record_pair(node, (), positions)
        elif node.type in ("table", "table_array_element"):
            names = next((_key(child) for child in node.children if child.type in _KEYS), ())
            path = _resolve(names, entries, listed=node.type == "table_array_element")
            for end in range(1, len(path) + 1):
                positions.lines.setdefault(path[:end], node.start_point[0] + 1)
            for child in node.children:
                if child.type == "pair":
                    _record_pair(child, path, positions)
    return positions


def _resolve(names: KeyPath, entries: dict[KeyPath, int], *, listed: bool) -> KeyPath:
    """The full path of a heading: a name that is a list means its latest entry."""
    path: KeyPath = ()
    for place, name in enumerate(names):
        path = (*path, name)
        if listed and place == len(names) - 1:
            entries[path] = entries.get(path, 0) + 1
        if path in entries:
            path = (*path, entries[path] - 1)
    return path


def _record_pair(pair: tree_sitter.Node, table: KeyPath, positions: Positions) -> None:
    waiting = [(pair, table)]
    while waiting:  # a stack and not a recursion, for nesting may be deep
        node, above = waiting.pop()
        if node.type == "pair":
            keys = _key(node.children[0])
            value = list(_entries(node))[-1]  # a comment behind it is a child of the pair too
            for end in range(1, len(keys)):
                positions.lines.setdefault((*above, *keys[:end]), node.start_point[0] + 1)
            path: KeyPath = (*above, *keys)
            positions.lines.setdefault(path, node.start_point[0] + 1)
            waiting.append((value, path))
            continue
        positions.lines.setdefault(above, node.start_point[0] + 1)
        if node.type == "inline_table":
            waiting += [(child, above) for child in node.children if child.type == "pair"]
        else:
            positions.texts.setdefault(above, (node.text or b"").decode("utf-8", "replace"))
        if node.type == "array":
            waiting += [(entry, (*above, place)) for place, entry in enumerate(_entries(node))]


def _entries(node: tree_sitter.Node) -> Iterator[tree_sitter.Node]:
    return (child for child in node.children if child.is_named and child.type not in ("comment", "ERROR"))


def _key(node: tree_sitter.Node) -> KeyPath:
    """The names of a key: ``a."b c".d`` is ("a", "b c", "d")."""
    names: list[str | int] = []
    waiting = [node]
    while waiting:
        part = waiting.pop()
        raw = (part.text or b"").decode("utf-8", "replace")
        if part.type == "dotted_key":
            waiting += reversed([child for child in part.children if child.type in _KEYS])
        elif part.type == "quoted_key":
            names.append(_unquoted(raw))
        else:
            names.append(raw)
    return tuple(names)


def _unquoted(raw: str) -> str:
    try:
        return next(iter(tomllib.loads(f"{raw} = 0")))
    except ValueError:
        return raw
