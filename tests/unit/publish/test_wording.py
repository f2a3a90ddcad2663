"""The sentences of a session: exact digits, sign words, what is never said."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from builders import make_bandless_findings, make_findings, make_relative_findings, make_result, make_session
from builders_crowd import make_crowd

from pullbook.publish.story import Tone
from pullbook.publish.wording import sentences
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import CurveBand
from pullbook.records.finding import Crossover, PossibleCrossover
from pullbook.records.pull import TorqueKind

if TYPE_CHECKING:
    from pullbook.publish.story import Story
    from pullbook.records.finding import Difference
    from pullbook.records.result import SessionResult

METRIC, US = UnitSystem.METRIC, UnitSystem.US


def all_text(story: Story) -> str:
    return "\n".join([story.headline, story.deck, *(p.text for s in story.sections for p in s.paragraphs)])


def texts(story: Story, key: str) -> list[str]:
    return [paragraph.text for paragraph in story.section(key).paragraphs]


def with_difference(difference: Difference) -> SessionResult:
    result = make_result(names="AB")
    return replace(result, findings=replace(result.findings, differences=(difference,)), findings_with_all=None)


def steps(result: SessionResult, levels: tuple[float, float, float], half: float) -> SessionResult:
    """Difference that is constant over thirds of the grid, so that its sentences can be written by hand."""
    grid = result.findings.grid_rpm  # 91 points, 2000 to 6500 rpm
    mean = np.repeat(levels, (30, 31, 30)).astype(float)
    assert mean.size == grid.size
    band = CurveBand(mean=mean, low=mean - half, high=mean + half)
    percent = CurveBand(mean=mean / 2, low=(mean - half) / 2, high=(mean + half) / 2)
    one = replace(
        result.findings.differences[0],
        torque=band,
        percent=percent,
        crossovers=(),
        possible_crossovers=(),
        windows=(),
        peak_torque=None,
        peak_power=None,
    )
    return with_difference(one)


def test_gain_loss_and_open_ranges_are_told_with_speed_number_and_doubt() -> None:
    story = sentences(steps(make_result(names="AB"), (-6.04, 0.5, 9.16), 2.13), METRIC)
    # Thirds of the grid end at 2000 + 29 * 50 = 3450 and 5000 rpm. 2.13 rounds to 2.1, half of it, 1.065, to 1.1.
    assert texts(story, "findings") == [
        "From 2,000 to 3,450 rpm B gives up torque to A, most near 2,000 rpm: 6.0 ± 2.1 N m (3.0 ± 1.1 %).",
        "From 5,050 to 6,500 rpm B gains torque on A, most near 5,050 rpm: 9.2 ± 2.1 N m (4.6 ± 1.1 %).",
        "It is not decided from 3,500 to 5,000 rpm which of B and A makes more torque.",
    ]


def test_mirrored_difference_is_told_with_mirrored_words_and_the_same_digits() -> None:
    here = texts(sentences(steps(make_result(names="AB"), (-6.04, 0.5, 9.16), 2.13), METRIC), "findings")
    there = texts(sentences(steps(make_result(names="AB"), (6.04, -0.5, -9.16), 2.13), METRIC), "findings")
    swap = {"gives up torque to": "gains torque on", "gains torque on": "gives up torque to"}
    turned = [re.sub("gives up torque to|gains torque on", lambda found: swap[found.group()], text) for text in here]
    assert there == turned


def test_headline_of_a_crossing_pair_names_the_speed_and_both_sides() -> None:
    story = sentences(make_result(names="AB"), METRIC)
    # builders_findings: the crossover of B and A, 4384 rpm, has an interval of 205 rpm and so is good to tens.
    assert story.headlines == (
        "B (short runners) makes less torque than A (long runners) below about 4,380 rpm and more above it.",
    )


def test_headline_does_not_say_below_where_part_of_it_is_not_decided() -> None:
    result = make_result(names="AB")  # a loss to 4,050 rpm
    gain = result.findings.differences[0]
    low, high = gain.torque.low.copy(), gain.torque.high.copy()
    low[20:24], high[20:24] = -50.0, 50.0  # 3,000 to 3,150 rpm
    torn = replace(gain, torque=CurveBand(mean=gain.torque.mean, low=low, high=high))
    story = sentences(replace(result, findings=replace(result.findings, differences=(torn,))), METRIC)
    assert "below" not in story.headlines[0]
    assert "from 2,400 to 2,950 rpm and from 3,200 to 4,050 rpm" in story.headlines[0]


def test_headline_without_any_decided_speed_says_so() -> None:
    story = sentences(steps(make_result(names="AB"), (-1.0, 0.5, 1.0), 2.13), METRIC)
    assert story.headline == (
        "Whether B (short runners) makes more or less torque than A (long runners) is not decided at any engine speed."
    )


def test_headline_of_a_gain_everywhere_names_the_whole_range() -> None:
    story = sentences(steps(make_result(names="AB"), (5.0, 6.0, 7.0), 2.13), METRIC)
    assert story.headline.endswith("makes more torque than A (long runners) over the whole range, 2,000 to 6,500 rpm.")


def test_headline_of_a_single_speed_says_at_it_and_not_from_it() -> None:
    result = steps(make_result(names="AB"), (1.0, 1.0, -5.0), 2.13)
    one = result.findings.differences[0]
    mean = one.torque.mean.copy()
    mean[20] = 6.0  # 3000 rpm
    story = sentences(
        with_difference(replace(one, torque=CurveBand(mean=mean, low=mean - 2.13, high=mean + 2.13))), METRIC
    )
    assert "makes more torque than A (long runners) at 3,000 rpm, and less from 5,050 to 6,500 rpm." in story.headline


def test_crossover_is_told_as_a_range_with_its_direction() -> None:
    difference = make_findings(names="AB").differences[0]
    crossing = Crossover(rpm=4183.0, low=3981.0, high=4369.0, zone_low=3950.0, zone_high=4400.0, sign_above=1)
    up = texts(sentences(with_difference(replace(difference, crossovers=(crossing,))), METRIC), "findings")
    assert "B overtakes A between 3,980 and 4,370 rpm, most likely near 4,180 rpm." in up
    down = replace(difference, crossovers=(replace(crossing, sign_above=-1),))
    assert any(
        text.startswith("B falls behind A between 3,980 and 4,370 rpm")
        for text in texts(sentences(with_difference(down), METRIC), "findings")
    )


def test_possible_crossover_is_never_told_with_a_single_speed() -> None:
    difference = replace(
        make_findings(names="AB").differences[0],
        crossovers=(),
        possible_crossovers=(PossibleCrossover(low=2400.0, high=2900.0),),
    )
    told = [text for text in texts(sentences(with_difference(difference), METRIC), "findings") if "meet" in text]
    assert told == [
        (
            "The mean curves of B and A also meet between 2,400 and 2,900 rpm, but the scatter allows that there is no "
            "crossover."
        )
    ]


@pytest.mark.parametrize("result", [make_result(), make_crowd()], ids=["four builds", "eight builds"])
def test_an_interval_with_zero_is_called_not_decided_and_never_no_difference(result: SessionResult) -> None:
    text = all_text(sentences(result, METRIC))
    # The method says once, in these words, that the two are not the same.
    assert "no difference" not in text.replace("never the same as no difference", "")
    assert "not decided" in text
    for word in ("significant", "identical", "no effect"):
        assert word not in text


def test_window_gain_is_told_with_all_its_units() -> None:
    told = texts(sentences(make_result(names="AB"), METRIC), "windows")
    # builders_findings gives every window a half-width of 1.3 N m, which is 0.65 % of its mean baseline, 200 N m, and
    # 0.78 kW at its mean speed, 5750 rpm; 7.1 is its mean gain of B there.
    assert told[2].startswith(
        "From 5,000 to 6,500 rpm B gains 7.1 ± 1.3 N m (3.51 ± 0.65 %, 4.20 ± 0.78 kW) on average"
    )
    assert told[1] == "From 3,500 to 5,000 rpm the mean gain of B on A is not decided: -0.7 ± 1.3 N m."


def test_claim_is_told_with_limit_verdict_number_reason_and_what_would_decide_it() -> None:
    told = texts(sentences(make_result(), METRIC), "claims")
    assert told[0] == (
        "“Short runners are worth at least 8 kW at the top” (at least 8 kW of peak power, B against A): supported. "
        "The pulls show +9.10 ± 0.90 kW. The whole interval lies above 8 kW."
    )
    assert told[2].endswith("6 more pulls of each.")
    assert "not decided" in told[2]


def test_us_reader_gets_no_metric_unit_except_in_the_testers_own_words() -> None:
    result = make_result()
    claims = tuple(replace(claim, says="a claim") for claim in result.session.claims)
    told = tuple(replace(claim, why="", needs="") for claim in result.findings.claims)
    plain = replace(
        result,
        session=replace(result.session, claims=claims),
        checks=(),
        findings=replace(result.findings, claims=told),
    )
    text = all_text(sentences(plain, US))
    assert not re.search(r"\d (N m|kW|kg m)", text)
    assert re.search(r"\d lb ft", text)
    assert re.search(r"\d hp", text)


def test_us_numbers_are_converted_with_the_exact_pound_foot() -> None:
    story = sentences(steps(make_result(names="AB"), (-6.04, 0.5, 9.16), 2.13), US)
    # 1 lb ft = 1.3558179483 N m (NIST SP 811): 6.04 -> 4.455, 9.16 -> 6.756, 2.13 -> 1.571.
    assert "4.5 ± 1.6 lb ft" in texts(story, "findings")[0]
    assert "6.8 ± 1.6 lb ft" in texts(story, "findings")[1]


@pytest.mark.parametrize(
    "result",
    [
        make_result(),
        make_crowd(),
        make_result(names="AB", findings=make_bandless_findings()),
        make_result(names="AB", findings=make_relative_findings()),
    ],
    ids=["four", "eight", "without bands", "relative"],
)
def test_both_unit_systems_tell_the_same_paragraphs(result: SessionResult) -> None:
    one, other = sentences(result, METRIC), sentences(result, US)
    for here, there in zip(one.sections, other.sections, strict=True):
        assert here.key == there.key
        assert [(p.about, p.tone) for p in here.paragraphs] == [(p.about, p.tone) for p in there.paragraphs]


def test_a_session_without_bands_states_no_doubt_and_decides_nothing() -> None:
    story = sentences(make_result(names="AB", findings=make_bandless_findings(), findings_with_all=None), METRIC)
    assert story.headline == "The curves are shown, but no uncertainty can be stated and no claim is decided."
    text = all_text(story)
    assert "±" not in text
    assert "no uncertainty can be stated" in " ".join(texts(story, "findings"))
    assert "nan" not in text.lower().split()
    assert {p.tone for p in story.section("claims").paragraphs} == {Tone.OPEN}


def test_a_relative_session_speaks_in_per_cent_only() -> None:
    findings = make_relative_findings()
    session = make_session(names="AB")
    ids = {claim.id for claim in findings.claims}
    claims = tuple(
        replace(claim, says="a claim", at_least=0.02, in_percent=True) for claim in session.claims if claim.id in ids
    )
    result = make_result(
        names="AB", session=replace(session, claims=claims), findings=findings, findings_with_all=None, checks=()
    )
    findings_only = replace(
        result,
        findings=replace(findings, claims=tuple(replace(claim, why="", unit="%") for claim in findings.claims)),
    )
    assert findings_only.findings.torque_kind is TorqueKind.RELATIVE
    text = all_text(sentences(findings_only, METRIC)).replace("kg m²", "")
    assert not re.search(r"N m|kW", text)
    assert "not calibrated" in text
