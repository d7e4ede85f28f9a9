"""A frontier as a picture; shape and shade tell as much as colour, so that it reads in grey.

On the road: frontier -> SVG or PNG.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from optimizer.frames import write_picture
from optimizer.frontier.goals import Axis
from optimizer.frontier.records import Frontier

BLUE, ORANGE, GREY = "#0072B2", "#E69F00", "#888888"
"""Of Okabe and Ito, "Color Universal Design" (2008), chosen for colour-blind readers; from memory."""


def draw_frontier(frontier: Frontier, path: Path) -> None:
    """Draw two goals as steps, three as points shaded by the third. Raises UsageError, MissingExtra."""
    write_picture(path, lambda figure: _draw(figure, frontier))


def _label(axis: Axis) -> str:
    return f"{axis.slug} [{axis.unit}]" if axis.unit else axis.slug


def _draw(figure: Any, frontier: Frontier) -> None:
    chart = figure.subplots()
    chart.set_axisbelow(True)
    numbers = [frontier.numbers(point) for point in frontier.points]
    chart.set_xlabel(_label(frontier.axes[0]))
    chart.set_ylabel(_label(frontier.axes[1]))
    chart.set_title(frontier.job.brief.name or "Trade-offs")
    if not numbers:
        chart.text(0.5, 0.5, "no kit", ha="center", transform=chart.transAxes)
        return
    across, up = [n[0] for n in numbers], [n[1] for n in numbers]
    if len(frontier.axes) == 3:
        _shaded(figure, chart, frontier, across, up, [n[2] for n in numbers])
    else:
        where = "pre" if frontier.axes[0].maximise else "post"
        chart.step(across, up, where=where, color=GREY, linewidth=1.0, zorder=1)
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
    figure.colorbar(dots, ax=chart, label=_label(frontier.axes[2]))
    if len(by) <= 40:
        for x, y, z in zip(across, up, by, strict=True):
            chart.annotate(f"{z:.4g}", (x, y), xytext=(4, 4), textcoords="offset points", fontsize=7)
