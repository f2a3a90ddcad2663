"""Verdicts from draws of a known normal distribution."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from gaussian_joint import GRID_RPM, flat_comparison, known_joint
from scipy.stats import norm

from pullbook.compare.claim_needs import planning
from pullbook.compare.claims import decide_claims
from pullbook.compare.drawn import drawn_curves
from pullbook.compare.findings import findings_from
from pullbook.records.declaration import Claim, Quantity
from pullbook.records.pull import TorqueKind
from pullbook.records.verdict import ClaimFinding, Verdict

FLAT = np.full(GRID_RPM.shape, 100.0)
SD = np.sqrt(2.0) * 0.5 / 100.0 * 200.0  # of the difference of two levels of 0.5 %, in N m of 200 N m
SUPPORTED, REFUTED, UNDETERMINED = Verdict.SUPPORTED, Verdict.REFUTED, Verdict.UNDETERMINED


def claim(**fields: Any) -> Claim:
    plain: dict[str, Any] = {
        "id": "c", "says": "a claim", "of": "B", "from_": "A", "quantity": Quantity.TORQUE, "where": (3000.0, 4000.0)
    }  # fmt: skip
    return Claim(**{**plain, **fields})


def decide(*claims: Claim, gain: float = 4.0, **changes: Any) -> list[ClaimFinding]:
    """Verdicts where B is `gain` N m above A at all speeds, with an error of the level only."""
    joint = known_joint({"A": FLAT, "B": FLAT + gain / 2.0, "C": FLAT + gain / 2.0 + 5.0, "D": FLAT + 1.0})
    comparison = flat_comparison("AAABBBCCCDDD", claims=claims, **changes)
    curves = drawn_curves(joint, "A", comparison.torque_kind, comparison.confidence)
    return list(decide_claims(claims, curves, planning(comparison, joint, curves.speed_rpm), []))


@pytest.mark.parametrize("where", [(3000.0, 4000.0), (3300.0, 3300.0), None])
@pytest.mark.parametrize(
    ("fields", "verdict"),
    [
        ({"at_least": 4.0 - 1.75 * SD}, SUPPORTED),  # 1.645 sd are needed for 5 % on one side
        ({"at_least": 4.0 - 1.5 * SD}, UNDETERMINED),
        ({"at_least": 4.0 + 1.5 * SD}, UNDETERMINED),
        ({"at_least": 4.0 + 1.75 * SD}, REFUTED),
        ({"at_most": 4.0 + 1.75 * SD}, SUPPORTED),
        ({"at_most": 4.0 - 1.75 * SD}, REFUTED),
        ({"at_most": 4.0}, UNDETERMINED),
        ({"within": 4.0 + 1.75 * SD}, SUPPORTED),
        ({"within": 4.0 - 1.8 * SD}, UNDETERMINED),  # two-sided: 1.96 sd
        ({"within": 4.0 - 2.1 * SD}, REFUTED),
    ],
)
def test_support_and_refutation_each_have_the_full_level(
    where: tuple[float, float] | None, fields: dict[str, float], verdict: Verdict
) -> None:
    (found,) = decide(claim(where=where, **fields))
    assert found.verdict is verdict
    assert found.estimate == pytest.approx(4.0)
    assert found.unit == "N m"
    assert (found.needs == "") == (verdict is not UNDETERMINED)


def test_probabilities_are_those_of_the_normal_distribution() -> None:
    (found,) = decide(claim(at_least=4.0 - 1.2 * SD))
    assert found.p_false == pytest.approx(norm.sf(1.2), abs=0.012)
    assert found.p_true == pytest.approx(norm.cdf(1.2), abs=0.012)
    assert (found.low, found.high) == pytest.approx((4.0 - 1.96 * SD, 4.0 + 1.96 * SD), rel=0.04)


def test_the_interval_of_a_claim_of_sameness_is_that_of_its_two_one_sided_tests() -> None:
    (found,) = decide(claim(within=9.0))
    assert (found.low, found.high) == pytest.approx((4.0 - 1.645 * SD, 4.0 + 1.645 * SD), rel=0.04)


def test_a_claim_and_its_mirror_have_the_same_evidence_to_the_last_bit() -> None:
    for where in ((3000.0, 4000.0), None):
        one, other = decide(claim(where=where, at_least=2.0), claim(where=where, of="A", from_="B", at_most=-2.0))
        assert (one.p_false, one.p_true) == (other.p_false, other.p_true)
        assert (one.estimate, one.low, one.high) == (-other.estimate, -other.high, -other.low)


def test_the_family_of_claims_is_held_together() -> None:
    lonely = claim(at_least=4.0 - 1.9 * SD)  # p about 0.029
    assert decide(lonely)[0].verdict is SUPPORTED
    both = decide(lonely, claim(id="other", at_least=4.0))
    assert [found.verdict for found in both] == [UNDETERMINED, UNDETERMINED]
    strong = decide(lonely, claim(id="other", at_least=-20.0))
    assert [found.verdict for found in strong] == [SUPPORTED, SUPPORTED]
    assert "after allowing for 2 claims" in strong[0].why


def test_power_is_claimed_in_watts() -> None:
    (found,) = decide(claim(quantity=Quantity.POWER, where=(3000.0, 3000.0), at_least=100.0))
    assert found.unit == "W"
    assert found.estimate == pytest.approx(4.0 * 3000.0 * np.pi / 30.0)
    assert found.verdict is SUPPORTED


def test_per_cent_is_a_share_of_the_build_compared_with() -> None:
    ahead, behind = decide(
        claim(at_least=0.019, in_percent=True), claim(of="A", from_="B", at_most=-0.01, in_percent=True)
    )
    assert ahead.unit == "%"
    assert ahead.estimate == pytest.approx(2.0)
    assert behind.estimate == pytest.approx(-2.0 / 1.02)


def test_within_over_a_range_looks_at_every_speed_and_at_least_at_the_mean() -> None:
    bump = 4.0 * np.exp(-(((GRID_RPM - 3500.0) / 60.0) ** 2))
    joint = known_joint({"A": FLAT, "B": FLAT + bump}, sd=0.2)
    claims = (claim(id="mean", at_most=2.5), claim(id="everywhere", within=2.5))
    found = findings_from(flat_comparison("AAABBB", claims=claims), joint).claims
    assert [one.verdict for one in found] == [SUPPORTED, REFUTED]
    assert found[0].estimate == pytest.approx(8.0 * 60.0 * np.sqrt(np.pi) / 1000.0, rel=0.01)  # area of a Gaussian
    assert found[1].estimate == pytest.approx(8.0)
    assert found[1].low < 0.0
    assert found[1].high > 8.0
    assert "mean gain from 3,000 to 4,000 rpm" in found[0].why
    assert "leaves the margin claimed somewhere" in found[1].why


def test_the_difference_of_two_gains_can_be_claimed() -> None:
    # B over A is 4 N m, D over A is 2 N m: the error of A cancels and two levels remain.
    same, far = decide(
        claim(id="same", same_as=("D", "A"), within=2.0 + 1.8 * SD), claim(id="far", same_as=("D", "A"), at_least=-9.0)
    )
    assert same.estimate == pytest.approx(2.0)
    assert (far.high - far.low) / 2.0 == pytest.approx(1.96 * SD, rel=0.05)
    assert same.verdict is SUPPORTED  # the far one takes the first step of Holm, and 1.645 sd are enough for this one
    assert far.verdict is SUPPORTED
    assert "less that of D over A" in far.why


def test_per_cent_claims_of_a_relative_session_are_decided_and_others_refused() -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + 3.0})
    claims = (claim(id="share", at_least=0.01, in_percent=True), claim(id="torque", at_least=1.0))
    findings = findings_from(flat_comparison("AAABBB", claims=claims, torque_kind=TorqueKind.RELATIVE), joint)
    assert [found.verdict for found in findings.claims] == [SUPPORTED, UNDETERMINED]
    assert "not calibrated" in findings.claims[1].why
    assert [no.what for no in findings.refusals] == ["claim torque"]
    assert np.isnan(findings.claims[1].estimate)


def test_claims_about_builds_and_speeds_that_were_not_run_are_refused() -> None:
    found = decide(claim(id="x", of="X", at_least=0.0), claim(id="high", where=(5500.0, 7000.0), at_least=0.0))
    assert [one.verdict for one in found] == [UNDETERMINED, UNDETERMINED]
    assert "no pulls of X" in found[0].why
    assert "they share 2,000 to 6,000 rpm" in found[1].why


def test_a_build_cannot_be_claimed_to_gain_on_itself() -> None:
    (found,) = decide(claim(of="A", at_least=-1.0))
    assert found.verdict is UNDETERMINED
    assert found.why == "A build cannot gain on itself."


def test_without_bands_a_claim_keeps_its_estimate_and_stays_open() -> None:
    joint = known_joint({"A": FLAT, "B": FLAT + 2.0}, degrees_of_freedom=0)
    (found,) = findings_from(flat_comparison("AB", claims=(claim(at_least=1.0),)), joint).claims
    assert found.verdict is UNDETERMINED
    assert found.estimate == pytest.approx(4.0)
    assert np.isnan([found.low, found.high, found.p_false, found.p_true]).all()
    assert "no claim is decided" in found.why


def test_no_sentence_about_a_claim_names_torque_or_power() -> None:
    for found in decide(claim(at_least=4.0), claim(id="d", where=None, at_most=9.0), claim(id="e", within=9.0)):
        for sentence in (found.why, found.needs):
            assert "N m" not in sentence
            assert "W" not in sentence.replace("Watt", "W")
            assert sentence == "" or sentence.endswith(".")
