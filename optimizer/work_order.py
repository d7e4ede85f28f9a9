"""What to fit before what, and what to test before it is lived with: derived from what is in the kit.

On the road: kit -> *order of work* -> terminal, build book. Steps are picked by what the kit has and put
in an order in which each comes after all that it needs. The order is common practice, no source; figures
with a source name it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from optimizer.parts.catalog import Catalog
from optimizer.parts.records import Battery, FuelTank, Heater, Part
from optimizer.problem.placing import VAPOUR_FUELS
from optimizer.problem.records import Kit, Problem

WET = ("water_container", "grey_container", "toilet")
"""Kinds that spill or leak."""
FOUL = ("fuel_tank", "grey_container", "toilet")
"""Kinds that drinking water is kept away from."""
HOLDS_WATER = ("water_container", "grey_container")
"""Kinds that burst when they freeze."""


@dataclass(frozen=True)
class Step:
    """One thing to do, and which steps come before it."""

    slug: str
    text: str
    after: tuple[str, ...] = ()


class Has:
    """What a kit has, as steps and cautions ask for it."""

    def __init__(self, problem: Problem, kit: Kit, catalog: Catalog) -> None:
        self.problem = problem
        self.kit = kit
        self._catalog = catalog

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Every ordinary part, once."""
        found = (self._catalog.any_part(part) for part in self.kit.counts(self.problem))
        return tuple(part for part in found if isinstance(part, Part))

    def kind(self, *kinds: str) -> bool:
        """Whether anything of these kinds is in."""
        return any(self._catalog.kind_of(part.id) in kinds for part in self.parts)

    def opening(self, *openings: str) -> bool:
        """Whether anything needs such a hole."""
        return any(part.opening in openings for part in self.parts)

    def role(self, *roles: str) -> bool:
        """Whether a fitting or safety item of these roles is in."""
        return any(getattr(part, "role", "") in roles for part in self.parts)

    @property
    def gas(self) -> bool:
        """Whether anything burns or holds gas."""
        return any(getattr(part, "fuel", "") == "propane" for part in self.parts)

    @property
    def vapour(self) -> bool:
        """Whether fuel is carried whose vapour burns at room temperature."""
        return any(isinstance(part, FuelTank) and part.fuel in VAPOUR_FUELS for part in self.parts)

    @property
    def fuel_heater(self) -> bool:
        """Whether a heater burns something."""
        return any(isinstance(part, Heater) and part.fuel for part in self.parts)

    @property
    def lithium(self) -> bool:
        """Whether the bank is lithium."""
        return any(isinstance(part, Battery) and part.chemistry.startswith("lfp") for part in self.parts)

    @property
    def loose_cells(self) -> bool:
        """Whether the bank is built of loose cells."""
        return any(isinstance(part, Battery) and not part.managed for part in self.parts)

    @property
    def vented_bank(self) -> bool:
        """Whether the bank gives off hydrogen while it charges."""
        return any(isinstance(part, Battery) and part.chemistry == "flooded" for part in self.parts)

    @property
    def sealed_lead(self) -> bool:
        """Whether the bank is of lead batteries with valves."""
        return any(isinstance(part, Battery) and part.chemistry in ("agm", "gel") for part in self.parts)

    @property
    def joined_bank(self) -> bool:
        """Whether several ready batteries make the bank."""
        counts = self.kit.counts(self.problem)
        return sum(counts[part.id] for part in self.parts if isinstance(part, Battery) and part.managed) > 1

    @property
    def idling_heater(self) -> bool:
        """Whether a liquid-fuel heater gives twice what the coldest night asks for, or more."""
        liquid = any(isinstance(part, Heater) and part.fuel and part.fuel != "propane" for part in self.parts)
        asked = self.kit.sum(self.problem, "night_w", "insulation")
        return liquid and self.kit.sum(self.problem, "heat_w", "heater") >= 2 * asked

    @property
    def wet_electrics(self) -> bool:
        """Whether water, waste or toilet share a bay with electrics, where the places are known."""
        live = {bay for bay, kind, hazard in self._stowed if hazard in ("spark", "gassing") and kind != "heater"}
        return any(bay in live and kind in WET for bay, kind, _ in self._stowed)

    @property
    def water_beside_foul(self) -> bool:
        """Whether drinking water shares a bay with fuel, waste or toilet, where the places are known."""
        foul = {bay for bay, kind, _ in self._stowed if kind in FOUL}
        return any(bay in foul and kind == "water_container" for bay, kind, _ in self._stowed)

    @property
    def water_in_frost(self) -> bool:
        """Whether water or waste stands in a bay neither inside nor warm, in a season with frost."""
        if self.problem.needs.get("coldest_unused", 0) >= 0 or self.problem.space is None:
            return False
        cold = {place.bay.name for place in self.problem.space.bays if not {"inside", "warm"} & set(place.bay.tags)}
        return any(bay in cold and kind in HOLDS_WATER for bay, kind, _ in self._stowed)

    @cached_property
    def _stowed(self) -> tuple[tuple[str, str, str], ...]:
        """Bay, kind and hazard of everything in the bays; nothing where the places are not known."""
        if self.kit.places is None:
            return ()
        things = {
            f"{group.name}/{thing.part}": (group.kind, thing.hazard)
            for group, option in self.kit.options(self.problem) for thing in option.things
        }
        return tuple((box.bay, *things.get(box.id.rpartition("/")[0], ("", ""))) for box in self.kit.places.stowed)

    @property
    def charger(self) -> bool:
        """Whether anything charges the bank."""
        return self.kind("charge_controller", "alternator_charger", "mains_charger")

    @property
    def mains(self) -> bool:
        """Whether mains voltage is anywhere in the van."""
        return self.kind("inverter", "mains_charger")

    @property
    def wired_mains(self) -> bool:
        """Whether any of it runs in cables of the van's own, behind a board."""
        return self.role("mains_board")

    @property
    def residual(self) -> bool:
        """Whether a residual-current device is bought: on a board, or in the hook-up lead."""
        return self.role("mains_board", "hookup_lead")


