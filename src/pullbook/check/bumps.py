r"""BumpMap: how far a short stretch of a curve stands out of the curve on both sides of it.

At every place a parabola is fitted to the samples of the flanks, 350 rpm on either side, and the mean of the samples
between them is compared with it. A bump then does not bend the curve that it is judged by.

Widths of 50, 100 and 200 rpm are tried: tuned pipes shape a torque curve over 400 rpm and more, a loose plug over less.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import BoolArray, FloatArray, IntArray

__all__ = ["BIN_RPM", "WIDTHS_RPM", "BumpMap", "map_bumps", "sample_noise"]

BIN_RPM: Final = 25.0
WIDTHS_RPM: Final = (50.0, 100.0, 200.0)
_FLANK_RPM: Final = 350.0
_SHORTEST_FLANK_RPM: Final = 150.0
_FEWEST: Final = 30
_FLANK_SAMPLES: Final = 3
_NORMAL: Final = 1.4826  # standard deviation over median absolute deviation of a normal distribution
_LOCAL_RPM: Final = 700.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BumpMap:
    """Bumps of one width.

    Attributes
    ----------
    width_rpm : float
        Width of the stretch. [rpm]
    centre_rpm : (m,) array of float
        Middle of each stretch, whole multiples of `BIN_RPM`. [rpm]
    size : (m,) array of float
        Mean of the stretch less the parabola of its flanks; NaN where samples are too few. [as the curve]
    noise : (m,) array of float
        Standard deviation of `size` without a bump. [as the curve]
    level : (m,) array of float
        Parabola at the stretch. [as the curve]
    """

    width_rpm: float
    centre_rpm: FloatArray
    size: FloatArray
    noise: FloatArray
    level: FloatArray

    def __post_init__(self) -> None:
        for name in ("centre_rpm", "size", "noise", "level"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


def sample_noise(speed_rpm: FloatArray, values: FloatArray) -> FloatArray:
    """Noise of the samples, from each one's distance to the line through its neighbours.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed, rising. [rpm]
    values : (n,) array of float
        Curve. [any unit]

    Returns
    -------
    (n,) array of float
        Robust standard deviation of the noise around each sample: that of all samples, or of those within 700 rpm
        where it is larger. [as the curve]

    Examples
    --------
    >>> import numpy as np
    >>> speed = np.arange(2000.0, 6000.0, 4.0)
    >>> noisy = 200.0 + np.random.default_rng(1).standard_normal(speed.size)
    >>> bool(np.all(np.abs(sample_noise(speed, noisy) - 1.0) < 0.35))
    True
    """
    before, here, after = speed_rpm[:-2], speed_rpm[1:-1], speed_rpm[2:]
    span = after - before
    share = np.where(span > 0.0, (after - here) / np.where(span > 0.0, span, 1.0), 0.5)
    off = values[1:-1] - share * values[:-2] - (1.0 - share) * values[2:]
    off = np.abs(off / np.sqrt(1.0 + share**2 + (1.0 - share) ** 2))
    off = np.concatenate((off[:1], off, off[-1:]))
    first = np.searchsorted(speed_rpm, speed_rpm - _LOCAL_RPM, side="left")
    last = np.searchsorted(speed_rpm, speed_rpm + _LOCAL_RPM, side="right")
    whole = float(np.median(off))
    places = np.unique(np.linspace(0, speed_rpm.size - 1, 16).astype(np.int64))
    local = [max(whole, float(np.median(off[first[i] : last[i]]))) for i in places]
    return np.asarray(_NORMAL * np.interp(speed_rpm, speed_rpm[places], local))


def map_bumps(speed_rpm: FloatArray, values: FloatArray) -> tuple[BumpMap, ...]:
    """Bumps of all widths.

    Parameters
    ----------
    speed_rpm : (n,) array of float
        Engine speed, in any order. [rpm]
    values : (n,) array of float
        Curve; samples that are not finite take no part. [any unit]

    Returns
    -------
    tuple of BumpMap
        One for each width; none where there are fewer than 30 samples or they span too little.

    Notes
    -----
    The noise of a size is that of independent samples, times a factor where sizes scatter more than that: a filtered
    logger, or a curve of many ripples.
    """
    finite = np.isfinite(speed_rpm) & np.isfinite(values)
    if np.count_nonzero(finite) < _FEWEST:
        return ()
    order = np.argsort(speed_rpm[finite], kind="stable")
    curve = _Moments(speed_rpm[finite][order], values[finite][order])
    noise = sample_noise(curve.speed, curve.values)
    maps = (_map(curve, width, noise) for width in WIDTHS_RPM)
    return tuple(found for found in maps if found is not None)


class _Moments:
    """Running sums of a curve, from which the normal equations of any stretch follow by subtraction."""

    def __init__(self, speed: FloatArray, values: FloatArray) -> None:
        self.speed = speed
        self.values = values
        self.middle, self.half = 0.5 * (speed[0] + speed[-1]), max(0.5 * (speed[-1] - speed[0]), 1.0)
        scaled = (speed - self.middle) / self.half
        rows = np.stack([scaled**power for power in range(5)] + [values * scaled**power for power in range(3)])
        self._sums = np.concatenate((np.zeros((8, 1)), np.cumsum(rows, axis=1)), axis=1)

    def between(self, first: IntArray, last: IntArray) -> FloatArray:
        """Sums over samples `first` to `last - 1`: five powers of speed, then three with the value."""
        return np.asarray(self._sums[:, last] - self._sums[:, first])


def _map(curve: _Moments, width: float, noise: FloatArray) -> BumpMap | None:
    speed = curve.speed
    reach = width / 2.0 + _SHORTEST_FLANK_RPM
    centre = BIN_RPM * np.arange(np.ceil((speed[0] + reach) / BIN_RPM), np.floor((speed[-1] - reach) / BIN_RPM) + 1.0)
    if not centre.size:
        return None
    sides = [-width / 2.0 - _FLANK_RPM, -width / 2.0, width / 2.0, width / 2.0 + _FLANK_RPM]
    edges = [np.searchsorted(speed, centre + side, side="left") for side in sides]
    within = curve.between(edges[1], edges[2])
    flank = curve.between(edges[0], edges[3]) - within
    enough = (within[0] >= 1.0) & _wide(speed, edges[0], edges[1]) & _wide(speed, edges[2], edges[3])
    normal = np.stack([flank[power : power + 3] for power in range(3)]).transpose(2, 0, 1)
    inverse = np.linalg.inv(np.where(enough[:, None, None], normal, np.eye(3)))
    count = np.maximum(within[0], 1.0)
    powers = within[:3] / count
    pull = np.einsum("kc,ckl->lc", powers, inverse)
    level = np.sum(pull * flank[5:], axis=0)
    size = np.where(enough, within[5] / count - level, np.nan)
    variance = 1.0 / count + np.maximum(np.sum(pull * powers, axis=0), 0.0)
    plain = np.sqrt(variance) * np.interp(centre, speed, noise)
    return BumpMap(width_rpm=width, centre_rpm=centre, size=size, noise=_widened(size, plain), level=level)


def _wide(speed: FloatArray, first: IntArray, last: IntArray) -> BoolArray:
    """Whether a flank has samples enough, and not all at one speed."""
    last = np.minimum(last, speed.size)
    there = last - first >= _FLANK_SAMPLES
    extent = speed[np.maximum(last - 1, 0)] - speed[np.minimum(first, speed.size - 1)]
    return np.asarray(there & (extent >= BIN_RPM))


def _widened(size: FloatArray, plain: FloatArray) -> FloatArray:
    """Noise, not smaller than the sizes themselves scatter."""
    known = np.isfinite(size) & (plain > 0.0)
    if not known.any():
        return plain
    factor = max(1.0, _NORMAL * float(np.median(np.abs(size[known] / plain[known]))))
    return plain * factor
