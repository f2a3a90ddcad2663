"""A cam lobe as lift over angle: measured, and carried to the valve.

Angles are crank degrees from the nose, whatever the lobe turns at; lifts are at the tappet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.engine.monotone import monotone_curve
from pullbook.errors import OutOfRangeError
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from pullbook.quantities.arrays import FloatArray

__all__ = ["STEP_DEG", "Lobe", "measured_lobe", "valve_lift_table"]

STEP_DEG: Final = 0.25  # of the tables of lobes, crank degrees


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lobe:
    """Lift of a tappet over the crank angle.

    Attributes
    ----------
    angle_deg : (n,) array of float
        Crank angle from the nose, rising in equal steps. [deg]
    lift : (n,) array of float
        Lift of the tappet, zero at both ends. [m]
    nose_deg : float
        Where the nose stood in the table that was measured; 0 for a designed lobe. [deg]
    assumed : tuple of str
        What was not given.
    """

    angle_deg: FloatArray
    lift: FloatArray
    nose_deg: float = 0.0
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "angle_deg", frozen_floats(self.angle_deg))
        object.__setattr__(self, "lift", frozen_floats(self.lift))

    @property
    def peak(self) -> float:
        """Largest lift. [m]."""
        return float(self.lift.max())


def measured_lobe(angle_deg: ArrayLike, lift: ArrayLike, *, cam_degrees: bool = False) -> Lobe:
    """Lobe from a table of lift against angle, as a dial gauge and a degree wheel give it.

    A monotone cubic goes through the points, so that nothing overshoots at the base circle or the nose. The nose is the
    middle between the two places where the lift is 98 per cent of the largest.

    Parameters
    ----------
    angle_deg : (n,) array_like of float
        Rising angles, five at least, covering the lobe from base circle to base circle. [deg]
    lift : (n,) array_like of float
        Lift at the tappet. [m]
    cam_degrees : bool
        Whether the angles are the camshaft's; they are doubled then.

    Returns
    -------
    Lobe
        The lobe, with its nose at zero.

    Raises
    ------
    OutOfRangeError
        If the angles do not rise, a lift is negative or not a number, or the table ends off the base circle.

    Examples
    --------
    >>> measured_lobe([-60, -30, 0, 30, 60], [0, 4e-3, 8e-3, 4e-3, 0], cam_degrees=True).peak
    0.008
    """
    angles = np.asarray(angle_deg, dtype=np.float64) * (2.0 if cam_degrees else 1.0)
    lifts = np.asarray(lift, dtype=np.float64)
    _check_table(angles, lifts)
    dense = np.arange(angles[0], angles[-1], 0.05)
    high = dense[monotone_curve(angles, lifts, dense) >= 0.98 * lifts.max()]
    nose = 0.5 * float(high[0] + high[-1])
    first = np.floor((angles[0] - nose) / STEP_DEG) * STEP_DEG
    last = np.ceil((angles[-1] - nose) / STEP_DEG) * STEP_DEG
    grid = np.arange(first, last + 0.5 * STEP_DEG, STEP_DEG)
    values = np.where(
        (grid + nose < angles[0]) | (grid + nose > angles[-1]), 0.0, monotone_curve(angles, lifts, grid + nose)
    )
    return Lobe(angle_deg=grid, lift=np.maximum(values, 0.0), nose_deg=nose)


def valve_lift_table(
    lobe: Lobe, centreline_deg: float, rocker_ratio: float = 1.0, lash: float = 0.0, points: int = 1440
) -> FloatArray:
    """Valve lift over a cycle, on the uniform grid that the kernels read.

    Parameters
    ----------
    lobe : Lobe
        Lift at the tappet.
    centreline_deg : float
        Crank angle of the nose from the firing top dead centre: 360 plus the intake centreline, or 360 minus the
        exhaust centreline. [deg]
    rocker_ratio : float
        Valve travel over tappet travel. [1]
    lash : float
        Clearance at the valve; 0 with hydraulic lifters. [m]
    points : int
        Points of the table over 720 degrees.

    Returns
    -------
    (points,) array of float
        Valve lift at ``k * 720 / points`` degrees. [m]

    Raises
    ------
    OutOfRangeError
        If the rocker ratio or the lash cannot be.

    Examples
    --------
    >>> lobe = measured_lobe([-120, -60, 0, 60, 120], [0, 4e-3, 8e-3, 4e-3, 0])
    >>> round(float(valve_lift_table(lobe, 466.0, 1.5).max()) * 1e3, 3)
    12.0
    """
    if not 0.5 <= rocker_ratio <= 3.0:
        raise OutOfRangeError("the rocker ratio is outside 0.5 to 3", value=f"{rocker_ratio:g}")
    if not 0.0 <= lash < 0.5 * lobe.peak * rocker_ratio:
        raise OutOfRangeError("the lash is negative or more than half of the lift", value=f"{lash * 1e3:g} mm")
    angle = np.arange(points) * (720.0 / points)
    from_nose = (angle - centreline_deg + 360.0) % 720.0 - 360.0
    lift = np.interp(from_nose, lobe.angle_deg, lobe.lift, left=0.0, right=0.0)
    return np.asarray(np.maximum(rocker_ratio * lift - lash, 0.0), dtype=np.float64)


def _check_table(angles: FloatArray, lifts: FloatArray) -> None:
    if angles.shape != lifts.shape or angles.size < 5 or not np.isfinite(angles + lifts).all():
        raise OutOfRangeError("a measured lobe takes five or more pairs of angle and lift, all numbers")
    if np.any(np.diff(angles) <= 0.0) or angles[-1] - angles[0] > 720.0:
        raise OutOfRangeError("the angles of a measured lobe rise, over 720 crank degrees at most")
    if lifts.min() < 0.0 or lifts.max() <= 0.0 or max(lifts[0], lifts[-1]) > 0.05 * lifts.max():
        raise OutOfRangeError(
            "a measured lobe begins and ends on the base circle and lifts between",
            value=f"{lifts[0]:g} to {lifts[-1]:g} m",
        )
