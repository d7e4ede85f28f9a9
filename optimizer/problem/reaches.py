"""How long cables must be, from the places where their two ends may stand.

On the road: brief + catalog + places -> *lengths* -> circuits of options. Lengths are one way, along the van's three
directions, between the middles of two boxes, and the longest there can be wherever in their bays they stand: never
shorter than what is built, whatever is placed where. Bends and ends come on top when cable is bought.

What is heavy in copper and hangs on the bank is offered once for each *reach*: with cable for the same bay or the
next, and with cable for the far end of the van; ``places`` sees to it that nothing stands beyond its reach. Lighter
circuits take the longest way there is. A run that the brief states is taken as measured, and is the reach.
Ends that the builder picks (mains sockets, hook-up inlet, lights) have no place: their runs are the brief's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, combinations, product

from optimizer.brief.brief import Brief
from optimizer.packing.standing import stands
from optimizer.parts.catalog import Catalog
from optimizer.parts.records import OwnPart, Part, SafetyItem
from optimizer.places.things import box_of
from optimizer.problem.placing import thing_of
from optimizer.problem.space import At, BayPlace, Reach, Space, Thing
from optimizer.showing import show
from optimizer.units import demand_up, supply_down

BANK, CONVERTER, FUSE_BOX = "battery", "dc_converter", "safety fuse_box"
FROM_BANK = {
    "controller_1": "bank_to_controller", "controller_2": "bank_to_controller",
    "alternator_charger": "charger_to_bank", "mains_charger": "charger_to_bank", "inverter": "bank_to_inverter",
    CONVERTER: "bank_to_converter", FUSE_BOX: "bank_to_fuse_box",
}  # fmt: skip
"""Groups that hang on the bank, and the brief's run of each."""
FROM_BOX = ("heater", "cold_box", "cooker")
"""Kinds that stand in a bay and hang on the fuse box."""
APPLIANCE = "fuse_box_to_appliance"
KINDS = {"controller_1": "charge_controller", "controller_2": "charge_controller"}
CLASSES = 3
"""Reaches offered of one choice: more would price copper closer and make choosing slower."""
STEP_MM = 100
"""Reaches are whole tenths of a metre."""


@dataclass(frozen=True)
class Length:
    """A length of cable on offer: metres one way, the reach it gives [mm, 0 = wherever], and how to tell it."""

    metres: float
    reach_mm: int = 0
    suffix: str = ""
    """Of the option's key: empty for the longest."""
    words: str = ""
    """Empty where the run is the brief's."""


