"""From the orders that pay to three offers: the cheapest that can answer, the surest in the time, one in between."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from pullbook.plan.odds import drawn_odds

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.costs import Order
    from pullbook.plan.odds import DrawnOdds, Judge
    from pullbook.plan.score import Question, Score
    from pullbook.plan.search import Found
    from pullbook.records.plan import Target

__all__ = ["Chosen", "Evaluation", "choose"]

_ALIKE_ODDS: Final = 0.015
_ALIKE_TIME: Final = 0.08
_FINAL: Final = 2  # times as many sessions for the offers as for looking about


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chosen:
    """An order that is offered.

    Attributes
    ----------
    name : str
        What it is.
    found : Found
        The order. [s]
    odds : DrawnOdds
        Its odds for all targets, those that are only told included. [1, %]
    """

    name: str
    found: Found
    odds: DrawnOdds


class Evaluation:
    """Odds of orders, each drawn once.

    Parameters
    ----------
    score : Score
        Times, targets and scatter. [%]
    targets : sequence of Target
        What has to be answered. [%]
    judge : Judge
        The comparison. [%]
    tick : callable
        Is told that one more order is drawn; may end the work by raising.
    """

    def __init__(self, score: Score, targets: Sequence[Target], judge: Judge, tick: Callable[[], None]) -> None:
        self._score, self._targets, self._judge, self._tick = score, targets, judge, tick
        self._known: dict[Order, DrawnOdds] = {}

    def odds(self, order: Order) -> DrawnOdds:
        """Odds of an order for looking about.

        Parameters
        ----------
        order : Order
            The order.
        """
        if order not in self._known:
            self._tick()
            self._known[order] = drawn_odds(
                order, self._score.times, self._targets, self._score.question, self._score.belief, self._judge
            )
        return self._known[order]

    def worst(self, order: Order) -> float:
        """Odds of the target that is hardest to answer. [1].

        Parameters
        ----------
        order : Order
            The order.
        """
        return float(self.odds(order).odds.min())

    def final(self, order: Order, targets: Sequence[Target], question: Question) -> DrawnOdds:
        """Odds of an order that is offered, from more sessions, for more targets.

        Parameters
        ----------
        order : Order
            The order.
        targets : sequence of Target
            All that is told. [%]
        question : Question
            The same as arrays. [%]
        """
        self._tick()
        judge = replace(self._judge, sessions=_FINAL * self._judge.sessions, seed=self._judge.seed + 1)
        return drawn_odds(order, self._score.times, targets, question, self._score.belief, judge)


def choose(found: Sequence[Found], evaluation: Evaluation, aim: float) -> tuple[tuple[str, Found], ...]:
    """Orders to offer, from the cheapest to the surest.

    Parameters
    ----------
    found : sequence of Found
        Orders that pay, by rising time. [s]
    evaluation : Evaluation
        Gives the odds. [1]
    aim : float
        Odds from which on an order counts as able to answer. [1]

    Returns
    -------
    tuple of (str, Found)
        Names and orders: one where none can answer or where cheapest and surest are the same, else two or three that
        differ in time and odds.
    """
    last = len(found) - 1
    best = evaluation.worst(found[last].order)
    surest = _first(found, evaluation, best - _ALIKE_ODDS, last)
    if best < aim:
        return (("surest", found[surest]),)
    cheapest = _first(found, evaluation, aim, surest)
    low, high = evaluation.worst(found[cheapest].order), evaluation.worst(found[surest].order)
    alike = found[surest].seconds < (1.0 + _ALIKE_TIME) * found[cheapest].seconds or high - low < _ALIKE_ODDS
    if cheapest == surest or alike:
        return (("cheapest and surest", found[cheapest]),)
    middle = _first(found, evaluation, low + 0.6 * (high - low), surest)
    between = evaluation.worst(found[middle].order)
    apart = (
        (1.0 + _ALIKE_TIME) * found[cheapest].seconds
        < found[middle].seconds
        < found[surest].seconds / (1.0 + _ALIKE_TIME)
    )
    if apart and low + _ALIKE_ODDS < between < high - 0.5 * _ALIKE_ODDS:
        return (("cheapest", found[cheapest]), ("in between", found[middle]), ("surest", found[surest]))
    return (("cheapest", found[cheapest]), ("surest", found[surest]))


def _first(found: Sequence[Found], evaluation: Evaluation, odds: float, last: int) -> int:
    """First order with at least these odds, by halving; the last one has them."""
    low, high = 0, last
    while low < high:
        middle = (low + high) // 2
        if evaluation.worst(found[middle].order) >= odds:
            high = middle
        else:
            low = middle + 1
    return high
