"""Numbers for a reader: unit systems, decimals, and rounding to the doubt."""

from __future__ import annotations

import math

import pytest

from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.rounding import decimals_for_doubt, digits, round_to_doubt
from pullbook.quantities.showing import (
    UnitSystem,
    show,
    show_change,
    show_interval,
    show_range,
    shown_symbol,
    shown_unit,
)
from pullbook.quantities.units import UNITS, Dimension

METRIC, US = UnitSystem.METRIC, UnitSystem.US


# Published examples of the rounding rule: Particle Data Group, Review of Particle Physics, Introduction 5.3 (from
# memory): 0.827 +/- 0.119 becomes 0.83 +/- 0.12, and 0.827 +/- 0.367 becomes 0.8 +/- 0.4.
@pytest.mark.parametrize(("value", "doubt", "shown"), [(0.827, 0.119, "0.83"), (0.827, 0.367, "0.8")])
def test_published_rounding_examples(value: float, doubt: float, shown: str) -> None:
    assert round_to_doubt(value, doubt) == shown


# The rule read off its own limits: 354 keeps two digits, 355 one, 950 becomes 1000 with two digits.
@pytest.mark.parametrize(("doubt", "decimals"), [(3.54, 1), (3.55, 0), (9.49, 0), (9.5, 0), (0.0995, 2), (1234.0, -2)])
def test_places_change_where_the_rule_says(doubt: float, decimals: int) -> None:
    assert decimals_for_doubt(doubt) == decimals


@pytest.mark.parametrize("doubt", [0.0, -1.0, math.nan, math.inf])
def test_no_digits_are_chosen_without_a_doubt(doubt: float) -> None:
    with pytest.raises(ValueError, match="half-width"):
        decimals_for_doubt(doubt)
    assert round_to_doubt(231.648, doubt) == "232"


def test_mirrored_numbers_show_mirrored_digits() -> None:
    for value in (0.25, 0.35, 2.5, 1.005, 9.995):
        assert digits(-value, 1) == "-" + digits(value, 1)


def test_a_rounded_zero_has_no_sign() -> None:
    assert digits(-0.04, 1) == "0.0"
    assert digits(0.04, 1, signed=True) == "0.0"


def test_numbers_of_any_size_are_rounded_without_overflow() -> None:
    assert digits(1e300, 1).startswith("1000000")
    assert digits(5e-324, 1) == "0.0"
    assert digits(math.nan, 1) == "not known"


# 200 N m = 147.5124 lb ft (200 / 1.3558179483), 115 191.7 W = 154.4747 hp, NIST SP 811.
def test_one_number_reads_in_both_systems() -> None:
    assert show(200.0, Channel.TORQUE, METRIC) == "200.0 N m"
    assert show(200.0, Channel.TORQUE, US) == "147.5 lb ft"
    assert show(115_191.7, Channel.POWER, METRIC) == "115.2 kW"
    assert show(115_191.7, Channel.POWER, US, decimals=3) == "154.475 hp"


# 25 degC = 77 degF (the reference of SAE J1349 in both systems); 5 K = 9 degF of difference.
def test_a_temperature_difference_has_no_zero_point() -> None:
    assert show(298.15, Channel.AIR_TEMPERATURE, US) == "77 °F"
    assert show_change(5.0, Channel.AIR_TEMPERATURE, US) == "+9 °F"
    assert show_change(-5.0, Channel.AIR_TEMPERATURE, METRIC) == "-5.0 K"


def test_a_difference_of_shares_is_in_points() -> None:
    assert show_change(0.031, Channel.AIR_HUMIDITY) == "+3.1 points"


def test_a_unit_is_shown_as_itself_in_both_systems() -> None:
    assert show(600.0, UNITS["min"], US, decimals=0) == show(600.0, UNITS["min"], METRIC, decimals=0) == "10 min"


def test_an_angle_carries_its_sign_without_a_blank() -> None:
    assert show(28.0, Channel.SPARK) == "28.0°"
    assert show_range(20.0, 34.0, Channel.SPARK) == "20.0 to 34.0°"


def test_an_interval_is_rounded_by_its_own_width() -> None:
    assert show_interval((9134.0, 8222.0, 10_046.0), Dimension.POWER, signed=True) == "+9.1 kW (+8.2 to +10.0)"
    assert show_interval((9134.0, math.nan, math.nan), Dimension.POWER) == "9.13 kW"


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("channel", list(Channel))
def test_every_channel_has_a_unit_of_its_own_dimension(channel: Channel, system: UnitSystem) -> None:
    assert shown_unit(channel, system).dimension is CHANNELS[channel].dimension


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("dimension", list(Dimension))
def test_every_dimension_has_a_unit_of_its_own(dimension: Dimension, system: UnitSystem) -> None:
    assert shown_unit(dimension, system).dimension is dimension
    assert "deg" not in shown_symbol(dimension, system)
