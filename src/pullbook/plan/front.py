"""Orders that pay: none of them is both longer and worse than another."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pullbook.plan.costs import Order
    from pullbook.plan.score import Score

__all__ = ["Found", "Front", "Judged"]


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


class Judged:
    """Scores of orders, each worked out once; those that pay are kept.

    Parameters
    ----------
    score : Score
        How orders are judged. [%]
    """

    def __init__(self, score: Score) -> None:
        self.score = score
        self.front = Front()
        self._known: dict[Order, float] = {}

    @property
    def count(self) -> int:
        """Orders that were judged. [1]."""
        return len(self._known)

    @property
    def builds(self) -> int:
        """Builds that every order has to hold. [1]."""
        count: int = self.score.question.contrasts.shape[1]
        return count

    def of(self, orders: Sequence[Order]) -> list[float]:
        """Score of every order.

        Parameters
        ----------
        orders : sequence of Order
            With every build in each.

        Returns
        -------
        list of float
            Smaller is better. [1]
        """
        self._judge(order for order in dict.fromkeys(orders) if order not in self._known)
        return [self._known[order] for order in orders]

    def _judge(self, orders: Iterable[Order]) -> None:
        if not (new := list(orders)):
            return
        for order, worst in zip(new, self.score.worst_of(new), strict=True):
            self._known[order] = worst
            self.front.add(Found(order=order, seconds=self.score.times.seconds(order), worst=worst))
