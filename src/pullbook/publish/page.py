"""`render_page`: one self-contained HTML file that needs no network, and no scripts to be whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.page_context import page_context
from pullbook.publish.parts import both, charts_of, tellings
from pullbook.publish.scripts import chart_data, page_script, plotly_source
from pullbook.publish.sections import contents_of, environment, section_texts
from pullbook.publish.styles import page_styles
from pullbook.publish.window_data import window_data, window_data_with_all
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
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
    context = page_context(pair, drawn)
    sections = section_texts(context)
    return (
        environment()
        .get_template("report.html.j2")
        .render(
            session=result.session,
            system=str(system),
            meta=context["meta"],
            sections=sections,
            contents=contents_of(sections),
            version=_version(),
            style=page_styles(),
            script=page_script() if interactive else "",
            data=chart_data(drawn.metric, drawn.us) if interactive else "",
            window_tables=_inside(window_data(result)) if interactive else "",
            window_tables_with_all=_inside(window_data_with_all(result)) if interactive else "",
            library=plotly_source() if interactive else "",
        )
    )


def _inside(data: bytes) -> str:
    """JSON that is safe to stand inside a script element."""
    return data.decode().replace("<", "\\u003c")


def _version() -> str:
    from pullbook import __version__

    return __version__
