"""The invented engine does what its formula says."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.bench.engine_curve import Header, Setup, full_load_torque, tuned_speed, volumetric_efficiency

BASELINE = Setup(runner_length=0.340, header=Header.FOUR_ONE, inlet_advance_deg=0.0)
OTHER = Setup(runner_length=0.260, header=Header.FOUR_TWO_ONE, inlet_advance_deg=4.0)


@pytest.mark.parametrize(
    # Worked out with a pocket-calculator script from the printed formula, not with the module.
    ("setup", "speed", "efficiency", "torque"),
    [
        (BASELINE, 2500.0, 0.8912756, 195.36300),
        (BASELINE, 4700.0, 1.0739971, 225.82003),
        (BASELINE, 6500.0, 0.9732555, 184.99391),
        (OTHER, 2500.0, 0.9098945, 199.92647),
        (OTHER, 6500.0, 0.9649412, 182.95608),
    ],
)
def test_torque_is_what_the_printed_formula_gives(setup: Setup, speed: float, efficiency: float, torque: float) -> None:
    assert volumetric_efficiency(np.array([speed]), setup)[0] == pytest.approx(efficiency, abs=1e-6)
    assert full_load_torque(np.array([speed]), setup)[0] == pytest.approx(torque, abs=1e-4)


def test_tuned_speed_is_the_quarter_wave_rule() -> None:
    # Quarter wave of 0.4434932 m at 345 m/s: 194.479 Hz; five pulses a cycle: 120 / 5 x 194.479 = 4667.5 rpm.
    assert tuned_speed(0.340) == pytest.approx(4667.5, abs=0.1)


def test_levels_are_those_of_a_tuned_street_engine() -> None:
    # 95 to 110 N m a litre at the peak, 55 to 65 kW a litre: table of plausible values, tuned street column.
    speed = np.arange(2000.0, 7001.0, 10.0)
    torque = full_load_torque(speed, BASELINE)
    power = torque * speed * np.pi / 30.0
    assert 95.0 * 2.2 < torque.max() < 110.0 * 2.2
    assert 55e3 * 2.2 < power.max() < 65e3 * 2.2


def test_short_runners_lose_below_and_win_above_one_crossover() -> None:
    speed = np.arange(2000.0, 7001.0, 10.0)
    short = Setup(runner_length=0.260, header=Header.FOUR_ONE, inlet_advance_deg=0.0)
    gain = full_load_torque(speed, short) - full_load_torque(speed, BASELINE)
    assert np.count_nonzero(np.diff(np.sign(gain))) == 1
    assert gain[speed == 4000.0][0] < 0.0 < gain[speed == 6000.0][0]
