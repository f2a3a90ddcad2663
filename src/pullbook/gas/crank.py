"""Crank, rod and piston: cylinder volume over crank angle.

Crank angle is in radians and zero where the piston stands at its top dead centre, with an offset pin too. Kernels take
the arrangement as an array made once by `crank_arrangement`; NaN gives NaN and nothing is raised.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.compiled import kernel

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = [
    "CLEARANCE",
    "OFFSET",
    "PISTON_AREA",
    "ROD",
    "SWEPT",
    "THROW",
    "crank_arrangement",
    "cylinder_volume",
    "piston_travel",
    "volume_slope",
]

# Rows of an arrangement.
CLEARANCE = 0  # volume at top dead centre, m3
PISTON_AREA = 1  # m2
THROW = 2  # half of the stroke, m
ROD = 3  # m
OFFSET = 4  # of the pin, m
TOP_ANGLE = 5  # angle of the throw from the cylinder's axis when the piston is at its top, rad
TOP_HEIGHT = 6  # height of the pin above the crank at that angle, m
SWEPT = 7  # m3


def crank_arrangement(
    bore: float, stroke: float, rod: float, compression_ratio: float, pin_offset: float = 0.0
) -> FloatArray:
    r"""Numbers of one cylinder's slider-crank, for the kernels of this module.

    With throw :math:`a`, rod :math:`l` and pin offset :math:`d`, the piston travels
    :math:`\sqrt{(l+a)^2-d^2} - \sqrt{(l-a)^2-d^2}`, which is a little more than the stroke :math:`2a` when the pin is
    offset. The clearance volume is the swept volume divided by the compression ratio less one.

    Parameters
    ----------
    bore : float
        Bore. [m]
    stroke : float
        Twice the throw of the crank. [m]
    rod : float
        Length of the rod between centres; longer than half the stroke plus the offset. [m]
    compression_ratio : float
        Volume at bottom over volume at top dead centre, above 1. [1]
    pin_offset : float
        Distance of the pin from the crank's axis, positive towards the major thrust side, which is the side from which
        the throw comes as it passes its top. [m]

    Returns
    -------
    (8,) array of float
        Clearance volume, piston area, throw, rod, offset, angle and height of the top, swept volume.
        [m3, m2, m, m, m, rad, m, m3]

    Notes
    -----
    NaN where the geometry cannot turn.

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equations 2.4 to 2.6 (without offset); the
       offset by plane geometry.

    Examples
    --------
    >>> arrangement = crank_arrangement(0.1016, 0.08839, 0.14478, 10.0)
    >>> round(float(arrangement[SWEPT]) * 1e6, 2)
    716.61
    """
    throw = 0.5 * stroke
    area = 0.25 * math.pi * bore * bore
    longest, shortest = rod + throw, rod - throw
    if not (abs(pin_offset) < shortest and compression_ratio > 1.0):
        return np.full(8, np.nan)
    height = math.sqrt(longest**2 - pin_offset**2)
    swept = area * (height - math.sqrt(shortest**2 - pin_offset**2))
    top = -math.asin(pin_offset / longest)
    return np.array([swept / (compression_ratio - 1.0), area, throw, rod, pin_offset, top, height, swept])


@kernel
def piston_travel(angle: float, arrangement: FloatArray) -> float:
    r"""Distance of the piston below its top dead centre.

    .. math:: s = h_0 - a\cos\phi - \sqrt{l^2 - (a\sin\phi + d)^2}, \quad \phi = \theta + \theta_0

    Parameters
    ----------
    angle : float
        Crank angle from the piston's top dead centre. [rad]
    arrangement : (8,) array of float
        From `crank_arrangement`. [m3, m2, m, m, m, rad, m, m3]

    Returns
    -------
    float
        Travel from the top. [m]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equation 2.5, with an offset pin.
    """
    turned = angle + arrangement[TOP_ANGLE]
    throw = arrangement[THROW]
    side = throw * math.sin(turned) + arrangement[OFFSET]
    upright = math.sqrt(arrangement[ROD] * arrangement[ROD] - side * side)
    return float(arrangement[TOP_HEIGHT] - throw * math.cos(turned) - upright)


@kernel
def cylinder_volume(angle: float, arrangement: FloatArray) -> float:
    """Volume above the piston.

    Parameters
    ----------
    angle : float
        Crank angle from the piston's top dead centre. [rad]
    arrangement : (8,) array of float
        From `crank_arrangement`. [m3, m2, m, m, m, rad, m, m3]

    Returns
    -------
    float
        Volume. [m3]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equation 2.4.

    Examples
    --------
    >>> volume = cylinder_volume(math.pi, crank_arrangement(0.086, 0.086, 0.143, 10.0))
    >>> round(volume / cylinder_volume(0.0, crank_arrangement(0.086, 0.086, 0.143, 10.0)), 6)
    10.0
    """
    return float(arrangement[CLEARANCE] + arrangement[PISTON_AREA] * piston_travel(angle, arrangement))


@kernel
def volume_slope(angle: float, arrangement: FloatArray) -> float:
    r"""Derivative of the volume by crank angle.

    .. math:: \frac{dV}{d\theta} = A\,a\left[\sin\phi + \frac{(a\sin\phi+d)\cos\phi}{\sqrt{l^2-(a\sin\phi+d)^2}}\right]

    Parameters
    ----------
    angle : float
        Crank angle from the piston's top dead centre. [rad]
    arrangement : (8,) array of float
        From `crank_arrangement`. [m3, m2, m, m, m, rad, m, m3]

    Returns
    -------
    float
        Slope, zero at both dead centres. [m3/rad]

    References
    ----------
    .. [1] J. B. Heywood, "Internal Combustion Engine Fundamentals", 1988, equation 2.11, with an offset pin.
    """
    turned = angle + arrangement[TOP_ANGLE]
    throw = arrangement[THROW]
    sine, cosine = math.sin(turned), math.cos(turned)
    side = throw * sine + arrangement[OFFSET]
    upright = math.sqrt(arrangement[ROD] * arrangement[ROD] - side * side)
    return float(arrangement[PISTON_AREA] * throw * (sine + side * cosine / upright))
