"""Whole numbers of a column as bytes: the numbers, their differences or the differences of those, low bytes first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from pullbook.quantities.arrays import IntArray

__all__ = ["from_planes", "to_planes"]

_WIDTHS: Final = (1, 2, 4, 8)  # byte
_ORDERS: Final = (0, 1, 2, 3)
_WIDEST: Final = 8  # byte


def to_planes(values: IntArray) -> tuple[int, int, bytes]:
    """How often differences were taken, bytes a number, and the bytes; the smallest of the ways.

    Parameters
    ----------
    values : (n,) array of int
        The numbers.

    Examples
    --------
    >>> order, width, planes = to_planes(np.arange(1000, 2000, 10))
    >>> order, width, from_planes(planes, 100, order, width)[-1]
    (2, 2, np.int64(1990))
    """
    ways = [values]
    for _ in _ORDERS[1:]:
        ways.append(_differences(ways[-1]))
    costs = np.log2(np.abs(np.array(ways, dtype=np.float64)) + 1.0).sum(axis=1)
    order = int(np.argmin(costs))
    differences = ways[order]
    folded = np.where(differences >= 0, 2 * differences, -2 * differences - 1).astype("<u8")
    largest = int(folded.max(initial=0))
    width = next(one for one in _WIDTHS if one == _WIDEST or largest < 256**one)
    planes = np.ascontiguousarray(folded).view(np.uint8).reshape(-1, _WIDEST)[:, :width].T
    return order, width, planes.tobytes()


def _differences(values: IntArray) -> IntArray:
    """Differences to the number before; the first one is taken from zero."""
    differences = values.copy()
    differences[1:] -= values[:-1]
    return differences


def from_planes(planes: bytes, rows: int, order: int, width: int) -> IntArray:
    """Whole numbers of which `to_planes` made bytes.

    Parameters
    ----------
    planes : bytes
        The bytes.
    rows : int
        How many numbers.
    order : int
        How often differences were taken.
    width : int
        Bytes a number.
    """
    spread = np.zeros((rows, _WIDEST), dtype=np.uint8)
    spread[:, :width] = np.frombuffer(planes, dtype=np.uint8).reshape(width, rows).T
    folded = spread.reshape(-1).view("<u8").astype(np.uint64)
    values = (folded >> np.uint64(1)).astype(np.int64) ^ -(folded & np.uint64(1)).astype(np.int64)
    for _ in range(order):
        values = np.cumsum(values, dtype=np.int64)
    return values
