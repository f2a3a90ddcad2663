"""Marks of a picture in the page: curves, bands, markers, labels, as SVG text."""

from __future__ import annotations

import math
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from pullbook.publish.palette import Dash, Fill, Ink
from pullbook.publish.sheets import LEAD, end_label, text_width
from pullbook.publish.ticks import fine_ticks, spread
from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.publish.chart import Band, Line, Marker, Panel
    from pullbook.publish.sheets import Frame, Sheet

__all__ = ["band_mark", "end_labels", "grid_mark", "line_mark", "marker_marks", "rule_marks", "text_mark"]

_LINE_WIDTH = 2.2
_LABEL_GAP = 1.25  # smallest distance of two labels, in text sizes


def text_mark(at: tuple[float, float], text: str, css: str = "", anchor: str = "start") -> str:
    """Text with its anchor point.

    Parameters
    ----------
    at : tuple of (float, float)
        Anchor point. [px]
    text : str
        Plain text; it is escaped here.
    css : str
        Classes.
    anchor : str
        start, middle or end.

    Returns
    -------
    str
        A text element.
    """
    place = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" class="{css}"{place}>{escape(typeset(text))}</text>'


def _dashes(dash: Dash, width: float = _LINE_WIDTH) -> str:
    if not dash.pattern:
        return ""
    return f' stroke-dasharray="{" ".join(f"{length * width:.1f}" for length in dash.pattern)}"'


def line_mark(shape: str, line: Line, width: float = _LINE_WIDTH) -> str:
    """Curve, by the id of its shape."""
    return f'<use href="#{shape}" class="l s-{line.ink}" stroke-width="{width}"{_dashes(line.dash, width)}/>'


def band_mark(shape: str, band: Band, stripes: str) -> str:
    """Area between two curves, by the id of its shape, in the fill that tells what it means without colour."""
    if band.fill is Fill.TINT:
        css = f'class="tint f-{band.ink}"'
    elif band.fill is Fill.SOLID:
        css = f'class="zone f-{band.ink} s-{band.ink}"'
    elif band.fill is Fill.STRIPED:
        css = f'class="s-{band.ink}" fill="url(#{stripes})"'
    else:
        css = f'class="open s-{band.ink}"'
    return f'<use href="#{shape}" {css}/>'


def grid_mark(frame: Frame) -> str:
    """Ruling of the paper: fine lines at fifths of the steps, stronger ones at the ticks."""
    x, y = frame.x, frame.y
    # The names of rows are no scale: no lines are ruled for them.
    fine_y, strong_y = (fine_ticks(y.ticks, y.low, y.high), y.ticks) if y.title else ((), ())
    return (
        f'<path d="{_ruling(frame, fine_ticks(x.ticks, x.low, x.high), fine_y)}" class="g1"/>'
        f'<path d="{_ruling(frame, x.ticks, strong_y)}" class="g2"/>'
        f'<rect x="{frame.x0:.1f}" y="{frame.y0:.1f}" width="{frame.x1 - frame.x0:.1f}" '
        f'height="{frame.y1 - frame.y0:.1f}" class="box"/>'
    )


def _ruling(frame: Frame, upright: Sequence[float], flat: Sequence[float]) -> str:
    """Lines to tenths of a pixel, each told from the end of the one before: even steps give the same text again."""
    lines = [((frame.across(x), frame.y0), (frame.across(x), frame.y1)) for x in upright]
    lines += [((frame.x0, frame.down(y)), (frame.x1, frame.down(y))) for y in flat]
    marks, (left, top) = [], (0, 0)
    for start, end in lines:
        (x0, y0), (x1, y1) = ((round(10.0 * x), round(10.0 * y)) for x, y in (start, end))
        way = f"v{(y1 - y0) / 10:g}" if x0 == x1 else f"h{(x1 - x0) / 10:g}"
        marks.append(f"m{(x0 - left) / 10:g} {(y0 - top) / 10:g}{way}")
        left, top = x1, y1
    return "".join(marks)


