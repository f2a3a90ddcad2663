"""An array that grows at its end: a long log is never held twice while it is being read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["GrowingArray"]

Number = TypeVar("Number", np.float64, np.int64)


class GrowingArray(Generic[Number]):
    """Array that grows at its end without a second copy of what it holds."""

    def __init__(self, dtype: type[Number]) -> None:
        self._array: NDArray[Number] = np.empty(0, dtype=dtype)
        self._size = 0

    def reserve(self, capacity: int) -> None:
        """Make room for a known number of values; memory is only taken when it is written to."""
        if capacity > self._array.size:
            self._array.resize(capacity, refcheck=False)

    def extend(self, values: NDArray[Number]) -> None:
        """Add values at the end."""
        end = self._size + values.size
        if end > self._array.size:
            self._array.resize(max(end, 2 * self._array.size), refcheck=False)
        self._array[self._size : end] = values
        self._size = end

    def blank_last(self, count: int, where: NDArray[np.bool_]) -> None:
        """Put NaN at some of the last `count` values."""
        self._array[self._size - count : self._size][where] = np.nan

    def tail(self, count: int) -> NDArray[Number]:
        """Copy of the newest values."""
        return self._array[max(0, self._size - count) : self._size].copy()

    def take(self) -> NDArray[Number]:
        """Hand over the array, read-only; this object is empty afterwards."""
        array, self._array = self._array, np.empty(0, dtype=self._array.dtype)
        array.resize(self._size, refcheck=False)
        self._size = 0
        array.setflags(write=False)
        return array

    def __len__(self) -> int:
        return self._size

    @property
    def latest(self) -> float:
        """Newest value; the array must not be empty."""
        return float(self._array[self._size - 1])
