"""What a session could have seen, held to the planning table of the statistics note and to statsmodels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from gaussian_joint import GRID_RPM, flat_comparison, known_joint, variance_draws
from statsmodels.stats.power import TTestIndPower

from pullbook.compare.design_variance import design_variance
from pullbook.compare.findings import findings_from
from pullbook.curves.design_variance import DesignVariance, ScatterSizes
from pullbook.curves.detectable import detectable_gain
from pullbook.records.declaration import Claim, Quantity

EVEN = np.full(GRID_RPM.shape, 1.0 / GRID_RPM.size)
FLAT = np.full(GRID_RPM.shape, 100.0)


def design(order: str, sizes: ScatterSizes) -> DesignVariance:
    """Pulls in an order of builds, as in 'AAABBBAAA', a new fitting at each change of build."""
    fitting = np.cumsum([n > 0 and order[n] != order[n - 1] for n in range(len(order))])
    return DesignVariance(
        cells=("A", "B"), cell=np.array(["AB".index(build) for build in order]), fitting=fitting,
        hours=0.1 * np.arange(float(len(order))), sizes=sizes, speed_rpm=GRID_RPM,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("order", "row"),
    # Statistics note, section 8, "MDD of a band mean": s_pull 0.47 %, 16 df, s_inst 0, 0.15, 0.25 and 0.40 %.
    [
        ("AB", (1.98, 2.08, 2.25, 2.60)),
        ("AAABBB", (1.15, 1.31, 1.56, 2.04)),
        ("AAABBBAAA", (0.99, 1.13, 1.35, 1.77)),
        ("AABBAABB", (0.99, 1.09, 1.24, 1.55)),
        ("ABABAB", (1.15, 1.20, 1.30, 1.50)),
        ("ABABABABAB", (0.89, 0.93, 1.00, 1.16)),
    ],
)
def test_smallest_detectable_gain_of_the_planning_table(order: str, row: tuple[float, ...]) -> None:
    for refit, published in zip((0.0, 0.15, 0.25, 0.40), row, strict=True):
        sd = design(order, ScatterSizes(pull=0.47, refit=refit)).sd({"B": 1.0, "A": -1.0}, EVEN)
        assert detectable_gain(sd, 16, 0.95) == pytest.approx(published, abs=0.012)


def test_power_of_the_smallest_detectable_gain_is_80_per_cent() -> None:
    # R package pwr, through the tests of statsmodels: d = 0.5 at 80 % power needs 63.7656 in each group.
    assert detectable_gain(np.sqrt(2 / 63.7656), 126, 0.95) == pytest.approx(0.5, rel=0.005)
    for count in (4, 8, 20):
        gain = detectable_gain(np.sqrt(2 / count), 2 * count - 2, 0.95)
        power = TTestIndPower().power(gain, count, 0.05)
        assert power == pytest.approx(0.8, abs=0.02)


def test_returning_to_the_baseline_takes_the_drift_out() -> None:
    drifting = ScatterSizes(pull=0.2, drift=1.0)
    blocks, returned = (design(order, drifting).sd({"B": 1.0, "A": -1.0}, EVEN) for order in ("AABB", "ABBA"))
    # By hand: two means of two with 0.2 %; in ABBA the trend cancels. In AABB a trend over 0.2 h is added, known to
    # 1/(1 + 4 * 0.05^2/0.2^2) of its variance of (1 %/h)^2 from the differences within the builds.
    assert returned == pytest.approx(0.2)
    assert blocks == pytest.approx(np.sqrt(0.2**2 + 0.2**2 / 1.25))


def test_shape_errors_matter_to_windows_and_not_to_the_whole_range() -> None:
    shaped = design("AAABBB", ScatterSizes(pull=0.3, shape=0.5, length_rpm=300.0))
    level = 0.3 * np.sqrt(2 / 3)
    assert shaped.sd({"B": 1.0, "A": -1.0}, EVEN) == pytest.approx(level)
    one_speed = np.zeros(GRID_RPM.size)
    one_speed[40] = 1.0
    # In the middle of a range that is long against 300 rpm nearly the whole shape variance is left.
    assert shaped.sd({"B": 1.0, "A": -1.0}, one_speed) == pytest.approx(np.hypot(0.3, 0.5) * np.sqrt(2 / 3), rel=0.1)


def test_every_pair_and_window_gets_its_smallest_gain() -> None:
    comparison = flat_comparison("AAABBB", windows=((3000.0, 3500.0),))
    findings = findings_from(comparison, known_joint({"A": FLAT, "B": FLAT}))
    whole, window = findings.detectable
    assert (whole.from_rpm, whole.to_rpm, window.from_rpm, window.to_rpm) == (2000.0, 6000.0, 3000.0, 3500.0)
    assert findings.differences[0].detectable == whole.percent
    # Half-width 1.96 of a normal error of 0.5 % in each build, and t(0.8, 4) = 0.940965 (tables) times the error of
    # the estimate, 0.4 % of level in three pulls each.
    expected = 1.96 * 0.5 * np.sqrt(2.0) + 0.940965 * 0.4 * np.sqrt(2 / 3)
    assert whole.percent == pytest.approx(expected, rel=0.03)
    assert window.percent > whole.percent


def needs(gain: float, *, order: str = "AAABBB", refit: float = 0.0, at_least: float = 0.0) -> str:
    claim = Claim(
        id="c", says="", of="B", from_="A", quantity=Quantity.TORQUE, where=(2000.0, 6000.0), at_least=at_least
    )
    sizes = variance_draws(refit_sd=refit)
    # The draws have the spread that the sizes give: 0.4 % in three pulls, and the fitting.
    sd = float(np.sqrt(0.16 / 3 + refit**2))
    joint = known_joint({"A": FLAT, "B": FLAT + gain / 2.0}, sd=sd, variances=sizes)
    (found,) = findings_from(flat_comparison(order, claims=(claim,)), joint).claims
    return found.needs


def test_more_pulls_are_asked_for_where_they_would_do() -> None:
    # Half-width now 1.645 sd(3 + 3); the gain is 0.75 of it, so 3/0.75^2 = 5.3 pulls are needed: 3 more.
    half = 1.645 * 0.4 * np.sqrt(2 / 3) * 2.0
    assert needs(0.75 * half).startswith("About 3 more pulls each of B and A would decide it")


def test_more_fittings_are_asked_for_where_no_number_of_pulls_would_do() -> None:
    half = 1.645 * 0.5 * np.sqrt(2.0) * 2.0  # that of two fittings alone
    said = needs(0.8 * half, refit=0.5)
    assert said.startswith("No number of pulls on one fitting would decide it: fit B and A again, in turn, about")


def test_a_gain_on_the_number_claimed_is_never_decided() -> None:
    assert needs(0.01, refit=0.5).startswith("Not even 10 more fittings each of B and A would decide it")


def test_pulls_that_are_fittings_of_their_own_are_not_told_to_stay_on_one() -> None:
    comparison = flat_comparison("AAABBB")
    own = tuple(replace(pull, fitting=number) for number, pull in enumerate(comparison.pulls))
    joint = known_joint({"A": FLAT, "B": FLAT + 0.5})
    assert design_variance(replace(comparison, pulls=own), joint, GRID_RPM).each_pull_fitted
    assert not design_variance(comparison, joint, GRID_RPM).each_pull_fitted
