"""Exact Riemann solver against tabulated star states."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.gas.riemann import riemann_at, riemann_profile, riemann_star

SOD = ((1.0, 0.0, 1.0, 1.4), (0.125, 0.0, 0.1, 1.4))

# Density, velocity, pressure left and right; pressure and velocity between, densities left and right of the contact.
# Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, table 4.2 and 4.3 (pressures and velocities, five
# digits); all digits from an independent solution of the same equations, converged to 1e-12.
PROBLEMS = {
    "Sod": ((1.0, 0.0, 1.0), (0.125, 0.0, 0.1), (0.303130, 0.927453, 0.426319, 0.265574)),
    "Sod in motion": ((1.0, 0.75, 1.0), (0.125, 0.0, 0.1), (0.466294, 1.360906, 0.579867, 0.339700)),
    "two expansions": ((1.0, -2.0, 0.4), (1.0, 2.0, 0.4), (0.001894, 0.0, 0.021852, 0.021852)),
    "strong blast": ((1.0, 0.0, 1000.0), (1.0, 0.0, 0.01), (460.893787, 19.597451, 0.575062, 5.999241)),
    "blast from the right": ((1.0, 0.0, 0.01), (1.0, 0.0, 100.0), (46.095044, -6.196328, 5.992417, 0.575113)),
    "collision": (
        (5.99924, 19.5975, 460.894),
        (5.99242, -6.19633, 46.0950),
        (1691.646955, 8.689774, 14.282350, 31.042602),
    ),
    "contact at rest": ((1.0, -19.59745, 1000.0), (1.0, -19.59745, 0.01), (460.893787, 0.000001, 0.575062, 5.999241)),
    "Lax": ((0.445, 0.698, 3.528), (0.5, 0.0, 0.571), (2.466098, 1.528723, 0.344568, 1.304085)),
}


@pytest.mark.parametrize("name", PROBLEMS)
def test_state_between_the_waves_is_that_of_the_table(name: str) -> None:
    (rho_left, u_left, p_left), (rho_right, u_right, p_right), star = PROBLEMS[name]
    found = riemann_star((rho_left, u_left, p_left, 1.4), (rho_right, u_right, p_right, 1.4))
    # Half a unit of the last digit of the table.
    np.testing.assert_allclose(found, star, rtol=0, atol=0.6e-6)


# Diaphragms with pressures as behind an exhaust valve; star states from the same independent solution.
ENGINE = [
    (287.05, 1.4, (200e3, 300.0), (100e3, 300.0), (140178.98, 85.9432, 1.801786, 1.476414)),
    (287.05, 1.33, (400e3, 1200.0), (100e3, 900.0), (203403.24, 330.1227, None, None)),
]


@pytest.mark.parametrize(("constant", "gamma", "left", "right", "star"), ENGINE)
def test_diaphragms_of_an_engine_burst_as_tabulated(
    constant: float,
    gamma: float,
    left: tuple[float, float],
    right: tuple[float, float],
    star: tuple[float, float, float | None, float | None],
) -> None:
    sides = [(p / (constant * t), 0.0, p, gamma) for p, t in (left, right)]
    found = riemann_star(sides[0], sides[1])
    assert found[0] == pytest.approx(star[0], abs=0.006)
    assert found[1] == pytest.approx(star[1], abs=0.6e-4)
    for density, expected in zip(found[2:], star[2:], strict=True):
        assert expected is None or density == pytest.approx(expected, abs=0.6e-6)


def test_waves_of_sods_tube_run_at_their_tabulated_speeds() -> None:
    # Head and tail of the fan, contact, shock; same source as the table above.
    for speed in (-1.1832160, -0.0702728, 0.9274526, 1.7521557):
        before, after = riemann_profile(*SOD, np.array([speed - 1e-6, speed + 1e-6]))[0]
        near, far = riemann_profile(*SOD, np.array([speed - 1e-2, speed + 1e-2]))[0]
        assert abs(near - far) > 1e-3
        if speed > 0:
            assert abs(before - after) > 0.1
        else:
            # A kink, no jump: on the side outside the fan nothing changes up to it.
            outside = riemann_profile(*SOD, np.array([speed + np.sign(speed + 0.5) * 0.01]))[0, 0]
            at = riemann_profile(*SOD, np.array([speed]))[0, 0]
            assert at == pytest.approx(outside, abs=1e-6)


def test_inside_a_fan_entropy_and_the_riemann_invariant_are_kept() -> None:
    rho, u, p = riemann_profile(*SOD, np.linspace(-1.18, -0.08, 12))
    np.testing.assert_allclose(p / rho**1.4, 1.0, rtol=1e-12)
    np.testing.assert_allclose(u + 5.0 * np.sqrt(1.4 * p / rho), 5.0 * np.sqrt(1.4), rtol=1e-12)


def test_gases_that_part_too_fast_leave_a_vacuum() -> None:
    # Toro, equation 4.40: the edges run at u + 2 c/(gamma - 1).
    left, right = (1.0, -10.0, 1.0, 1.4), (1.0, 10.0, 1.0, 1.4)
    edge = -10.0 + 5.0 * 1.4**0.5
    assert riemann_star(left, right)[0] == 0.0
    rho, u, _ = riemann_profile(left, right, np.array([edge - 0.01, edge + 0.01, -edge + 0.01]))
    assert rho[0] > 0.0
    assert rho[1] == 0.0
    assert rho[2] > 0.0
    assert u[2] > 0.0


def test_two_gases_meet_at_one_pressure_and_one_speed() -> None:
    # Mirrored problems must mirror: no outside number is needed.
    hot, cold = (0.3, 20.0, 2e5, 1.3), (1.2, -5.0, 1e5, 1.4)
    p, u, left, right = riemann_star(hot, cold)
    mirrored = riemann_star((1.2, 5.0, 1e5, 1.4), (0.3, -20.0, 2e5, 1.3))
    np.testing.assert_allclose(mirrored, (p, -u, right, left), rtol=1e-12)
    # Rankine and Hugoniot: mass and momentum through the shock in the cold gas (p above 1e5).
    shock = (right * u - 1.2 * -5.0) / (right - 1.2)
    assert (p - 1e5) == pytest.approx(1.2 * (shock + 5.0) * (u + 5.0), rel=1e-12)


def test_a_ray_tells_whose_gas_it_is_in() -> None:
    assert riemann_at(*SOD, 0.9)[3]
    assert not riemann_at(*SOD, 0.95)[3]
