"""All drawings of a job's kit.

On the road: placed kit -> *drawings*.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from optimizer.drawings.model import Model
from optimizer.drawings.roof import roof_plan
from optimizer.drawings.views import bay_plan, bay_plans, side_view
from optimizer.places.things import boxes_of, items_of
from optimizer.problem.records import Kit
from optimizer.problem.space import Placement

if TYPE_CHECKING:
    from optimizer.job import Job


def draw_kit(job: Job, kit: Kit) -> dict[str, str]:
    """SVG texts by file name. ValueError for a kit without its places (see ``places.finding.placed``)."""
    model = _model(job, kit)
    return {"roof.svg": roof_plan(model), "bays.svg": bay_plans(model), "side.svg": side_view(model)}


def draw_bays(job: Job, kit: Kit) -> dict[str, str]:
    """Each bay as an SVG text of its own, by its name. ValueError for a kit without its places."""
    model = _model(job, kit)
    return {place.bay.name: bay_plan(model, place) for place in model.space.bays}


def _model(job: Job, kit: Kit) -> Model:
    if kit.places is None or job.problem.space is None:
        raise ValueError("the kit has no places yet")
    drawn = _still_there(job, kit, kit.places)
    return Model(
        job.brief.name or "The kit", job.brief.vehicle, job.problem, drawn, job.brief.units,
        lambda part: job.catalog.any_part(part).name, lambda part: _outside(job, part),
    )  # fmt: skip


def _still_there(job: Job, kit: Kit, places: Placement) -> Kit:
    """The kit with the places of what it has: a saved one may speak of things that its brief or catalog have changed.

    That such places are wrong is said by the check; a drawing must not fail at them.
    """
    items = {item.id for item in items_of(job.problem, kit)}
    boxes = {box.id for box in boxes_of(job.problem, kit)}
    return replace(kit, places=Placement(
        tuple(placed for placed in places.roof if placed.id in items),
        tuple(stowed for stowed in places.stowed if stowed.id in boxes),
    ))  # fmt: skip


def _outside(job: Job, part: str) -> tuple[float, float]:
    record = job.catalog.any_part(part)
    return record.length_mm, record.width_mm
