"""Where something comes true on the positive axis, by doubling and halving."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["first_beyond"]


def first_beyond(short: Callable[[float], bool], reach: float, halvings: int) -> float:
    """Positive place up to which something holds, and beyond which it does not.

    Parameters
    ----------
    short : callable
        Whether a place is short of the one that is looked for.
    reach : float
        Where to look first; doubled until it is not short. [any]
    halvings : int
        How often the last doubling is halved. [1]

    Returns
    -------
    float
        The place. [as `reach`]

    Examples
    --------
    >>> first_beyond(lambda place: place**2 < 49.0, 1.0, 60)
    7.0
    """
    low, high = 0.0, reach
    while short(high):
        low, high = high, 2.0 * high
    for _ in range(halvings):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if short(middle) else (low, middle)
    return 0.5 * (low + high)
