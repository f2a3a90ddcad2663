"""The torque that a sweep spends on its own acceleration."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.derivative import local_slope, slope_bandwidth
from pullbook.errors import InputError, Way
from pullbook.quantities.arrays import frozen_floats
from pullbook.quantities.channels import Channel
from pullbook.records.corrected import CorrectionStep
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.pull import Pull

__all__ = ["Acceleration", "acceleration_of", "inertia_torque"]

_RPM_TO_RAD_S: Final = np.pi / 30.0
_GAP: Final = 3.5  # of the usual time between samples


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Acceleration:
    """How fast the engine speed changes at each sample of a pull.

    Attributes
    ----------
    sweep_rate : (n,) array of float
        Speed gained per second; negative in a down-sweep, zero at steady points, NaN where not known. [rpm/s]
    steps : tuple of CorrectionStep
        Where it came from, with the bandwidth of the derivative.
    """

    sweep_rate: FloatArray
    steps: tuple[CorrectionStep, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "sweep_rate", frozen_floats(self.sweep_rate))


def inertia_torque(sweep_rate: FloatArray, inertia: float) -> FloatArray:
    r"""Torque that acceleration takes, :math:`J\,d\omega/dt`.

    Parameters
    ----------
    sweep_rate : (n,) array of float
        Change of engine speed. [rpm/s]
    inertia : float
        Everything that turns on the engine's side of the torque measurement. [kg m^2]

    Returns
    -------
    (n,) array of float
        To be added to observed torque; negative in a down-sweep. [N m]

    Notes
    -----
    Where the casing of the absorber is weighed, its rotor counts too, with coupling, shaft and engine; an in-line
    torque flange misses the engine's side only.

    Examples
    --------
    >>> float(inertia_torque(np.array([300.0]), 0.30)[0])
    9.4248
    """
    return np.asarray(inertia * _RPM_TO_RAD_S * sweep_rate)


def acceleration_of(pull: Pull, bandwidth: float | None = None) -> Acceleration:
    """Rate of change of engine speed at every sample of a pull.

    From time and speed by local parabolas; at steady points zero; from the file's sweep-rate channel where the file
    has no time. The derivative never looks across a gap in time (left-out rows of a gear change, say).

    Parameters
    ----------
    pull : Pull
        As measured.
    bandwidth : float or None
        Full width of the span of the derivative; None for that of `slope_bandwidth`, usually half a second. [s]

    Returns
    -------
    Acceleration
        Rates, and the bandwidth in seconds and in rpm. [rpm/s]

    Raises
    ------
    InputError
        If the file has neither time nor sweep rate.
    """
    speed = pull.channels[Channel.SPEED]
    if pull.direction is Direction.STEPS:
        still = np.zeros(speed.shape)
        return Acceleration(sweep_rate=still, steps=(_step("sweep rate", 0.0, "rpm/s", "steady points"),))
    time = pull.channels.get(Channel.TIME)
    width = np.nan if time is None else (bandwidth or slope_bandwidth(time, speed))
    if time is None or not np.isfinite(width):
        return _from_channel(pull)
    rate = _rate(time, speed, width)
    mean = float(np.nanmean(rate)) if np.isfinite(rate).any() else np.nan
    return Acceleration(
        sweep_rate=rate,
        steps=(
            _step("derivative bandwidth", float(width), "s", "full width of the local parabola over time"),
            _step("derivative bandwidth in speed", abs(mean) * float(width), "rpm", "bandwidth times mean sweep rate"),
            _step("sweep rate", mean, "rpm/s", "slope of a local parabola (tricube weights) of speed over time"),
        ),
    )


def _rate(time: FloatArray, speed: FloatArray, width: float) -> FloatArray:
    """Slope within each stretch of time without a gap; NaN in stretches too short for one."""
    rate = np.full(time.shape, np.nan)
    good = np.flatnonzero(np.isfinite(time) & np.isfinite(speed))
    order = good[np.argsort(time[good], kind="stable")]
    apart = np.diff(time[order])
    usual = float(np.median(apart[apart > 0.0])) if np.any(apart > 0.0) else 0.0
    for stretch in np.split(order, np.flatnonzero(apart > _GAP * usual) + 1):
        rate[stretch] = local_slope(time[stretch], speed[stretch], width)
    return rate


def _from_channel(pull: Pull) -> Acceleration:
    recorded = pull.channels.get(Channel.SWEEP_RATE)
    if recorded is None or not np.isfinite(recorded).any():
        raise InputError(
            "the inertia torque needs the time of each sample, and the file has none", where=pull.name,
            remedy=Way.INERTIA.said("export the time column, or take inertia out of the session file"),
        )  # fmt: skip
    mean = float(np.nanmean(recorded))
    return Acceleration(sweep_rate=recorded, steps=(_step("sweep rate", mean, "rpm/s", "channel of the file"),))


def _step(name: str, value: float, unit: str, source: str) -> CorrectionStep:
    return CorrectionStep(name=name, value=value, unit=unit, source=source)
