from __future__ import annotations

import numpy as np
from scipy.special import gamma, kv

from pullbook.curves.basis import spline_basis
from pullbook.curves.kernels import matern52, projected_matern52


def test_closed_form_is_the_matern_function_of_order_five_halves() -> None:
    distance = np.array([1.0, 50.0, 400.0, 1500.0])
    order = 2.5
    s = np.sqrt(2 * order) * distance / 400.0
    general = 2 ** (1 - order) / gamma(order) * s**order * kv(order, s)  # Rasmussen & Williams 4.14, from memory
    np.testing.assert_allclose(matern52(distance, 400.0), general, rtol=1e-10)


def test_the_basis_keeps_a_smooth_error_almost_whole() -> None:
    basis = spline_basis(2000.0, 6500.0, 215.0, 1000)
    speed = np.linspace(2050.0, 6450.0, 89)
    values = basis.values(speed)
    (kept,) = projected_matern52(basis, np.array([400.0]))
    covariance = values @ kept @ values.T
    np.testing.assert_allclose(covariance, matern52(speed[:, None] - speed, 400.0), atol=0.02)
