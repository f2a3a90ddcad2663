"""What earlier sessions teach: findings of one pull a build, words, and nothing changed where there are none."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from archive_study import MIXED, Case, louder, prior_of
from noise_model import BENCH, IID, simulate

from pullbook.compare.findings import compare_pulls
from pullbook.compare.history import draw_believing, likelihood_of
from pullbook.compare.joint import draw_jointly
from pullbook.curves.archive_conflict import Conflict
from pullbook.curves.archive_prior import ArchivePrior, LogBelief
from pullbook.curves.reml_prior import ScatterPrior
from pullbook.records.declaration import Claim, Quantity
from pullbook.records.verdict import Verdict


def belief(middle: float, scale: float = 0.3) -> LogBelief:
    return LogBelief(location=float(np.log(middle)), scale=scale)


# The middles of the noise model itself.
KNOWN = ArchivePrior(
    pull=belief(0.4),
    refit=belief(0.25),
    walk=belief(0.25),
    drift=belief(0.4),
    shape=belief(0.3),
    length=belief(400.0),
    refit_shape=belief(0.5),
    sessions=20,
)


@cache
def learnt() -> ArchivePrior:
    return prior_of(Case(name="", order="", noise=BENCH, archive=MIXED), seed=4, sessions=12)


def test_without_an_archive_a_session_has_the_draws_it_had_before_there_were_archives() -> None:
    comparison = simulate("AAABBBAAA", BENCH, np.random.default_rng(4), draws=1000).comparison
    joint, believed = draw_believing(comparison, None)
    assert np.array_equal(joint.draws, draw_jointly(comparison).draws)
    assert isinstance(believed.prior, ScatterPrior)
    assert not joint.from_archive
    # Printed by the revision before archives were known to the comparison (ab4d2f8), which gave the same bytes.
    gain = joint.draws[:, 1] - joint.draws[:, 0]
    found = (gain[0, 0], gain[499, 40], gain[999, 88], gain.mean(), gain.std(), joint.variances.pull_sd.mean())
    assert found == pytest.approx(
        (-1.3427475892385274, 0.9221514404643472, 1.5791636405208038, 0.721474134357837, 1.7769599207708002,
         0.6302507949766329), rel=1e-6,
    )  # fmt: skip


def test_one_pull_a_build_is_answered_from_earlier_sessions_and_says_so() -> None:
    simulated = simulate("AB", BENCH, np.random.default_rng(2), draws=800)
    claim = Claim(id="c", says="", of="B", from_="A", quantity=Quantity.TORQUE, where=(5500.0, 6000.0), at_least=-20.0)
    comparison = replace(simulated.comparison, pairs=(("B", "A"),), claims=(claim,), windows=((2500.0, 3500.0),))
    bare, taught = compare_pulls(comparison), compare_pulls(comparison, KNOWN)
    assert not bare.has_bands
    assert bare.repeatability is None
    assert taught.has_bands
    assert taught.repeatability is not None
    assert taught.repeatability.from_archive
    assert 0.2 < taught.repeatability.sd.value < 0.9  # 0.5 % in the noise model
    assert any("20 earlier sessions; this session cannot check it" in said for said in taught.assumptions)
    assert taught.claims[0].verdict is Verdict.SUPPORTED
    assert np.isfinite(taught.differences[0].torque.low).all()
    assert not any("half-Cauchy" in said for said in taught.assumptions)
    assert all(refusal.what != "bands" for refusal in taught.refusals)


def test_what_is_learnt_lies_near_what_the_sessions_were_made_with() -> None:
    prior = learnt()
    assert prior.sessions == 12
    for one, truth, within in (
        (prior.pull, 0.4, 1.4), (prior.shape, 0.3, 1.3), (prior.length, 400.0, 1.35),
        (prior.refit, 0.25, 1.8), (prior.drift, 0.4, 2.2), (prior.walk, 0.25, 2.5),
    ):  # fmt: skip
        assert abs(one.location - np.log(truth)) < np.log(within)


def test_scatter_as_usual_keeps_the_archive_and_much_more_of_it_drops_it() -> None:
    quiet = simulate("ABABABABAB", IID, np.random.default_rng(8), own_fitting=True, timed=False, draws=300).comparison
    loud = simulate(
        "ABABABABAB", louder(IID, 6.0), np.random.default_rng(8), own_fitting=True, timed=False, draws=300
    ).comparison
    joint, believed = draw_believing(quiet, KNOWN)
    assert joint.from_archive
    assert believed.conflict is not None
    assert believed.conflict.p > 0.05
    again, dropped = draw_believing(loud, KNOWN)
    assert not again.from_archive
    assert dropped.conflict is not None
    assert dropped.conflict.dropped
    assert dropped.conflict.ratio > 2.0
    assert np.array_equal(again.draws, draw_jointly(loud).draws)
    said = compare_pulls(loud, KNOWN).assumptions
    assert any("times the usual of 20 earlier sessions" in one and "they are not used" in one for one in said)


def test_a_session_of_one_pull_a_build_leaves_nothing_to_the_archive() -> None:
    assert likelihood_of(simulate("ABC", BENCH, np.random.default_rng(1), draws=10).comparison) is None


def test_what_earlier_sessions_are_sure_of_is_not_spread_once_more() -> None:
    # Pulls scatter by 0.4 % and nothing else does: the level of two builds differs by 0.4 % times the root of 2.
    nothing = belief(1e-3, 0.01)
    sure = replace(KNOWN, pull=belief(0.4, 0.01), refit=nothing, walk=nothing, drift=nothing, refit_shape=nothing)
    comparison = simulate("AB", IID, np.random.default_rng(6), own_fitting=True, timed=False, draws=8000).comparison
    joint, _ = draw_believing(comparison, sure)
    level = np.nanmean(joint.draws[:, 1] - joint.draws[:, 0], axis=1)
    assert level.std() == pytest.approx(0.4 * np.sqrt(2.0), rel=0.025)
    said = compare_pulls(replace(comparison, draws=500), sure).assumptions
    assert not any("% wider" in one for one in said)
    assert any("% wider" in one for one in compare_pulls(comparison).assumptions)


def test_an_archive_makes_a_session_with_one_fitting_of_each_build_sharper() -> None:
    comparison = simulate("AAABBB", BENCH, np.random.default_rng(3), draws=800).comparison

    def width(prior: ArchivePrior | None) -> float:
        joint, _ = draw_believing(comparison, prior)
        return float(np.nanmedian((joint.draws[:, 1] - joint.draws[:, 0]).std(axis=0)))

    assert width(KNOWN) < 0.75 * width(None)


@pytest.mark.parametrize(("p", "dropped"), [(0.049, True), (0.05, False), (0.9, False)])
def test_the_archive_is_dropped_below_five_in_a_hundred(p: float, *, dropped: bool) -> None:
    assert Conflict(p=p, ratio=1.0).dropped is dropped
