"""Orders from which a search begins: short rounds, there and back, and what grows from them."""

from __future__ import annotations

from itertools import pairwise
from math import inf, log
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.moves import joined

if TYPE_CHECKING:
    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.front import Judged

__all__ = ["grow", "shortest_round", "starts_of"]

_ROUNDS: Final = 6


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


def starts_of(times: Timetable, seconds: float) -> list[Order]:
    """Orders that fit into a time: every build once, twice and so on, there and back, always back.

    Parameters
    ----------
    times : Timetable
        Time of every change and pull. [s]
    seconds : float
        The time. [s]

    Returns
    -------
    list of Order
        None twice.
    """
    shortest = shortest_round(times)
    back = (*shortest, *shortest[-2::-1])
    first = shortest[:1]
    home = joined(tuple(fitting for one in shortest[1:] for fitting in (*first, one)) + first)
    found = [shortest, joined(shortest + first), joined(back), home]
    found += [joined(shortest * rounds) for rounds in range(2, _ROUNDS)]
    found += [joined((back[:-1] * rounds) + first) for rounds in range(2, _ROUNDS)]
    return [order for order in dict.fromkeys(found) if times.seconds(order) <= seconds]


def grow(judged: Judged, start: Order, seconds: float, growths: int) -> None:
    """Let an order grow, each time by what helps most for its time; what pays on the way is kept.

    Parameters
    ----------
    judged : Judged
        Gives the scores, and keeps what pays.
    start : Order
        Where to start.
    seconds : float
        Time that a session may take. [s]
    growths : int
        How often it may grow. [1]
    """
    times, now = judged.score.times, start
    (worst,) = judged.of([start])
    for _ in range(growths):
        spent = times.seconds(now)
        longer = [order for order in sorted(set(_grown(now, judged.builds))) if spent < times.seconds(order) <= seconds]
        rates = [
            _better(worst, new) / (times.seconds(order) - spent)
            for order, new in zip(longer, judged.of(longer), strict=True)
        ]
        if max(rates, default=0.0) <= 0.0:
            return
        now = longer[int(np.argmax(rates))]
        (worst,) = judged.of([now])


def _better(before: float, after: float) -> float:
    """How much better a score is, on a scale of ratios."""
    if after == inf:
        return 0.0
    return inf if before == inf else log(before) - log(after)


def _grown(order: Order, builds: int) -> list[Order]:
    ends = [(*order, (build, pulls)) for build in range(builds) for pulls in (1, 2)]
    more = [(*order[:at], (build, pulls + 1), *order[at + 1 :]) for at, (build, pulls) in enumerate(order)]
    return [joined(one) for one in (*ends, *more)]
