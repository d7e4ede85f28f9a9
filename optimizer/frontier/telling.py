"""A frontier in plain words.

On the road: frontier -> terminal and notebook. Only text is made here.
"""

from __future__ import annotations

from html import escape

from optimizer.explain.telling import swap
from optimizer.frontier.goals import Axis
from optimizer.frontier.records import Frontier, Point
from optimizer.showing import show


def tell_frontier(frontier: Frontier) -> str:
    """The whole answer: how much of the frontier this is, and every point with what changes."""
    return "\n".join([tell_head(frontier), "", *_lines(frontier)]).rstrip()


def tell_head(frontier: Frontier) -> str:
    """How many points, and whether they are all there are."""
    goals = " against ".join(axis.called for axis in frontier.axes)
    count = len(frontier.points)
    name = frontier.job.brief.name or "This brief"
    if not count and frontier.complete:
        return f"{name}\nImpossible: no kit of this catalog keeps every rule. That is proven."
    head = f"{name}\n{goals}: {count} trade-off{'' if count == 1 else 's'}."
    if not frontier.proven:
        head += (
            f" Not proven: for {frontier.undecided} kits it stayed open whether they fit their places;"
            " better ones may have been passed over."
        )
    if not frontier.complete:
        return f"{head} {_how_far(frontier)}"
    if frontier.gaps:
        return (
            f"{head} This is a part of the frontier: for each one left out, one listed is no worse in {_held(frontier)}"
            f" and at most {_lost(frontier)}."
        )
    return f"{head} These are all there are; each is proven." if frontier.proven else head


def _held(frontier: Frontier) -> str:
    """The goals in which nothing is lost by what is left out."""
    lost = {gap.rpartition(" in ")[2] for gap in frontier.gaps}
    return " and ".join(axis.called for axis in frontier.axes if axis.called not in lost)


def _lost(frontier: Frontier) -> str:
    """How much worse what is listed may be than what is left out, goal by goal."""
    amounts = (gap.rpartition(" in ") for gap in frontier.gaps)
    return " and ".join(f"{much} worse in {goal}" for much, _, goal in amounts)


def _how_far(frontier: Frontier) -> str:
    edge, axis = frontier.edge, frontier.sweep_goal
    if edge is None:
        return "Stopped early: nothing is known yet about which trade-offs there are."
    side = "above" if axis.maximise else "below"
    return f"Stopped early: complete {side} {_named(axis, edge, frontier)}; beyond it there may be more."


def tell_point(frontier: Frontier, point: Point) -> str:
    """One point's goals in a line."""
    numbers = frontier.numbers(point)
    return ", ".join(_named(axis, value, frontier) for axis, value in zip(frontier.axes, numbers, strict=True))


def _named(axis: Axis, value: float, frontier: Frontier) -> str:
    """A goal's number behind its name; what is counted is its own name ('5 nights')."""
    shown = _shown(axis, value, frontier)
    return shown if axis.called == axis.unit else f"{axis.called} {shown}"


def _shown(axis: Axis, value: float, frontier: Frontier) -> str:
    return show(value, axis.unit, frontier.job.brief.units)


def _lines(frontier: Frontier) -> list[str]:
    lines = []
    for number, point in enumerate(frontier.points, start=1):
        mark = "  <- knee: much gained for little given" if point.knee else ""
        lines.append(f"{number:>3}. {tell_point(frontier, point)}{mark}")
        if point.neighbour is not None:
            lines.append(f"     from {point.neighbour + 1}: {_changes(frontier, point)}")
    return lines


def _changes(frontier: Frontier, point: Point) -> str:
    """What is different from the neighbour's kit, in the parts' own names; cables and fuses follow from the rest."""
    if point.neighbour is None:
        return ""
    before = frontier.points[point.neighbour].kit
    whole = [word for word in point.changes if " instead of " in word]
    return ", ".join([*whole, swap(frontier.job, before, point.kit)])


def as_html(frontier: Frontier) -> str:
    """The same for a notebook."""
    head = "".join(f"<th>{escape(axis.called)}</th>" for axis in frontier.axes)
    body = []
    for number, point in enumerate(frontier.points, start=1):
        numbers = frontier.numbers(point)
        cells = "".join(
            f"<td>{escape(_shown(axis, value, frontier))}</td>"
            for axis, value in zip(frontier.axes, numbers, strict=True)
        )
        knee = "knee" if point.knee else ""
        since = "" if point.neighbour is None else f"from {point.neighbour + 1}: {_changes(frontier, point)}"
        body.append(f"<tr><td>{number}</td>{cells}<td>{knee}</td><td>{escape(since)}</td></tr>")
    text = escape(tell_head(frontier)).replace("\n", "<br>")
    return (
        f"<p>{text}</p><table><thead><tr><th></th>{head}<th></th><th>what changes</th></tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table>"
    )
