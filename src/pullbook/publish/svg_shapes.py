"""Shapes of curves and bands: written once, and drawn by the pictures of every size.

A shape is in the units of its panel: engine speed from the left end of the axis across, and down in tenths of a
pixel of the widest picture. A picture puts it into a frame of its own size; strokes keep their width.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from pullbook.publish.chart import Arrangement
from pullbook.publish.sheets import WIDE

if TYPE_CHECKING:
    from pullbook.publish.chart import Band, Chart, Line, Panel
    from pullbook.publish.sheets import Frame
    from pullbook.quantities.arrays import FloatArray

__all__ = ["band_id", "line_id", "pane", "shapes", "size"]

_FINE: Final = 700.0  # fewest steps across; a range of x that is shorter is told in tenths, hundredths and so on
_CELL: Final = 60.0  # height of a cell of a strip [px]
_STEADY: Final = ' vector-effect="non-scaling-stroke"'  # no style rule reaches what is drawn by its id
_TOLERANCE: Final = 1.5  # largest distance of a point from the line that passes it [tenth of a pixel]


def line_id(uid: str, panel: int, number: int) -> str:
    """Id of the shape of a curve."""
    return f"{uid}-{panel}l{number}"


def band_id(uid: str, panel: int, number: int) -> str:
    """Id of the shape of a band."""
    return f"{uid}-{panel}b{number}"


def size(chart: Chart, panel: Panel) -> tuple[float, float]:
    """Width and height of a panel in the units of its shapes."""
    wide = panel.x.high - panel.x.low
    tall = _CELL if chart.arrangement is Arrangement.STRIP else WIDE.panel * panel.weight
    finer = 10.0 ** max(0, math.ceil(math.log10(_FINE / wide)))
    return wide * finer, 10.0 * tall


def shapes(chart: Chart, uid: str) -> str:
    """Shapes of all curves and bands of a chart, as path elements with ids.

    Parameters
    ----------
    chart : Chart
        What is drawn.
    uid : str
        Unique within the page; the ids begin with it.

    Returns
    -------
    str
        Path elements to stand in a ``defs`` element.
    """
    marks: list[str] = []
    for place, panel in enumerate(chart.panels):
        pen = _Pen(panel, size(chart, panel))
        marks += [
            f'<path id="{line_id(uid, place, number)}"{_STEADY} d="{pen.line(line)}"/>'
            for number, line in enumerate(panel.lines)
        ]
        marks += [
            f'<path id="{band_id(uid, place, number)}"{_STEADY} d="{pen.band(band)}"/>'
            for number, band in enumerate(panel.bands)
        ]
    return "".join(marks)


def pane(frame: Frame, extent: tuple[float, float], marks: str) -> str:
    """Frame of a picture with shapes in it, cut off at its edges.

    Parameters
    ----------
    frame : Frame
        Where it lies.
    extent : tuple of (float, float)
        Width and height. [units of the shapes]
    marks : str
        What uses the shapes.

    Returns
    -------
    str
        An svg element; empty where there is nothing to draw.
    """
    if not marks:
        return ""
    return (
        f'<svg x="{frame.x0:.1f}" y="{frame.y0:.1f}" width="{frame.x1 - frame.x0:.1f}" '
        f'height="{frame.y1 - frame.y0:.1f}" viewBox="0 0 {extent[0]:g} {extent[1]:g}" preserveAspectRatio="none">'
        f"{marks}</svg>"
    )


class _Pen:
    """Writes paths in the units of a panel."""

    def __init__(self, panel: Panel, extent: tuple[float, float]) -> None:
        self._x, self._y = panel.x, panel.y
        self._wide, self._tall = extent

    def line(self, line: Line) -> str:
        """Path of a curve; a NaN lifts the pen."""
        across, down = self._placed(line.x, line.y)
        known = np.isfinite(down)
        edges = np.flatnonzero(np.diff(known.astype(int))) + 1
        stretches = [part for part in np.split(np.arange(down.size), edges) if part.size and known[part[0]]]
        return "".join(_path("M", across[part], down[part]) for part in stretches)

    def band(self, band: Band) -> str:
        """Outline of a band."""
        across, high = self._placed(band.x, band.high)
        _, low = self._placed(band.x, band.low)
        return f"{_path('M', across, high)}{_path('L', across[::-1], low[::-1])}Z"

    def _placed(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        across = (x - self._x.low) / (self._x.high - self._x.low) * self._wide
        return across, (self._y.high - y) / (self._y.high - self._y.low) * self._tall


def _path(begin: str, across: FloatArray, down: FloatArray) -> str:
    """Whole steps through the points that cannot be left out."""
    kept = _needed(across, down)
    x, y = np.rint(across[kept]).astype(int).tolist(), np.rint(down[kept]).astype(int).tolist()
    steps = [
        f"{later - earlier} {lower - upper}"
        for earlier, later, upper, lower in zip(x[:-1], x[1:], y[:-1], y[1:], strict=True)
    ]
    return f"{begin}{x[0]} {y[0]}{'l' if steps else ''}{' '.join(steps)}".replace(" -", "-")


def _needed(across: FloatArray, down: FloatArray) -> list[int]:
    """Points between which straight lines pass all others closely enough (a swinging door)."""
    kept, low, high = [0], -math.inf, math.inf
    for at in range(1, down.size):
        run, rise = _way(across, down, kept[-1], at)
        if kept[-1] != at - 1 and not (run > 0.0 and low <= rise / run <= high):
            kept.append(at - 1)
            low, high = -math.inf, math.inf
            run, rise = _way(across, down, kept[-1], at)
        if run > 0.0:
            low, high = max(low, (rise - _TOLERANCE) / run), min(high, (rise + _TOLERANCE) / run)
    return kept if kept[-1] == down.size - 1 else [*kept, down.size - 1]


def _way(across: FloatArray, down: FloatArray, first: int, last: int) -> tuple[float, float]:
    """Distance across, always forwards, and down."""
    return abs(float(across[last] - across[first])), float(down[last] - down[first])
