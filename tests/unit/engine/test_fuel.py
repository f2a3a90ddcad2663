"""Octane numbers of an engine file, and which of them the knock estimate takes."""

from __future__ import annotations

import pytest

from pullbook.engine.engine_file import parse_engine
from pullbook.errors import InputError
from pullbook.gas.fuels import FUELS


@pytest.mark.parametrize(
    ("fuel", "research", "motor"),
    # Usual values of handbooks, from memory; primary reference fuel by definition.
    [("petrol", 95.0, 85.0), ("E10", 95.0, 85.0), ("iso-octane", 100.0, 100.0), ("toluene", 120.0, 110.0),
     ("ethanol", 109.0, 90.0), ("methanol", 109.0, 89.0), ("E85", 107.0, 89.0)],
)  # fmt: skip
def test_octane_numbers_that_are_not_declared_are_those_of_the_fuel(fuel: str, research: float, motor: float) -> None:
    spec = parse_engine(f'[fuel]\nname = "{fuel}"\n')
    assert (spec.fuel.octane, spec.fuel.motor_octane) == (research, motor)
    assumed = {one.key: one.value for one in spec.assumed}
    assert assumed["fuel.octane"] == f"{research:g}"
    assert assumed["fuel.motor_octane"] == f"{motor:g}"
    assert spec.unusual == ()


def test_every_fuel_has_octane_numbers() -> None:
    for name in FUELS:
        assert parse_engine(f'[fuel]\nname = "{name}"\n').fuel.octane_number > 80.0


def test_the_knock_estimate_takes_the_mean_of_both_numbers() -> None:
    assert parse_engine("[fuel]\noctane = 98\nmotor_octane = 88\n").fuel.octane_number == 93.0
    assert parse_engine("[fuel]\noctane = 98\n").fuel.octane_number == 93.0
    # A reference fuel has one number.
    assert parse_engine("[fuel]\noctane = 90\nmotor_octane = 90\n").fuel.octane_number == 90.0


def test_a_motor_number_above_the_research_number_is_refused() -> None:
    with pytest.raises(InputError, match=r"fuel\.motor_octane: this is more than the research octane number, 95"):
        parse_engine("[fuel]\noctane = 95\nmotor_octane = 96\n")
