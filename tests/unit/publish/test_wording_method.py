"""The sentences on how the findings were made say what was done to these files, and nothing that was not."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from builders import make_result

from pullbook.publish.differences import gain_words, peak_paragraph
from pullbook.publish.figures import Measure
from pullbook.publish.telling import Telling
from pullbook.publish.wording import sentences
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval
from pullbook.records.declaration import Standard
from pullbook.records.pull import Direction

if TYPE_CHECKING:
    from pullbook.records.result import SessionResult

METRIC = UnitSystem.METRIC


def method(result: SessionResult) -> str:
    return " ".join(paragraph.text for paragraph in sentences(result, METRIC).section("method").paragraphs)


def test_a_sweep_without_inertia_is_said_to_read_low() -> None:
    result = make_result()
    assert "was added back, so that" in method(result)
    without = replace(result, session=replace(result.session, inertia=None))
    assert "No inertia is given" in method(without)
    assert "was added back, so that" not in method(without)


def test_steady_points_need_no_inertia() -> None:
    result = make_result()
    steps = tuple(replace(one, pull=replace(one.pull, direction=Direction.STEPS)) for one in result.pulls)
    session = replace(result.session, inertia=None)
    assert "inertia" not in method(replace(result, session=session, pulls=steps))


def test_files_that_came_corrected_are_named_with_their_standard() -> None:
    result = make_result()
    entries = tuple(replace(entry, received=Standard.DIN_70020) for entry in result.session.pulls)
    every = replace(result, session=replace(result.session, pulls=entries))
    assert "Every file came corrected to DIN 70020; that was taken out first" in method(every)
    some = replace(result, session=replace(result.session, pulls=(entries[0], *result.session.pulls[1:])))
    assert "Some files came corrected to DIN 70020" in method(some)
    assert "came corrected" not in method(result)


def test_a_resolution_wider_than_the_range_is_not_told_as_a_number() -> None:
    result = make_result()
    low, high = float(result.findings.grid_rpm[0]), float(result.findings.grid_rpm[-1])
    coarse = replace(result, findings=replace(result.findings, resolution_rpm=2.0 * (high - low)))
    assert "are so few that builds are told apart only by broad differences" in method(coarse)
    assert "Features narrower than about 430 rpm" in method(
        replace(result, findings=replace(result.findings, resolution_rpm=430.0))
    )


def test_draws_are_only_told_where_there_were_any() -> None:
    result = make_result()
    assert "The draws start from 20260504" in method(result)
    findings = replace(result.findings, has_bands=False)
    assert "draws" not in method(replace(result, findings=findings))


def test_tests_of_claims_are_only_told_where_there_are_claims() -> None:
    result = make_result()
    assert "(Holm)" in method(result)
    findings = replace(result.findings, claims=())
    assert "(Holm)" not in method(replace(result, findings=findings))


@pytest.mark.parametrize(
    ("low", "value", "high", "words"),
    [
        (0.02, 6.38, 12.74, "only just gains 6.4 ± 6.4 %"),
        (0.04, 5.8, 11.3, "only just gains 5.8 % (0.0 to 11.3)"),
        (-12.74, -6.38, -0.02, "only just gives up 6.4 ± 6.4 %"),
        (1.0, 6.4, 11.8, "gains 6.4 ± 5.4 %"),
        (-0.1, 6.3, 12.7, "+6.3 ± 6.4 %"),
    ],
)
def test_a_gain_whose_digits_touch_zero_is_called_only_just_one(
    low: float, value: float, high: float, words: str
) -> None:
    assert gain_words(Measure.percent(), Interval(value=value, low=low, high=high)) == words


@pytest.mark.parametrize(("value", "shown"), [(3.6, "+3.60 N m"), (-3.6, "-3.60 N m")])
def test_peaks_without_bands_are_told_with_their_sign_and_without_a_verdict(value: float, shown: str) -> None:
    result = make_result()
    difference = result.findings.differences[0]
    bare = replace(difference, peak_torque=Interval(value=value, low=math.nan, high=math.nan), peak_power=None)
    told = peak_paragraph(Telling(result=result), bare)
    assert told is not None
    assert told.text == f"The peak torque of B less that of A is {shown}, no uncertainty can be stated."


def test_a_proved_limit_is_rounded_up_and_never_down() -> None:
    # 6.911 and 3.501 at two significant digits, upwards; 7.0 itself stays.
    assert [Measure.percent().below(limit) for limit in (6.911, 3.501, 7.0)] == ["7.0 %", "3.6 %", "7.0 %"]
    assert Measure.power(UnitSystem.METRIC).below(12_010.0) == "13 kW"
