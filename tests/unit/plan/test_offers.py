"""Which orders are offered, from odds that are made up."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import pytest

from pullbook.plan.front import Found
from pullbook.plan.offers import Evaluation, choose

if TYPE_CHECKING:
    from pullbook.plan.costs import Order


class MadeUp:
    """Odds by the place of an order."""

    def __init__(self, odds: list[float]) -> None:
        self.odds = odds

    def worst(self, order: Order, *, final: bool = False) -> float:
        # What looked able from few sessions is a little less so from more.
        return self.odds[order[0][1]] - 0.01 * final


def chosen(odds: list[float], step: float = 60.0) -> list[tuple[str, float]]:
    found = [Found(order=((0, n),), seconds=100.0 + step * n, worst=1.0) for n in range(len(odds))]
    return [(name, one.seconds) for name, one in choose(found, cast("Evaluation", MadeUp(odds)), 0.8)]


def test_the_cheapest_that_can_answer_the_surest_and_one_in_between() -> None:
    names = chosen([0.1, 0.5, 0.84, 0.87, 0.9, 0.95, 0.97])
    assert [name for name, _ in names] == ["cheapest", "in between", "surest"]
    assert [seconds for _, seconds in names] == [220.0, 400.0, 460.0]


def test_orders_that_are_nearly_the_same_are_one_offer() -> None:
    assert chosen([0.1, 0.85, 0.851, 0.852]) == [("cheapest and surest", 160.0)]
    assert chosen([0.1, 0.84, 0.9], step=1.0) == [("cheapest and surest", 102.0)]


def test_where_none_can_answer_the_surest_is_told() -> None:
    assert chosen([0.1, 0.2, 0.4, 0.6]) == [("surest", 280.0)]


@pytest.mark.parametrize("odds", [[0.9], [0.3]])
def test_one_order_is_one_offer(odds: list[float]) -> None:
    assert len(chosen(odds)) == 1


def test_an_order_that_passes_by_a_hair_is_not_yet_the_cheapest() -> None:
    # 81.5 % drawn is 80 % and what luck adds to the first that passes; 2 points are a standard error of 300 sessions.
    assert chosen([0.1, 0.825, 0.84, 0.9])[0][1] == 220.0
