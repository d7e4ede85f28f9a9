"""Where the weight goes: axle loads by moments, side to side, and what may still be loaded.

On the road: under ``problem``, ``rules`` and ``check``, above nothing.

Coordinates as in the brief: ``x`` aft from the front axle, ``y`` right of the centre line. Masses and
lengths may be in any unit as long as it is the same throughout; named constants give theirs.

References
----------
.. [1] R. N. Jazar, Vehicle Dynamics: Theory and Application, ch. 2: axle loads of a parked car.
.. [2] FAA-H-8083-1, Aircraft Weight and Balance Handbook: centre of gravity by adding moments.
.. [3] 49 CFR 567.4(g)(3) and 571.110, quoted in NHTSA interpretation 10673: 150 lb a seat.
.. [4] 49 CFR Part 575: steps for the load left after the occupants, as printed in owner manuals.
.. [5] Regulation (EU) No 1230/2012, Art. 2 and Annex I Part A 2.6.4.1.2; EN 1646-2 (from memory).
.. [6] 72 FR 68442 (2007): motor-home load label; the definition of its fluids from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

POUND_KG = 0.45359237
SEAT_KG = 150 * POUND_KG  # [3] 68.04 kg
EU_OCCUPANT_KG = 75.0  # [5] driver or passenger
RUNNING_ORDER_FUEL_SHARE = 0.90  # [5] tank fill in the mass in running order


@dataclass(frozen=True)
class AxleLoads:
    """What rests on each axle, in the unit of the masses given."""

    front: float
    rear: float


@dataclass(frozen=True)
class SideLoads:
    """What rests on the wheels of each side, in the unit of the masses given."""

    left: float
    right: float

    @property
    def difference(self) -> float:
        """Right less left."""
        return self.right - self.left


def centre_of_mass(masses: Sequence[float], positions: Sequence[float]) -> float:
    """Position of the common centre of mass: sum(m x)/sum(m) [2]. ValueError when nothing weighs anything."""
    total = sum(masses)
    if not total > 0:
        raise ValueError("the masses must add up to more than nothing")
    return sum(m * x for m, x in zip(masses, positions, strict=True)) / total


def axle_loads(masses: Sequence[float], xs: Sequence[float], wheelbase: float) -> AxleLoads:
    """Loads on the axles of masses standing ``xs`` aft of the front axle [1].

    Moments about the front axle: rear = sum(m x)/wheelbase, front = sum(m) - rear. A mass behind the rear
    axle makes the front lighter, a mass ahead of the front axle the rear. ValueError unless wheelbase > 0.
    """
    if not wheelbase > 0:
        raise ValueError("the wheelbase must be above zero")
    rear = sum(m * x for m, x in zip(masses, xs, strict=True)) / wheelbase
    return AxleLoads(front=sum(masses) - rear, rear=rear)


def centre_from_axles(front: float, rear: float, wheelbase: float) -> float:
    """How far aft of the front axle the centre of mass lies, from the axle loads weighed [1]."""
    return centre_of_mass((front, rear), (0.0, wheelbase))


def overhang_loads(mass: float, behind: float, wheelbase: float) -> AxleLoads:
    """What a mass hung ``behind`` the rear axle adds to each axle; the front's part is below zero [1]."""
    return axle_loads((mass,), (wheelbase + behind,), wheelbase)


def side_loads(masses: Sequence[float], ys: Sequence[float], track: float) -> SideLoads:
    """Loads on the left and the right wheels of masses ``ys`` to the right of the centre line.

    Moments about the left wheels: right = sum(m)/2 + sum(m y)/track. ValueError unless track > 0.
    """
    shifted = axle_loads(masses, [y + track / 2 for y in ys], track)
    return SideLoads(left=shifted.front, right=shifted.rear)


def capacity_mass(cargo: float, seats: int, seat_mass: float = SEAT_KG) -> float:
    """Vehicle capacity weight: rated cargo and luggage, and so much a seat [3]."""
    return cargo + seat_mass * seats


def least_gross_rating(unloaded: float, cargo: float, seats: int, seat_mass: float = SEAT_KG) -> float:
    """The least gross rating the maker may state: unloaded, rated cargo, and so much a seat [3]."""
    return unloaded + capacity_mass(cargo, seats, seat_mass)


def cargo_left(limit: float, occupants: int, occupant_mass: float = SEAT_KG) -> float:
    """What may be loaded once the people sit in it [4]_ [6]_; below zero when they alone are too heavy.

    ``limit`` is the placard's load limit, or for a motor home its gross rating less the unloaded mass with
    full fresh water and gas.
    """
    return limit - occupants * occupant_mass


def relabel_threshold(gross_rating: float, hundred_pounds: float = 100 * POUND_KG) -> float:
    """Mass added before sale from which a new load label is due: 1.5 % of the rating, at most 100 lb [6]."""
    return min(0.015 * gross_rating, hundred_pounds)


def least_payload_kg(people: int, length_m: float) -> float:
    """Payload a motor caravan must leave [kg]: 10 (n + L), people with driver and length in metres [5]."""
    return 10.0 * (people + length_m)
