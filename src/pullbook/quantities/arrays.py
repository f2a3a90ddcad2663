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

    An array that owns its numbers and is read-only already is passed on as it is: no log is held twice.

    Examples
    --------
    >>> frozen_floats([1, 2]).flags.writeable
    False
    """
    if isinstance(values, np.ndarray) and values.dtype == np.float64 and _is_frozen(values):
        return values
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def frozen_ints(values: ArrayLike) -> IntArray:
    """Read-only integer copy of an array."""
    if isinstance(values, np.ndarray) and values.dtype == np.int64 and _is_frozen(values):
        return values
    copy = np.array(values, dtype=np.int64)
    copy.setflags(write=False)
    return copy


def _is_frozen(array: NDArray[np.generic]) -> bool:
    return bool(array.flags.owndata and not array.flags.writeable)
