"""Charts as Plotly figures: the same specification, to hover over, zoom and switch.

Figures are plain dicts, so that nothing heavy is imported. A colour is written as ``ink:build-1`` or
``ink:build-1/0.2`` with its opacity; the page's script puts the theme's colour there.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.palette import Ink
from pullbook.publish.plotly_traces import escaped, ink, traces
from pullbook.publish.sheets import NARROW, WIDE, end_label, wrapped
from pullbook.publish.ticks import fine_ticks, spread
from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from pullbook.publish.chart import Axis, Chart, Panel

__all__ = ["CONFIG", "INTERACTIVE", "plotly_figure"]

INTERACTIVE: Final = ("torque", "power", "effects", "scatter")
CONFIG: Final[dict[str, Any]] = {
    "displaylogo": False,
    "showSendToCloud": False,
    "plotlyServerURL": "",
    "responsive": True,
    "displayModeBar": False,
    "doubleClick": "reset",
    "scrollZoom": False,
    "showTips": False,
}
_PANEL: Final = 350.0  # height of the tallest panel [px]
_GAP: Final = 44.0  # between panels, for the title of the lower one [px]
_EDGES: Final = {"l": 54, "r": 206, "t": 28, "b": 48}


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
            {
                "type": "line",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "yref": axis,
                "y0": rule.at,
                "y1": rule.at,
                "line": {"color": ink(Ink.INK), "width": 1, "dash": str(rule.dash)},
            }
            for rule in panel.rules
        ]
    for number, panel in enumerate(chart.panels, start=1):
        data += traces(panel, "y" if number == 1 else f"y{number}", pairs)
    layout["xaxis"]["anchor"] = "y" if len(chart.panels) == 1 else f"y{len(chart.panels)}"
    panels = [
        {"key": panel.key, "narrow": _narrow_title(panel), "weight": panel.weight, "builds": list(panel.builds)}
        for panel in chart.panels
    ]
    return {"data": data, "layout": layout, "config": CONFIG, "panels": panels, "panel": _PANEL, "gap": _GAP}


def _layout(chart: Chart, height: float) -> dict[str, Any]:
    x = chart.panels[0].x
    return {
        "height": height + _EDGES["t"] + _EDGES["b"],
        "margin": _EDGES,
        "paper_bgcolor": ink(Ink.PAPER, 0.0),
        "plot_bgcolor": ink(Ink.PAPER, 0.0),
        "font": {"family": "system-ui, sans-serif", "size": 13, "color": ink(Ink.INK)},
        "hovermode": "x unified",
        "hoversubplots": "axis",
        "hoverlabel": {
            "bgcolor": ink(Ink.RAISED),
            "bordercolor": ink(Ink.LINE),
            "font": {"color": ink(Ink.INK), "size": 13},
        },
        "showlegend": False,
        "dragmode": "zoom",
        "xaxis": {
            "range": [x.low, x.high],
            "tickvals": list(x.ticks),
            "ticktext": [typeset(label) for label in x.labels],
            "minor": _minor(x),
            "gridcolor": ink(Ink.GRID),
            "zeroline": False,
            "linecolor": ink(Ink.LINE),
            "showline": True,
            "mirror": True,
            "minallowed": x.low,
            "maxallowed": x.high,
            "unifiedhovertitle": {"text": "%{x:,.0f} rpm"},
            "showspikes": True,
            "spikemode": "across",
            "spikesnap": "hovered data",
            "spikethickness": 1,
            "spikedash": "solid",
            "spikecolor": ink(Ink.SOFT),
            "tickfont": {"color": ink(Ink.SOFT)},
        },
        "annotations": [
            {
                "name": json.dumps(["axis"]),
                "text": x.title,
                "showarrow": False,
                "xref": "paper",
                "x": 1,
                "xanchor": "right",
                "yref": "paper",
                "y": 0,
                "yanchor": "top",
                "yshift": -24,
                "font": {"color": ink(Ink.SOFT)},
            },
        ],
        "shapes": [],
    }


def _minor(axis: Axis) -> dict[str, Any]:
    """Fine ruling of the paper."""
    values = list(fine_ticks(axis.ticks, axis.low, axis.high))
    return {"showgrid": True, "tickvals": values, "gridcolor": ink(Ink.GRID, 0.5), "gridwidth": 0.6}


def _y_axis(axis: Axis, domain: tuple[float, float]) -> dict[str, Any]:
    return {
        "range": [axis.low, axis.high],
        "tickvals": list(axis.ticks),
        "ticktext": [typeset(label) for label in axis.labels],
        "domain": list(domain),
        "minor": _minor(axis),
        "gridcolor": ink(Ink.GRID),
        "zeroline": False,
        "linecolor": ink(Ink.LINE),
        "showline": True,
        "mirror": True,
        "fixedrange": True,
        "tickfont": {"color": ink(Ink.SOFT)},
        "anchor": "x",
    }


def _title(panel: Panel, domain: tuple[float, float]) -> dict[str, Any]:
    return {
        "name": json.dumps(["title", panel.key]),
        "text": f"<b>{escaped(panel.title)}</b>",
        "showarrow": False,
        "xref": "paper",
        "x": 0,
        "xanchor": "left",
        "yref": "paper",
        "y": domain[1],
        "yanchor": "bottom",
        "yshift": 7,
        "xshift": -_EDGES["l"] + 4,
        "font": {"color": ink(Ink.INK)},
    }


def _narrow_title(panel: Panel) -> str:
    """Title in two lines or more, for a phone."""
    lines = wrapped(panel.title, NARROW.width - 20.0, NARROW.text)
    return "<br>".join(f"<b>{escaped(line)}</b>" for line in lines)


def _end_labels(panel: Panel, axis: str) -> list[dict[str, Any]]:
    """Direct labels at the right, moved apart; the script moves them again when the range of x changes."""
    told = [line for line in panel.lines if line.label and math.isfinite(line.y[-1])]
    height = _PANEL * panel.weight
    scale = height / (panel.y.high - panel.y.low)
    wanted = [(panel.y.high - float(line.y[-1])) * scale for line in told]
    placed = spread(wanted, 17.0, 7.0, height - 7.0)
    return [
        {
            "name": json.dumps(["label", panel.key, line.key]),
            "text": f"<b>{escaped(end_label(WIDE, line.label, line.short))}</b>",
            "hovertext": escaped(line.short),
            "showarrow": False,
            "xref": "paper",
            "x": 1,
            "xanchor": "left",
            "xshift": 8,
            "yref": axis,
            "y": panel.y.high - place / scale,
            "yanchor": "middle",
            "font": {"color": ink(Ink.INK)},
        }
        for line, place in zip(told, placed, strict=True)
    ]
