"""A frontier as a picture; shape and shade tell as much as colour, so that it reads in grey.

On the road: frontier -> SVG or PNG.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from optimizer.frames import write_picture
from optimizer.frontier.goals import Axis
from optimizer.frontier.records import Frontier
from optimizer.showing import COUNTS, in_system, plain

BLUE, ORANGE, GREY = "#0072B2", "#E69F00", "#888888"
"""Of Okabe and Ito, "Color Universal Design" (2008), chosen for colour-blind readers; from memory."""


def draw_frontier(frontier: Frontier, path: Path) -> None:
    """Draw two goals as steps, three as points shaded by the third. Raises UsageError, MissingExtra."""
    write_picture(path, lambda figure: _draw(figure, frontier))


def _label(axis: Axis, frontier: Frontier) -> str:
    unit = in_system(0, axis.unit, frontier.job.brief.units)[1]
    name = f"{axis.called} [{unit}]" if unit not in ("", axis.called) else axis.called
    return f"{name}, more is better" if axis.maximise else name


def _whole_ticks(side: Any, axis: Axis) -> None:
    """Nobody spends half a night: what is counted has whole numbers beside it."""
    if axis.unit in COUNTS:
        side.get_major_locator().set_params(integer=True)


def _in_units(frontier: Frontier) -> list[list[float]]:
    """Every point's goals as numbers in the units of the brief."""
    units = frontier.job.brief.units
    return [
        [in_system(value, axis.unit, units)[0] for axis, value in zip(frontier.axes, values, strict=True)]
        for values in map(frontier.numbers, frontier.points)
    ]


def _draw(figure: Any, frontier: Frontier) -> None:
    chart = figure.subplots()
    chart.set_axisbelow(True)
    numbers = _in_units(frontier)
    chart.set_xlabel(_label(frontier.axes[0], frontier))
    chart.set_ylabel(_label(frontier.axes[1], frontier))
    chart.set_title(frontier.job.brief.name or "Trade-offs")
    for side, axis in zip((chart.xaxis, chart.yaxis), frontier.axes, strict=False):
        _whole_ticks(side, axis)
    if not numbers:
        chart.text(0.5, 0.5, "no kit", ha="center", transform=chart.transAxes)
        return
    across, up = [n[0] for n in numbers], [n[1] for n in numbers]
    if len(frontier.axes) == 3:
        _shaded(figure, chart, frontier, across, up, [n[2] for n in numbers])
    else:
        # Best first: whoever asks for what lies between two points must take the better one of the first goal.
        chart.step(across, up, where="post", color=GREY, linewidth=1.0, zorder=1)
        chart.scatter(across, up, s=26, color=BLUE, zorder=2, label="trade-off")
    knees = [place for place, point in enumerate(frontier.points) if point.knee]
    if knees:
        chart.scatter(
            [across[k] for k in knees], [up[k] for k in knees], s=130, marker="D", facecolors="none",
            edgecolors="black", linewidths=1.4, zorder=3, label="knee",
        )  # fmt: skip
    chart.legend(frameon=False)
    if not frontier.complete:
        chart.text(0.99, 0.01, "stopped early, not all of it", ha="right", va="bottom", transform=chart.transAxes)


def _shaded(figure: Any, chart: Any, frontier: Frontier, across: list[float], up: list[float], by: list[float]) -> None:
    dots = chart.scatter(across, up, c=by, cmap="cividis", s=46, edgecolors="black", linewidths=0.5, label="trade-off")
    figure.colorbar(dots, ax=chart, label=_label(frontier.axes[2], frontier))
    for place in _with_room(across, up):
        where = across[place], up[place]
        chart.annotate(_four_digits(by[place]), where, xytext=(4, 4), textcoords="offset points", fontsize=7)


def _with_room(across: list[float], up: list[float]) -> list[int]:
    """Places of the points beside which a number can be read; where they crowd the shade alone tells."""
    wide, high = (room * (max(side) - min(side)) for side, room in ((across, 0.075), (up, 0.035)))
    told: list[int] = []
    for place, (x, y) in enumerate(zip(across, up, strict=True)):
        if all(abs(x - across[other]) > wide or abs(y - up[other]) > high for other in told):
            told.append(place)
    return told


def _four_digits(value: float) -> str:
    """Four digits, and those of the whole number where it has more."""
    return plain(value, max(0, 4 - len(str(int(abs(value))))))
