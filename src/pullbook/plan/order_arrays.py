"""Many orders as arrays of one shape, so that all of them are judged at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.plan.costs import Order, Timetable
    from pullbook.quantities.arrays import BoolArray, FloatArray, IntArray

__all__ = ["OrderArrays", "order_arrays"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OrderArrays:
    """Fittings of several orders; shorter ones are filled up with places at which nothing is fitted.

    Attributes
    ----------
    built : (k, f) array of int
        Build of each fitting; -1 where there is none.
    made : (k, f) array of float
        Pulls on it; 1 where there is none. [1]
    there : (k, f) array of bool
        Whether there is a fitting.
    hours : (k, f) array of float
        Middle of its pulls after the first pull of the session; 0 where there is none. [h]
    """

    built: IntArray
    made: FloatArray
    there: BoolArray
    hours: FloatArray

    @property
    def fittings(self) -> IntArray:
        """Fittings of each order, (k,). [1]."""
        counts: IntArray = self.there.sum(axis=1)
        return counts

    @property
    def pulls(self) -> FloatArray:
        """Pulls of each order, (k,). [1]."""
        counts: FloatArray = np.where(self.there, self.made, 0.0).sum(axis=1)
        return counts


def order_arrays(orders: Sequence[Order], times: Timetable) -> OrderArrays:
    """Orders as arrays.

    Parameters
    ----------
    orders : sequence of Order
        At least one, each with at least one fitting.
    times : Timetable
        What changes and pulls take. [s]

    Returns
    -------
    OrderArrays
        k orders, as wide as the longest. [h]

    Examples
    --------
    >>> from pullbook.plan.costs import Timetable
    >>> times = Timetable(between=np.array([[0.0, 3240.0], [3240.0, 0.0]]), first=600.0, pull=360.0)
    >>> order_arrays([((0, 1), (1, 2)), ((0, 3),)], times).hours.tolist()
    [[0.0, 1.05], [0.1, 0.0]]
    """
    count = np.array([len(order) for order in orders])
    shape = (count.size, int(count.max()))
    there = np.arange(shape[1]) < count[:, None]
    flat = np.array([fitting for order in orders for fitting in order])
    built, made = np.full(shape, -1), np.ones(shape)
    built[there], made[there] = flat[:, 0], flat[:, 1]
    from_one_to_next = times.between[built[:, :-1], built[:, 1:]] + made[:, :-1] * times.pull
    first = np.zeros(shape)
    np.cumsum(from_one_to_next, axis=1, out=first[:, 1:])
    hours = np.where(there, (first + 0.5 * (made - 1.0) * times.pull) / 3600.0, 0.0)
    return OrderArrays(built=built, made=made, there=there, hours=hours)
