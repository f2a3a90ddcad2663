"""Search over orders: from what grows by itself, at several lengths of a session, keeping all that pay."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.plan.front import Judged
from pullbook.plan.starts import grow, shortest_round, starts_of
from pullbook.plan.tempering import COPIES, Tempering

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.plan.front import Front
    from pullbook.plan.score import Score

__all__ = ["SearchLimits", "search_orders"]

_SHORTEST: Final = 6.0  # part of the longest session that the shortest one lasts
_PARTS: Final = (0.5, 0.1, 0.1, 0.1, 0.1, 0.1)  # of all steps, the longest sessions first
_ENDS: Final = (4, 1, 1, 1, 1, 1)  # copies that are brought to their end
_GROWN: Final = 2  # starts that are let grow
_GROWTHS: Final = 60  # steps of the search for which one growth is allowed


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
    """

    seconds: float
    steps: int
    seed: int = 5


def search_orders(score: Score, limits: SearchLimits, step: Callable[[int, int], None]) -> Front:
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

    Returns
    -------
    Front
        Empty where not even one pull each and one repeat fit into the time.

    References
    ----------
    1. S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220, 1983 (from
       memory).
    2. D. J. Earl, M. W. Deem, "Parallel tempering: theory, applications, and new perspectives", Physical Chemistry
       Chemical Physics 7, 2005 (from memory).
    3. R. D. Meyer, C. J. Nachtsheim, "The coordinate-exchange algorithm for constructing exact optimal experimental
       designs", Technometrics 37, 1995 (from memory).
    """
    judged = Judged(score)
    at_least = score.times.seconds(shortest_round(score.times)) + score.times.pull
    if at_least > limits.seconds:
        return judged.front
    starts = starts_of(score.times, limits.seconds)
    starts = [order for _, order in sorted(zip(judged.of(starts), starts, strict=True))]
    for start in starts[:_GROWN]:
        grow(judged, start, limits.seconds, limits.steps // _GROWTHS)
    generator = np.random.default_rng(limits.seed)
    lengths = np.geomspace(limits.seconds, max(at_least * 1.02, limits.seconds / _SHORTEST), len(_PARTS))
    before = 0
    for seconds, part, ends in zip(lengths.tolist(), _PARTS, _ENDS, strict=True):
        one = Tempering(judged=judged, seconds=seconds, generator=generator)
        known = judged.front.within(seconds)
        begin = [*([] if known is None else [known.order]), *starts]
        turns = max(int(part * limits.steps) // COPIES, 1)

        def told(turn: int = 0, before: int = before) -> None:
            step(min(before + turn * COPIES, limits.steps), limits.steps)

        copies = one.copies(begin, turns, told)
        before += turns * COPIES
        for order in copies[:ends]:
            one.finish(order, int(part * limits.steps), told)
    return judged.front
