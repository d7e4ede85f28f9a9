"""Where work on this kit can hurt someone: what to mind, and which standard speaks of it.

On the road: kit -> *cautions* -> terminal, build book. Standards are named by number and subject only, as
published lists show them; their text was not read unless it says so, and EN 721 is named from memory. None of this
replaces local codes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimizer.parts.catalog import Catalog
from optimizer.problem.records import Kit, Problem
from optimizer.work_order import Has

DEFER = "Check all of it against local codes, and have a licensed person do or inspect what the law asks."


@dataclass(frozen=True)
class Caution:
    """One danger, and the standards whose subject it is."""

    subject: str
    text: str
    standards: tuple[str, ...] = ()


_CAUTIONS: tuple[tuple[Caution, Callable[[Has], bool]], ...] = (
    (
        Caution(
            "Lithium bank",
            "A short circuit gives thousands of amperes at once. Cover terminals and tools, never charge frozen cells"
            " without a heater, fix the bank against a crash, keep it from heat and out of reach of water.",
            ("ISO 23625: Small craft - Lithium-ion batteries", "ABYC E-13, Lithium Ion Batteries"),
        ),
        lambda has: has.lithium,
    ),
    (
        Caution(
            "Loose cells",
            "Cells without their manager have no protection at all. Insulate every busbar, balance first, and let"
            " somebody who has done it before look at the bank before it is charged.",
        ),
        lambda has: has.loose_cells,
    ),
    (
        Caution(
            "Gas from lead batteries",
            "A flooded bank gives off hydrogen and acid mist while it charges. Close it off from inverter, chargers and"
            " fuses in a box of its own that is vented to the outside, keep sparks away, wear eye protection.",
        ),
        lambda has: has.vented_bank,
    ),
    (
        Caution(
            "Sealed lead batteries",
            "Overcharged or hot they gas as well: never in an airtight box, vent hose to the outside where there is a"
            " fitting for one, chargers set to the chemistry and with a sensor on the bank.",
            ("EN 1648-2: 12 V direct current extra low voltage electrical installations - Motor caravans",),
        ),
        lambda has: has.sealed_lead,
    ),
    (
        Caution(
            "Batteries joined",
            "All of one make, type and age. Charge each full by itself before they are joined: side by side an empty"
            " one takes hundreds of amperes from a full one, in series the weakest is driven flat. In series only what"
            " its maker lets stand in series; side by side a fuse for each where its maker asks for one.",
        ),
        lambda has: has.joined_bank,
    ),
    (
        Caution(
            "Low-voltage wiring",
            "Cables without the right fuse burn vans down. Main fuse at the bank, a fuse at the start of every circuit,"
            " grommets in every hole, nothing clipped to fuel or gas lines.",
            (
                "EN 1648-2: 12 V direct current extra low voltage electrical installations - Motor caravans",
                "ISO 13297: Small craft - Alternating and direct current installations",
            ),
        ),
        lambda has: True,
    ),
    (
        Caution(
            "Water beside electrics",
            "The plan puts water, waste or toilet into a bay with electrics. Part the two by a wall as high as what can"
            " spill, with terminals above it and a drain or tray below, or move the one that you fill and carry.",
        ),
        lambda has: has.wet_electrics,
    ),
    (
        Caution(
            "Drinking water",
            "Only containers and hoses made for drinking water, flushed before first use and after every long stay."
            " Water that has stood warm for days is boiled before it is drunk. Common practice, no source.",
        ),
        lambda has: has.kind("water_container"),
    ),
    (
        Caution(
            "Drinking water beside fuel or waste",
            "The plan puts drinking water into a bay with fuel, waste water or the toilet. Part them by a wall or a"
            " closed box, never fill both with one hose, and wipe up before a lid is opened; fuel vapour goes through"
            " thin plastic: keep petrol and spirit as far from water as the bay allows. Common practice, no source.",
        ),
        lambda has: has.water_beside_foul,
    ),
    (
        Caution(
            "Water in frost",
            "The plan puts water or waste water where it is neither inside nor warm, and the season has frost: what is"
            " full bursts. Leave a tenth of it empty, wrap or heat it, or move it inside before a cold night.",
        ),
        lambda has: has.water_in_frost,
    ),
    (
        Caution(
            "Mains voltage",
            "Inverter and hook-up carry voltage that kills. Residual-current device and breaker on each source, never"
            " both sources on one line without a change-over switch, earth bonded to the body as the code asks.",
            (
                "IEC 60364-7-721: Electrical installations in caravans and motor caravans",
                "NFPA 70, article 551: recreational vehicles",
            ),
        ),
        lambda has: has.mains,
    ),
    (
        Caution(
            "Inverter and residual current",
            "Behind an inverter a residual-current device acts only where the inverter's neutral is tied to earth as"
            " its maker says: on a floating output it never opens on a fault, though its test button works. Without a"
            " board: one appliance at a time, in the inverter's own socket.",
            ("IEC 60364-7-721: Electrical installations in caravans and motor caravans",),
        ),
        lambda has: has.kind("inverter"),
    ),
    (
        Caution(
            "Alternator",
            "Its charger must run with the engine only: by a signal from the ignition, or by voltage. Many newer"
            " vehicles lower their alternator's voltage: take a charger made for that. An idling engine gives less than"
            " the rating and heats the alternator; no engine runs in a closed place.",
        ),
        lambda has: has.kind("alternator_charger"),
    ),
    (
        Caution(
            "Gas",
            "Bottles stand upright in a locker sealed from the inside and drained at the bottom. A gas fitter does or"
            " tests every joint; leak test before first use and every year; no gas while driving unless the regulator"
            " allows it.",
            (
                "EN 1949: Specification for the installation of LPG systems in leisure accommodation vehicles",
                "NFPA 1192: Standard on Recreational Vehicles",
                "EN 50194-2: gas alarms for recreational vehicles",
            ),
        ),
        lambda has: has.gas,
    ),
    (
        Caution(
            "Spirit, petrol, kerosene",
            "Their vapour burns at room temperature and gathers low down. Keep the cans shut, upright and vented to the"
            " outside, in a bay without battery, inverter, charger or fuse box; let a burner cool before it is filled,"
            " and fill it outdoors.",
        ),
        lambda has: has.vapour,
    ),
    (
        Caution(
            "Burning indoors",
            "What burns makes carbon monoxide, which nobody smells. Air from outside and exhaust to outside, away from"
            " windows and vents; vents low down and high up that cannot be shut, and a window open while a stove burns;"
            " never heat with a stove; never sleep without a working carbon-monoxide alarm.",
            (
                "EN 721: Safety ventilation requirements of leisure accommodation vehicles",
                "UN Regulation No. 122: heating systems of vehicles",
                "EN 50291-2: carbon monoxide alarms in recreational vehicles",
                "NFPA 1192: Standard on Recreational Vehicles",
            ),
        ),
        lambda has: has.fuel_heater or any(getattr(part, "abilities", "") and part.fuel for part in has.parts),  # type: ignore[attr-defined]
    ),
    (
        Caution(
            "Fuel heater",
            "Switch it off by its own control and wait until its fan has stopped before the disconnect is opened: cut"
            " off hot, it is ruined. Winter fuel before the first frost; exhaust clear of snow, sill and skirt. Common"
            " practice, no source.",
        ),
        lambda has: has.fuel_heater,
    ),
    (
        Caution(
            "Heater far larger than its work",
            "It gives at least twice what the coldest night asks for. Turned down all the time, a liquid-fuel heater"
            " soots up and fails in the cold: run it at full heat for a quarter of an hour every few days, and clean it"
            " by its book. Common practice, no source.",
        ),
        lambda has: has.idling_heater,
    ),
    (
        Caution(
            "Holes in the body",
            "Look from both sides before cutting: beams, airbags, cables and tanks hide behind sheet metal. Work on the"
            " roof from a scaffold, not a ladder; bare metal rusts and a bad seal leaks into the walls.",
        ),
        lambda has: has.opening("roof", "wall", "floor") or has.role("gland"),
    ),
    (
        Caution(
            "Weight",
            "An overloaded axle or a lopsided van steers and brakes badly. Weigh it loaded, each axle and each side;"
            " tie down everything heavy.",
        ),
        lambda has: True,
    ),
)


def cautions(problem: Problem, kit: Kit, catalog: Catalog) -> tuple[Caution, ...]:
    """The cautions that this kit asks for."""
    has = Has(problem, kit, catalog)
    return tuple(caution for caution, wanted in _CAUTIONS if wanted(has))
