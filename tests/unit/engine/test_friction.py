"""Friction models against worked values."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import pytest

from pullbook.engine.friction import FrictionGeometry, barnes_moss, chen_flynn, component_friction
from pullbook.errors import OutOfRangeError

# Heywood 1988, chapter 13 (from memory): 2.0 L, 86 x 86 mm, five mains of 56 mm, double overhead cams and 16 valves,
# r 10.
TWO_LITRE: Final = FrictionGeometry(
    bore=0.086, stroke=0.086, compression_ratio=10.0, cylinders=4, main_bearings=5, cam_bearings=10, valves=16,
    main_diameter=0.056, main_length=0.021, rod_diameter=0.048, rod_length=0.019, valve_lift=0.009,
)  # fmt: skip


@pytest.mark.parametrize(
    ("speed", "expected"),
    # Heywood 1988, chapter 13 (from memory) (equation 13.6).
    [(1000, 1.17), (2000, 1.47), (3000, 1.87), (4000, 2.37), (5000, 2.97), (6000, 3.67), (7000, 4.47)],
)
def test_barnes_moss_has_the_published_values(speed: float, expected: float) -> None:
    assert barnes_moss(speed) / 1e5 == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("coefficients", "slow", "fast"),
    # Heywood 1988, chapter 13 (from memory): pmax 70 bar; Sp 8 and 16 m/s. The published fit, and a common one for
    # petrol engines.
    [((0.137e5, 0.005, 0.162e5, 0.0), 1.783, 3.079), ((0.4e5, 0.005, 0.09e5, 0.0009e5), 1.5276, 2.4204)],
)
def test_chen_flynn_has_the_worked_values(
    coefficients: tuple[float, float, float, float], slow: float, fast: float
) -> None:
    assert chen_flynn(70e5, 8.0, coefficients) / 1e5 == pytest.approx(slow, abs=1e-9)
    assert chen_flynn(70e5, 16.0, coefficients) / 1e5 == pytest.approx(fast, abs=1e-9)


def test_chen_flynn_without_coefficients_is_the_published_fit() -> None:
    assert chen_flynn(70e5, 8.0) == pytest.approx(1.783e5, rel=1e-9)


@pytest.mark.parametrize(("speed", "expected"), [(1000, 86.0), (2000, 98.0), (4000, 138.0), (6000, 191.0)])
def test_component_model_of_a_two_litre_four_is_near_an_independent_evaluation(speed: float, expected: float) -> None:
    # Heywood 1988, chapter 13 (from memory): evaluated independently with coefficients from memory; +-15 per cent is
    # the band of the model.
    assert component_friction(TWO_LITRE, speed).total / 1e3 == pytest.approx(expected, rel=0.04)


@pytest.mark.parametrize(("speed", "expected"), [(1000, 10.9), (2000, 15.0), (4000, 27.7), (6000, 46.3)])
def test_auxiliaries_have_the_worked_values(speed: float, expected: float) -> None:
    # Heywood 1988, chapter 13 (from memory): 8.32 + 1.86e-3 N + 7.45e-7 N^2 kPa.
    assert component_friction(TWO_LITRE, speed).auxiliaries / 1e3 == pytest.approx(expected, abs=0.06)


def test_total_is_the_sum_of_its_parts() -> None:
    parts = component_friction(TWO_LITRE, 4000.0)
    assert parts.total == pytest.approx(
        parts.crank + parts.pistons + parts.gas_load + parts.valvetrain + parts.auxiliaries, rel=1e-12
    )
    assert min(parts.crank, parts.pistons, parts.gas_load, parts.valvetrain, parts.auxiliaries) > 0.0


def test_thicker_oil_bigger_bearings_and_flat_followers_cost_friction() -> None:
    usual = component_friction(TWO_LITRE, 3000.0)
    assert component_friction(replace(TWO_LITRE, viscosity=2.0), 3000.0).total > usual.total
    assert component_friction(replace(TWO_LITRE, main_diameter=0.065), 3000.0).crank > 1.2 * usual.crank
    assert component_friction(replace(TWO_LITRE, roller=True), 3000.0).valvetrain < usual.valvetrain
    assert component_friction(TWO_LITRE, 3000.0, intake_ratio=0.5).gas_load == pytest.approx(0.5 * usual.gas_load)


def test_mechanical_efficiency_at_full_throttle_is_what_engines_have() -> None:
    # Heywood 1988, chapter 13 (from memory): 12 bar brake and 1.4 bar at 4000 rpm -> 89.6 %.
    total = component_friction(TWO_LITRE, 4000.0).total
    assert 12e5 / (12e5 + total) == pytest.approx(0.896, abs=0.02)


def test_unknown_valve_train_is_refused_with_those_there_are() -> None:
    with pytest.raises(OutOfRangeError, match=r"desmodromic.*direct, end-pivot"):
        component_friction(replace(TWO_LITRE, valvetrain="desmodromic"), 3000.0)
