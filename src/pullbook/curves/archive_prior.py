"""ArchivePrior: what earlier sessions of a bench let expect of the scatter of the next one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from pullbook.curves.reml_prior import ScatterPrior

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["T_FREEDOM", "ArchivePrior", "LogBelief", "ScatterBelief"]

#: Degrees of freedom of Student's t that beliefs are shaped like: tails for a bench that is not what it was.
T_FREEDOM = 5.0
_PULL = (5.0, 41)  # reach in scales, and number of nodes
_REFIT = (4.0, 13)
_SLOW = (3.5, 8)
_SHAPE = (5.0, 31)
_RATIO = (3.5, 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogBelief:
    """Belief of the logarithm of one parameter: Student's t of five degrees of freedom.

    Attributes
    ----------
    location : float
        Its middle. [log of the parameter's unit]
    scale : float
        Its scale. [1]
    """

    location: float
    scale: float

    def density(self, logarithm: FloatArray) -> FloatArray:
        """Density up to a constant.

        Parameters
        ----------
        logarithm : (m,) array of float
            Logarithms of the parameter. [log of its unit]

        Returns
        -------
        (m,) array of float
            Density, 1 at the middle. [1]
        """
        away = (logarithm - self.location) / self.scale
        density: FloatArray = (1.0 + away**2 / T_FREEDOM) ** (-0.5 * (T_FREEDOM + 1.0))
        return density

    def nodes(self, reach: float, count: int) -> tuple[FloatArray, FloatArray]:
        """Nodes even in the logarithm, and the share of the belief at each.

        Parameters
        ----------
        reach : float
            Distance of the outermost from the middle, in scales. [1]
        count : int
            How many.

        Returns
        -------
        nodes : (count,) array of float
            Values of the parameter. [its unit]
        shares : (count,) array of float
            They sum to one. [1]

        Examples
        --------
        >>> LogBelief(location=0.0, scale=1.0).nodes(1.0, 3)[0].round(3)
        array([0.368, 1.   , 2.718])
        """
        logarithm = self.location + self.scale * np.linspace(-reach, reach, count)
        share = self.density(logarithm)
        return np.exp(logarithm), share / share.sum()


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchivePrior:
    """Beliefs of every source of scatter, learnt from earlier sessions.

    Attributes
    ----------
    pull, refit : LogBelief
        Level of a pull and of a re-fitting. [log %]
    walk : LogBelief
        Random walk of the level. [log(% / sqrt(h))]
    drift : LogBelief
        Standard deviation of the linear drift. [log(%/h)]
    shape : LogBelief
        Smooth shape error of a pull. [log %]
    length : LogBelief
        Its correlation length. [log rpm]
    refit_shape : LogBelief
        Standard deviation of the shape error of a re-fitting over that of a pull. [log 1]
    sessions : int
        How many it was learnt from.
    """

    pull: LogBelief
    refit: LogBelief
    walk: LogBelief
    drift: LogBelief
    shape: LogBelief
    length: LogBelief
    refit_shape: LogBelief
    sessions: int

    @property
    def from_archive(self) -> bool:
        """Always: it knows how far pulls differ, so that one pull of each build can be answered."""
        return True

    def pull_nodes(self, residual: float) -> tuple[FloatArray, FloatArray]:
        """As `ScatterPrior.pull_nodes`, whatever the residuals."""
        del residual
        return self.pull.nodes(*_PULL)

    def slow_nodes(self, *, each_fitted: bool, timed: bool) -> list[tuple[FloatArray, FloatArray]]:
        """As `ScatterPrior.slow_nodes`; a re-fitting at every pull is a source of its own all the same."""
        del each_fitted
        none = (np.zeros(1), np.ones(1))
        drifts = [self.walk.nodes(*_SLOW), self.drift.nodes(*_SLOW)] if timed else [none, none]
        return [self.refit.nodes(*_REFIT), *drifts]

    def refit_within_pull(self, *, each_fitted: bool) -> float:
        """As `ScatterPrior.refit_within_pull`: never any."""
        del each_fitted
        return 0.0

    def shape_nodes(self, residual: float) -> tuple[FloatArray, FloatArray]:
        """As `ScatterPrior.shape_nodes`, whatever the residuals."""
        del residual
        return self.shape.nodes(*_SHAPE)

    def ratio_nodes(self, *, each_fitted: bool) -> tuple[FloatArray, FloatArray]:
        """As `ScatterPrior.ratio_nodes`."""
        del each_fitted
        return self.refit_shape.nodes(*_RATIO)

    def length_shares(self, lengths_rpm: FloatArray) -> FloatArray:
        """As `ScatterPrior.length_shares`."""
        share = self.length.density(np.log(lengths_rpm))
        shares: FloatArray = share / share.sum()
        return shares


#: What may be believed of the scatter beforehand: declared, or learnt.
ScatterBelief: TypeAlias = ScatterPrior | ArchivePrior
