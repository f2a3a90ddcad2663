"""Published values of repeatability and of the analysis of variance; statistics note, section 10, A, C and F."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy

from pullbook.curves.repeatability import between_groups, pooled, shape_profile

# ASTM E691, glucose in serum, 8 laboratories with 3 results (data as in the R package ILS; table values from memory).
GLUCOSE = {
    "A": "41.03 41.45 41.37|41.17 42.00 41.15|41.01 40.68 42.66|39.37 42.37 42.63|41.88 41.19 41.32|43.28 40.50 42.28|"
    "41.08 41.27 39.02|43.36 42.65 41.72",
    "D": "193.71 193.59 193.65|190.88 200.14 194.30|192.71 193.28 190.28|195.85 196.36 199.43|192.59 191.44 195.12|"
    "195.34 198.26 198.13|194.66 191.99 187.13|197.56 195.99 200.82",
    "E": "292.78 294.09 292.89|292.27 309.40 295.08|295.53 290.14 292.34|295.19 295.44 296.83|293.93 292.48 294.28|"
    "297.74 296.80 290.33|287.29 293.76 289.36|298.46 295.28 296.12",
}


@pytest.mark.parametrize(
    ("material", "mean", "sd_of_means", "repeatability", "reproducibility", "limit"),
    [
        ("A", 41.5183, 0.6061, 1.0632, 1.0632, 2.977),
        ("D", 194.7171, 2.5950, 2.6251, 3.3657, 7.350),
        ("E", 294.4921, 2.6931, 3.9350, 4.1923, 11.018),
    ],
)
def test_glucose_in_serum_of_astm_e691(
    material: str, mean: float, sd_of_means: float, repeatability: float, reproducibility: float, limit: float
) -> None:
    scatter = between_groups([[float(x) for x in lab.split()] for lab in GLUCOSE[material].split("|")])
    assert scatter.mean == pytest.approx(mean, abs=6e-5)
    assert scatter.sd_of_means == pytest.approx(sd_of_means, abs=6e-5)
    assert scatter.repeatability_sd == pytest.approx(repeatability, abs=6e-5)
    assert scatter.reproducibility_sd == pytest.approx(reproducibility, abs=6e-5)
    assert scatter.limit == pytest.approx(limit, abs=6e-4)


def test_repeatability_of_the_nist_handbook() -> None:
    # NIST/SEMATECH e-Handbook 2.4.4.4 (mpc444.htm): five sums of squares of 60 degrees of freedom give 0.10290.
    groups = []
    for square in (0.48115, 0.69209, 0.48483, 1.21752, 0.30076):
        one = np.sqrt(square / 2)
        groups.append([one, -one, *([0.0] * 59)])
    scatter = pooled(groups)
    assert scatter.degrees_of_freedom == 300
    assert scatter.sum_of_squares == pytest.approx(3.17635, abs=1e-9)
    assert scatter.sd == pytest.approx(0.10290, abs=5e-6)


@pytest.mark.parametrize(
    ("name", "freedom", "within", "residual_sd", "digits"),
    [
        # Certified values stand in the head of each file of the NIST StRD; the last has 13 constant leading digits.
        ("SiRstv", 20, 2.16636560000000e-01, 0.104076068334656, 1e-12),
        ("AtmWtAg", 46, 1.04951729166667e-08, 1.51048314446410e-05, 1e-8),
        ("SmLs01", 180, 1.80, 0.1, 1e-12),
        ("SmLs07", 180, 1.80, 0.1, 2e-3),
    ],
)
def test_certified_within_group_scatter_of_nist(
    name: str, freedom: int, within: float, residual_sd: float, digits: float
) -> None:
    path = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    if not path.is_file():
        pytest.skip("this scipy comes without its test data")
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = [line.split() for line in lines if re.match(r"^\s*\d+\s+[\d.]+\s*$", line)]
    groups: dict[str, list[float]] = {}
    for group, value in rows:
        groups.setdefault(group, []).append(float(value))
    scatter = pooled(list(groups.values()))
    assert scatter.degrees_of_freedom == freedom
    assert scatter.sum_of_squares == pytest.approx(within, rel=2 * digits)
    assert scatter.sd == pytest.approx(residual_sd, rel=digits)


def test_variance_of_a_smooth_error_without_its_mean_agrees_with_simulated_curves() -> None:
    speed = np.linspace(2000.0, 6500.0, 46)
    z = np.sqrt(5.0) * np.abs(speed[:, None] - speed[None, :]) / 700.0
    root = np.linalg.cholesky((1 + z + z**2 / 3) * np.exp(-z) + 1e-10 * np.eye(46))  # Matern 5/2, written out
    curves = np.random.default_rng(2).standard_normal((20_000, 46)) @ root.T
    simulated = (curves - curves.mean(axis=1, keepdims=True)).var(axis=0)
    assert shape_profile(speed, 700.0) == pytest.approx(simulated, rel=0.05)


@pytest.mark.parametrize(
    ("operators", "repeatability", "reproducibility", "limit"),
    [
        (((37, 38, 37), (41, 41, 40), (41, 42, 41)), 0.577350, 2.194269, 1.6166),
        (((42, 42, 43), (45, 45, 45), (44, 46, 45)), 0.666667, 1.632993, 1.8667),
    ],
)
def test_operators_of_a_gauge_study(
    operators: tuple[tuple[int, ...], ...], repeatability: float, reproducibility: float, limit: float
) -> None:
    # Houf and Berman's gauge study (data: SAS sample library VARCEX2), parts 1 and 6, operators as laboratories by the
    # formulas of ISO 5725-2; r = 2.8 s_r.
    scatter = between_groups([[float(x) for x in readings] for readings in operators])
    assert scatter.repeatability_sd == pytest.approx(repeatability, abs=1e-6)
    assert scatter.reproducibility_sd == pytest.approx(reproducibility, abs=1e-6)
    assert scatter.limit == pytest.approx(limit, abs=1e-4)
