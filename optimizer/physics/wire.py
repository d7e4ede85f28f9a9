"""Conductors and fuses: resistance, the current a conductor may carry, voltage drop, what to choose.

On the road: under ``problem`` and ``book`` (wires, fuses and where they sit), above nothing.

This sizes low-voltage wiring for a plan. Wiring can burn a van down: local codes and a licensed
electrician have the last word, and mains wiring is theirs altogether.

References
----------
.. [1] AWG geometry: ASTM B258 / NBS Handbook 100 (1966), d = 0.005 * 92^((36 - n)/39) inch.
.. [2] IEC 60228, Table 3, class 5 flexible plain copper, greatest d.c. resistance at 20 degC (two public
   transcriptions agree).
.. [3] IEC 60028 / NBS Handbook 100: annealed copper 1.7241e-8 ohm m, 0.00393 /K at 20 degC (from memory).
.. [4] FAA AC 43.13-1B CHG 1 (2001), chapter 11: length at temperature, 254.5/(234.5 + T) for copper.
.. [5] 33 CFR 183.425 Table 5 (amperage at 30 degC), (d) and (e) least sizes; notes 1 and 2 (engine space,
   bundles of 50 V and more) from memory.
.. [6] 33 CFR 183.455: overcurrent protection, its greatest rating and its place.
.. [7] NFPA 70, 690.8(A) and (B): solar circuit current, read in secondary text.
.. [8] ABYC E-11; ISO 13297: 3 % and 10 % drop as small-craft practice (from memory).
.. [9] Stranding: 2 % longer than the conductor, ASTM B8 (from memory); agrees with NEC chapter 9 Table 8.
.. [10] IEC 60364-5-52, Table B.52.2, method B2: flexible cable in conduit, two loaded copper conductors, PVC at 30
   degC; Table B.52.14: 0.87 at 40 degC. From memory.
.. [11] NFPA 70, 240.4(D): the greatest overcurrent device of small copper conductors. From memory. Conductors of 75
   degC carry more than that at 40 degC (Table 310.16 with its correction 0.88, from memory). AWG 8: its column for
   60 degC, which is less than 0.88 of that for 75 degC.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cache
from math import isfinite, pi
from typing import Literal

COPPER_OHM_M = 1.7241e-8  # [3]
STRAND_LAY = 1.02  # [9]
CRITICAL_DROP_SHARE = 0.03  # [8] chargers, lights, pumps, alarms, electronics
OTHER_DROP_SHARE = 0.10  # [8]
CONTINUOUS_FACTOR = 1.25  # fuse over continuous current: common practice, no source; [7] for solar
FUSE_OVER_AMPACITY = 1.5  # [6]
PLAIN_FUSE_DISTANCE_MM = 7 * 25.4  # [6] along the conductor, from the source of power
SHEATHED_FUSE_DISTANCE_MM = 40 * 25.4  # [6] when sheathed or enclosed all the way
LEAST_AWG = 16  # [5] a conductor by itself
LEAST_SHEATHED_AWG = 18  # [5] inside a sheath
CABIN_C = 30.0  # [5]
ENGINE_SPACE_C = 50.0  # [5]

STANDARD_FUSES_A: tuple[float, ...] = (
    1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350,
    400,
)  # fmt: skip
"""Ratings sold everywhere [A]: common practice, no source."""

_CLASS_5_OHM_KM = {
    0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21,
    25.0: 0.780, 35.0: 0.554, 50.0: 0.386, 70.0: 0.272, 95.0: 0.206, 120.0: 0.161, 150.0: 0.129, 185.0: 0.106,
    240.0: 0.0801,
}  # fmt: skip
METRIC_AREAS_MM2: tuple[float, ...] = tuple(_CLASS_5_OHM_KM)
"""Standard metric sizes [mm2], smallest first [2]."""

_INSULATION_C = (60, 75, 80, 90, 105, 125, 200)
_ENGINE_SPACE_FACTOR = (0.58, 0.75, 0.78, 0.82, 0.86, 0.89, 1.00)  # [5] note 1, from memory
_AMPACITY_A = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210),
    2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280),
    0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370),
    -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}  # [5] Table 5, thinnest first
AWG_NUMBERS: tuple[int, ...] = tuple(_AMPACITY_A)
"""AWG numbers of Table 5, thinnest first; 2/0, 3/0 and 4/0 are -1, -2 and -3."""

MAINS_C = 40.0
"""Air around a mains cable in a closed van in the sun; common practice, no source."""
_MAINS_A = {
    "1.5 mm2": 0.87 * 16.5, "2.5 mm2": 0.87 * 23.0, "4 mm2": 0.87 * 30.0, "6 mm2": 0.87 * 38.0, "10 mm2": 0.87 * 52.0,
    "AWG 14": 15.0, "AWG 12": 20.0, "AWG 10": 30.0, "AWG 8": 40.0,
}  # fmt: skip
"""By size [A]: the table at 30 degC times its factor at 40 degC [10]; the greatest breaker [11]."""
MAINS_SIZES: tuple[str, ...] = tuple(_MAINS_A)

_BUNDLES = ((25, 0.40), (7, 0.50), (4, 0.60), (3, 0.70))  # [5] note 2, from memory


@dataclass(frozen=True)
class Conductor:
    """A conductor chosen for a circuit, with the fuse that guards it.

    ``size`` is what to ask for in a shop; ``area_mm2`` its copper; ``ampacity_a`` what it may carry where it
    runs [A]; ``fuse_a`` the fuse [A]; ``conductor_c`` its temperature at the circuit's current [degC];
    ``drop_v`` the two-way voltage drop [V] and ``drop_share`` the same over the system voltage [-].
    """

    size: str
    area_mm2: float
    ampacity_a: float
    fuse_a: float
    conductor_c: float
    drop_v: float
    drop_share: float


def temperature_factor(conductor_c: float) -> float:
    """Resistance of copper at ``conductor_c`` [degC] over that at 20 degC: (234.5 + T)/254.5 [4]."""
    return (234.5 + conductor_c) / 254.5


def awg_name(number: int) -> str:
    """How a size is written: 10, 1, 1/0, 4/0 for 10, 1, 0, -3."""
    return str(number) if number > 0 else f"{1 - number}/0"


def awg_diameter_mm(number: int) -> float:
    """Diameter of the solid round wire of an AWG number [mm] [1]."""
    return float(0.005 * 25.4 * 92 ** ((36 - number) / 39))


def awg_area_mm2(number: int) -> float:
    """Copper area of an AWG number [mm2] [1]."""
    return pi / 4 * awg_diameter_mm(number) ** 2


def copper_ohm_km(area_mm2: float, resistivity_ohm_m: float = COPPER_OHM_M) -> float:
    """Resistance at 20 degC of a kilometre of ``area_mm2`` of copper [ohm/km]: rho/A [3]."""
    return resistivity_ohm_m * 1e9 / area_mm2


def awg_ohm_km(number: int) -> float:
    """Resistance at 20 degC of stranded plain copper of an AWG number [ohm/km] [1]_ [3]_ [9]_."""
    return STRAND_LAY * copper_ohm_km(awg_area_mm2(number))


def metric_ohm_km(area_mm2: float) -> float:
    """Greatest resistance at 20 degC of a standard class 5 conductor [ohm/km] [2]; else ValueError."""
    if area_mm2 not in _CLASS_5_OHM_KM:
        raise ValueError(f"{area_mm2} mm2 is no standard size; the sizes are {METRIC_AREAS_MM2}")
    return _CLASS_5_OHM_KM[area_mm2]


def awg_not_above(area_mm2: float) -> int | None:
    """The thickest AWG of Table 5 with no more copper than ``area_mm2`` [mm2], or None below AWG 18.

    A metric size is credited with the ampacity of this one, so never with more than its own copper carries.
    """
    fitting = [number for number in AWG_NUMBERS if awg_area_mm2(number) <= area_mm2]
    return fitting[-1] if fitting else None


def metric_not_below(number: int) -> float:
    """The thinnest standard metric size [mm2] with at least the copper of an AWG number of Table 5."""
    return next(area for area in METRIC_AREAS_MM2 if area >= awg_area_mm2(number))


def _insulation_column(insulation_c: float) -> int:
    """Column of Table 5: the highest listed temperature that the insulation reaches."""
    reached = [column for column, listed in enumerate(_INSULATION_C) if listed <= insulation_c]
    if not reached:
        raise ValueError(f"insulation for {insulation_c} degC; Table 5 starts at {_INSULATION_C[0]} degC")
    return reached[-1]


def bundling_factor(conductors: int) -> float:
    """Share of the ampacity left when so many current-carrying conductors lie in one bundle [5].

    The law asks it of circuits of 50 V and more; whoever passes a count here has it applied at any voltage.
    """
    return next((factor for least, factor in _BUNDLES if conductors >= least), 1.0)


def awg_ampacity_a(number: int, insulation_c: float, engine_space: bool = False, bundled: int = 1) -> float:
    """Current an AWG size may carry [A] by the temperature its insulation stands [degC] [5]."""
    column = _insulation_column(insulation_c)
    hot = _ENGINE_SPACE_FACTOR[column] if engine_space else 1.0
    return _AMPACITY_A[number][column] * hot * bundling_factor(bundled)


def metric_ampacity_a(
    area_mm2: float, insulation_c: float, engine_space: bool = False, bundled: int = 1
) -> float:
    """Current a metric size may carry [A]: that of the AWG size not above it; 0 below AWG 18."""
    number = awg_not_above(area_mm2)
    return 0.0 if number is None else awg_ampacity_a(number, insulation_c, engine_space, bundled)


def mains_ampacity_a(size: str) -> float:
    """Current that a mains cable may carry in a van [A], '2.5 mm2' or 'AWG 12'; KeyError for no mains size [10]_ [11]_.

    Sizes start at 1.5 mm2 and AWG 14: the least of IEC 60364-7-721 and of branch circuits in NFPA 70 (from memory).
    """
    return _MAINS_A[size]


def voltage_drop_v(current_a: float, one_way_m: float, ohm_km: float) -> float:
    """Drop over a pair of conductors, there and back [V]: U = 2 l I R."""
    return 2.0 * one_way_m * current_a * ohm_km / 1000.0


def conductor_temperature_c(
    current_a: float, ampacity_a: float, insulation_c: float, ambient_c: float = CABIN_C
) -> float:
    """Temperature of a conductor at ``current_a`` [degC].

    The rise goes with the square of the current and reaches the insulation's limit at the ampacity. The
    resistance is taken as at that limit, so below it the answer errs to the hot side. Heat balance of a
    conductor (Neher and McGrath 1957), from memory.
    """
    return ambient_c + max(0.0, insulation_c - ambient_c) * (current_a / ampacity_a) ** 2


def greatest_fuse_a(ampacity_a: float, system_v: float) -> float:
    """The greatest rating that the law lets guard a conductor [A] [6].

    Under 50 V: 150 % of the ampacity. From 50 V: the ampacity, or the next standard rating above it when
    that is no more than 150 %.
    """
    if system_v < 50:
        return FUSE_OVER_AMPACITY * ampacity_a
    above = next((rating for rating in STANDARD_FUSES_A if rating >= ampacity_a), ampacity_a)
    return above if above <= FUSE_OVER_AMPACITY * ampacity_a else ampacity_a


def choose_fuse(current_a: float, ampacity_a: float) -> float | None:
    """The smallest standard fuse of at least 1.25 times the continuous current [A], or None.

    None when it would be above the conductor's ampacity: our own rule, stricter than the law's 150 %, so
    that the fuse opens before the conductor carries more than it may.
    """
    least = CONTINUOUS_FACTOR * current_a * (1 - 1e-12)  # 16 A asks for 20 A, not for the next above
    return next((rating for rating in STANDARD_FUSES_A if least <= rating <= ampacity_a), None)


@cache
def _sizes(system: Literal["metric", "awg"], least_awg: int) -> tuple[tuple[str, float, int, float], ...]:
    """Name, area [mm2], AWG number that gives the ampacity, and resistance [ohm/km], thinnest first."""
    if system == "awg":
        numbers = [number for number in AWG_NUMBERS if number <= least_awg]
        return tuple((f"AWG {awg_name(n)}", awg_area_mm2(n), n, awg_ohm_km(n)) for n in numbers)
    rows = [(area, awg_not_above(area), ohm) for area, ohm in _CLASS_5_OHM_KM.items()]
    return tuple((f"{area:g} mm2", area, n, ohm) for area, n, ohm in rows if n is not None and n <= least_awg)


def choose_conductor(
    current_a: float,
    length_m: float,
    system_v: float,
    drop_share: float,
    insulation_c: float = 105.0,
    bundled: int = 1,
    engine_space: bool = False,
    sizes: Literal["metric", "awg"] = "metric",
    sheathed: bool = False,
    on_offer: Collection[str] | None = None,
    mains: bool = False,
) -> Conductor | None:
    """The thinnest conductor that carries a current, can be fused, and keeps the drop; None if none does.

    Parameters: continuous ``current_a`` [A]; one-way ``length_m`` [m]; ``system_v`` [V]; allowed
    ``drop_share`` of it [-]; temperature the insulation stands [degC]; current-carrying conductors bundled
    together; whether it runs through the engine space; ``sheathed`` allows the thinner least size; sizes
    ``on_offer`` by name, all when left out; ``mains`` takes the ampacity of a mains cable, whatever its insulation.

    Raises ValueError on a current, voltage or share that is not above zero, or a length below it.
    """
    if not all(isfinite(v) and v > 0 for v in (current_a, system_v, drop_share)) or not 0 <= length_m < 1e6:
        raise ValueError("current, voltage and allowed drop must be above zero, and the length not below it")
    ambient_c = MAINS_C if mains else ENGINE_SPACE_C if engine_space else CABIN_C
    for size, area, number, ohm_km in _sizes(sizes, LEAST_SHEATHED_AWG if sheathed else LEAST_AWG):
        if on_offer is not None and size not in on_offer:
            continue
        if mains and size not in MAINS_SIZES:
            continue
        ampacity = mains_ampacity_a(size) if mains else awg_ampacity_a(number, insulation_c, engine_space, bundled)
        fuse = choose_fuse(current_a, ampacity)
        if fuse is None:
            continue
        hot_c = conductor_temperature_c(current_a, ampacity, insulation_c, ambient_c)
        drop = voltage_drop_v(current_a, length_m, ohm_km * temperature_factor(hot_c))
        if drop <= drop_share * system_v:
            return Conductor(size, area, ampacity, fuse, hot_c, drop, drop / system_v)
    return None


def pv_circuit_current_a(short_circuit_a: float) -> float:
    """Greatest current of a solar circuit [A]: 1.25 Isc, for light above 1000 W/m2 [7] 690.8(A)."""
    return 1.25 * short_circuit_a


def pv_conductor_current_a(short_circuit_a: float) -> float:
    """Least ampacity and fuse of a solar circuit [A]: 1.25 * 1.25 Isc, before correction [7] 690.8(B).

    Give ``choose_conductor`` the circuit current: it adds the second 1.25 itself.
    """
    return CONTINUOUS_FACTOR * pv_circuit_current_a(short_circuit_a)
