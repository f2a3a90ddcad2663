"""Comparison -> ScaledPulls: every pull as a few spline coefficients in per cent of one reference curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.order import run_order
from pullbook.curves.basis import fit_spline, spline_basis
from pullbook.curves.profile import scatter_profile
from pullbook.errors import RefusalError

if TYPE_CHECKING:
    from pullbook.compare.order import RunOrder
    from pullbook.curves.basis import SplineBasis
    from pullbook.quantities.arrays import BoolArray, FloatArray
    from pullbook.records.comparison import Comparison

__all__ = ["ScaledPulls", "scale_pulls"]

KNOT_STEP_RPM = 215.0
GRID_STEP_RPM = 50.0
FINEST_BASIS = 200
FEWEST_SAMPLES = 8
WIDEST_GAP_RPM = 400.0
WIDEST_GAP_STEPS = 3.0  # of the usual distance between points
LOGARITHM_ABOVE_PERCENT = 15.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScaledPulls:
    """What the scatter model sees of a session.

    Attributes
    ----------
    order : RunOrder
        The pulls in order of time.
    basis : SplineBasis
        Functions that a curve is made of.
    grid_rpm : (g,) array of float
        Speeds of the answers. [rpm]
    measured : (g,) array of bool
        Whether every pull has samples about a speed.
    reference : (g,) array of float
        Geometric mean of the mean curves of all builds. [N m or signal]
    profile : (g,) array of float
        Scatter over speed relative to its mean. [1]
    coefficients : (n, k) array of float
        Departure of each pull from the reference over `profile`. [%, or hundredths of the logarithm]
    noise : (k, k) array of float
        Mean covariance of the coefficients of a pull from sample noise. [%^2]
    noise_ratio : (n,) array of float
        Noise of the coefficients of each pull over that mean. [1]
    white_sd : float
        Noise from sample to sample. [%]
    logarithmic : bool
        Builds differ by more than 15 %, so that the logarithm is used.
    """

    order: RunOrder
    basis: SplineBasis
    grid_rpm: FloatArray
    measured: BoolArray
    reference: FloatArray
    profile: FloatArray
    coefficients: FloatArray
    noise: FloatArray
    noise_ratio: FloatArray
    white_sd: float
    logarithmic: bool

    def percent(self, departure: FloatArray) -> FloatArray:
        """Curves in per cent of the reference.

        Parameters
        ----------
        departure : (..., g) array of float
            Curves in the scale of `coefficients`; used up. [%]

        Returns
        -------
        (..., g) array of float
            NaN where a pull has a gap. [%]
        """
        departure *= self.profile
        if self.logarithmic:
            departure /= 100.0
            np.exp(departure, out=departure)
            departure *= 100.0
        else:
            departure += 100.0
        departure[..., ~self.measured] = np.nan
        return departure


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Samples:
    """Samples of one pull inside the range, and the functions there: of the model, and of the reference."""

    speed_rpm: FloatArray
    torque: FloatArray
    values: FloatArray
    fine: FloatArray


def _range(comparison: Comparison) -> tuple[float, float]:
    low = max(float(pull.speed_rpm[0]) for pull in comparison.pulls)
    high = min(float(pull.speed_rpm[-1]) for pull in comparison.pulls)
    if comparison.rpm_range is not None:
        low = max(low, comparison.rpm_range[0] - GRID_STEP_RPM)
        high = min(high, comparison.rpm_range[1] + GRID_STEP_RPM)
    if high - low < 4 * GRID_STEP_RPM:
        raise RefusalError(
            f"the pulls share no range of speed wider than {4 * GRID_STEP_RPM:,.0f} rpm",
            value=f"{low:.0f}..{high:.0f} rpm",
            remedy="leave out the pull that is too short",
        )
    return low, high


def _cut(comparison: Comparison, order: RunOrder) -> tuple[SplineBasis, SplineBasis, list[_Samples]]:
    """Samples of all pulls in the range that they share, and a basis that the thinnest of them can bear.

    The reference has a basis of full resolution all the same: what a coarse one misses of the torque curve itself
    would look like noise of every pull.
    """
    low, high = _range(comparison)
    fewest = min(int(((pull.speed_rpm >= low) & (pull.speed_rpm <= high)).sum()) for pull in order.pulls)
    step = spline_basis(low, high, KNOT_STEP_RPM, fewest // 2).step_rpm
    margin = 0.1 * step
    kept = [(pull.speed_rpm >= low - margin) & (pull.speed_rpm <= high + margin) for pull in order.pulls]
    for pull, mask in zip(order.pulls, kept, strict=True):
        if mask.sum() < FEWEST_SAMPLES:
            raise RefusalError(
                f"the pull has only {int(mask.sum())} samples from {low:,.0f} to {high:,.0f} rpm, and {FEWEST_SAMPLES} "
                "are needed",
                where=pull.name,
                remedy="leave it out, or compare a wider range",
            )
    first = min(float(pull.speed_rpm[mask][0]) for pull, mask in zip(order.pulls, kept, strict=True))
    last = max(float(pull.speed_rpm[mask][-1]) for pull, mask in zip(order.pulls, kept, strict=True))
    basis = spline_basis(first, last, KNOT_STEP_RPM, min(int(mask.sum()) for mask in kept) // 2)
    fine = spline_basis(first, last, KNOT_STEP_RPM, FINEST_BASIS)
    samples = []
    for pull, mask in zip(order.pulls, kept, strict=True):
        speed = pull.speed_rpm[mask]
        values = basis.values(speed)
        finely = values if fine == basis else fine.values(speed)
        samples.append(_Samples(speed_rpm=speed, torque=pull.torque[mask], values=values, fine=finely))
    return basis, fine, samples


def _grid(comparison: Comparison) -> FloatArray:
    low, high = _range(comparison)
    first = np.ceil((low + GRID_STEP_RPM) / GRID_STEP_RPM - 1e-9)
    last = np.floor((high - GRID_STEP_RPM) / GRID_STEP_RPM + 1e-9)
    return np.arange(first, last + 1.0) * GRID_STEP_RPM


def _measured(samples: list[_Samples], basis: SplineBasis, grid_rpm: FloatArray) -> BoolArray:
    # Where few points were taken the splines are coarse, and two of their steps would bridge a hole in the data;
    # there a hole is what is much wider than the distance that the points usually have.
    finest = max(2.0 * min(basis.step_rpm, 1.2 * KNOT_STEP_RPM), WIDEST_GAP_RPM)
    measured = np.ones(grid_rpm.size, dtype=np.bool_)
    for one in samples:
        widest = max(finest, WIDEST_GAP_STEPS * float(np.median(np.diff(one.speed_rpm))))
        for gap in np.flatnonzero(np.diff(one.speed_rpm) > widest):
            measured &= (grid_rpm <= one.speed_rpm[gap]) | (grid_rpm >= one.speed_rpm[gap + 1])
    if measured.sum() < 2:
        raise RefusalError(
            "the samples lie so far apart that no curve can be drawn through them",
            remedy="record more often, or leave out the pull with the gap",
        )
    return measured


def _cell_means(coefficients: FloatArray, order: RunOrder) -> FloatArray:
    return np.stack([coefficients[order.cell == cell].mean(axis=0) for cell in range(len(order.cells))])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reference:
    """Mean curves of the builds, of which the reference is the geometric mean, whatever speeds it is wanted at."""

    means: FloatArray

    def at(self, values: FloatArray) -> FloatArray:
        """Reference at the speeds at which the functions have these values."""
        curves = values @ self.means.T
        if curves.min() <= 0.0:
            raise RefusalError(
                "the mean torque of a build is zero or negative, so that nothing can be expressed in per cent of it",
                value=f"{curves.min():.4g}",
                remedy="narrow the range to where the engine pulls",
            )
        reference: FloatArray = np.exp(np.log(curves).mean(axis=1))
        return reference


def _departures(samples: list[_Samples], reference: _Reference, *, logarithmic: bool) -> list[FloatArray]:
    ratios = [one.torque / reference.at(one.fine) for one in samples]
    if logarithmic:
        return [100.0 * np.log(ratio) for ratio in ratios]
    return [100.0 * (ratio - 1.0) for ratio in ratios]


def _fit(samples: list[_Samples], departures: list[FloatArray], profile: list[FloatArray]) -> tuple[FloatArray, ...]:
    """Coefficients of all pulls over the profile, the covariance of each for unit noise, and the noise variance."""
    fits = [
        fit_spline(one.values, departure / shape, shape**2)
        for one, departure, shape in zip(samples, departures, profile, strict=True)
    ]
    residual = freedom = 0.0
    for one, departure, shape, (coefficients, _) in zip(samples, departures, profile, fits, strict=True):
        residual += float(((departure - shape * (one.values @ coefficients)) ** 2).sum())
        freedom += one.values.shape[0] - one.values.shape[1]
    return np.stack([b for b, _ in fits]), np.stack([w for _, w in fits]), np.array(residual / freedom)


def _typical(noise: FloatArray, on_grid: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean covariance, without the pulls that have a stretch without samples, and the size of each over it."""
    size = np.trace(noise, axis1=1, axis2=2)
    mean: FloatArray = noise[size <= 10.0 * np.median(size)].mean(axis=0)
    some = on_grid[:: max(1, on_grid.shape[0] // 16)]
    over_range = np.median(((some @ noise) * some).sum(axis=-1), axis=1)
    return mean, over_range / over_range.mean()


def scale_pulls(comparison: Comparison) -> ScaledPulls:
    """Express all pulls in per cent of one reference curve, on one spline basis.

    The reference is the geometric mean of the mean curves of all builds: it favours none of them, so that swapping two
    builds changes signs and nothing else.

    Parameters
    ----------
    comparison : Comparison
        The pulls.

    Returns
    -------
    ScaledPulls
        In the order that the measurements give.

    Raises
    ------
    RefusalError
        Where the pulls share no range, a pull has fewer than 8 samples in it, or torque is not positive.
    """
    order = run_order(comparison)
    basis, fine, samples = _cut(comparison, order)
    grid_rpm = _grid(comparison)
    on_grid = basis.values(grid_rpm)
    raw = np.stack([fit_spline(one.fine, one.torque)[0] for one in samples])
    reference = _Reference(means=_cell_means(raw, order))
    finely = fine.values(grid_rpm)
    curve = reference.at(finely)
    spread = 100.0 * np.log(finely @ reference.means.T / curve[:, None])
    lowest = min(float(one.torque.min()) for one in samples)
    logarithmic = bool(np.ptp(spread, axis=1).max() > LOGARITHM_ABOVE_PERCENT) and lowest > 0.0
    departures = _departures(samples, reference, logarithmic=logarithmic)
    flat = [np.ones(one.speed_rpm.size) for one in samples]
    coefficients, noise, white = _fit(samples, departures, flat)
    residual = (coefficients - _cell_means(coefficients, order)[order.cell]) @ on_grid.T
    freedom = order.cell.size - len(order.cells)
    profile = np.ones(grid_rpm.size)
    if freedom > 0:
        profile = scatter_profile((residual**2).sum(axis=0) / freedom, freedom, grid_rpm)
        shapes = [np.interp(one.speed_rpm, grid_rpm, profile) for one in samples]
        coefficients, noise, white = _fit(samples, departures, shapes)
    typical, noise_ratio = _typical(noise, on_grid)
    return ScaledPulls(
        order=order,
        basis=basis,
        grid_rpm=grid_rpm,
        measured=_measured(samples, basis, grid_rpm),
        reference=curve,
        profile=profile,
        coefficients=coefficients,
        noise=typical * float(white),
        noise_ratio=noise_ratio,
        white_sd=float(np.sqrt(white)),
        logarithmic=logarithmic,
    )
