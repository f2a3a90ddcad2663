"""Volumes that hold many cycles' worth of gas are moved ahead to where their temperature is going.

An air box of ten swept volumes takes thirty cycles to find its temperature, long after the waves have settled. Its
approach is a geometric series, so three cycles tell the end of it (Aitken's delta-squared process). Gas is exchanged at
constant pressure, so that no wave sets out. This happens between cycles only: the books of a cycle are not touched.
"""

from __future__ import annotations

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
_HEAT_CAPACITY: Final = 730.0  # J/(kg K); only for the mass that keeps the pressure, which the next cycle mends


class SlowVolumes:
    """Specific energies of the volumes after the last cycles."""

    def __init__(self) -> None:
        self._seen: list[FloatArray] = []

    def follow(self, volumes: Volumes, cycle: int) -> None:
        """Note the state after a cycle, and now and then move it ahead.

        Parameters
        ----------
        volumes : Volumes
            Their state is changed. [SI]
        cycle : int
            Number of the cycle, from 1.
        """
        mass, energy = volumes.state[0], volumes.state[1]
        self._seen.append(energy / mass)
        if cycle < _FIRST or len(self._seen) < _EVERY:
            return
        first, second, third = self._seen[-3:]
        before, last = second - first, third - second
        ratio = np.divide(last, before, out=np.zeros_like(last), where=before != 0.0)
        temperature = volumes.settings[LAST_TEMPERATURE]
        scale = energy / mass
        ahead = np.where((ratio > _RATIOS[0]) & (ratio < _RATIOS[1]), last * ratio / np.maximum(1.0 - ratio, 0.02), 0.0)
        # The specific energy is zero near room temperature and no measure of itself; the temperature is one.
        most = _FARTHEST * _HEAT_CAPACITY * temperature
        ahead = np.clip(ahead, -most, most)
        if not ahead.any():
            return
        self._seen.clear()
        # A gas with cv of about 2.6 R: its temperature, and at constant pressure its mass, follow from the energy.
        warmer = 1.0 + ahead / (_HEAT_CAPACITY * temperature)
        volumes.state[:] /= warmer
        volumes.state[1] = volumes.state[0] * (scale + ahead)
