"""A result as JSON, and a kit read back from it.

On the road: kit -> JSON file -> the later commands (replay, why, buy, book). The same text serves
``--json`` and ``--save``; what only one run knows (seconds) stays out, so that the same input gives the
same bytes.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from optimizer import __version__
from optimizer.check import check
from optimizer.circuits.records import Circuit
from optimizer.circuits.shelf import WIRING_KINDS
from optimizer.errors import Fault, FaultsFound
from optimizer.files import has_folder, read_bytes, write_whole
from optimizer.job import Job, Result
from optimizer.packing.bays import Stowed
from optimizer.packing.shapes import Placed
from optimizer.places.openings import openings
from optimizer.problem.records import Kit
from optimizer.problem.space import Placement
from optimizer.problem.wired import circuits_of
from optimizer.rules.base import Limit
from optimizer.rules.mass import kit_mass_g
from optimizer.rules.money import price_cents
from optimizer.told_limits import told_limits

LIBRARIES = ("ortools", "numpy", "numba", "pvlib", "pydantic")
FORMAT = 1
LARGEST_FILE = 20_000_000  # bytes; a saved kit has a thousandth of it


def as_json(result: Result) -> dict[str, Any]:
    """A result as plain data, ready for ``json.dumps``."""
    outcome = result.outcome
    scale = outcome.goal.scale
    data: dict[str, Any] = {
        "format": FORMAT,
        "status": outcome.status,
        "goal": outcome.goal.slug,
        "unit": outcome.goal.unit,
        "value": None if outcome.value is None else outcome.value / scale,
        "bound": None if outcome.bound is None else outcome.bound / scale,
        "ties_broken": outcome.ties_broken,
        "brief": result.job.brief.name,
        "catalog_hash": result.job.catalog.hash,
        "weather": [year.name for year in result.job.years],
        "versions": versions(),
    }
    if outcome.kit is not None:
        data |= kit_data(result.job, outcome.kit)
    if result.replay is not None:
        data["limits"] = [_limit(limit) for limit in told_limits(result)]
        data["trips"] = {
            "departures": result.replay.departures,
            "covered": result.replay.covered,
            "coverage_pct": round(result.replay.coverage_pct, 6),
            "short_of": result.replay.causes,
        }
    return data


def kit_data(job: Job, kit: Kit) -> dict[str, Any]:
    """A kit as plain data: totals, what was chosen, limits."""
    problem = job.problem
    return {
        "nights": kit.nights,
        "voltage": kit.voltage,
        "totals": {"price": price_cents(problem, kit) / 100, "mass_kg": kit_mass_g(problem, kit) / 1000},
        "kit": _chosen(job, kit),
        "circuits": [_circuit(circuit) for circuit in circuits_of(problem, kit)],
        "limits": [_limit(limit) for limit in check(problem, kit).limits],
        "choices": dict(sorted(kit.choices.items())),
        "places": None if kit.places is None else asdict(kit.places),
        "openings": openings(problem, kit),
    }


def _chosen(job: Job, kit: Kit) -> list[dict[str, Any]]:
    """Every part with what it was chosen for; small parts that came along say so."""
    return [
        {
            "kind": job.catalog.kind_of(part), "id": part, "count": count,
            "configuration": option.words if job.catalog.kind_of(part) not in WIRING_KINDS else "",
            "group": group.name,
        }
        for group, option in kit.options(job.problem) if not group.hidden
        for part, count in option.parts
    ]  # fmt: skip


def _circuit(circuit: Circuit) -> dict[str, Any]:
    return {
        "name": circuit.name, "current_a": round(circuit.current_a, 3), "voltage": round(circuit.system_v, 3),
        "one_way_m": circuit.length_m, "conductor": circuit.size, "ampacity_a": circuit.ampacity_a,
        "fuse_a": circuit.fuse_a or circuit.string_fuse_a, "drop_v": round(circuit.drop_v, 4),
    }  # fmt: skip


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "slug": limit.slug,
        "name": limit.name,
        "unit": limit.unit,
        "used": limit.used / limit.scale,
        "allowed": limit.allowed / limit.scale,
        "room": limit.room / limit.scale,
    }


def versions() -> dict[str, str]:
    """Versions of what an answer hangs on."""
    found = {"kitwright": __version__}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "unknown"
    return found


def dumps(data: Mapping[str, Any]) -> str:
    """JSON as it is printed and saved."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def can_be_saved_to(path: Path) -> None:
    """Raises FaultsFound where a kit cannot go, or would take the place of another thing than an earlier kit.

    To be asked before the work: a search may take hours.
    """
    has_folder(path)
    try:
        if "choices" in _read_json(path):
            return
    except FaultsFound:
        if not path.exists() or (path.is_file() and not path.stat().st_size):
            return
    raise FaultsFound([
        Fault(str(path), 0, "the file", "there already, and no kit", "a new name, or that of a kit saved before",
              "Name another file.")
    ])  # fmt: skip


