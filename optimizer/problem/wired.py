"""The circuits of a kit as they are wired in it.

On the road: problem + kit -> *circuits as wired* -> saved kits, buy list, build book. An option brings its circuits
before it is known beside what it is chosen: only with the whole kit is it told what feeds the fuse box, and at which
voltage the bank is. What is sized and checked is the same either way, or asked for more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from optimizer.circuits.records import Circuit
from optimizer.problem.records import Kit, Problem

CONVERTER = "dc_converter"


def circuits_of(problem: Problem, kit: Kit) -> tuple[Circuit, ...]:
    """Every circuit of a kit, in the problem's order."""
    return as_wired(problem, kit, [circuit for _, option in kit.options(problem) for circuit in option.circuits])


def as_wired(problem: Problem, kit: Kit, circuits: Sequence[Circuit]) -> tuple[Circuit, ...]:
    """These circuits under the names and voltages that they have in this kit.

    The fuse box is at 12 V: where the bank is not, the converter feeds it and never the busbars.
    """
    converted = problem.has(CONVERTER) and kit.chosen(problem, CONVERTER) is not None
    found = []
    for circuit in circuits:
        if circuit.level == "bank":
            circuit = replace(circuit, system_v=float(kit.voltage))
        if converted and circuit.name == "busbars to fuse box":
            circuit = replace(circuit, name="converter to fuse box")
        found.append(circuit)
    return tuple(found)
