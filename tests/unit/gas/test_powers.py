"""Powers of numbers near one against the library's."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.gas.powers import power_near_one


@given(st.floats(-0.1, 0.1), st.floats(-1.0, 12.0))
def test_within_a_tenth_it_is_the_power_to_eleven_digits(more: float, exponent: float) -> None:
    assert power_near_one(more, exponent) == pytest.approx(math.pow(1.0 + more, exponent), rel=1e-11)


@given(st.floats(-0.9, 5.0), st.floats(-1.0, 12.0))
def test_everywhere_it_is_the_power_as_closely_as_it_says(more: float, exponent: float) -> None:
    close = 2e-10 if exponent <= 5.0 else 2e-9
    assert power_near_one(more, exponent) == pytest.approx(math.pow(1.0 + more, exponent), rel=close)


def test_it_does_not_jump_where_the_series_ends() -> None:
    for end in (-0.15, 0.15):
        inside, outside = power_near_one(end * (1.0 - 1e-12), 0.7), power_near_one(end * (1.0 + 1e-12), 0.7)
        assert inside == pytest.approx(outside, rel=2e-10)
