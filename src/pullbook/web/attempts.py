"""How often a password may be tried, by one address and by all of them."""

from __future__ import annotations

import math
import time
from collections import OrderedDict, deque
from typing import TYPE_CHECKING, Final

from pullbook.web.addresses import site_of

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Attempts"]

_SPAN: Final = 60.0  # s
_MOST_OF_ONE: Final = 5
_MOST_OF_ALL: Final = 30
_REMEMBERED: Final = 4_096  # addresses


class Attempts:
    """Failed attempts of the last minute.

    The bound for all stops a crowd of addresses that guess together. It does not hold for an address that has been let
    in before, or the crowd could lock out those who belong here.

    Parameters
    ----------
    of_one : int
        Attempts of one address in a span.
    of_all : int
        Attempts of all addresses in a span.
    span : float
        The span. [s]
    clock : callable
        Seconds since any moment.
    """

    def __init__(
        self,
        *,
        of_one: int = _MOST_OF_ONE,
        of_all: int = _MOST_OF_ALL,
        span: float = _SPAN,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._of_one = of_one
        self._of_all = of_all
        self._span = span
        self._clock = clock
        self._by_site: OrderedDict[str, deque[float]] = OrderedDict()
        self._all: deque[float] = deque(maxlen=of_all)
        self._let_in: OrderedDict[str, None] = OrderedDict()

    def wait(self, address: str) -> int:
        """How long an address has to wait before its next attempt; 0 where it need not. [s]."""
        site, now = site_of(address), self._clock()
        waits = [self._left(self._by_site.get(site), self._of_one, now)]
        if site not in self._let_in:
            waits.append(self._left(self._all, self._of_all, now))
        return math.ceil(max(waits))

    def count(self, address: str) -> None:
        """Count an attempt; it is counted before the password is looked at, so that many at a time gain nothing."""
        site, now = site_of(address), self._clock()
        self._by_site.setdefault(site, deque(maxlen=self._of_one)).append(now)
        self._by_site.move_to_end(site)
        self._all.append(now)
        while len(self._by_site) > _REMEMBERED:
            self._by_site.popitem(last=False)

    def let_in(self, address: str) -> None:
        """Forget the attempts of an address that knew the password."""
        site = site_of(address)
        for when in self._by_site.pop(site, ()):
            if when in self._all:
                self._all.remove(when)
        self._let_in[site] = None
        while len(self._let_in) > _REMEMBERED:
            self._let_in.popitem(last=False)

    def _left(self, attempts: deque[float] | None, most: int, now: float) -> float:
        if attempts is None or len(attempts) < most:
            return 0.0
        return max(0.0, attempts[0] + self._span - now)
