"""What an order cannot tell apart is said in words, and only where it is so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plan_cases import BELIEF, factorial, order_of, plain_builds

from pullbook.plan.confounding import confounded, fitting_floor, over_nights


def test_a_part_that_is_never_changed_back_cannot_be_told_from_the_drift() -> None:
    says = confounded(order_of("AAABBB"), factorial(2), BELIEF)
    assert says[0] == (
        "With this order cam and the drift of the day cannot be told apart: cam is never changed back, and a drift of "
        "0.4 % an hour is assumed."
    )
    # (1.960 + 0.842) * sqrt(2) * 0.25 %, quantiles of the normal distribution from tables.
    assert says[1].endswith("with 0.25 % for a re-fitting, nothing below 0.99 % is seen however many pulls are made.")


def test_going_back_frees_the_part_but_not_the_one_that_was_fitted_once() -> None:
    builds = factorial(2, 2)  # B0 and B1 differ in the runners, B2 and B3 have the other cam
    says = confounded(((0, 2), (1, 2), (0, 2), (2, 2), (3, 2)), builds, BELIEF)
    assert any("cam and the drift" in one for one in says)
    assert not any("runners and the drift" in one for one in says)
    assert says[-1].startswith("B1, B2 and B3 are each put together once")


def test_an_order_that_repeats_every_build_has_nothing_to_confess() -> None:
    assert confounded(order_of("AABBAABB"), plain_builds(2), BELIEF) == ()


@pytest.mark.parametrize(
    ("order", "refit", "published"),
    # Statistics note, section 8, row "infinitely many pulls, one bolt-up each", made with t quantiles of 16 degrees of
    # freedom, 2.120 + 0.865; the normal ones are 1.960 + 0.842.
    [("AB", 0.15, 0.63), ("AB", 0.25, 1.06), ("AB", 0.40, 1.69)],
)
def test_the_floor_is_that_of_the_planning_table(order: str, refit: float, published: float) -> None:
    floor = fitting_floor(order_of(order), {0: -1.0, 1: 1.0}, replace(BELIEF, refit=refit))
    assert floor * (2.120 + 0.865) / (1.960 + 0.842) == pytest.approx(published, abs=0.006)


def test_more_fittings_lower_the_floor() -> None:
    one, two = (fitting_floor(order_of(order), {0: -1.0, 1: 1.0}, BELIEF) for order in ("AB", "ABAB"))
    assert two == pytest.approx(one / 2.0**0.5)


def test_nights_are_told_and_a_day_is_not() -> None:
    assert over_nights(28_800.0, 28_800.0) == ()
    assert over_nights(28_860.0, 28_800.0)[0].startswith("It takes two days of 8 h")
