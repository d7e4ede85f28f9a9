"""What flat glass lets through of a sun that stands low, against a sun straight above.

On the road: weather year -> problem and trips, beside ``sun``. A panel is rated with the sun square on it. On a flat
roof the sun stands 60 degrees off that at an elevation of 30, and in a northern December higher never.

References
----------
.. [1] W. De Soto, S. A. Klein, W. A. Beckman, "Improvement and validation of a model for photovoltaic array
   performance", Solar Energy 80 (2006), 78-88: refraction and absorption of one cover. As pvlib's ``iam.physical``.
.. [2] J. A. Duffie, W. A. Beckman, "Solar Engineering of Thermal Processes", section 5.4: the angle at which light
   from the whole sky counts as if it came from one place. From memory.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics import Array, N

REFRACTION = 1.526
"""Index of glass [-] [1]_."""
ABSORBED = 4.0 * 0.002
"""Extinction [1/m] times thickness [m] of the glass [-] [1]_."""
SKY_ANGLE = 59.7
"""Incidence at which light from the whole sky counts on a level plane [deg] [2]_."""
STRAIGHT = 0.01
"""Below this incidence the formula divides nothing by nothing; nothing is lost there [deg]."""


def let_through(incidence_deg: N) -> N:
    """Share of the light that gets through at an angle, against light that falls square on the glass. [-]

    Parameters
    ----------
    incidence_deg : between the ray and the upright of the glass, 0 to 90 [deg]; from 90 on nothing gets through
    """
    angle = np.radians(np.clip(incidence_deg, STRAIGHT, 90.0))
    inside = np.arcsin(np.sin(angle) / REFRACTION)
    less, more = inside - angle, inside + angle
    thrown_back = 0.5 * (np.sin(less) ** 2 / np.sin(more) ** 2 + np.tan(less) ** 2 / np.tan(more) ** 2)
    square = np.exp(-ABSORBED) * (1.0 - ((1.0 - REFRACTION) / (1.0 + REFRACTION)) ** 2)
    share: N = np.maximum(np.exp(-ABSORBED / np.cos(inside)) * (1.0 - thrown_back) / square, 0.0)
    return share


def share_of_level(ghi: Array, dhi: Array, sun_elevation_deg: Array) -> Array:
    """Share of the sun on the level that gets through level glass, hour by hour; 1 in the dark. [-]

    Parameters
    ----------
    ghi, dhi : global and diffuse horizontal irradiance, same shape [W/m2]
    sun_elevation_deg : sun above the horizon, same shape [deg]
    """
    beam = np.clip(ghi - dhi, 0.0, ghi)
    through = beam * let_through(90.0 - np.maximum(sun_elevation_deg, 0.0)) + (ghi - beam) * let_through(SKY_ANGLE)
    share: Array = np.divide(through, ghi, out=np.ones_like(ghi), where=ghi > 0.0)
    return share
