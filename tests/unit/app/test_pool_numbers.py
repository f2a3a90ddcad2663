"""Pooled numbers against independent programs and sums by hand."""

from __future__ import annotations

import numpy as np
import pytest
from evidence_cases import evidence
from scipy import stats
from statsmodels.stats.meta_analysis import combine_effects

from pullbook.app.pool_numbers import (
    KeptEffect,
    kept_effect,
    pooled_curves,
    pooled_lines,
    pooled_windows,
    usual_windows,
)
from pullbook.curves.binomial import share_interval
from pullbook.publish.pool_words import pool_sentences, window_sentence
from pullbook.records.pool import Pool, PoolRow

GAINS, SDS = np.array([1.0, 2.5, 4.0, 1.5]), np.array([0.5, 0.7, 0.6, 0.4])


def effects(gains: np.ndarray = GAINS, sds: np.ndarray = SDS) -> list[KeptEffect]:
    return [kept_effect(evidence(gain, sd), 0, 1) for gain, sd in zip(gains, sds, strict=True)]


def row(number: int, **changes: float) -> PoolRow:
    return PoolRow(
        session=f"s{number}", revision=1, day="", title=f"T{number}", engine="", folder="/bench", from_="a", to="b",
        builds=("A", "B"), displacement=changes.get("displacement", float("nan")), peak_power=float("nan"),
    )  # fmt: skip


def test_effects_are_in_per_cent_of_the_torque_without_the_change_and_in_newton_metres() -> None:
    one = kept_effect(evidence(2.0, 1.0, base=200.0), 0, 1)
    assert one.over(2500.0, 3725.0, "%") == pytest.approx((2.0, 1.0), rel=1e-3)
    assert one.over(2500.0, 3725.0, "N m") == pytest.approx((4.0, 2.0), rel=1e-3)
    assert one.over(1000.0, 3000.0, "%") is None


def test_the_other_way_round_the_two_factors_multiply_to_one() -> None:
    one = kept_effect(evidence(25.0), 0, -1)
    seen = one.over(2000.0, 6000.0, "%")
    assert seen is not None
    assert seen[0] == pytest.approx(-20.0)  # 1.25 x 0.80 = 1


def test_a_window_over_a_gap_is_not_measured() -> None:
    told = evidence(2.0)
    told["effects"][0]["gain"][20] = None  # 3,000 rpm
    one = kept_effect(told, 0, 1)
    assert one.over(2500.0, 3500.0, "%") is None
    assert one.over(2990.0, 2999.0, "%") is None
    assert one.over(3050.0, 3500.0, "%") is not None


def test_what_differs_between_sessions_is_that_of_statsmodels() -> None:
    (window,) = pooled_windows(effects(), [(2000.0, 6000.0)], "%")
    # Its own DerSimonian-Laird I2 is Higgins's from Cochran's Q.
    fit = combine_effects(GAINS, np.array(window.sd) ** 2, method_re="dl")
    assert window.i_squared == pytest.approx(fit.i2, abs=1e-9)
    assert window.effect == pytest.approx(GAINS)
    assert window.sd == pytest.approx(SDS, rel=1e-3)
    assert sum(window.weight) == pytest.approx(1.0)
    assert window.mean.value == pytest.approx(float(np.dot(window.weight, GAINS)))


def test_equal_doubts_give_the_mean_and_students_interval() -> None:
    gains = np.array([1.0, 3.0, 5.0, 7.0])
    (window,) = pooled_windows(effects(gains, np.full(4, 0.5)), [(2000.0, 6000.0)], "%")
    half = float(stats.t.ppf(0.975, 3)) * float(gains.std(ddof=1)) / 2.0
    assert (window.mean.value, window.mean.low) == pytest.approx((4.0, 4.0 - half))
    assert [one.value for one in window.without] == pytest.approx([5.0, 13.0 / 3.0, 11.0 / 3.0, 3.0])


def test_the_next_engine_is_not_told_below_three_sessions_and_called_approximate_below_ten() -> None:
    told = [
        pooled_windows(effects(np.linspace(1.0, 2.0, count), np.full(count, 0.5)), [(2000.0, 6000.0)], "%")[0]
        for count in (1, 2, 3, 9, 10)
    ]
    assert [one.next_engine is None for one in told] == [True, True, False, False, False]
    assert [one.approximate for one in told[2:]] == [True, True, False]
    pools = [Pool(change="x", standard="none", dyno="engine", rows=tuple(row(n) for n in range(len(one.rows))),
                  windows=(one,), curves=(), lines=(), notes=()) for one in told]  # fmt: skip
    says = [" ".join(pool_sentences(pool)) for pool in pools]
    assert ["pool of one" in text for text in says] == [True, False, False, False, False]
    assert ["not said below three" in text for text in says] == [False, True, False, False, False]
    assert ["approximate" in text for text in says] == [False, False, True, True, False]
    assert "by its own doubt" in window_sentence(told[0])


