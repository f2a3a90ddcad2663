"""Moist air against the IAPWS release, the iapws package and published tables."""

from __future__ import annotations

import numpy as np
import pytest
from iapws import IAPWS97

from pullbook.correct.humid_air import (
    air_density,
    density_altitude,
    humidity_ratio,
    saturation_pressure,
    vapour_pressure,
)

FOOT = 0.3048  # m, exact


@pytest.mark.parametrize(
    ("kelvin", "megapascal"),
    # IAPWS-IF97, 2007, table 35 (from memory; reproduced by the iapws package below).
    [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)],
)
def test_saturation_pressure_meets_the_verification_values_of_the_release(kelvin: float, megapascal: float) -> None:
    assert float(saturation_pressure(kelvin)) / 1e6 == pytest.approx(megapascal, rel=1e-8)


@pytest.mark.parametrize("kelvin", [273.16, 283.15, 298.15, 313.15, 373.15, 473.15, 573.15, 623.0])
def test_saturation_pressure_agrees_with_the_iapws_package(kelvin: float) -> None:
    assert float(saturation_pressure(kelvin)) / 1e6 == pytest.approx(IAPWS97(T=kelvin, x=0).P, rel=1e-9)


@pytest.mark.parametrize(
    ("celsius", "if97", "law"),
    # Second column computed with the iapws package 1.5.5; third column 40 CFR 1065.645 (Goff form, WMO 1957).
    [
        (0.01, 0.61166, 0.61114), (10, 1.22818, 1.22709), (15, 1.70574, 1.70420), (20, 2.33921, 2.33708),
        (25, 3.16975, 3.16682), (30, 4.24669, 4.24272), (35, 5.62862, 5.62329), (40, 7.38443, 7.37733),
        (50, 12.35127, 12.33899),
    ],
)  # fmt: skip
def test_saturation_pressure_meets_the_table_and_lies_within_0_3_per_cent_of_us_law(
    celsius: float, if97: float, law: float
) -> None:
    kilopascal = float(saturation_pressure(celsius + 273.15)) / 1000
    assert kilopascal == pytest.approx(if97, abs=6e-6)
    assert kilopascal == pytest.approx(law, rel=3e-3)


@pytest.mark.parametrize(
    ("celsius", "kilopascal"),
    # Over supercooled water: Goff and Gratch 1946 as tabulated by WMO-No. 188 (from memory), 1 per cent.
    [(-10.0, 0.2863), (-20.0, 0.1254), (-30.0, 0.0509)],
)
def test_below_freezing_saturation_is_over_supercooled_water(celsius: float, kilopascal: float) -> None:
    assert float(saturation_pressure(celsius + 273.15)) / 1000 == pytest.approx(kilopascal, rel=1e-2)


def test_branches_meet_at_freezing_and_pressure_rises_everywhere() -> None:
    assert float(saturation_pressure(273.149999)) == pytest.approx(float(saturation_pressure(273.15)), rel=1e-4)
    kelvin = np.linspace(228.15, 623.15, 4000)
    assert np.all(np.diff(saturation_pressure(kelvin)) > 0.0)


def test_outside_the_range_of_the_formulas_and_for_nan_the_answer_is_nan() -> None:
    assert np.isnan(saturation_pressure([228.0, 623.2, np.nan, -5.0])).all()
    assert np.isfinite(saturation_pressure([228.15, 623.15])).all()


@pytest.mark.parametrize(
    ("celsius", "humidity", "kilopascal"),
    # Worked examples B, C, H of the worked table: relative humidity times saturation pressure of the iapws package.
    [(20.0, 0.50, 1.1696), (30.0, 0.60, 2.5480), (265.0 / 9.0, 0.85, 3.4962)],
)
def test_vapour_pressure_is_humidity_times_saturation(celsius: float, humidity: float, kilopascal: float) -> None:
    assert float(vapour_pressure(celsius + 273.15, humidity)) / 1000 == pytest.approx(kilopascal, abs=2e-4)


# case, degC, kPa, relative humidity, kg/m3, m, ft: computed from ISO 2533 (from memory); last column CoolProp 8.0,
# humid air with real-gas terms.
DENSITIES = pytest.mark.parametrize(
    ("celsius", "kilopascal", "humidity", "density", "metre", "foot", "coolprop"),
    [
        pytest.param(25.0, 99.0, 0.0, 1.15673, 593.3, 1947, 1.15716, id="A"),
        pytest.param(20.0, 100.0, 0.50, 1.18309, 361.2, 1185, 1.18360, id="B"),
        pytest.param(30.0, 98.0, 0.60, 1.11509, 968.5, 3177, 1.11549, id="C"),
        pytest.param(35.0, 95.0, 0.40, 1.06435, 1440.4, 4726, 1.06467, id="D"),
        pytest.param(10.0, 102.0, 0.40, 1.25263, -232.9, -764, 1.25331, id="E"),
        pytest.param(15.0, 101.325, 0.0, 1.22498, 0.2, 1, 1.22557, id="F"),
        pytest.param(29.444, 97.6973, 0.85, 1.10953, 1019.4, 3344, 1.10996, id="H"),
        pytest.param(12.778, 101.9303, 0.35, 1.23949, -122.7, -403, 1.24013, id="I"),
        pytest.param(25.0, 83.4, 0.20, 0.97165, 2348.9, 7706, 0.97197, id="J"),
    ],
)


@DENSITIES
def test_density_and_density_altitude_meet_the_worked_examples(  # noqa: PLR0913, PLR0917 -- a row of a printed table
    celsius: float, kilopascal: float, humidity: float, density: float, metre: float, foot: float, coolprop: float
) -> None:
    kelvin, pascal = celsius + 273.15, kilopascal * 1000
    rho = air_density(kelvin, pascal, vapour_pressure(kelvin, humidity))
    assert float(rho) == pytest.approx(density, abs=6e-6)
    assert float(rho) == pytest.approx(coolprop, rel=6e-4)
    altitude = float(density_altitude(rho))
    assert altitude == pytest.approx(metre, abs=0.15)
    # A weather office's own form of the altitude differs by up to 20 ft.
    assert altitude / FOOT == pytest.approx(foot, abs=20.0)


@pytest.mark.parametrize(
    ("celsius", "kilopascal", "humidity", "gram"),
    # CoolProp 8.0 humid air, g/kg; ideal mixing lies 0.5 per cent below it (enhancement factor left out).
    [
        (20.0, 100.0, 0.50, 7.391),
        (30.0, 98.0, 0.60, 16.676),
        (29.444, 97.6973, 0.85, 23.186),
        (25.0, 83.4, 0.20, 4.782),
    ],
)
def test_humidity_ratio_lies_just_below_that_of_the_real_mixture(
    celsius: float, kilopascal: float, humidity: float, gram: float
) -> None:
    kelvin, pascal = celsius + 273.15, kilopascal * 1000
    ratio = 1000 * float(humidity_ratio(pascal, vapour_pressure(kelvin, humidity)))
    assert ratio == pytest.approx(gram, rel=6e-3)
    assert ratio < gram


def test_humidity_ratio_is_nan_where_the_vapour_pressure_reaches_the_total_pressure() -> None:
    assert np.isnan(humidity_ratio(100_000.0, 100_000.0))
