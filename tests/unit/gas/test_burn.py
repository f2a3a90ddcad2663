"""Burning: Wiebe, flame speeds, durations."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.gas.burn import (
    ETHANOL_FLAME,
    ISO_OCTANE_FLAME,
    METHANOL_FLAME,
    PETROL_FLAME,
    burn_share,
    duration_factor,
    flame_speed_gulder,
    flame_speed_keck,
    wiebe,
)

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.mark.parametrize(
    ("efficiency", "expected"),
    # Heywood 1988, equation 9.27 (from memory).
    [(5.0, (0.07515, 0.46474, 0.87869, 0.99326)), (6.908, (0.10232, 0.57832, 0.94576, 0.99900))],
)
def test_wiebe_function_has_the_published_values(efficiency: float, expected: tuple[float, ...]) -> None:
    found = [wiebe(progress, efficiency, 2.0) for progress in (0.25, 0.5, 0.75, 1.0)]
    assert found == pytest.approx(expected, abs=5e-6)


def test_nothing_burns_before_the_start() -> None:
    assert wiebe(-0.1, 5.0, 2.0) == 0.0
    assert burn_share(-0.2, -0.1, 5.0, 2.0) == 0.0


@given(st.integers(1, 60), st.floats(2.0, 9.0), st.floats(0.5, 4.0), st.floats(-0.3, 0.3))
def test_shares_of_what_is_left_give_the_wiebe_curve_whatever_the_steps(
    steps: int, efficiency: float, form: float, first: float
) -> None:
    whole = 1.0 - math.exp(-efficiency)  # burned within the duration, by Wiebe
    left = 1.0 - wiebe(first, efficiency, form) / whole
    for before, after in itertools.pairwise(np.linspace(first, 0.97, steps + 1).tolist()):
        left *= 1.0 - burn_share(before, after, efficiency, form)
    assert 1.0 - left == pytest.approx(wiebe(0.97, efficiency, form) / whole, rel=1e-9)


def test_everything_has_burned_at_the_end_of_the_duration_without_a_jump() -> None:
    places = np.linspace(0.0, 1.0, 201).tolist()
    left, burning = 1.0, []
    for before, after in itertools.pairwise(places):
        share = burn_share(before, after, 5.0, 2.0)
        burning.append(left * share)
        left *= 1.0 - share
    assert left == pytest.approx(0.0, abs=1e-15)
    # The last step burns less than the one before it, as everywhere on the falling flank.
    assert burning[-1] < burning[-2]
    assert burn_share(0.99, 1.01, 5.0, 2.0) == 1.0
    assert burn_share(1.0, 1.01, 5.0, 2.0) == 0.0


@pytest.mark.parametrize(
    ("fuel", "richest", "fastest"),
    # Metghalchi and Keck / Rhodes and Keck, Heywood 1988 table 9.2 (from memory): cm/s at 298 K and 1 atm.
    [(PETROL_FLAME, 1.21, 0.305), (ISO_OCTANE_FLAME, 1.13, 0.263), (METHANOL_FLAME, 1.11, 0.369)],
)
def test_flame_is_fastest_at_the_published_mixture(fuel: int, richest: float, fastest: float) -> None:
    def at(phi: float) -> float:
        return flame_speed_keck((101325.0, 298.0, phi, 0.0), fuel)

    assert at(richest) == pytest.approx(fastest, rel=1e-9)
    assert max(at(richest - 0.05), at(richest + 0.05)) < at(richest)


def test_flame_speed_of_iso_octane_follows_the_published_powers() -> None:
    # By hand: 26.3 - 84.7 * 0.13^2 = 24.8686 cm/s; (600/298)^2.18 = 4.59810; 10^-0.16 = 0.691831 -> 79.110 cm/s;
    # 20 % dilution: 1 - 2.06 * 0.2^0.77 = 0.403429.
    whole = flame_speed_keck((10.0 * 101325.0, 600.0, 1.0, 0.0), ISO_OCTANE_FLAME)
    assert whole == pytest.approx(0.248686 * 4.59810 * 0.691831, rel=1e-4)
    diluted = flame_speed_keck((10.0 * 101325.0, 600.0, 1.0, 0.2), ISO_OCTANE_FLAME)
    assert diluted / whole == pytest.approx(0.403429, rel=1e-4)


def test_powers_of_the_flame_speed_depend_on_the_mixture_as_published() -> None:
    # By hand at 650 K and 20 atm. Iso-octane, phi 1.2: (26.3 - 84.7 * 0.07^2) cm/s (650/298)^2.02 20^-0.116 = 88.368;
    # petrol, phi 0.9: alpha 2.4 - 0.271 phi^3.51 = 2.21278, beta -0.357 + 0.14 phi^2.77 = -0.25244 -> 66.504 cm/s
    # (Heywood 1988, equations 9.33 to 9.36, from memory).
    pressure = 20.0 * 101325.0
    assert flame_speed_keck((pressure, 650.0, 1.2, 0.0), ISO_OCTANE_FLAME) == pytest.approx(0.883683, rel=1e-5)
    assert flame_speed_keck((pressure, 650.0, 0.9, 0.0), PETROL_FLAME) == pytest.approx(0.665042, rel=1e-5)


def test_gulder_flame_speeds_are_those_of_his_table() -> None:
    # By hand from W phi^eta exp(-xi (phi - 1.075)^2) at phi 1, 300 K, 1 bar: iso-octane 0.4658 e^-0.0252;
    # ethanol 0.465 e^-0.03566; methanol 0.492 e^-0.02874 (SAE 841000, from memory). 0.454, 0.449, 0.478 m/s.
    found = [
        flame_speed_gulder((1e5, 300.0, 1.0, 0.0), fuel) for fuel in (ISO_OCTANE_FLAME, ETHANOL_FLAME, METHANOL_FLAME)
    ]
    assert found == pytest.approx([0.45421, 0.44871, 0.47806], rel=1e-4)


def test_gulder_dilution_takes_away_two_and_a_tenth_of_the_burned_share() -> None:
    state = (1e6, 650.0, 1.05)
    ratio = flame_speed_gulder((*state, 0.1), ETHANOL_FLAME) / flame_speed_gulder((*state, 0.0), ETHANOL_FLAME)
    assert ratio == pytest.approx(0.79, rel=1e-9)


@pytest.mark.parametrize("speed", [flame_speed_keck, flame_speed_gulder])
@pytest.mark.parametrize("fuel", [PETROL_FLAME, ISO_OCTANE_FLAME, ETHANOL_FLAME, METHANOL_FLAME])
def test_both_correlations_agree_on_what_makes_a_flame_faster(
    speed: Callable[[tuple[float, float, float, float], int], float], fuel: int
) -> None:
    usual = speed((15e5, 700.0, 1.1, 0.05), fuel)
    assert 0.5 < usual < 2.0
    assert speed((15e5, 750.0, 1.1, 0.05), fuel) > usual
    assert speed((20e5, 700.0, 1.1, 0.05), fuel) < usual
    assert speed((15e5, 700.0, 1.1, 0.15), fuel) < usual
    assert speed((15e5, 700.0, 0.75, 0.05), fuel) < usual


def test_flame_in_burned_gas_creeps_instead_of_running_backwards() -> None:
    assert flame_speed_keck((15e5, 700.0, 1.1, 0.9), PETROL_FLAME) == 0.02


def test_duration_has_the_powers_of_hires_and_others() -> None:
    # SAE 780232 (from memory): angle as speed^(1/3), viscosity^(1/3), flame speed^(-2/3); here each by 8 times.
    assert duration_factor(1.0, 8.0, 1.0, 1.0) == pytest.approx(2.0)
    assert duration_factor(1.0, 1.0, 8.0, 1.0) == pytest.approx(2.0)
    assert duration_factor(8.0, 1.0, 1.0, 1.0) == pytest.approx(0.25)
    assert duration_factor(1.0, 1.0, 1.0, 8.0) == pytest.approx(0.25)


def test_what_is_no_number_gives_none() -> None:
    assert math.isnan(wiebe(math.nan, 5.0, 2.0))
    assert math.isnan(duration_factor(math.nan, 1.0, 1.0, 1.0))
