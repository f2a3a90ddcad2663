"""Whole comparisons of simulated pulls: what must not matter does not, and what is wrong is found."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from noise_model import BENCH, IID, simulate

from pullbook.compare.findings import compare_pulls
from pullbook.errors import RefusalError
from pullbook.records.build import Build
from pullbook.records.declaration import Claim, Quantity
from pullbook.records.verdict import Verdict

if TYPE_CHECKING:
    from pullbook.records.comparison import ComparablePull, Comparison
    from pullbook.records.finding import Findings

WINDOWS = ((2500.0, 3500.0), (5000.0, 6000.0))


def session(order: str = "AAABBBAAA", seed: int = 11, **changes: Any) -> Comparison:
    noise = changes.pop("noise", BENCH)
    own_fitting = changes.pop("own_fitting", False)
    simulated = simulate(order, noise, np.random.default_rng(seed), own_fitting=own_fitting, timed=not own_fitting)
    names = sorted(set(order))
    fields: dict[str, Any] = {"windows": WINDOWS, "pairs": tuple((name, "A") for name in names[1:]), "draws": 1000}
    return replace(simulated.comparison, **{**fields, **changes})


def numbers(findings: Findings) -> list[float]:
    """Everything of a difference and the builds that is a number, by build name."""
    (gain,) = findings.differences
    found = [findings.differences[0].detectable or 0.0]
    for band in (gain.torque, gain.percent, *(one.torque for one in sorted(findings.builds, key=lambda b: b.name))):
        found += [*band.mean, *band.low, *band.high]
    for window in gain.windows:
        found += [window.torque.low, window.torque.high, window.percent.value]
    for crossing in gain.crossovers:
        found += [crossing.rpm, crossing.low, crossing.high]
    return found


def test_the_order_of_the_files_and_their_names_do_not_matter() -> None:
    comparison = session()
    shuffled = replace(comparison, pulls=tuple(comparison.pulls[n] for n in (4, 0, 8, 2, 6, 1, 3, 7, 5)))
    renamed = replace(
        comparison, pulls=tuple(replace(pull, name=f"other-{9 - n}") for n, pull in enumerate(comparison.pulls))
    )
    expected = numbers(compare_pulls(comparison))
    assert numbers(compare_pulls(shuffled)) == expected
    assert numbers(compare_pulls(renamed)) == expected


def test_another_unit_of_torque_changes_nothing_but_the_unit() -> None:
    comparison = session()
    factor = 0.7375621492772656  # lbf ft in one N m
    other = replace(comparison, pulls=tuple(replace(pull, torque=pull.torque * factor) for pull in comparison.pulls))
    one, two = compare_pulls(comparison), compare_pulls(other)
    assert one.seed == two.seed
    assert two.differences[0].torque.low == pytest.approx(factor * one.differences[0].torque.low, rel=1e-9)
    assert two.differences[0].percent.high == pytest.approx(one.differences[0].percent.high, rel=1e-9)
    assert [c.rpm for c in two.differences[0].crossovers] == pytest.approx(
        [c.rpm for c in one.differences[0].crossovers]
    )


def _renamed(comparison: Comparison) -> Comparison:
    swap = {"A": "B", "B": "A"}
    return replace(
        comparison,
        pulls=tuple(replace(pull, build=swap[pull.build]) for pull in comparison.pulls),
        builds=tuple(Build(name=name, baseline=name == "A", levels={}) for name in ("A", "B")),
    )


def test_swapping_the_names_of_the_builds_reverses_every_sign_and_nothing_else() -> None:
    comparison = session("AAABBBAAABBB", noise=IID)
    one, two = (compare_pulls(each).differences[0] for each in (comparison, _renamed(comparison)))
    for name in ("torque", "power"):
        there, back = getattr(one, name), getattr(two, name)
        assert np.array_equal(there.mean, -back.mean)
        assert np.array_equal(there.low, -back.high)
        for first, second in zip(one.windows, two.windows, strict=True):
            ends, mirrored = getattr(first, name), getattr(second, name)
            assert (ends.value, ends.low, ends.high) == (-mirrored.value, -mirrored.high, -mirrored.low)
    assert [(c.rpm, c.low, c.high, c.sign_above) for c in one.crossovers] == [
        (c.rpm, c.low, c.high, -c.sign_above) for c in two.crossovers
    ]
    assert one.possible_crossovers == two.possible_crossovers


def test_the_same_pulls_give_the_same_digits() -> None:
    comparison = session()
    assert numbers(compare_pulls(comparison)) == numbers(compare_pulls(comparison))


def test_a_claim_that_is_far_from_the_truth_is_decided_and_one_on_it_stays_open() -> None:
    # The header of the noise model takes about 1.5 % below 4000 rpm, some 3 N m, and gives 2 % above 5000 rpm.
    plain: dict[str, Any] = {"says": "", "of": "B", "from_": "A", "quantity": Quantity.TORQUE}
    claims = (
        Claim(id="true", where=(2500.0, 3500.0), at_most=6.0, **plain),
        Claim(id="false", where=(5000.0, 6000.0), at_most=-6.0, **plain),
        Claim(id="open", where=(5000.0, 6000.0), at_least=3.6, **plain),
    )
    findings = compare_pulls(session("ABABABABAB", 10, claims=claims))
    assert [claim.verdict for claim in findings.claims] == [
        Verdict.SUPPORTED, Verdict.REFUTED, Verdict.UNDETERMINED,
    ]  # fmt: skip
    assert findings.claims[2].needs


def test_one_pull_each_has_no_bands() -> None:
    findings = compare_pulls(session("AB"))
    assert not findings.has_bands
    assert np.isfinite(findings.differences[0].torque.mean).all()
    assert findings.refusals[0].why.startswith("One pull each and no history")


def test_a_session_without_baseline_pulls_is_refused() -> None:
    comparison = session()
    only = tuple(pull for pull in comparison.pulls if pull.build == "B")
    with pytest.raises(RefusalError, match="baseline has no pulls"):
        compare_pulls(replace(comparison, pulls=only))


def _with(comparison: Comparison, name: str, change: Any) -> Comparison:
    def spoilt(pull: ComparablePull) -> ComparablePull:
        return replace(pull, torque=pull.torque * (1.0 + change(pull.speed_rpm) / 100.0)) if pull.name == name else pull

    return replace(comparison, pulls=tuple(spoilt(pull) for pull in comparison.pulls))


def test_a_pull_with_an_offset_is_found_and_stays_in_the_comparison() -> None:
    comparison = session("AAABBBCCCDDD", noise=IID, own_fitting=True)
    findings = compare_pulls(_with(comparison, "b5", lambda speed: 5.0 + 0.0 * speed))
    (bad,) = findings.bad_pulls
    assert (bad.pull, bad.build) == ("b5", "B")
    assert bad.p <= 0.05
    assert bad.to_rpm - bad.from_rpm > 2000.0
    assert {one.name: one.pulls for one in findings.builds}["B"] == 3


def test_a_glitch_is_found_with_its_speeds() -> None:
    comparison = session("AAABBBCCCDDD", noise=IID, own_fitting=True)
    bump = _with(comparison, "c8", lambda speed: -6.0 * np.exp(-0.5 * ((speed - 4000.0) / 200.0) ** 2))
    (bad,) = compare_pulls(bump).bad_pulls
    assert bad.pull == "c8"
    assert 3300.0 <= bad.from_rpm <= 4000.0 <= bad.to_rpm <= 4700.0


def test_two_pulls_that_disagree_are_both_named() -> None:
    comparison = session("AABBBCCCDDD", noise=IID, own_fitting=True)
    findings = compare_pulls(_with(comparison, "a1", lambda speed: 8.0 + 0.0 * speed))
    assert {bad.pull for bad in findings.bad_pulls} == {"a1", "a2"}


def test_in_a_session_of_two_pulls_each_nothing_can_be_called_bad() -> None:
    comparison = session("AABB", noise=IID)
    assert compare_pulls(_with(comparison, "a1", lambda speed: 3.0 + 0.0 * speed)).bad_pulls == ()


def test_the_self_check_is_part_of_the_findings() -> None:
    found = compare_pulls(session("AAABBBCCCDDD", noise=IID, own_fitting=True)).repeatability
    assert found is not None
    assert found.self_check_ratio is not None
    assert 0.7 < found.self_check_ratio < 1.4
