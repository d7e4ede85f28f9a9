"""Mass and axles in each loading state, and where everything rests.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from optimizer.book import charts
from optimizer.book.blocks import Bars, Block, Cell, Chapter, Figure, Table
from optimizer.book.bounds import bars
from optimizer.book.facts import Facts
from optimizer.places.weighing import resting
from optimizer.problem.space import STATES, At
from optimizer.showing import show

_NO_PLACE = ", no place"
"""How ``places.weighing`` ends the name of what is left of a group's choice."""
_STATE_WORDS = {
    "departure": "everybody in, everything full",
    "driver alone": "only the driver, tanks empty",
    "return": "on the way back: supplies gone, waste full",
}


def loads(facts: Facts) -> Chapter | None:
    """The chapter; None where the kit's places are not known."""
    if not facts.weights:
        return None
    need = facts.job.problem.need
    allowed = {"front axle": need("front_axle_g"), "rear axle": need("rear_axle_g"), "side difference": need("side_g")}
    alt = "Bars of the load on each axle and of the side difference, in three loading states. " + "; ".join(
        f"{w.state}: front {facts.mass(w.front).text}, rear {facts.mass(w.rear).text}" for w in facts.weights
    )
    figure = Figure("axles", "Axle loads and side difference; dashed: what is allowed.", alt,
                    charts.axles(facts.weights, allowed, facts.units, alt))  # fmt: skip
    mass = bars(facts, (limit for limit in facts.limits if limit.slug in ("payload", "roof_load")))
    blocks: list[Block] = [Bars("Mass", mass), figure, _states(facts, allowed)]
    blocks += [*_filling(facts), _resting(facts)]
    lead = (
        "Worked out, not weighed: weigh the finished van, each axle and each side, before the first long drive."
        " What has no known place counts in full on both axles, so the two together may pass the van's whole mass."
    )
    return Chapter("mass", "Mass and axles", tuple(blocks), lead)


def _states(facts: Facts, allowed: dict[str, int]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            f"{one.state}: {_STATE_WORDS.get(one.state, '')}", facts.mass(one.front, f"front axle {one.state}"),
            facts.mass(one.rear, f"rear axle {one.state}"), facts.mass(one.difference, f"side {one.state}"),
        )
        for one in facts.weights
    ]  # fmt: skip
    rows.append(("allowed", *(facts.mass(grams) for grams in allowed.values())))
    return Table(
        "Loads in each state", ("loading state", "front axle", "rear axle", "one side more"), tuple(rows), feet=1
    )


def _filling(facts: Facts) -> list[Block]:
    """What each thing that is filled or emptied does to the axles, for a person who loads otherwise."""
    space = facts.job.problem.space
    assert space is not None
    found: dict[str, list[float]] = {}
    for thing in resting(facts.job.problem, facts.kit):
        most, least = max(thing.masses), min(thing.masses)
        if most == least or thing.at.x_low is None or thing.at.x_high is None or "/" not in thing.name:
            continue
        # Moments about the front axle (physics.statics): a mass x aft of it puts x / wheelbase on the rear axle.
        rear = (most - least) * (thing.at.x_low + thing.at.x_high) / (space.wheelbase[0] + space.wheelbase[1])
        sums = found.setdefault(_plain(facts, thing.name.rpartition("/")[0]), [0, 0.0, 0.0, 0.0])
        for place, value in enumerate((1, most - least, most - least - rear, rear)):
            sums[place] += value
    rows: list[tuple[Cell, ...]] = [
        (f"{count:g} x {name}" if count > 1 else name, *(facts.signed(facts.num(g / 1000, "kg")) for g in masses))
        for name, (count, *masses) in sorted(found.items(), key=lambda one: -one[1][1])
    ]
    head = ("filled, against empty", "mass", "front axle", "rear axle")
    note = "Fill less, or elsewhere, and take these off; what stands behind the rear axle lifts the front one."
    return [Table("What full tanks and canisters do to the axles", head, tuple(rows), note=note)] if rows else []


def _resting(facts: Facts) -> Table:
    things = resting(facts.job.problem, facts.kit)
    placed = {thing.name.partition("/")[0] for thing in things if "/" in thing.name}
    rows: list[tuple[Cell, ...]] = [
        (_named(facts, thing.name, placed), *(facts.mass(grams) for grams in thing.masses), *_where(facts, thing.at))
        for thing in things
    ]
    head = ("what", *STATES, "behind the front axle", "from the middle")
    return Table("What rests where", head, tuple(rows), small=True,
                 note="'-' stands for a place that is not known: counted in full on both axles.")  # fmt: skip


def _named(facts: Facts, name: str, placed: set[str]) -> str:
    """What a line of the table is about; what has no place goes by the part it belongs to."""
    group, spread, _ = name.partition(_NO_PLACE)
    option = facts.option(group) if spread else None
    if option is None or not option.parts:
        return _plain(facts, group)
    part = _plain(facts, f"{group}/{option.parts[0][0]}")
    return f"{part}: cables, fittings, supplies" if group in placed else f"{part}: no place of its own"


def _plain(facts: Facts, name: str) -> str:
    """'battery/bat-a/1' as a person reads it."""
    group, _, rest = name.partition("/")
    part, _, number = rest.partition("/")
    if not rest:
        return group.replace("_", " ")
    known = facts.name_of(part) if part in facts.job.catalog else part
    return f"{known} ({number})" if number else known


def _where(facts: Facts, at: At) -> tuple[Cell, Cell]:
    if at.x_low is None or at.x_high is None:
        return "-", "-"
    aft, right = (at.x_low + at.x_high) / 2, (at.y_low + at.y_high) / 2
    side = "" if abs(right) < 1 else " right" if right > 0 else " left"
    return show(aft, "mm", facts.units), f"{show(abs(right), 'mm', facts.units)}{side}" if side else "middle"
