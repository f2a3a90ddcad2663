"""One length of a session: copies of a search at several heats that change places, and small changes at the end."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, log
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.moves import changed_order, filled, neighbours, with_every_build

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.costs import Order
    from pullbook.plan.front import Judged

__all__ = ["COPIES", "Tempering"]

COPIES: Final = 12
"""Copies that run side by side."""
_COLD: Final = 0.002  # on the scale of the logarithm of a score
_HOT: Final = 0.25
_FILLED: Final = 0.7  # of all steps; the others keep their pulls, so that a session may stay shorter
_AT_ONCE: Final = 64
_AT_RANDOM: Final = 4  # times so many, before all changes are tried
_BETTER: Final = 1.0 - 1e-9  # less than that is rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tempering:
    """Search at one length of a session.

    Attributes
    ----------
    judged : Judged
        Gives the scores, and keeps what pays.
    seconds : float
        Time that a session may take. [s]
    generator : numpy.random.Generator
        Source of randomness.
    """

    judged: Judged
    seconds: float
    generator: np.random.Generator

    def copies(self, starts: Sequence[Order], turns: int, tick: Callable[[int], None]) -> list[Order]:
        """Let copies run side by side, from cold ones that take what is better to hot ones that take nearly all.

        Neighbours change places by chance, so that what a hot copy comes across is worked out by a cold one.

        Parameters
        ----------
        starts : sequence of Order
            At least one that fits, with one pull more than builds when it is filled.
        turns : int
            Steps of each copy. [1]
        tick : callable
            Is told how many turns were made; may end the work by raising.

        Returns
        -------
        list of Order
            Where the copies stand at the end, no two with the same fittings, the best first.
        """
        heats = np.geomspace(_COLD, _HOT, COPIES).tolist()
        fitting = [order for start in starts if (order := self._full(start)) is not None]
        now = [fitting[copy % len(fitting)] for copy in range(COPIES)]
        worst = self.judged.of(now)
        for turn in range(turns):
            tick(turn)
            tried = [self._tried(order) for order in now]
            for copy, (order, new) in enumerate(zip(tried, self.judged.of(tried), strict=True)):
                if self._takes(log(worst[copy]) - log(new) if new < inf else -inf, heats[copy]):
                    now[copy], worst[copy] = order, new
            for cold in range(turn % 2, COPIES - 1, 2):
                gain = (log(worst[cold]) - log(worst[cold + 1])) * (1.0 / heats[cold] - 1.0 / heats[cold + 1])
                if self._takes(gain, 1.0):
                    now[cold], now[cold + 1] = now[cold + 1], now[cold]
                    worst[cold], worst[cold + 1] = worst[cold + 1], worst[cold]
        known = self.judged.front.within(self.seconds)
        best = [] if known is None else [known.order]
        ends = [*best, *(order for _, order in sorted(zip(worst, now, strict=True)))]
        return list({tuple(build for build, _ in order): order for order in reversed(ends)}.values())[::-1]

    def finish(self, start: Order, most: int, tick: Callable[[], None]) -> None:
        """Take the first better one of all small changes, until none is better.

        Parameters
        ----------
        start : Order
            One that fits.
        most : int
            Orders that may be looked at. [1]
        tick : callable
            Is called now and then; may end the work by raising.
        """
        now, until = start, self.judged.count + most
        while self.judged.count < until:
            tick()
            better = self._better(now)
            if better is None:
                return
            now = better

    def _better(self, order: Order) -> Order | None:
        """A better order near another one; None where there is none.

        Most of the time a few steps at random find one, long before all changes of a long order are even written down.
        """
        for _ in range(_AT_RANDOM):
            if (best := self._best([self._tried(order) for _ in range(_AT_ONCE)], order)) is not None:
                return best
        near = sorted(set(neighbours(order, self.judged.builds)))
        self.generator.shuffle(near)
        for at in range(0, len(near), _AT_ONCE):
            tried = [full for one in near[at : at + _AT_ONCE] if (full := self._full(one)) is not None]
            if (best := self._best(tried, order)) is not None:
                return best
        return None

    def _best(self, tried: Sequence[Order], than: Order) -> Order | None:
        """Best of some orders, if it is better than another one."""
        (worst,) = self.judged.of([than])
        new, best = min(zip(self.judged.of(tried), tried, strict=True), default=(inf, than))
        return best if new < _BETTER * worst else None

    def _takes(self, gain: float, heat: float) -> bool:
        return gain >= 0.0 or self.generator.random() < exp(gain / heat)

    def _tried(self, order: Order) -> Order:
        """An order near another one that fits; the same where none was found."""
        new = changed_order(order, self.judged.builds, self.generator)
        if not with_every_build(new, self.judged.builds):
            return order
        if self.generator.random() < _FILLED or self.judged.score.times.seconds(new) > self.seconds:
            return self._full(new) or order
        return new

    def _full(self, order: Order) -> Order | None:
        return filled(order, self.judged.score.times, self.seconds, self.generator)
