"""DesignVariance: variance of a gain from the order of the pulls and the sources of scatter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from pullbook.curves.kernels import matern52

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pullbook.curves.joint import VarianceDraws
    from pullbook.quantities.arrays import FloatArray, IntArray

__all__ = ["DesignVariance", "ScatterSizes"]

_HOURS_BETWEEN_PULLS = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterSizes:
    """Typical sizes of the sources of scatter.

    Attributes
    ----------
    pull, refit : float
        Level of a pull and of a re-fitting, standard deviations. [%]
    walk : float
        Random walk of the level. [% / sqrt(h)]
    drift : float
        Linear drift of the level. [%/h]
    shape : float
        Smooth error of one pull, standard deviation. [%]
    refit_shape : float
        Variance of the shape error of a re-fitting over that of a pull. [1]
    length_rpm : float
        Correlation length of the shape error. [rpm]
    """

    pull: float
    refit: float = 0.0
    walk: float = 0.0
    drift: float = 0.0
    shape: float = 0.0
    refit_shape: float = 0.0
    length_rpm: float = 400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    """Share of the variance of a pull, of a fitting and of a random walk of one hour, and of a trend, in a contrast."""

    pull: float
    same: float
    walk: float
    drift: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DesignVariance:
    """Order of the pulls and the sizes of the sources of scatter.

    Attributes
    ----------
    cells : tuple of str
        Names of the builds.
    cell : (n,) array of int
        Build of each pull.
    fitting : (n,) array of int
        Fitting of each pull.
    hours : (n,) array of float
        When each pull was made. [h]
    sizes : ScatterSizes
        Sources of scatter. [%]
    speed_rpm : (k,) array of float
        Speeds that windows are weights on. [rpm]
    """

    cells: tuple[str, ...]
    cell: IntArray
    fitting: IntArray
    hours: FloatArray
    sizes: ScatterSizes
    speed_rpm: FloatArray

    @property
    def each_pull_fitted(self) -> bool:
        """Every pull is a fitting of its own."""
        return bool(np.unique(self.fitting).size == self.fitting.size)

    @property
    def degrees_of_freedom(self) -> int:
        """Pulls minus builds. [1]."""
        return int(self.cell.size - np.unique(self.cell).size)

    @property
    def fitting_freedom(self) -> int:
        """Fittings minus builds. [1]."""
        return int(np.unique(self.fitting).size - np.unique(self.cell).size)

    def sd(self, contrast: Mapping[str, float], window: FloatArray) -> float:
        """Standard deviation of the mean of a gain over a window, with the typical sizes. [%].

        Parameters
        ----------
        contrast : mapping of str to float
            Weight of each build. [1]
        window : (k,) array of float
            Weight of each speed, with sum 1. [1]
        """
        sizes, parts = self.sizes, self._parts(contrast)
        variance = (
            sizes.pull**2 * parts.pull
            + sizes.refit**2 * parts.same
            + sizes.walk**2 * parts.walk
            + sizes.drift**2 * parts.drift**2
            + sizes.shape**2 * (parts.pull + sizes.refit_shape * parts.same) * self._window_share(window)
        )
        return sqrt(variance)

    def drawn_sds(self, drawn: VarianceDraws, contrast: Mapping[str, float], window: FloatArray) -> FloatArray:
        """The same for each draw of the sizes, of which large ones are rare but possible. [%]."""
        parts = self._parts(contrast)
        shape = drawn.shape_sd**2 * (parts.pull + drawn.refit_shape_ratio * parts.same)
        variance: FloatArray = (
            drawn.pull_sd**2 * parts.pull
            + drawn.refit_sd**2 * parts.same
            + drawn.walk_sd**2 * parts.walk
            + self.sizes.drift**2 * parts.drift**2
            + shape * self._window_share(window)
        )
        return np.sqrt(variance)

    def _parts(self, contrast: Mapping[str, float]) -> _Parts:
        """What the generalised least squares estimate of a contrast lets through of each source."""
        member = (self.cell[:, None] == np.arange(len(self.cells))).astype(np.float64)
        run = np.flatnonzero(member.any(axis=0))
        wanted = np.array([contrast.get(self.cells[number], 0.0) for number in run])
        same = (self.fitting[:, None] == self.fitting[None, :]).astype(np.float64)
        walk, centred = np.minimum(self.hours[:, None], self.hours[None, :]), self.hours - self.hours.mean()
        sizes = self.sizes
        covariance = (
            (sizes.pull**2 + sizes.shape**2) * np.eye(self.cell.size)
            + (sizes.refit**2 + sizes.shape**2 * sizes.refit_shape) * same
            + sizes.walk**2 * walk
            + sizes.drift**2 * np.outer(centred, centred)
        )
        solved = np.linalg.solve(covariance, member[:, run])
        weights = solved @ np.linalg.solve(member[:, run].T @ solved, wanted)
        return _Parts(
            pull=float(weights @ weights),
            same=float(weights @ same @ weights),
            walk=max(float(weights @ walk @ weights), 0.0),
            drift=float(weights @ centred),
        )

    def _window_share(self, window: FloatArray) -> float:
        """Variance of the mean over a window of a unit shape error, whose own mean over the range is zero."""
        about = window - 1.0 / window.size
        near = self.speed_rpm[:, None] - self.speed_rpm[None, :]
        return float(about @ matern52(near, self.sizes.length_rpm) @ about)

    def with_pulls(self, builds: Sequence[str], more: int) -> DesignVariance:
        """The same session with more pulls of some builds in the last fitting that each had."""
        design = self
        for build in builds:
            last = int(np.flatnonzero(self.cell == self.cells.index(build))[-1])
            times = float(self.hours[last]) + _HOURS_BETWEEN_PULLS * np.arange(1.0, more + 1.0)
            design = design._extended(build, np.full(more, self.fitting[last]), times)
        return design

    def with_fittings(self, builds: Sequence[str], more: int, pulls: int) -> DesignVariance:
        """The same session with more fittings of some builds after its end, in turn, of a number of pulls each."""
        design = self
        change = _change_time(self)
        for _ in range(more):
            for build in builds:
                start = float(design.hours.max()) + change
                times = start + _HOURS_BETWEEN_PULLS * np.arange(float(pulls))
                design = design._extended(build, np.full(pulls, int(design.fitting.max()) + 1), times)
        return design

    def _extended(self, build: str, fitting: IntArray, hours: FloatArray) -> DesignVariance:
        cell = np.full(fitting.size, self.cells.index(build))
        return replace(
            self,
            cell=np.concatenate((self.cell, cell)),
            fitting=np.concatenate((self.fitting, fitting)),
            hours=np.concatenate((self.hours, hours)),
        )


def _change_time(design: DesignVariance) -> float:
    """Typical time between two fittings. [h]."""
    order = np.argsort(design.hours, kind="stable")
    steps = np.diff(design.hours[order])[np.diff(design.fitting[order]) != 0]
    return float(np.median(steps)) if steps.size else _HOURS_BETWEEN_PULLS
