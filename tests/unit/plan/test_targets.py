"""Claims and sizes become targets in per cent, by hand."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi
from typing import TYPE_CHECKING

import numpy as np
import pytest
from plan_cases import PLAIN, SPAN, factorial, target

from pullbook.capture.session_file import parse_session
from pullbook.errors import InputError, UnfinishedError
from pullbook.plan.odds import drawn_sizes
from pullbook.plan.targets import Resolve, found_span, interaction_targets, plan_targets
from pullbook.plan.terms import believed_scatter, stated_costs
from pullbook.records.plan import Ask
from pullbook.records.taught import Taught

if TYPE_CHECKING:
    from pullbook.records.session import Session

CLAIM = """
[[claim]]
id = "top"
says = "Short runners are worth 8 kW"
of = "B"
from = "A"
quantity = "power"
where = "{where}"
{size}
"""


def session(claim: str = "", plan: str = "") -> Session:
    return parse_session(PLAIN + (f"\n[plan]\n{plan}\n" if plan else "") + claim, tested=False)


def test_without_claims_every_build_is_held_against_the_baseline() -> None:
    (one,) = plan_targets(session(), None, SPAN)
    assert (one.name, one.ask, one.window, one.percent) == ("B - A", Ask.CLEAR, None, 2.0)


def test_a_size_in_newton_metres_needs_the_mean_torque() -> None:
    asked = Resolve(size=6.0, unit="N m", window=(2500.0, 3500.0))
    with pytest.raises(UnfinishedError, match=r"6\.0 N m cannot be turned into per cent.*mean_torque"):
        plan_targets(session(), asked, SPAN)
    (one,) = plan_targets(session(plan='mean_torque = "200 N m"'), asked, SPAN)
    assert one.percent == pytest.approx(3.0)


def test_a_size_in_kilowatts_is_held_against_torque_times_speed() -> None:
    asked = Resolve(size=5000.0, unit="W", window=(4000.0, 5000.0))
    (one,) = plan_targets(session(plan='mean_torque = "200 N m"'), asked, SPAN)
    assert one.percent == pytest.approx(100.0 * 5000.0 / (200.0 * 4500.0 * pi / 30.0))


def test_a_claim_is_to_be_told_from_a_truth_that_is_off_by_what_matters() -> None:
    claim = CLAIM.format(where="peak", size='at_least = "8 kW"')
    (one,) = plan_targets(session(claim, 'resolve = "1.5 %"\npeak_power = "120 kW"'), None, SPAN)
    assert (one.ask, one.at_peak, one.percent, one.unit) == (Ask.CLAIM, True, 1.5, "W")
    assert one.size == pytest.approx(1800.0)


def test_a_claim_of_no_difference_is_planned_with_its_margin() -> None:
    claim = CLAIM.format(where="5000..6000 rpm", size='within = "3 %"')
    (one,) = plan_targets(session(claim), None, SPAN)
    assert (one.ask, one.window) == (Ask.WITHIN, (5000.0, 6000.0))
    assert one.percent == pytest.approx(3.0)


def test_a_window_beyond_the_range_is_refused() -> None:
    with pytest.raises(InputError, match="beyond the range"):
        plan_targets(session(), Resolve(size=2.0, unit="%", window=(6000.0, 7000.0)), SPAN)


def test_a_session_of_one_build_compares_nothing() -> None:
    alone = parse_session(PLAIN.split('[[build]]\nname = "B"')[0], tested=False)
    with pytest.raises(InputError, match="compares nothing"):
        plan_targets(alone, None, SPAN)


def test_the_range_is_that_of_the_session_and_else_assumed() -> None:
    assert not found_span(session(), None).assumed
    bare = parse_session(PLAIN.replace('rpm = "2000..6500 rpm"\n', ""), tested=False)
    wide = found_span(bare, Resolve(size=1.0, unit="%", window=(1500.0, 3000.0)))
    assert (wide.rpm, wide.assumed) == ((1500.0, 6500.0), True)


def test_two_factors_that_make_a_square_have_an_interaction() -> None:
    builds = factorial(2, 3)
    (one,) = interaction_targets(builds, target("B1", "B0", 2.0))
    weights = dict(one.contrast)
    assert one.name == "cam with runners"
    assert sorted(weights.values()) == [-1.0, -1.0, 1.0, 1.0]
    assert weights["B0"] * weights["B4"] == 1.0  # opposite corners of the square of the first two levels
    assert interaction_targets(factorial(3), target("B1", "B0", 2.0)) == ()


def test_what_is_not_stated_is_assumed_and_told() -> None:
    costs, assumed = stated_costs(session())
    assert (costs.pull, costs.day, dict(costs.change)) == (360.0, 28_800.0, {"runners": 3000.0})
    assert len(assumed) == 2
    stated, told = stated_costs(session(plan='pull = "4 min"\nwarm_up = "8 min"'))
    assert (stated.pull, stated.warm_up, told) == (240.0, 480.0, ())


TAUGHT = Taught(
    sessions=14, says=(),
    beliefs={name: (log(value), 0.2) for name, value in
             {"pull": 0.2, "refit": 0.1, "walk": 0.15, "drift": 0.3, "shape": 0.25, "length": 500.0,
              "refit_shape": 0.4}.items()},
)  # fmt: skip


def test_earlier_sessions_teach_sizes_and_how_much_they_vary() -> None:
    belief = believed_scatter(session(), TAUGHT)
    assert [belief.pull, belief.refit, belief.walk, belief.drift, belief.shape, belief.length_rpm, belief.refit_shape] \
        == pytest.approx([0.2, 0.1, 0.15, 0.3, 0.25, 500.0, 0.4])  # fmt: skip
    # Beliefs are shaped like Student's t of five degrees of freedom, whose variance is 5/3 of its scale squared.
    assert belief.spreads["pull"] == pytest.approx(0.2 * 1.2910, rel=1e-4)
    assert belief.source.startswith("Scatter: 0.2 % a pull")
    assert "learnt from 14 earlier sessions" in belief.source
    drawn = drawn_sizes(replace(belief, spreads={"pull": 0.1, "refit": 0.0}), 4000, np.random.default_rng(1))
    assert np.log(drawn["pull"]).std() == pytest.approx(0.1, rel=0.1)
    assert np.log(drawn["shape"]).std() == pytest.approx(0.3, rel=0.1)  # nothing said: give or take a third
    assert np.ptp(drawn["refit"]) == 0.0


def test_what_is_stated_wins_over_what_earlier_sessions_taught() -> None:
    belief = believed_scatter(session(plan='scatter = { pull = "0.3 %" }'), TAUGHT)
    assert [belief.pull, belief.refit] == pytest.approx([0.3, 0.1])
    assert "pull" not in belief.spreads
    assert "stated for a pull; learnt from 14 earlier sessions" in belief.source


def test_scatter_that_is_stated_wins_over_what_is_usual() -> None:
    belief = believed_scatter(session(plan='scatter = { pull = "0.3 %", refit = "0.1 %" }'))
    assert [belief.pull, belief.refit] == pytest.approx([0.3, 0.1])
    assert "stated for a pull, a re-fitting; usual values" in belief.source
