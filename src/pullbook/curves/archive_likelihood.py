"""SessionLikelihood: what one session says of the sources of scatter, as an archive keeps it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.reml_level import level_likelihood
from pullbook.curves.reml_shape import shape_likelihood
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.curves.reml_level import LevelScatter
    from pullbook.curves.reml_shape import ShapeScatter
    from pullbook.quantities.arrays import FloatArray

__all__ = ["LEVEL_AXES", "SHAPE_AXES", "SessionLikelihood", "session_likelihood", "unpacked"]


def _axis(low: float, high: float, count: int) -> FloatArray:
    return frozen_floats(np.geomspace(low, high, count))


#: Nodes of re-fitting [%], random walk [% / sqrt(h)], drift [%/h] and pull [%], in the order of the axes.
LEVEL_AXES: Final = (_axis(0.02, 4.0, 11), _axis(0.02, 3.0, 6), _axis(0.03, 5.0, 6), _axis(0.03, 6.0, 20))
#: Nodes of correlation length [rpm], ratio of re-fitting to pull [1] and smooth shape error of a pull [%].
SHAPE_AXES: Final = (_axis(150.0, 1000.0, 8), _axis(0.1, 5.0, 6), _axis(0.03, 6.0, 20))
_LOWEST = -40.0
_STEP = -_LOWEST / 255.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SessionLikelihood:
    """Restricted log likelihoods of one session on nodes that are the same for all sessions.

    Attributes
    ----------
    level : (11, 6, 6, 20) array of float
        On `LEVEL_AXES`, 0 at the likeliest node. [1]
    shape : (8, 6, 20) array of float
        On `SHAPE_AXES`, 0 at the likeliest node. [1]
    """

    level: FloatArray
    shape: FloatArray

    def __post_init__(self) -> None:
        for name in ("level", "shape"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))

    def packed(self) -> bytes:
        """As bytes, one for each node in steps of 0.16 of the logarithm; an archive may compress them further."""
        both = np.concatenate((self.level.ravel(), self.shape.ravel()))
        return np.clip(np.round(-both / _STEP), 0.0, 255.0).astype(np.uint8).tobytes()


def session_likelihood(level: LevelScatter, shape: ShapeScatter) -> SessionLikelihood:
    """What an archive keeps of a session, from the grids that its own comparison was made with.

    Parameters
    ----------
    level : LevelScatter
        Grid of the level. [%]
    shape : ShapeScatter
        Grid of the shape, whose correlation lengths are those of `SHAPE_AXES`. [%]

    Returns
    -------
    SessionLikelihood
        Without any prior. Logarithms below -40 are cut off there. [1]

    References
    ----------
    1. B. P. Carlin, T. A. Louis, *Bayesian Methods for Data Analysis*, on parametric empirical Bayes (from memory).
    """
    refit, walk, drift, pull = LEVEL_AXES
    on_level = level_likelihood(level.data, (refit, walk, drift), pull)
    on_shape = shape_likelihood(shape.data, shape.modes, SHAPE_AXES[1], SHAPE_AXES[2])
    return SessionLikelihood(
        level=np.maximum(on_level - on_level.max(), _LOWEST), shape=np.maximum(on_shape - on_shape.max(), _LOWEST)
    )


def unpacked(packed: bytes) -> SessionLikelihood:
    """Read what `SessionLikelihood.packed` gave.

    Parameters
    ----------
    packed : bytes
        One byte for each node.

    Returns
    -------
    SessionLikelihood
        To 0.08 of the logarithm. [1]

    Raises
    ------
    ValueError
        Where the bytes are not as many as the nodes.
    """
    sizes = tuple(axis.size for axis in LEVEL_AXES), tuple(axis.size for axis in SHAPE_AXES)
    border = int(np.prod(sizes[0]))
    both = -_STEP * np.frombuffer(packed, dtype=np.uint8).astype(np.float64)
    return SessionLikelihood(level=both[:border].reshape(sizes[0]), shape=both[border:].reshape(sizes[1]))
