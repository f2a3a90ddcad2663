"""Spark of best torque against full simulations on both sides of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from engines import engine, network_of

from pullbook.engine.cycle import CycleLimits, run_until_settled
from pullbook.engine.friction_models import friction_of
from pullbook.engine.outputs import run_point
from pullbook.engine.simulate import operating_of

if TYPE_CHECKING:
    from pullbook.engine.operating import Burn
    from pullbook.records.simulation import RunPoint

TIGHT: Final = CycleLimits(work=2e-6, trapped=1e-5, residual=1e-5, spark_deg=0.02, fewest=6, most=40)


def settled(name: str, speed_rpm: float, limits: CycleLimits = TIGHT, **burn: float) -> RunPoint:
    given = engine(name)
    spec = replace(given, spark=replace(given.spark, mode="best"))
    operating = operating_of(spec, speed_rpm)
    changed_burn: Burn = replace(operating.burn, **burn)
    done = run_until_settled(network_of(name), replace(operating, burn=changed_burn), 0.030, limits)
    return run_point(done, friction_of(spec), spec.fuel.octane_number)


@pytest.mark.parametrize(("name", "speed"), [("inline-four", 5000.0), ("v8-cross-plane", 3500.0), ("single", 9000.0)])
def test_torque_is_within_0_02_per_cent_of_the_best_half_burned_angle(name: str, speed: float) -> None:
    found = settled(name, speed)
    half = float(np.mean([one.half_burned_deg for one in found.cylinders]))
    # The shipped engines are best 5 to 7 deg after top dead centre here; 8 deg, what is usual, costs 0.1 to 0.3 %.
    assert 4.0 < half < 7.5
    angles = half + np.array([-2.5, 0.0, 2.5])
    torques = [settled(name, speed, ca50_deg=float(angle)).torque for angle in angles]
    parabola = np.polyfit(angles - half, torques, 2)
    best = float(np.polyval(parabola, -parabola[1] / (2.0 * parabola[0])))
    assert max(torques) <= best
    assert found.torque == pytest.approx(best, rel=2e-4)
    # The comparison can tell: three degrees beside it cost more than that.
    assert np.polyval(parabola, 3.0) < best * (1.0 - 5e-4)


def test_where_filling_hangs_on_the_spark_the_search_is_off_by_what_the_page_says() -> None:
    found = settled("single", 3000.0)
    torques = [settled("single", 3000.0, ca50_deg=angle).torque for angle in (6.0, 7.0, 8.0)]
    assert 0.0015 < max(torques) / found.torque - 1.0 < 0.0035


def test_the_search_settles_with_the_cycles() -> None:
    usual = CycleLimits()
    given = settled("inline-four", 5000.0, usual, ca50_deg=6.0)
    searched = settled("inline-four", 5000.0, usual)
    assert searched.quality.converged
    assert searched.quality.cycles <= given.quality.cycles + 2
    exact = settled("inline-four", 5000.0)
    gaps = [a.half_burned_deg - b.half_burned_deg for a, b in zip(searched.cylinders, exact.cylinders, strict=True)]
    assert np.abs(gaps).max() < 0.1


def test_a_spark_that_still_moves_is_told() -> None:
    limits = CycleLimits(work=1.0, trapped=1.0, residual=1.0, spark_deg=1e-9, fewest=3, most=3)
    quality = settled("single", 9000.0, limits).quality
    assert not quality.converged
    assert quality.reason.startswith("the spark of best torque still moves by")


def test_a_spark_that_is_held_and_the_half_burned_angle_that_follows_are_told() -> None:
    given = settled("single", 7000.0, CycleLimits(), ca50_deg=12.0).cylinders[0]
    assert given.half_burned_deg == 12.0
    held = settled("single", 7000.0, CycleLimits(), spark_deg=given.spark_deg).cylinders[0]
    assert held.spark_deg == given.spark_deg
    # The duration does not depend on the spark, so that the two ways to say it agree.
    assert held.half_burned_deg == pytest.approx(12.0, abs=0.05)


def test_friction_that_knows_of_the_peak_pressure_makes_the_best_spark_later() -> None:
    free = settled("single", 7000.0, CycleLimits(), friction_by_pressure=0.0)
    usual = settled("single", 7000.0, CycleLimits())
    assert usual.cylinders[0].half_burned_deg > free.cylinders[0].half_burned_deg + 0.7