def _always(_: Has) -> bool:
    return True


_STEPS: tuple[tuple[Step, Callable[[Has], bool]], ...] = (
    (Step("plan", "Mark every hole, cable path and bay; check that nothing lies behind the metal."), _always),
    (
        Step("openings", "Cut the openings in roof, walls and floor; deburr, prime the bare metal, seal.", ("plan",)),
        lambda has: has.opening("roof", "wall", "floor") or has.role("gland", "hookup_inlet"),
    ),
    (
        Step("roof fan", "Fit the roof fan into its opening and test it with a hose.", ("openings",)),
        lambda has: has.kind("roof_fan"),
    ),
    (
        Step(
            "panels", "Fix the panels; lead the cables through the gland, ends insulated: in light they are live.",
            ("openings", "roof fan"),
        ),
        lambda has: has.kind("solar_panel"),
    ),
    (
        Step(
            "conduit", "Lay conduit and every hose and line before the walls are closed; a grommet in each hole.",
            ("openings",),
        ),
        lambda has: has.role("conduit", "gas_pipe", "fuel_line", "water_hose"),
    ),
    (
        Step("insulation", "Insulate, tape the seams, and keep conduits and lines reachable.", ("conduit", "openings")),
        lambda has: has.role("tape"),
    ),
    (Step("walls", "Close walls, floor and ceiling; build bed and cabinets.", ("insulation", "conduit")), _always),
    (
        Step("fuel", "Fit the heater with air and exhaust led outside, then its fuel.", ("conduit", "walls")),
        lambda has: has.fuel_heater,
    ),
    (
        Step("gas", "Fit gas locker, appliances and valves; leave the bottle off.", ("conduit", "walls")),
        lambda has: has.gas,
    ),
    (
        Step(
            "boards", "Fit busbars, disconnect (open), fuse box, chargers, controller, inverter; fuses stay out.",
            ("walls",),
        ),
        _always,
    ),
    (
        Step("cables", "Pull and crimp the cables, tug at each lug, label both ends; insulate bank ends.", ("boards",)),
        _always,
    ),
    (
        Step(
            "alternator", "Starter battery's minus off before its feed is connected there, fuse out; back on after.",
            ("boards", "cables"),
        ),
        lambda has: has.kind("alternator_charger"),
    ),
    (
        Step("mains", "Have the mains side fitted and inspected: breaker, residual current, earth.", ("boards",)),
        lambda has: has.wired_mains,
    ),
    (
        Step(
            "plug-in mains", "What is plug-in on the mains stays so: wire neither lead nor socket into the van.",
            ("boards",),
        ),
        lambda has: has.mains and not has.wired_mains,
    ),
    (
        Step("appliances", "Fit tanks, cold box, cookers, water and toilet and connect them.", ("walls", "cables")),
        lambda has: has.kind("cold_box", "cooker", "water_container", "toilet"),
    ),
    (
        Step("alarms", "Fit alarms where their makers say, the extinguisher by the door; test them.", ("walls",)),
        lambda has: has.kind("safety"),
    ),
    (
        Step("cells", "Bring all cells to one voltage, then build the bank with manager and enclosure.", ("cables",)),
        lambda has: has.loose_cells,
    ),
    (
        Step(
            "bank", "Last of all the bank: strap it down, main fuse out, disconnect open, connect plus and then minus.",
            ("cables", "cells", "appliances", "alarms", "alternator", "mains", "plug-in mains", "gas", "fuel", "panels",
             "roof fan"),
        ),
        _always,
    ),
)  # fmt: skip

