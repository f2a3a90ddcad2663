"""Factor effects and interactions through published factorial experiments; statistics note, section 10, D and E."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import pytest
from gaussian_joint import GRID_RPM, flat_comparison, known_joint

from pullbook.compare.effects import factor_contrasts
from pullbook.compare.findings import findings_from
from pullbook.compare.interactions import interaction_contrasts
from pullbook.records.build import Build, Factor

if TYPE_CHECKING:
    from pullbook.records.finding import Findings

FLAT = np.full(GRID_RPM.shape, 100.0)
# NIST/SEMATECH e-Handbook 5.6.1 (pri618.htm): eddy current probe, 2^3 in standard order; X1 and X2 as published there.
EDDY = (1.70, 4.57, 0.55, 3.39, 1.51, 4.59, 0.67, 4.29)
# D. C. Montgomery, Design and Analysis of Experiments: filtration rate, 2^4 in standard order (from memory).
FILTRATION = (45, 71, 48, 65, 68, 60, 80, 65, 43, 100, 45, 104, 75, 86, 70, 96)
# The same book: plasma etch, 2^3 with two runs each (from memory), here the means.
ETCH = (577.0, 659.5, 617.0, 638.5, 1044.5, 808.5, 1069.0, 794.5)


def layout(count: int) -> tuple[list[Build], list[Factor]]:
    """Builds of a complete two-level layout in standard order, the first factor changing fastest."""
    names = "ABCD"[:count]
    rows = [levels[::-1] for levels in product("-+", repeat=count)]
    builds = [
        Build(name=f"{number}", baseline=number == 0, levels=dict(zip(names, levels, strict=True)))
        for number, levels in enumerate(rows)
    ]
    return builds, [Factor(name=name, levels=("-", "+")) for name in names]


def effect(values: tuple[float, ...], weights: dict[str, float]) -> float:
    return sum(weight * values[int(name)] for name, weight in weights.items())


@pytest.mark.parametrize(
    ("values", "effects"),
    [
        (EDDY, (3.1025, -0.8675, 0.2125)),
        (FILTRATION, (21.625, 3.125, 9.875, 14.625)),
        (ETCH, (-101.625, 7.375, 306.125)),
    ],
)
def test_published_main_effects(values: tuple[float, ...], effects: tuple[float, ...]) -> None:
    builds, factors = layout(len(effects))
    contrasts = factor_contrasts(builds, factors, "0")
    assert [contrast.factor for contrast in contrasts] == [factor.name for factor in factors]
    for contrast, published in zip(contrasts, effects, strict=True):
        assert effect(values, dict(contrast.weights)) == pytest.approx(published, abs=5e-4)
        assert contrast.aliased_with == ""


@pytest.mark.parametrize(
    ("values", "factors", "published"),
    [
        (EDDY, ("A", "B"), 0.1275),
        (EDDY, ("A", "C"), 0.2475),
        (EDDY, ("B", "C"), 0.2975),
        (FILTRATION, ("A", "C"), -18.125),
        (FILTRATION, ("A", "D"), 16.625),
        (ETCH, ("A", "C"), -153.625),
    ],
)
def test_published_interactions_are_half_the_difference_of_the_gains(
    values: tuple[float, ...], factors: tuple[str, str], published: float
) -> None:
    builds, all_factors = layout(len(values).bit_length() - 1)
    contrasts = {(one.factor, one.with_factor): one for one in interaction_contrasts(builds, all_factors, "0")}
    assert effect(values, dict(contrasts[factors].weights)) / 2 == pytest.approx(published, abs=5e-4)


def test_missing_combinations_leave_the_effects_of_an_additive_truth() -> None:
    builds, factors = layout(3)
    kept = [builds[n] for n in (0, 1, 2, 3, 4)]
    values = (0.0, 2.0, 3.0, 5.0, -1.0)  # A adds 2, B adds 3, C takes 1
    contrasts = factor_contrasts(kept, factors, "0")
    assert [effect(values, dict(one.weights)) for one in contrasts] == pytest.approx([2.0, 3.0, -1.0])
    assert [(one.factor, one.with_factor) for one in interaction_contrasts(kept, factors, "0")] == [("A", "B")]


def test_factors_that_were_changed_together_are_named_and_not_estimated() -> None:
    builds, factors = layout(3)
    kept = [builds[n] for n in (0, 3, 4, 7)]  # A and B always together, C by itself
    first, second, third = factor_contrasts(kept, factors, "0")
    assert (first.aliased_with, second.aliased_with) == ("B (- to +)", "A (- to +)")
    assert (first.weights, third.aliased_with) == ({}, "")
    assert third.weights == {"0": -0.5, "3": -0.5, "4": 0.5, "7": 0.5}


def test_a_third_level_is_compared_with_that_of_the_baseline() -> None:
    builds = [
        Build(name=name, baseline=name == "b", levels={"pipe": level}) for name, level in zip("abc", "123", strict=True)
    ]
    contrasts = factor_contrasts(builds, [Factor(name="pipe", levels=("1", "2", "3"))], "b")
    assert [(one.from_level, one.to_level, dict(one.weights)) for one in contrasts] == [
        ("2", "1", {"a": 1.0, "b": -1.0}),
        ("2", "3", {"b": -1.0, "c": 1.0}),
    ]


def _square(bump: float) -> Findings:
    names = {"A": ("0", "0"), "B": ("1", "0"), "C": ("0", "1"), "D": ("1", "1")}
    builds = tuple(
        Build(name=name, baseline=name == "A", levels={"header": header, "cam": cam})
        for name, (header, cam) in names.items()
    )
    factors = (Factor(name="header", levels=("0", "1")), Factor(name="cam", levels=("0", "1")))
    hill = bump * np.exp(-(((GRID_RPM - 4500.0) / 300.0) ** 2))
    curves = {"A": FLAT, "B": FLAT + 1.0, "C": FLAT - 2.0, "D": FLAT - 1.0 + hill}
    comparison = flat_comparison("AAABBBCCCDDD", builds=builds, factors=factors, windows=((3000.0, 4000.0),))
    return findings_from(comparison, known_joint(curves))


def test_an_interaction_is_found_where_it_is() -> None:
    (found,) = _square(6.0).interactions
    assert found.differs
    # Four levels of 0.5 %: sd 1 % or 2 N m, so that 12 N m exp(-x^2/300^2) must exceed 3.92: |x| < 317 rpm.
    assert (found.differs_from_rpm, found.differs_to_rpm) == (4200.0, 4800.0)
    assert found.torque.mean.max() == pytest.approx(12.0)


def test_without_an_interaction_the_smallest_margin_is_told_and_no_sameness() -> None:
    (found,) = _square(0.0).interactions
    assert not found.differs
    assert found.differs_from_rpm is None
    assert found.smallest_margin == pytest.approx(1.645 * 2.0, rel=0.05)  # 90 % interval of sd 2 N m


def test_effects_carry_bands_and_windows() -> None:
    header, cam = _square(0.0).effects
    assert header.torque is not None
    assert cam.torque is not None
    assert header.torque.mean == pytest.approx(np.full(GRID_RPM.size, 2.0))
    assert cam.torque.mean == pytest.approx(np.full(GRID_RPM.size, -4.0))
    # Mean of two builds minus mean of two: sd 0.5 % = 1 N m.
    assert header.torque.high - header.torque.mean == pytest.approx(np.full(GRID_RPM.size, 1.96), rel=0.05)
    assert header.windows[0].torque.value == pytest.approx(2.0)
    assert header.windows[0].percent.value == pytest.approx(100.0 * 2.0 / 198.0)  # of the mean of A and C
