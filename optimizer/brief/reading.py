"""Read a brief: a record, or every fault of the file in one report.

On the road: the way in. ``read_brief`` is what the commands call, ``brief_from_dict`` what batches call
for a brief that was changed in memory.

Each fault names the file, the line, the key with the bay or use it lies in, the value as written, what
was expected in the documented unit, and what to do. Positions are looked up only once there is a fault.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.brief.brief import Brief
from optimizer.brief.consistency import clashes
from optimizer.brief.findings import Finding, as_fault, key_text
from optimizer.brief.partial import partial
from optimizer.brief.source import read_text
from optimizer.brief.syntax import Parsed, parse
from optimizer.brief.translating import findings_of
from optimizer.errors import MOST_TOLD, Fault, FaultsFound


def read_brief(path: Path, known_limits: Sequence[str] | None = None) -> Brief:
    """The brief in the TOML file ``path``.

    ``known_limits`` are the slugs that ``preferences.keep`` may name; None leaves them unchecked.
    Raises FaultsFound with every fault of the file.
    """
    file = str(path)
    parsed = parse(read_text(path), file)
    if not parsed.data:
        raise FaultsFound(parsed.faults or [_without_keys(file)])
    brief, findings = _examined(parsed.data, known_limits, parsed.skipped)
    faults = [*parsed.faults, *_placed(findings, file, parsed)]
    if faults or brief is None:
        raise FaultsFound(faults)
    return brief


def with_lines(found: FaultsFound, path: Path) -> FaultsFound:
    """The same faults, those of keys of the brief in ``path`` with the line where the key stands there."""
    file = str(path)
    if not any(fault.file == file and not fault.line for fault in found.faults):
        return found
    try:
        text = read_text(path)
    except FaultsFound:  # a brief that was never a file
        return found
    from optimizer.brief.positions import find_positions  # needed only where there is a fault

    lines = {key_text(key): line for key, line in find_positions(text).lines.items()}
    return FaultsFound(
        replace(fault, line=lines.get(fault.place, 0)) if fault.file == file and not fault.line else fault
        for fault in found.faults
    )


def brief_from_dict(
    data: Mapping[str, Any], file: str = "brief", known_limits: Sequence[str] | None = None
) -> Brief:
    """The brief in raw data as TOML gives it. Raises FaultsFound; its faults have no lines."""
    brief, findings = _examined(data, known_limits, frozenset())
    if findings or brief is None:
        raise FaultsFound(as_fault(finding, file, data, None) for finding in findings)
    return brief


def brief_data(path: Path) -> dict[str, Any]:
    """The raw data of the TOML file ``path``, its keys unchecked. Raises FaultsFound."""
    file = str(path)
    parsed = parse(read_text(path), file)
    if parsed.faults or not parsed.data:
        raise FaultsFound(parsed.faults or [_without_keys(file)])
    return parsed.data


def _without_keys(file: str) -> Fault:
    return Fault(file, 0, "", "", "a brief, and this file has no keys", "Begin with the starter brief.")


def _examined(
    data: Mapping[str, Any], known_limits: Sequence[str] | None, skipped: frozenset[str]
) -> tuple[Brief | None, list[Finding]]:
    """The brief when every key is good, and all that is wrong with the keys, alone and together."""
    brief: Brief | None = None
    findings: list[Finding] = []
    try:
        brief = Brief.model_validate(data)
    except ValidationError as error:
        findings += islice(findings_of(error, data, skipped), MOST_TOLD)
    whole = brief is not None and not skipped
    known = brief if brief is not None and whole else partial(Brief, data, skipped)
    findings += clashes(known, known_limits, holes=not whole)
    return brief, findings


def _placed(findings: Sequence[Finding], file: str, parsed: Parsed) -> list[Fault]:
    if not findings:
        return []
    from optimizer.brief.positions import find_positions  # needed only where there is a fault

    positions = find_positions(parsed.text)
    return [as_fault(finding, file, parsed.data, positions) for finding in findings]
