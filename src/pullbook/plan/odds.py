"""Odds that an order answers: sessions of it are drawn, and judged as the comparison will judge the real one."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.curves.detectable import POWER
from pullbook.curves.multiplicity import holm
from pullbook.curves.quantiles import half_widths
from pullbook.plan.level_grid import level_grid
from pullbook.plan.level_sessions import level_sessions
from pullbook.plan.shape_parts import shape_parts
from pullbook.records.plan import Ask

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pullbook.curves.reml_prior import ScatterPrior
    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.level_grid import LevelGrid
    from pullbook.plan.level_sessions import LevelSessions
    from pullbook.plan.score import Question
    from pullbook.plan.shape_parts import ShapeParts
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.plan import Target
    from pullbook.records.plan_terms import ScatterBelief

__all__ = ["Doubt", "DrawnOdds", "Judge", "drawn_doubt", "drawn_odds", "drawn_sizes"]

_DRAWS: Final = 500
_LEVEL: Final = 0.05
_WHITE_IN_LEVEL: Final = 0.085  # one over the root of the samples of a pull
_NORMAL: Final = np.array([NormalDist().inv_cdf((n + 0.5) / _DRAWS) for n in range(_DRAWS)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """How the comparison will judge, and how many sessions are drawn.

    Attributes
    ----------
    prior : ScatterPrior
        What the comparison believes of re-fitting and drift. [%]
    allowance : float
        By which it spreads all doubts. [1]
    sessions : int
        Sessions drawn for each order. [1]
    seed : int
        Of the drawn sessions.
    """

    prior: ScatterPrior
    allowance: float
    sessions: int = 100
    seed: int = 11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnOdds:
    """What many drawn sessions of one order gave.

    Attributes
    ----------
    odds : (m,) array of float
        Share that answered each target. [1]
    detectable : (m,) array of float
        Size that four of five answer. [%]
    """

    odds: FloatArray
    detectable: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Doubt:
    """What drawn sessions of one order leave in doubt.

    Attributes
    ----------
    half_width : (m,) array of float
        Median half-width of the 95 % interval of each target. [%]
    miss : (m,) array of float
        Root mean square error of its estimate. [%]
    answered : (m,) array of float
        Share of sessions that answer it, each target by itself at its own level. [1]
    """

    half_width: FloatArray
    miss: FloatArray
    answered: FloatArray


def drawn_sizes(belief: ScatterBelief, count: int, generator: np.random.Generator) -> dict[str, FloatArray]:
    """Sizes of the sources of scatter of many sessions.

    Parameters
    ----------
    belief : ScatterBelief
        Typical sizes and how they vary. [%]
    count : int
        Sessions. [1]
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    dict of str to (count,) array of float
        By the names of `ScatterBelief`. [%, rpm]
    """
    names = ("pull", "shape", "refit", "walk", "drift", "white", "length_rpm", "refit_shape")
    normal = generator.standard_normal((len(names), count))
    spread = [belief.spreads.get(name, belief.spread) for name in names]
    return {name: getattr(belief, name) * np.exp(spread[n] * normal[n]) for n, name in enumerate(names)}


def drawn_odds(
    order: Order, times: Timetable, targets: Sequence[Target], question: Question, belief: ScatterBelief, judge: Judge
) -> DrawnOdds:
    """Odds of an answer to each target with an order.

    Sessions of the order are drawn from the belief. In each, the level of every pull goes through the restricted
    likelihood and the priors of the comparison, the shape error of every window is added, and each target is judged:
    an interval clear of zero, or the tests of the claims with Holm over all of them.

    Parameters
    ----------
    order : Order
        Every build is in it, and one has two pulls.
    times : Timetable
        When pulls are made. [s]
    targets : sequence of Target
        What is asked. [%]
    question : Question
        The same as arrays. [%]
    belief : ScatterBelief
        Scatter. [%]
    judge : Judge
        The comparison.

    Returns
    -------
    DrawnOdds
        With a Monte-Carlo error of 2 points at 80 % from 400 sessions. [1, %]
    """
    margins = np.empty((judge.sessions, len(targets)))  # size from which on this session answers
    tails = np.empty((judge.sessions, len(targets)))
    for number, (errors, deviations) in enumerate(_sessions(order, times, targets, question, belief, judge)):
        margins[number] = [
            _margin(target, error, drawn, level)
            for target, error, drawn, level in zip(targets, errors, deviations, question.levels.tolist(), strict=True)
        ]
        tails[number] = [
            _tail(target, error, drawn) for target, error, drawn in zip(targets, errors, deviations, strict=True)
        ]
    claim = np.array([target.ask is not Ask.CLEAR for target in targets])
    answered = margins < question.sizes
    answered[:, claim] = np.apply_along_axis(holm, 1, tails[:, claim]) <= _LEVEL
    return DrawnOdds(odds=answered.mean(axis=0), detectable=np.quantile(margins, POWER, axis=0))


def drawn_doubt(
    order: Order, times: Timetable, targets: Sequence[Target], question: Question, belief: ScatterBelief, judge: Judge
) -> Doubt:
    """Doubt that the comparison would state with an order, and what its estimates would miss.

    Parameters
    ----------
    order : Order
        Every build is in it, and one has two pulls.
    times : Timetable
        When pulls are made. [s]
    targets : sequence of Target
        What is asked. [%]
    question : Question
        The same as arrays. [%]
    belief : ScatterBelief
        Scatter. [%]
    judge : Judge
        The comparison.

    Returns
    -------
    Doubt
        [%, 1]
    """
    halves, misses, margins = list[list[float]](), list[list[float]](), list[list[float]]()
    for errors, deviations in _sessions(order, times, targets, question, belief, judge):
        halves.append([float(half_widths(drawn, 1.0 - _LEVEL).max()) for drawn in deviations])
        misses.append([float(error[0]) for error in errors])
        every = zip(targets, errors, deviations, question.levels.tolist(), strict=True)
        margins.append([_margin(target, error, drawn, level) for target, error, drawn, level in every])
    return Doubt(
        half_width=np.median(halves, axis=0),
        miss=np.sqrt(np.mean(np.square(misses), axis=0)),
        answered=np.mean(np.array(margins) < question.sizes, axis=0),
    )


def _sessions(
    order: Order, times: Timetable, targets: Sequence[Target], question: Question, belief: ScatterBelief, judge: Judge
) -> Iterator[tuple[list[FloatArray], list[FloatArray]]]:
    generator = np.random.default_rng(judge.seed)
    sizes = drawn_sizes(belief, judge.sessions, generator)
    cell, fitting, hours = times.pulls(order)
    grid = level_grid(cell, fitting, hours, question.contrasts, judge.prior)
    levels = level_sessions(grid, _levels(grid, sizes, judge.sessions, generator))
    shape = shape_parts(cell, fitting, targets, question, belief)
    for number in range(judge.sessions):
        one = {name: float(values[number]) for name, values in sizes.items()}
        yield _session(levels, number, shape, one, judge, generator)


def _session(
    levels: LevelSessions, number: int, shape: ShapeParts, sizes: Mapping[str, float], judge: Judge,
    generator: np.random.Generator,
) -> tuple[list[FloatArray], list[FloatArray]]:  # fmt: skip
    """Error of every target, and draws about the estimate that the comparison would have. [%]."""
    count = levels.average.shape[1]
    normal = generator.permuted(np.broadcast_to(_NORMAL[:, None], (_DRAWS, count)), axis=0)
    total = sizes["shape"] * float(np.hypot(1.0, sizes["refit_shape"]))
    known = levels.known(number, total, normal, generator)
    scale = sizes["shape"] * shape.scale(sizes["refit_shape"])
    believed = sizes["shape"] * shape.believed(sizes["refit_shape"], judge.prior, _DRAWS, generator)
    errors: list[FloatArray] = []
    deviations: list[FloatArray] = []
    for place, root in enumerate(shape.roots):
        own = root @ generator.standard_normal(root.shape[1])
        about = generator.standard_normal((_DRAWS, root.shape[1])) @ root.T
        errors.append(known.error[place] + scale[place] * own)
        deviations.append((known.deviations[:, place, None] + believed[:, place, None] * about) * judge.allowance)
    return errors, deviations


def _levels(
    grid: LevelGrid, sizes: Mapping[str, FloatArray], sessions: int, generator: np.random.Generator
) -> FloatArray:
    """Errors of the levels of all pulls of many sessions, (s, n). [%]."""
    hours, fittings = grid.hours, int(grid.fitting.max()) + 1
    size = {name: values[:, None] for name, values in sizes.items()}
    steps = np.sqrt(np.diff(hours, prepend=hours[0])) * generator.standard_normal((sessions, hours.size))
    level: FloatArray = (
        np.hypot(size["pull"], size["white"] * _WHITE_IN_LEVEL) * generator.standard_normal((sessions, hours.size))
        + (size["refit"] * generator.standard_normal((sessions, fittings)))[:, grid.fitting]
        + size["walk"] * np.cumsum(steps, axis=1)
        + size["drift"] * generator.standard_normal((sessions, 1)) * hours
    )
    return level


def _margin(target: Target, error: FloatArray, deviations: FloatArray, level: float) -> float:
    """Size from which on a session answers a target by itself. [%]."""
    widths = half_widths(deviations, level)
    return float((widths + np.abs(error)).max()) if target.ask is Ask.WITHIN else float(widths[0] - error[0])


def _tail(target: Target, error: FloatArray, deviations: FloatArray) -> float:
    """Probability of data as good as these if the claim were false. [1]."""
    room = target.percent - np.abs(error) if target.ask is Ask.WITHIN else target.percent + error
    beyond = (np.count_nonzero(np.abs(deviations) >= np.abs(room), axis=0) + 1) / (2.0 * (deviations.shape[0] + 1))
    return float(np.where(room >= 0.0, beyond, 1.0 - beyond).max())
