"""Inertia torque of a sweep, and inertia from two sweep rates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders import make_pull, torque_of

from pullbook.correct.apply import correct_pull
from pullbook.correct.estimate_inertia import estimate_inertia
from pullbook.correct.inertia import acceleration_of, inertia_torque
from pullbook.errors import RefusalError
from pullbook.quantities.channels import Channel
from pullbook.records.build import Engine
from pullbook.records.declaration import Air, Standard
from pullbook.records.pull import Direction, TorqueKind

if TYPE_CHECKING:
    from pullbook.records.pull import Pull

INERTIA = 0.21


@pytest.mark.parametrize(
    ("inertia", "rate", "newton_metre", "rpm", "kilowatt"),
    # J dw/dt with dw/dt = rate pi / 30, by hand: 0.30 x 31.4159, 0.5 x 62.8319, 0.25 x 31.4159.
    [(0.30, 300.0, 9.4248, 6000.0, 5.922), (0.5, 600.0, 31.416, 6000.0, 19.739), (0.25, 300.0, 7.854, 0.0, 0.0)],
)
def test_inertia_torque_meets_the_worked_examples(
    inertia: float, rate: float, newton_metre: float, rpm: float, kilowatt: float
) -> None:
    torque = float(inertia_torque(np.array([rate]), inertia)[0])
    assert torque == pytest.approx(newton_metre, rel=1e-4)
    assert torque * rpm * np.pi / 30_000 == pytest.approx(kilowatt, abs=1e-3)


def sweep(rate: float, *, down: bool = False, level: float = 0.0, generator: np.random.Generator | None = None) -> Pull:
    """Pull of build A at a rate in rpm/s, whose brake torque is short of the inertia torque; jittered when noisy."""
    time = np.arange(0.0, 4500.0 / rate, 0.02)
    noise = 0.0 * time
    if generator is not None:
        noise = generator.normal(0.0, 1.0, time.size)
        time = np.sort(time + generator.normal(0.0, 0.003, time.size))
    sign = -1.0 if down else 1.0
    speed = (6500.0 if down else 2000.0) + sign * rate * time
    torque = torque_of("A", speed) * (1.0 + level) - INERTIA * sign * rate * np.pi / 30 + 2.0 * noise
    return make_pull(
        speed_rpm=speed + 4.0 * noise, direction=Direction.DOWN if down else Direction.UP,
        channels={Channel.TIME: time, Channel.TORQUE: torque, Channel.POWER: torque * speed * np.pi / 30},
    )  # fmt: skip


def test_pulls_at_two_rates_agree_once_their_inertia_torque_is_added() -> None:
    speeds = np.arange(2200.0, 6300.0, 100.0)
    curves = []
    for pull in (sweep(150.0), sweep(600.0), sweep(300.0, down=True)):
        result = correct_pull(pull, air=Air(), engine=Engine(), standard=Standard.NONE, inertia=INERTIA)
        order = np.argsort(result.speed_rpm)
        curves.append(np.interp(speeds, result.speed_rpm[order], result.torque[order]))
    np.testing.assert_allclose(curves[1], curves[0], atol=0.02)
    np.testing.assert_allclose(curves[2], curves[0], atol=0.02)
    # 0.21 kg m^2 x 450 rpm/s x pi / 30 = 9.9 N m apart without the correction.
    raw = [pull.channels[Channel.TORQUE] for pull in (sweep(150.0), sweep(600.0))]
    assert raw[0].mean() - raw[1].mean() == pytest.approx(9.896, abs=0.1)


def test_rate_of_a_down_sweep_is_negative() -> None:
    assert acceleration_of(sweep(300.0, down=True)).sweep_rate.max() < -299.0


def test_derivative_does_not_look_across_the_left_out_rows_of_a_gear_change() -> None:
    first, second = np.arange(0.0, 4.0, 0.1), np.arange(4.6, 9.0, 0.1)
    time = np.concatenate([first, second])
    speed = np.concatenate([2000.0 + 400.0 * first, 2300.0 + 250.0 * (second - 4.6)])
    rate = acceleration_of(make_pull(speed_rpm=speed, channels={Channel.TIME: time})).sweep_rate
    np.testing.assert_allclose(rate[: first.size], 400.0, rtol=1e-9)
    np.testing.assert_allclose(rate[first.size :], 250.0, rtol=1e-9)


def test_bandwidth_asked_for_is_the_one_that_is_stated() -> None:
    steps = {step.name: step.value for step in acceleration_of(sweep(300.0), 0.8).steps}
    assert steps["derivative bandwidth"] == 0.8
    assert steps["derivative bandwidth in speed"] == pytest.approx(240.0, rel=1e-3)


def test_inertia_is_found_from_an_up_and_a_down_sweep() -> None:
    # J = (T_down - T_up) / (|alpha_up| + |alpha_down|) at equal speed, the value put in being 0.21 kg m^2.
    estimate = estimate_inertia([sweep(300.0), sweep(300.0, down=True)])
    assert estimate.value == pytest.approx(INERTIA, rel=1e-3)
    assert estimate.unit == "kg m^2"
    assert estimate.low < INERTIA < estimate.high
    assert "0.5 % of torque" in estimate.says


def test_inertia_is_found_from_two_rates_with_noise_and_jitter() -> None:
    generator = np.random.default_rng(11)
    pulls = [sweep(rate, level=generator.normal(0.0, 0.003), generator=generator) for rate in (150.0, 600.0) * 3]
    estimate = estimate_inertia(pulls)
    assert estimate.low < INERTIA < estimate.high
    assert estimate.high - estimate.low < 0.15
    assert "6 pulls" in estimate.says


def test_interval_holds_the_true_inertia_in_95_of_100_cases() -> None:
    generator = np.random.default_rng(12)
    hits = 0
    for _ in range(100):
        pulls = [sweep(rate, level=generator.normal(0.0, 0.005), generator=generator) for rate in (200.0, 600.0) * 2]
        estimate = estimate_inertia(pulls)
        hits += estimate.low <= INERTIA <= estimate.high
    assert 89 <= hits <= 99  # 95 per cent, with two and a half standard errors of 100 trials


def test_interval_that_reaches_zero_is_said_in_words() -> None:
    generator = np.random.default_rng(13)
    pulls = [sweep(rate, level=level, generator=generator) for rate, level in ((300.0, 0.0), (360.0, 0.001))]
    assert "cannot be told from zero" in estimate_inertia(pulls).says


@pytest.mark.parametrize(
    ("pulls", "what"),
    [
        ([sweep(300.0)], "one pull"),
        ([sweep(300.0), sweep(305.0)], "nearly the same rate"),
        ([sweep(150.0), sweep(600.0, level=0.2)], "does not fall"),
        ([make_pull(speed_rpm=np.arange(2000.0, 3000.0, 6.0)), make_pull(speed_rpm=np.arange(4000.0, 5000.0, 6.0))],
         "share no range"),
    ],
)  # fmt: skip
def test_pulls_that_cannot_tell_the_inertia_are_refused_with_what_to_do(pulls: list[Pull], what: str) -> None:
    with pytest.raises(RefusalError, match=what) as refused:
        estimate_inertia(pulls)
    assert refused.value.remedy


def test_signal_without_calibration_gives_the_inertia_in_its_own_unit() -> None:
    volts = [
        make_pull(
            torque_kind=TorqueKind.RELATIVE, speed_rpm=pull.channels[Channel.SPEED],
            channels={Channel.TIME: pull.channels[Channel.TIME],
                      Channel.LOAD_SIGNAL: pull.channels[Channel.TORQUE] / 60},
        )
        for pull in (sweep(150.0), sweep(600.0))
    ]  # fmt: skip
    estimate = estimate_inertia(volts)
    assert estimate.unit == "signal s^2"
    assert estimate.value == pytest.approx(INERTIA / 60, rel=1e-2)
