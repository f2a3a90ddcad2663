"""Rules of the trade against their worked examples."""

from __future__ import annotations

import math
from typing import Final

import pytest

from pullbook.engine.handbook import (
    area_rule_area,
    area_rule_speed,
    bell_primary_bore,
    bell_primary_length,
    inlet_mach_index,
    speed_of_mach_index,
    taylor_filling,
)
from pullbook.engine.handbook_waves import (
    engelman_speed,
    helmholtz_frequency,
    length_of_round_trip,
    quarter_wave_frequency,
    round_trip_deg,
    speed_of_order,
)

INCH: Final = 0.0254
FOOT: Final = 0.3048


def test_mach_index_has_the_worked_values() -> None:
    # Taylor, chapter 6 (from memory) (Taylor): 101.6 / 51.3 mm, 19.15 m/s, 0.35, 343 m/s -> 0.62569;
    # 86 mm, two of 33 mm, 18 m/s, 0.37 -> 0.48163.
    assert inlet_mach_index(0.1016, 0.0513, 19.15, 0.35, 343.0) == pytest.approx(0.62569, abs=5e-6)
    assert inlet_mach_index(0.086, 0.033, 18.0, 0.37, 343.0, valves=2) == pytest.approx(0.48163, abs=5e-6)


@pytest.mark.parametrize(("index", "expected"), [(0.6, 6232.0), (0.5, 5193.0)])
def test_speed_at_a_mach_index_has_the_worked_values(index: float, expected: float) -> None:
    # Taylor, chapter 6 (from memory): 101.6 x 88.4 mm, 51.3 mm valve.
    per = inlet_mach_index(0.1016, 0.0513, 1.0, 0.35, 343.0)
    assert speed_of_mach_index(index, 0.0884, per) == pytest.approx(expected, abs=0.6)


@pytest.mark.parametrize(
    ("index", "share"),
    [
        *((0.1, 1.0), (0.2, 1.0), (0.4, 0.98), (0.5, 0.96), (0.6, 0.93), (0.7, 0.865), (0.8, 0.80)),
        *((1.0, 0.66), (1.2, 0.56), (1.5, 0.56)),
    ],
)
def test_filling_falls_with_the_mach_index_as_taylor_drew_it(index: float, share: float) -> None:
    # Taylor, chapter 6 (from memory), read by eye from Taylor's figure 6-13; 0.7 lies half-way between 0.93 and 0.80.
    assert taylor_filling(index) == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize(
    ("opens", "speed", "inches", "millimetres"),
    # Trade practice (from memory) (Bell): ED = 180 + EVO.
    [
        (70.0, 6000.0, 32.417, 823.4),
        (80.0, 6500.0, 31.000, 787.4),
        (74.0, 5500.0, 36.255, 920.9),
        (85.0, 7500.0, 27.033, 686.7),
        (60.0, 4500.0, 42.333, 1075.3),
    ],
)
def test_850_rule_has_the_worked_lengths(opens: float, speed: float, inches: float, millimetres: float) -> None:
    length = bell_primary_length(opens, speed)
    assert length / INCH == pytest.approx(inches, abs=6e-4)
    assert length * 1e3 == pytest.approx(millimetres, abs=0.06)


def test_850_rule_means_two_round_trips_at_518_metres_a_second() -> None:
    # Trade practice (from memory), physics check: the wave makes two round trips within 180 + EVO.
    length = bell_primary_length(80.0, 6500.0) + 3.0 * INCH
    assert 2.0 * round_trip_deg(length, 1700.0 * FOOT, 6500.0) == pytest.approx(260.0, rel=1e-9)


@pytest.mark.parametrize(("volume", "length", "bore"), [(500e-6, 33.0, 1.5652), (716e-6, 32.0, 1.8996)])
def test_bore_of_a_primary_has_the_worked_values(volume: float, length: float, bore: float) -> None:
    # Trade practice (from memory) (Bell).
    assert bell_primary_bore(volume, length * INCH) / INCH == pytest.approx(bore, abs=6e-5)


@pytest.mark.parametrize(("outer", "expected"), [(1.625, 3692.0), (1.75, 4321.0), (1.875, 5000.0)])
def test_88200_rule_has_the_worked_speeds(outer: float, expected: float) -> None:
    # Trade practice (from memory): 0.049 in wall, 43.75 in3 a cylinder.
    area = 0.25 * math.pi * ((outer - 2.0 * 0.049) * INCH) ** 2
    assert area_rule_speed(area, 43.75 * INCH**3) == pytest.approx(expected, abs=1.0)


