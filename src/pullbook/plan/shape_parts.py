"""Shape errors of the pulls as the targets see them: one window, or many speeds where a claim is about all of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.kernels import matern52
from pullbook.curves.reml_prior import half_cauchy_nodes
from pullbook.plan.score import white_share
from pullbook.records.plan import Ask

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.curves.reml_prior import ScatterPrior
    from pullbook.plan.score import Question
    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.plan import Target
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["ShapeParts", "shape_parts"]

_SPEEDS: Final = 12
_RESOLUTION: Final = 300.0  # rpm: what a spline of the comparison smooths over on an ordinary range


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeParts:
    """What an order lets through of the shape errors.

    Attributes
    ----------
    roots : tuple of (k, k) array of float
        Roots of the covariance of a unit shape error, for each target over its speeds. [1]
    pull, refit : (m,) array of float
        Share of the variance of a pull and of a fitting in each target. [1]
    refit_seen : bool
        A build is fitted twice, so that the session shows how large the shape error of a re-fitting is.
    """

    roots: tuple[FloatArray, ...]
    pull: FloatArray
    refit: FloatArray
    refit_seen: bool

    def scale(self, ratio: float) -> FloatArray:
        """Standard deviation of the error in each target for a unit shape error. [1].

        Parameters
        ----------
        ratio : float
            Shape error of a re-fitting over that of a pull. [1]
        """
        return np.sqrt(self.pull + ratio**2 * self.refit)

    def believed(self, ratio: float, prior: ScatterPrior, draws: int, generator: np.random.Generator) -> FloatArray:
        """The same as a comparison believes it, for each of its draws.

        Parameters
        ----------
        ratio : float
            The true ratio, which a session with repeated fittings knows. [1]
        prior : ScatterPrior
            What is believed where it does not. [1]
        draws : int
            Number of draws. [1]
        generator : numpy.random.Generator
            Source of randomness.

        Returns
        -------
        (d, m) array of float
            [1]
        """
        if self.refit_seen:
            return np.broadcast_to(self.scale(ratio), (draws, self.pull.size))
        nodes, shares = half_cauchy_nodes(prior.refit_shape_scale)
        drawn = generator.choice(nodes, size=(draws, 1), p=shares)
        return np.sqrt(self.pull + drawn**2 * self.refit)


def shape_parts(
    cell: IntArray, fitting: IntArray, targets: Sequence[Target], question: Question, belief: ScatterBelief
) -> ShapeParts:
    """Shape errors in all targets of an order.

    Parameters
    ----------
    cell, fitting : (n,) array of int
        Build and fitting of each pull. [1]
    targets : sequence of Target
        What is asked. [rpm]
    question : Question
        The same as arrays. [1]
    belief : ScatterBelief
        Correlation length, and the noise of samples over the shape error. [rpm, %]

    Returns
    -------
    ShapeParts
        [1]
    """
    member = (cell[:, None] == np.arange(question.contrasts.shape[1])).astype(np.float64)
    of_fitting = (fitting[:, None] == np.arange(int(fitting.max()) + 1)).astype(np.float64)
    solved = np.linalg.solve(np.eye(cell.size) + 0.25 * of_fitting @ of_fitting.T, member)
    weights = np.linalg.solve(member.T @ solved, question.contrasts.T).T @ solved.T
    white = (belief.white / belief.shape) ** 2 if belief.shape > 0.0 else 0.0
    noise = [white * white_share(target.window, question.span, _RESOLUTION) for target in targets]
    return ShapeParts(
        roots=tuple(
            _speeds_root(target, question.span, belief.length_rpm, white)
            if target.ask is Ask.WITHIN
            else np.array([[np.sqrt(share + more)]])
            for target, share, more in zip(targets, question.shares.tolist(), noise, strict=True)
        ),
        pull=(weights**2).sum(axis=1),
        refit=((weights @ of_fitting) ** 2).sum(axis=1),
        refit_seen=of_fitting.shape[1] > member.shape[1],
    )


def _speeds_root(target: Target, span: tuple[float, float], length_rpm: float, white: float) -> FloatArray:
    """Root of the covariance at speeds over the window of a target, less the mean over the range."""
    speed = np.linspace(*(target.window or span), _SPEEDS)
    whole = np.linspace(*span, 46)
    near = matern52(speed[:, None] - speed[None, :], length_rpm)
    mixed = matern52(speed[:, None] - whole[None, :], length_rpm).mean(axis=1)
    level = float(matern52(whole[:, None] - whole[None, :], length_rpm).mean())
    covariance = near - mixed[:, None] - mixed[None, :] + level
    covariance += white * white_share((0.0, 0.0), span, _RESOLUTION) * np.eye(_SPEEDS)
    value, vector = np.linalg.eigh(covariance)
    root: FloatArray = vector * np.sqrt(np.maximum(value, 0.0))
    return root
