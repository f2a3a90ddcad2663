"""Crank and piston against plane geometry."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pytest

from pullbook.gas.crank import (
    CLEARANCE,
    PISTON_AREA,
    SWEPT,
    TOP_ANGLE,
    crank_arrangement,
    cylinder_volume,
    piston_travel,
    volume_slope,
)

OFFSETS: Final = (-2.0e-3, 0.0, 1.2e-3, 8.0e-3)


def pin_height(throw_angle: float, throw: float, rod: float, pin_x: float) -> float:
    """Height of the pin: the upper crossing of the rod's circle about the crank pin with the line x = pin_x."""
    x, y = throw * math.sin(throw_angle), throw * math.cos(throw_angle)
    return y + math.sqrt(rod**2 - (pin_x - x) ** 2)


def test_v8_of_four_inch_bore_displaces_what_the_trade_says() -> None:
    # Heywood 1988, eq. 2.20: 8 x 4.000 x 3.480 in = 349.848 in3 = 5.732978 L, plain geometry.
    arrangement = crank_arrangement(4.0 * 0.0254, 3.48 * 0.0254, 5.7 * 0.0254, 10.0)
    assert 8.0 * arrangement[SWEPT] == pytest.approx(5.732978e-3, rel=1e-6)
    assert 8.0 * arrangement[SWEPT] / 0.0254**3 == pytest.approx(349.848, rel=1e-6)


@pytest.mark.parametrize("ratio", [8.0, 10.5, 13.0])
def test_volume_at_bottom_over_volume_at_top_is_the_compression_ratio(ratio: float) -> None:
    arrangement = crank_arrangement(0.086, 0.086, 0.143, ratio)
    assert cylinder_volume(math.pi, arrangement) / cylinder_volume(0.0, arrangement) == pytest.approx(ratio, rel=1e-12)


def test_travel_at_ninety_degrees_is_that_of_the_right_angled_triangle() -> None:
    # Throw 3, rod 5: the pin stands at height 4, 4 below its top at 8.
    assert piston_travel(math.pi / 2.0, crank_arrangement(1.0, 6.0, 5.0, 10.0)) == pytest.approx(4.0, rel=1e-12)


@pytest.mark.parametrize("offset", OFFSETS)
def test_travel_is_that_of_rod_and_throw_drawn_with_compasses(offset: float) -> None:
    arrangement = crank_arrangement(0.086, 0.090, 0.140, 10.0, offset)
    throws = np.linspace(0.0, 2.0 * math.pi, 200_001)
    heights = np.array([pin_height(angle, 0.045, 0.140, -offset) for angle in throws[::200]])
    top = max(pin_height(angle, 0.045, 0.140, -offset) for angle in np.linspace(-0.2, 0.2, 40_001))
    travels = [piston_travel(float(angle - arrangement[TOP_ANGLE]), arrangement) for angle in throws[::200]]
    assert np.allclose(travels, top - heights, rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("offset", OFFSETS)
def test_angle_zero_is_the_highest_place_of_the_piston(offset: float) -> None:
    arrangement = crank_arrangement(0.086, 0.090, 0.140, 10.0, offset)
    around = [piston_travel(angle, arrangement) for angle in np.linspace(-math.pi, math.pi, 3601).tolist()]
    assert int(np.argmin(around)) == 1800
    assert cylinder_volume(0.0, arrangement) == pytest.approx(float(arrangement[CLEARANCE]), rel=1e-12)


def test_pin_towards_the_thrust_side_is_at_its_top_before_the_throw_is_and_goes_down_in_less_than_half_a_turn() -> None:
    # Throw and rod lie in one line at the top: the throw then leans to the pin's side, which it comes from.
    arrangement = crank_arrangement(0.086, 0.090, 0.140, 10.0, 2e-3)
    assert math.degrees(float(arrangement[TOP_ANGLE])) == pytest.approx(-math.degrees(math.asin(2.0 / 185.0)), rel=1e-9)
    down = [piston_travel(angle, arrangement) for angle in np.linspace(0.0, 2.0 * math.pi, 72001).tolist()]
    assert 179.0 < int(np.argmax(down)) * 0.005 < 179.9


@pytest.mark.parametrize("offset", OFFSETS)
def test_slope_is_the_derivative_of_the_volume(offset: float) -> None:
    arrangement = crank_arrangement(0.086, 0.090, 0.140, 10.0, offset)
    for angle in np.linspace(0.01, 6.2, 17).tolist():
        difference = (cylinder_volume(angle + 1e-5, arrangement) - cylinder_volume(angle - 1e-5, arrangement)) / 2e-5
        assert volume_slope(angle, arrangement) == pytest.approx(difference, rel=1e-6, abs=1e-12)
    assert volume_slope(0.0, arrangement) == pytest.approx(0.0, abs=1e-18)


def test_largest_piston_speed_is_some_sixteen_tenths_of_the_mean() -> None:
    # Heywood 1988, eq. 2.20: about 1.6 times the mean piston speed 2 S n, depending on rod over stroke.
    arrangement = crank_arrangement(0.086, 0.086, 0.143, 10.0)
    slopes = [volume_slope(angle, arrangement) for angle in np.linspace(0.0, math.pi, 721).tolist()]
    ratio = max(slopes) / float(arrangement[PISTON_AREA]) * 2.0 * math.pi / (2.0 * 0.086)
    assert 1.58 < ratio < 1.68


@pytest.mark.parametrize(("rod", "ratio", "offset"), [(0.04, 10.0, 0.0), (0.143, 1.0, 0.0), (0.05, 10.0, 0.01)])
def test_crank_that_cannot_turn_gives_no_number(rod: float, ratio: float, offset: float) -> None:
    assert np.isnan(crank_arrangement(0.086, 0.086, rod, ratio, offset)).all()


def test_angle_that_is_no_number_gives_none() -> None:
    assert math.isnan(cylinder_volume(math.nan, crank_arrangement(0.086, 0.086, 0.143, 10.0)))
