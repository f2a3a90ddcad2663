"""Burn durations, spark and completeness."""

from __future__ import annotations

import pytest

from pullbook.engine.combustion import (
    REFERENCE_CHARGE,
    burn_factor,
    charge_at,
    combustion_efficiency,
    flame_of,
    timing_of_ca50,
    timing_of_spark,
    wiebe_angle,
)
from pullbook.gas.burn import ISO_OCTANE_FLAME, PETROL_FLAME, wiebe
from pullbook.gas.fuels import FUELS


@pytest.mark.parametrize(
    ("efficiency", "expected"),
    # Heywood 1988, equation 9.27 (from memory): share of the duration at 10, 50, 90 per cent.
    [(5.0, (0.276208, 0.517549, 0.772233)), (6.908, (0.247994, 0.464684, 0.693353))],
)
def test_angles_of_burned_shares_are_the_published_ones(efficiency: float, expected: tuple[float, ...]) -> None:
    found = [wiebe_angle(share, efficiency, 2.0) for share in (0.1, 0.5, 0.9)]
    assert found == pytest.approx(expected, abs=1e-6)
    assert found[2] - found[0] == pytest.approx(expected[2] - expected[0], abs=1e-6)


@pytest.mark.parametrize("shape", [(5.0, 2.0), (6.908, 2.0), (5.0, 1.5)])
@pytest.mark.parametrize("factor", [0.8, 1.0, 1.6])
def test_charge_is_half_burned_where_it_was_wanted(shape: tuple[float, float], factor: float) -> None:
    timing = timing_of_ca50(factor, shape, 8.0)
    assert wiebe((8.0 - timing.start_deg) / timing.duration_deg, *shape) == pytest.approx(0.5, rel=1e-12)
    late = timing_of_spark(factor, shape, timing.spark_deg)
    assert late.start_deg == pytest.approx(timing.start_deg)
    assert late.duration_deg == pytest.approx(timing.duration_deg)


def test_reference_burns_from_ten_to_ninety_per_cent_in_24_degrees() -> None:
    # Heywood 1988, equation 9.27 (from memory): 20 to 35 deg at full load (practice).
    timing = timing_of_spark(burn_factor(REFERENCE_CHARGE, 10.0), (5.0, 2.0), -25.0)
    assert timing.duration_deg * 0.496026 == pytest.approx(24.0, rel=1e-5)


def test_what_slows_a_flame_lengthens_the_burn() -> None:
    pressure, temperature, phi, burned = REFERENCE_CHARGE
    assert burn_factor((pressure, temperature, phi, 0.20), 10.0) > 1.2
    assert burn_factor((pressure, temperature, 0.8, burned), 10.0) > 1.1
    assert burn_factor((pressure, temperature - 100.0, phi, burned), 10.0) > 1.1
    assert burn_factor(REFERENCE_CHARGE, 10.0, turbulence=1.5) == pytest.approx(1.5 ** (-2.0 / 3.0))


def test_angle_grows_with_the_cube_root_of_the_speed() -> None:
    # Hires, Tabaczynski and Novak 1978 (from memory): piston speed to the power 1/3.
    assert burn_factor(REFERENCE_CHARGE, 20.0) == pytest.approx(2.0 ** (1.0 / 3.0), rel=1e-12)


@pytest.mark.parametrize("residual", [0.03, 0.10, 0.20])
def test_both_flame_speeds_give_durations_that_agree_within_a_quarter(residual: float) -> None:
    charge = (*REFERENCE_CHARGE[:3], residual)
    keck, gulder = burn_factor(charge, 12.0), burn_factor(charge, 12.0, (PETROL_FLAME, True))
    assert keck == pytest.approx(gulder, rel=0.25)


@pytest.mark.parametrize("fuel", ["ethanol", "methanol"])
def test_alcohols_burn_faster_than_iso_octane(fuel: str) -> None:
    # Gulder 1984 (from memory): the exponents of temperature are 1.75 against 1.56, so the lead grows with heat.
    hot = (20e5, 720.0, 1.1, 0.05)
    assert 0.6 < burn_factor(hot, 10.0, flame_of(fuel)) / burn_factor(hot, 10.0, (ISO_OCTANE_FLAME, True)) < 0.95


@pytest.mark.parametrize("fuel", sorted(FUELS))
def test_every_fuel_has_a_flame(fuel: str) -> None:
    assert 0.4 < burn_factor(REFERENCE_CHARGE, 10.0, flame_of(fuel)) < 1.6


def test_charge_at_the_spark_is_compressed_polytropically() -> None:
    # 8^1.33 = 15.889 and 8^0.33 = 1.98618, by hand.
    pressure, temperature, phi, residual = charge_at((1e5, 5e-4, 350.0), 6.25e-5, 1.1, 0.05)
    assert pressure == pytest.approx(15.889e5, rel=1e-4)
    assert temperature == pytest.approx(695.16, rel=1e-4)
    assert (phi, residual) == (1.1, 0.05)


def test_charge_with_much_residual_or_little_fuel_burns_less_completely() -> None:
    usual = combustion_efficiency(0.05, 0.88)
    assert 0.95 < usual < 1.0
    assert combustion_efficiency(0.35, 0.88) < usual
    assert combustion_efficiency(0.05, 1.5) < usual
    assert combustion_efficiency(0.9, 2.0) == 0.5
