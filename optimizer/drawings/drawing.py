"""All drawings of a job's kit.

On the road: placed kit -> *drawings*.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.drawings.model import Model
from optimizer.drawings.roof import roof_plan
from optimizer.drawings.views import bay_plan, bay_plans, side_view
from optimizer.problem.records import Kit

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
    return Model(
        job.brief.name or "The kit", job.brief.vehicle, job.problem, kit, job.brief.units,
        lambda part: job.catalog.any_part(part).name, lambda part: _outside(job, part),
    )  # fmt: skip


def _outside(job: Job, part: str) -> tuple[float, float]:
    record = job.catalog.any_part(part)
    return record.length_mm, record.width_mm
