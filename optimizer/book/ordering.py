"""Before money is spent: what to measure on the van, what a data sheet must say, and what may stand in.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from optimizer.book.blocks import Block, Cell, Chapter, Num, Para, Subhead, Table
from optimizer.book.chosen import what
from optimizer.book.facts import Facts
from optimizer.book.oneline import LINKS, in_reading_order
from optimizer.book.standins import StandIn, stand_in
from optimizer.buying.tables import length
from optimizer.problem.records import Group, Option
from optimizer.showing import show
from optimizer.telling import option_cents

_BLANK = "........"
_LONG = {"metric": "m", "us": "ft"}
_NOTHING = "none by itself"
_MUST: tuple[tuple[str, str, str], ...] = (
    ("sunless_energy", "battery", "usable energy, if the sunless days were all"),
    ("discharge_power", "battery", "gives without a stop"),
    ("discharge_power starting", "battery", "gives for the seconds of a start"),
    ("charge_current", "battery", "takes while charging"),
    ("array_voltage", "charge_controller", "stands from the panels"),
    ("array_current", "charge_controller", "takes from the panels"),
    ("controller_current", "charge_controller", "gives into the bank"),
    ("inverter_continuous", "inverter", "gives without a stop"),
    ("inverter_starting", "inverter", "gives for the moment of a start"),
    ("converter_power", "dc_converter", "gives without a stop"),
    ("heat_output", "heater", "gives at the altitude of the brief"),
    ("chilled", "cold_box", "room above freezing"),
    ("frozen", "cold_box", "room below freezing"),
    ("water", "water_container", "holds"),
    ("grey_water", "grey_container", "holds"),
    ("toilet", "toilet", "lasts for"),
    ("fuse_box current", "safety fuse_box", "its feed carries"),
    ("fuse_box ways", "safety fuse_box", "ways"),
    ("main_fuse", "safety main_fuse", "rating"),
    ("main_fuse interrupt", "safety main_fuse", "fault current that it breaks"),
    ("disconnect", "safety disconnect", "carries"),
)
"""Limit by its name (less the number of an array), kind or group of part, and what its data sheet says."""


def ordering(facts: Facts) -> Chapter:
    """The chapter."""
    blocks: list[Block] = [
        Subhead("Measure the van first"),
        Para("The kit is as right as the numbers it was chosen by. Where yours differ, change the brief and choose"
             " again: it costs nothing yet."),
        _measure(facts), *_must(facts), *_stand_ins(facts),
    ]  # fmt: skip
    return Chapter("ordering", "Before you order", tuple(blocks))


def _measure(facts: Facts) -> Table:
    vehicle = facts.job.brief.vehicle
    roof = vehicle.roof
    num = facts.num
    rows: list[tuple[Cell, ...]] = [
        ("front axle, empty, tank full", num(vehicle.front_axle_mass, "kg"), "weighbridge"),
        ("rear axle, empty, tank full", num(vehicle.rear_axle_mass, "kg"), "weighbridge"),
        ("ratings: whole van, front, rear", _joined(facts, "kg", vehicle.gross_mass, vehicle.front_axle_rating,
                                                    vehicle.rear_axle_rating), "plate on the van"),
        ("axle to axle; wheel to wheel", _joined(facts, "mm", vehicle.wheelbase, vehicle.track), "tape"),
        ("length; height of the bare roof", _joined(facts, "mm", vehicle.length, vehicle.height), "tape"),
        ("flat part of the roof", _joined(facts, "mm", roof.length, roof.width, by=" x "), "tape, on a scaffold"),
        ("what the roof may carry", num(roof.load, "kg"), "owner's manual"),
        *((f"bay: {bay.name}", _joined(facts, "mm", bay.length, bay.width, bay.height, by=" x "),
           "inside, the narrowest place") for bay in vehicle.bays),
        ("alternator", num(vehicle.alternator_current, "A"), "its label"),
        *((name, Num(long, f"{length(long, facts.units):g} {_LONG[facts.units]}"), "string along the path")
          for name, long in _runs(facts)),
    ]  # fmt: skip
    given = tuple((*row, _BLANK) for row in rows)
    return Table("What to measure", ("what", "counted with", "how", "measured"), given, tick=True, small=True)


def _runs(facts: Facts) -> list[tuple[str, float]]:
    """How long each run was counted, what hangs on the fuse box as one: its longest."""
    small = [circuit.length_m for circuit in facts.circuits if circuit.level == "box"]
    runs = [(c.name, c.length_m) for c in in_reading_order(facts.circuits) if c.level != "box" and c.name != LINKS]
    return [*runs, *([("fuse box to the furthest appliance", max(small))] if small else [])]


def _joined(facts: Facts, unit: str, *values: float, by: str = "; ") -> str:
    return by.join(show(value, unit, facts.units) for value in values)


def _must(facts: Facts) -> list[Block]:
    """What the kit asks of each part, beside what the chosen one has."""
    rows: list[tuple[Cell, ...]] = []
    for name, kind, words in _MUST:
        for limit in facts.limits:
            if limit.name.rstrip(" 12") != name or not limit.allowed or not limit.used:
                continue
            named = "; ".join(what(facts, option) for group, option in facts.kit.options(facts.job.problem)
                              if kind in (group.kind, group.name) and not group.hidden)  # fmt: skip
            used, allowed = (facts.num(v / limit.scale, limit.unit) for v in (limit.used, limit.allowed))
            number = limit.name[-1]
            named = what_of(facts, f"controller_{number}") if number in "12" and "controller" in kind else named
            rows.append((named, words, used, allowed))
    note = (
        "Room between the two is what a cheaper or nearer part may give up. For energy and heat over a trip the hours"
        " decide, not these alone: type the data sheet into a catalog of your own and let the trips run."
    )
    head = ("instead of", "the data sheet must say", "at least", "this one has")
    table = Table("What a part must do", head, tuple(rows), note=note, small=True, stack=True, quiet=True,
                  widths=(40, 34, 13, 13))  # fmt: skip
    return [Subhead("What the data sheet must say"), table] if rows else []


def _stand_ins(facts: Facts) -> list[Block]:
    rows: list[tuple[Cell, ...]] = []
    for group, option in facts.kit.options(facts.job.problem):
        if not group.hidden and (option_cents(facts.job.problem, facts.kit, option) or option.mass_g):
            rows.append(_row(facts, group, option, stand_in(facts, group, option)))
    lead = (
        "Each was put in the place of the one chosen, everything else left as it is, and keeps every rule, comes"
        " through the trips asked for and finds its place. Where there is none by itself, or for two changes at once,"
        " choose again with the missing parts under 'refused' in the brief."
    )
    head = ("not to be had", "nearest stand-in", "price", "mass", "circuits to look up again")
    table = Table("Stand-ins", head, tuple(rows), small=True, stack=True, quiet=True,
                  widths=(29, 29, 10, 10, 22))  # fmt: skip
    return [Subhead("If a part is not to be had"), Para(lead), table]


def what_of(facts: Facts, group: str) -> str:
    """What was chosen in a group, by name."""
    option = facts.option(group)
    return what(facts, option) if option is not None else ""


def _row(facts: Facts, group: Group, option: Option, found: StandIn | None) -> tuple[Cell, ...]:
    mine = what(facts, option)
    if found is None:
        return mine, _NOTHING, "", "", ""
    price, mass = facts.num(found.cents / 100, "USD"), facts.num(found.grams / 1000, "kg")
    return (
        mine, what(facts, found.option), facts.signed(price), facts.signed(mass), "; ".join(found.rewired) or "none",
    )  # fmt: skip
