"""Comparison -> Evidence: what a session leaves to an archive, for learning, for pooling and for honesty."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import nan
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.compare.drawn import drawn_curves, gain_of
from pullbook.compare.effects import factor_contrasts, run_builds
from pullbook.compare.history import likelihood_of
from pullbook.compare.joint import draw_jointly
from pullbook.curves.quantiles import half_width
from pullbook.records.evidence import AgainstItself, EffectCurve, Evidence

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pullbook.compare.drawn import DrawnCurves
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.comparison import Comparison

__all__ = ["against_itself", "evidence_of"]

_MOST_MODES: Final = 6
_LEFT_OUT: Final = 1e-4  # of the variance
_EDGE: Final = 1  # places at an end where a peak is not taken as reached
_AGAIN: Final = " again"
_CONFIDENCE: Final = 0.95


def evidence_of(comparison: Comparison) -> Evidence:
    """What an archive keeps of a session beside its findings.

    Parameters
    ----------
    comparison : Comparison
        The pulls. [N m, rpm, s]

    Returns
    -------
    Evidence
        Without effects where no doubt can be stated. [N m, W, rpm, %]

    Raises
    ------
    RefusalError
        As `compare_pulls`.
    """
    # Whoever looked on the way holds a session to more than 95 %; evidence of all sessions is of one kind.
    comparison = replace(comparison, confidence=_CONFIDENCE)
    likelihood = likelihood_of(comparison)
    joint = draw_jointly(comparison)
    curves = drawn_curves(joint, comparison.baseline, comparison.torque_kind, comparison.confidence)
    peak_rpm, peak_power = _peaks(curves, comparison.baseline)
    return Evidence(
        scatter=b"" if likelihood is None else likelihood.packed(),
        grid_rpm=curves.grid_rpm,
        effects=tuple(_effects(comparison, curves)) if curves.has_bands else (),
        peak_rpm=peak_rpm,
        peak_power=peak_power,
        itself=against_itself(comparison),
    )


def _peaks(curves: DrawnCurves, baseline: str) -> tuple[float, float]:
    """Speed of the torque peak and highest power of the baseline."""
    if curves.relative:
        return nan, nan
    torque = curves.centre[curves.place(baseline)]
    at = int(torque.argmax())
    reached = _EDGE < at < torque.size - 1 - _EDGE
    return float(curves.speed_rpm[at]) if reached else nan, float((torque * curves.angular_speed).max())


def _effects(comparison: Comparison, curves: DrawnCurves) -> Iterator[EffectCurve]:
    """Effect of every two levels of a factor, the earlier level first; of every two builds where there is no factor."""
    if not comparison.factors:
        for from_, of in combinations(curves.cells, 2):
            yield _effect(curves, ("", from_, of), {of: 1.0, from_: -1.0})
        return
    builds = run_builds(comparison, curves.cells)
    contrasts = factor_contrasts(builds, comparison.factors, comparison.baseline)
    for factor in comparison.factors:
        own = [one for one in contrasts if one.factor == factor.name and one.weights]
        at: dict[str, Mapping[str, float]] = {one.to_level: one.weights for one in own}
        at |= {one.from_level: {} for one in own}
        for from_level, to_level in combinations([level for level in factor.levels if level in at], 2):
            names = {*at[from_level], *at[to_level]}
            weights = {name: at[to_level].get(name, 0.0) - at[from_level].get(name, 0.0) for name in sorted(names)}
            held = {name: weight for name, weight in weights.items() if abs(weight) > 1e-9}
            yield _effect(curves, (factor.name, from_level, to_level), held)


def _effect(curves: DrawnCurves, change: tuple[str, str, str], weights: Mapping[str, float]) -> EffectCurve:
    gain = gain_of(curves, weights)
    modes = _modes(gain.deviations)
    low, high = curves.limits(gain.centre, gain.deviations)
    sd = gain.deviations.std(axis=1)
    return EffectCurve(
        factor=change[0],
        from_level=change[1],
        to_level=change[2],
        builds=tuple(name for name in curves.cells if name in weights),
        gain=curves.on_grid(gain.centre),
        base=curves.on_grid(gain.from_centre),
        sd=curves.on_grid(sd),
        modes=np.array([curves.on_grid(mode) for mode in modes]),
        band_factor=float(np.mean(0.5 * (high - low) / sd)),
    )


def _modes(deviations: FloatArray) -> FloatArray:
    """Few curves, (r, k), whose products make the covariance of the draws; what they leave out averages to nothing."""
    about_zero = deviations - deviations.mean(axis=1, keepdims=True)
    covariance = about_zero @ about_zero.T / (deviations.shape[1] - 1)
    values, vectors = np.linalg.eigh(covariance)
    values, vectors = np.maximum(values[::-1], 0.0), vectors[:, ::-1]
    told = np.cumsum(values) / values.sum()
    count = min(_MOST_MODES, int(np.searchsorted(told, 1.0 - _LEFT_OUT)) + 1)
    modes = np.sqrt(values[:count, None]) * vectors[:, :count].T
    # Which way an eigenvector points is a whim of the library.
    told_once: FloatArray = modes * np.where(modes.sum(axis=1, keepdims=True) < 0.0, -1.0, 1.0)
    return told_once


def against_itself(comparison: Comparison) -> AgainstItself | None:
    """Compare the baseline of every second fitting with that of the others, as if it were another build.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the windows. [N m, rpm, s]

    Returns
    -------
    AgainstItself or None
        None where the baseline was fitted once, or no build has two pulls then.

    Notes
    -----
    One trial a session, so that trials are independent. Fittings in turn, so that a drift of the day is in both.
    """
    base = comparison.baseline
    fittings = sorted({pull.fitting for pull in comparison.pulls if pull.build == base})
    if len(fittings) < 2:
        return None
    other, second = f"{base}{_AGAIN}", set(fittings[1::2])
    pulls = tuple(
        replace(pull, build=other) if pull.build == base and pull.fitting in second else pull
        for pull in comparison.pulls
    )
    own = next(build for build in comparison.builds if build.name == base)
    again = replace(own, name=other, baseline=False)
    split = replace(comparison, pulls=pulls, builds=(*comparison.builds, again), claims=(), factors=())
    curves = drawn_curves(draw_jointly(split), base, comparison.torque_kind, comparison.confidence)
    if not curves.has_bands:
        return None
    gain = gain_of(curves, {other: 1.0, base: -1.0})
    low, high = curves.limits(gain.centre, gain.deviations)
    held: list[bool] = []
    for ends in comparison.windows:
        weights = curves.weights(*ends)
        if weights is not None:
            width = half_width(weights @ gain.deviations, curves.confidence)
            held.append(abs(float(weights @ gain.centre)) <= width)
    return AgainstItself(
        held=bool(((low <= 0.0) & (high >= 0.0)).all()),
        windows_held=sum(held),
        windows=len(held),
        worst=float(np.max(np.abs(gain.centre) / (0.5 * (high - low)))),
    )
