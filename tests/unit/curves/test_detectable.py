"""Smallest detectable sizes held to the planning table of the statistics note, and to the noncentral t distribution."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import pytest
from statsmodels.stats.power import TTestIndPower

from pullbook.curves.design_variance import DesignVariance, ScatterSizes
from pullbook.curves.detectable import detectable_gain

SPEED = np.linspace(2000.0, 6500.0, 10)
EVEN = np.full(10, 0.1)

# Statistics note, section 8, "MDD of a band mean, 80 % power, 5 % two-sided, s_pull 0.47 %, 16 df".
TABLE = {
    "AB": (1.98, 2.08, 2.25, 2.60),
    "AAABBB": (1.15, 1.31, 1.56, 2.04),
    "AAAAABBBBB": (0.89, 1.09, 1.38, 1.91),
    "A" * 40_000 + "B" * 40_000: (0.00, 0.63, 1.06, 1.69),
    "AAABBBAAA": (0.99, 1.13, 1.35, 1.77),
    "AABBAABB": (0.99, 1.09, 1.24, 1.55),
    "ABABAB": (1.15, 1.20, 1.30, 1.50),
    "ABABABABAB": (0.89, 0.93, 1.00, 1.16),
}


def sd_of(order: str, refit: float) -> float:
    """Of B minus A. For blocks, by hand, as the matrices of 80,000 pulls are not needed for them."""
    blocks = [(build, len(list(pulls))) for build, pulls in groupby(order)]
    if len(blocks) == 2:
        return float(np.sqrt(sum(0.47**2 / pulls + refit**2 for _, pulls in blocks)))
    fitting = np.repeat(np.arange(len(blocks)), [pulls for _, pulls in blocks])
    design = DesignVariance(
        cells=("A", "B"), cell=np.array(["AB".index(build) for build in order]), fitting=fitting,
        hours=0.1 * np.arange(float(len(order))), sizes=ScatterSizes(pull=0.47, refit=refit), speed_rpm=SPEED,
    )  # fmt: skip
    return design.sd({"B": 1.0, "A": -1.0}, EVEN)


@pytest.mark.parametrize("order", TABLE, ids=lambda order: order if len(order) < 20 else "infinitely many pulls")
def test_every_row_of_the_planning_table_is_reproduced(order: str) -> None:
    for refit, published in zip((0.0, 0.15, 0.25, 0.40), TABLE[order], strict=True):
        assert detectable_gain(sd_of(order, refit), 16, 0.95) == pytest.approx(published, abs=0.012)


@pytest.mark.parametrize(
    ("pulls", "published"),
    # The same note: without re-install error and with the degrees of freedom of the session only.
    [(2, 2.64), (3, 1.44), (4, 1.11), (5, 0.95), (8, 0.70)],
)
def test_the_line_without_re_fitting_is_reproduced(pulls: int, published: float) -> None:
    gain = detectable_gain(0.47 * np.sqrt(2.0 / pulls), 2 * pulls - 2, 0.95)
    # The note rounds to a hundredth; at two degrees of freedom its formula and this one differ by the sum of quantiles.
    assert gain == pytest.approx(published, rel=0.06 if pulls == 2 else 0.02)


@pytest.mark.parametrize(
    ("pulls", "published"),
    # The same line, with about twelve degrees of freedom of an archive beside those of the session.
    [(1, 2.02), (2, 1.41), (3, 1.14), (4, 0.98), (5, 0.87), (8, 0.68)],
)
def test_the_line_without_re_fitting_and_with_an_archive_is_reproduced(pulls: int, published: float) -> None:
    gain = detectable_gain(0.47 * np.sqrt(2.0 / pulls), 12 + 2 * pulls - 2, 0.95)
    assert gain == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize(
    ("pulls", "error"),
    # By how much the sum of two quantiles may be off the noncentral t distribution (statsmodels).
    [(2, 0.08), (3, 0.03), (6, 0.01), (9, 0.006)],
)
def test_the_sum_of_quantiles_stands_for_the_noncentral_t(pulls: int, error: float) -> None:
    exact = TTestIndPower().solve_power(nobs1=pulls, alpha=0.05, power=0.8)
    gain = detectable_gain(np.sqrt(2.0 / pulls), 2 * pulls - 2, 0.95)
    assert gain == pytest.approx(exact, rel=error)