def rule_marks(sheet: Sheet, frame: Frame, panel: Panel) -> str:
    """Straight lines with their labels."""
    marks = []
    for rule in panel.rules:
        if rule.upright:
            x = frame.across(rule.at)
            marks.append(f'<path d="M{x:.1f} {frame.y0:.1f}V{frame.y1:.1f}" class="rule"{_dashes(rule.dash, 1.3)}/>')
            if rule.label:
                room = frame.x1 - x > text_width(rule.label, sheet.text) + 8.0
                at = (x + 5.0 if room else x - 5.0, frame.y0 + sheet.text)
                marks.append(text_mark(at, rule.label, "halo soft", "start" if room else "end"))
        else:
            y = frame.down(rule.at)
            marks.append(f'<path d="M{frame.x0:.1f} {y:.1f}H{frame.x1:.1f}" class="rule"{_dashes(rule.dash, 1.3)}/>')
            if rule.label:
                marks.append(text_mark((frame.x1 - 8.0, y - 6.0), rule.label, "halo soft", "end"))
    return "".join(marks)


def marker_marks(sheet: Sheet, frame: Frame, panel: Panel) -> str:
    """Points with their intervals, and labels where they lie on no other."""
    marks: list[str] = []
    taken: list[tuple[float, float]] = []
    for marker in panel.markers:
        x, y = frame.across(marker.x), frame.down(marker.y)
        if marker.bar:
            zero = frame.across(0.0)
            left, right = sorted((zero, x))
            css = "hollowbar" if marker.hollow else f"bar f-{marker.ink}"
            marks.append(f'<rect x="{left:.1f}" y="{y - 7:.1f}" width="{right - left:.1f}" height="14" class="{css}"/>')
        if math.isfinite(marker.low):
            low, high = frame.across(marker.low), frame.across(marker.high)
            marks.append(
                f'<path d="M{low:.1f} {y:.1f}H{high:.1f}M{low:.1f} {y - 5:.1f}V{y + 5:.1f}'
                f'M{high:.1f} {y - 5:.1f}V{y + 5:.1f}" '
                f'class="whisker s-{Ink.INK if marker.bar else marker.ink}"/>'
            )
        css = f"ring s-{marker.ink}" if marker.hollow else f"dot f-{Ink.INK if marker.bar else marker.ink}"
        marks.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" class="{css}"/>')
        marks.append(_marker_label(sheet, frame, marker, taken))
    return "".join(marks)


def _marker_label(sheet: Sheet, frame: Frame, marker: Marker, taken: list[tuple[float, float]]) -> str:
    if not marker.label:
        return ""
    width, y = text_width(marker.label, sheet.text), frame.down(marker.y)
    low = marker.low if math.isfinite(marker.low) else marker.x
    high = marker.high if math.isfinite(marker.high) else marker.x
    if marker.bar:
        value = marker.label if width <= sheet.width - frame.x1 - 8.0 else marker.label.partition(" (")[0]
        return text_mark((frame.x1 + 8.0, y + 4.5), value)
    if not sheet.long_labels:  # on a narrow sheet it would lie on the curve; a sentence says it too
        return ""
    left, right = frame.across(low) - 8.0 - width, frame.across(high) + 8.0
    start = left if marker.label_left else right
    start = start if frame.x0 <= start <= frame.x1 - width else (right if marker.label_left else left)
    start = min(max(start, frame.x0), frame.x1 - width)
    if any(start < other[1] and other[0] < start + width for other in taken):
        return ""
    taken.append((start - 6.0, start + width + 6.0))
    return text_mark((start, y - 7.0), marker.label, "halo soft")


def end_labels(sheet: Sheet, frame: Frame, panel: Panel) -> str:
    """Labels at the ends of the curves, moved apart, each led to by a piece of its own line."""
    told = [line for line in panel.lines if line.label and np.isfinite(line.y).any()]
    texts = [end_label(sheet, line.label, line.short) for line in told]
    ends = [int(np.flatnonzero(np.isfinite(line.y))[-1]) for line in told]
    wanted = [frame.down(float(line.y[end])) for line, end in zip(told, ends, strict=True)]
    half = sheet.text * 0.5
    placed = spread(wanted, sheet.text * _LABEL_GAP, frame.y0 + half, frame.y1 - half)
    marks = []
    for line, text, end, at, label in zip(told, texts, ends, wanted, placed, strict=True):
        if not text:
            continue
        x = frame.across(float(line.x[end]))
        marks.append(
            f'<path d="M{x:.1f} {at:.1f}L{frame.x1 + 6:.1f} {at:.1f}'
            f'L{frame.x1 + 11:.1f} {label:.1f}H{frame.x1 + LEAD - 4:.1f}" '
            f'class="lead s-{line.ink}"{_dashes(line.dash, 1.8)}/>'
        )
        marks.append(text_mark((frame.x1 + LEAD, label + sheet.text * 0.35), text, "name"))
    return "".join(marks)
