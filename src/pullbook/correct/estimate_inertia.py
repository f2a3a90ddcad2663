"""Rotating inertia from pulls of one build at two sweep rates, or from an up-sweep and a down-sweep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from pullbook.correct.inertia import acceleration_of
from pullbook.errors import RefusalError
from pullbook.quantities.channels import Channel
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.pull import Pull

__all__ = ["InertiaEstimate", "estimate_inertia"]

_RPM_TO_RAD_S: Final = np.pi / 30.0
_BINS: Final = 40
_NARROWEST: Final = 50.0  # rpm
_FEWEST_BINS: Final = 5
_ALIKE: Final = 0.10  # rates that differ by less than a tenth of the fastest say nothing
_ASSUMED_SD: Final = 0.005  # of torque, level of one pull, where two pulls leave no way to see it
_LEVEL: Final = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class InertiaEstimate:
    """Inertia with its interval.

    Attributes
    ----------
    value, low, high : float
        Estimate and ends of the 95 % interval. [as `unit`]
    unit : str
        "kg m^2"; "signal s^2" where torque is a signal without calibration.
    says : str
        In words, with what it rests on.
    """

    value: float
    low: float
    high: float
    unit: str
    says: str


class _Levels(NamedTuple):
    """Means over the shared range: torque and angular acceleration of each pull, and the range."""

    torque: FloatArray
    acceleration: FloatArray
    from_rpm: float
    to_rpm: float


def estimate_inertia(pulls: Sequence[Pull]) -> InertiaEstimate:
    r"""Inertia that makes pulls of one build at different sweep rates agree.

    At equal speed a faster sweep leaves less torque for the bench. Torque and acceleration are averaged in bins of
    speed that all pulls share, then over the bins, and the level of torque is regressed on the level of acceleration;
    for one up-sweep and one down-sweep this is

    .. math:: J = \frac{T_{down} - T_{up}}{|\alpha_{up}| + |\alpha_{down}|}

    Parameters
    ----------
    pulls : sequence of Pull
        Two or more pulls of one build in the same air, as measured, at sweep rates that differ.

    Returns
    -------
    InertiaEstimate
        Inertia with a 95 % interval: Student's, with the number of pulls less two degrees of freedom; with two pulls
        a repeatability of 0.5 per cent of torque is assumed, and said. [kg m^2]

    Raises
    ------
    RefusalError
        If there is one pull, the pulls share no range or differ in rate by less than a tenth, or torque does not fall
        with acceleration.

    Notes
    -----
    Friction, mixture and manifold filling are taken to be the same up and down; where they are not, the estimate
    contains them. A drift of the engine between the pulls goes into it too, so alternate the rates.
    """
    if len(pulls) < 2:
        raise RefusalError(
            "one pull cannot tell inertia from torque", remedy="give pulls at two sweep rates, or up and down"
        )
    levels = _levels(pulls)
    torque = levels.torque - levels.torque.mean()
    acceleration = levels.acceleration - levels.acceleration.mean()
    spread = float(np.ptp(levels.acceleration))
    if spread < _ALIKE * float(np.max(np.abs(levels.acceleration))):
        rates = ", ".join(f"{rate / _RPM_TO_RAD_S:.0f}" for rate in levels.acceleration)
        raise RefusalError(
            "the pulls sweep at nearly the same rate, which says nothing about inertia", value=f"{rates} rpm/s",
            remedy="repeat one of them at half or twice the rate, or downwards",
        )  # fmt: skip
    value = float(-(torque @ acceleration) / (acceleration @ acceleration))
    if value <= 0.0:
        raise RefusalError(
            "torque does not fall as the sweep gets faster, so that no inertia can be found",
            remedy="use pulls of one build in the same air, oil temperature and throttle position",
        )  # fmt: skip
    half, rests_on = _half_width(levels, torque, acceleration, value)
    return _estimate(pulls, levels, value, half, rests_on)


def _half_width(levels: _Levels, torque: FloatArray, acceleration: FloatArray, value: float) -> tuple[float, str]:
    from scipy.stats import norm, t

    freedom = torque.size - 2
    if freedom == 0:
        sd = _ASSUMED_SD * float(np.mean(np.abs(levels.torque)))
        quantile = float(norm.ppf(0.5 + _LEVEL / 2))
        rests_on = "two pulls, whose scatter is assumed to be 0.5 % of torque"
    else:
        residual = torque + value * acceleration
        sd = float(np.sqrt(residual @ residual / freedom))
        quantile = float(t.ppf(0.5 + _LEVEL / 2, freedom))
        rests_on = f"{torque.size} pulls"
    return quantile * sd / float(np.sqrt(acceleration @ acceleration)), rests_on


def _estimate(pulls: Sequence[Pull], levels: _Levels, value: float, half: float, rests_on: str) -> InertiaEstimate:
    relative = pulls[0].torque_kind is TorqueKind.RELATIVE
    unit = "signal s^2" if relative else "kg m^2"
    low, high = value - half, value + half
    slow, fast = (
        levels.acceleration[at] / _RPM_TO_RAD_S for at in (levels.acceleration.argmin(), levels.acceleration.argmax())
    )
    doubt = "; it cannot be told from zero, so add pulls or make the rates more different" if low <= 0.0 else ""
    says = (
        f"The inertia is {value:.3g} {unit}, between {low:.3g} and {high:.3g} with 95 % confidence, from {rests_on}, "
        f"at {slow:,.0f} to {fast:,.0f} rpm/s between {levels.from_rpm:,.0f} and {levels.to_rpm:,.0f} rpm{doubt}."
    )
    return InertiaEstimate(value=value, low=low, high=high, unit=unit, says=says)


def _levels(pulls: Sequence[Pull]) -> _Levels:
    """Mean torque and acceleration of each pull over the bins of speed in which all of them have samples."""
    traces = [_trace(pull) for pull in pulls]
    low = max(float(speed.min()) for speed, _, _ in traces)
    high = min(float(speed.max()) for speed, _, _ in traces)
    if high - low < _FEWEST_BINS * _NARROWEST:
        raise RefusalError("the pulls share no range of speed", remedy="use pulls over the same range of speed")
    count = int(np.clip((high - low) / _NARROWEST, _FEWEST_BINS, _BINS))
    edges = np.linspace(low, high, count + 1)
    centres = 0.5 * (edges[1:] + edges[:-1])
    binned = [_binned(trace, edges, centres) for trace in traces]
    shared: BoolArray = np.all([np.isfinite(torque) for torque, _ in binned], axis=0)
    if np.count_nonzero(shared) < _FEWEST_BINS:
        raise RefusalError("the pulls share too few speeds", remedy="record more samples, or sweep more slowly")
    torque = np.array([values[shared].mean() for values, _ in binned])
    acceleration = np.array([values[shared].mean() for _, values in binned])
    return _Levels(torque=torque, acceleration=acceleration, from_rpm=low, to_rpm=high)


def _trace(pull: Pull) -> tuple[FloatArray, FloatArray, FloatArray]:
    relative = pull.torque_kind is TorqueKind.RELATIVE
    torque = pull.channels[Channel.LOAD_SIGNAL if relative else Channel.TORQUE]
    speed = pull.channels[Channel.SPEED]
    acceleration = _RPM_TO_RAD_S * acceleration_of(pull).sweep_rate
    good = np.isfinite(torque) & np.isfinite(speed) & np.isfinite(acceleration)
    if not good.any():
        raise RefusalError("no sample has speed, torque and time", where=pull.name, remedy="export the time column")
    return speed[good], torque[good], np.asarray(acceleration[good])


def _binned(
    trace: tuple[FloatArray, FloatArray, FloatArray], edges: FloatArray, centres: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Bin means of torque and acceleration moved to the middle of each bin; NaN where a bin has no sample."""
    speed, torque, acceleration = trace
    at = np.clip(np.searchsorted(edges, speed, side="right") - 1, 0, centres.size - 1)
    inside = (speed >= edges[0]) & (speed <= edges[-1])
    count = np.bincount(at[inside], minlength=centres.size)
    filled = count > 0
    means = [
        np.bincount(at[inside], weights=values[inside], minlength=centres.size)[filled] / count[filled]
        for values in (speed, torque, acceleration)
    ]
    moved = [np.where(filled, np.interp(centres, means[0], values), np.nan) for values in means[1:]]
    return np.asarray(moved[0]), np.asarray(moved[1])