@dataclass(frozen=True)
class Spread:
    """Where the middle of a box can be: twice the distance from the van's origin, low and high, in mm."""

    along: tuple[int, int]
    across: tuple[int, int]
    up: tuple[int, int]

    def farthest(self, other: Spread) -> int:
        """The longest way along the three directions between two such middles [mm], rounded up."""
        pairs = ((self.along, other.along), (self.across, other.across), (self.up, other.up))
        return -(-sum(max(b[1] - a[0], a[1] - b[0]) for a, b in pairs) // 2)


@dataclass(frozen=True, eq=False)
class Lengths:
    """The lengths of a brief's cables and, where the brief names bays, what must be within which reach."""

    brief: Brief
    catalog: Catalog
    space: Space

    # -- what the rest of the problem asks ------------------------------------------------------

    def of(self, group: str, placed: bool = True) -> tuple[Length, ...]:
        """The lengths on offer for a group that hangs on the bank, longest last; only that one for no place."""
        found = self._offers[group]
        return found if placed else found[-1:]

    @cached_property
    def fixed(self) -> Mapping[str, float]:
        """Lengths of circuits that take the longest way there is [m], by kind of appliance or by run."""
        found = {
            kind: self._longest(self._spreads(FUSE_BOX).values(), self._spreads(kind).values())
            for kind in FROM_BOX if not self.stated(APPLIANCE)
        }
        if not self.stated(APPLIANCE):
            found["roof_fan"] = self._longest(self._spreads(FUSE_BOX).values(), self._fan())
        for run, kind, ends in (
            ("roof_to_controller", "controller_1", self._roof(self._panel_side)),
            ("alternator_to_charger", "alternator_charger", [self._starter()]),
        ):
            if not self.stated(run):
                found[run] = self._longest(self._spreads(kind).values(), ends)
        if self.space.may_split:
            found["links"] = self._longest(self._spreads(BANK).values(), self._spreads(BANK).values())
        return {key: metres for key, metres in found.items() if metres}

    @cached_property
    def reaches(self) -> tuple[Reach, ...]:
        """Which groups must stand within their reach of which; none where the brief names no bays."""
        if not self.space.has_bays:
            return ()
        found = [
            Reach(BANK, group, self._apart(BANK, group), self.stated(run)) for group, run in FROM_BANK.items()
        ]
        found.append(Reach(CONVERTER, FUSE_BOX, self._apart(CONVERTER, FUSE_BOX), self.stated(FROM_BANK[FUSE_BOX])))
        if self.stated(APPLIANCE):
            ends = ["heater", "cold_box_1", "cold_box_2", *(f"cooker {c.id}" for c in self.catalog.parts["cooker"])]
            found += [Reach(FUSE_BOX, end, (), True) for end in ends]
        return tuple(found)

    def appliance_mm(self, powered: bool) -> int:
        """Reach of an appliance in a bay that hangs on the fuse box: the run that the brief states, or none."""
        bound = powered and self.space.has_bays and self.stated(APPLIANCE)
        return supply_down(self.brief.vehicle.runs.fuse_box_to_appliance, 1000) if bound else 0

    def stated(self, run: str) -> bool:
        """Whether the brief's author says how long a run is."""
        return run in self.brief.vehicle.runs.model_fields_set

    # -- reaches of the bank --------------------------------------------------------------------

    @cached_property
    def _offers(self) -> Mapping[str, tuple[Length, ...]]:
        return {group: self._offer(group, run) for group, run in FROM_BANK.items()}

    def _offer(self, group: str, run: str) -> tuple[Length, ...]:
        given = float(getattr(self.brief.vehicle.runs, run))
        if not self.space.has_bays:
            return (Length(given),)
        if self.stated(run):
            return (Length(given, supply_down(given, 1000)),)
        ways = [mm for _, _, mm in self._apart(BANK, group)]
        if group == FUSE_BOX:
            ways += [mm for _, _, mm in self._apart(CONVERTER, FUSE_BOX)]
        if not ways:
            return (Length(given),)
        chosen = classes(ways)
        if any(thing_of(part, 1) is None for part in self.catalog.parts[BANK]):
            chosen = chosen[-1:]  # a bank without a place may be anywhere
        return tuple(
            Length(mm / 1000, mm, f" within {mm / 1000:g} m" if mm != chosen[-1] else "", self._words(mm))
            for mm in chosen
        )

    def _words(self, mm: int) -> str:
        if self.brief.units == "us":
            return f"within {mm * 100 // 3048 / 10:g} ft of the bank"  # down: no further than the cable goes
        return f"within {show(mm / 1000, 'm', 'metric')} of the bank"

    def _apart(self, source: str, end: str) -> tuple[tuple[str, str, int], ...]:
        pairs = product(self._spreads(source).items(), self._spreads(end).items())
        return tuple((one, other, a.farthest(b)) for (one, a), (other, b) in pairs)

    def _longest(self, one: Iterable[Spread], other: Iterable[Spread]) -> float:
        ways = [a.farthest(b) for a, b in product(list(one), list(other))]
        return up_to_step(max(ways)) / 1000 if ways else 0.0

    # -- where things may stand -----------------------------------------------------------------

    def _spreads(self, group: str) -> Mapping[str, Spread]:
        """For each bay that takes some part of a group, where the middles of such parts can be."""
        kind = KINDS.get(group, group)
        if kind not in self._known:
            self._known[kind] = {
                place.bay.name: spread
                for place in self.space.bays if (spread := _spread(place, self._things(kind))) is not None
            }
        return self._known[kind]

    @cached_property
    def _known(self) -> dict[str, dict[str, Spread]]:
        return {}

    def _parts(self, kind: str) -> Iterator[Part | OwnPart]:
        if kind == BANK:
            return chain(self.catalog.parts[BANK], self.catalog.parts["cell_manager"])
        if kind == FUSE_BOX:
            items = (part for part in self.catalog.parts["safety"] if isinstance(part, SafetyItem))
            return (part for part in items if part.role == "fuse_box")
        return iter(self.catalog.parts[kind])

    def _things(self, kind: str) -> list[Thing]:
        found = (thing_of(part, 1) for part in self._parts(kind))
        return [thing for thing in found if thing is not None and not thing.on_roof]


    @cached_property
    def _panel_side(self) -> int:
        sides = (min(part.length_mm, part.width_mm) for part in self.catalog.parts["solar_panel"])
        return supply_down(min(sides, default=0.0))

    def _roof(self, side: int) -> list[Spread]:
        """Where on the roof the middle of something of that side can be; nothing where the roof's place is unknown."""
        at, (length, width) = self.space.roof.at, self.space.roof.size
        return [] if at.x_low is None else [_within(at, length, width, side, side, *self._roof_height)]

    def _fan(self) -> list[Spread]:
        roof = self.brief.vehicle.roof
        side = supply_down(roof.fan_length)
        if roof.fan_x is None or roof.fan_y is None or roof.x is None:
            return self._roof(side)
        # A fan larger than its opening is pinned by the same corner: its middle lies further aft and right.
        largest = max([demand_up(max(p.length_mm, p.width_mm)) for p in self.catalog.parts["roof_fan"]] + [side])
        left, front = -roof.width / 2 + roof.fan_y, roof.x + roof.fan_x
        along = (supply_down(2 * front) + side, demand_up(2 * front) + largest)
        return [Spread(along, (supply_down(2 * left) + side, demand_up(2 * left) + largest), self._roof_height)]

    @cached_property
    def _roof_height(self) -> tuple[int, int]:
        return 2 * supply_down(self.brief.vehicle.height), 2 * demand_up(self.brief.vehicle.height)

    def _starter(self) -> Spread:
        """The starter battery's terminals; on either side where the brief does not say."""
        vehicle = self.brief.vehicle
        x, y, z = vehicle.starter_x, vehicle.starter_y, vehicle.starter_z
        sides = (-vehicle.track / 2, vehicle.track / 2) if y is None else (y, y)
        return Spread(*((supply_down(2 * low), demand_up(2 * high)) for low, high in ((x, x), sides, (z, z))))


def up_to_step(mm: int) -> int:
    """To the tenth of a metre above [mm]."""
    return -(-mm // STEP_MM) * STEP_MM


def classes(ways_mm: Sequence[int], most: int = CLASSES) -> tuple[int, ...]:
    """So many reaches at most that cover all these ways, shortest first, with the least cable beyond them in all."""
    ways = sorted(up_to_step(mm) for mm in ways_mm)
    values = sorted(set(ways))
    tried = (
        (*few, values[-1]) for number in range(min(most, len(values))) for few in combinations(values[:-1], number)
    )
    return min(tried, key=lambda few: (sum(min(r for r in few if r >= way) - way for way in ways), few))


def _spread(place: BayPlace, things: Sequence[Thing]) -> Spread | None:
    """Where in a bay the middles of things can be; None when it takes none of them."""
    low_x = low_y = low_z = high_z = None
    for thing in things:
        box = box_of(thing.part, thing, "")
        for stand in stands((place.bay,), replace(box, mass=0), 1):
            length, width, height = stand.sizes
            air = 2 * box.clearance
            low_x = length + air if low_x is None else min(low_x, length + air)
            low_y = width + air if low_y is None else min(low_y, width + air)
            low_z = height if low_z is None else min(low_z, height)
            high_z = height if high_z is None else max(high_z, height)
    if low_x is None or low_y is None or low_z is None or high_z is None:
        return None
    floor = 2 * place.floor
    return _within(place.at, place.bay.length, place.bay.width, low_x, low_y, floor + low_z, floor + high_z + 2)


def _within(at: At, length: int, width: int, small_x: int, small_y: int, low: int, high: int) -> Spread:
    """Twice where the middle of a thing can be inside a length and width about a place; the least sizes count."""
    assert at.x_low is not None
    assert at.x_high is not None
    along, across = max(0, length - small_x), max(0, width - small_y)
    return Spread(
        (2 * at.x_low - along, 2 * at.x_high + along), (2 * at.y_low - across, 2 * at.y_high + across), (low, high)
    )
