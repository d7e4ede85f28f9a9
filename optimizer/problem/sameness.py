"""Which briefs have the same options: what a batch need not build again.

On the road: beside ``build``, for many briefs that differ in little.
"""

from __future__ import annotations

import json

from optimizer.brief.brief import Brief

FREE = {
    "trip": ("coverage", "sunless_days"),
    "limits": ("budget", "payload_margin", "parking_length", "overall_height"),
    "vehicle": ("name", "gross_mass", "front_axle_rating", "rear_axle_rating", "side_difference"),
    "preferences": ("keep",),
}
"""Keys that no option hangs on, by table; with them the brief's name, and who the people are but not how many."""


def options_key(brief: Brief) -> str:
    """What the options of a brief hang on, as text: with the same catalog and weather, the same options."""
    data = brief.model_dump(mode="json")
    for table, names in FREE.items():
        data[table] = {name: value for name, value in data[table].items() if name not in names}
    return json.dumps({**data, "name": "", "people": len(data["people"])}, sort_keys=True)
