"""`render_page`: one self-contained HTML file that needs no network, and no scripts to be whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.method import standard_words
from pullbook.publish.palette import DARK, LIGHT
from pullbook.publish.parts import Both, both, charts_of, figure_of, tellings
from pullbook.publish.provenance import pull_cards
from pullbook.publish.scripts import chart_data, plotly_source, resource
from pullbook.publish.svg import style_rules
from pullbook.publish.tables import both_table, claim_rows, peaks_table, windows_table
from pullbook.publish.typeset import marked
from pullbook.publish.wording import sentences
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jinja2 import Environment

    from pullbook.publish.story import Story
    from pullbook.publish.telling import Telling
    from pullbook.records.result import SessionResult

__all__ = ["render_page"]


def render_page(result: SessionResult, *, system: UnitSystem = UnitSystem.METRIC, interactive: bool = True) -> str:
    """Report of a session as one HTML page.

    Parameters
    ----------
    result : SessionResult
        The session with its findings.
    system : UnitSystem
        Units that the page opens with; the reader can switch.
    interactive : bool
        Carry the chart library; without it every chart stays a picture.

    Returns
    -------
    str
        The page. All text of the user is escaped, and a content security policy forbids every request.

    Notes
    -----
    Each sentence, table and picture is in the page in both unit systems; a style rule shows one of them.
    """
    pair = tellings(result)
    drawn = both(pair, charts_of)
    metric, us = drawn.metric, drawn.us
    figures = {key: figure_of(key, metric[key], us[key]) for key in metric}
    claims = both(pair, claim_rows)
    template = _environment().get_template("report.html.j2")
    return template.render(
        session=result.session,
        system=str(system),
        story=_story(result),
        figures=figures,
        ends=tuple(round(end) for end in pair.metric.ends_rpm),
        meta=_meta(pair.metric),
        builds=[_key(pair.metric, build.name) for build in result.findings.builds],
        pairs=_pairs(pair.metric),
        windows=both(pair, windows_table),
        peaks=both(pair, peaks_table),
        claims=list(zip(claims.metric, claims.us, strict=True)),
        left_out=both(pair, both_table),
        pulls=pull_cards(result),
        findings=result.findings,
        version=_version(),
        style=_style(),
        script=resource("static", "report.js") if interactive else "",
        data=chart_data(metric, us) if interactive else "",
        library=plotly_source() if interactive else "",
    )


def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    environment = Environment(
        loader=FunctionLoader(lambda name: resource("templates", name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["typeset"] = marked
    return environment


def _story(result: SessionResult) -> Mapping[str, object]:
    """Sentences in both unit systems, paired up."""
    stories: list[Story] = [sentences(result, system) for system in (UnitSystem.METRIC, UnitSystem.US)]
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


def _meta(telling: Telling) -> list[str]:
    session = telling.session
    date = [f"{session.date.day} {session.date:%B %Y}"] if session.date else []
    standard = "relative, in per cent" if telling.relative else standard_words(telling)
    return [*date, f"{session.dyno} dynamometer", f"{len(telling.result.pulls)} pulls", standard]


def _key(telling: Telling, name: str) -> dict[str, str]:
    """What the key of the charts says of a build."""
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


def _style() -> str:
    themes = (
        f":root{{color-scheme:light dark;{LIGHT.custom_properties}}}"
        f"@media (prefers-color-scheme:dark){{:root{{{DARK.custom_properties}}}}}"
        f"@media print{{:root{{color-scheme:light;{LIGHT.custom_properties}}}}}"
    )
    return themes + style_rules() + resource("static", "report.css") + resource("static", "picture.css")


def _version() -> str:
    from pullbook import __version__

    return __version__
