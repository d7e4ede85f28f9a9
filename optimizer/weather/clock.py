"""The hours of a year as moments, for sun positions.

On the road: under ``pvgis`` and ``assembling``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimizer.weather.year import HOURS

if TYPE_CHECKING:
    import pandas as pd

REFERENCE_YEAR = 2001
"""The sun is taken from this year: no leap day, and just after one, so that its days lie near the
middle of the four-year drift (which is at most 0.3 degrees of declination)."""


def reference_times(utc_offset_h: float, after_h: float) -> pd.DatetimeIndex:
    """The 8,760 moments ``after_h`` past the beginning of each hour of local standard time."""
    import pandas as pd

    begin = pd.Timestamp(year=REFERENCE_YEAR, month=1, day=1) + pd.Timedelta(hours=after_h - utc_offset_h)
    return pd.date_range(begin, periods=HOURS, freq="h", tz="UTC")
