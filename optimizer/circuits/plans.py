"""The circuits that each electric part brings, from what the brief says of runs.

On the road: brief + catalog -> *circuits* -> problem. Each circuit hangs on one choice, so its cable, fuse
and fittings are priced with that choice. Everything at 12 V is fed from the fuse box, whatever the bank.

Common practice, no source: 3 % drop on what charges or must not stop, 10 % on small loads (small-craft
practice, ABYC E-11 and ISO 13297, from memory); string fuses where three or more strings meet (NEC 690.9
lets two go without, from memory); the fuse at about 125 % of the continuous current.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil

from optimizer.brief.vehicle import Runs
from optimizer.circuits.records import Wired, joined
from optimizer.circuits.shelf import Shelf
from optimizer.circuits.sizing import HAIR, STYLES, Need, metres, wire
from optimizer.circuits.volts import absorption_v, low_v
from optimizer.parts.records import AlternatorCharger, Fuse, Inverter, MainsCharger, Part, SafetyItem, SolarPanel
from optimizer.physics.wire import (
    CONTINUOUS_FACTOR,
    CRITICAL_DROP_SHARE,
    OTHER_DROP_SHARE,
    pv_circuit_current_a,
    pv_conductor_current_a,
)

LINK_M = 0.3
"""Cable between two batteries of a bank, one way; common practice, no source."""
CELLS_A_STRAP = 4
"""Loose cells side by side in their enclosure that one strap holds; common practice, no source."""
START_HOURS = 1 / 12
"""How long a fuel heater's start takes: five minutes; common practice, no source."""
STRINGS_WITHOUT_FUSES = 2
SERIES_FUSE_A = 15.0
"""Series fuse that a panel of any size takes [A]; common practice, no source: its label goes first."""
RESIDUAL_MA = 30.0
"""What the residual-current device of every mains board and hook-up lead opens at [mA]: IEC 60364-4-41, 411.3.3, and
IEC 60364-7-721 ask for no more than this (from memory)."""
OWN_BREAKER = 16.0
"""Rating of each breaker on a mains board, and of the sockets and inlets behind it [A]; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Planner:
    """Makes the circuits of a brief: what is on offer, how far it runs, and the mains voltage."""

    shelf: Shelf
    runs: Runs
    mains_v: float
    ways: Mapping[str, float] = field(default_factory=dict)
    """Lengths from the places of both ends that go before the brief's run [m], by run or by kind of appliance."""

    def way(self, run: str) -> float:
        """How far something runs, one way [m]."""
        return self.ways.get(run) or float(getattr(self.runs, run))

    # -- at the bank ----------------------------------------------------------------------------

    def bank(
        self, count: int, parallel: int, drawn_a: float, bank_v: int, main_fuse_a: float, loose: bool = False
    ) -> Wired:
        """Straps for each battery or for a box of ``loose`` cells; links that carry a main fuse's whole rating.

        They have no fuse but that one: a rule holds the one that is bought to what they carry. Loose cells have none:
        the busbars between them come with their manager.
        """
        straps = self.pieces("battery_strap", ceil(count / CELLS_A_STRAP) if loose else count)
        links = 0 if loose else count - 1 + (parallel - 1 if parallel > 1 else 0)
        if links <= 0:
            return straps
        current = min(drawn_a, main_fuse_a / CONTINUOUS_FACTOR)
        length = self.ways.get("links", LINK_M) * links / 2
        link = wire(self.shelf, Need(
            name="battery links", level="none", current_a=current, system_v=float(bank_v),
            fault_v=absorption_v(bank_v), length_m=length, drop_limit=CRITICAL_DROP_SHARE, least_ampacity_a=main_fuse_a,
        ))  # fmt: skip
        lugs = self.pieces("lug", max(0, 2 * links - 4), area_mm2=self._area(link))
        return joined(straps, link, lugs)

    def _area(self, wired: Wired) -> float:
        sizes = {circuit.size for circuit in wired.circuits}
        return max((area for area, cable in self.shelf.cables("dc") if cable.size in sizes), default=0.0) * (1 - HAIR)

    def main_fuse(self, part: SafetyItem) -> Wired:
        """Bank to busbars: cable that the main fuse guards, and busbars for as much."""
        lead = self._bank_need("bank to busbars", part.rating_a / CONTINUOUS_FACTOR, 12, self.runs.bank_to_busbar)
        lead = replace(lead, level="bank", guard_a=part.rating_a)
        return joined(wire(self.shelf, lead), self.pieces("busbar", 1, rating_a=part.rating_a))

    def _bank_need(self, name: str, current_a: float, bank_v: int, length_m: float) -> Need:
        return Need(
            name=name, level="branch", current_a=current_a, system_v=float(bank_v), fault_v=absorption_v(bank_v),
            length_m=length_m, drop_limit=CRITICAL_DROP_SHARE, fuse_distance_mm=self.runs.fuse_from_source,
            sheathed=self.runs.sheathed,
        )

    def charger(self, name: str, output_a: float, bank_v: int, length_m: float) -> Wired:
        """A charger or solar controller to the busbars, fused there: the bank is the source to fear."""
        return wire(self.shelf, self._bank_need(name, output_a, bank_v, length_m))

    def inverter(self, part: Inverter, bank_v: int, length_m: float = 0.0) -> Wired:
        """Busbars to inverter at full power, and the mains side of one that is wired in.

        Here and below a ``length_m`` of 0 is the brief's run.
        """
        drawn = draw_a(part.continuous_w, part.efficiency, bank_v)
        supply = self._bank_need("busbars to inverter", drawn, bank_v, length_m or self.runs.bank_to_inverter)
        if part.skill != "mains_wiring":
            return wire(self.shelf, supply)
        current = part.continuous_w / self.mains_v
        mains = self._mains("inverter to mains sockets", current, self.runs.inverter_to_sockets)
        sockets = ceil(CONTINUOUS_FACTOR * current / OWN_BREAKER - HAIR)
        return joined(wire(self.shelf, supply), mains, self.pieces("mains_socket", sockets, rating_a=OWN_BREAKER))

    def converter(self, continuous_w: float, efficiency: float, bank_v: int, length_m: float = 0.0) -> Wired:
        """Busbars to the 12 V converter."""
        current, length = draw_a(continuous_w, efficiency, bank_v), length_m or self.runs.bank_to_converter
        return wire(self.shelf, self._bank_need("busbars to converter", current, bank_v, length))

    # -- what charges ---------------------------------------------------------------------------

    def alternator(
        self, part: AlternatorCharger, taken_a: float, alternator_v: float, bank_v: int, length_m: float = 0.0
    ) -> Wired:
        """Starter battery to charger through the engine space, and on to the busbars; fused at both ends."""
        first = self.way("alternator_to_charger")
        feed = Need(
            name="starter battery to alternator charger", level="branch", current_a=taken_a, system_v=alternator_v,
            fault_v=alternator_v * 1.05, length_m=first, drop_limit=CRITICAL_DROP_SHARE,
            engine_space=True, fuse_distance_mm=self.runs.fuse_from_source, sheathed=self.runs.sheathed,
        )  # fmt: skip
        length = length_m or self.runs.charger_to_bank
        on = self.charger("alternator charger to busbars", part.output_a, bank_v, length)
        conduit = self.pieces("conduit", metres(first, 1))
        return joined(wire(self.shelf, feed), on, conduit)

    def mains_charger(self, part: MainsCharger, bank_v: int, length_m: float = 0.0) -> Wired:
        """Hook-up to charger, wired in or by a lead with its own residual-current device, and on to the busbars."""
        length = length_m or self.runs.charger_to_bank
        on = self.charger("mains charger to busbars", part.output_a, bank_v, length)
        current = part.output_a * absorption_v(bank_v) / part.efficiency / self.mains_v
        if part.skill != "mains_wiring":
            return joined(on, self.pieces("hookup_lead", 1, rating_a=current))
        mains = self._mains("hook-up to mains charger", current, self.runs.hookup_to_charger)
        return joined(on, mains, self.pieces("hookup_inlet", 1, rating_a=OWN_BREAKER), self.pieces("sealant", 1))

    def _mains(self, name: str, current_a: float, length_m: float) -> Wired:
        """Mains behind a board with a residual-current device for all of it, and a breaker for each cable.

        A breaker lets no more through than a socket carries, so what is stronger has several cables alike, told once.
        """
        breaker = max(OWN_BREAKER, CONTINUOUS_FACTOR * current_a)
        board = self.shelf.fitting("mains_board", rating_a=breaker * (1 - HAIR), volts=self.mains_v)
        if board is None:
            return Wired(complete=False)
        count = ceil(breaker / OWN_BREAKER - HAIR)
        start, _, end = name.partition(" to ")
        circuit = wire(self.shelf, Need(
            name=name if count == 1 else f"{start} to each of {count} {end}", level="none", current_a=current_a / count,
            system_v=self.mains_v, fault_v=self.mains_v, length_m=length_m, drop_limit=CRITICAL_DROP_SHARE, use="mains",
            guard_a=OWN_BREAKER, residual_ma=RESIDUAL_MA,
        ))  # fmt: skip
        return joined(replace(circuit, parts=joined(*[circuit] * count).parts), Wired(parts=((board, 1),)))

    def array(self, part: SolarPanel, series: int, parallel: int, voc_cold_v: float) -> Wired:
        """Roof to controller: 1.25 times the short-circuit current, and 1.25 again on the cable [NEC 690.8]."""
        current = pv_circuit_current_a(parallel * part.isc_a)
        need = Need(
            name="panels to solar controller", level="none", current_a=current, system_v=series * part.vmp_v,
            fault_v=voc_cold_v, length_m=self.way("roof_to_controller"), drop_limit=CRITICAL_DROP_SHARE, use="solar",
            least_ampacity_a=pv_conductor_current_a(parallel * part.isc_a), strings=parallel,
        )  # fmt: skip
        switch = self.pieces("array_switch", 1, rating_a=current, volts=voc_cold_v)
        branch = self.pieces("solar_plug", 2 * (parallel - 1), rating_a=pv_circuit_current_a(part.isc_a))
        plugs = joined(self.pieces("solar_plug", 1, rating_a=current), branch)
        sealing = joined(self.pieces("gland", 1), self.pieces("sealant", ceil((series * parallel + 1) / 2)))
        fuse, fuses = self._string_fuses(part, parallel, voc_cold_v)
        down, guard = wire(self.shelf, need), fuse.rating_a if fuse else 0.0
        strung = [
            replace(circuit, string_current_a=pv_circuit_current_a(part.isc_a), string_fuse_a=guard)
            for circuit in down.circuits
        ]
        return joined(replace(down, circuits=tuple(strung)), switch, plugs, sealing, fuses)

    def _string_fuses(self, part: SolarPanel, parallel: int, volts: float) -> tuple[Fuse | None, Wired]:
        """One fuse a string where three or more strings could feed into a faulty one."""
        if parallel <= STRINGS_WITHOUT_FUSES:
            return None, Wired()
        least = string_fuse_a(part.isc_a) * (1 - HAIR)
        fuse = self.shelf.fuse(("solar",), least, max(SERIES_FUSE_A, 2 * least), volts, 0.0)
        holder = fuse and self.shelf.fitting("fuse_holder", rating_a=fuse.rating_a, volts=volts, style="solar")
        if fuse is None or holder is None:
            return None, Wired(complete=False)
        return fuse, Wired(parts=((fuse, parallel), (holder, parallel)))

    # -- at 12 V --------------------------------------------------------------------------------

    def fuse_box(self, part: SafetyItem, uses: Sequence[tuple[str, float]], length_m: float = 0.0) -> Wired:
        """Busbars (or converter) to fuse box, and from it to each thing of the brief that runs on 12 V [W]."""
        feed_a = self.feed_limit_a(part)
        if not feed_a:
            return Wired(complete=False)
        feed = self._bank_need("busbars to fuse box", feed_a, 12, length_m or self.runs.bank_to_fuse_box)
        branches = [self.appliance(name, watts) for name, watts in uses]
        return joined(wire(self.shelf, feed), self.pieces("clips", 1 + len(branches) // 3), *branches)

    def feed_limit_a(self, part: SafetyItem) -> float:
        """Steady current a fuse box may be fed with [A]: the largest fuse on offer within its rating, over 1.25."""
        return self.shelf.largest_fuse_a(STYLES["branch"], part.rating_a, absorption_v(12)) / CONTINUOUS_FACTOR

    def appliance(self, name: str, watts: float, dc_v: str = "12", steady: bool = False, kind: str = "") -> Wired:
        """Fuse box to one appliance at 12 V; incomplete when it does not take 12 V.

        One of a ``kind`` that has its place takes the length from there, all others the brief's run.
        """
        if watts <= 0:
            return Wired()
        if "12" not in dc_v.split("|"):
            return Wired(complete=False)
        length = self.ways.get(kind, self.runs.fuse_box_to_appliance)
        circuit = wire(self.shelf, Need(
            name=f"fuse box to {name}", level="box", current_a=watts / low_v(12), system_v=12.0,
            fault_v=absorption_v(12), length_m=length,
            drop_limit=CRITICAL_DROP_SHARE if steady else OTHER_DROP_SHARE,
        ))  # fmt: skip
        return joined(circuit, self.pieces("conduit", metres(length, 1)))

    # -- small parts ----------------------------------------------------------------------------

    def pieces(
        self, role: str, count: int, *, rating_a: float = 0.0, volts: float = 0.0, area_mm2: float = 0.0
    ) -> Wired:
        """So many of the cheapest fitting of a role that will do (metres for what is sold by the metre)."""
        if count <= 0:
            return Wired()
        part: Part | None = self.shelf.fitting(role, rating_a=rating_a, volts=volts, area_mm2=area_mm2)
        return Wired(complete=False) if part is None else Wired(parts=((part, count),))


def draw_a(continuous_w: float, efficiency: float, bank_v: int) -> float:
    """Current that an inverter or converter takes at full power from a nearly empty bank [A]."""
    return continuous_w / efficiency / low_v(bank_v)


def string_fuse_a(isc_a: float) -> float:
    """Least fuse of a solar string [A]: 1.25 x 1.25 times its short-circuit current, NEC 690.8(B)."""
    return pv_conductor_current_a(isc_a)
