"""What a lobe does: durations, area, velocity and acceleration, and whether these are like those of ground lobes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.engine.lobe import Lobe

__all__ = ["CHECK_LIFTS", "LobeMotion", "duration_at", "lobe_area", "lobe_motion"]

_INCH: Final = 0.0254
CHECK_LIFTS: Final = {"0.006 in": 0.006 * _INCH, "1 mm": 1e-3, "0.050 in": 0.050 * _INCH, "0.200 in": 0.200 * _INCH}
# Usual ranges of automotive lobes (practice, from memory): a flat tappet of 21.4 mm allows 0.187 mm a cam degree.
_MOST_VELOCITY: Final = 0.22e-3  # m a cam degree; rollers reach it
_MOST_ACCELERATION: Final = 0.017e-3  # m a cam degree squared, on the flank
_MOST_NOSE: Final = 0.008e-3  # m a cam degree squared, at the nose
_FULLNESS: Final = (0.60, 0.78)  # mean lift over the 0.050 in duration, over the largest lift


@dataclass(frozen=True, slots=True, kw_only=True)
class LobeMotion:
    """Figures of a lobe.

    Attributes
    ----------
    durations_deg : tuple of (str, float)
        Duration at each usual checking lift below the nose. [crank deg]
    area : float
        Lift integrated over the crank angle. [m deg]
    fullness : float
        Mean lift between the 0.050 in points over the largest lift; NaN for a lobe lower than that. [1]
    velocity : float
        Largest velocity. [m/deg of the cam]
    acceleration : float
        Largest acceleration, on a flank, above 0.006 in. [m/deg^2 of the cam]
    nose_acceleration : float
        Largest deceleration, positive. [m/deg^2 of the cam]
    remarks : tuple of str
        What is unlike a ground lobe.
    """

    durations_deg: tuple[tuple[str, float], ...]
    area: float
    fullness: float
    velocity: float
    acceleration: float
    nose_acceleration: float
    remarks: tuple[str, ...] = ()


def duration_at(lobe: Lobe, lift: float) -> float:
    """Crank angle between the places where the tappet passes a lift.

    Parameters
    ----------
    lobe : Lobe
        The lobe.
    lift : float
        Checking lift. [m]

    Returns
    -------
    float
        Duration, 0 where the lobe is lower. [crank deg]

    Examples
    --------
    >>> from pullbook.engine.cam import design_lobe
    >>> round(duration_at(design_lobe(8e-3, {0.15e-3: 270.0}), 0.15e-3), 1)
    270.0
    """
    above = np.flatnonzero(lobe.lift > lift)
    if not above.size:
        return 0.0
    angle, lifts = lobe.angle_deg, lobe.lift
    first, last = int(above[0]), int(above[-1])
    opens = angle[first] if first == 0 else np.interp(lift, lifts[first - 1 : first + 1], angle[first - 1 : first + 1])
    closes = angle[last]
    if last + 1 < angle.size:
        closes = np.interp(-lift, -lifts[last : last + 2], angle[last : last + 2])
    return float(closes - opens)


def lobe_area(lobe: Lobe, above: float = 0.0) -> float:
    """Area under the lift curve.

    Parameters
    ----------
    lobe : Lobe
        The lobe.
    above : float
        Lift below which nothing counts; the lift above zero counts in full where it is higher. [m]

    Returns
    -------
    float
        Area. [m deg]

    Examples
    --------
    >>> from pullbook.engine.cam import design_lobe
    >>> round(lobe_area(design_lobe(8e-3, {0.15e-3: 270.0})) * 1e3)
    1262
    """
    lift = np.where(lobe.lift >= above, lobe.lift, 0.0)
    return float(np.trapezoid(lift, lobe.angle_deg))


def lobe_motion(lobe: Lobe) -> LobeMotion:
    """Durations, area, velocity and acceleration of a lobe, with remarks where they are unusual.

    Parameters
    ----------
    lobe : Lobe
        The lobe.

    Returns
    -------
    LobeMotion
        Figures and remarks.

    Notes
    -----
    Velocity and acceleration are differences over two crank degrees: a table read by hand at every few degrees gives
    accelerations that are mostly its own noise.
    """
    step = lobe.angle_deg[1] - lobe.angle_deg[0]
    reach = max(1, round(2.0 / step))
    cam_step = 0.5 * reach * step
    padded = np.pad(lobe.lift, reach)
    velocity = (padded[2 * reach :] - padded[: -2 * reach]) / (2.0 * cam_step)
    bend = (padded[2 * reach :] - 2.0 * lobe.lift + padded[: -2 * reach]) / cam_step**2
    off_seat = lobe.lift > CHECK_LIFTS["0.006 in"]
    half = duration_at(lobe, CHECK_LIFTS["0.050 in"])
    figures = LobeMotion(
        durations_deg=tuple((name, duration_at(lobe, lift)) for name, lift in CHECK_LIFTS.items() if lift < lobe.peak),
        area=lobe_area(lobe),
        fullness=lobe_area(lobe, CHECK_LIFTS["0.050 in"]) / (half * lobe.peak) if half > 0.0 else float("nan"),
        velocity=float(np.abs(velocity).max()),
        acceleration=float(bend[off_seat].max(initial=0.0)),
        nose_acceleration=float(-bend.min(initial=0.0)),
    )
    return LobeMotion(
        durations_deg=figures.durations_deg, area=figures.area, fullness=figures.fullness, velocity=figures.velocity,
        acceleration=figures.acceleration, nose_acceleration=figures.nose_acceleration, remarks=_remarks(figures),
    )  # fmt: skip


def _remarks(motion: LobeMotion) -> tuple[str, ...]:
    limits = (
        ("velocity", motion.velocity, _MOST_VELOCITY, "mm a cam degree"),
        ("acceleration on the flank", motion.acceleration, _MOST_ACCELERATION, "mm a cam degree squared"),
        ("deceleration at the nose", motion.nose_acceleration, _MOST_NOSE, "mm a cam degree squared"),
    )
    remarks = [
        f"{name} {value * 1e3:.3g} {unit} is more than {most * 1e3:.3g}"
        for name, value, most, unit in limits
        if value > most
    ]
    low, high = _FULLNESS
    if motion.fullness < low:
        remarks.append(f"mean lift is {motion.fullness:.2f} of the peak, less than {low:g}: the area is too small")
    elif motion.fullness > high:
        remarks.append(f"mean lift is {motion.fullness:.2f} of the peak, more than {high:g}: the area is too large")
    return tuple(remarks)
