"""Numbers of sentences: digits that are earned, thousands, ranges."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.publish.figures import Measure, separated
from pullbook.publish.speeds import rpm_range
from pullbook.quantities.phrases import counted, listed
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval


@pytest.mark.parametrize(
    ("value", "low", "high", "shown"),
    [
        (11.46, 9.33, 13.59, "11.5 ± 2.1 N m"),  # half-width 2.13: two digits
        (
            11.46,
            4.46,
            18.46,
            "11.5 ± 7.0 N m",
        ),  # half-width 7.0: two digits, so that a decided gain never reads "6 ± 6"
        (0.42, 0.31, 0.63, "0.42 N m (0.31 to 0.63)"),  # one side is longer: the ends are told
        (11.463, math.nan, math.nan, "11.5 N m"),  # no doubt can be stated: three digits and no plus or minus
        (2345.6, 2311.0, 2380.2, "2,346 ± 35 N m"),  # half-width 34.6
    ],
)
def test_a_value_is_stated_with_the_digits_that_its_interval_allows(
    value: float, low: float, high: float, shown: str
) -> None:
    assert Measure.torque(UnitSystem.METRIC).stated(Interval(value=value, low=low, high=high)) == shown


@given(
    value=st.floats(-500.0, 500.0),
    below=st.floats(0.01, 50.0),
    above=st.floats(0.01, 50.0),
)
def test_a_mirrored_interval_is_stated_with_the_same_digits(value: float, below: float, above: float) -> None:
    measure = Measure.power(UnitSystem.US)
    plain = measure.stated(Interval(value=value, low=value - below, high=value + above), mirrored=True)
    turned = measure.stated(Interval(value=-value, low=-value - above, high=-value + below))
    assert plain == turned


@pytest.mark.parametrize(
    ("value", "system", "shown"),
    [
        (8000.0, UnitSystem.METRIC, "8 kW"),
        (8500.0, UnitSystem.METRIC, "8.5 kW"),
        (8000.0, UnitSystem.US, "10.7 hp"),  # 8000 / 745.69987
        (745_699.871_582_270_1, UnitSystem.US, "1,000 hp"),  # NIST SP 811: 550 ft lbf/s
    ],
)
def test_a_chosen_number_is_shown_as_it_was_chosen(value: float, system: UnitSystem, shown: str) -> None:
    assert Measure.power(system).exact(value) == shown


def test_thousands_are_separated_in_the_whole_part_only() -> None:
    assert [separated(text) for text in ("1234567", "-1234.5678", "999", "+12345")] == [
        "1,234,567",
        "-1,234.5678",
        "999",
        "+12,345",
    ]


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (2000.0, 6500.0, "2,000 to 6,500 rpm"),
        (3981.7, 4368.9, "3,980 to 4,370 rpm"),
        (4283.0, 4291.0, "4,283 to 4,291 rpm"),
    ],
)
def test_ends_of_a_range_are_rounded_by_its_width_and_never_beyond_tens(low: float, high: float, shown: str) -> None:
    assert rpm_range(low, high) == shown


def test_lists_and_counts_read_as_language() -> None:
    assert listed([]) == ""
    assert listed(["A"]) == "A"
    assert listed(["A", "B"]) == "A and B"
    assert counted(1, "pull") == "one pull"
    assert counted(0, "pull") == "no pulls"
