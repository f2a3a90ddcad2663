"""What happens between the merge plane of a join and the pipes that leave it: jets that mix, streams that turn.

The gas that arrives in a join has a mean speed *along* each pipe that leaves it (``carried``). A pipe that takes the
gas away more slowly than that gains pressure as jets mix (Borda and Carnot, from momentum); one that takes it away
faster loses pressure as the stream contracts without loss. Both vanish when the speeds are equal.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import kernel
from pullbook.gas.powers import power_near_one

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["JOIN_MIXING", "JOIN_STAGNATION", "JOIN_STATIC", "leaving_pressure", "merge_cosines", "turning_cosines"]

JOIN_STATIC = 0
JOIN_MIXING = 1
JOIN_STAGNATION = 2


@kernel
def leaving_pressure(speed: float, merge: float, carried: float, stagnation: float, gamma: float) -> float:
    """Pressure in a pipe that leaves a join.

    Parameters
    ----------
    speed : float
        Speed in the pipe, away from the join. [m/s]
    merge : float
        Pressure at the merge plane. [Pa]
    carried : float
        Mean speed along the pipe of the gas that arrives, not below zero. [m/s]
    stagnation : float
        Stagnation enthalpy of the mixed gas without its energy offset. [J/kg]
    gamma : float
        Ratio of specific heats of the mixed gas. [1]

    Returns
    -------
    pressure : float
        Pressure in the pipe. [Pa]

    Examples
    --------
    >>> round(leaving_pressure(20.0, 1e5, 40.0, 1.4 / 0.4 * 86115.0, 1.4))
    100467
    """
    fraction = (gamma - 1.0) / gamma
    if speed <= carried:
        heat = fraction * (stagnation - 0.5 * speed * speed)
        return merge / (1.0 - speed * (carried - speed) / heat)
    head = stagnation - 0.5 * carried * carried
    return merge * power_near_one(0.5 * (carried * carried - speed * speed) / head, 1.0 / fraction)


def turning_cosines(angle_deg: FloatArray) -> FloatArray:
    """Cosines of the angles by which a stream turns from each pipe of a join into each other.

    Parameters
    ----------
    angle_deg : (n,) array of float
        Direction in which each pipe leads away from the join, in one plane. [deg]

    Returns
    -------
    cosine : (n, n) array of float
        Row: pipe from which the gas comes; column: pipe by which it leaves; 1 is straight on. [1]

    Examples
    --------
    >>> turning_cosines(np.array([180.0, 0.0])).round(12).tolist()
    [[-1.0, 1.0], [1.0, -1.0]]
    """
    away = np.radians(angle_deg)
    cosine: FloatArray = -np.cos(away[:, None] - away[None, :])
    return cosine


def merge_cosines(pipes: int, half_angle_deg: float) -> FloatArray:
    """Turning cosines of a merge collector: primaries on a cone around the axis of the collector, the last pipe.

    Parameters
    ----------
    pipes : int
        Number of pipes, the collector included.
    half_angle_deg : float
        Angle between each primary and the axis. [deg]

    Returns
    -------
    cosine : (n, n) array of float
        As in ``turning_cosines``; primaries are spread evenly around the axis. [1]

    Examples
    --------
    >>> merge_cosines(3, 0.0)[:, 2].tolist()
    [1.0, 1.0, -1.0]
    """
    slope = math.radians(half_angle_deg)
    around = 2.0 * math.pi * np.arange(pipes - 1) / max(pipes - 1, 1)
    away = np.zeros((pipes, 3))
    away[:-1, 0] = -math.cos(slope)
    away[:-1, 1] = math.sin(slope) * np.cos(around)
    away[:-1, 2] = math.sin(slope) * np.sin(around)
    away[-1, 0] = 1.0
    cosine: FloatArray = -(away @ away.T)
    return cosine
