"""A frontier in plain words.

On the road: frontier -> terminal and notebook. Only text is made here.
"""

from __future__ import annotations

from html import escape

from optimizer.frontier.goals import Axis
from optimizer.frontier.records import Frontier, Point
from optimizer.showing import show


def tell_frontier(frontier: Frontier) -> str:
    """The whole answer: how much of the frontier this is, and every point with what changes."""
    return "\n".join([tell_head(frontier), "", *_lines(frontier)]).rstrip()


def tell_head(frontier: Frontier) -> str:
    """How many points, and whether they are all there are."""
    goals = " against ".join(axis.slug for axis in frontier.axes)
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
            f"{head} This is a part of the frontier: every trade-off left out is at most {' and '.join(frontier.gaps)}"
            f" better than one listed that is no worse in {frontier.sweep_goal.slug}."
        )
    return f"{head} These are all there are; each is proven." if frontier.proven else head


def _how_far(frontier: Frontier) -> str:
    edge, axis = frontier.complete_below, frontier.sweep_goal
    if edge is None or edge < -(1 << 60):
        return "Stopped early: nothing is known yet about which trade-offs there are."
    value = _shown(axis, axis.shown(edge), frontier)
    side = "above" if axis.maximise else "below"
    return f"Stopped early: complete {side} {axis.slug} {value}; beyond it there may be more."


def tell_point(frontier: Frontier, point: Point) -> str:
    """One point's goals in a line."""
    numbers = frontier.numbers(point)
    words = [_shown(axis, value, frontier) for axis, value in zip(frontier.axes, numbers, strict=True)]
    return ", ".join(f"{axis.slug} {word}" for axis, word in zip(frontier.axes, words, strict=True))


def _shown(axis: Axis, value: float, frontier: Frontier) -> str:
    return show(value, axis.unit, frontier.job.brief.units)


def _lines(frontier: Frontier) -> list[str]:
    lines = []
    for number, point in enumerate(frontier.points, start=1):
        mark = "  <- knee: most gained for least given" if point.knee else ""
        lines.append(f"{number:>3}. {tell_point(frontier, point)}{mark}")
        if point.neighbour is not None:
            lines.append(f"     from {point.neighbour + 1}: {', '.join(point.changes)}")
    return lines


def as_html(frontier: Frontier) -> str:
    """The same for a notebook."""
    head = "".join(f"<th>{escape(axis.slug)}</th>" for axis in frontier.axes)
    body = []
    for number, point in enumerate(frontier.points, start=1):
        numbers = frontier.numbers(point)
        cells = "".join(
            f"<td>{escape(_shown(axis, value, frontier))}</td>"
            for axis, value in zip(frontier.axes, numbers, strict=True)
        )
        knee = "knee" if point.knee else ""
        body.append(f"<tr><td>{number}</td>{cells}<td>{knee}</td><td>{escape(', '.join(point.changes))}</td></tr>")
    text = escape(tell_head(frontier)).replace("\n", "<br>")
    return (
        f"<p>{text}</p><table><thead><tr><th></th>{head}<th></th><th>what changes</th></tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table>"
    )
