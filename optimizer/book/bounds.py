"""The limits: how much of each is used, and what the next step of each would bring.

On the road: facts -> *chapter*.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from optimizer.book.answer import name_of, share
from optimizer.book.blocks import Bar, Bars, Block, Cell, Chapter, Table
from optimizer.book.facts import Facts
from optimizer.rules import Limit
from optimizer.showing import COUNTS


def limits(facts: Facts, extra: tuple[Block, ...] = ()) -> Chapter:
    """Every limit, the tightest first; ``extra`` follows (break-evens)."""
    measured = [limit for limit in facts.limits if limit.allowed > 0 and (limit.used or limit.allowed)]
    ordered = sorted(measured, key=lambda one: (-share(one), facts.limits.index(one)))
    counted = [limit for limit in ordered if limit.unit in COUNTS]
    sized = [limit for limit in ordered if limit not in counted]
    blocks: list[Block] = [
        Bars("Limits that measure something, the tightest first", bars(facts, sized)),
        Bars("Limits that count", bars(facts, counted)),
    ]
    kept = [limit for limit in facts.limits if limit not in measured]
    if kept:
        rows: list[tuple[Cell, ...]] = [
            (name_of(limit), limit.sentence, "kept" if limit.met else "broken") for limit in kept
        ]
        blocks.append(
            Table("Rules without a number of their own", ("rule", "what it asks", "how it stands"), tuple(rows))
        )
    lead = (
        "Used is what the kit takes, or what the brief asks of it; allowed is what there is, or what the kit can do."
        " Both as the plain check counts them: demand rounded up, supply rounded down."
    )
    title = "Limits, and what their next step would bring" if extra else "Limits"
    return Chapter("limits", title, (*blocks, *extra), lead)


def bars(facts: Facts, ordered: Iterable[Limit]) -> tuple[Bar, ...]:
    """Bars, each sort of limit with its sentence only the first time."""
    return tuple(_once(facts, ordered))


def _once(facts: Facts, ordered: Iterable[Limit]) -> Iterator[Bar]:
    told: set[str] = set()
    for limit in ordered:
        yield replace(_bar(facts, limit), sentence="" if limit.slug in told else limit.sentence)
        told.add(limit.slug)


def _bar(facts: Facts, limit: Limit) -> Bar:
    """A limit as a bar."""
    used, allowed, room = (facts.num(v / limit.scale, limit.unit) for v in (limit.used, limit.allowed, limit.room))
    return Bar(name_of(limit), limit.sentence, used, allowed, room, share(limit), limit.name)
