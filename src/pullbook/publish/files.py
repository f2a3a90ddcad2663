"""`publish_files`: everything that is published of a session, one file after the other."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pullbook.publish.charts import effects_chart, pair_chart, power_chart, torque_chart
from pullbook.publish.method import standard_words
from pullbook.publish.page import render_page
from pullbook.publish.rows import claims_chart, pulls_chart, windows_chart
from pullbook.publish.stills import APPEARANCES, HD, UHD, draw_still, still_bytes
from pullbook.publish.telling import Telling
from pullbook.quantities.showing import UnitSystem
from pullbook.records.codec import findings_to_json
from pullbook.records.codec_csv import curves_to_csv
from pullbook.records.json_text import json_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pullbook.publish.chart import Chart
    from pullbook.records.result import SessionResult

__all__ = ["file_name", "publish_files", "still_charts"]

_MOST_PANELS = {"claims": 5, "effects": 3}
_MOST_ROWS = 12  # of windows in one still


def publish_files(
    result: SessionResult, *, system: UnitSystem = UnitSystem.METRIC, quick: bool = False
) -> Iterator[tuple[str, bytes]]:
    """Names and contents of all files of a report, one by one, so that whoever writes them can show how far it is.

    Parameters
    ----------
    result : SessionResult
        The session with its findings.
    system : UnitSystem
        Units of the stills, and those that the page opens with; the tables are always in N m, kW and rpm.
    quick : bool
        Only light stills of 1920 by 1080 pixels, for whoever cannot wait for 3840 by 2160, dark, transparent, SVG
        and PDF.

    Yields
    ------
    tuple of (str, bytes)
        Relative name with forward slashes, and content: ``report.html``, ``findings.json``, ``curves.csv`` and
        ``stills/NAME-APPEARANCE.{svg,pdf}`` and ``stills/NAME-APPEARANCE-WIDTHxHEIGHT.png``.
    """
    yield "report.html", render_page(result, system=system).encode()
    yield "findings.json", json_text(findings_to_json(result)).encode()
    yield "curves.csv", curves_to_csv(result).encode()
    telling = Telling(result=result, system=system)
    footnote = _footnote(telling)
    for chart in still_charts(telling):
        for appearance in APPEARANCES[:1] if quick else APPEARANCES:
            figure = draw_still(chart, appearance, footnote)
            stem = f"stills/{file_name(chart.key)}-{appearance.name}"
            for pixels in (HD,) if quick else (HD, UHD):
                yield f"{stem}-{pixels[0]}x{pixels[1]}.png", still_bytes(figure, "png", pixels)
            for kind in () if quick else ("svg", "pdf"):
                yield f"{stem}.{kind}", still_bytes(figure, kind)


def file_name(key: str) -> str:
    """Key of a chart as a part of a file name that is good on every system: letters, digits, dashes."""
    return "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in key)


def _footnote(telling: Telling) -> str:
    session, findings = telling.session, telling.findings
    date = f"{session.date.day} {session.date:%B %Y}" if session.date else ""
    bands = (
        f"{100 * findings.confidence:.0f} % bands over the whole curve"
        if findings.has_bands
        else "no uncertainty can be stated"
    )
    standard = "relative to the baseline" if telling.relative else standard_words(telling)
    parts = [session.title, date, f"{session.dyno} dynamometer", standard, bands]
    return "   \u00b7   ".join(part for part in parts if part)


def still_charts(telling: Telling) -> tuple[Chart, ...]:
    """Charts that are drawn as stills; what would be too much for one picture is spread over several.

    Parameters
    ----------
    telling : Telling
        The result and the reader's units.

    Returns
    -------
    tuple of Chart
        With unique keys.
    """
    torque = torque_chart(telling)
    if len(torque.panels) > 3:
        torque = replace(torque, panels=torque.panels[:1], title="Torque over engine speed")
    charts: list[Chart | None] = [torque, power_chart(telling)]
    charts += [pair_chart(telling, difference) for difference in telling.findings.differences]
    charts += [windows_chart(telling), claims_chart(telling), effects_chart(telling), pulls_chart(telling)]
    return tuple(part for chart in charts if chart is not None for part in _parts(chart))


def _parts(chart: Chart) -> tuple[Chart, ...]:
    most = _MOST_PANELS.get(chart.key, len(chart.panels))
    if chart.key == "windows":
        most = max(1, _MOST_ROWS // max(len(panel.markers) for panel in chart.panels))
    if len(chart.panels) <= most:
        return (chart,)
    starts = range(0, len(chart.panels), most)
    return tuple(
        replace(chart, key=f"{chart.key}-{number}", panels=chart.panels[start : start + most],
                title=f"{chart.title} ({number} of {len(starts)})")
        for number, start in enumerate(starts, start=1)
    )  # fmt: skip
