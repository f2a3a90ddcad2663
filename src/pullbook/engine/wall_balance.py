"""Walls whose temperature follows from the heat that passes through them, cell by cell, from cycle to cycle."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.network_ends import START, OpenEnd
from pullbook.gas.grid import AREA, EXCHANGE, INVERSE_LENGTH, VOLUME, WALL_TEMPERATURE

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["WallBalance"]

_TOLD: Final = 0.5  # K; a smaller step tells no slope
_STEEPEST: Final = 50.0  # slope over that of the outer face
_FORGETS: Final = 0.85  # share of a slope that is left after a cycle which does not show it
_LONGEST_STRIDE: Final = 60.0  # K a cycle


class WallBalance:
    r"""Temperatures of the walls that follow.

    A wall is thick enough to hold its temperature over a cycle, and thin enough to have the same on both faces. It
    settles where the mean heat from the gas leaves it to the air outside,

    .. math:: \bar Q = h_o A (T_w - T_0).

    Each cycle moves it towards that by a secant step; its slope decides how fast it settles, not where.

    Parameters
    ----------
    network : Network
        Whose sections say which walls follow, and their coefficients to the air outside. [W/m2/K]
    pipes : Pipes
        The pipes as cut. [SI]
    """

    def __init__(self, network: Network, pipes: Pipes) -> None:
        found = [_following(network, pipes, number) for number in range(len(network.pipes))]
        self._slots: IntArray = np.concatenate([slots for slots, _ in found])
        coefficients = np.concatenate([values for _, values in found])
        area = pipes.geometry[AREA, self._slots]
        length = 1.0 / pipes.geometry[INVERSE_LENGTH, self._slots]
        self._outward: FloatArray = coefficients * np.sqrt(4.0 * pi * area) * length  # W/K
        self._slope: FloatArray = np.zeros(self._slots.size)
        nothing = np.full(self._slots.size, np.inf)
        self._before: tuple[FloatArray, FloatArray] = nothing, np.zeros(self._slots.size)

    @property
    def slots(self) -> IntArray:
        """Slots of the pipes whose walls follow. [1]."""
        return self._slots

    def follow(self, pipes: Pipes, air_temperature: float, duration: float) -> float:
        """Move the walls after a cycle.

        Parameters
        ----------
        pipes : Pipes
            With the heat of the cycle; the temperatures of the walls are written. [SI]
        air_temperature : float
            Of the air outside. [K]
        duration : float
            Of the cycle. [s]

        Returns
        -------
        float
            Largest step that was made; 0 where no wall follows. [K]
        """
        if self._slots.size == 0:
            return 0.0
        wall = pipes.geometry[WALL_TEMPERATURE, self._slots]
        heat = -pipes.wall_heat[self._slots] / duration
        lack = heat - self._outward * (wall - air_temperature)
        moved = np.where(np.isfinite(self._before[0]), wall - self._before[0], 0.0)
        flattest = self._outward + self._film(pipes)
        secant = np.divide(self._before[1] - lack, moved, out=flattest.copy(), where=np.abs(moved) > _TOLD)
        # Walls upstream move too and blur the secant. A steep one is believed at once, since a wall that overshoots
        # never settles; a flat one bit by bit, and never below what gas that the wall does not change would show.
        slope = np.minimum(np.maximum(secant, _FORGETS * self._slope), _STEEPEST * self._outward)
        slope = np.maximum(slope, flattest)
        self._slope = slope
        step = np.clip(lack / slope, -_LONGEST_STRIDE, _LONGEST_STRIDE)
        self._before = wall, lack
        pipes.geometry[WALL_TEMPERATURE, self._slots] = wall + step
        return float(np.abs(step).max())

    def _film(self, pipes: Pipes) -> FloatArray:
        """Conductance from the gas to each wall, as it is now, but the mean of its pipe, over waves. [W/K]."""
        slots, work = self._slots, pipes.work
        _, _, pressure, gamma = pipes.primitive[:4, slots]
        capacity = pressure / ((gamma - 1.0) * pipes.temperature[slots]) * pipes.geometry[VOLUME, slots]
        _, pipe = np.unique(np.searchsorted(pipes.start, slots, side="right"), return_inverse=True)
        share = np.bincount(pipe, work[EXCHANGE, slots] * capacity) / np.bincount(pipe, self._outward)
        return share[pipe] * self._outward


def _following(network: Network, pipes: Pipes, number: int) -> tuple[IntArray, FloatArray]:
    """Slots of a pipe whose walls follow, and their coefficients to the air outside. [W/m2/K]."""
    pipe = network.pipes[number]
    if not any(section.wall.follows for section in pipe.sections):
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    first, count = int(pipes.start[number]) + 1, int(pipes.start[number + 1] - pipes.start[number]) - 2
    end = network.end_of(number, START)
    before = end.correction if isinstance(end, OpenEnd) else 0.0
    whole = network.sounding_stations(number)[-1][0]
    middle = (np.arange(count) + 0.5) * whole / count - before
    ends = np.cumsum([section.length for section in pipe.sections])
    place = np.minimum(np.searchsorted(ends, middle), len(pipe.sections) - 1)
    walls = [section.wall for section in pipe.sections]
    follows = np.array([wall.follows for wall in walls])[place]
    coefficient = np.array([wall.outer_coefficient for wall in walls], dtype=np.float64)[place]
    return first + np.flatnonzero(follows), coefficient[follows]