_CHECKS: tuple[tuple[str, Callable[[Has], bool]], ...] = (
    ("Before the main fuse goes in: plus touches neither minus nor the body, polarity right at every end.", _always),
    ("Put fuses in from the bank outward, one circuit at a time; each fuse has the rating on the list.", _always),
    ("Set every charger to the bank's chemistry before it charges for the first time.", lambda has: has.charger),
    ("Run each circuit at full load for a quarter of an hour: nothing gets hot, the drop is as listed.", _always),
    (
        "Order for solar: bank to controller first, panels second; take them off the other way round.",
        lambda has: has.kind("solar_panel"),
    ),
    (
        "Panels off at their isolator, chargers off, disconnect open: the busbars have no voltage any more.",
        lambda has: has.role("array_switch"),
    ),
    ("Chargers off, disconnect open: the busbars have no voltage any more.", lambda has: not has.role("array_switch")),
    ("Press the test button of the residual-current device: it opens at once.", lambda has: has.residual),
    ("Press the test buttons of all alarms; read their dates and the extinguisher's.", lambda has: has.kind("safety")),
    (
        "Gas: 150 mbar (60 inches of water) for five minutes with at most 10 mbar (4 inches) lost (EN 1949, 2013 text),"
        " done by a gas fitter, before first use.",
        lambda has: has.gas,
    ),
    (
        "Heater: run it outdoors for half an hour, doors shut; the carbon-monoxide alarm stays silent, no fuel drips.",
        lambda has: has.fuel_heater,
    ),
    ("Water: fill, look for leaks after a drive, drain once, disinfect.", lambda has: has.kind("water_container")),
    ("Weigh both axles and both sides, loaded for a trip, before the first long drive.", _always),
    ("After 100 km (60 miles): tighten brackets, straps and lugs; look for water under every seal.", _always),
)  # fmt: skip


def work_order(problem: Problem, kit: Kit, catalog: Catalog) -> tuple[Step, ...]:
    """The steps that this kit asks for, each after all that it needs."""
    has = Has(problem, kit, catalog)
    return in_order(tuple(step for step, wanted in _STEPS if wanted(has)))


def in_order(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """The steps with each after those it names (those not there do not count); ValueError for a ring."""
    here = {step.slug for step in steps}
    done: list[Step] = []
    left = list(steps)
    while left:
        known = {step.slug for step in done}
        ready = next((step for step in left if set(step.after) & here <= known), None)
        if ready is None:
            raise ValueError("the steps wait for each other: " + ", ".join(step.slug for step in left))
        done.append(ready)
        left.remove(ready)
    return tuple(done)


def commissioning(problem: Problem, kit: Kit, catalog: Catalog) -> tuple[str, ...]:
    """What to test before the van is lived in, in order."""
    has = Has(problem, kit, catalog)
    return tuple(text for text, wanted in _CHECKS if wanted(has))
