"""`render_sections`: the sections of a page about a session, each as HTML, for one unit system.

The report and the page that a tester works on are made of the same sections; the report shows both unit systems.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.interactive import INTERACTIVE, plotly_figure
from pullbook.publish.packing import packed
from pullbook.publish.page_context import page_context
from pullbook.publish.parts import Both, charts_of
from pullbook.publish.scripts import resource
from pullbook.publish.stated import stated
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import marked
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Mapping

    from jinja2 import Environment

    from pullbook.publish.chart import Chart
    from pullbook.records.result import SessionResult

__all__ = ["SECTIONS", "PageParts", "contents_of", "environment", "render_sections", "section_texts"]

SECTIONS: Final[Mapping[str, str]] = {
    "question": "Question",
    "pulls": "Pulls",
    "findings": "Findings",
    "curves": "Curves",
    "windows": "Windows and peaks",
    "claims": "Claims",
    "effects": "Effects",
    "method": "Method",
    "cautions": "Cautions",
    "provenance": "Provenance",
}
"""Anchor of each section and what the list of contents calls it, in reading order."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PageParts:
    """Parts of a page about a session, in one unit system.

    Attributes
    ----------
    system : str
        "metric" or "us".
    sections : dict of str to str
        Each section as one HTML element with its anchor as id, in reading order; a section without anything to say is
        absent. All text of the user is escaped.
    contents : tuple of (str, str)
        Anchor and words of each section that is there.
    headline : str
        The session in one to three sentences, plain text.
    deck : str
        What stands under the headline, plain text.
    meta : tuple of str
        Date, bench, number of pulls, standard.
    builds : tuple of dict
        Key of the builds: name, label, levels, ink, dashes, baseline (empty or "baseline").
    ends_rpm : tuple of (float, float)
        First and last speed of the findings. [rpm]
    charts : dict of str to str
        JSON text of every figure that can be hovered over, by the key that ``data-chart`` of its element names.
    pulls : tuple of dict
        Every pull in run order: number, name, build, used, because, worst, checks, fitting, clock, rows, file and more.
    """

    system: str
    sections: dict[str, str]
    contents: tuple[tuple[str, str], ...]
    headline: str
    deck: str
    meta: tuple[str, ...]
    builds: tuple[dict[str, str], ...]
    ends_rpm: tuple[float, float]
    charts: dict[str, str]
    pulls: tuple[dict[str, Any], ...]

    def as_json(self) -> dict[str, Any]:
        """The parts as plain values that JSON knows."""
        return {
            "system": self.system,
            "sections": dict(self.sections),
            "contents": [list(pair) for pair in self.contents],
            "headline": self.headline,
            "deck": self.deck,
            "meta": list(self.meta),
            "builds": [dict(build) for build in self.builds],
            "ends_rpm": list(self.ends_rpm),
            "charts": dict(self.charts),
            "pulls": list(self.pulls),
        }


def render_sections(result: SessionResult, *, system: UnitSystem = UnitSystem.METRIC) -> PageParts:
    """Sections of the page about a session, for one kind of reader.

    Parameters
    ----------
    result : SessionResult
        The session with its findings.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    PageParts
        The sections and what stands around them. Nothing in them needs a script or a style of its own.
    """
    telling = Telling(result=result, system=system)
    charts = charts_of(telling)
    context = page_context(Both(metric=telling, us=telling), Both(metric=charts, us=charts))
    sections = section_texts(context)
    story: Any = context["story"]
    cards: Any = context["pulls"]
    builds: Any = context["builds"]
    meta: Any = context["meta"]
    return PageParts(
        system=str(system),
        sections=sections,
        contents=contents_of(sections),
        headline=" ".join(sentence.metric for sentence in story["headlines"]),
        deck=story["deck"],
        meta=tuple(meta),
        builds=tuple(builds),
        ends_rpm=telling.ends_rpm,
        charts={key: _figure_text(chart) for key, chart in charts.items() if key in INTERACTIVE},
        pulls=tuple(_plain(card) for card in cards),
    )


def section_texts(context: Mapping[str, object]) -> dict[str, str]:
    """Each section of the page as HTML, by its anchor, in reading order.

    Parameters
    ----------
    context : mapping
        As `page_context` gives it.

    Returns
    -------
    dict of str to str
        Sections that have something to say.
    """
    made = {name: environment().get_template(f"sections/{name}.html.j2").render(context).strip() for name in SECTIONS}
    return {name: text for name, text in made.items() if text}


def contents_of(sections: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Anchor and words of each section that is there."""
    return tuple((name, SECTIONS[name]) for name in sections)


@cache
def environment() -> Environment:
    """Templates of this package: everything is escaped, a name that is not there is an error."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        loader=FunctionLoader(lambda name: resource("templates", name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["typeset"] = marked
    made.filters["stated"] = stated
    return made


def _figure_text(chart: Chart) -> str:
    return json.dumps(packed(plotly_figure(chart)), separators=(",", ":"), allow_nan=False)


def _plain(value: Any) -> Any:  # noqa: ANN401 - a value of any shape becomes one that JSON knows
    """The value with every pair of unit systems replaced by its one text."""
    if isinstance(value, Both):
        return value.metric
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    return [_plain(part) for part in value] if isinstance(value, list | tuple) else value
