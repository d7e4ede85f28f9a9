"""What a bank does in a short circuit, and how its chargers are to be set.

On the road: beside ``plans``; read by problem, check and buy list.

Fault current: a bank's voltage over its inner resistance, as typical resistances of each chemistry go, an
ampere for each ampere-hour of each parallel string; more in series adds voltage and resistance alike.
Common practice, no source: the maker's own figure goes first.

Settings: absorption and float voltages for each 12 V of class, as makers commonly ask. Common practice, no
source: the maker's data sheet goes first.
"""

from __future__ import annotations

from dataclasses import dataclass

FAULT_A_PER_AH = {"lfp": 35.0, "lfp_heated": 35.0, "agm": 25.0, "gel": 18.0, "flooded": 18.0}


def fault_a(chemistry: str, capacity_ah: float, parallel: int) -> float:
    """Fault current of a bank at its terminals [A]."""
    return FAULT_A_PER_AH[chemistry] * capacity_ah * parallel


@dataclass(frozen=True)
class ChargerSettings:
    """What to set on every charger of a bank [V], [degC], [mV/K]."""

    chemistry: str
    absorption_v: float
    float_v: float
    equalise_v: float
    """0 = never equalise."""
    temperature_mv_k: float
    """Change of the charging voltage by battery temperature, 0 = none."""
    no_charge_below_c: float | None
    low_cutoff_v: float


_COLDEST_CHARGE_C = {"lfp": 0.0, "lfp_heated": 0.0}
_PER_12_V = {
    "lfp": (14.2, 13.5, 0.0, 0.0, 11.6),
    "lfp_heated": (14.2, 13.5, 0.0, 0.0, 11.6),
    "agm": (14.4, 13.6, 0.0, -24.0, 11.8),
    "gel": (14.1, 13.6, 0.0, -24.0, 11.8),
    "flooded": (14.4, 13.4, 15.2, -24.0, 11.8),
}


def charger_settings(chemistry: str, bank_v: int) -> ChargerSettings:
    """The settings for a bank of that class; KeyError for a chemistry that is none."""
    times = bank_v / 12
    absorption, held, equalise, slope, cutoff = (round(value * times, 2) for value in _PER_12_V[chemistry])
    return ChargerSettings(chemistry, absorption, held, equalise, slope, _COLDEST_CHARGE_C.get(chemistry), cutoff)


def settings_table(bank_v: int) -> tuple[ChargerSettings, ...]:
    """Every chemistry's settings for a bank of that class."""
    return tuple(charger_settings(chemistry, bank_v) for chemistry in sorted(_PER_12_V))
