"""Crossings of two curves: certain ones, their zones and intervals, and those that may not exist."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.quantiles import half_widths

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["CertainCrossing", "certain_crossings", "inversion_interval", "nearest_crossings", "possible_zones", "zeros"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CertainCrossing:
    """A change of sign between two ranges in which the sign is certain.

    Attributes
    ----------
    zone_low, zone_high : float
        Last speed of the range below and first speed of the range above. [rpm]
    first, last : int
        Their places on the grid. [1]
    sign_above : int
        Sign of the curve above the zone. [1]
    """

    zone_low: float
    zone_high: float
    first: int
    last: int
    sign_above: int


def _certain_signs(low: FloatArray, high: FloatArray) -> IntArray:
    """Sign at each speed where the band excludes zero, 0 elsewhere (also where the band is NaN)."""
    signs: IntArray = (low > 0.0).astype(np.int64) - (high < 0.0).astype(np.int64)
    return signs


def certain_crossings(speed_rpm: FloatArray, low: FloatArray, high: FloatArray) -> tuple[CertainCrossing, ...]:
    """Changes of sign between speeds at which a simultaneous band excludes zero.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds, without a gap. [rpm]
    low, high : (g,) array of float
        Simultaneous band of a difference. [any]

    Returns
    -------
    tuple of CertainCrossing
        By rising speed. Zones are in rpm. [rpm]

    Notes
    -----
    Their number is a lower bound on the number of crossings; it is too large in at most 1 - confidence of the cases in
    which the band holds its promise. A NaN in the band is "not certain".

    Examples
    --------
    >>> found = certain_crossings(np.arange(4.0), np.array([-3.0, -1.0, -1.0, 1.0]), np.array([-1.0, 1.0, 1.0, 3.0]))
    >>> [(c.zone_low, c.zone_high, c.sign_above) for c in found]
    [(0.0, 3.0, 1)]
    """
    signs = _certain_signs(low, high)
    certain = np.flatnonzero(signs)
    found: list[CertainCrossing] = []
    for below, above in pairwise(certain.tolist()):
        if signs[below] != signs[above]:
            found.append(
                CertainCrossing(
                    zone_low=float(speed_rpm[below]),
                    zone_high=float(speed_rpm[above]),
                    first=below,
                    last=above,
                    sign_above=int(signs[above]),
                )
            )
    return tuple(found)


def zeros(speed_rpm: FloatArray, values: FloatArray) -> FloatArray:
    """Speeds at which a curve changes sign, by the straight line between grid points.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    values : (g,) array of float
        Curve. [any]

    Returns
    -------
    (k,) array of float
        Speeds. [rpm]

    Notes
    -----
    A curve that touches zero and turns back has no change of sign; where it stays at zero for a stretch, the middle of
    the stretch is given. NaN is left out.

    Examples
    --------
    >>> zeros(np.array([1000.0, 2000.0, 3000.0]), np.array([-1.0, 3.0, 1.0]))
    array([1250.])
    """
    kept = np.flatnonzero(np.isfinite(values) & (values != 0.0))
    speed, value = speed_rpm[kept], values[kept]
    change = np.flatnonzero(np.signbit(value[:-1]) != np.signbit(value[1:]))
    skipped = kept[change + 1] - kept[change] > 1
    part = value[change] / (value[change] - value[change + 1])
    line = speed[change] + part * (speed[change + 1] - speed[change])
    middle = 0.5 * (speed_rpm[np.minimum(kept[change] + 1, speed_rpm.size - 1)] + speed_rpm[kept[change + 1] - 1])
    return np.where(skipped, middle, line)


def inversion_interval(
    crossing: CertainCrossing,
    speed_rpm: FloatArray,
    centre: FloatArray,
    deviations: FloatArray,
    confidence: float,
) -> tuple[float, float, float]:
    """Estimate and interval of a certain crossing, by inversion of the pointwise interval.

    All speeds of the zone whose pointwise interval ``centre +/- h`` contains zero; the hull where they are in pieces.

    Parameters
    ----------
    crossing : CertainCrossing
        The crossing, on the same grid. [rpm]
    speed_rpm : (g,) array of float
        Rising speeds. [rpm]
    centre : (g,) array of float
        Difference. [any]
    deviations : (d, g) array of float
        Draws of the difference minus `centre`. [as `centre`]
    confidence : float
        Level of the pointwise interval. [1]

    Returns
    -------
    tuple of (float, float, float)
        Crossing of the mean curves (the middle one where they cross several times in the zone), low, high. [rpm]

    References
    ----------
    1. E. C. Fieller, Some problems in interval estimation, J. R. Statist. Soc. B 16 (1954) 175 (from memory).

    Examples
    --------
    >>> speed, centre = np.array([1000.0, 2000.0, 3000.0]), np.array([-4.0, 0.0, 4.0])
    >>> zone = CertainCrossing(zone_low=1000.0, zone_high=3000.0, first=0, last=2, sign_above=1)
    >>> inversion_interval(zone, speed, centre, np.array([[2.0, 2.0, 2.0], [-2.0, -2.0, -2.0]]), 0.95)
    (2000.0, 1500.0, 2500.0)
    """
    part = slice(crossing.first, crossing.last + 1)
    speed, mean = speed_rpm[part], centre[part]
    # Positive where the sign of the difference is certain at that speed by itself.
    beyond = np.abs(mean) - half_widths(deviations[:, part], confidence)
    inside = np.flatnonzero(beyond <= 0.0)
    crossings = zeros(speed, mean)
    rpm = float(crossings[(crossings.size - 1) // 2]) if crossings.size % 2 else nan
    if inside.size == 0:
        return rpm, rpm, rpm
    low = _edge(speed, beyond, int(inside[0]), -1)
    high = _edge(speed, beyond, int(inside[-1]), 1)
    return rpm, min(low, rpm), max(high, rpm)


def _edge(speed: FloatArray, beyond: FloatArray, inside: int, step: int) -> float:
    """Speed between a point whose interval contains zero and its neighbour, where it ceases to."""
    outside = inside + step
    if not 0 <= outside < speed.size:
        return float(speed[inside])
    part = beyond[inside] / (beyond[inside] - beyond[outside])
    return float(speed[inside] + part * (speed[outside] - speed[inside]))


def possible_zones(
    speed_rpm: FloatArray, centre: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[tuple[float, float], ...]:
    """Ranges without a certain sign in which the mean curve crosses zero, though no crossing is certain.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds, without a gap. [rpm]
    centre, low, high : (g,) array of float
        Difference and its simultaneous band. [any]

    Returns
    -------
    tuple of (float, float)
        Ranges, by rising speed. [rpm]

    Examples
    --------
    >>> possible_zones(np.arange(3.0), np.array([-1.0, 1.0, 9.0]), np.array([-8.0, -8.0, 2.0]), np.full(3, 16.0))
    ((0.0, 2.0),)
    """
    certain = certain_crossings(speed_rpm, low, high)
    edges = [0, *np.flatnonzero(_certain_signs(low, high)).tolist(), speed_rpm.size - 1]
    zones = [(float(speed_rpm[a]), float(speed_rpm[b])) for a, b in pairwise(edges) if a < b]
    taken = {(crossing.zone_low, crossing.zone_high) for crossing in certain}
    places = zeros(speed_rpm, centre)
    return tuple(
        zone for zone in zones if zone not in taken and bool(np.any((places >= zone[0]) & (places <= zone[1])))
    )


def nearest_crossings(speed_rpm: FloatArray, draws: FloatArray, near_rpm: float) -> FloatArray:
    """Crossing of each draw that lies nearest to a given speed.

    Parameters
    ----------
    speed_rpm : (g,) array of float
        Rising speeds, without a gap. [rpm]
    draws : (d, g) array of float
        Draws of a difference. [any]
    near_rpm : float
        Crossing of the mean curves. [rpm]

    Returns
    -------
    (d,) array of float
        Speeds; NaN for a draw that does not cross zero. [rpm]

    Examples
    --------
    >>> nearest_crossings(np.array([1000.0, 2000.0, 3000.0]), np.array([[-1.0, 1.0, -3.0], [1.0, 1.0, 1.0]]), 2100.0)
    array([2250.,   nan])
    """
    left, right = draws[:, :-1], draws[:, 1:]
    change = np.signbit(left) != np.signbit(right)
    span = np.where(change, left - right, 1.0)
    place = speed_rpm[:-1] + left / span * np.diff(speed_rpm)
    distance = np.where(change, np.abs(place - near_rpm), np.inf)
    best = distance.argmin(axis=1)
    rows = np.arange(draws.shape[0])
    return np.where(change.any(axis=1), place[rows, best], nan)
