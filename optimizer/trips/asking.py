"""Many rows of numbers asked about at once: does any of them come through often enough?

On the road: rows (``Layout``) -> *asking* -> choosing. The same answers as ``trips.run.short_departures``
gives row by row, to the last bit; only the handing over is done once for many.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from optimizer.physics import Array
from optimizer.trips.layout import CLASSES, NO_LIMIT_W, SCALARS, Layout
from optimizer.trips.numbers import FUELS
from optimizer.trips.run import check_nights, hours_of_scene, kernel, kinds_of_scene
from optimizer.trips.scene import BANK_CLASSES, Scene


class Asker:
    """Answers for one scene and one number of departures that may fall short.

    Parameters
    ----------
    scene : Scene
    allowed : departures that may fall short
    bank_classes : the classes that rows will have (places in ``BANK_CLASSES``); others may not be asked about
    """

    def __init__(self, scene: Scene, allowed: int, bank_classes: Iterable[int]) -> None:
        self._scene = scene
        self._allowed = allowed
        self._banks = tuple(sorted({number for number in bank_classes if number >= 0}))
        self._many = _kernel_many()
        self._order = np.arange(scene.departures.size, dtype=np.int64)
        self._scratch = kernel().empty_scratch(scene.kinds.drive.shape[0], scene.sun.shape[0])
        self._hours = hours_of_scene(scene, -1, -1, self._banks[0] if self._banks else 0)
        self._curves = self._curves_of_scene()
        self._length = len(Layout(scene))
        self._trips: dict[int, Any] = {}

    def worst_first(self, order: NDArray[np.int64]) -> None:
        """Look at the departures in this order from now on; those met failing move to the front by themselves."""
        self._order = np.ascontiguousarray(order, dtype=np.int64).copy()

    def parcel(self, lines: Sequence[Array], base: Array, switching: NDArray[np.int64]) -> Any:
        """Numbers group by group made ready for ``all_fail``.

        Parameters
        ----------
        lines : for each group its lines, shape (lines, W): entries of the row, then such as only work through others
        base : what a row starts from, shape (W,)
        switching : for each array the entries of tracking, working current, bank voltage and the limit they make,
            shape (arrays, 4); -1 where there is no such array
        """
        starts = np.cumsum([0, *(len(of_group) for of_group in lines)])
        return self._many.Parcel(np.concatenate(lines), starts, base, switching)

    def all_fail(self, parcel: Any, nights: int, number: int = -1, line: Array | None = None) -> bool:
        """Whether too many departures fall short with every row that takes one line of each group.

        ``line``, shape (W,), stands in the place of all lines of group ``number``.
        """
        found = self._many.all_fail(
            parcel, number, parcel.base if line is None else line, self._hours, self._curves, self._trip(nights),
            self._order, self._scratch, self._length,
        )  # fmt: skip
        return bool(found)

    def _trip(self, nights: int) -> Any:
        if nights not in self._trips:
            check_nights(nights)
            scene = self._scene
            self._trips[nights] = self._many.Trip(
                kinds_of_scene(scene), scene.day_type, scene.departures, nights, scene.meal_counts(nights),
                np.array(scene.stores_night, dtype=np.float64) * nights, len(FUELS), self._allowed,
            )  # fmt: skip
        return self._trips[nights]

    def _curves_of_scene(self) -> Any:
        scene, shape = self._scene, self._scene.sun.shape
        panels = [*sorted(scene.panel_classes.values()), -1]  # the last stands for none, as an index does
        yields = np.stack([scene.panel_yield(number) for number in panels])
        shares, may = np.zeros((len(BANK_CLASSES), *shape)), np.zeros((len(BANK_CLASSES), *shape))
        for number in self._banks:
            shares[number], may[number] = scene.bank_series(number)
        return self._many.Curves(yields, shares, may)


@cache
def _kernel_many() -> ModuleType:
    from optimizer.trips import kernel_many

    known = kernel_many.SCALARS, kernel_many.CLASSES, kernel_many.NO_LIMIT_W
    if known != (len(SCALARS), len(CLASSES), NO_LIMIT_W):
        raise AssertionError("the compiled pass over many rows and the layout disagree about a row")
    return kernel_many
