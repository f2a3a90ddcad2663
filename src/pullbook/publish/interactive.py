"""Charts as Plotly figures: the same specification, to hover over, zoom and switch.

Figures are plain dicts, so that nothing heavy is imported. A colour is written as ``ink:build-1`` or
``ink:build-1/0.2`` with its opacity; the page's script puts the theme's colour there.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.palette import Fill, Ink
from pullbook.publish.sheets import WIDE, end_label
from pullbook.publish.ticks import fine_ticks, spread
from pullbook.quantities.rounding import round_to_doubt

if TYPE_CHECKING:
    from pullbook.publish.chart import Axis, Band, Chart, Line, Marker, Panel

__all__ = ["CONFIG", "INTERACTIVE", "plotly_figure"]

INTERACTIVE: Final = ("torque", "power", "effects", "scatter")
CONFIG: Final[dict[str, Any]] = {
    "displaylogo": False, "showSendToCloud": False, "plotlyServerURL": "", "responsive": True, "displayModeBar": False,
    "doubleClick": "reset", "scrollZoom": False,
}  # fmt: skip
_PANEL: Final = 350.0  # height of the tallest panel [px]
_GAP: Final = 44.0  # between panels, for the title of the lower one [px]
_EDGES: Final = {"l": 54, "r": 206, "t": 28, "b": 48}
_ALPHA: Final = {Fill.TINT: 0.14, Fill.SOLID: 0.5, Fill.STRIPED: 0.28, Fill.HOLLOW: 0.0}


def _ink(ink: Ink, alpha: float | None = None) -> str:
    return f"ink:{ink}" if alpha is None else f"ink:{ink}/{alpha}"


def _numbers(values: Any) -> list[float | None]:
    """Numbers for JSON, where NaN is null; seven digits are more than any screen shows."""
    return [float(f"{value:.7g}") if math.isfinite(value) else None for value in values]


def plotly_figure(chart: Chart) -> dict[str, Any]:
    """Chart as a Plotly figure without theme.

    All panels of a stack share one x axis, because hovering over one then reads all of them.

    Parameters
    ----------
    chart : Chart
        A stack of panels over one x axis.

    Returns
    -------
    dict
        ``data``, ``layout``, ``config`` and ``panels``: what the script needs to lay panels out again when a build is
        hidden.
    """
    data: list[dict[str, Any]] = []
    height = sum(_PANEL * panel.weight + _GAP for panel in chart.panels) - _GAP
    layout = _layout(chart, height)
    pairs = {panel.key: list(panel.builds) for panel in chart.panels if len(panel.builds) == 2}
    below = 0.0
    for number, panel in reversed(list(enumerate(chart.panels, start=1))):
        domain = (below / height, (below + _PANEL * panel.weight) / height)
        below += _PANEL * panel.weight + _GAP
        axis = "y" if number == 1 else f"y{number}"
        layout["yaxis" if number == 1 else f"yaxis{number}"] = _y_axis(panel.y, domain)
        layout["annotations"] += [_title(panel, domain), *_end_labels(panel, axis)]
        layout["shapes"] += [
            {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "yref": axis, "y0": rule.at, "y1": rule.at,
             "line": {"color": _ink(Ink.INK), "width": 1, "dash": str(rule.dash)}} for rule in panel.rules
        ]  # fmt: skip
    for number, panel in enumerate(chart.panels, start=1):
        data += _traces(panel, "y" if number == 1 else f"y{number}", pairs)
    layout["xaxis"]["anchor"] = "y" if len(chart.panels) == 1 else f"y{len(chart.panels)}"
    panels = [
        {"key": panel.key, "title": panel.title, "weight": panel.weight, "builds": list(panel.builds)}
        for panel in chart.panels
    ]
    return {"data": data, "layout": layout, "config": CONFIG, "panels": panels, "panel": _PANEL, "gap": _GAP}


def _layout(chart: Chart, height: float) -> dict[str, Any]:
    x = chart.panels[0].x
    return {
        "height": height + _EDGES["t"] + _EDGES["b"],
        "margin": _EDGES,
        "paper_bgcolor": _ink(Ink.PAPER, 0.0),
        "plot_bgcolor": _ink(Ink.PAPER, 0.0),
        "font": {"family": "system-ui, sans-serif", "size": 13, "color": _ink(Ink.INK)},
        "hovermode": "x unified",
        "hoversubplots": "axis",
        "hoverlabel": {"bgcolor": _ink(Ink.RAISED), "bordercolor": _ink(Ink.LINE),
                       "font": {"color": _ink(Ink.INK), "size": 13}},
        "showlegend": False,
        "dragmode": "zoom",
        "xaxis": {
            "range": [x.low, x.high], "tickvals": list(x.ticks), "ticktext": list(x.labels), "minor": _minor(x),
            "gridcolor": _ink(Ink.GRID), "zeroline": False, "linecolor": _ink(Ink.LINE), "showline": True, "mirror": True,
            "minallowed": x.low, "maxallowed": x.high, "unifiedhovertitle": {"text": "%{x:,.0f} rpm"},
            "showspikes": True, "spikemode": "across", "spikesnap": "hovered data", "spikethickness": 1,
            "spikedash": "solid", "spikecolor": _ink(Ink.SOFT), "tickfont": {"color": _ink(Ink.SOFT)},
        },
        "annotations": [
            {"name": json.dumps(["axis"]), "text": x.title, "showarrow": False, "xref": "paper", "x": 1, "xanchor": "right", "yref": "paper",
             "y": 0, "yanchor": "top", "yshift": -24, "font": {"color": _ink(Ink.SOFT)}},
        ],
        "shapes": [],
    }  # fmt: skip


def _minor(axis: Axis) -> dict[str, Any]:
    """Fine ruling of the paper."""
    values = list(fine_ticks(axis.ticks, axis.low, axis.high))
    return {"showgrid": True, "tickvals": values, "gridcolor": _ink(Ink.GRID, 0.5), "gridwidth": 0.6}


def _y_axis(axis: Axis, domain: tuple[float, float]) -> dict[str, Any]:
    return {
        "range": [axis.low, axis.high], "tickvals": list(axis.ticks), "ticktext": list(axis.labels), "domain": list(domain),
        "minor": _minor(axis),
        "gridcolor": _ink(Ink.GRID), "zeroline": False, "linecolor": _ink(Ink.LINE), "showline": True, "mirror": True,
        "fixedrange": True, "tickfont": {"color": _ink(Ink.SOFT)}, "anchor": "x",
    }  # fmt: skip


def _title(panel: Panel, domain: tuple[float, float]) -> dict[str, Any]:
    return {
        "name": json.dumps(["title", panel.key]), "text": f"<b>{_escaped(panel.title)}</b>", "showarrow": False, "xref": "paper", "x": 0,
        "xanchor": "left", "yref": "paper", "y": domain[1], "yanchor": "bottom", "yshift": 3, "xshift": -_EDGES["l"] + 4,
        "font": {"color": _ink(Ink.INK)},
    }  # fmt: skip


def _end_labels(panel: Panel, axis: str) -> list[dict[str, Any]]:
    """Direct labels at the right, moved apart; the script moves them again when the range of x changes."""
    told = [line for line in panel.lines if line.label and math.isfinite(line.y[-1])]
    height = _PANEL * panel.weight
    scale = height / (panel.y.high - panel.y.low)
    wanted = [(panel.y.high - float(line.y[-1])) * scale for line in told]
    placed = spread(wanted, 17.0, 7.0, height - 7.0)
    return [
        {
            "name": json.dumps(["label", panel.key, line.key]), "text": f"<b>{_escaped(end_label(WIDE, line.label, line.short))}</b>",
            "hovertext": _escaped(line.short), "showarrow": False, "xref": "paper", "x": 1, "xanchor": "left", "xshift": 8,
            "yref": axis, "y": panel.y.high - place / scale, "yanchor": "middle",
            "font": {"color": _ink(Ink.INK)},
        } for line, place in zip(told, placed, strict=True)
    ]  # fmt: skip


def _traces(panel: Panel, axis: str, pairs: dict[str, list[str]]) -> list[dict[str, Any]]:
    traces = [
        *(trace for band in panel.bands for trace in _band(panel, band, axis)),
        *(_line(panel, line, axis) for line in panel.lines),
        *(_marker(panel, marker, axis) for marker in panel.markers),
    ]
    for trace in traces:
        meta = trace["meta"]
        meta["builds"] = pairs.get(meta["key"], [meta["key"]] if panel.builds else [])
    return traces


def _band(panel: Panel, band: Band, axis: str) -> list[dict[str, Any]]:
    both: dict[str, Any] = {"type": "scatter", "mode": "lines", "x": _numbers(band.x), "yaxis": axis, "hoverinfo": "skip",
                            "meta": {"panel": panel.key, "key": band.key, "part": "band"}}  # fmt: skip
    dashed = band.fill is Fill.HOLLOW
    width = 0 if band.fill is Fill.TINT else 1.2
    edge = {"color": _ink(band.ink), "width": width, "dash": "dot" if dashed else "solid"}
    area: dict[str, Any] = {"fill": "tonexty", "fillcolor": _ink(band.ink, _ALPHA[band.fill])}
    if band.fill is Fill.STRIPED:
        area["fillpattern"] = {"shape": "/", "fgcolor": _ink(band.ink), "bgcolor": _ink(band.ink, 0.28), "size": 7,
                               "solidity": 0.4}  # fmt: skip
    return [{**both, "y": _numbers(band.low), "line": edge}, {**both, "y": _numbers(band.high), "line": edge, **area}]


def _line(panel: Panel, line: Line, axis: str) -> dict[str, Any]:
    dash = "solid" if not line.dash.pattern else ",".join(f"{length * 2.2:.1f}px" for length in line.dash.pattern)
    return {
        "type": "scatter", "mode": "lines", "x": _numbers(line.x), "y": _numbers(line.y), "yaxis": axis,
        "name": _escaped(line.label or panel.title), "line": {"color": _ink(line.ink), "width": 2.2, "dash": dash},
        "customdata": _readings(panel, line), "hovertemplate": "%{customdata}", "connectgaps": False,
        "meta": {"panel": panel.key, "key": line.key, "part": "line"},
    }  # fmt: skip


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
        value = round_to_doubt(y, half, signed=signed)
        band = f" ({round_to_doubt(low, half, signed=signed)} to {round_to_doubt(high, half, signed=signed)})"
        told.append(f"{value}{band if math.isfinite(half) else ''} {unit}".replace("-", "\u2212"))
    return told


def _marker(panel: Panel, marker: Marker, axis: str) -> dict[str, Any]:
    known = math.isfinite(marker.low)
    fill = _ink(Ink.PAPER) if marker.hollow else _ink(marker.ink)
    trace: dict[str, Any] = {
        "type": "scatter", "mode": "markers+text" if marker.label else "markers", "x": [marker.x], "y": [marker.y], "yaxis": axis, "hoverinfo": "skip",
        "text": [marker.label], "textposition": "top left", "textfont": {"color": _ink(Ink.SOFT)}, "cliponaxis": False,
        "marker": {"size": 9, "color": fill, "line": {"width": 2.2, "color": _ink(marker.ink)}},
        "meta": {"panel": panel.key, "key": marker.key, "part": "marker"},
    }  # fmt: skip
    if known:
        trace["error_x"] = {"type": "data", "symmetric": False, "array": [marker.high - marker.x],
                            "arrayminus": [marker.x - marker.low], "color": _ink(marker.ink), "thickness": 2, "width": 5}  # fmt: skip
    return trace


def _escaped(text: str) -> str:
    """Text for Plotly, which reads a few tags: no tag of the user's gets through."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
