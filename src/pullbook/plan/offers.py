"""From the orders that pay to three offers: the cheapest that can answer, the surest in the time, one in between."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from pullbook.plan.odds import drawn_odds

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.costs import Order
    from pullbook.plan.front import Found
    from pullbook.plan.odds import DrawnOdds, Judge
    from pullbook.plan.score import Question, Score
    from pullbook.records.plan import Target

__all__ = ["MARGIN", "Evaluation", "choose"]

_ALIKE_ODDS: Final = 0.015
_ALIKE_TIME: Final = 0.08
_STEP: Final = 0.02
MARGIN: Final = 0.02
"""By which odds have to pass: the first of many that passes has often been lucky. [1]"""
_FINAL: Final = 3  # times as many sessions for the offers as for looking about


class Evaluation:
    """Odds of orders, each drawn once: from few sessions for looking about, from more for what is offered.

    Parameters
    ----------
    score : Score
        Times, targets and scatter. [%]
    targets : sequence of Target
        All that is told of an order; those of the score, which have to be answered, come first. [%]
    question : Question
        The same as arrays. [%]
    judge : Judge
        The comparison. [%]
    tick : callable
        Is told that one more order is drawn; may end the work by raising.
    """

    def __init__(
        self, score: Score, targets: Sequence[Target], question: Question, judge: Judge, tick: Callable[[], None]
    ) -> None:
        self._score, self._targets, self._question, self._tick = score, targets, question, tick
        self._wanted = score.question.sizes.size
        self._quick = judge
        self._final = replace(judge, sessions=_FINAL * judge.sessions, seed=judge.seed + 1)
        self._known: dict[tuple[Order, bool], DrawnOdds] = {}

    def drawn(self, order: Order, *, final: bool = False) -> DrawnOdds:
        """Odds of an order.

        Parameters
        ----------
        order : Order
            The order.
        final : bool
            It may be offered: more sessions, and all that is told.
        """
        if (order, final) not in self._known:
            self._tick()
            self._known[order, final] = drawn_odds(
                order,
                self._score.times,
                self._targets if final else self._targets[: self._wanted],
                self._question if final else self._score.question,
                self._score.belief,
                self._final if final else self._quick,
            )
        return self._known[order, final]

    def worst(self, order: Order, *, final: bool = False) -> float:
        """Odds of the target that is hardest to answer. [1].

        Parameters
        ----------
        order : Order
            The order.
        final : bool
            As for `drawn`.
        """
        return float(self.drawn(order, final=final).odds[: self._wanted].min())


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
    found = _spaced(found)
    last, enough = len(found) - 1, aim + MARGIN
    surest = _first(found, evaluation, evaluation.worst(found[last].order) - _ALIKE_ODDS, last)
    while surest < last and evaluation.worst(found[surest].order, final=True) < enough:
        surest = (surest + last + 1) // 2
    if evaluation.worst(found[surest].order, final=True) < enough:
        return (("surest", found[surest]),)
    cheapest = _first(found, evaluation, enough, surest)
    while cheapest < surest and evaluation.worst(found[cheapest].order, final=True) < enough:
        cheapest += max(1, (surest - cheapest) // 8)
    low, high = (evaluation.worst(found[n].order, final=True) for n in (cheapest, surest))
    alike = found[surest].seconds < (1.0 + _ALIKE_TIME) * found[cheapest].seconds or high - low < _ALIKE_ODDS
    if cheapest == surest or alike:
        return (("cheapest and surest", found[cheapest]),)
    middle = _first(found, evaluation, low + 0.6 * (high - low), surest)
    between = evaluation.worst(found[middle].order, final=True)
    apart = (
        (1.0 + _ALIKE_TIME) * found[cheapest].seconds
        < found[middle].seconds
        < found[surest].seconds / (1.0 + _ALIKE_TIME)
    )
    if apart and low + _ALIKE_ODDS < between < high - 0.5 * _ALIKE_ODDS:
        return (("cheapest", found[cheapest]), ("in between", found[middle]), ("surest", found[surest]))
    return (("cheapest", found[cheapest]), ("surest", found[surest]))


def _spaced(found: Sequence[Found]) -> list[Found]:
    """Orders that differ in time by more than a little, the best of each neighbourhood; the last one is among them."""
    kept: list[Found] = []
    for one in reversed(found):
        if not kept or one.seconds < (1.0 - _STEP) * kept[-1].seconds:
            kept.append(one)
    return kept[::-1]


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
