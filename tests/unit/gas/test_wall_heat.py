"""Heat to the walls of the cylinder: the three correlations against worked values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import pytest

from pullbook.gas.wall_heat import (
    ANNAND,
    HOHENBERG,
    WOSCHNI,
    annand_coefficient,
    annand_film,
    burning_speed,
    film_coefficient,
    gas_conductivity,
    gas_viscosity,
    hohenberg_coefficient,
    motored_pressure,
    woschni_coefficient,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    Gas = tuple[float, float, float, float, float]
    Motion = tuple[float, float, float, float]

HOT: Final = (50e5, 2300.0, 1e-4, 50e5 / (285.0 * 2300.0), 450.0)


def test_woschni_while_compressing_has_the_worked_value() -> None:
    # Heywood 1988, eq. 12.17 (from memory): B 0.1 m, 1000 kPa, 1000 K, w = 2.28 * 10 = 22.8 m/s -> 354.459.
    assert woschni_coefficient((1e6, 1000.0, 1e-4, 1.0, 400.0), (0.1, 10.0, 0.0, 0.0)) == pytest.approx(
        354.459, rel=1e-5
    )


def test_woschni_while_gas_is_exchanged_has_the_worked_value() -> None:
    # Heywood 1988, section 12.4 (from memory): 100 kPa, 400 K, w = 6.18 * 10 = 61.8 m/s -> 206.479.
    assert woschni_coefficient((1e5, 400.0, 5e-4, 1.0, 400.0), (0.1, 10.0, 1.0, 0.0)) == pytest.approx(
        206.479, rel=1e-5
    )


def test_woschni_while_burning_has_the_worked_speed_and_value() -> None:
    # Heywood 1988, section 12.4 (from memory): Sp 15, Vd 500 cc, pr 100 kPa, Tr 330 K, Vr 550 cc, p 5000, pm 1500
    # kPa: w 68.22 m/s; at 2300 K and B 0.086 m 2012.21 W/(m2 K).
    added = burning_speed(5e-4, (100e3, 5.5e-4, 330.0), 5e6, 1.5e6)
    assert 2.28 * 15.0 + added == pytest.approx(68.22, abs=0.005)
    assert woschni_coefficient(HOT, (0.086, 15.0, 0.0, added)) == pytest.approx(2012.21, rel=1e-5)


def test_motored_pressure_above_the_cylinder_pressure_adds_no_speed() -> None:
    assert burning_speed(5e-4, (100e3, 5.5e-4, 330.0), 1e6, 1.5e6) == 0.0


def test_motored_pressure_follows_the_polytrope() -> None:
    # Ten times smaller with 1.33: 10^1.33 = 21.380.
    assert motored_pressure(5e-5, 1e5, 5e-4, 1.33) == pytest.approx(21.380e5, rel=1e-4)


@pytest.mark.parametrize(
    ("gas", "piston_speed", "expected"),
    # Hohenberg 1979 (from memory).
    [(HOT, 15.0, 2189.29), ((10e5, 1000.0, 5e-4, 3.5, 450.0), 10.0, 572.175)],
)
def test_hohenberg_has_the_worked_values(
    gas: tuple[float, float, float, float, float], piston_speed: float, expected: float
) -> None:
    assert hohenberg_coefficient(gas, (0.1, piston_speed, 0.0, 0.0)) == pytest.approx(expected, rel=1e-5)


def test_annand_has_the_worked_value() -> None:
    # Annand 1963 (from memory): B 0.1 m, 1 MPa, 1000 K, Sp 10 m/s, mu 4.1522e-5, k 0.06768
    # -> Re 83 900, h 719.2 with a = 0.38.
    assert gas_viscosity(1000.0) == pytest.approx(4.1522e-5, rel=1e-3)
    assert gas_conductivity(1000.0) == pytest.approx(0.06768, rel=1e-3)
    assert annand_film(0.1, 83_900.0, 0.06768) == pytest.approx(719.2, rel=2e-4)
    density = 1e6 / (287.05 * 1000.0)
    assert annand_coefficient((1e6, 1000.0, 1e-4, density, 450.0), (0.1, 10.0, 0.0, 0.0)) == pytest.approx(
        719.2, rel=1e-3
    )


def test_annand_radiates_only_while_the_charge_burns() -> None:
    # 4.3e-9 (2300^2 + 450^2)(2300 + 450) = 64.95 W/(m2 K), by hand.
    burning = annand_coefficient(HOT, (0.086, 15.0, 0.0, 30.0))
    assert burning - annand_coefficient(HOT, (0.086, 15.0, 0.0, 0.0)) == pytest.approx(64.95, rel=1e-4)


@pytest.mark.parametrize(
    ("model", "own"), [(WOSCHNI, woschni_coefficient), (ANNAND, annand_coefficient), (HOHENBERG, hohenberg_coefficient)]
)
def test_selector_picks_each_correlation(model: int, own: Callable[[Gas, Motion], float]) -> None:
    motion = (0.086, 15.0, 0.0, 34.0)
    assert film_coefficient(model, HOT, motion) == own(HOT, motion)


def test_correlations_agree_within_their_usual_scatter() -> None:
    # They were fitted to different engines and differ by a factor of two or less (Heywood 1988, section 12.4.3).
    found = [film_coefficient(model, HOT, (0.086, 15.0, 0.0, 34.0)) for model in (WOSCHNI, ANNAND, HOHENBERG)]
    assert max(found) < 2.0 * min(found)


def test_unknown_selector_gives_no_number() -> None:
    assert math.isnan(film_coefficient(7, HOT, (0.086, 15.0, 0.0, 34.0)))
