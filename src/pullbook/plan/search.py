"""Search over orders: from what grows by itself, at several lengths of a session, keeping all that pay."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.front import Judged
from pullbook.plan.starts import grow, shortest_round, starts_of
from pullbook.plan.tempering import COPIES, Tempering

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pullbook.plan.costs import Order
    from pullbook.plan.front import Found, Front
    from pullbook.plan.score import Score

__all__ = ["OrderSearch", "SearchLimits", "first_enough"]

_SHORTEST: Final = 6.0  # part of the longest session that the shortest one lasts
_PARTS: Final = (0.5, 0.1, 0.1, 0.1, 0.1, 0.1)  # of all steps, the longest sessions first
_ENDS: Final = (4, 1, 1, 1, 1, 1)  # copies that are brought to their end
_GROWN: Final = 2  # starts that are let grow
_GROWTHS: Final = 60  # steps of the search for which one growth is allowed
_CLOSE: Final = 1.06  # lengths of sessions that need not be told apart
_NEARER: Final = 4  # further lengths between what is too short and what is enough


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchLimits:
    """How long a session may be, and how long the search.

    Attributes
    ----------
    seconds : float
        Time that a session may take. [s]
    steps : int
        Steps at random; as many orders again may be looked at to bring each copy to its end. [1]
    seed : int
        Of the random steps.
    shortest : float
        Time from which on orders are looked for; 0 for a sixth of the longest. [s]
    """

    seconds: float
    steps: int
    seed: int = 5
    shortest: float = 0.0


class OrderSearch:
    """Orders that pay, from the shortest to the one that does most in the time.

    At each of several lengths of the session copies of the search run side by side at several heats [1], [2]; where the
    best of them stand, every small change is tried [3]. The same seed finds the same orders.

    Parameters
    ----------
    score : Score
        How orders are judged. [%]
    limits : SearchLimits
        Length of the session and of the search. [s]
    step : callable
        Is told how many steps were made, and of how many; may end the search by raising.

    References
    ----------
    1. S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220, 1983 (from
       memory).
    2. D. J. Earl, M. W. Deem, "Parallel tempering: theory, applications, and new perspectives", Physical Chemistry
       Chemical Physics 7, 2005 (from memory).
    3. R. D. Meyer, C. J. Nachtsheim, "The coordinate-exchange algorithm for constructing exact optimal experimental
       designs", Technometrics 37, 1995 (from memory).
    """

    def __init__(self, score: Score, limits: SearchLimits, step: Callable[[int, int], None]) -> None:
        self._judged = Judged(score)
        self._limits, self._step = limits, step
        self._generator = np.random.default_rng(limits.seed)
        self._least = score.times.seconds(shortest_round(score.times)) + score.times.pull
        self._done = 0
        starts = starts_of(score.times, limits.seconds) if self._least <= limits.seconds else []
        self._starts: list[Order] = [order for _, order in sorted(zip(self._judged.of(starts), starts, strict=True))]

    @property
    def front(self) -> Front:
        """What pays, of all that was looked at; empty where not even one pull each and one repeat fit into the time."""
        return self._judged.front

    def run(self) -> Front:
        """Look at all lengths.

        Returns
        -------
        Front
            As `front`.
        """
        limits = self._limits
        if self._least > limits.seconds:
            return self.front
        for start in self._starts[:_GROWN]:
            grow(self._judged, start, limits.seconds, limits.steps // _GROWTHS)
        shortest = max(self._least * 1.02, limits.shortest or limits.seconds / _SHORTEST)
        lengths = np.geomspace(limits.seconds, min(shortest, limits.seconds), len(_PARTS)).tolist()
        for seconds, part, ends in zip(lengths, _PARTS, _ENDS, strict=True):
            self._at(seconds, int(part * limits.steps), ends)
        return self.front

    def shortest_enough(self, enough: Callable[[Order], bool]) -> Found | None:
        """Shortest order that is enough, as far as can be told.

        Between the longest that is too short and the shortest that is enough further lengths are looked at.

        Parameters
        ----------
        enough : callable of Order to bool
            Whether an order is; of two orders that pay, the longer one is where the shorter one is.

        Returns
        -------
        Found or None
            None where not even the longest is enough.
        """
        now = first_enough(self.front.found, enough)
        if now is None:
            return None
        low = max(now.seconds / 2.0, self._least)
        for _ in range(_NEARER):
            middle = sqrt(low * now.seconds)
            if now.seconds < _CLOSE * low:
                break
            self._at(middle, int(_PARTS[-1] * self._limits.steps), _ENDS[-1])
            shorter = first_enough([one for one in self.front.found if one.seconds <= middle], enough)
            low, now = (middle, now) if shorter is None else (low, shorter)
        return now

    def _at(self, seconds: float, steps: int, ends: int) -> None:
        """Look at one length of the session."""
        one = Tempering(judged=self._judged, seconds=seconds, generator=self._generator)
        known = self.front.within(seconds)
        begin = [*([] if known is None else [known.order]), *self._starts]
        turns = max(steps // COPIES, 1)

        def told(turn: int = 0) -> None:
            self._step(min(self._done + turn * COPIES, self._limits.steps), self._limits.steps)

        copies = one.copies(begin, turns, told)
        self._done += turns * COPIES
        for order in copies[:ends]:
            one.finish(order, steps, told)


def first_enough(found: Sequence[Found], enough: Callable[[Order], bool]) -> Found | None:
    """Shortest of some orders that is enough, by halving.

    Parameters
    ----------
    found : sequence of Found
        By rising time. [s]
    enough : callable of Order to bool
        Whether an order is.

    Returns
    -------
    Found or None
        None where not even the longest is.
    """
    if not found or not enough(found[-1].order):
        return None
    low, high = 0, len(found) - 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(found[middle].order) else (middle + 1, high)
    return found[high]
