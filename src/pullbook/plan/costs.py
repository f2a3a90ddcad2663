"""What an order costs in time, and when each pull of it is made."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.build import Build
    from pullbook.records.plan_terms import Costs

__all__ = ["Order", "Timetable", "change_seconds", "changed_factors", "timetable"]

Order: TypeAlias = tuple[tuple[int, int], ...]
"""Fittings in turn, each as (number of the build, pulls made on it)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Timetable:
    """Time that every change and pull takes.

    Attributes
    ----------
    between : (c, c) array of float
        From the last pull of one build to the first of another, warm-up and cool-down included. [s]
    first : float
        Before the first pull of the session. [s]
    pull : float
        From one pull to the next. [s]
    """

    between: FloatArray
    first: float
    pull: float
    _rows: Sequence[Sequence[float]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_rows", self.between.tolist())  # a search asks for single numbers, very often

    def seconds(self, order: Order) -> float:
        """Time that an order takes. [s]."""
        rows = self._rows
        changes = sum([rows[one[0]][other[0]] for one, other in pairwise(order)])
        return self.first + changes + self.pull * sum([count for _, count in order])

    def pulls(self, order: Order) -> tuple[IntArray, IntArray, FloatArray]:
        """Build, fitting and time of every pull of an order.

        Returns
        -------
        cell, fitting : (n,) array of int
            Build and fitting, both from 0.
        hours : (n,) array of float
            From the first pull. [h]
        """
        counts = np.array([count for _, count in order])
        starts = np.zeros(len(order))
        for place in range(1, len(order)):
            before, now = order[place - 1], order[place]
            starts[place] = starts[place - 1] + before[1] * self.pull + self.between[before[0], now[0]]
        fitting = np.repeat(np.arange(len(order)), counts)
        within = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
        cell = np.array([build for build, _ in order])[fitting]
        return cell, fitting, (starts[fitting] + within * self.pull) / 3600.0


def changed_factors(one: Build, other: Build) -> tuple[str, ...]:
    """Factors in which two builds differ.

    Parameters
    ----------
    one, other : Build
        The builds.

    Returns
    -------
    tuple of str
        In the order of the session.
    """
    return tuple(name for name, level in one.levels.items() if other.levels.get(name) != level)


def change_seconds(costs: Costs, changed: Sequence[str]) -> float:
    """Time for changes that are made at once, without cool-down and warm-up.

    What they have in common is spent once: the sum of all changes, less the common part for each but one; never less
    than the longest of them.

    Parameters
    ----------
    costs : Costs
        Time of each. [s]
    changed : sequence of str
        The factors; none where builds have no factors.

    Returns
    -------
    float
        Time. [s]
    """
    each = [costs.change[name] for name in changed] or [costs.any_change]
    return max(*each, sum(each) - costs.together * (len(each) - 1))


def timetable(builds: Sequence[Build], costs: Costs) -> Timetable:
    """Times of all changes between builds.

    Parameters
    ----------
    builds : sequence of Build
        The builds.
    costs : Costs
        What each change and pull costs. [s]

    Returns
    -------
    Timetable
        [s]
    """
    around = costs.cool_down + costs.warm_up
    between = np.array(
        [[around + change_seconds(costs, changed_factors(one, other)) for other in builds] for one in builds]
    )
    np.fill_diagonal(between, 0.0)
    return Timetable(between=between, first=costs.warm_up, pull=costs.pull)
