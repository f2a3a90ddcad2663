"""Odds held to the power of the t test, to what orders are known to do, and to the rule of Holm."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from plan_cases import BELIEF, COSTS, SPAN, order_of, plain_builds, target
from statsmodels.stats.power import TTestIndPower

from pullbook.compare.prior import DEFAULT_PRIOR, SPREAD_ALLOWANCE
from pullbook.curves.reml_prior import ScatterPrior
from pullbook.plan.costs import timetable
from pullbook.plan.odds import DrawnOdds, Judge, drawn_odds
from pullbook.plan.score import question_of
from pullbook.records.plan import Ask, Target
from pullbook.records.plan_terms import ScatterBelief

NO_DOUBT = ScatterPrior(refit_scale=1e-6, walk_scale=1e-6, drift_scale=1e-6, refit_shape_scale=1e-6)
JUDGE = Judge(prior=DEFAULT_PRIOR, allowance=SPREAD_ALLOWANCE, sessions=100)


def odds(order: str, targets: list[Target], belief: ScatterBelief = BELIEF, judge: Judge = JUDGE) -> DrawnOdds:
    builds = plain_builds(len(set(order)))
    question = question_of(targets, [build.name for build in builds], SPAN, belief)
    return drawn_odds(order_of(order), timetable(builds, COSTS), targets, question, belief, judge)


def test_odds_are_the_power_of_the_t_test_where_pulls_scatter_and_nothing_else_does() -> None:
    # Every pull a fitting of its own and 0.5 % of scatter: two groups of five with 8 degrees of freedom. Power from
    # statsmodels, whose values are held to R's pwr package in its own tests.
    only = ScatterBelief(
        pull=0.5, shape=0.5, refit=0.0, walk=0.0, drift=0.0, white=0.0, refit_shape=0.0, spread=0.0, source=""
    )
    judge = Judge(prior=NO_DOUBT, allowance=1.0, sessions=400)
    for percent in (0.6, 1.0):
        drawn = odds("AB" * 5, [target("B", "A", percent)], only, judge)
        power = TTestIndPower().power(percent / 0.5, 5, 0.05, alternative="larger")
        two_sided = TTestIndPower().power(percent / 0.5, 5, 0.05)
        assert drawn.odds[0] == pytest.approx(two_sided, abs=0.075)  # three standard errors of 400 sessions
        assert drawn.odds[0] < power


def test_detectable_size_is_where_the_odds_are_80_per_cent() -> None:
    first = odds("AABBAABB", [target("B", "A", 1.0)])
    size = float(first.detectable[0])
    assert odds("AABBAABB", [target("B", "A", size)]).odds[0] == pytest.approx(0.8, abs=0.02)


def test_more_fittings_beat_more_pulls() -> None:
    # Statistics note, section 3, consequence (d): with six pulls A-B-A-B-A-B beats A-A-A-B-B-B.
    blocks, turns = (odds(order, [target("B", "A", 2.0)]).detectable[0] for order in ("AAABBB", "ABABAB"))
    assert turns < 0.72 * blocks


def test_claims_share_their_error_rate_by_the_rule_of_holm() -> None:
    one = target("B", "A", 1.6, (2500.0, 3500.0), Ask.CLAIM)
    alone = odds("AABBAABB", [one]).odds[0]
    others = [replace(one, name=f"{n}", percent=0.01, size=0.01) for n in range(5)]
    among = odds("AABBAABB", [one, *others]).odds[0]
    assert among < alone - 0.05


def test_a_claim_of_no_difference_needs_more_than_one_of_a_difference_as_large() -> None:
    window = (2500.0, 5500.0)
    both = odds("AABBAABB", [target("B", "A", 2.2, window, Ask.CLAIM), target("B", "A", 2.2, window, Ask.WITHIN)])
    assert both.odds[1] < both.odds[0]


def test_a_noisier_bench_has_worse_odds() -> None:
    quiet, noisy = (
        odds("AABBAABB", [target("B", "A", 1.8)], replace(BELIEF, pull=pull)).odds[0] for pull in (0.2, 0.8)
    )
    assert quiet > noisy + 0.2


def test_odds_are_the_same_each_time() -> None:
    once, again = (odds("ABAB", [target("B", "A", 2.0)], judge=replace(JUDGE, sessions=20)) for _ in range(2))
    assert np.array_equal(once.detectable, again.detectable)
