"""Curves, bands and markers as Plotly traces."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.figures import rounded
from pullbook.publish.palette import Fill, Ink

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pullbook.publish.chart import Band, Line, Marker, Panel

__all__ = ["escaped", "ink", "numbers", "traces"]

_ALPHA: Final = {Fill.TINT: 0.14, Fill.SOLID: 0.5, Fill.STRIPED: 0.28, Fill.HOLLOW: 0.0}


def ink(name: Ink, alpha: float | None = None) -> str:
    """Colour as the page's script reads it, with its opacity.

    Parameters
    ----------
    name : Ink
        The ink.
    alpha : float or None
        Opacity; None for opaque. [1]

    Returns
    -------
    str
        As in "ink:build-1/0.2".
    """
    return f"ink:{name}" if alpha is None else f"ink:{name}/{alpha}"


def numbers(values: Iterable[float]) -> list[float | None]:
    """Numbers for JSON, where NaN is null; seven digits are more than any screen shows."""
    return [float(f"{value:.7g}") if math.isfinite(value) else None for value in values]


def traces(panel: Panel, axis: str, pairs: dict[str, list[str]]) -> list[dict[str, Any]]:
    """Traces of a panel: bands, then curves, then markers.

    Parameters
    ----------
    panel : Panel
        What is drawn.
    axis : str
        Its y axis, as in "y2".
    pairs : dict of str to list of str
        Builds of each difference, by the key of its panel.

    Returns
    -------
    list of dict
        Plotly traces; ``meta`` says what each belongs to.
    """
    made = [
        *(trace for band in panel.bands for trace in _band(panel, band, axis)),
        *(_line(panel, line, axis) for line in panel.lines),
        *(_marker(panel, marker, axis) for marker in panel.markers),
    ]
    for trace in made:
        meta = trace["meta"]
        meta["builds"] = pairs.get(meta["key"], [meta["key"]] if panel.builds else [])
    return made


def _band(panel: Panel, band: Band, axis: str) -> list[dict[str, Any]]:
    both: dict[str, Any] = {
        "type": "scatter",
        "mode": "lines",
        "x": numbers(band.x),
        "yaxis": axis,
        "hoverinfo": "skip",
        "meta": {"panel": panel.key, "key": band.key, "part": "band"},
    }
    dashed = band.fill is Fill.HOLLOW
    width = 0 if band.fill is Fill.TINT else 1.2
    edge = {"color": ink(band.ink), "width": width, "dash": "dot" if dashed else "solid"}
    area: dict[str, Any] = {"fill": "tonexty", "fillcolor": ink(band.ink, _ALPHA[band.fill])}
    if band.fill is Fill.STRIPED:
        area["fillpattern"] = {
            "shape": "/",
            "fgcolor": ink(band.ink),
            "bgcolor": ink(band.ink, 0.28),
            "size": 7,
            "solidity": 0.4,
        }
    return [{**both, "y": numbers(band.low), "line": edge}, {**both, "y": numbers(band.high), "line": edge, **area}]


def _line(panel: Panel, line: Line, axis: str) -> dict[str, Any]:
    dash = "solid" if not line.dash.pattern else ",".join(f"{length * 2.2:.1f}px" for length in line.dash.pattern)
    return {
        "type": "scatter",
        "mode": "lines",
        "x": numbers(line.x),
        "y": numbers(line.y),
        "yaxis": axis,
        "name": escaped(line.label or panel.title),
        "line": {"color": ink(line.ink), "width": 2.2, "dash": dash},
        "customdata": _readings(panel, line),
        "hovertemplate": f"<b>{escaped(line.short or panel.title)}</b>  %{{customdata}}<extra></extra>",
        "connectgaps": False,
        "meta": {"panel": panel.key, "key": line.key, "part": "line"},
    }


def _readings(panel: Panel, line: Line) -> list[str]:
    """What the reader sees at each speed: the value with its band, in the digits that the band allows."""
    unit = panel.y.title.rpartition(", ")[2].split(" of ")[0]
    signed = panel.y.low < 0.0
    ends: dict[float, tuple[float, float]] = {}
    for band in panel.bands:
        if band.key == line.key:
            ends |= dict(zip(band.x.tolist(), zip(band.low.tolist(), band.high.tolist(), strict=True), strict=True))
    told = []
    for x, y in zip(line.x.tolist(), line.y.tolist(), strict=True):
        low, high = ends.get(x, (math.nan, math.nan))
        half = (high - low) / 2.0
        value = rounded(y, half, signed=signed)
        doubt = f" ({rounded(low, half, signed=signed)} to {rounded(high, half, signed=signed)})"
        told.append(f"{value}{doubt if math.isfinite(half) else ''} {unit}".replace("-", "\u2212"))
    return told


def _marker(panel: Panel, marker: Marker, axis: str) -> dict[str, Any]:
    known = math.isfinite(marker.low)
    fill = ink(Ink.PAPER) if marker.hollow else ink(marker.ink)
    trace: dict[str, Any] = {
        "type": "scatter",
        "mode": "markers+text" if marker.label else "markers",
        "x": [marker.x],
        "y": [marker.y],
        "yaxis": axis,
        "hoverinfo": "skip",
        "text": [marker.label],
        "textposition": "top left" if marker.label_left else "top right",
        "textfont": {"color": ink(Ink.SOFT)},
        "cliponaxis": False,
        "marker": {"size": 9, "color": fill, "line": {"width": 2.2, "color": ink(marker.ink)}},
        "meta": {"panel": panel.key, "key": marker.key, "part": "marker"},
    }
    if known:
        trace["error_x"] = {
            "type": "data",
            "symmetric": False,
            "array": [marker.high - marker.x],
            "arrayminus": [marker.x - marker.low],
            "color": ink(marker.ink),
            "thickness": 2,
            "width": 5,
        }
    return trace


def escaped(text: str) -> str:
    """Text for Plotly, which reads a few tags: no tag of the user's gets through."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
