"""The shipped engines at full throttle: no knock at any speed they are made for, no steps that no builder believes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from engines import COARSE, changed, engine

from pullbook.bench.demo_engine import SETUPS, engine_file
from pullbook.engine.engine_file import parse_engine
from pullbook.engine.simulate import simulate_curve

if TYPE_CHECKING:
    from pullbook.engine.parts import EngineSpec

HIGHEST: Final = {"inline-four": 7000, "v8-cross-plane": 6500, "single": 10500}  # rpm


def knock_of(spec: EngineSpec, speeds: range) -> dict[float, float]:
    """Largest knock integral of any cylinder, by speed."""
    points = simulate_curve(spec, [float(speed) for speed in speeds], COARSE).points
    assert len(points) == len(speeds)
    return {one.speed_rpm: max(each.knock_integral for each in one.cylinders) for one in points}


# Knock is announced from 1 on; the estimate cannot tell better than a tenth.
@pytest.mark.parametrize("name", HIGHEST)
def test_a_shipped_engine_does_not_knock(name: str) -> None:
    found = knock_of(engine(name), range(2000, HIGHEST[name] + 1, 500))
    assert {speed: integral for speed, integral in found.items() if integral > 0.95} == {}


@pytest.mark.parametrize("build", SETUPS)
def test_a_build_of_the_demo_does_not_knock(build: str) -> None:
    found = knock_of(parse_engine(engine_file(build)), range(1900, 7101, 400))
    assert {speed: integral for speed, integral in found.items() if integral > 0.98} == {}


def test_the_four_would_knock_with_the_spark_of_best_torque() -> None:
    sharp = changed("inline-four", ('"18   16   12   11   9 deg"', '"8 8 8 8 8 deg"'))
    assert knock_of(sharp, range(2000, 2501, 500))[2500.0] > 1.0


@pytest.mark.parametrize(("name", "most"), [("inline-four", 0.10), ("v8-cross-plane", 0.10)])
def test_torque_changes_by_no_more_than_a_tenth_in_500_rpm(name: str, most: float) -> None:
    # Tuned pipes make humps; an engine with one throttle and moderate camshafts has none that are steeper.
    speeds = [float(speed) for speed in range(2000, HIGHEST[name] + 1, 500)]
    torque = np.array([one.torque for one in simulate_curve(engine(name), speeds, COARSE).points])
    assert torque.size == len(speeds)
    assert np.abs(torque[1:] / torque[:-1] - 1.0).max() < most