def test_88200_rule_has_the_worked_area_and_gas_speed() -> None:
    # Trade practice (from memory): 5000 rpm, 43.75 in3 -> 2.4802 in2; the piston displaces 245.0 ft/s through it.
    area = area_rule_area(5000.0, 43.75 * INCH**3)
    assert area / INCH**2 == pytest.approx(2.4802, abs=6e-5)
    assert area_rule_speed(area, 43.75 * INCH**3) == pytest.approx(5000.0, rel=1e-12)
    assert 43.75 * INCH**3 * 2.0 * 5000.0 / 60.0 / area / FOOT == pytest.approx(245.0, rel=1e-4)


@pytest.mark.parametrize(
    ("length", "speed", "sound", "expected"),
    # Trade practice (from memory): theta = 12 n L / a.
    [(0.86, 6000.0, 530.0, 116.83), (0.76, 6500.0, 550.0, 107.78), (0.40, 6000.0, 343.0, 83.97)],
)
def test_round_trip_has_the_worked_angles(length: float, speed: float, sound: float, expected: float) -> None:
    assert round_trip_deg(length, sound, speed) == pytest.approx(expected, abs=6e-3)
    assert length_of_round_trip(round_trip_deg(length, sound, speed), sound, speed) == pytest.approx(length)


def test_length_of_a_round_trip_has_the_worked_value() -> None:
    # Trade practice (from memory): 120 deg, 520 m/s, 6000 rpm -> 0.8667 m.
    assert length_of_round_trip(120.0, 520.0, 6000.0) == pytest.approx(0.8667, abs=6e-5)


@pytest.mark.parametrize(
    ("length", "frequency", "speeds"),
    # Linear acoustics: a = 343 m/s; 3, 4, 5 periods a cycle.
    [(0.35, 245.0, (9800.0, 7350.0, 5880.0)), (0.5, 171.5, (6860.0, 5145.0, 4116.0))],
)
def test_quarter_wave_has_the_worked_values(length: float, frequency: float, speeds: tuple[float, ...]) -> None:
    found = quarter_wave_frequency(length, 343.0)
    assert found == pytest.approx(frequency, rel=1e-9)
    assert [speed_of_order(found, order) for order in (3.0, 4.0, 5.0)] == pytest.approx(speeds, rel=1e-9)


@pytest.mark.parametrize(("correction", "expected"), [(0.0, 107.250), (0.6133, 105.630), (0.8217, 105.091)])
def test_end_correction_lowers_the_quarter_wave(correction: float, expected: float) -> None:
    # Levine and Schwinger, Phys. Rev. 73, 1948 (Levine and Schwinger 1948): r 20 mm, L 0.8 m, 343.2 m/s.
    assert quarter_wave_frequency(0.8, 343.2, correction * 0.020) == pytest.approx(expected, abs=6e-4)


def test_bottle_has_the_worked_frequencies() -> None:
    # Linear acoustics: 1 L, neck 100 mm x 30 mm: 145.22 Hz bare, 131.73 Hz with (0.8217 + 0.6133) r,
    # both at 343.2 m/s.
    area = 0.25 * math.pi * 0.030**2
    assert helmholtz_frequency(area, 0.100, 1e-3, 343.2) == pytest.approx(145.22, abs=0.01)
    assert helmholtz_frequency(area, 0.100 + 1.435 * 0.015, 1e-3, 343.2) == pytest.approx(131.73, abs=0.02)


def test_engelman_has_the_worked_speed_and_the_published_constants() -> None:
    # Linear acoustics: 1100 ft/s, 2.4 in2, 12 in, 43.731 in3, R 10, K 2.1 -> 181.74 Hz, 5193 rpm.
    sound, area, length, volume = 1100.0 * FOOT, 2.4 * INCH**2, 12.0 * INCH, 43.731 * INCH**3
    speed = engelman_speed(area, length, volume, 10.0, sound)
    assert speed == pytest.approx(5193.0, abs=1.0)
    assert speed * 2.1 / 60.0 == pytest.approx(181.74, abs=0.01)
    # The constant 643.1 holds for m/s, cm2, cm, cm3; 77.17 for ft/s and inches; 642 with ft/s and inches is nonsense.
    rest = math.sqrt(9.0 / 11.0)
    metric = sound * math.sqrt(2.4 * 2.54**2 / (12.0 * 2.54 * 43.731 * 2.54**3)) * rest
    assert speed / metric == pytest.approx(643.1, abs=0.1)
    english = 1100.0 * math.sqrt(2.4 / (12.0 * 43.731)) * rest
    assert speed / english == pytest.approx(77.17, abs=0.01)
    assert engelman_speed(area, length, volume, 10.0, sound, 2.0) / english == pytest.approx(81.03, abs=0.01)