@pytest.mark.parametrize(("gains", "chance"), [((0.0, 2.0), True), ((0.0, 3.0), False)])
def test_what_sessions_differ_by_may_be_chance_where_cochrans_q_is_not_rare(
    gains: tuple[float, float],
    chance: bool,  # noqa: FBT001 - what is expected
) -> None:
    # Q of two sessions of doubt 1 is half the square of their difference: 2.0 and 4.5; 3.84 is its 95 % point.
    (window,) = pooled_windows(effects(np.array(gains), np.ones(2)), [(2000.0, 6000.0)], "%")
    pool = Pool(change="x", standard="none", dyno="engine", rows=(row(0), row(1)), windows=(window,), curves=(),
                lines=(), notes=())  # fmt: skip
    assert ("which may be chance" in " ".join(pool_sentences(pool))) is chance


def test_a_session_that_carries_the_answer_is_named() -> None:
    (window,) = pooled_windows(effects(np.array([2.0, 2.2, 2.1, 9.0]), np.full(4, 0.2)), [(2000.0, 6000.0)], "%")
    pool = Pool(change="x", standard="none", dyno="engine", rows=tuple(row(n) for n in range(4)), windows=(window,),
                curves=(), lines=(), notes=())  # fmt: skip
    assert "Without session s3 (T3) it would be decided" in " ".join(pool_sentences(pool))


def test_sessions_are_pooled_where_they_were_measured() -> None:
    told = [kept_effect(evidence(2.0, high=5000.0), 0, 1), *effects(np.array([2.0, 3.0]), np.ones(2))]
    windows = pooled_windows(told, [(2000.0, 6000.0), (2000.0, 5000.0), (500.0, 900.0)], "%")
    assert [one.rows for one in windows] == [(1, 2), (0, 1, 2)]
    assert usual_windows(told) == ((2000.0, 6000.0), (2000.0, 3300.0), (3300.0, 4700.0), (4700.0, 6000.0))


def test_curves_lie_on_rpm_and_on_shares_of_the_torque_peak() -> None:
    told = [kept_effect(evidence(gain, peak_rpm=peak), 0, 1) for gain, peak in ((1.0, 4000.0), (3.0, 5000.0))]
    told.append(kept_effect(evidence(2.0, peak_rpm=None), 0, 1))
    on_rpm, on_share = pooled_curves(told)
    assert (on_rpm.rows, on_share.rows) == ((0, 1, 2), (0, 1))
    assert on_rpm.mean == pytest.approx(np.full(81, 2.0), abs=1e-3)
    # 2,000 to 6,000 rpm are shares of 0.5 to 1.5, and of 0.4 to 1.2; both were measured from 0.5 to 1.2.
    both = on_share.x[on_share.sessions == 2.0]
    assert (both[0], both[-1]) == pytest.approx((0.5, 1.2))


def test_an_effect_that_grows_with_displacement_is_found_from_ten_sessions_on() -> None:
    size = np.linspace(1.6, 3.4, 10)
    gains = 1.0 + 2.0 * (size - 2.0)
    (window,) = pooled_windows(effects(gains, np.full(10, 0.2)), [(2000.0, 6000.0)], "%")
    (line,) = pooled_lines(window, [row(n, displacement=float(litres) / 1000.0) for n, litres in enumerate(size)])
    assert line.property_ == "displacement"
    assert line.slope.value == pytest.approx(1.0, rel=1e-3)  # 2 % a litre, told for half a litre
    assert pooled_lines(pooled_windows(effects(), [(2000.0, 6000.0)], "%")[0], [row(n) for n in range(4)]) == ()


@pytest.mark.parametrize(("held", "count"), [(0, 7), (3, 4), (19, 20), (190, 200), (7, 7)])
def test_the_interval_of_a_count_is_that_of_scipy(held: int, count: int) -> None:
    expected = stats.binomtest(held, count).proportion_ci(0.95, method="exact")
    assert share_interval(held, count) == pytest.approx((expected.low, expected.high), abs=1e-9)
