"""Peaks of the builds: heights with their draws, and the speeds that cannot be told from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pullbook.compare.drawn import uneven_interval
from pullbook.curves.peaks import peak_place, peak_range
from pullbook.records.curve import Peak

if TYPE_CHECKING:
    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import FloatArray

__all__ = ["BuildPeaks", "DrawnPeak", "build_peaks", "peak_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnPeak:
    """Highest point of one curve, and of each of its draws.

    Attributes
    ----------
    height : float
        Of the best estimate. [N m or W]
    index : int
        Its place among the measured speeds. [1]
    draws : (d,) array of float
        Heights of the draws, wherever each has its peak. [N m or W]
    """

    height: float
    index: int
    draws: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BuildPeaks:
    """Peaks of torque and power of one build.

    Attributes
    ----------
    torque, power : DrawnPeak
        The peaks. [N m, W]
    """

    torque: DrawnPeak
    power: DrawnPeak


def build_peaks(curves: DrawnCurves, build: str) -> BuildPeaks:
    """Peaks of one build.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    build : str
        Name of the build.

    Returns
    -------
    BuildPeaks
        Torque, and torque times angular speed. [N m, W]
    """
    place = curves.place(build)
    centre, draws = curves.centre[place], curves.draws[place]
    lever = curves.angular_speed
    return BuildPeaks(
        torque=_drawn(curves, centre, draws), power=_drawn(curves, centre * lever, draws * lever[:, None])
    )


def _drawn(curves: DrawnCurves, centre: FloatArray, draws: FloatArray) -> DrawnPeak:
    place = peak_place(curves.speed_rpm, centre)
    return DrawnPeak(height=place.value, index=place.index, draws=draws.max(axis=0))


def peak_of(curves: DrawnCurves, build: str, drawn: DrawnPeak, factor: FloatArray | float = 1.0) -> Peak:
    """Peak with its interval and its range of speeds.

    Parameters
    ----------
    curves : DrawnCurves
        Curves of all builds. [N m, or %]
    build : str
        Name of the build.
    drawn : DrawnPeak
        Its peak. [N m or W]
    factor : (k,) array of float or float
        What torque is multiplied by: 1, or the angular speed. [1 or rad/s]

    Returns
    -------
    Peak
        Without an interval where no doubt can be stated. [N m or W, rpm]
    """
    rpm = float(curves.speed_rpm[drawn.index])
    height = uneven_interval(curves, drawn.height, drawn.draws)
    if not curves.has_bands:
        return Peak(
            value=height.value, low=height.low, high=height.high, rpm=rpm, rpm_low=height.low, rpm_high=height.high
        )
    draws = curves.draws[curves.place(build)].T * factor
    first, last = peak_range(curves.speed_rpm, draws, drawn.index, curves.alpha)
    return Peak(value=height.value, low=height.low, high=height.high, rpm=rpm, rpm_low=first, rpm_high=last)
