"""What is read out of the letters prints the same digits as what was written."""

from __future__ import annotations

import numpy as np
import pytest
from window_letters import read_halves, read_numbers

from pullbook.publish.figures import Measure
from pullbook.publish.window_codes import (
    Codes,
    coded_curve,
    coded_within,
    decoded,
    print_alike,
    printed_range,
    whole_numbers,
)
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval

POWERS = [Measure.power(system) for system in UnitSystem]


def coded_halves(halves: np.ndarray, values: np.ndarray, factors: list[float], ends: int) -> tuple[Codes, np.ndarray]:
    """Text of half-widths, and which of them it does not hold."""
    low, high = printed_range(halves, values, factors)
    codes, seen = coded_within(low, high, ends, 400)
    assert read_halves(codes, ends) == pytest.approx(seen)
    return codes, (seen < low) | (seen > high)


def _windows(seed: int, ends: int) -> tuple[np.ndarray, np.ndarray]:
    """Half-widths and estimates as draws leave them: smooth, with noise, over two powers of ten. [W]"""
    generator = np.random.default_rng(seed)
    low, high = np.triu_indices(ends, 1)
    halves = 700.0 * np.exp(2.5 * low / ends - 0.02 * (high - low)) * generator.uniform(0.98, 1.02, low.size)
    return halves, generator.normal(0.0, 2000.0, low.size)


def _shown(value: float, half: float) -> list[tuple[str, bool]]:
    interval = Interval(value=value, low=value - half, high=value + half)
    return [(one.stated(interval, signed=True), interval.low > 0.0 or interval.high < 0.0) for one in POWERS]


def test_whole_numbers_of_any_size_come_back() -> None:
    numbers = [0, 1, -1, 15, -15, 16, -16, 31, 32, 1000, -123_456_789, 2**40]
    assert read_numbers(whole_numbers(numbers)) == numbers
    assert whole_numbers([0, 0, -1]) == "AAD"


@pytest.mark.parametrize("seed", range(6))
def test_what_is_read_prints_and_decides_the_same_in_both_unit_systems(seed: int) -> None:
    halves, values = _windows(seed, 40)
    codes, odd = coded_halves(halves, values, [one.factor for one in POWERS], 40)
    read = read_halves(codes, 40)
    assert odd.mean() < 0.02
    for value, half, other in zip(values[~odd], halves[~odd], read[~odd], strict=True):
        assert _shown(value, other) == _shown(value, half)


def test_a_number_at_the_border_of_two_readings_is_told_as_odd_or_kept_on_its_side() -> None:
    # 999.4 and 745.7 times 1.05 lie next to where the last digit turns; the estimate lies next to the half-width.
    halves = np.array([949.9, 950.1, 994.9, 995.1, 745.7 * 1.0499, 745.7 * 1.0501, 2000.0, 2000.0, 9949.0, 9951.0])
    values = np.array([5000.0, 5000.0, 5000.0, 5000.0, 0.0, 0.0, 2000.001, 1999.999, 1.0, 1.0])
    codes, odd = coded_halves(halves, values, [one.factor for one in POWERS], 5)
    read = read_halves(codes, 5)
    for number in np.flatnonzero(~odd):
        assert _shown(values[number], read[number]) == _shown(values[number], halves[number])


def test_halves_that_hardly_change_are_one_letter_each() -> None:
    halves = np.full(45, 1000.0)
    codes, odd = coded_halves(halves, np.zeros(45), [1000.0], 10)
    assert not odd.any()
    assert codes.text.count("A") >= 43


def test_a_curve_comes_back_to_half_a_unit() -> None:
    curve = 200.0 * np.sin(np.linspace(0.0, 3.0, 50)) - 50.0
    codes = coded_curve(curve, 1e-3)
    read = np.array(read_numbers(codes.text))
    for _ in range(4):
        read = np.cumsum(read)
    assert np.abs(read * 1e-3 - curve).max() <= 0.5e-3 + 1e-9
    assert decoded(codes) == pytest.approx(read * 1e-3)


@pytest.mark.parametrize("half", [0.03, 0.5, 2.2, 9.94, 9.96, 48.0, float("nan")])
def test_estimates_that_are_said_to_print_alike_do(half: float) -> None:
    generator = np.random.default_rng(9)
    values = generator.normal(0.0, 20.0, 4000)
    others = values + generator.normal(0.0, 0.02, 4000)
    alike = print_alike(values, others, np.full(4000, half), [1.0])
    percent = Measure.percent()
    same = np.array([
        _digits(percent, value, half) == _digits(percent, other, half)
        for value, other in zip(values, others, strict=True)
    ])  # fmt: skip
    assert not (alike & ~same).any()
    assert alike.sum() >= 0.99 * same.sum() > 0.0


def _digits(measure: Measure, value: float, half: float) -> str:
    return measure.stated(Interval(value=value, low=value - half, high=value + half), signed=True).split(" ")[0]
