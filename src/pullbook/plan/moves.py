"""Small changes of an order, from which a search finds its way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np

    from pullbook.plan.costs import Order, Timetable

__all__ = ["MOST_PULLS", "changed_order", "filled", "joined", "neighbours", "with_every_build"]

_CHANGES_AT_ONCE: Final = (1, 1, 2, 2, 3)
MOST_PULLS: Final = 8
"""Most pulls on one fitting: more of them never tell what one more fitting tells."""


def joined(order: Order) -> Order:
    """Order in which neighbours of one build are one fitting, of no more than `MOST_PULLS` pulls.

    Parameters
    ----------
    order : Order
        Any.

    Returns
    -------
    Order
        Fittings without pulls are gone.

    Examples
    --------
    >>> joined(((0, 1), (1, 0), (0, 2), (1, 1)))
    ((0, 3), (1, 1))
    """
    kept: list[tuple[int, int]] = []
    for build, pulls in order:
        if pulls <= 0:
            continue
        if kept and kept[-1][0] == build:
            kept[-1] = (build, min(kept[-1][1] + pulls, MOST_PULLS))
        else:
            kept.append((build, min(pulls, MOST_PULLS)))
    return tuple(kept)


def with_every_build(order: Order, count: int) -> bool:
    """Whether every build is in an order.

    Parameters
    ----------
    order : Order
        Any.
    count : int
        Number of builds. [1]

    Returns
    -------
    bool
        It is.
    """
    return len({build for build, _ in order}) == count


def changed_order(order: Order, count: int, generator: np.random.Generator) -> Order:
    """An order with one to three small changes, drawn at random.

    One alone is seldom possible in a session that is full: what is to be put in needs something taken out.

    Parameters
    ----------
    order : Order
        Where to start.
    count : int
        Number of builds. [1]
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Order
        May lack a build, or be the same.
    """
    for _ in range(_CHANGES_AT_ONCE[int(generator.random() * len(_CHANGES_AT_ONCE))]):
        draw = generator.random(4)
        moved = joined(_MOVES[int(draw[0] * len(_MOVES))](order, count, draw[1:]))
        order = moved or order
    return order


def filled(order: Order, times: Timetable, seconds: float, generator: np.random.Generator) -> Order | None:
    """An order with as many pulls as fit into a time, on the same fittings.

    A fitting more costs the time of many pulls: in a session that is full it has no chance unless they are taken away
    in the same step, from fittings drawn at random. What is left over is filled with pulls in the same way.

    Parameters
    ----------
    order : Order
        Where to start.
    times : Timetable
        What changes and pulls take. [s]
    seconds : float
        The time. [s]
    generator : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    Order or None
        None where its fittings take too long with one pull each.
    """
    pulls = [made for _, made in order]
    room = int((seconds - times.seconds(order)) // times.pull)
    if sum(pulls) + room < len(pulls):
        return None
    step, end = (1, MOST_PULLS) if room > 0 else (-1, 1)
    for _ in range(abs(room)):
        open_ = [at for at, made in enumerate(pulls) if made != end]
        if not open_:
            break
        pulls[open_[int(generator.random() * len(open_))]] += step
    return tuple((build, made) for (build, _), made in zip(order, pulls, strict=True))


def neighbours(order: Order, count: int) -> Iterator[Order]:
    """All orders that are one small change away, each in its plain form.

    A fitting more or less, a pull more or less or on another fitting, all pulls spread evenly, a fitting carried
    elsewhere, a stretch turned round, another build.

    Parameters
    ----------
    order : Order
        Where to start.
    count : int
        Number of builds. [1]

    Yields
    ------
    Order
        With every build in it; some come more than once.
    """
    for one in _changes(order, count):
        plain = joined(one)
        if plain != order and with_every_build(plain, count):
            yield plain


def _changes(order: Order, count: int) -> Iterator[Order]:
    places = range(len(order))
    yield from _evened(order)
    for at in range(len(order) + 1):
        yield from ((*order[:at], (build, pulls), *order[at:]) for build in range(count) for pulls in (1, 2))
    for at, (build, pulls) in enumerate(order):
        yield (*order[:at], *order[at + 1 :])
        yield (*order[:at], (build, pulls + 1), *order[at + 1 :])
        yield (*order[:at], (build, pulls - 1), *order[at + 1 :])
        yield from ((*order[:at], (other, pulls), *order[at + 1 :]) for other in range(count))
        rest = (*order[:at], *order[at + 1 :])
        yield from ((*rest[:to], order[at], *rest[to:]) for to in places)
    for one in places:
        for other in places:
            counts = [pulls + (at == other) - (at == one) for at, (_, pulls) in enumerate(order)]
            yield tuple((build, pulls) for (build, _), pulls in zip(order, counts, strict=True))
            yield (*order[:one], *reversed(order[one : other + 1]), *order[other + 1 :])


def _evened(order: Order) -> Iterator[Order]:
    """The same fittings with the pulls spread over them, those left over on neighbours, at every place."""
    each, over = divmod(sum(pulls for _, pulls in order), len(order))
    for first in range(len(order)):
        extra = {(first + n) % len(order) for n in range(over)}
        yield tuple((build, each + (at in extra)) for at, (build, _) in enumerate(order))


def _fit_more(order: Order, count: int, draw: np.ndarray) -> Order:
    at, build, pulls = int(draw[0] * (len(order) + 1)), int(draw[1] * count), 1 + int(draw[2] * 3)
    return (*order[:at], (build, pulls), *order[at:])


def _take_out(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    at = int(draw[0] * len(order))
    return (*order[:at], *order[at + 1 :])


def _pull_more(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    at = int(draw[0] * len(order))
    return (*order[:at], (order[at][0], order[at][1] + 1), *order[at + 1 :])


def _pull_less(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    at = int(draw[0] * len(order))
    return (*order[:at], (order[at][0], order[at][1] - 1), *order[at + 1 :])


def _shift_pull(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    one, other = int(draw[0] * len(order)), int(draw[1] * len(order))
    counts = [pulls for _, pulls in order]
    counts[one] -= 1
    counts[other] += 1
    return tuple((build, pulls) for (build, _), pulls in zip(order, counts, strict=True))


def _swap(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    one, other = sorted((int(draw[0] * len(order)), int(draw[1] * len(order))))
    fittings = list(order)
    fittings[one], fittings[other] = fittings[other], fittings[one]
    return tuple(fittings)


def _turn(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    one, other = sorted((int(draw[0] * len(order)), int(draw[1] * (len(order) + 1))))
    return (*order[:one], *reversed(order[one:other]), *order[other:])


def _carry(order: Order, count: int, draw: np.ndarray) -> Order:
    del count
    one, to = int(draw[0] * len(order)), int(draw[1] * len(order))
    rest = [*order[:one], *order[one + 1 :]]
    rest.insert(to, order[one])
    return tuple(rest)


def _other_build(order: Order, count: int, draw: np.ndarray) -> Order:
    at, build = int(draw[0] * len(order)), int(draw[1] * count)
    return (*order[:at], (build, order[at][1]), *order[at + 1 :])


_MOVES: Final[tuple[Callable[[Order, int, np.ndarray], Order], ...]] = (
    _fit_more, _fit_more, _take_out, _pull_more, _pull_less, _shift_pull, _swap, _turn, _carry, _other_build,
)  # fmt: skip
