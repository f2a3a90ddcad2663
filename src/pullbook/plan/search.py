"""Search over orders: from a built start by annealing, at several lengths of a session, keeping all that pay."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import exp, inf, log
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.moves import changed_order, joined, neighbours, with_every_build

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.plan.costs import Order, Timetable
    from pullbook.plan.score import Score

__all__ = ["Found", "Front", "SearchLimits", "search_orders", "shortest_round"]

_HOT: Final = 0.25
_COLD: Final = 0.002
_BUDGETS: Final = 6
_ROUNDS: Final = 6
_GROWN: Final = 3  # starts that are let grow
_GROWTHS: Final = 60  # steps of the search for which one growth is allowed
_PARTS: Final = (0.4, 0.12, 0.12, 0.12, 0.12, 0.12)  # of all steps, the longest sessions first


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
        if new.worst == inf or any(one.seconds <= new.seconds and one.worst <= new.worst for one in self.found):
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


def _starts(shortest: Order, times: Timetable, seconds: float) -> list[Order]:
    """Orders to grow from that fit into a time: every build once, twice and so on, there and back, always back."""
    back = (*shortest, *shortest[-2::-1])
    first = shortest[:1]
    home = joined(tuple(fitting for one in shortest[1:] for fitting in (*first, one)) + first)
    found = [shortest, joined(shortest + first), joined(back), home]
    found += [joined(shortest * rounds) for rounds in range(2, _ROUNDS)]
    found += [joined((back[:-1] * rounds) + first) for rounds in range(2, _ROUNDS)]
    return [order for order in dict.fromkeys(found) if times.seconds(order) <= seconds]


def _length(times: Timetable, path: list[int]) -> float:
    return float(sum(times.between[one, other] for one, other in pairwise(path)))


def _grow(score: Score, front: Front, start: Order, limits: SearchLimits) -> None:
    """Let an order grow, each time by what helps most for its time, and keep all that it was on the way."""
    now = _judged(score, start)
    front.add(now)
    builds = score.question.contrasts.shape[1]
    for _ in range(limits.steps // _GROWTHS):
        best, gain = now, 0.0
        for order in sorted({joined(one) for one in _grown(now.order, builds)}):
            spent = score.times.seconds(order)
            if now.seconds < spent <= limits.seconds:
                new = _judged(score, order)
                rate = _better(now.worst, new.worst) / (spent - now.seconds)
                if rate > gain:
                    best, gain = new, rate
        if best is now:
            return
        front.add(best)
        now = best


def _better(before: float, after: float) -> float:
    """How much better a score is, on a scale of ratios."""
    if after == inf:
        return 0.0
    return inf if before == inf else log(before) - log(after)


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
    before = 0
    starts = [_judged(score, one) for one in _starts(shortest, score.times, limits.seconds)]
    for start in sorted(starts, key=lambda one: (one.worst, one.seconds))[:_GROWN]:
        _grow(score, front, start.order, limits)
    for seconds, part in zip(sorted(lengths.tolist(), reverse=True), _PARTS, strict=True):
        known = front.within(seconds)
        begin = known.order if known is not None else shortest
        run = _Run(seconds=seconds, steps=int(part * limits.steps), before=before, total=limits.steps)
        _anneal(score, front, begin, run, generator, step)
        _descend(score, front, run, step)
        before += run.steps
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


def _descend(score: Score, front: Front, run: _Run, step: Callable[[int, int], None]) -> None:
    """Take the best of all small changes of the best order that fits into a time, until none is better."""
    now = front.within(run.seconds)
    count = score.question.contrasts.shape[1]
    looked = 0
    while now is not None and looked < run.steps:
        step(run.before + run.steps, run.total)
        best = now
        for order in set(neighbours(now.order, count)):
            if score.times.seconds(order) > run.seconds:
                continue
            looked += 1
            new = _judged(score, order)
            front.add(new)
            if (new.worst, new.order) < (best.worst, best.order):
                best = new
        if best.worst >= now.worst:
            return
        now = best
