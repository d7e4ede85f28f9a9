"""What choosing again tells: the break-even of every limit, and every trade-off between money and mass.

On the road: facts + explain, frontier -> *chapters*. Takes longer than all the rest of a book, so it is asked
for by name.
"""

from __future__ import annotations

from optimizer.book import charts
from optimizer.book.blocks import Block, Cell, Chapter, Figure, Para, Subhead, Table
from optimizer.book.facts import Facts
from optimizer.choosing.solve import Settings
from optimizer.explain.break_evens import BreakEven
from optimizer.explain.limits import Stories, stories
from optimizer.explain.telling import MOVED, change_words, same_kit, swap
from optimizer.explain.why import bench_for
from optimizer.explain.words import line_of, with_give
from optimizer.explain.words import name_of as member_name
from optimizer.frontier.records import Frontier, Point
from optimizer.frontier.telling import tell_head


def break_evens(facts: Facts, seconds: float | None = None) -> tuple[Block, ...]:
    """Tables of what limits cost; a paragraph instead when the kit is not proven to be best."""
    if facts.status != "proven":
        return (Para("Break-evens are told only for a kit that is proven to be the best; this one is not."),)
    return of_stories(facts, stories(bench_for(facts.job, Settings(seconds=seconds)), facts.kit, tight=True))


def of_stories(facts: Facts, told: Stories) -> tuple[Block, ...]:
    """Limits with their break-evens as tables."""
    rows: list[tuple[Cell, ...]] = []
    for story in told.limits:
        if story.looser is not None:
            give = with_give(facts.job, story.member, story.looser.give)
            rows.append((_named(story.member), give, _then(facts, story.looser)))
    free = [_named(story.member) for story in told.limits if story.looser is None and story.proven]
    open_ = [_named(story.member) for story in told.limits if story.looser is None and not story.proven]
    blocks: list[Block] = [Subhead("What a little give would bring")]
    if rows:
        blocks.append(
            Table(
                "Limits that cost something, the dearest first",
                ("limit", "the next step", "the best kit then"),
                tuple(rows),
                small=True,
                stack=True,
                widths=(22, 22, 56),
            )
        )
    blocks += _tighter(facts, told)
    if free:
        blocks.append(Para("These cost nothing, however far they give: " + "; ".join(free) + "."))
    if open_:
        blocks.append(Para("Not settled within the time: " + "; ".join(open_) + "."))
    return tuple(blocks)


def _named(member: object) -> str:
    return _capital(member_name(member))  # type: ignore[arg-type]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _tighter(facts: Facts, told: Stories) -> list[Block]:
    rows: list[tuple[Cell, ...]] = [
        (_named(story.member), line_of(facts.job, story.member),
         with_give(facts.job, story.member, story.tighter.give), _then(facts, story.tighter))
        for story in told.limits if story.tighter is not None
    ]  # fmt: skip
    head = ("limit", "in the brief", "the next step", "the best kit then")
    return (
        [Table("How far each limit can tighten before this kit must go", head, tuple(rows), small=True, stack=True,
               widths=(20, 15, 20, 45))] if rows else []
    )


def _then(facts: Facts, event: BreakEven) -> str:
    if event.kit is None:
        return "no kit at all" if event.proven else "none was found within the time"
    if same_kit(facts.kit, event.kit):
        return MOVED
    proof = "" if event.proven else " (not proven within the time)"
    return f"{change_words(facts.job, facts.kit, event.kit)}{proof}; {swap(facts.job, facts.kit, event.kit)}"


GOALS = ("price", "mass")
MOST = 12
"""Trade-offs that the book shows: a page of them, spread over the range; the command lists them all."""


def tradeoffs(facts: Facts, seconds: float | None = None) -> Chapter | None:
    """The chapter on kits for which nothing is both cheaper and lighter, a page of them; None when there is none."""
    from optimizer.frontier.run import Wanted, find_frontier

    return of_frontier(facts, find_frontier(facts.job, GOALS, Wanted(at_most=MOST), Settings(seconds=seconds)))


def _changed(frontier: Frontier, point: Point) -> str:
    """What goes out and comes in against the neighbour it was compared with, by name."""
    if point.neighbour is None:
        return "-"
    return _capital(swap(frontier.job, frontier.points[point.neighbour].kit, point.kit))


def of_frontier(facts: Facts, frontier: Frontier) -> Chapter | None:
    """A frontier over two goals as a picture and a table."""
    if not frontier.points:
        return None
    numbers = [frontier.numbers(point) for point in frontier.points]
    units = [axis.unit for axis in frontier.axes]
    names = [axis.slug for axis in frontier.axes]
    alt = (
        f"{len(numbers)} kits by {names[0]} and {names[1]}, a step line through them. The table below has the numbers."
    )
    knees = [place for place, point in enumerate(frontier.points) if point.knee]
    mine = (facts.cents / 100, facts.mass_g / 1000) if tuple(names) == GOALS else None
    picture = charts.tradeoffs(numbers, knees, (names[0], names[1]), (units[0], units[1]), mine, facts.units, alt)
    rows: list[tuple[Cell, ...]] = [
        (
            *(facts.num(value, unit) for value, unit in zip(values, units, strict=True)),
            _changed(frontier, point), "yes" if point.knee else "",
        )
        for values, point in zip(numbers, frontier.points, strict=True)
    ]  # fmt: skip
    head = (*names, "what changes from its neighbour", "knee")
    whole = _capital(tell_head(frontier).partition("\n")[2])
    if frontier.gaps:
        whole += f" All of them: kitwright frontier BRIEF --goals {','.join(names)}."
    lead = (
        f"For none of these kits is there one that is better in one of {' and '.join(names)} and no worse in the other."
    )
    figure = Figure("tradeoffs", f"Trade-offs between {' and '.join(names)}; diamonds: knees.", alt, picture)
    table = Table("Trade-offs", head, tuple(rows), small=True, stack=True, widths=(13, 13, 66, 8))
    return Chapter("tradeoffs", "What else could be had", (figure, table, Para(whole)), lead)
