"""What keeps a short circuit from becoming a fire: main fuse, disconnect, fuse box, and a cable for everything.

The circuits themselves are worked out before choosing (``optimizer.circuits``); here they meet.
"""

from __future__ import annotations

from typing import Any

from optimizer.problem.records import LINKS_MA, Kit, Problem
from optimizer.rules.base import Limit, Variables
from optimizer.rules.currents import alone_loads, alone_variables

LOW_V = 11
"""A 12 V bank nearly empty under load, see ``circuits.volts.LOW_V_12`` [V]."""
MAIN, DISCONNECT, BOX = "safety main_fuse", "safety disconnect", "safety fuse_box"


class Wiring:
    """Every circuit can be wired and fused with what is on offer, each fuse near its source."""

    slug = "wiring"
    sentence = (
        "Every circuit has a cable, fuse and fittings on offer that carry it and keep the drop; what is fed from the"
        " fuse box takes 12 V; fuses sit no further from their source than 33 CFR 183.455 allows."
    )

    def add(self, variables: Variables) -> None:
        """Options without a complete circuit are out."""
        problem = variables.problem
        for group in problem.groups:
            for option in group.options:
                if option.get("unwired"):
                    variables.demand(self.slug, variables.picked(group, option) == 0)
        near = problem.need("fuse_distance_mm") <= problem.need("fuse_distance_most_mm")
        variables.demand(self.slug, variables.number("always_zero", 0) <= (0 if near else -1))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Counts chosen options without a complete circuit; distance of the fuses."""
        unwired = kit.sum(problem, "unwired")
        far, most = problem.need("fuse_distance_mm"), problem.need("fuse_distance_most_mm")
        return (
            Limit(self.slug, self.slug, self.sentence, "circuits", 1, unwired, 0),
            Limit(self.slug, f"{self.slug} fuse distance", self.sentence, "mm", 1, far, most),
        )


class FuseBox:
    """The fuse box carries everything on 12 V at once, and has a way for each."""

    slug = "fuse_box"
    sentence = "The fuse box has a way for each circuit on 12 V, and its feed carries all that may run at once."

    def add(self, variables: Variables) -> None:
        """Ways and current within the box."""
        problem = variables.problem
        if not problem.has(BOX):
            return
        ways = problem.need("dc_base_ways") + variables.total("dc_ways")
        variables.demand(self.slug, ways <= variables.of(BOX, "ways"))
        base = problem.need("dc_base_w") + variables.total("dc_run_w")
        for alone in alone_variables(variables):
            watts = base + alone["dc_w"]
            variables.demand(self.slug, 1000 * watts <= LOW_V * variables.of(BOX, "feed_ma"))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Current at 12 V against the feed, circuits against ways."""
        if not problem.has(BOX):
            return ()
        used = dc_current_ma(problem, kit)
        ways = problem.need("dc_base_ways") + kit.sum(problem, "dc_ways")
        box = kit.chosen(problem, BOX)
        feed, most = (box.get("feed_ma"), box.get("ways")) if box is not None else (0, 0)
        return (
            Limit(self.slug, f"{self.slug} current", self.sentence, "A", 1000, used, feed),
            Limit(self.slug, f"{self.slug} ways", self.sentence, "circuits", 1, ways, most),
        )


