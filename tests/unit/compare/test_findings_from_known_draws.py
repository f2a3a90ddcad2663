"""Findings from draws of a known normal distribution, where the answers are exact."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from gaussian_joint import GRID_RPM, flat_comparison, flat_reference, known_joint

from pullbook.compare.findings import findings_from
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray
    from pullbook.records.finding import Findings

FLAT = np.full(GRID_RPM.shape, 100.0)
TILT = (GRID_RPM - 4025.0) / 500.0  # -4.05 to 3.95 %, zero at 4025 rpm
OMEGA = GRID_RPM * np.pi / 30.0


def _findings(**changes: object) -> Findings:
    comparison = replace(flat_comparison("AAABBB", windows=((3000.0, 4000.0),)), **changes)  # type: ignore[arg-type] # any field
    return findings_from(comparison, known_joint({"A": FLAT, "B": FLAT + TILT}))


def test_an_error_of_the_level_alone_gives_the_band_of_one_number() -> None:
    # One normal error for all speeds needs no allowance for the many speeds: 1.96 sd (statistics note, 10 J iii).
    gain = _findings().differences[0]
    half = 1.96 * np.sqrt(2.0) * 0.5 / 100.0 * 200.0
    assert gain.torque.mean == pytest.approx(2.0 * TILT)
    assert gain.torque.high - gain.torque.mean == pytest.approx(half, rel=0.04)
    assert gain.torque.mean - gain.torque.low == pytest.approx(half, rel=0.04)


def test_power_is_torque_times_angular_speed_with_the_same_band() -> None:
    findings = _findings()
    for one in (findings.builds[1], findings.differences[0]):
        assert one.power is not None
        for name in ("mean", "low", "high"):
            assert getattr(one.power, name) == pytest.approx(getattr(one.torque, name) * OMEGA)


def test_percent_is_a_share_of_the_build_compared_with() -> None:
    comparison = flat_comparison("AAABBB", pairs=(("A", "B"),), windows=((3000.0, 3000.0),))
    findings = findings_from(comparison, known_joint({"A": FLAT, "B": 2.0 * FLAT}))
    (gain,) = findings.differences
    assert gain.percent.mean == pytest.approx(np.full(GRID_RPM.shape, -50.0))
    assert gain.windows[0].percent.value == pytest.approx(-50.0)


def test_the_crossover_is_certified_with_the_interval_of_fieller() -> None:
    (crossing,) = _findings().differences[0].crossovers
    # The sign is certain where |gain| > 1.96 * 0.7071 % = 1.386 %, which is 693 rpm from the crossing of a slope of
    # 1 % in 500 rpm. The band of an error of the level is that of one speed, so that interval and zone nearly agree.
    assert crossing.rpm == pytest.approx(4025.0)
    assert (crossing.low, crossing.high) == pytest.approx((4025.0 - 693.0, 4025.0 + 693.0), abs=25.0)
    assert crossing.zone_low <= crossing.low
    assert crossing.high <= crossing.zone_high
    assert crossing.sign_above == 1


def test_a_crossing_of_the_means_alone_has_a_range_and_no_single_speed() -> None:
    findings = findings_from(flat_comparison("AAABBB"), known_joint({"A": FLAT, "B": FLAT + TILT}, sd=5.0))
    (gain,) = findings.differences
    assert gain.crossovers == ()
    (possible,) = gain.possible_crossovers
    assert (possible.low, possible.high) == (2000.0, 6000.0)


def test_window_gain_is_the_mean_over_the_window() -> None:
    (window,) = _findings().differences[0].windows
    assert window.torque.value == pytest.approx(2.0 * (3500.0 - 4025.0) / 500.0)
    assert window.torque.high - window.torque.value == pytest.approx(1.96 * np.sqrt(2.0), rel=0.04)
    # Power in the window: mean of 2 (r - 4025)/500 * r pi/30 over 3000..4000, by the integral of the polynomial.
    integral = sum(sign * (r**3 / 3 - 4025 * r**2 / 2) for sign, r in ((1, 4000.0), (-1, 3000.0)))
    assert window.power is not None
    assert window.power.value == pytest.approx(2 / 500 * integral / 1000.0 * np.pi / 30.0, rel=1e-3)
    assert window.percent.value == pytest.approx((3500.0 - 4025.0) / 500.0)


def test_the_classical_interval_stands_beside_the_window() -> None:
    (window,) = _findings().differences[0].windows
    # Pulls of 200, 201 and 202 N m in both builds: difference 0, s = 1, t(0.975, 4) = 2.776445 (tables).
    assert window.classical is not None
    assert window.classical.value == pytest.approx(0.0)
    assert window.classical.high == pytest.approx(2.776445 * np.sqrt(2 / 3), rel=1e-6)


def test_peaks_and_their_gain() -> None:
    hill = FLAT - ((GRID_RPM - 4300.0) / 400.0) ** 2
    findings = findings_from(flat_comparison("AAABBB"), known_joint({"A": hill, "B": hill + 3.0}))
    peak = findings.builds[1].peak_torque
    assert peak is not None
    assert (peak.value, peak.rpm, peak.rpm_low, peak.rpm_high) == pytest.approx((206.0, 4300.0, 4300.0, 4300.0))
    assert (peak.low, peak.high) == pytest.approx((206.0 - 1.96, 206.0 + 1.96), abs=0.03)
    gain = findings.differences[0].peak_torque
    assert gain is not None
    assert gain.value == pytest.approx(6.0)
    assert gain.high - gain.value == pytest.approx(1.96 * np.sqrt(2.0), rel=0.05)


def test_a_peak_at_the_end_of_the_range_is_told() -> None:
    findings = _findings()
    told = "power of A and B is highest at the end of the range, 6,000 rpm: their peaks"
    assert any(told in said for said in findings.assumptions)


def test_swapping_the_builds_reverses_every_sign_and_nothing_else() -> None:
    generator = np.random.default_rng(8)
    walk = generator.standard_normal((4000, 2, GRID_RPM.size)).cumsum(axis=2) / 8.0
    noise = walk + generator.standard_normal((4000, 2, 1))
    joint = known_joint({"A": FLAT, "B": FLAT + 2.0 * TILT}, noise)
    there, back = (
        findings_from(flat_comparison("AAABBB", pairs=(pair,), windows=((2500.0, 3300.0),)), joint).differences[0]
        for pair in (("B", "A"), ("A", "B"))
    )
    for name in ("torque", "power"):
        one, other = getattr(there, name), getattr(back, name)
        assert np.array_equal(one.mean, -other.mean)
        assert np.array_equal(one.low, -other.high)
        assert np.array_equal(one.high, -other.low)
        for first, second in (
            (getattr(there.windows[0], name), getattr(back.windows[0], name)),
            (getattr(there, f"peak_{name}"), getattr(back, f"peak_{name}")),
        ):
            assert (first.value, first.low, first.high) == (-second.value, -second.high, -second.low)
    assert len(there.crossovers) == 1
    mirrored = [replace(one, sign_above=-one.sign_above) for one in back.crossovers]
    assert list(there.crossovers) == mirrored
    assert there.possible_crossovers == back.possible_crossovers
    assert there.detectable == back.detectable
    assert (1 + there.percent.mean / 100) * (1 + back.percent.mean / 100) == pytest.approx(np.ones(GRID_RPM.size))


def test_one_pull_each_gives_curves_without_bands_and_no_verdicts() -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + TILT}, np.zeros((0, 2, GRID_RPM.size)), degrees_of_freedom=0)
    findings = findings_from(flat_comparison("AB", windows=((3000.0, 4000.0),)), joint)
    assert not findings.has_bands
    assert "no uncertainty can be stated" in findings.refusals[0].why
    (gain,) = findings.differences
    assert gain.torque.mean == pytest.approx(2.0 * TILT)
    assert np.isnan(gain.torque.low).all()
    assert np.isnan(gain.percent.high).all()
    assert gain.windows[0].torque.value == pytest.approx(-2.1)
    assert np.isnan(gain.windows[0].torque.low)
    assert (gain.crossovers, gain.possible_crossovers, gain.detectable) == ((), (), None)
    assert findings.repeatability is None
    assert (findings.bad_pulls, findings.detectable, findings.interactions) == ((), (), ())


def test_draws_are_not_believed_where_nothing_was_learnt_from_the_pulls() -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + TILT}, degrees_of_freedom=0)
    assert not findings_from(flat_comparison("AB"), joint).has_bands


def test_a_relative_session_speaks_in_per_cent_of_the_baseline() -> None:
    comparison = flat_comparison("AAABBB", torque_kind=TorqueKind.RELATIVE, windows=((3000.0, 4000.0),))
    joint = known_joint({"A": FLAT + 7.0, "B": (FLAT + 7.0) * 1.1}, reference=flat_reference(0.031))
    findings = findings_from(comparison, joint)
    assert findings.builds[0].torque.mean == pytest.approx(FLAT)
    (gain,) = findings.differences
    assert gain.torque.mean == pytest.approx(np.full(GRID_RPM.shape, 10.0))
    assert gain.percent.mean == pytest.approx(np.full(GRID_RPM.shape, 10.0))
    nothing = (gain.power, gain.peak_torque, gain.peak_power, findings.builds[0].power, findings.builds[0].peak_torque)
    assert nothing == (None,) * 5
    assert gain.windows[0].power is None
    assert findings.reference_torque == pytest.approx(np.full(GRID_RPM.shape, 0.031 * 1.07))


def test_a_build_that_was_not_run_is_refused_by_name() -> None:
    findings = _findings(pairs=(("B", "A"), ("C", "A")))
    assert [(gain.of, gain.from_) for gain in findings.differences] == [("B", "A")]
    assert [(no.what, no.why) for no in findings.refusals] == [("C - A", "There are no pulls of C to compare.")]


def test_a_build_is_not_compared_with_itself() -> None:
    findings = _findings(pairs=(("A", "A"), ("B", "A")))
    assert len(findings.differences) == 1
    assert [no.why for no in findings.refusals] == ["A build cannot be compared with itself."]


def test_a_window_beyond_the_pulls_is_refused_with_the_range_they_share() -> None:
    findings = _findings(windows=((1500.0, 2500.0), (2000.0, 2500.0)))
    assert [window.from_rpm for window in findings.differences[0].windows] == [2000.0]
    (refusal,) = findings.refusals
    assert refusal.what == "B - A over 1,500 to 2,500 rpm"
    assert "they share 2,000 to 6,000 rpm" in refusal.why


@pytest.fixture
def gapped() -> FloatArray:
    reference = flat_reference()
    reference[(GRID_RPM > 3700.0) & (GRID_RPM < 4400.0)] = np.nan
    return reference


def test_nothing_is_stated_across_a_gap(gapped: FloatArray) -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + TILT}, reference=gapped, sd=0.05)
    windows = ((2500.0, 3500.0), (3500.0, 4500.0), (4400.0, 5000.0))
    findings = findings_from(flat_comparison("AAABBB", windows=windows), joint)
    (gain,) = findings.differences
    inside = np.isnan(gapped)
    assert np.array_equal(np.isnan(gain.torque.mean), inside)
    assert np.array_equal(np.isnan(gain.torque.low), inside)
    assert np.array_equal(np.isnan(findings.reference_torque), inside)
    assert [window.from_rpm for window in gain.windows] == [2500.0, 4400.0]
    assert gain.crossovers == ()
    assert findings.builds[0].peak_torque is None
    said = {refusal.what: refusal.why for refusal in findings.refusals}
    assert "3,700 and 4,400 rpm" in said["crossover of B and A"]
    assert "without a gap" in said["B - A over 3,500 to 4,500 rpm"]
    assert "highest point may lie between them" in said["peaks"]


def test_assumptions_name_the_priors_and_what_cannot_be_told_apart() -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + TILT}, refit_assumed=True, drift_assumed=True)
    said = " ".join(findings_from(flat_comparison("AAABBB"), joint).assumptions)
    assert "half-Cauchy, scale 0.3 %" in said
    assert "No build was returned to" in said
    assert "half-normal of 0.5 %/h and 0.2 % per square root of an hour" in said
    assert "normal and smooth over speed" in said


def test_repeatability_is_the_root_of_the_summed_squares() -> None:
    found = _findings().repeatability
    assert found is not None
    # 0.4 % of level and 0.3 % of shape, of which the mean over 4000 rpm takes about 17 % away (length 400 rpm).
    assert found.sd.value == pytest.approx(np.sqrt(0.16 + 0.83 * 0.09), rel=0.01)
    assert found.r == pytest.approx(2.8 * found.sd.value)
    assert np.sqrt(np.mean(found.sd_curve**2)) == pytest.approx(found.sd.value, rel=1e-9)
    assert (found.refit_sd.value, found.drift_per_hour.value) == (0.0, 0.0)
