"""Weather in the head of a file is read where name, number and unit are all there, and never guessed."""

from __future__ import annotations

import pytest

from pullbook.capture.stated_air import stated_air
from pullbook.records.declaration import NO_AIR

# 1 inHg is 3386.389 Pa, 1 mbar 100 Pa, 1 mmHg 133.3224 Pa; K = (F + 459.67) / 1.8 (NIST SP 811, appendix B).
PRESSURES = [
    ("Baro 29.42 inHg,,", 29.42 * 3386.389), ("Barometer: 29.42 inHg", 29.42 * 3386.389),
    ("Barometric Pressure (inHg),29.42", 29.42 * 3386.389), ("Luftdruck;992,1;mbar", 99_210.0),
    ("# Ambient pressure = 99.2 kPa", 99_200.0), ("Baro\t744\tmmHg", 744.0 * 133.3224),
    ("Operator: J.   Baro: 99.2 kPa   Room temp: 21 C", 99_200.0), ("Luftdruck: 992,1 hPa", 99_210.0),
]  # fmt: skip


@pytest.mark.parametrize(("line", "pascal"), PRESSURES)
def test_pressure_is_read_from_the_ways_in_which_benches_write_it(line: str, pascal: float) -> None:
    assert stated_air((line,)).pressure == pytest.approx(pascal, rel=1e-6)


def test_several_quantities_stand_in_one_line_or_in_several() -> None:
    one = stated_air(("Air temp: 75 F, Baro: 29.42 inHg, Humidity: 41 %",))
    more = stated_air(("Air temp 75 F", "Baro 29.42 inHg", "Rel. humidity 41 %"))
    assert one == more
    assert one.temperature == pytest.approx((75 + 459.67) / 1.8)
    assert one.humidity == pytest.approx(0.41)


@pytest.mark.parametrize(
    "line",
    [
        "Baro 29.42", "Humidity 41", "Temp 75 F", "Oil temp 205 F", "Target air temp 75 F", "Baro 29.42 kPa",
        "Air temp 75 kPa", "Air temp 400 F", "Date 05/04/2026", "Boost 12 psi", "Vapor pressure 0.4 inHg", "",
        "Sea level baro 30.1 inHg", "Baro 29.42 inHg corrected",
    ],
)  # fmt: skip
def test_what_lacks_a_unit_or_is_something_else_or_cannot_be_is_left_alone(line: str) -> None:
    assert stated_air((line,)) == NO_AIR


def test_two_values_that_disagree_give_none_and_the_same_twice_gives_one() -> None:
    assert stated_air(("Baro 29.42 inHg", "Baro 29.10 inHg")) == NO_AIR
    assert stated_air(("Baro 99.2 kPa", "Baro 99.2 kPa")).pressure == pytest.approx(99_200.0)
