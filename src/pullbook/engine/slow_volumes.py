"""Volumes that hold many cycles' worth of gas are moved ahead to where their temperature is going.

An air box of ten swept volumes takes thirty cycles to find its temperature, long after the waves have settled. Its
approach is a geometric series, so a few cycles tell the end of it (Aitken's delta-squared process). Gas is exchanged at
constant pressure, so that no wave sets out. This happens between cycles only: the books of a cycle are not touched.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.gas.engine_arrays import LAST_TEMPERATURE

if TYPE_CHECKING:
    from pullbook.gas.engine_arrays import Volumes
    from pullbook.quantities.arrays import FloatArray

__all__ = ["SlowVolumes"]

_TOLD: Final = 4  # states, and so three changes and two ratios
_AGREE: Final = 0.1
_UNTOLD: Final = 10.0  # rest over the last change, as long as there are too few states to tell it
_FIRST: Final = 5  # cycles, after which the waves have mostly settled
_SLOWEST: Final = 0.98  # ratio of a change to the one before it
_FARTHEST: Final = 0.2  # of the temperature
_LEAST: Final = 1e-4  # of the temperature; less is left to the cycles
_HEAT_CAPACITY: Final = 730.0  # J/(kg K); only for the mass that keeps the pressure, which the next cycle mends


class SlowVolumes:
    """Specific energies of the volumes after the last cycles."""

    def __init__(self) -> None:
        self._seen: list[FloatArray] = []

    def note(self, volumes: Volumes) -> float:
        """Note the state after a cycle.

        Parameters
        ----------
        volumes : Volumes
            After a cycle. [SI]

        Returns
        -------
        float
            Change of temperature that is still to come, as far as the last cycles tell; the largest of all volumes, in
            parts of the temperature. [1]
        """
        self._seen.append(volumes.state[1] / volumes.state[0])
        if not volumes.state.size:
            return 0.0
        if len(self._seen) < 2:
            return math.inf
        last, rest, _ = self._series()
        return float((np.abs(last) * np.maximum(rest, 1.0) / _scale(volumes)).max())

    def move_ahead(self, volumes: Volumes, cycle: int) -> None:
        """Move the volumes to where the last cycles lead, where that is far enough.

        Parameters
        ----------
        volumes : Volumes
            Their state is changed. [SI]
        cycle : int
            Number of the cycle that was noted last, from 1.
        """
        if cycle < _FIRST or len(self._seen) < _TOLD or not volumes.state.size:
            return
        last, _, rest = self._series()
        scale = _scale(volumes)
        ahead = np.clip(np.where(rest > 1.0, last * rest, 0.0), -_FARTHEST * scale, _FARTHEST * scale)
        if np.abs(ahead / scale).max() < _LEAST:
            return
        specific = self._seen[-1] + ahead
        self._seen.clear()
        # A gas with cv of about 2.6 R: its temperature, and at constant pressure its mass, follow from the energy.
        volumes.state[:] /= 1.0 + ahead / scale
        volumes.state[1] = volumes.state[0] * specific

    def _series(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Last change of the specific energies; the sum of all to come over it, feared and foretold. [J/kg, 1, 1].

        Two ratios of changes must agree where it is foretold: what swings from cycle to cycle is no series. The lesser
        one is feared, whether they agree or not.
        """
        last = self._seen[-1] - self._seen[-2]
        if len(self._seen) < _TOLD:
            return last, np.full_like(last, _UNTOLD), np.zeros_like(last)
        first, second, third = self._seen[-4:-1]
        ratios = []
        for before, after in ((second - first, third - second), (third - second, last)):
            ratios.append(np.divide(after, before, out=np.zeros_like(last), where=before != 0.0))
        lesser = np.clip(np.minimum(ratios[0], ratios[1]), 0.0, _SLOWEST)
        agree = np.abs(ratios[1] - ratios[0]) < _AGREE
        ratio = np.where(agree, np.clip(ratios[1], 0.0, _SLOWEST), 0.0)
        return last, lesser / (1.0 - lesser), ratio / (1.0 - ratio)


def _scale(volumes: Volumes) -> FloatArray:
    """Specific energies that go with the temperatures; they themselves are zero near room temperature. [J/kg]."""
    scale: FloatArray = _HEAT_CAPACITY * volumes.settings[LAST_TEMPERATURE]
    return scale
