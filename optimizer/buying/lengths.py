"""Whether the runs of the brief reach between the places where things really stand.

On the road: placed kit -> *lengths* -> terminal, build book. Circuits are sized before anything has a place,
with the runs of the brief; once the kit is placed, the way between the middles of two boxes along the van's
three directions is the least a cable can take there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.brief.vehicle import Runs
from optimizer.packing.bays import Stowed
from optimizer.problem.records import Kit, Problem
from optimizer.problem.space import BayPlace

BANK, BOX = "battery", "safety fuse_box"
FROM_BANK = {
    "inverter": "bank_to_inverter", "controller_1": "bank_to_controller", "controller_2": "bank_to_controller",
    "alternator_charger": "charger_to_bank", "mains_charger": "charger_to_bank", "dc_converter": "bank_to_converter",
    BOX: "bank_to_fuse_box",
}  # fmt: skip
FROM_BOX = ("heater", "cold_box_1", "cold_box_2")


@dataclass(frozen=True)
class ShortRun:
    """A run of the brief that does not reach: lengths one way [m]."""

    circuit: str
    key: str
    given_m: float
    placed_m: float

    def sentence(self) -> str:
        """What is short, and what to do."""
        return (
            f"{self.circuit}: its ends stand {self.placed_m:.1f} m apart, vehicle.runs.{self.key} says"
            f" {self.given_m:g} m. Set it to {self.placed_m:.1f} or more and choose again."
        )


def short_runs(problem: Problem, kit: Kit, runs: Runs) -> tuple[ShortRun, ...]:
    """Every run between two placed things that is longer than the brief says; none for a kit without places."""
    if problem.space is None or kit.places is None:
        return ()
    bays = {place.bay.name: place for place in problem.space.bays}
    spots: dict[str, tuple[float, float, float]] = {}
    for stowed in kit.places.stowed:
        spot = _middle(stowed, bays[stowed.bay])
        if spot is not None:
            spots.setdefault(stowed.id.split("/")[0], spot)
    return tuple(
        ShortRun(_name(group, start, problem, kit), key, getattr(runs, key), apart)
        for start, group, key in _pairs(problem, kit)
        if start in spots and group in spots
        and (apart := _apart_m(spots[start], spots[group])) > getattr(runs, key)
    )


def _pairs(problem: Problem, kit: Kit) -> Iterator[tuple[str, str, str]]:
    """From which group to which, and the key of the brief that says how far."""
    for group, option in kit.options(problem):
        if group.name in FROM_BANK:
            yield BANK, group.name, FROM_BANK[group.name]
        elif group.name in FROM_BOX and any(circuit.level == "box" for circuit in option.circuits):
            yield BOX, group.name, "fuse_box_to_appliance"


def _name(group: str, start: str, problem: Problem, kit: Kit) -> str:
    """The circuit that joins them: the one between busbars or fuse box and this choice."""
    option = kit.chosen(problem, group)
    levels = ("box",) if start == BOX else ("branch",)
    found = [c.name for c in option.circuits if c.level in levels and not c.engine_space] if option else []
    return found[0] if found else group


def _middle(stowed: Stowed, place: BayPlace) -> tuple[float, float, float] | None:
    """Middle of a box: aft of the front axle, right of the centre line, above the ground [mm]."""
    if place.at.x_low is None or place.at.x_high is None:
        return None
    along = (place.at.x_low + place.at.x_high - place.bay.length) / 2 + stowed.x + stowed.length / 2
    across = (place.at.y_low + place.at.y_high - place.bay.width) / 2 + stowed.y + stowed.width / 2
    return along, across, place.floor + stowed.height / 2


def _apart_m(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    return sum(abs(a - b) for a, b in zip(one, other, strict=True)) / 1000
