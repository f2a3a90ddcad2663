"""Evidence of a session: the same effects and doubts as its findings, every two levels, and the baseline by itself."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from noise_model import BENCH, Noise, simulate

from pullbook.compare.evidence import against_itself, evidence_of
from pullbook.compare.findings import compare_pulls
from pullbook.curves.windows import window_weights
from pullbook.records.build import Build, Factor

if TYPE_CHECKING:
    from pullbook.records.comparison import Comparison
    from pullbook.records.evidence import Evidence


@cache
def session(order: str = "AABBCCAA", seed: int = 3) -> Comparison:
    made = simulate(order, BENCH, np.random.default_rng(seed), draws=2000).comparison
    levels = {"A": "small", "B": "middle", "C": "big"}
    builds = tuple(Build(name=name, baseline=name == "A", levels={"pipe": levels[name]}) for name in sorted(set(order)))
    factor = Factor(name="pipe", levels=("small", "middle", "big"))
    return replace(made, builds=builds, factors=(factor,), windows=((3000.0, 4000.0),))


@cache
def evidence() -> Evidence:
    return evidence_of(session())


def test_every_two_levels_have_an_effect_and_the_baseline_is_one_of_them() -> None:
    assert [(one.from_level, one.to_level) for one in evidence().effects] == [
        ("small", "middle"), ("small", "big"), ("middle", "big"),
    ]  # fmt: skip
    first, second, between = (one.gain for one in evidence().effects)
    assert between == pytest.approx(second - first, rel=1e-9)


def test_effects_and_their_doubts_are_those_of_the_findings() -> None:
    found = compare_pulls(session())
    for effect, own in zip(found.effects, evidence().effects, strict=False):
        assert own.gain == pytest.approx(effect.torque.mean, rel=1e-9)  # type: ignore[union-attr] # both are estimable
        weights = window_weights(evidence().grid_rpm, 3000.0, 4000.0)
        known = effect.windows[0].torque
        assert float(weights @ own.gain) == pytest.approx(known.value, rel=1e-9)
        # Half-widths of 95 % of draws whose tails are a little heavier than normal ones.
        sd = float(np.sqrt(((own.modes @ weights) ** 2).sum()))
        assert known.high - known.value == pytest.approx(1.96 * sd, rel=0.12)
        band = effect.torque.high - effect.torque.mean  # type: ignore[union-attr] # as above
        assert own.band_factor == pytest.approx(float(np.mean(band / own.sd)), rel=1e-6)


def test_without_factors_every_two_builds_are_compared() -> None:
    plain = replace(session(), factors=())
    assert [(one.from_level, one.to_level) for one in evidence_of(plain).effects] == [
        ("A", "B"), ("A", "C"), ("B", "C"),
    ]  # fmt: skip


def test_one_pull_of_each_build_leaves_no_effect_and_no_scatter() -> None:
    told = evidence_of(session("AB"))
    assert (told.effects, told.scatter, told.itself) == ((), b"", None)


def test_a_baseline_that_was_fitted_once_cannot_be_held_against_itself() -> None:
    assert against_itself(session("AABB")) is None


def test_a_baseline_that_came_back_another_is_told() -> None:
    quiet = session("AABBAA")
    last = max(pull.fitting for pull in quiet.pulls if pull.build == "A")
    moved = tuple(
        replace(pull, torque=pull.torque * (1.0 + 0.0001 * (pull.speed_rpm - 3500.0))) if pull.fitting == last else pull
        for pull in quiet.pulls
    )
    told = against_itself(replace(quiet, pulls=moved))
    assert told is not None
    assert (told.held, told.worst > 1.0) == (False, True)


def test_whoever_looked_on_the_way_leaves_the_same_evidence() -> None:
    told = evidence_of(replace(session(), confidence=0.99))
    assert [one.band_factor for one in told.effects] == [one.band_factor for one in evidence().effects]


def test_the_baseline_agrees_with_itself_about_as_often_as_the_bands_say() -> None:
    # 24 sessions at 95 %: fewer than 20 come in less than 6 of 1,000 such tests (binomial).
    noise: Noise = BENCH
    told = [
        against_itself(simulate("AABBAABB", noise, np.random.default_rng(seed), draws=600).comparison)
        for seed in range(24)
    ]
    held = [one.held for one in told if one is not None]
    assert len(held) == 24
    assert sum(held) >= 20
