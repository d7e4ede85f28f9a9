"""The hours in which a failing kit empties its bank, summed up feature by feature.

On the road: beside ``balances``. What any option brings or takes in an hour is a multiple of a few features of the
hour (the sun on a class of panels, the share driven, the heat wanted at a heat loss); so all that has to be known of
a spell of two hundred hours is the sum of each feature over it, gains and lacks apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.trips.scene import Scene

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]


class Met(NamedTuple):
    """What the failing kit met in each hour, each (n, T); of arrays a list, one for each slot."""

    gains: Bools
    """More came in than went out."""
    capped: Bools
    """More came in than the bank takes."""
    clipped: Sequence[Bools]
    """The panels gave more than the controller puts out."""
    held: Sequence[Bools]
    """A switching controller held the panels to their current."""


class Features:
    """Features of the hours of some departures' trips.

    Parameters
    ----------
    scene : Scene
    departures : places in ``scene.departures``, shape (n,)
    nights : how long the trips are; T = 24 * nights hours
    """

    def __init__(self, scene: Scene, departures: NDArray[np.int64], nights: int) -> None:
        self._days = np.array([scene.rows(int(departure), nights) for departure in departures])
        self._kinds = scene.day_type[:nights]
        self.scene = scene
        self.shape = (departures.size, 24 * nights)

    def of_days(self, hours: Array) -> Array:
        """An array of the scene by day and hour, (B, 24), as hours of the trips."""
        taken: Array = hours[self._days].reshape(self.shape)
        return taken

    def of_kinds(self, hours: Array) -> Array:
        """An array by kind of trip day and hour, (D, 24), as hours of the trips."""
        return np.broadcast_to(hours[self._kinds].reshape(1, -1), self.shape)

    def heat(self, loss_w_k: float) -> Array:
        """Heat wanted at a heat loss [W]."""
        scene = self.scene
        wanted: Array = np.maximum(0.0, loss_w_k * self.of_days(scene.heat_gap_k) - self.of_days(scene.heat_gain_w))
        return wanted

    def plain(self, losses: Sequence[float], least_loss: float) -> dict[str, Array]:
        """Features that hang on no array: what is multiplied is told in ``balances``."""
        scene, kinds = self.scene, self.scene.kinds
        least = self.heat(least_loss)
        found: dict[str, Array] = {
            "hour": np.ones(self.shape),
            "over": self.of_days(scene.around_over_k),
            "under": self.of_days(scene.around_under_k),
            "drive": self.of_kinds(kinds.drive),
            "fan": self.of_kinds(kinds.fan),
            "uses dc": self.of_kinds(kinds.uses_dc),
            "uses ac": self.of_kinds(kinds.uses_ac),
            "on ac": self.of_kinds((kinds.uses_ac > 0.0).astype(np.float64)),
            "least heat": least,
            "starts": (least > 0.0).astype(np.float64) * (scene.brief.comfort.heater_starts_a_day / 24.0),
        }
        for meal in range(kinds.meals.shape[2]):
            found[f"meal {meal}"] = self.of_kinds(kinds.meals[:, :, meal])
            found[f"meal {meal} driving"] = self.of_kinds(kinds.meals_driving[:, :, meal])
        return found | {f"heat {loss}": self.heat(loss) - least for loss in losses}


class Sums(NamedTuple):
    """Each feature summed over each departure's spell, hours of gain and of lack apart."""

    gains: Mapping[str, Array]
    lacks: Mapping[str, Array]
    shares: Mapping[int, Array]
    """Share of its capacity that a class of banks may give at the end of the spell."""

    def weighed(self, charge: float, discharge: float) -> dict[str, Array]:
        """The sums with gains counted by the charge efficiency and lacks by the discharge efficiency."""
        found = {name: charge * self.gains[name] + self.lacks[name] / discharge for name in self.gains}
        return found | {f"share {cls}": share for cls, share in self.shares.items()}


def summed(
    features: Features, plain: Mapping[str, Array], met: Met, panel_classes: Sequence[int], bank_classes: Sequence[int],
    first: NDArray[np.int64], last: NDArray[np.int64],
) -> Sums:  # fmt: skip
    """Sums over the hours ``first`` to ``last`` of each departure, both (n,)."""
    scene = features.scene
    hour = np.arange(features.shape[1])[None, :]
    spell = (hour >= first[:, None]) & (hour <= last[:, None])
    open_hours = spell & ~met.capped
    halves: list[dict[str, Array]] = []
    for within in (met.gains, ~met.gains):
        counted = (open_hours & within).astype(np.float64)
        found = {name: np.einsum("ij,ij->i", counted, array) for name, array in plain.items()}
        found["charge cap"] = (spell & met.capped & within).sum(axis=1).astype(np.float64)
        for slot, (clipped, held) in enumerate(zip(met.clipped, met.held, strict=True)):
            free, bound = counted * ~(clipped | held), counted * (held & ~clipped)
            found[f"output {slot}"] = (counted * clipped).sum(axis=1)
            found[f"sun {slot}"] = np.einsum("ij,ij->i", bound, features.of_days(scene.sun))
            for number in panel_classes:
                yields = features.of_days(scene.panel_yield(number))
                found[f"free {slot} {number}"] = np.einsum("ij,ij->i", free, yields)
                found[f"held {slot} {number}"] = np.einsum("ij,ij->i", bound, yields)
        halves.append(found)
    each = np.arange(features.shape[0])
    shares = {cls: features.of_days(scene.bank_series(cls)[0])[each, last] for cls in bank_classes}
    return Sums(halves[0], halves[1], shares)
