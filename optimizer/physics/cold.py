"""What cold boxes draw by the warmth around them.

On the road: under ``problem`` and ``trips``.

References
----------
.. [1] Two rated points and a straight line between and beyond them: the way EN IEC 62552 ratings at two
   ambient temperatures are joined in Regulation (EU) 2019/2016, Annex IV. The floor is common
   practice, no source.
.. [2] UK SI 2021/745, Schedule 14, paragraph 3: daily energy from steady power and defrosts.
.. [3] Regulation (EU) 2019/2016 (energy labelling of refrigerating appliances), Annex IV.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics import N

FLOOR_SHARE = 0.10
"""A box never draws less than this share of its 25 degC draw [-]: common practice, no source."""

TARGET_TEMPERATURES_C: dict[str, float] = {
    "wine": 12.0,
    "cellar": 12.0,
    "fresh": 4.0,
    "chill": 2.0,
    "0-star": 0.0,
    "1-star": -6.0,
    "2-star": -12.0,
    "frozen": -18.0,
}
"""Temperature each compartment is rated at [degC], Regulation (EU) 2019/2016 [3]_."""


def cold_box_draw(w25: float, w32: float, around_c: N) -> N:
    """Mean draw of a box by the temperature around it. [W]

    A straight line through its two rated points, never below a tenth of the first. It never falls with
    warmth: a box said to draw less at 32 degC is taken to draw as at 25 degC there.

    Parameters
    ----------
    w25, w32 : mean draw with 25 and 32 degC around it [W]
    around_c : temperature around it [degC]

    Reference: [1]_.
    """
    slope = max(w32 - w25, 0.0) / 7.0
    draw: N = np.maximum(w25 + slope * (around_c - 25.0), FLOOR_SHARE * w25)
    return draw


def daily_energy_with_defrost(steady_w: float, defrost_wh: float, between_h: float) -> float:
    """Energy of a day from the steady power and the defrosts. [kWh]

    ``0.001 * 24 * (Pss + dEdf / tdf)`` [2]_.

    Parameters
    ----------
    steady_w : steady-state power [W]
    defrost_wh : extra energy of one defrost and recovery [Wh]
    between_h : hours between two defrosts [h]
    """
    return 0.001 * 24 * (steady_w + defrost_wh / between_h)


def label_daily_energy(kwh_16: float, kwh_32: float) -> float:
    """Energy of a day as the European label has it: the mean of 16 and 32 degC. [kWh]

    Reference: Regulation (EU) 2019/2016, Annex IV [3]_, from memory.
    """
    return 0.5 * (kwh_16 + kwh_32)


def thermodynamic_parameter(compartment_c: float) -> float:
    """How hard a compartment is to keep cold against fresh food: ``(24 - Tc) / 20``. [-]

    Reference: Regulation (EU) 2019/2016 [3]_.
    """
    return (24.0 - compartment_c) / 20.0
