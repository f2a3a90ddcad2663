"""Figures of engines, against arithmetic in the trade's units (conversions: NIST SP 811, exact)."""

from __future__ import annotations

from typing import Final

import pytest

from pullbook.engine.figures import (
    brake_efficiency,
    brake_mean_pressure,
    full_air_flow,
    mean_piston_speed,
    power_of_air,
)

INCH: Final = 0.0254
LB_FT: Final = 1.3558179483314
PSI: Final = 6894.757293168
CFM: Final = 4.719474432e-4
HP: Final = 745.699871582270
LB: Final = 0.45359237


def test_brake_mean_pressure_has_the_worked_values() -> None:
    # Heywood 1988, eq. 2.20: 200 N m on 2.0 L -> 12.56637 bar; 500 lb ft on 350 in3 -> 215.423 psi = 14.853 bar.
    assert brake_mean_pressure(200.0, 2e-3) / 1e5 == pytest.approx(12.56637, rel=1e-6)
    big = brake_mean_pressure(500.0 * LB_FT, 350.0 * INCH**3)
    assert big / PSI == pytest.approx(215.423, rel=1e-5)
    assert big / 1e5 == pytest.approx(14.853, rel=1e-4)


def test_mean_piston_speed_has_the_worked_values() -> None:
    # Heywood 1988, eq. 2.20: 3.48 in at 6500 rpm -> 19.1516 m/s = 3770.0 ft/min; 86.6 mm at 6000 -> 17.320 m/s.
    assert mean_piston_speed(3.48 * INCH, 6500.0) == pytest.approx(19.1516, rel=1e-5)
    assert mean_piston_speed(3.48 * INCH, 6500.0) / 0.3048 * 60.0 == pytest.approx(3770.0, rel=1e-6)
    assert mean_piston_speed(0.0866, 6000.0) == pytest.approx(17.320, rel=1e-5)


def test_air_flow_has_the_worked_values() -> None:
    # Arithmetic in exact units (NIST SP 811): 350 in3 at 6500 rpm -> 658.275 cfm; 302 at 6000 -> 524.306;
    # 5.735 L at 5500 rpm and 1.184 kg/m3 -> 0.311219 kg/s.
    assert full_air_flow(350.0 * INCH**3, 6500.0) / CFM == pytest.approx(658.275, rel=1e-6)
    assert full_air_flow(302.0 * INCH**3, 6000.0) / CFM == pytest.approx(524.306, rel=1e-6)
    assert full_air_flow(5.735e-3, 5500.0, 1.184) == pytest.approx(0.311219, rel=2e-6)


def test_brake_efficiency_has_the_worked_values() -> None:
    # Arithmetic in exact units (NIST SP 811): 250 g/kWh at 43.5 MJ/kg -> 33.103 %; 273.725 g/kWh (0.45 lb/hp/h) at
    # 44.0 -> 29.891 %.
    assert brake_efficiency(250e-3 / 3.6e6, 43.5e6) == pytest.approx(0.33103, rel=2e-5)
    assert brake_efficiency(0.45 * LB / (HP * 3600.0), 44.0e6) == pytest.approx(0.29891, rel=3e-5)


@pytest.mark.parametrize(
    ("ratio", "consumption", "expected"),
    # Arithmetic in exact units (NIST SP 811): hp per cfm of air at 0.076474 lb/ft3.
    [(12.5, 0.45, 0.81573), (12.8, 0.50, 0.71695), (13.2, 0.42, 0.82764)],
)
def test_horsepower_of_a_cubic_foot_of_air_has_the_worked_values(
    ratio: float, consumption: float, expected: float
) -> None:
    density = 0.076474 * LB / 0.3048**3
    found = power_of_air(density, ratio, consumption * LB / (HP * 3600.0))
    assert found * CFM / HP == pytest.approx(expected, rel=2e-5)
