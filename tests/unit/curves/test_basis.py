from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import BSpline

from pullbook.curves.basis import SplineBasis, fit_spline, spline_basis


def test_functions_are_the_cubic_b_splines_of_scipy() -> None:
    basis = SplineBasis(low_rpm=2000.0, step_rpm=214.2857, count=24)
    knots = 2000.0 + 214.2857 * np.arange(-3, 25)
    speed = np.linspace(2000.0, 2000.0 + 21 * 214.2857 - 1e-6, 500)
    expected = BSpline.design_matrix(speed, knots, 3).toarray()  # scipy 1.15, an independent implementation
    np.testing.assert_allclose(basis.values(speed), expected, atol=1e-12)


def test_every_row_sums_to_one_even_a_little_outside_the_range() -> None:
    basis = spline_basis(2000.0, 6500.0, 215.0, 1000)
    rows = basis.values(np.array([1990.0, 2000.0, 4321.0, 6500.0, 6510.0]))
    np.testing.assert_allclose(rows.sum(axis=1), 1.0, atol=1e-12)


def test_resolution_follows_the_range_and_the_count_follows_the_samples() -> None:
    # statistics note, section 8 step 1: 21 intervals on 4500 rpm are 24 functions of about 215 rpm
    assert spline_basis(2000.0, 6500.0, 215.0, 1000).count == 24
    assert spline_basis(2000.0, 11000.0, 215.0, 1000).count == 45
    assert spline_basis(2000.0, 6500.0, 215.0, 7).count == 7
    assert spline_basis(2000.0, 6500.0, 215.0, 2).count == 4


def test_a_cubic_polynomial_comes_back() -> None:
    basis = spline_basis(2000.0, 6500.0, 215.0, 1000)
    speed = np.linspace(2000.0, 6500.0, 150)
    x = (speed - 4000.0) / 2000.0
    cubic = 100.0 + 3.0 * x - 2.0 * x**2 + x**3
    coefficients, _ = fit_spline(basis.values(speed), cubic)
    np.testing.assert_allclose(
        basis.values(speed) @ coefficients, cubic, atol=5e-4
    )  # a third of a per cent of its second difference at the ends


def test_covariance_is_what_repeated_noise_shows() -> None:
    basis = spline_basis(2000.0, 6500.0, 500.0, 1000)
    speed = np.linspace(2000.0, 6500.0, 80)
    values = basis.values(speed)
    generator = np.random.default_rng(1)
    weight = np.where(speed < 4000.0, 4.0, 1.0)
    noise = generator.standard_normal((4000, 80)) / np.sqrt(weight)
    fits = np.stack([fit_spline(values, one, weight)[0] for one in noise])
    _, covariance = fit_spline(values, noise[0], weight)
    spread = (values @ fits.T).std(axis=1)
    expected = np.sqrt(np.einsum("ij,jk,ik->i", values, covariance, values))
    assert spread / expected == pytest.approx(np.ones(80), abs=0.06)  # 1.1 % Monte-Carlo error, five times


def test_a_stretch_without_samples_is_bridged_instead_of_falling_to_zero() -> None:
    basis = spline_basis(2000.0, 6500.0, 215.0, 1000)
    speed = np.linspace(2000.0, 6500.0, 200)
    kept = speed[(speed < 3000.0) | (speed > 4200.0)]
    coefficients, _ = fit_spline(basis.values(kept), 100.0 + kept / 1000.0)
    middle = basis.values(np.array([3600.0])) @ coefficients
    assert middle[0] == pytest.approx(103.6, abs=0.05)
