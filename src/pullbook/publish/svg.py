"""Charts as inline SVG: the first picture of every chart in the page, and the whole of it without scripts.

Colours are CSS custom properties, so that the picture follows the page into the dark; text stays text.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from pullbook.publish.axes import RPM_TITLE
from pullbook.publish.chart import Arrangement
from pullbook.publish.palette import Fill, Ink
from pullbook.publish.sheets import Frame, frames, has_x_labels, has_x_title, shortened, text_width, wrapped
from pullbook.publish.svg_marks import (
    band_mark,
    end_labels,
    grid_mark,
    line_mark,
    marker_marks,
    rule_marks,
    text_mark,
)
from pullbook.publish.svg_shapes import band_id, line_id, pane, shapes, size

if TYPE_CHECKING:
    from pullbook.publish.chart import Chart, Panel
    from pullbook.publish.sheets import Sheet

__all__ = ["picture"]

_CELL_GAP = 7.0


def picture(chart: Chart, sheet: Sheet, uid: str, shared: str = "") -> str:
    """Chart as an SVG element with a title and a text alternative.

    Parameters
    ----------
    chart : Chart
        What is drawn.
    sheet : Sheet
        Size.
    uid : str
        Unique within the page; ids inside the picture begin with it.
    shared : str
        Begin of the ids of the chart's shapes, where they stand elsewhere in the page; empty to have them in here.

    Returns
    -------
    str
        The element. User-supplied text in it is escaped.
    """
    names = shared or f"{uid}-s"
    place = ""
    if chart.arrangement is Arrangement.STRIP:
        body, height = _strip(chart, sheet, names)
    else:
        rectangles, height = frames(sheet, chart)
        body = "".join(_panel(chart, number, sheet, (uid, names), frame) for number, frame in enumerate(rectangles))
        body = f"{_patterns(chart, uid, rectangles)}{body}"
        place = _place(rectangles) or _gains(chart)
    own = "" if shared else f'<defs class="shapes">{shapes(chart, names)}</defs>'
    return (
        f'<svg class="picture {sheet.name}" viewBox="0 0 {sheet.width:.0f} {height:.0f}" role="img"{place} '
        f'aria-labelledby="{uid}-t {uid}-d" font-size="{sheet.text}"><title id="{uid}-t">{escape(chart.title)}</title>'
        f'<desc id="{uid}-d">{escape(chart.says)}</desc>{own}{body}</svg>'
    )


def _patterns(chart: Chart, uid: str, rectangles: tuple[Frame, ...]) -> str:
    """Stripes of each panel that has striped bands, turned and stretched so that they look the same in all."""
    made = []
    for number, (panel, frame) in enumerate(zip(chart.panels, rectangles, strict=True)):
        if not any(band.fill is Fill.STRIPED for band in panel.bands):
            continue
        wide, tall = size(chart, panel)
        stretch = f"scale({wide / (frame.x1 - frame.x0):.4f} {tall / (frame.y1 - frame.y0):.4f})"
        made.append(
            f'<pattern id="{uid}-stripes-{number}" width="7" height="7" patternUnits="userSpaceOnUse" '
            f'patternTransform="{stretch} rotate(45)"><rect width="7" height="7" class="f-{Ink.LOSS}" '
            f'fill-opacity=".28"/><rect width="3" height="7" class="f-{Ink.LOSS}"/></pattern>'
        )
    return f"<defs>{''.join(made)}</defs>" if made else ""


def _place(rectangles: tuple[Frame, ...]) -> str:
    """Where the axis of engine speed lies, for a script that lays something over it; see charts.js."""
    first = rectangles[0]
    if first.x.title != RPM_TITLE:
        return ""
    panels = " ".join(f"{frame.y0:.1f} {frame.y1:.1f}" for frame in rectangles)
    return (
        f' data-rpm="{first.x.low:g} {first.x.high:g}" data-area="{first.x0:.1f} {first.x1:.1f}" data-panels="{panels}"'
    )


def _gains(chart: Chart) -> str:
    """Ends of the axis of gains and the step of its labels, for a script that adds a row; see window-picture.js."""
    x = chart.panels[0].x
    if not any(marker.bar for panel in chart.panels for marker in panel.markers) or len(x.ticks) < 2:
        return ""
    return f' data-gains="{x.low:.9g} {x.high:.9g} {x.ticks[1] - x.ticks[0]:.9g}"'


def _panel(chart: Chart, number: int, sheet: Sheet, ids: tuple[str, str], frame: Frame) -> str:
    """One panel of a stack: ruling, bands, rules, curves, markers and labels."""
    uid, names = ids
    panel = chart.panels[number]
    bands = "".join(
        band_mark(band_id(names, number, i), band, f"{uid}-stripes-{number}") for i, band in enumerate(panel.bands)
    )
    lines = "".join(line_mark(line_id(names, number, i), line) for i, line in enumerate(panel.lines))
    extent = size(chart, panel)
    labels = _x_labels(frame, sheet, last=has_x_title(chart, number)) if has_x_labels(chart, number) else ""
    return (
        f'<g data-panel="{escape(panel.key)}">{_title(panel, frame, sheet)}{grid_mark(frame)}'
        f"{pane(frame, extent, bands)}{rule_marks(sheet, frame, panel)}{pane(frame, extent, lines)}"
        f"{marker_marks(sheet, frame, panel)}{end_labels(sheet, frame, panel)}{_y_labels(frame, sheet)}{labels}</g>"
    )


def _title(panel: Panel, frame: Frame, sheet: Sheet) -> str:
    if not panel.title:
        return ""
    lines = wrapped(panel.title, sheet.width - 8.0, sheet.text)
    start = frame.y0 - 9.0 - (len(lines) - 1) * sheet.text * 1.3
    return "".join(
        text_mark((4.0, start + number * sheet.text * 1.3), line, "axis") for number, line in enumerate(lines)
    )


def _y_labels(frame: Frame, sheet: Sheet) -> str:
    return "".join(
        text_mark((frame.x0 - 8.0, frame.down(tick) + sheet.text * 0.35), label, "tick", "end")
        for tick, label in zip(frame.y.ticks, frame.y.labels, strict=True)
    )


def _x_labels(frame: Frame, sheet: Sheet, *, last: bool) -> str:
    """Numbers under the axis, and its title under those of the last panel."""
    y = frame.y1 + sheet.text * 1.35
    marks, reached = [], -1e9
    for tick, label in zip(frame.x.ticks, frame.x.labels, strict=True):
        half = text_width(label, sheet.text) / 2.0
        x = min(max(frame.across(tick), half), sheet.width - half)  # a label at the edge stays on the sheet
        if x - half < reached + 6.0:
            continue
        reached = x + half
        marks.append(text_mark((x, y), label, "tick", "middle"))
    if last:
        marks.append(text_mark((frame.x1, y + sheet.text * 1.25), frame.x.title, "tick soft", "end"))
    return "".join(marks)


def _strip(chart: Chart, sheet: Sheet, names: str) -> tuple[str, float]:
    rows = -(-len(chart.panels) // sheet.columns)
    columns = -(-len(chart.panels) // rows)
    width = (sheet.width - (columns - 1) * _CELL_GAP) / columns
    width = min(width, 110.0)
    height = width * 0.78
    step = height + sheet.text * 1.7
    parts = []
    for number, panel in enumerate(chart.panels):
        row, column = divmod(number, columns)
        left, top = column * (width + _CELL_GAP), row * step + 1.0
        cell = (left, top, width, height)
        lines = [line_mark(line_id(names, number, i), line, 1.7) for i, line in enumerate(panel.lines)]
        parts.append(_cell(panel, sheet, cell, (size(chart, panel), "".join(lines))))
    return "".join(parts), rows * step + 4.0


def _cell(
    panel: Panel, sheet: Sheet, box: tuple[float, float, float, float], drawn: tuple[tuple[float, float], str]
) -> str:
    left, top, width, height = box
    frame = Frame(
        x0=left + 6, x1=left + width - 6, y0=top + sheet.text * 1.3, y1=top + height - 5, x=panel.x, y=panel.y
    )
    css = "cell struck" if panel.struck else "cell"
    marks = [f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}" rx="2" class="{css}"/>']
    marks.append(pane(frame, *drawn))
    name = shortened(panel.title, width - 10.0, sheet.text)
    marks.append(text_mark((left + 6.0, top + sheet.text * 1.15), name, "name"))
    if panel.struck:
        marks.append(
            f'<path d="M{left + 4:.1f} {top + height - 4:.1f}L{left + width - 4:.1f} {top + 4:.1f}" class="strike"/>'
            f"<title>{escape(panel.struck)}</title>"
        )
    marks.append(text_mark((left + width / 2.0, top + height + sheet.text * 1.15), panel.aside, "tick", "middle"))
    return f"<g>{''.join(marks)}</g>"
