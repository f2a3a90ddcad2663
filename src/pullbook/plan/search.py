"""Search over orders: from a built start by annealing, at several lengths of a session, keeping all that pay."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import exp, inf, log
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.moves import changed_order, joined, with_every_build

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.score import Score

__all__ = ["Found", "Front", "SearchLimits", "greedy_order", "search_orders", "shortest_round"]

_HOT: Final = 0.08
_COLD: Final = 0.002
_BUDGETS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """An order with what it costs and how well it does.

    Attributes
    ----------
    order : Order
        The fittings.
    seconds : float
        What it takes. [s]
    worst : float
        Its score; smaller is better. [1]
    """

    order: Order
    seconds: float
    worst: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchLimits:
    """How long a session may be, and how long the search.

    Attributes
    ----------
    seconds : float
        Time that a session may take. [s]
    steps : int
        Orders that are looked at. [1]
    seed : int
        Of the random steps.
    """

    seconds: float
    steps: int
    seed: int = 5


@dataclass(slots=True)
class Front:
    """Orders none of which is both longer and worse than another.

    Attributes
    ----------
    found : list of Found
        By rising time and falling score.
    """

    found: list[Found] = field(default_factory=list["Found"])

    def add(self, new: Found) -> None:
        """Keep an order if it pays, and drop those that it makes useless.

        Parameters
        ----------
        new : Found
            The order.
        """
        for one in self.found:
            if one.seconds > new.seconds:
                break
            if one.worst <= new.worst:
                return
        kept = [one for one in self.found if one.seconds < new.seconds or one.worst < new.worst]
        self.found = sorted((*kept, new), key=lambda one: one.seconds)

    def within(self, seconds: float) -> Found | None:
        """Best order that fits into a time; None where none does.

        Parameters
        ----------
        seconds : float
            The time. [s]
        """
        return next((one for one in reversed(self.found) if one.seconds <= seconds), None)


def shortest_round(times: Timetable, first: int = 0) -> Order:
    """Every build once, in an order of short changes.

    Each build goes where it lengthens the session least, the farthest first; then stretches are turned round while that
    shortens it.

    Parameters
    ----------
    times : Timetable
        Time of every change. [s]
    first : int
        Build that the session starts with.

    Returns
    -------
    Order
        With one pull each.
    """
    between = times.between
    path = [first]
    left = sorted((n for n in range(len(between)) if n != first), key=lambda n: -float(between[first, n]))
    for build in left:
        costs = [_length(times, [*path[:at], build, *path[at:]]) for at in range(1, len(path) + 1)]
        path.insert(1 + int(np.argmin(costs)), build)
    for one in range(1, len(path)):
        for other in range(one + 2, len(path) + 1):
            turned = [*path[:one], *reversed(path[one:other]), *path[other:]]
            if _length(times, turned) < _length(times, path):
                path = turned
    return tuple((build, 1) for build in path)


def _length(times: Timetable, path: list[int]) -> float:
    return float(sum(times.between[one, other] for one, other in pairwise(path)))


def greedy_order(score: Score, start: Order, seconds: float) -> Order:
    """Order that a start grows into, each time by what helps most for its time.

    Parameters
    ----------
    score : Score
        How orders are judged. [%]
    start : Order
        With every build in it.
    seconds : float
        Time that the session may take. [s]

    Returns
    -------
    Order
        Nothing more fits, or nothing helps.
    """
    order, now = start, score.worst(start)
    builds = score.question.contrasts.shape[1]
    while True:
        grown = {joined(one) for one in _grown(order, builds)}
        best, gain = order, 0.0
        for one in sorted(grown):
            spent = score.times.seconds(one)
            if spent > seconds or spent <= score.times.seconds(order):
                continue
            value = score.worst(one)
            better = inf if now == inf > value else (log(now) - log(value) if value < inf else 0.0)
            rate = better / (spent - score.times.seconds(order))
            if rate > gain:
                best, gain = one, rate
        if best == order:
            return order
        order, now = best, score.worst(best)


def _grown(order: Order, builds: int) -> list[Order]:
    ends = [(*order, (build, pulls)) for build in range(builds) for pulls in (1, 2)]
    more = [(*order[:at], (build, pulls + 1), *order[at + 1 :]) for at, (build, pulls) in enumerate(order)]
    return [*ends, *more]


def search_orders(score: Score, limits: SearchLimits, step: Callable[[int, int], None]) -> Front:
    """Orders that pay, from the shortest to the one that does most in the time.

    Simulated annealing at falling lengths of the session, each from the best of what is known. The same seed gives the
    same orders on every machine.

    Parameters
    ----------
    score : Score
        How orders are judged. [%]
    limits : SearchLimits
        Length of the session and of the search. [s]
    step : callable
        Is told how many orders were looked at, and of how many; may end the search by raising.

    Returns
    -------
    Front
        Empty where not even one pull each and one repeat fit into the time.

    References
    ----------
    1. S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220, 1983 (from
       memory).
    2. R. D. Meyer, C. J. Nachtsheim, "The coordinate-exchange algorithm for constructing exact optimal experimental
       designs", Technometrics 37, 1995 (from memory).
    """
    front = Front()
    shortest = shortest_round(score.times)
    at_least = score.times.seconds(shortest) + score.times.pull
    if at_least > limits.seconds:
        return front
    generator = np.random.default_rng(limits.seed)
    lengths = np.geomspace(limits.seconds, max(at_least * 1.02, limits.seconds / 6.0), _BUDGETS)
    each = max(limits.steps // _BUDGETS, 1)
    for number, seconds in enumerate(sorted(lengths.tolist(), reverse=True)):
        start = greedy_order(score, shortest, seconds)
        front.add(_judged(score, start))
        known = front.within(seconds)
        begin = known.order if known is not None else start
        _anneal(score, front, begin, _Run(seconds=seconds, steps=each, before=number * each, total=limits.steps),
                generator, step)  # fmt: skip
    return front


def _judged(score: Score, order: Order) -> Found:
    return Found(order=order, seconds=score.times.seconds(order), worst=score.worst(order))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    seconds: float
    steps: int
    before: int
    total: int


def _anneal(
    score: Score, front: Front, start: Order, run: _Run, generator: np.random.Generator,
    step: Callable[[int, int], None],
) -> None:  # fmt: skip
    now = _judged(score, start)
    count = score.question.contrasts.shape[1]
    for number in range(run.steps):
        if number % 64 == 0:
            step(run.before + number, run.total)
        order = changed_order(now.order, count, generator)
        if order == now.order or not with_every_build(order, count):
            continue
        if score.times.seconds(order) > run.seconds:
            continue
        new = _judged(score, order)
        if new.worst == inf:
            continue
        front.add(new)
        heat = _HOT * (_COLD / _HOT) ** (number / run.steps)
        if new.worst <= now.worst or generator.random() < exp((log(now.worst) - log(new.worst)) / heat):
            now = new
