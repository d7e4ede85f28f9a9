"""The book as a whole: its chapters in order.

On the road: facts -> *chapters* -> page.
"""

from __future__ import annotations

from optimizer.book.answer import answer
from optimizer.book.blocks import Block, Chapter
from optimizer.book.bounds import limits
from optimizer.book.chosen import chosen
from optimizer.book.closing import assumptions, colophon
from optimizer.book.energy import energy
from optimizer.book.facts import Facts
from optimizer.book.living import living
from optimizer.book.loads import loads
from optimizer.book.ordering import ordering
from optimizer.book.plans import plans
from optimizer.book.render import Cover
from optimizer.book.shopping import careful, first_use, shopping, work
from optimizer.book.using import using
from optimizer.book.wiring import wiring
from optimizer.showing import show
from optimizer.telling import CAUTION


def chapters(
    facts: Facts, clock: str = "", deep: bool = False, seconds: float | None = None
) -> tuple[Chapter, ...]:
    """Every chapter that this kit and brief give reason for.

    ``clock`` is printed when given; ``deep`` adds what has to be chosen again (break-evens, trade-offs),
    for at most so many ``seconds`` a question, and for all trade-offs together; what is open then is said to be.
    """
    extra: tuple[Block, ...] = ()
    more: Chapter | None = None
    if deep:
        from optimizer.book.deep import break_evens, tradeoffs

        extra, more = break_evens(facts, seconds), tradeoffs(facts, seconds)
    found = (
        answer(facts), chosen(facts), energy(facts), living(facts), loads(facts), plans(facts), wiring(facts),
        ordering(facts), shopping(facts), work(facts), first_use(facts), using(facts), limits(facts, extra), more,
        careful(facts), assumptions(facts), colophon(facts, clock),
    )  # fmt: skip
    return tuple(chapter for chapter in found if chapter is not None)


def cover(facts: Facts) -> Cover:
    """Title and subtitle."""
    people = len(facts.job.brief.people)
    subtitle = (
        f"{facts.job.brief.vehicle.name}: {people} {'person' if people == 1 else 'people'},"
        f" {show(facts.kit.nights, 'nights')} without a hook-up, {facts.kit.voltage} V"
    )
    return Cover(facts.title, subtitle, closing=CAUTION)
