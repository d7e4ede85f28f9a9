"""What choosing again tells: the break-even of every limit.

On the road: facts + explain -> *blocks* of the chapter on limits. Takes longer than all the rest of a book.
"""

from __future__ import annotations

from optimizer.book.blocks import Block, Cell, Para, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.choosing.solve import Settings
from optimizer.explain.limits import BreakEven, Stories, stories
from optimizer.explain.telling import change_words, swap
from optimizer.explain.why import bench_for
from optimizer.explain.words import give_of, line_of
from optimizer.explain.words import name_of as member_name


def break_evens(facts: Facts, seconds: float | None = None) -> tuple[Block, ...]:
    """Tables of what limits cost; a paragraph instead when the kit is not proven to be best."""
    if facts.status != "proven":
        return (Para("Break-evens are told only for a kit that is proven to be the best; this one is not."),)
    told = stories(bench_for(facts.job, Settings(seconds=seconds)), facts.kit)
    rows: list[tuple[Cell, ...]] = []
    for story in told.limits:
        if story.looser is not None:
            give = give_of(facts.job, story.member, story.looser.give)
            rows.append((_named(story.member), f"With {give}", _then(facts, story.looser)))
    free = [_named(story.member) for story in told.limits if story.looser is None and story.proven]
    open_ = [_named(story.member) for story in told.limits if story.looser is None and not story.proven]
    blocks: list[Block] = [Subhead("What a little give would bring")]
    if rows:
        blocks.append(
            Table(
                "Limits that cost something, the dearest first",
                ("limit", "the next step", "the best kit then"),
                tuple(rows),
            )
        )
    blocks += _tighter(facts, told)
    if free:
        blocks.append(Para("These cost nothing, however far they give: " + "; ".join(free) + "."))
    if open_:
        blocks.append(Para("Not settled within the time: " + "; ".join(open_) + "."))
    return tuple(blocks)


def _named(member: object) -> str:
    name = member_name(member)  # type: ignore[arg-type]
    return name[:1].upper() + name[1:]


def _tighter(facts: Facts, told: Stories) -> list[Block]:
    rows: list[tuple[Cell, ...]] = [
        (_named(story.member), line_of(facts.job, story.member),
         f"With {give_of(facts.job, story.member, story.tighter.give)}", _then(facts, story.tighter))
        for story in told.limits if story.tighter is not None
    ]  # fmt: skip
    head = ("limit", "in the brief", "today's kit must go", "the best kit then")
    return (
        [Table("How far each limit can tighten before this kit must go", head, tuple(rows), small=True)] if rows else []
    )


def _then(facts: Facts, event: BreakEven) -> str:
    if event.kit is None:
        return "no kit at all" if event.proven else "none was found within the time"
    proof = "" if event.proven else " (not proven within the time)"
    return f"{change_words(facts.job, facts.kit, event.kit)}{proof}; {swap(facts.job, facts.kit, event.kit)}"
