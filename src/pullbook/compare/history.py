"""What a session leaves to an archive, and whether what an archive lets expect fits a session."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.compare.joint import draw_scaled, scatter_grids
from pullbook.compare.order import data_seed
from pullbook.compare.prior import DEFAULT_PRIOR
from pullbook.compare.scale import scale_pulls
from pullbook.curves.archive_conflict import archive_conflict
from pullbook.curves.archive_likelihood import session_likelihood

if TYPE_CHECKING:
    from pullbook.compare.scale import ScaledPulls
    from pullbook.curves.archive_conflict import Conflict
    from pullbook.curves.archive_likelihood import SessionLikelihood
    from pullbook.curves.archive_prior import ArchivePrior, ScatterBelief
    from pullbook.curves.joint import JointDraws
    from pullbook.records.comparison import Comparison

__all__ = ["Believed", "conflict_with", "draw_believing", "likelihood_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Believed:
    """What was believed of the scatter of a session before its pulls were looked at.

    Attributes
    ----------
    prior : ScatterPrior or ArchivePrior
        The belief that was used.
    sessions : int
        Earlier sessions that were at hand.
    conflict : Conflict or None
        Today's scatter against theirs; None where there were none, and where one pull of each build cannot tell.
    """

    prior: ScatterBelief
    sessions: int = 0
    conflict: Conflict | None = None


def likelihood_of(comparison: Comparison) -> SessionLikelihood | None:
    """What an archive keeps of the scatter of a session.

    Parameters
    ----------
    comparison : Comparison
        The pulls. [N m, rpm, s]

    Returns
    -------
    SessionLikelihood or None
        None where each build has one pull only: such a session says nothing of the scatter. [1]

    Raises
    ------
    RefusalError
        As `compare_pulls`.
    """
    scaled = scale_pulls(comparison)
    if scaled.order.cell.size == len(scaled.order.cells):
        return None
    return session_likelihood(*scatter_grids(scaled, DEFAULT_PRIOR))


def conflict_with(scaled: ScaledPulls, prior: ArchivePrior) -> Conflict | None:
    """Whether today's scatter is more than earlier sessions let expect.

    Parameters
    ----------
    scaled : ScaledPulls
        The pulls. [%]
    prior : ArchivePrior
        What earlier sessions let expect.

    Returns
    -------
    Conflict or None
        None where each build has one pull only: such a session cannot check it. [1]
    """
    if scaled.order.cell.size == len(scaled.order.cells):
        return None
    level, shape = scatter_grids(scaled, DEFAULT_PRIOR)
    on_grid = scaled.basis.values(scaled.grid_rpm)[scaled.measured]
    generator = np.random.default_rng(data_seed(scaled.order, level.data.level))
    return archive_conflict(level.data, shape, on_grid, prior, generator)


def draw_believing(comparison: Comparison, archive: ArchivePrior | None) -> tuple[JointDraws, Believed]:
    """Curves of all builds together, with what earlier sessions taught unless today's scatter contradicts it.

    Parameters
    ----------
    comparison : Comparison
        The pulls and the number of draws. [N m, rpm, s]
    archive : ArchivePrior or None
        What earlier sessions of the same bench taught.

    Returns
    -------
    joint : JointDraws
        As `draw_jointly`. [%]
    believed : Believed
        What was used, and why.

    Raises
    ------
    RefusalError
        As `draw_jointly`.
    """
    scaled = scale_pulls(comparison)
    if archive is None:
        return draw_scaled(scaled, comparison), Believed(prior=DEFAULT_PRIOR)
    conflict = conflict_with(scaled, archive)
    dropped = conflict is not None and conflict.dropped
    believed = Believed(prior=DEFAULT_PRIOR if dropped else archive, sessions=archive.sessions, conflict=conflict)
    return draw_scaled(scaled, comparison, believed.prior), believed
