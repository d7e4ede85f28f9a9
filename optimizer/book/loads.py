"""Mass and axles in each loading state, and where everything rests.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from optimizer.book import charts
from optimizer.book.blocks import Bars, Block, Cell, Chapter, Figure, Table
from optimizer.book.bounds import bar
from optimizer.book.facts import Facts
from optimizer.places.weighing import resting
from optimizer.problem.space import STATES, At
from optimizer.showing import show

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
    mass = [bar(facts, limit) for limit in facts.limits if limit.slug in ("payload", "roof_load")]
    blocks: list[Block] = [Bars("Mass", tuple(mass)), figure, _states(facts, allowed), _resting(facts)]
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


def _resting(facts: Facts) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (_plain(facts, thing.name), *(facts.mass(grams) for grams in thing.masses), *_where(facts, thing.at))
        for thing in resting(facts.job.problem, facts.kit)
    ]
    head = ("what", *STATES, "behind the front axle", "right of the middle")
    return Table("What rests where", head, tuple(rows), small=True,
                 note="'-' stands for a place that is not known: counted in full on both axles.")  # fmt: skip


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
    return show((at.x_low + at.x_high) / 2, "mm", facts.units), show((at.y_low + at.y_high) / 2, "mm", facts.units)
