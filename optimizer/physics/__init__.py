"""Pure cited formulas on numbers and arrays: no files, no clock, no brief.

On the road: under ``problem`` and ``trips``, above nothing. Every function takes plain numbers or numpy
arrays and gives the same kind back, so a scalar and an array of that scalar agree.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""An array of numbers; hours of a weather year, mostly."""

N = TypeVar("N", float, Array)
"""A number or an array of numbers: what goes in comes out."""
