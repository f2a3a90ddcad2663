"""How well an order answers: smallest detectable sizes by a formula that is quick enough to search with."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.detectable import POWER
from pullbook.curves.kernels import matern52
from pullbook.curves.student import t_quantile
from pullbook.plan.order_arrays import order_arrays

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.order_arrays import OrderArrays
    from pullbook.quantities.arrays import FloatArray, IntArray
    from pullbook.records.plan import Target
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["Question", "Score", "question_of", "white_share", "window_share"]

_GRID: Final = 46  # speeds over the range: a hundred rpm apart on an ordinary engine
_SURE: Final = 200  # degrees of freedom that are as good as any number of them
_DRIFT_TAIL: Final = 2.6  # 97.5 % of a drift whose own size is drawn from its half-normal prior, over its typical size
_UNSEEN: Final = 5.2  # the same of a re-fitting that the order never repeats, under its wide prior
_WIDER: Final = 1.2  # by which drawn intervals are wider than these, because all sizes are in doubt at once
_SAMPLES: Final = 140  # of a pull over its range


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Question:
    """All targets as arrays.

    Attributes
    ----------
    contrasts : (m, c) array of float
        Weight of each build in each target. [1]
    sizes : (m,) array of float
        Size that has to be told. [%]
    shares : (m,) array of float
        Variance of the mean over the window of a unit shape error. [1]
    levels : (m,) array of float
        Two-sided level of the interval that has to exclude, for each target. [1]
    span : tuple of (float, float)
        Range that will be measured. [rpm]
    """

    contrasts: FloatArray
    sizes: FloatArray
    shares: FloatArray
    levels: FloatArray
    span: tuple[float, float]


def window_share(window: tuple[float, float] | None, span: tuple[float, float], length_rpm: float) -> float:
    """Variance of the mean over a window of a unit shape error, whose own mean over the range is zero.

    Parameters
    ----------
    window : tuple of (float, float) or None
        The window; None for all of the range. [rpm]
    span : tuple of (float, float)
        The range. [rpm]
    length_rpm : float
        Correlation length of the shape error. [rpm]

    Returns
    -------
    float
        Between 0, for the whole range, and nearly 1, for one speed. [1]

    Examples
    --------
    >>> window_share(None, (2000.0, 6500.0), 400.0)
    0.0
    >>> 0.3 < window_share((2500.0, 3500.0), (2000.0, 6500.0), 400.0) < 0.6
    True
    """
    speed = np.linspace(*span, _GRID)
    low, high = window if window is not None else span
    inside = ((speed >= low) & (speed <= high)).astype(np.float64)
    if not inside.any():
        inside[int(np.abs(speed - 0.5 * (low + high)).argmin())] = 1.0
    about = inside / inside.sum() - 1.0 / speed.size
    return max(float(about @ matern52(speed[:, None] - speed[None, :], length_rpm) @ about), 0.0)


def white_share(window: tuple[float, float] | None, span: tuple[float, float], resolution_rpm: float) -> float:
    """Variance of the mean over a window of unit noise from sample to sample, less that of the whole range.

    Parameters
    ----------
    window : tuple of (float, float) or None
        The window; None for all of the range. [rpm]
    span : tuple of (float, float)
        The range. [rpm]
    resolution_rpm : float
        Width that a curve is smoothed over at the least. [rpm]

    Returns
    -------
    float
        One over the samples in the window, less one over all. [1]

    Examples
    --------
    >>> white_share(None, (2000.0, 6500.0), 300.0)
    0.0
    """
    low, high = window if window is not None else span
    width = min(max(high - low, resolution_rpm), span[1] - span[0])
    return ((span[1] - span[0]) / width - 1.0) / _SAMPLES


def question_of(
    targets: Sequence[Target], builds: Sequence[str], span: tuple[float, float], belief: ScatterBelief
) -> Question:
    """Targets as arrays.

    Parameters
    ----------
    targets : sequence of Target
        At least one. [%]
    builds : sequence of str
        Names of the builds, in the order that orders number them.
    span : tuple of (float, float)
        Range that will be measured. [rpm]
    belief : ScatterBelief
        For the correlation length. [rpm]

    Returns
    -------
    Question
        Claims share the error rate of 5 % in one direction; a gain that has to be clear of zero has 5 % in both.
    """
    claims = sum(target.ask != "clear" for target in targets)
    weight = [dict(target.contrast) for target in targets]
    return Question(
        contrasts=np.array([[one.get(build, 0.0) for build in builds] for one in weight]),
        sizes=np.array([target.percent for target in targets]),
        shares=np.array([window_share(target.window, span, belief.length_rpm) for target in targets]),
        levels=np.array([0.95 if target.ask == "clear" else 1.0 - 0.1 / claims for target in targets]),
        span=span,
    )


@cache
def _quantile(level: float, freedom: int) -> float:
    return t_quantile(0.5 + level / 2.0, min(freedom, _SURE))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Variances:
    """What makes k orders miss each of m targets, (k, m) each. [%^2]."""

    pull: FloatArray
    refit: FloatArray
    wander: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Score:
    """Quick smallest detectable sizes of any order.

    An answer needs a gain beyond the half-width of the interval, and beyond what the estimate misses in four of five
    sessions. The half-width is made of the typical sizes of the sources, each times a quantile that knows how much of
    it the order lets the session see for itself: t with the repeats within fittings for the pull, and with the repeated
    fittings and one more for re-fitting, of which nothing but a wide prior is known where no build is fitted twice.

    Attributes
    ----------
    times : Timetable
        What changes and pulls take. [s]
    question : Question
        The targets. [%]
    belief : ScatterBelief
        Typical sizes. [%]
    """

    times: Timetable
    question: Question
    belief: ScatterBelief

    def detectable(self, order: Order) -> FloatArray:
        """Smallest size of each target that is answered with 80 % power, roughly.

        Parameters
        ----------
        order : Order
            With every build in it.

        Returns
        -------
        (m,) array of float
            Sizes. [%]
        """
        sizes: FloatArray = self.detectable_of([order])[0]
        return sizes

    def detectable_of(self, orders: Sequence[Order]) -> FloatArray:
        """The same of many orders at a time, which costs a fraction of one after the other.

        Parameters
        ----------
        orders : sequence of Order
            k orders with every build in each.

        Returns
        -------
        (k, m) array of float
            Sizes; infinite where nothing is repeated, so that no doubt can be stated. [%]
        """
        made = order_arrays(orders, self.times)
        count = self.question.contrasts.shape[1]
        repeats = made.pulls.astype(np.int64) - count
        each_fitted = made.fittings == made.pulls
        again = np.maximum(made.fittings - count, 0) + np.where(each_fitted, 0, 1)
        parts = self._variances(made)
        both = np.where(each_fitted[:, None], parts.pull + parts.refit, parts.pull)
        alone = np.where(each_fitted[:, None], 0.0, parts.refit)
        half = self._quantiles(repeats) ** 2 * both + _DRIFT_TAIL**2 * parts.wander
        half += np.where(again[:, None] > 1, self._quantiles(again), _UNSEEN) ** 2 * alone
        missed = _quantile(2.0 * POWER - 1.0, _SURE) * np.sqrt(parts.pull + parts.refit + parts.wander)
        detectable: FloatArray = np.where(repeats[:, None] > 0, _WIDER * np.sqrt(half) + missed, np.inf)
        return detectable

    def _quantiles(self, freedom: IntArray) -> FloatArray:
        """Quantile of each target's level at each of k degrees of freedom, (k, m). [1]."""
        different, which = np.unique(np.clip(freedom, 1, _SURE), return_inverse=True)
        levels = self.question.levels.tolist()
        return np.array([[_quantile(level, one) for level in levels] for one in different.tolist()])[which]

    def _variances(self, orders: OrderArrays) -> _Variances:
        belief, question = self.belief, self.question
        walk = np.minimum(orders.hours[:, :, None], orders.hours[:, None, :])
        middle = orders.hours.sum(axis=1, keepdims=True) / orders.fittings[:, None]
        trend = np.where(orders.there, orders.hours - middle, 0.0)
        covariance = belief.walk**2 * walk + belief.drift**2 * trend[:, :, None] * trend[:, None, :]
        place = np.arange(trend.shape[1])
        covariance[:, place, place] += belief.refit**2 + belief.pull**2 / orders.made
        # Where there is no fitting, no build is a member and nothing varies together with it: its weight is zero.
        member = (orders.built[:, :, None] == np.arange(question.contrasts.shape[1])).astype(np.float64)
        solved = np.linalg.solve(covariance, member)
        wanted = np.broadcast_to(question.contrasts.T, (trend.shape[0], *question.contrasts.T.shape))
        weights = (solved @ np.linalg.solve(member.swapaxes(1, 2) @ solved, wanted)).swapaxes(1, 2)
        own, refit = (weights**2 / orders.made[:, None, :]).sum(axis=2), (weights**2).sum(axis=2)
        shaped = (own + belief.refit_shape**2 * refit) * question.shares * belief.shape**2
        walked = ((weights @ walk) * weights).sum(axis=2) * belief.walk**2
        drifted = (weights @ trend[:, :, None])[:, :, 0] ** 2 * belief.drift**2
        return _Variances(pull=own * belief.pull**2 + shaped, refit=refit * belief.refit**2, wander=walked + drifted)

    def worst(self, order: Order) -> float:
        """Smallest detectable over wanted size of the target that is hardest to answer, with a little of the others.

        Parameters
        ----------
        order : Order
            With every build in it.

        Returns
        -------
        float
            At most 1 where all targets can be answered; a twentieth of the mean of all is added, so that of two orders
            that are equal in the hardest the one that does more for the others is taken. [1]
        """
        return self.worst_of([order])[0]

    def worst_of(self, orders: Sequence[Order]) -> list[float]:
        """The same of many orders.

        Parameters
        ----------
        orders : sequence of Order
            With every build in each.

        Returns
        -------
        list of float
            One for each order. [1]
        """
        ratio = self.detectable_of(orders) / self.question.sizes
        scores: list[float] = (ratio.max(axis=1) + 0.05 * ratio.mean(axis=1)).tolist()
        return scores
