"""Units: exact definitions, conversion both ways, and spellings that mean one thing."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.errors import UnitError
from pullbook.quantities.spellings import CASED_SPELLINGS, SPELLINGS
from pullbook.quantities.units import (
    UNITS,
    Dimension,
    find_unit,
    from_si,
    parse_quantity,
    parse_range,
    parse_unit,
    to_si,
)  # fmt: skip

# NIST SP 811 (2008), appendix B, as printed in the project's note on standards, section 2.1.
EXACT = {
    "in": 0.0254, "ft": 0.3048, "lb": 0.45359237, "lbf": 4.4482216152605, "lb ft": 1.3558179483314,
    "hp": 745.699871582270, "PS": 735.49875, "psi": 6894.757293168, "inHg": 3386.389, "inH2O": 249.08891,
    "mmHg": 133.322387, "atm": 101325.0, "cfm": 4.719474432e-4, "lb ft^2": 0.0421401101, "lbf in s^2": 0.112984829,
    "slug ft^2": 1.35581795,
}  # fmt: skip
# The same units in a library that is not ours; SI base of each dimension beside it.
IN_PINT = {
    "rpm": ("rpm", "rpm"), "krpm": ("kilorpm", "rpm"), "rad/s": ("radian/second", "rpm"), "Hz": ("turn/second", "rpm"),
    "N m": ("newton*meter", "newton*meter"), "kN m": ("kilonewton*meter", "newton*meter"),
    "daN m": ("decanewton*meter", "newton*meter"), "lb ft": ("force_pound*foot", "newton*meter"),
    "lb in": ("force_pound*inch", "newton*meter"), "kgf m": ("force_kilogram*meter", "newton*meter"),
    "W": ("watt", "watt"), "kW": ("kilowatt", "watt"), "hp": ("horsepower", "watt"),
    "PS": ("metric_horsepower", "watt"), "s": ("second", "second"), "ms": ("millisecond", "second"),
    "min": ("minute", "second"), "h": ("hour", "second"), "hPa": ("hectopascal", "pascal"),
    "kPa": ("kilopascal", "pascal"), "bar": ("bar", "pascal"), "mbar": ("millibar", "pascal"), "psi": ("psi", "pascal"),
    "atm": ("atm", "pascal"), "%": ("percent", "dimensionless"), "g/s": ("gram/second", "kilogram/second"),
    "mg/s": ("milligram/second", "kilogram/second"), "kg/min": ("kilogram/minute", "kilogram/second"),
    "kg/h": ("kilogram/hour", "kilogram/second"), "lb/h": ("pound/hour", "kilogram/second"),
    "lb/min": ("pound/minute", "kilogram/second"), "L/min": ("liter/minute", "meter**3/second"),
    "L/h": ("liter/hour", "meter**3/second"), "m3/h": ("meter**3/hour", "meter**3/second"),
    "cfm": ("foot**3/minute", "meter**3/second"), "gal/h": ("gallon/hour", "meter**3/second"),
    "mV": ("millivolt", "volt"), "mm": ("millimeter", "meter"), "in": ("inch", "meter"), "mile": ("mile", "meter"),
    "L": ("liter", "meter**3"), "cm3": ("centimeter**3", "meter**3"), "in3": ("inch**3", "meter**3"),
    "lb": ("pound", "kilogram"), "lbf": ("force_pound", "newton"), "km/h": ("kilometer/hour", "meter/second"),
    "mph": ("mile/hour", "meter/second"), "lb ft^2": ("pound*foot**2", "kilogram*meter**2"),
    "slug ft^2": ("slug*foot**2", "kilogram*meter**2"), "g/kWh": ("gram/kilowatt/hour", "kilogram/joule"),
    "lb/hp/h": ("pound/horsepower/hour", "kilogram/joule"),
}  # fmt: skip


@pytest.mark.parametrize("symbol", EXACT)
def test_factor_is_the_one_of_the_published_guide(symbol: str) -> None:
    # The guide's table is printed to at most 12 digits.
    assert UNITS[symbol].factor == pytest.approx(EXACT[symbol], rel=6e-9)


@pytest.mark.parametrize("symbol", IN_PINT)
def test_factor_agrees_with_pint(symbol: str) -> None:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    theirs, base = IN_PINT[symbol]
    assert UNITS[symbol].factor == pytest.approx(registry.Quantity(1.0, theirs).to(base).magnitude, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "symbol", "kelvin"),
    # Section 2.1: degF to degC is (F - 32) / 1.8; degR is F + 459.67 (60 F is 519.67 degR).
    [(60.0, "degF", 519.67 / 1.8), (519.67, "degR", 519.67 / 1.8), (25.0, "degC", 298.15), (-40.0, "degF", 233.15)],
)
def test_temperatures_have_their_offset(value: float, symbol: str, kelvin: float) -> None:
    assert to_si(value, UNITS[symbol]) == pytest.approx(kelvin, rel=1e-12)


@pytest.mark.parametrize(
    ("torque_lb_ft", "speed_rpm", "hp", "kw", "ps", "newton_metres"),
    # Worked examples with the exact definitions of NIST SP 811.
    [(300.0, 4000.0, 228.4795, 170.3771, 231.6484, 406.7454), (400.0, 5500.0, 418.8790, 312.3580, 424.6887, 542.3272)],
)
def test_power_examples_come_out(
    torque_lb_ft: float, speed_rpm: float, hp: float, kw: float, ps: float, newton_metres: float
) -> None:
    torque = to_si(torque_lb_ft, UNITS["lb ft"])
    watts = torque * speed_rpm * 3.141592653589793 / 30.0
    assert torque == pytest.approx(newton_metres, abs=5e-5)
    assert [from_si(watts, UNITS[u]) for u in ("hp", "kW", "PS")] == pytest.approx([hp, kw, ps], abs=5e-5)


@given(value=st.floats(-1e6, 1e6, allow_nan=False), symbol=st.sampled_from(sorted(UNITS)))
def test_there_and_back_gives_the_same_number(value: float, symbol: str) -> None:
    unit = UNITS[symbol]
    # Relative to the larger of the number and the offset, which is where a float's last digit is.
    size = max(abs(value), abs(unit.offset / unit.factor))
    assert from_si(to_si(value, unit), unit) == pytest.approx(value, rel=0.0, abs=4e-15 * max(size, 1.0))


def test_every_spelling_means_exactly_one_unit() -> None:
    for symbol, spellings in SPELLINGS.items():
        for spelling in (symbol, *spellings):
            found = find_unit(spelling)
            assert found is not None, spelling
            assert found.symbol == symbol, spelling


def test_no_spelling_is_listed_under_two_units() -> None:
    listed = [spelling.lower().replace(" ", "") for spellings in SPELLINGS.values() for spelling in set(spellings)]
    owners = {
        spelling: {s for s, texts in SPELLINGS.items() if spelling in {t.lower().replace(" ", "") for t in texts}}
        for spelling in listed
    }
    assert {spelling: found for spelling, found in owners.items() if len(found) > 1} == {}


@pytest.mark.parametrize(("spelling", "symbol"), CASED_SPELLINGS.items())
def test_spellings_that_depend_on_case_are_kept_apart(spelling: str, symbol: str) -> None:
    found = find_unit(spelling)
    assert found is not None
    assert found.symbol == symbol


@pytest.mark.parametrize("text", ["", "  ", ".", "--", "furlong", "psig", "kPag"])
def test_no_unit_is_made_of_nothing_or_of_a_gauge_pressure(text: str) -> None:
    assert find_unit(text) is None


def test_polish_horsepower_is_no_kilometre() -> None:
    power, length = find_unit("KM"), find_unit("km")
    assert power is not None
    assert length is not None
    assert (power.dimension, length.dimension) == (Dimension.POWER, Dimension.LENGTH)


@given(text=st.text(max_size=12))
def test_any_text_is_a_unit_or_none_but_never_a_crash(text: str) -> None:
    found = find_unit(text)
    assert found is None or found in UNITS.values()


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("99.2", Dimension.PRESSURE, "the unit is missing ('99.2')"),
        ("", Dimension.PRESSURE, "a number with a unit of pressure is needed"),
        ("12 kPaa", Dimension.PRESSURE, ""),
        ("12 N m", Dimension.PRESSURE, "this is a unit of torque, but a pressure is needed"),
        ("12 kpX", Dimension.PRESSURE, "did you mean 'kPa'?"),
    ],
)
def test_a_wrong_quantity_is_refused_with_what_to_write(text: str, dimension: Dimension, words: str) -> None:
    if not words:
        assert parse_quantity(text, dimension) == pytest.approx(12_000.0)
        return
    with pytest.raises(UnitError, match=r".") as caught:
        parse_quantity(text, dimension, where="session.toml: x")
    assert words in str(caught.value)
    assert str(caught.value).startswith("session.toml: x: ")


def test_a_range_is_two_values_in_order() -> None:
    # 2500 rpm is 261.7994 rad/s (standards note 2.2: 60 / 2 pi).
    assert parse_range("261.79938779914943..300 rad/s", Dimension.SPEED)[0] == pytest.approx(2500.0)
    with pytest.raises(UnitError, match="the range is empty"):
        parse_range("3500..2500 rpm", Dimension.SPEED)


def test_an_unknown_unit_names_the_nearest_one() -> None:
    with pytest.raises(UnitError, match="did you mean 'N m'"):
        parse_unit("N mm", dimension=Dimension.TORQUE)
