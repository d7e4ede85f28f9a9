"""Whether the van will drip: a warning for a kit whose lining gets colder than the dew point inside.

On the road: kit -> *warning* -> terminal. Nothing here is a limit: who airs well stays dry.
"""

from __future__ import annotations

from optimizer.job import Job
from optimizer.parts.records import Insulation
from optimizer.physics.air import condenses, dew_point
from optimizer.physics.heat import inside_surface_temperature, layer_resistance, u_value
from optimizer.problem.records import Kit
from optimizer.problem.season import season_of
from optimizer.showing import show

HUMIDITY_PCT = 60.0
"""Relative humidity inside a van two people sleep and cook in, aired; common practice, no source. [%]"""


def damp_warning(job: Job, kit: Kit) -> str | None:
    """A sentence where the lining's inner face falls below the dew point on the coldest night; else None.

    The lined part of a wall is looked at; ribs left bare and glass are colder still.
    """
    option = kit.chosen(job.problem, "insulation")
    if option is None or not job.brief.comfort.heating:
        return None
    part = job.catalog.part(option.parts[0][0])
    assert isinstance(part, Insulation)
    inside, outside = job.brief.comfort.night_temperature, season_of(job.brief, job.years).night_c
    resistance = layer_resistance(part.thickness_mm, part.conductivity_w_mk) if part.thickness_mm else 0.0
    face = float(inside_surface_temperature(u_value(resistance, "side"), inside, outside))
    if not condenses(face, inside, HUMIDITY_PCT):
        return None
    units = job.brief.units
    dew = show(float(dew_point(inside, HUMIDITY_PCT)), "degC", units)
    lined = part.thickness_mm > 0
    place = "the lining's inner face" if lined else "the inside of the unlined walls"
    what_to_do = ", and on bare ribs and glass before that. Air the van, or line it thicker." if lined else (
        ", and on glass. Air the van, or line it."
    )
    return (
        f"On a night of {show(outside, 'degC', units)} {place} falls to {show(face, 'degC', units)}, below the dew"
        f" point of {dew} at {HUMIDITY_PCT:g} % humidity: water will condense on it{what_to_do}"
    )
