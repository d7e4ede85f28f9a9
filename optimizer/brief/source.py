"""The file of a brief becomes text, or one fault that says why not.

On the road: the very door; with ``starter`` the only room of ``brief`` that touches the disk.
"""

from __future__ import annotations

from pathlib import Path

from optimizer.brief.findings import shorten
from optimizer.errors import Fault, FaultsFound, nearest

LARGEST_FILE = 2_000_000  # bytes: a thousand times a long brief
_UTF8 = "Save it as UTF-8 in the editor."


def read_text(path: Path) -> str:
    """The text of a brief, without a byte order mark. FaultsFound when there is none to read."""
    raw = _bytes(path).removeprefix(b"\xef\xbb\xbf")
    file = str(path)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _no_brief(file, "text in UTF-8, and this is UTF-16", _UTF8)
    if b"\0" in raw:
        raise _no_brief(file, "a text file, and this is binary", "Name the TOML file of the brief.")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        start = error.start
        line = raw.count(b"\n", 0, start) + 1
        before = raw[raw.rfind(b"\n", 0, start) + 1 : start].decode("utf-8", "replace")
        place = f"column {len(before) + 1}"
        raise FaultsFound(
            [Fault(file, line, place, f"the byte 0x{raw[start]:02X}", "text in UTF-8", _UTF8)]
        ) from error
    if not text.strip():
        raise _no_brief(file, "a brief, and this file is empty", "Begin with the starter brief.")
    return text


def _bytes(path: Path) -> bytes:
    file = str(path)
    try:
        if path.is_dir():
            raise _no_brief(file, "a file, and this is a folder", _others(path))
        if not path.exists():
            raise _no_brief(file, "a file that exists", nearest(path.name, _briefs_in(path.parent)))
        if not path.is_file():
            raise _no_brief(file, "an ordinary file", "Name the TOML file of the brief.")
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _no_brief(
            file, f"a file that can be read ({reason.lower()})", "Check its name and who may read it."
        ) from error
    if len(raw) > LARGEST_FILE:
        remedy = "Name the TOML file of the brief; weather and catalogs are files of their own."
        raise _no_brief(file, "a file of at most 2 MB", remedy)
    return raw


def _no_brief(file: str, expected: str, remedy: str) -> FaultsFound:
    return FaultsFound([Fault(shorten(file, 300), 0, "", "", expected, remedy)])


def _briefs_in(folder: Path) -> list[str]:
    try:
        return sorted(entry.name for entry in folder.iterdir() if entry.suffix == ".toml")
    except OSError:
        return []


def _others(folder: Path) -> str:
    names = _briefs_in(folder)
    return f"Name a file in it: {', '.join(names[:6])}." if names else "Name the TOML file of the brief."
