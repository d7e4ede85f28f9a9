"""What this machine has."""

from __future__ import annotations

import os

MOST_HANDS = 4
"""Each has the libraries and the problem in memory; there are seldom more long questions than that at once."""


def cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def hands(many: int | None = None) -> int:
    """Processes for the questions of one command: as many as asked for, or one a core, at most ``MOST_HANDS``."""
    return many or min(cores(), MOST_HANDS)
