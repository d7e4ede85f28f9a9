"""The solver-free check of a circuit: ampacity, drop, fuse, what it breaks, and how near it sits.

On the road: kit -> *check*. Shares no code with ``sizing``: sizes are looked up again, and every rule is
asked as a question of the circuit as it stands. Sources are those of ``physics.wire``.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from optimizer.circuits.records import Circuit
from optimizer.physics.wire import (
    CABIN_C,
    CONTINUOUS_FACTOR,
    ENGINE_SPACE_C,
    MAINS_C,
    MAINS_SIZES,
    METRIC_AREAS_MM2,
    PLAIN_FUSE_DISTANCE_MM,
    SHEATHED_FUSE_DISTANCE_MM,
    awg_ampacity_a,
    awg_ohm_km,
    conductor_temperature_c,
    greatest_fuse_a,
    mains_ampacity_a,
    metric_ampacity_a,
    metric_ohm_km,
    temperature_factor,
    voltage_drop_v,
)

LEAST_INTERRUPT_A = {"branch": 2000.0, "box": 1000.0}
"""Behind a main fuse that breaks the bank's whole fault current; common practice, no source."""
STRINGS_WITHOUT_FUSES = 2
MOST_STRING_FUSE_A = 15.0
"""What a panel of any size takes in series with it, and one with more current twice what it asks for; common practice,
no source: its label goes first."""
MOST_RESIDUAL_MA = 30.0
"""IEC 60364-4-41, 411.3.3 (from memory)."""
MOST_SOCKET_A = 16.0
"""What a mains socket carries: a breaker above it lets the socket burn; common practice, no source."""
TOLERANCE = 1e-9


@lru_cache(maxsize=4096)
def circuit_faults(circuit: Circuit) -> tuple[str, ...]:
    """What is wrong with a circuit, in sentences; empty when nothing is."""
    looked_up = _size(circuit)
    if looked_up is not None and circuit.use == "mains":
        looked_up = (mains_ampacity_a(circuit.size), looked_up[1]) if circuit.size in MAINS_SIZES else None
    if looked_up is None:
        return (f"{circuit.name}: there is no conductor of size {circuit.size}",)
    return tuple(f"{circuit.name}: {words}" for words in _faults(circuit, *looked_up))


def _size(circuit: Circuit) -> tuple[float, float] | None:
    """Ampacity where it runs [A] and resistance at 20 degC [ohm/km]; None for a size that is none."""
    word = circuit.size
    if word.startswith("AWG "):
        name = word.removeprefix("AWG ")
        number = 1 - int(name[:-2]) if name.endswith("/0") else int(name)
        try:
            return awg_ampacity_a(number, circuit.insulation_c, circuit.engine_space), awg_ohm_km(number)
        except KeyError:
            return None
    area = next((area for area in METRIC_AREAS_MM2 if word == f"{area:g} mm2"), None)
    if area is None:
        return None
    return metric_ampacity_a(area, circuit.insulation_c, circuit.engine_space), metric_ohm_km(area)


def _faults(circuit: Circuit, ampacity: float, ohm_km: float) -> Iterator[str]:
    yield from _load(circuit, ampacity, ohm_km)
    if circuit.level != "none" or circuit.fuse_a:
        yield from _fuse(circuit, ampacity)
    if circuit.level in LEAST_INTERRUPT_A:
        yield from _guard(circuit)
    yield from _strings(circuit)
    if circuit.use == "mains" and not 0 < circuit.residual_ma <= MOST_RESIDUAL_MA:
        yield f"mains is not cut off at a residual current of {MOST_RESIDUAL_MA:g} mA"
    if circuit.use == "mains" and "socket" in circuit.name and circuit.fuse_a > MOST_SOCKET_A * (1 + TOLERANCE):
        yield f"its breaker of {circuit.fuse_a:g} A is above the {MOST_SOCKET_A:g} A that a socket carries"
    if circuit.level in ("bank", "branch"):
        most = SHEATHED_FUSE_DISTANCE_MM if circuit.sheathed else PLAIN_FUSE_DISTANCE_MM
        if circuit.fuse_distance_mm > most + TOLERANCE:
            yield f"its fuse sits {circuit.fuse_distance_mm:g} mm from the source, at most {most:g} mm is allowed"


def _load(circuit: Circuit, ampacity: float, ohm_km: float) -> Iterator[str]:
    least = circuit.current_a * (CONTINUOUS_FACTOR if circuit.use == "solar" else 1.0)
    if ampacity < least * (1 - TOLERANCE):
        yield f"{circuit.size} carries {ampacity:g} A, {least:.1f} A is asked for"
        return
    around = MAINS_C if circuit.use == "mains" else ENGINE_SPACE_C if circuit.engine_space else CABIN_C
    hot = conductor_temperature_c(circuit.current_a, ampacity, circuit.insulation_c, around)
    drop = voltage_drop_v(circuit.current_a, circuit.length_m, ohm_km * temperature_factor(hot))
    allowed = circuit.drop_limit * circuit.system_v
    if drop > allowed * (1 + TOLERANCE):
        yield f"it loses {drop:.2f} V, at most {allowed:.2f} V is allowed"


def _fuse(circuit: Circuit, ampacity: float) -> Iterator[str]:
    least = CONTINUOUS_FACTOR * circuit.current_a
    if circuit.fuse_a < least * (1 - TOLERANCE):
        yield f"its fuse of {circuit.fuse_a:g} A is below {least:.1f} A, a quarter above the load"
    most = min(ampacity, greatest_fuse_a(ampacity, circuit.fault_v))
    if circuit.fuse_a > most * (1 + TOLERANCE):
        yield f"its fuse of {circuit.fuse_a:g} A is above the conductor's {most:g} A"


def _guard(circuit: Circuit) -> Iterator[str]:
    if circuit.fuse_volts < circuit.fault_v * (1 - TOLERANCE):
        yield f"its fuse breaks {circuit.fuse_volts:g} V, {circuit.fault_v:.1f} V may stand across it"
    least = LEAST_INTERRUPT_A[circuit.level]
    if circuit.interrupt_a < least:
        yield f"its fuse breaks {circuit.interrupt_a:g} A, {least:g} A is the least here"


def _strings(circuit: Circuit) -> Iterator[str]:
    """Where three or more strings meet, each has a fuse that holds its current and guards it."""
    if circuit.strings <= STRINGS_WITHOUT_FUSES:
        return
    least = CONTINUOUS_FACTOR * circuit.string_current_a
    if not circuit.string_fuse_a:
        yield f"{circuit.strings} strings meet without a fuse each"
    elif circuit.string_fuse_a < least * (1 - TOLERANCE):
        yield f"its string fuses of {circuit.string_fuse_a:g} A are below {least:.1f} A"
    elif circuit.string_fuse_a > (most := max(MOST_STRING_FUSE_A, 2 * least)) * (1 + TOLERANCE):
        yield f"its string fuses of {circuit.string_fuse_a:g} A are above {most:.1f} A and guard no panel"
