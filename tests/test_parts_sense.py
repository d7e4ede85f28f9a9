"""Columns of one part that cannot both be right are found, and sound parts are left in peace."""

from __future__ import annotations

import pytest

from optimizer.parts.reading import read_catalog
from optimizer.parts.sense import oddities

ODD = {
    "peak below continuous": (
        "bat-lfp-100", {"peak_a": 50.0}, ("peak_a", "50", "at least discharge_a, 100"),
    ),
    "pack called a loose cell": (
        "bat-lfp-100", {"managed": False}, ("managed", "false", "true, or a loose cell below 4 V"),
    ),
    "loose cell called a pack": (
        "cell-lfp-100", {"managed": True}, ("managed", "true", "false for a loose cell of 3.2 V"),
    ),
    "lead-acid with a cell manager": (
        "bat-agm-100", {"managed": False},
        ("managed", "false", "true, since lead-acid batteries need no cell manager"),
    ),
    "working voltage above open-circuit": (
        "pv-rigid-100", {"voc_v": 18.0}, ("vmp_v", "18.5", "less than voc_v, 18"),
    ),
    "short-circuit current below working": (
        "pv-rigid-100", {"isc_a": 5.0}, ("isc_a", "5", "at least imp_a, 5.41"),
    ),
    "a share for percent": (
        "pv-rigid-100", {"voc_coefficient_pct_k": -0.0028},
        ("voc_coefficient_pct_k", "-0.0028", "in percent a kelvin, -0.1 or below, -0.28 say; empty when not known"),
    ),
    "power without voltage and current": (
        "pv-rigid-100", {"power_w": 200.0}, ("power_w", "200", "about vmp_v times imp_a, 100"),
    ),
    "kilowatts for watts": ("inv-12-2000", {"peak_w": 4.0}, ("peak_w", "4", "at least continuous_w, 2000")),
    "more heat than the fuel has": (
        "heat-diesel-2", {"efficiency": 1.5}, ("efficiency", "1.5", "at most 1 for a heater that burns fuel"),
    ),
    "heat from nothing": (
        "heat-fan-500", {"draw_w": 50.0},
        ("output_w", "500", "at most draw_w times efficiency, 50, as it burns no fuel"),
    ),
    "starting power below power": (
        "cook-ind-1-1000", {"starting_w": 10.0}, ("starting_w", "10", "at least power_w, 1000"),
    ),
    "less energy on a hotter day": (
        "cold-chest-45", {"wh_day_32": 100.0}, ("wh_day_32", "100", "at least wh_day_25, 240"),
    ),
    "no room for food": (
        "cold-chest-45", {"chilled_l": 0.0}, ("chilled_l", "0", "room for chilled or frozen food"),
    ),
    "cold for nothing": (
        "cold-chest-45", {"wh_day_25": 0.0}, ("wh_day_25", "0", "above 0 for a cold box that is not passive"),
    ),
    "cold box larger inside": (
        "cold-chest-45", {"chilled_l": 300.0}, ("chilled_l", "300", "at most the 119.6 L of its outer size"),
    ),
    "tank larger inside": (
        "tank-diesel-10", {"volume_l": 40.0}, ("volume_l", "40", "at most the 14.4 L of its outer size"),
    ),
    "water tank larger inside": (
        "water-can-10", {"volume_l": 40.0}, ("volume_l", "40", "at most the 14.8 L of its outer size"),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("part_id", "change", "oddity"), ODD.values(), ids=ODD)
def test_odd_pairs_are_found(part_id: str, change: dict[str, object], oddity: tuple[str, str, str]) -> None:
    """A sound part with one column changed shows exactly that oddity."""
    part = read_catalog(["generic"]).part(part_id)
    assert list(oddities(part)) == []
    assert list(oddities(part.model_copy(update=change))) == [oddity]


def test_parts_without_size_are_not_measured() -> None:
    """A container whose size is not given may hold what it says."""
    can = read_catalog(["generic"]).part("water-can-10")
    unsized = can.model_copy(update={"length_mm": 0.0, "width_mm": 0.0, "height_mm": 0.0})
    assert list(oddities(unsized)) == []
