"""Voltages that circuits are worked out at, for each 12 V of a bank's class. Common practice, no source."""

from __future__ import annotations

ABSORPTION_V_12 = 14.4
"""Charging voltage: absorption of common lead and LFP settings; the highest a fuse on the bank meets."""
LOW_V_12 = 11.0
"""A bank nearly empty under load: the current of a steady power is greatest there."""
MAINS_V = {"metric": 230.0, "us": 120.0}
"""Mains by the units of the brief."""


def absorption_v(bank_v: int) -> float:
    """Charging voltage of a bank of that class [V]."""
    return ABSORPTION_V_12 * bank_v / 12


def low_v(bank_v: int) -> float:
    """Voltage of a nearly empty bank of that class under load [V]."""
    return LOW_V_12 * bank_v / 12
