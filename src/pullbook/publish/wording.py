"""`sentences`: a result told in plain words, the same for the terminal and the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.claims import (
    claim_paragraph,
    effect_paragraphs,
    interaction_paragraph,
    shift_paragraphs,
)
from pullbook.publish.differences import difference_paragraphs, peak_paragraph, window_paragraph
from pullbook.publish.headline import deck, headlines
from pullbook.publish.method import CAUTIONS, assumption_paragraphs, method_paragraphs, question_paragraphs
from pullbook.publish.scatter import check_paragraphs, left_out_paragraphs, scatter_paragraphs
from pullbook.publish.story import Paragraph, Section, Story, Tone
from pullbook.publish.telling import Telling

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.quantities.showing import UnitSystem
    from pullbook.records.result import SessionResult

__all__ = ["sentences"]


def sentences(result: SessionResult, system: UnitSystem) -> Story:
    """Everything that a session says, in sentences with number, unit and doubt.

    Parameters
    ----------
    result : SessionResult
        The session with its findings.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Story
        Headline, deck and sections: question, findings, windows, peaks, claims, effects, scatter, left-out, checks,
        refusals, method, assumptions, cautions. Both unit systems give the same sections and paragraphs.

    Notes
    -----
    Numbers keep the digits that their interval allows. A difference whose interval contains zero is called not decided.
    """
    telling = Telling(result=result, system=system)
    sections = (
        Section(key="question", title="The question", paragraphs=question_paragraphs(telling)),
        Section(key="findings", title="Where the builds gain and give up", paragraphs=tuple(_differences(telling))),
        Section(key="windows", title="Over rpm windows", paragraphs=tuple(_windows(telling))),
        Section(key="peaks", title="At the peaks", paragraphs=tuple(_peaks(telling))),
        Section(key="claims", title="Claims", paragraphs=tuple(_claims(telling))),
        Section(key="effects", title="What each change does", paragraphs=tuple(_effects(telling))),
        Section(key="scatter", title="How well the bench repeats", paragraphs=scatter_paragraphs(telling)),
        Section(key="left-out", title="Pulls left out", paragraphs=left_out_paragraphs(telling)),
        Section(key="checks", title="Checks to look at", paragraphs=check_paragraphs(telling)),
        Section(key="refusals", title="What these pulls cannot answer", paragraphs=tuple(_refusals(telling))),
        Section(key="method", title="How it was worked out", paragraphs=method_paragraphs(telling)),
        Section(key="assumptions", title="What was assumed", paragraphs=assumption_paragraphs(telling)),
        Section(
            key="cautions", title="Before you copy it", paragraphs=tuple(Paragraph(text=text) for text in CAUTIONS)
        ),
    )
    told = tuple(section for section in sections if section.paragraphs)
    return Story(headlines=headlines(telling), deck=deck(telling), sections=told)


def _differences(telling: Telling) -> Iterator[Paragraph]:
    for difference in telling.findings.differences:
        yield from difference_paragraphs(telling, difference)


def _windows(telling: Telling) -> Iterator[Paragraph]:
    for difference in telling.findings.differences:
        for window in difference.windows:
            yield window_paragraph(telling, difference, window)


def _peaks(telling: Telling) -> Iterator[Paragraph]:
    for difference in telling.findings.differences:
        paragraph = peak_paragraph(telling, difference)
        if paragraph is not None:
            yield paragraph


def _claims(telling: Telling) -> Iterator[Paragraph]:
    for finding in telling.findings.claims:
        yield claim_paragraph(telling, finding)


def _effects(telling: Telling) -> Iterator[Paragraph]:
    for effect in telling.findings.effects:
        yield from effect_paragraphs(telling, effect)
    for interaction in telling.findings.interactions:
        yield interaction_paragraph(telling, interaction)
    yield from shift_paragraphs(telling.findings.crossover_shifts)


def _refusals(telling: Telling) -> Iterator[Paragraph]:
    for refusal in telling.findings.refusals:
        text = f"{refusal.what}: {refusal.why.rstrip('.')}."
        yield Paragraph(text=text, about=refusal.what, tone=Tone.OPEN)
