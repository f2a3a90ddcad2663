"""The sentences on doubt itself: pulls left out, scatter, interactions, moved crossovers, aliases."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from builders import make_result

from pullbook.publish.story import Tone
from pullbook.publish.wording import sentences
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval

if TYPE_CHECKING:
    from pullbook.publish.story import Story

METRIC, US = UnitSystem.METRIC, UnitSystem.US


def all_text(story: Story) -> str:
    return "\n".join([story.headline, story.deck, *(p.text for s in story.sections for p in s.paragraphs)])


def texts(story: Story, key: str) -> list[str]:
    return [paragraph.text for paragraph in story.section(key).paragraphs]


def test_a_pull_left_out_is_named_with_its_reason_and_both_results_are_told() -> None:
    result = make_result(names="AB")
    every = result.findings_with_all
    assert every is not None
    window = every.differences[0].windows[0]
    moved = replace(window, torque=Interval(value=-5.2, low=-6.6, high=-3.8))
    changed = replace(every, differences=(replace(every.differences[0], windows=(moved,)),))
    told = texts(sentences(replace(result, findings_with_all=changed), METRIC), "left-out")
    assert told == [
        "pulls/b3.csv (B, 09:40) was left out: torque jumps at 4180 rpm.",
        "B against A, mean from 2,000 to 3,500 rpm: -3.8 ± 1.3 N m; with every pull kept -5.2 ± 1.4 N m.",
    ]


def test_an_assumed_refitting_error_is_called_assumed() -> None:
    result = make_result()
    known = result.findings.repeatability
    assert known is not None
    assumed = replace(result.findings, repeatability=replace(known, refit_assumed=True))
    told = sentences(replace(result, findings=assumed), METRIC).section("scatter").paragraphs
    refit = next(paragraph for paragraph in told if "fitting them again" in paragraph.text)
    assert "assumed, because no build was fitted twice" in refit.text
    assert refit.tone is Tone.WARNING


@pytest.mark.parametrize(("ratio", "warned"), [(0.94, False), (1.4, True), (0.6, True), (None, False)])
def test_a_failed_self_check_is_told(ratio: float | None, warned: bool) -> None:  # noqa: FBT001 - a table of cases
    result = make_result()
    known = result.findings.repeatability
    assert known is not None
    findings = replace(result.findings, repeatability=replace(known, self_check_ratio=ratio))
    text = all_text(sentences(replace(result, findings=findings), METRIC))
    assert ("second, independent method" in text) is warned


def test_an_interaction_that_is_not_proved_names_the_smallest_margin() -> None:
    told = [text for text in texts(sentences(make_result(), METRIC), "effects") if "exactly the same" in text]
    assert len(told) == 1
    assert "differ by less than 3.9 N m" in told[0]
    assert "is not decided" in told[0]


def test_an_interaction_that_differs_says_where() -> None:
    result = make_result()
    interaction = replace(result.findings.interactions[0], differs=True, differs_from_rpm=2900.0, differs_to_rpm=3700.0)
    findings = replace(result.findings, interactions=(interaction,))
    text = all_text(sentences(replace(result, findings=findings), METRIC))
    assert (
        "does not act the same with header 4-1 and 4-2-1: its gain differs between them from 2,900 to 3,700 rpm."
        in text
    )


@pytest.mark.parametrize(
    ("shift", "says"),
    [
        ((-862.0, -990.0, -731.0), "The crossover of D with A lies 860 rpm (730 to 990) lower than that of B with A."),
        ((862.0, 731.0, 990.0), "The crossover of D with A lies 860 rpm (730 to 990) higher than that of B with A."),
        ((-40.0, -260.0, 170.0), "cross at different speeds is not decided: D with A and B with A (-260 to +170 rpm)."),
    ],
)
def test_a_moved_crossover_is_told_with_its_side_or_not_at_all(shift: tuple[float, float, float], says: str) -> None:
    result = make_result()
    moved = replace(result.findings.crossover_shifts[0], shift=Interval(value=shift[0], low=shift[1], high=shift[2]))
    text = all_text(sentences(replace(result, findings=replace(result.findings, crossover_shifts=(moved,))), METRIC))
    assert says in text


def test_an_aliased_effect_is_told_as_such() -> None:
    result = make_result()
    effect = replace(result.findings.effects[0], torque=None, power=None, windows=(), aliased_with="header")
    text = all_text(sentences(replace(result, findings=replace(result.findings, effects=(effect,))), METRIC))
    assert "What changing runners from 340 mm to 260 mm does cannot be told apart from header." in text


@pytest.mark.parametrize("system", list(UnitSystem))
def test_every_paragraph_is_a_sentence(system: UnitSystem) -> None:
    for section in sentences(make_result(), system).sections:
        assert section.title
        for paragraph in section.paragraphs:
            assert paragraph.text[-1] in ".?!", paragraph.text
            assert "  " not in paragraph.text
            assert "nan" not in paragraph.text.lower().split()