def dc_current_ma(problem: Problem, kit: Kit) -> int:
    """Largest current at 12 V from a nearly empty bank [mA]."""
    base = problem.need("dc_base_w") + kit.sum(problem, "dc_run_w")
    watts = base + max(dc for _, dc in alone_loads(problem, kit))
    return -(-1000 * watts // LOW_V)


class MainFuse:
    """The main fuse holds what the bank gives and takes, and breaks the bank's own short circuit."""

    slug = "main_fuse"
    sentence = (
        "The main fuse is rated at least a quarter above the largest steady current of the bank and no more than the"
        " links between batteries carry, and breaks the bank's fault current."
    )

    def add(self, variables: Variables) -> None:
        """Rating above discharge and charge, within the links; interrupt rating above the fault current."""
        problem = variables.problem
        if not problem.has(MAIN):
            return
        rating: Any = variables.of(MAIN, "rating_ma")
        charge = variables.total("output_ma") + variables.total("charger_ma") + variables.total("hookup_ma")
        variables.demand(self.slug, 5 * charge <= 4 * rating)
        drawn = variables.total("bank_draw_ma")
        base = problem.need("dc_base_w") + variables.total("dc_run_w")
        for voltage, chosen in variables.voltages().items():
            if voltage != 12:
                variables.demand(self.slug, 5 * drawn <= 4 * rating, chosen)
                continue
            for alone in alone_variables(variables):
                milliwatts = LOW_V * drawn + 1000 * (base + alone["dc_w"])
                variables.demand(self.slug, 5 * milliwatts <= 4 * LOW_V * rating, chosen)
        variables.demand(self.slug, variables.of(MAIN, "guarded_ma") + variables.total("links_short_ma") <= LINKS_MA)
        breaks = variables.of(MAIN, "interrupt_ma")
        variables.demand(self.slug, variables.total("fault_ma", "battery") <= breaks)

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """A quarter above the bank's largest current against the rating; fault against interrupt rating; rating
        against what links between batteries carry, where there are any.
        """
        if not problem.has(MAIN):
            return ()
        fuse = kit.chosen(problem, MAIN)
        rating, breaks = (fuse.get("rating_ma"), fuse.get("interrupt_ma")) if fuse is not None else (0, 0)
        used = largest_fused_ma(problem, kit)
        fault = kit.sum(problem, "fault_ma", "battery")
        limits = (
            Limit(self.slug, self.slug, self.sentence, "A", 1000, used, rating),
            Limit(self.slug, f"{self.slug} interrupt", self.sentence, "A", 1000, fault, breaks),
        )
        short = kit.sum(problem, "links_short_ma")
        if not short:
            return limits
        guarded = fuse.get("guarded_ma") if fuse is not None else 0
        return (*limits, Limit(self.slug, f"{self.slug} links", self.sentence, "A", 1000, guarded, LINKS_MA - short))


def largest_fused_ma(problem: Problem, kit: Kit) -> int:
    """A quarter above the largest current in or out [mA], rounded up once."""
    base = problem.need("dc_base_w") + kit.sum(problem, "dc_run_w")
    watts = base + max(dc for _, dc in alone_loads(problem, kit)) if kit.voltage == 12 else 0
    out = LOW_V * kit.sum(problem, "bank_draw_ma") + 1000 * watts
    return max(-(-5 * charge_ma(problem, kit) // 4), -(-5 * out // (4 * LOW_V)))


def charge_ma(problem: Problem, kit: Kit) -> int:
    """All chargers at their full output [mA]."""
    return sum(kit.sum(problem, name) for name in ("output_ma", "charger_ma", "hookup_ma"))


def discharge_ma(problem: Problem, kit: Kit) -> int:
    """Inverter or converter at full power, with all that runs on 12 V where the bank is 12 V [mA]."""
    drawn = kit.sum(problem, "bank_draw_ma")
    return drawn + dc_current_ma(problem, kit) if kit.voltage == 12 else drawn


class Disconnect:
    """The disconnect is guarded by the main fuse."""

    slug = "disconnect"
    sentence = "The battery disconnect carries at least what the main fuse lets through."

    def add(self, variables: Variables) -> None:
        """Rating at least the main fuse's."""
        if variables.problem.has(MAIN) and variables.problem.has(DISCONNECT):
            passed = variables.of(MAIN, "guarded_ma")
            variables.demand(self.slug, passed <= variables.of(DISCONNECT, "rating_ma"))

    def holds(self, problem: Problem, kit: Kit) -> tuple[Limit, ...]:
        """Main fuse against the disconnect's rating."""
        if not problem.has(MAIN) or not problem.has(DISCONNECT):
            return ()
        fuse, switch = kit.chosen(problem, MAIN), kit.chosen(problem, DISCONNECT)
        used = fuse.get("guarded_ma") if fuse is not None else 0
        allowed = switch.get("rating_ma") if switch is not None else 0
        return (Limit(self.slug, self.slug, self.sentence, "A", 1000, used, allowed),)
