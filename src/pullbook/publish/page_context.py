"""What the templates of the page are given: sentences, tables, figures, key of the builds, pulls."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.method import standard_words
from pullbook.publish.origins import origins
from pullbook.publish.parts import Both, both, charts_of, figure_of
from pullbook.publish.provenance import pull_cards
from pullbook.publish.tables import both_table, claim_rows, peaks_table, windows_table
from pullbook.publish.wording import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.publish.chart import Chart
    from pullbook.publish.story import Story
    from pullbook.publish.telling import Telling

__all__ = ["build_keys", "meta_words", "page_context"]


def page_context(pair: Both[Telling], drawn: Both[dict[str, Chart]] | None = None) -> dict[str, object]:
    """Everything that the sections of a page show, ready to be printed.

    Parameters
    ----------
    pair : Both of Telling
        The result for both kinds of reader, or twice the same telling for a page in one unit system.
    drawn : Both of dict of str to Chart, or None
        The charts, where they were made already.

    Returns
    -------
    dict
        The names that the templates under ``templates/sections`` use.
    """
    telling = pair.metric
    result = telling.result
    metric, us = drawn or both(pair, charts_of)
    claims = both(pair, claim_rows)
    return {
        "session": result.session,
        "findings": result.findings,
        "relative": telling.relative,
        "story": _story(pair),
        "figures": {key: figure_of(key, metric[key], us[key]) for key in metric},
        "ends": tuple(round(end) for end in telling.ends_rpm),
        "meta": meta_words(telling),
        "builds": build_keys(telling),
        "pairs": _pairs(telling),
        "windows": both(pair, windows_table),
        "windowed": bool(result.windows_any),
        "peaks": both(pair, peaks_table),
        "claims": [_claim(one, other) for one, other in zip(claims.metric, claims.us, strict=True)],
        "left_out": both(pair, both_table),
        "pulls": pull_cards(pair),
        "origins": origins(telling),
    }


def _story(pair: Both[Telling]) -> Mapping[str, object]:
    """Sentences for both kinds of reader, paired up."""
    stories: Both[Story] = both(pair, lambda telling: sentences(telling.result, telling.system))
    metric, us = stories
    sections = {
        section.key: {
            "title": section.title,
            "paragraphs": [
                {"text": Both(metric=one.text, us=other.text), "tone": str(one.tone), "about": one.about}
                for one, other in zip(section.paragraphs, us.section(section.key).paragraphs, strict=True)
            ],
        }
        for section in metric.sections
    }
    return {
        "headlines": [Both(metric=one, us=other) for one, other in zip(metric.headlines, us.headlines, strict=True)],
        "deck": metric.deck,
        **sections,
    }


def _claim(metric: dict[str, str], us: dict[str, str]) -> dict[str, object]:
    """A claim with what depends on the reader's units for both."""
    paired = {key: Both(metric=metric[key], us=us[key]) for key in ("shown", "limit")}
    return {**metric, **paired}


def meta_words(telling: Telling) -> list[str]:
    """What stands at the head of the page: date, bench, number of pulls, standard."""
    session = telling.session
    date = [f"{session.date.day} {session.date:%B %Y}"] if session.date else []
    standard = "relative, in per cent" if telling.relative else standard_words(telling)
    return [*date, f"{session.dyno} dynamometer", f"{len(telling.result.pulls)} pulls", standard]


def build_keys(telling: Telling) -> list[dict[str, str]]:
    """What the key of the charts says of each build: name, words, levels, ink and dashes of its line."""
    return [_key(telling, build.name) for build in telling.findings.builds]


def _key(telling: Telling, name: str) -> dict[str, str]:
    style = telling.style(name)
    dashes = " ".join(f"{length * 2.2:.1f}" for length in style.dash.pattern)
    build = telling.build(name)
    levels = ", ".join(f"{factor} {level}" for factor, level in build.levels.items())
    words = telling.label(name)
    return {
        "name": name,
        "label": words,
        "levels": levels if levels != words else "",
        "ink": str(style.ink),
        "dashes": dashes,
        "baseline": "baseline" if build.baseline else "",
    }


def _pairs(telling: Telling) -> list[dict[str, str]]:
    return [
        {
            "about": telling.pair(difference),
            "title": f"{telling.named(difference.of)} against {telling.named(difference.from_)}",
        }
        for difference in telling.findings.differences
    ]
