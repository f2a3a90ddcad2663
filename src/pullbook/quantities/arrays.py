"""Array types, and the guard that keeps the arrays of a record from being written to."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    FloatArray: TypeAlias = NDArray[np.float64]
    IntArray: TypeAlias = NDArray[np.int64]
    BoolArray: TypeAlias = NDArray[np.bool_]

__all__ = ["frozen_floats", "frozen_ints"]


def frozen_floats(values: ArrayLike) -> FloatArray:
    """Read-only float copy of an array, so that neither side can change the other's numbers.

    Examples
    --------
    >>> frozen_floats([1, 2]).flags.writeable
    False
    """
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def frozen_ints(values: ArrayLike) -> IntArray:
    """Read-only integer copy of an array."""
    copy = np.array(values, dtype=np.int64)
    copy.setflags(write=False)
    return copy
