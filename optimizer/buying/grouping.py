"""Under which heading a thing stands on the buy list, and by when it is needed.

On the road: beside ``lines``.
"""

from __future__ import annotations

from optimizer.parts.records import Fitting, OwnPart, Part, SafetyItem
from optimizer.telling import OWN_SYSTEM, SYSTEMS, system_of

STAGES = (
    "1 roof and openings",
    "2 insulation, conduit, pipes",
    "3 cables and boards",
    "4 appliances",
    "5 bank, fuses, first switch-on",
)
WIRING, SEALING, PIPES = "Wiring", "Roof and sealing", "Gas, fuel and water lines"
SYSTEM_ORDER = (*SYSTEMS, WIRING, SEALING, PIPES, OWN_SYSTEM)

_ROLES = {
    "gland": (SEALING, 0), "sealant": (SEALING, 0), "tape": ("Warmth", 1), "conduit": (WIRING, 1), "clips": (WIRING, 1),
    "gas_pipe": (PIPES, 1), "gas_valve": (PIPES, 3), "fuel_line": (PIPES, 1), "fuel_filter": (PIPES, 3),
    "exhaust_sleeve": (PIPES, 3), "water_hose": (PIPES, 1), "waste_hose": (PIPES, 1), "battery_strap": ("Power", 4),
    "hookup_lead": ("Power", 4), "hookup_inlet": ("Power", 0), "mains_board": (WIRING, 2), "solar_plug": (WIRING, 0),
}  # fmt: skip
_KIND_STAGES = {
    "solar_panel": 0, "roof_fan": 0, "insulation": 1, "cable": 2, "battery": 4, "cell_manager": 4, "fuse": 4,
}  # fmt: skip
_SAFETY_STAGES = {"fuse_box": 2, "disconnect": 2}


def place_of(kind: str, part: Part | OwnPart) -> tuple[str, str]:
    """System and stage of a part of that kind."""
    if isinstance(part, Fitting):
        system, stage = _ROLES.get(part.role, (WIRING, 2))
        return system, STAGES[stage]
    if isinstance(part, SafetyItem):
        return "Safety", STAGES[_SAFETY_STAGES.get(part.role, 4)]
    if kind in ("cable", "fuse"):
        return WIRING, STAGES[_KIND_STAGES[kind]]
    return system_of(kind), STAGES[_KIND_STAGES.get(kind, 3)]
