"""Text of a still: direct labels moved apart, titles, and an edge that makes text read on any footage."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.publish.palette import Ink, Theme
from pullbook.publish.sheets import shortened, text_width
from pullbook.publish.ticks import spread

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.typing import LineStyleType

    from pullbook.publish.chart import Line, Panel

__all__ = [
    "LABEL_SHARE",
    "LINE",
    "PIXELS",
    "POINT",
    "TEXT",
    "dashes",
    "edge",
    "end_labels",
    "panel_titles",
    "text_style",
]

PIXELS: Final = 1920.0  # width of a still
LABEL_SHARE: Final = 0.34  # of the width, for the longest label at the end of a curve
POINT: Final = 0.72  # of a pixel at 100 dpi
TEXT: Final = 24.0 * POINT
LINE: Final = 4.2 * POINT
_VERDICT_INKS: Final = {"supported": Ink.GAIN_TEXT, "refuted": Ink.LOSS_TEXT, "not decided": Ink.SOFT}


def text_style(theme: Theme, ink: Ink, *, halo: bool, size: float = TEXT, weight: str = "normal") -> dict[str, Any]:
    """Keywords of matplotlib for a text.

    Parameters
    ----------
    theme : Theme
        Colours.
    ink : Ink
        Which of them.
    halo : bool
        With an edge in the colour of the paper.
    size : float
        Size of the letters. [pt]
    weight : str
        "normal" or "bold".

    Returns
    -------
    dict
        Keywords.
    """
    return {"color": theme[ink], "fontsize": size, "fontweight": weight, "path_effects": edge(theme, halo=halo)}


def edge(theme: Theme, *, halo: bool) -> list[Any]:
    """Edge in the colour of the paper, so that text and curves read on any footage."""
    from matplotlib.patheffects import Normal, Stroke

    return [Stroke(linewidth=5.5, foreground=theme[Ink.PAPER], alpha=0.75), Normal()] if halo else []


def dashes(pattern: tuple[float, ...]) -> LineStyleType:
    """Line style of matplotlib from lengths of strokes and gaps.

    Parameters
    ----------
    pattern : tuple of float
        Lengths; empty for a solid line. [line width]

    Returns
    -------
    str or tuple
        Line style.
    """
    return (0, pattern) if pattern else "solid"


def end_labels(axes: Axes, panel: Panel, theme: Theme, *, halo: bool) -> None:
    """Labels at the ends of curves, moved apart, led to by a piece of their own line."""
    told = [line for line in panel.lines if line.label and np.isfinite(line.y).any()]
    ends = [int(np.flatnonzero(np.isfinite(line.y))[-1]) for line in told]
    box = axes.get_position()
    figure = axes.get_figure(root=True)
    if figure is None or not told:
        return
    height = box.height * figure.get_figheight() * 72.0
    scale = height / (panel.y.high - panel.y.low)
    wanted = [(float(line.y[end]) - panel.y.low) * scale for line, end in zip(told, ends, strict=True)]
    placed = spread(wanted, TEXT * 1.25, TEXT * 0.5, height - TEXT * 0.5)
    for line, end, place in zip(told, ends, placed, strict=True):
        _end_label(axes, line, (float(line.x[end]), float(line.y[end])), place / height, theme, halo=halo)


def _end_label(axes: Axes, line: Line, end: tuple[float, float], height: float, theme: Theme, *, halo: bool) -> None:
    blend = axes.transAxes
    start = blend.inverted().transform(axes.transData.transform(end))
    width = axes.bbox.width
    across = [start[0], 1.0 + 10.0 / width, 1.0 + 18.0 / width, 1.0 + 52.0 / width]
    axes.plot(
        across,
        [start[1], start[1], height, height],
        transform=blend,
        clip_on=False,
        color=theme[line.ink],
        linewidth=LINE * 0.75,
        linestyle=dashes(line.dash.pattern),
        path_effects=edge(theme, halo=halo),
    )
    axes.text(
        1.0 + 60.0 / width,
        height,
        shortened(line.label, LABEL_SHARE * PIXELS, TEXT / POINT),
        transform=blend,
        va="center_baseline",
        gid=f"label:{line.key}",
        **text_style(theme, Ink.INK, halo=halo, weight="bold"),
    )


def panel_titles(axes: Axes, panel: Panel, theme: Theme, *, halo: bool, small: bool) -> None:
    """Title and aside of a panel; in a strip its name, time and the line that strikes it out.

    Parameters
    ----------
    axes : Axes
        Where.
    panel : Panel
        What.
    theme : Theme
        Colours.
    halo : bool
        With an edge in the colour of the paper.
    small : bool
        A little picture of a strip.
    """
    box = axes.get_position()
    if small:
        axes.text(
            0.04,
            0.96,
            shortened(panel.title, box.width * PIXELS * 0.9, TEXT / POINT),
            transform=axes.transAxes,
            va="top",
            **text_style(theme, Ink.INK, halo=halo, weight="bold"),
        )
        axes.text(
            0.5,
            -0.05,
            panel.aside,
            transform=axes.transAxes,
            va="top",
            ha="center",
            **text_style(theme, Ink.SOFT, halo=halo),
        )
        if panel.struck:
            axes.plot([0.0, 1.0], [0.0, 1.0], transform=axes.transAxes, color=theme[Ink.LOSS], linewidth=LINE)
        return
    if panel.title:
        room = (0.975 - box.x0) * PIXELS - (text_width(panel.aside, TEXT / POINT, bold=True) + 40.0)
        axes.annotate(
            shortened(panel.title, room, TEXT / POINT),
            (0.0, 1.0),
            xycoords="axes fraction",
            xytext=(0, 7),
            textcoords="offset points",
            va="bottom",
            annotation_clip=False,
            **text_style(theme, Ink.INK, halo=halo, weight="bold"),
        )
    if panel.aside:
        ink = _VERDICT_INKS.get(panel.aside, Ink.SOFT)
        axes.annotate(
            panel.aside,
            (1.0, 1.0),
            xycoords="axes fraction",
            xytext=(0, 7),
            textcoords="offset points",
            ha="right",
            va="bottom",
            annotation_clip=False,
            **text_style(theme, ink, halo=halo, weight="bold"),
        )
