"""Knock estimate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from constant_gas import constant_gas

from pullbook.engine.knock import estimate_knock
from pullbook.gas.burn import wiebe
from pullbook.gas.components import gas_table
from pullbook.gas.fuels import FUELS

if TYPE_CHECKING:
    from pullbook.engine.knock import KnockEstimate


def estimate(
    octane: float = 97.0, *, advance: float = 0.0, ratio: float = 10.0, speed: float = 2500.0
) -> KnockEstimate:
    """A made-up full-load trace: polytropic compression, and a rise to four times that while the charge burns."""
    angle = np.arange(-130.0, 60.0, 0.5)
    volume = 1.0 + 0.5 * (ratio - 1.0) * (1.0 - np.cos(np.radians(angle)))
    burned = np.array([wiebe((one + 17.0 + advance) / 48.0, 5.0, 2.0) for one in angle.tolist()])
    pressure = 1e5 * (volume[0] / volume) ** 1.32 * (1.0 + 2.2 * burned)
    return estimate_knock(angle, pressure, burned, (1e5, 345.0), (octane, speed))


def test_integral_at_constant_state_is_time_over_delay() -> None:
    # 40 atm and 850 K (held), octane 95: 2.4538 ms (see the end gas); 6 deg at 1000 rpm last 1 ms.
    angle = np.arange(0.0, 7.0)
    pressure = np.full(7, 40.0 * 101325.0)
    found = estimate_knock(angle, pressure, np.zeros(7), (40.0 * 101325.0, 850.0), (95.0, 1000.0))
    assert found.integral[-1] == pytest.approx(1.0 / 2.4538, rel=3e-4)
    assert found.onset_deg is None
    assert found.trusted


def test_onset_is_where_the_integral_reaches_one() -> None:
    # As above: 2.4538 ms are 14.723 deg.
    angle = np.arange(0.0, 31.0)
    pressure = np.full(31, 40.0 * 101325.0)
    found = estimate_knock(angle, pressure, np.zeros(31), (40.0 * 101325.0, 850.0), (95.0, 1000.0))
    assert found.onset_deg == pytest.approx(14.723, abs=0.01)
    assert not found.trusted
    assert "not to be trusted" in found.says
    assert found.margin < 0.0


def test_poor_fuel_early_spark_and_high_compression_bring_knock_and_speed_takes_it_away() -> None:
    usual = estimate().margin
    assert estimate(91.0).margin < usual
    assert estimate(advance=8.0).margin < usual
    assert estimate(ratio=11.5).margin < usual
    assert estimate(speed=6000.0).margin > usual


def test_near_knock_the_estimate_says_that_it_cannot_tell() -> None:
    octanes = np.arange(70.0, 130.0)
    margins = np.array([estimate(float(octane)).margin for octane in octanes])
    near = float(octanes[(margins > 0.0) & (margins < 0.3)][0])
    assert "cannot tell" in estimate(near).says
    assert estimate(near).trusted
    assert estimate(130.0).says == "no knock is expected"


def test_mixture_that_is_given_replaces_the_mean_heat_capacity() -> None:
    angle = np.arange(0.0, 41.0)
    pressure = 1e5 * np.geomspace(1.0, 60.0, 41)
    table = gas_table(FUELS["petrol"], 0.88)
    mean = estimate_knock(angle, pressure, np.zeros(41), (1e5, 345.0), (95.0, 3000.0))
    exact = estimate_knock(angle, pressure, np.zeros(41), (1e5, 345.0), (95.0, 3000.0), (table, 0.05, 0.069))
    assert exact.end_gas[-1] == pytest.approx(mean.end_gas[-1], abs=4.0)
    # Pure air is hotter.
    assert estimate_knock(
        angle, pressure, np.zeros(41), (1e5, 345.0), (95.0, 3000.0), (constant_gas(1.35), 0.0, 0.0)
    ).end_gas[-1] == pytest.approx(345.0 * 60.0 ** (0.35 / 1.35), rel=1e-5)


def test_end_gas_that_is_gone_no_longer_ignites() -> None:
    angle = np.arange(0.0, 31.0)
    pressure = np.full(31, 40.0 * 101325.0)
    burned = np.where(angle < 10.0, 0.5, 0.9)
    found = estimate_knock(angle, pressure, burned, (40.0 * 101325.0, 850.0), (95.0, 1000.0))
    assert found.onset_deg is None
    assert found.integral[-1] == pytest.approx(10.0 / 14.723, rel=1e-3)
