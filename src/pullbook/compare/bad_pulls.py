"""Pulls that do not agree with the others of their build: the session is fitted again without the most extreme one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.joint import draw_jointly
from pullbook.compare.prior import SPREAD_ALLOWANCE
from pullbook.compare.scale import scale_pulls
from pullbook.curves.deletion import PullSchedule, ShapeSpace, deletion_weights, drawn_residuals
from pullbook.curves.equivalence import ONE_SIGMA
from pullbook.curves.quantiles import half_widths, tail_probability
from pullbook.records.scatter import BadPull

if TYPE_CHECKING:
    from pullbook.compare.scale import ScaledPulls
    from pullbook.curves.joint import JointDraws
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison

__all__ = ["bad_pulls_of"]

_MOST = 3  # so many pulls are tried one after the other; a session with more of them has another trouble


def bad_pulls_of(comparison: Comparison, joint: JointDraws) -> tuple[BadPull, ...]:
    """Pulls that chance does not explain, at a level of 1 - confidence over all pulls of the session.

    The pull that lies farthest from what the others predict for it is left out, the sources of scatter are estimated
    without it, and its greatest departure over speed is held against those that such scatter makes. If it is flagged,
    the same is done with the rest.

    Parameters
    ----------
    comparison : Comparison
        The pulls.
    joint : JointDraws
        Draws from all of them. [%]

    Returns
    -------
    tuple of BadPull
        Flagged pulls, the most extreme first. Where a build has two pulls that disagree, both are named: the data do
        not tell which is wrong. [rpm, 1]

    Notes
    -----
    They are flagged, not left out: the tester decides. False alarms in at most 5 % of sessions, see the error rates in
    the documentation. With one degree of freedom there is nothing to hold a pull against, and none is flagged.
    """
    flagged: list[BadPull] = []
    for _ in range(_MOST):
        if joint.degrees_of_freedom < 2:
            break
        found = _most_extreme(comparison, joint)
        if not found:
            break
        flagged += found
        gone = {bad.pull for bad in found}
        comparison = replace(comparison, pulls=tuple(pull for pull in comparison.pulls if pull.name not in gone))
        if len({pull.build for pull in comparison.pulls}) < len(joint.cells):
            break
        joint = draw_jointly(comparison)
    return tuple(flagged)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Residuals:
    """Every pull minus what the others predict for it."""

    weights: FloatArray  # (n, n)
    curves: FloatArray  # (n, g), over the profile of the scatter
    schedule: PullSchedule
    on_grid: FloatArray


def _residuals(scaled: ScaledPulls, joint: JointDraws) -> _Residuals:
    order = scaled.order
    schedule = PullSchedule(cell=order.cell, fitting=order.fitting, hours=order.hours)
    weights = deletion_weights(schedule, joint.variances)
    on_grid = scaled.basis.values(scaled.grid_rpm[scaled.measured])
    return _Residuals(
        weights=weights, curves=weights @ scaled.coefficients @ on_grid.T, schedule=schedule, on_grid=on_grid
    )


def _most_extreme(comparison: Comparison, joint: JointDraws) -> list[BadPull]:
    """The most extreme pull as flagged, or nothing where chance explains it."""
    scaled = scale_pulls(comparison)
    residuals = _residuals(scaled, joint)
    candidate = _candidate(residuals, joint)
    if candidate is None:
        return []
    pull = scaled.order.pulls[candidate]
    others = replace(comparison, pulls=tuple(one for one in comparison.pulls if one is not pull))
    without = draw_jointly(others)
    if without.degrees_of_freedom < 1:
        return []
    profile = _profile_without(scaled, others)
    residual = residuals.curves[candidate] * scaled.profile[scaled.measured] / profile
    draws = SPREAD_ALLOWANCE * drawn_residuals(
        residuals.weights[candidate],
        residuals.schedule,
        without.variances,
        ShapeSpace(
            basis=scaled.basis,
            on_grid=residuals.on_grid,
            noise=scaled.noise,
            noise_ratio=scaled.noise_ratio,
        ),
        np.random.default_rng(without.seed),
    )
    scale = half_widths(draws, ONE_SIGMA)
    departure = np.abs(residual) / scale
    largest = np.max(np.abs(draws) / scale, axis=1)
    tested = int(np.isfinite(residuals.curves).all(axis=1).sum())
    p = tested * tail_probability(int(np.count_nonzero(largest >= departure.max())), largest.size)
    alpha = 1.0 - comparison.confidence
    if p > alpha:
        return []
    where = _run_around(np.abs(residual) - half_widths(draws, comparison.confidence))
    speed = scaled.grid_rpm[scaled.measured]
    own = [one for one in scaled.order.pulls if one.build == pull.build]
    return [
        BadPull(
            pull=one.name,
            build=one.build,
            p=p,
            from_rpm=float(speed[where[0]]),
            to_rpm=float(speed[where[1]]),
        )
        for one in (own if len(own) == 2 else [pull])
    ]


def _candidate(residuals: _Residuals, joint: JointDraws) -> int | None:
    """Pull whose residual is largest in its own standard deviations."""
    sizes = joint.variances
    own = (residuals.weights**2).sum(axis=1)
    same = np.einsum("ij,jk,ik->i", residuals.weights, residuals.schedule.same_fitting(), residuals.weights)
    pull = float(np.median(sizes.pull_sd)) ** 2 + float(np.median(sizes.shape_sd)) ** 2
    refit = float(np.median(sizes.refit_sd)) ** 2
    size = np.max(np.abs(residuals.curves), axis=1) / np.sqrt(own * pull + same * refit)
    if not np.isfinite(size).any():
        return None
    return int(np.nanargmax(size))


def _profile_without(scaled: ScaledPulls, others: Comparison) -> FloatArray:
    """Profile of the scatter without the pull, at the speeds of the session with it."""
    apart = scale_pulls(others)
    profile: FloatArray = np.interp(scaled.grid_rpm[scaled.measured], apart.grid_rpm, apart.profile)
    return profile


def _run_around(beyond: FloatArray) -> tuple[int, int]:
    """First and last place of the run about the largest departure in which it is beyond what one speed allows."""
    top = int(beyond.argmax())
    below = np.flatnonzero(beyond < 0.0)
    first = below[below < top]
    last = below[below > top]
    return (int(first[-1]) + 1 if first.size else 0), (int(last[0]) - 1 if last.size else beyond.size - 1)
