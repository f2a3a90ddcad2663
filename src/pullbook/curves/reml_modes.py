"""Modes of the shape of a curve: coordinates in which the smooth error and the white noise are both diagonal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["ShapeModes", "shape_modes"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapeModes:
    """Coordinates in which the shape error of one pull is diagonal, one set for each correlation length.

    Attributes
    ----------
    lengths_rpm : (l,) array of float
        Correlation lengths. [rpm]
    variance : (l, m) array of float
        Variance of each mode for a smooth error of unit variance. [1]
    inward : (l, m, k) array of float
        From spline coefficients to modes, whose white noise then has unit variance. [1/%]
    outward : (l, k, m) array of float
        From modes to spline coefficients. [%]
    axes : (l, m, m) array of float
        Directions of the modes among coordinates that do not depend on the length. [1]
    power : (l, m) array of float
        Mean square over the range of a curve that is one unit of one mode. [%^2]
    """

    lengths_rpm: FloatArray
    variance: FloatArray
    inward: FloatArray
    outward: FloatArray
    axes: FloatArray
    power: FloatArray


def shape_modes(smooth: FloatArray, noise: FloatArray, on_grid: FloatArray, lengths_rpm: FloatArray) -> ShapeModes:
    """Simultaneous diagonal form of smooth error and white noise, after the level is taken out.

    Parameters
    ----------
    smooth : (l, k, k) array of float
        Covariance of the coefficients of a smooth error of unit variance, for each length. [1]
    noise : (k, k) array of float
        Covariance of the coefficients from white noise. [%^2]
    on_grid : (g, k) array of float
        Values of the functions on the grid, whose mean is the level of a curve. [1]
    lengths_rpm : (l,) array of float
        Correlation lengths. [rpm]

    Returns
    -------
    ShapeModes
        With one mode fewer than there are coefficients.
    """
    level = on_grid.mean(axis=0)
    complement: FloatArray = np.asarray(np.linalg.qr(level[:, None], mode="complete")[0][:, 1:], dtype=np.float64)
    project = complement.T @ (np.eye(level.size) - np.outer(np.ones(level.size), level))
    root: FloatArray = np.asarray(np.linalg.cholesky(project @ noise @ project.T), dtype=np.float64)
    whiten: FloatArray = np.asarray(np.linalg.solve(root, project), dtype=np.float64)
    variance, vectors = np.linalg.eigh(whiten @ smooth @ whiten.T)
    axes: FloatArray = np.asarray(vectors, dtype=np.float64)
    outward: FloatArray = (complement @ root) @ axes
    inward: FloatArray = np.swapaxes(axes, -1, -2) @ whiten
    return ShapeModes(
        lengths_rpm=lengths_rpm,
        variance=np.maximum(variance, 0.0),
        inward=inward,
        outward=outward,
        axes=axes,
        power=((on_grid @ outward) ** 2).mean(axis=-2),
    )
