"""Volumes that hold many cycles' worth of gas are moved ahead to where their temperature is going.

An air box of ten swept volumes takes thirty cycles to find its temperature, long after the waves have settled. Its
approach is a geometric series, so three cycles tell the end of it (Aitken's delta-squared process). Gas is exchanged at
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

_EVERY: Final = 3
_FIRST: Final = 5  # cycles, after which the waves have mostly settled
_RATIOS: Final = (0.5, 0.98)  # of a change to the one before it
_FARTHEST: Final = 0.2  # of the temperature
_LEAST: Final = 1e-4  # of the temperature; less is left to the cycles
_HEAT_CAPACITY: Final = 730.0  # J/(kg K); only for the mass that keeps the pressure, which the next cycle mends


class SlowVolumes:
    """Specific energies of the volumes after the last cycles."""

    def __init__(self) -> None:
        self._seen: list[FloatArray] = []

    def follow(self, volumes: Volumes, cycle: int) -> float:
        """Note the state after a cycle, and now and then move it ahead.

        Parameters
        ----------
        volumes : Volumes
            Their state is changed. [SI]
        cycle : int
            Number of the cycle, from 1.

        Returns
        -------
        float
            Change of temperature that is still to come, as far as the last cycles tell, or that was just made; largest
            of all volumes, in parts of the temperature. [1]
        """
        mass, energy = volumes.state[0], volumes.state[1]
        self._seen.append(energy / mass)
        if mass.size == 0:
            return 0.0
        if len(self._seen) < _EVERY:
            return math.inf
        first, second, third = self._seen[-3:]
        before, last = second - first, third - second
        ratio = np.divide(last, before, out=np.zeros_like(last), where=before != 0.0)
        # The specific energy is zero near room temperature and no measure of itself; the temperature is one.
        scale = _HEAT_CAPACITY * volumes.settings[LAST_TEMPERATURE]
        rest = np.where(ratio > 0.0, np.minimum(ratio, _RATIOS[1]) / (1.0 - np.minimum(ratio, _RATIOS[1])), 0.0)
        to_come = float((np.abs(last) * np.maximum(rest, 1.0) / scale).max())
        if cycle < _FIRST:
            return to_come
        ahead = np.where((ratio > _RATIOS[0]) & (ratio < _RATIOS[1]), last * rest, 0.0)
        ahead = np.clip(ahead, -_FARTHEST * scale, _FARTHEST * scale)
        if np.abs(ahead / scale).max() < _LEAST:
            return to_come
        self._seen.clear()
        # A gas with cv of about 2.6 R: its temperature, and at constant pressure its mass, follow from the energy.
        specific = energy / mass + ahead
        volumes.state[:] /= 1.0 + ahead / scale
        volumes.state[1] = volumes.state[0] * specific
        return to_come