def save(result: Result, path: Path) -> None:
    """Save a result so that later commands find the kit and the brief it belongs to."""
    data = as_json(result)
    brief = Path(result.job.file)
    data["brief_file"] = _from_folder(path.resolve().parent, brief.resolve())
    data["brief_hash"] = _hash_of(brief)
    write_whole(path, dumps(data))


def _from_folder(folder: Path, file: Path) -> str:
    """The way to a file from a folder, with / on every system; in full where none leads there: to another drive."""
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:
        return file.as_posix()


def _hash_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


@dataclass(frozen=True)
class SavedKit:
    """A kit from a file, and where its brief is."""

    kit: Kit
    file: Path
    brief_file: Path
    brief_hash: str
    catalog_hash: str
    status: str
    data: Mapping[str, Any]
    """All of the file, as it was read."""


def load(path: Path) -> SavedKit:
    """Read a kit that was saved. Raises FaultsFound when it is no such file."""
    data = _read_json(path)
    try:
        choices = {str(k): str(v) for k, v in data["choices"].items()}
        kit = Kit(choices, int(data["voltage"]), int(data["nights"]), places_of(data.get("places")))
        return SavedKit(
            kit, path, path.parent / str(data["brief_file"]), str(data["brief_hash"]),
            str(data["catalog_hash"]), str(data["status"]), data,
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
        raise _no_kit(path, "without a kit") from error


def places_of(data: Any) -> Placement | None:
    """The places of a saved kit; None when it was saved without any."""
    if data is None:
        return None
    return Placement(
        tuple(Placed(str(p["id"]), *(int(p[k]) for k in ("x", "y", "length", "width"))) for p in data["roof"]),
        tuple(
            Stowed(str(s["id"]), str(s["bay"]), *(int(s[k]) for k in ("x", "y", "length", "width", "height")))
            for s in data["stowed"]
        ),
    )


def _read_json(path: Path) -> dict[str, Any]:
    try:
        data = json.loads(read_bytes(path, LARGEST_FILE).decode("utf-8"))
    except OSError as error:
        raise _no_kit(path, f"not readable ({(error.strerror or str(error)).lower()})") from error
    except (ValueError, RecursionError) as error:
        raise _no_kit(path, "no JSON text") from error
    if not isinstance(data, dict):
        raise _no_kit(path, "without a kit")
    return data


def _no_kit(path: Path, found: str) -> FaultsFound:
    return FaultsFound([
        Fault(str(path), 0, "the file", found, "a kit saved by 'kitwright choose BRIEF --save FILE'",
              "Save the kit again.")
    ])  # fmt: skip


def brief_of(saved: SavedKit) -> Path:
    """The brief that a saved kit names. Raises FaultsFound when it is not there any more."""
    if saved.brief_file.is_file():
        return saved.brief_file
    raise FaultsFound([
        Fault(str(saved.file), 0, "brief_file", str(saved.brief_file), "a brief that is there, from where the kit lies",
              "Put the brief back, or choose again and save the kit.")
    ])  # fmt: skip


def changes_since(saved: SavedKit, job: Job) -> list[str]:
    """What has changed since the kit was saved, in sentences; empty when nothing has."""
    notes = []
    if _hash_of(Path(job.file)) != saved.brief_hash:
        notes.append("The brief has changed since this kit was saved.")
    if job.catalog.hash != saved.catalog_hash:
        notes.append("The catalog has changed since this kit was saved.")
    return notes


def kit_on_offer(saved: SavedKit, job: Job) -> Kit:
    """The saved kit, if the job still offers it. Raises FaultsFound naming what is gone."""
    verdict = check(job.problem, saved.kit)
    if verdict.limits or verdict.ok:
        return saved.kit
    raise FaultsFound(
        Fault(str(saved.file), 0, "the kit", f"not on offer any more: {fault}", "a choice of this brief and catalog",
              "Choose again.")
        for fault in verdict.faults
    )  # fmt: skip
