"""Comparison -> JointDraws: curves of all builds together, with what re-fitting, drift and pulls leave in doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.order import data_seed
from pullbook.compare.prior import DEFAULT_PRIOR, allowance_of
from pullbook.compare.scale import scale_pulls
from pullbook.curves.joint import JointDraws, VarianceDraws
from pullbook.curves.kernels import projected_matern52
from pullbook.curves.posterior import choose_nodes
from pullbook.curves.reml_level import LevelData, draw_levels, level_scatter
from pullbook.curves.reml_modes import shape_modes
from pullbook.curves.reml_shape import ShapeData, draw_shapes, shape_scatter

if TYPE_CHECKING:
    from pullbook.compare.order import RunOrder
    from pullbook.compare.scale import ScaledPulls
    from pullbook.curves.archive_prior import ScatterBelief
    from pullbook.curves.reml_level import LevelDraws, LevelScatter
    from pullbook.curves.reml_shape import ShapeDraws, ShapeScatter
    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.comparison import Comparison

__all__ = ["draw_jointly", "draw_scaled", "scatter_grids"]

_LENGTHS_RPM = np.geomspace(150.0, 1000.0, 8)


def draw_jointly(comparison: Comparison, prior: ScatterBelief = DEFAULT_PRIOR) -> JointDraws:
    """Curves of all builds of a session together, drawn from what its pulls leave possible.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the number of draws.
    prior : ScatterPrior or ArchivePrior
        What is believed of the scatter: declared, or learnt from earlier sessions.

    Returns
    -------
    JointDraws
        Without draws where each build has one pull only, unless earlier sessions are known: nothing in such a session
        shows how far pulls differ.

    Raises
    ------
    RefusalError
        Where the pulls share no range, a pull has fewer than 8 samples in it, or torque is not positive.

    Notes
    -----
    The same data give the same digits, whatever the pulls and builds are called and in whatever order they are given;
    swapping the names of two builds swaps their draws.
    """
    return draw_scaled(scale_pulls(comparison), comparison, prior)


def draw_scaled(scaled: ScaledPulls, comparison: Comparison, prior: ScatterBelief = DEFAULT_PRIOR) -> JointDraws:
    """As `draw_jointly`, for pulls that have been scaled already.

    Parameters
    ----------
    scaled : ScaledPulls
        The pulls of the comparison. [%]
    comparison : Comparison
        The number of draws and the order of the builds.
    prior : ScatterPrior or ArchivePrior
        What is believed of the scatter: declared, or learnt from earlier sessions. [%]

    Returns
    -------
    JointDraws
        The draws. [%]
    """
    order = scaled.order
    level_of, on_grid = _level_functional(scaled)
    levels = scaled.coefficients @ level_of
    seed = data_seed(order, levels)
    freedom = order.cell.size - len(order.cells)
    if freedom == 0 and not prior.from_archive:
        centre, draws, variances = _without_doubt(scaled, on_grid)
    else:
        generator = np.random.default_rng(seed)
        level_grid, shape_grid = scatter_grids(scaled, prior)
        step, node = choose_nodes(level_grid, shape_grid, comparison.draws, generator, linked=not prior.from_archive)
        level = draw_levels(level_grid, step, generator)
        shape = draw_shapes(shape_grid, node, generator)
        centre, draws = _curves(scaled, level, shape, on_grid, allowance_of(prior))
        variances = _variances(level, shape, scaled.white_sd)
    named = [order.cells.index(build.name) for build in comparison.builds if build.name in order.cells]
    return JointDraws(
        grid_rpm=scaled.grid_rpm,
        reference=np.where(scaled.measured, scaled.reference, np.nan),
        cells=tuple(order.cells[cell] for cell in named),
        centre=centre[named],
        draws=draws[:, named],
        variances=variances,
        degrees_of_freedom=freedom,
        resolution_rpm=2.0 * scaled.basis.step_rpm,
        refit_assumed=_refit_assumed(order),
        drift_assumed=_drift_assumed(order.cell),
        seed=seed,
        logarithmic=scaled.logarithmic,
        from_archive=prior.from_archive,
    )


def scatter_grids(scaled: ScaledPulls, prior: ScatterBelief) -> tuple[LevelScatter, ShapeScatter]:
    """Grids of the parameters of level and shape, with the weight of every node.

    Parameters
    ----------
    scaled : ScaledPulls
        The pulls. [%]
    prior : ScatterPrior or ArchivePrior
        What is believed of the scatter.

    Returns
    -------
    level : LevelScatter
        Grid of the level. [%]
    shape : ShapeScatter
        Grid of the shape. [%]
    """
    order = scaled.order
    level_of, on_grid = _level_functional(scaled)
    level = LevelData(level=scaled.coefficients @ level_of, cell=order.cell, fitting=order.fitting, hours=order.hours)
    return level_scatter(level, prior), _shape_scatter(scaled, on_grid, prior)


def _level_functional(scaled: ScaledPulls) -> tuple[FloatArray, FloatArray]:
    """Weights of the coefficients in the mean over the measured range, and the functions on the grid."""
    on_grid = scaled.basis.values(scaled.grid_rpm)
    return on_grid[scaled.measured].mean(axis=0), on_grid


def _shape_scatter(scaled: ScaledPulls, on_grid: FloatArray, prior: ScatterBelief) -> ShapeScatter:
    order = scaled.order
    smooth = projected_matern52(scaled.basis, _LENGTHS_RPM)
    modes = shape_modes(smooth, scaled.noise, on_grid[scaled.measured], _LENGTHS_RPM)
    first = np.unique(order.fitting, return_index=True)[1]
    data = ShapeData(
        coefficients=scaled.coefficients,
        noise=scaled.noise_ratio,
        fitting=order.fitting,
        cell=order.cell[first],
    )
    return shape_scatter(data, modes, prior)


def _curves(
    scaled: ScaledPulls, level: LevelDraws, shape: ShapeDraws, on_grid: FloatArray, allowance: float
) -> tuple[FloatArray, FloatArray]:
    """Centre and draws of the curves in per cent of the reference, spread by the allowance for what is not modelled."""
    draws = shape.draws
    draws += level.draws[..., None]
    coefficients = shape.mean.mean(axis=0) + level.mean.mean(axis=0)[:, None]
    draws -= coefficients
    draws *= allowance
    draws += coefficients
    middle = coefficients @ on_grid.T
    return scaled.percent(middle), scaled.percent(draws @ on_grid.T)


def _variances(level: LevelDraws, shape: ShapeDraws, white_sd: float) -> VarianceDraws:
    return VarianceDraws(
        pull_sd=level.pull_sd,
        shape_sd=shape.shape_sd,
        length_rpm=shape.length_rpm,
        refit_sd=level.refit_sd,
        refit_shape_ratio=shape.refit_ratio**2,
        walk_sd=level.walk_sd,
        drift=level.drift,
        white_sd=white_sd,
    )


def _without_doubt(scaled: ScaledPulls, on_grid: FloatArray) -> tuple[FloatArray, FloatArray, VarianceDraws]:
    """Curves of a session with one pull for each build: there is nothing to draw from."""
    centre = scaled.percent(scaled.coefficients @ on_grid.T)
    none = np.zeros(0)
    variances = VarianceDraws(
        pull_sd=none,
        shape_sd=none,
        length_rpm=none,
        refit_sd=none,
        refit_shape_ratio=none,
        walk_sd=none,
        drift=none,
        white_sd=scaled.white_sd,
    )
    return centre, np.zeros((0, *centre.shape)), variances


def _refit_assumed(order: RunOrder) -> bool:
    """No build was fitted twice."""
    fitted = np.unique(np.column_stack((order.cell, order.fitting)), axis=0)[:, 0]
    return bool(np.bincount(fitted).max() < 2)


def _drift_assumed(cell: IntArray) -> bool:
    """No build was returned to after another."""
    blocks = 1 + int((np.diff(cell) != 0).sum())
    return 1 < blocks <= int(cell.max()) + 1
