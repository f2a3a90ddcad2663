"""Panels of a still: matplotlib artists from the chart specification."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.publish.palette import Fill, Ink, Theme
from pullbook.publish.ticks import spread
from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from pullbook.publish.chart import Band, Line, Marker, Panel

__all__ = ["draw_panel"]

_POINT: Final = 0.72  # of a pixel at 100 dpi
_TEXT: Final = 24.0 * _POINT
_LINE: Final = 4.2 * _POINT
_ALPHA: Final = {Fill.TINT: 0.18, Fill.SOLID: 0.55, Fill.STRIPED: 0.25, Fill.HOLLOW: 0.0}
_VERDICT_INKS: Final = {"supported": Ink.GAIN_TEXT, "refuted": Ink.LOSS_TEXT, "not decided": Ink.SOFT}


def draw_panel(axes: Axes, panel: Panel, theme: Theme, *, x_labels: bool, halo: bool, small: bool) -> None:
    """Draw a panel on axes.

    Parameters
    ----------
    axes : Axes
        Where.
    panel : Panel
        What.
    theme : Theme
        Colours.
    x_labels : bool
        The x axis has numbers and a title.
    halo : bool
        Text gets an edge in the colour of the paper.
    small : bool
        A little picture of a strip, without axes.
    """
    axes.set_xlim(panel.x.low, panel.x.high)
    axes.set_ylim(panel.y.low, panel.y.high)
    axes.patch.set_alpha(0.0)
    _ruling(axes, panel, theme, x_labels=x_labels, small=small, halo=halo)
    for band in panel.bands:
        _band(axes, band, theme)
    for rule in panel.rules:
        draw = axes.axvline if rule.upright else axes.axhline
        draw(rule.at, color=theme[Ink.INK], linewidth=1.4, linestyle=_dashes(rule.dash.pattern), zorder=2)
        if rule.label and rule.upright:
            axes.annotate(rule.label, (rule.at, 1.0), xycoords=("data", "axes fraction"),
                          textcoords="offset points", va="top", **_side(panel, rule.at), **_text(theme, Ink.SOFT, halo=halo))  # fmt: skip
    for line in panel.lines:
        axes.plot(line.x, line.y, color=theme[line.ink], linewidth=_LINE * (0.7 if small else 1.0),
                  linestyle=_dashes(line.dash.pattern), zorder=3, gid=f"line:{line.key}", label=line.label, path_effects=_edge(theme, halo=halo))  # fmt: skip
    for marker in panel.markers:
        _marker(axes, marker, theme, halo=halo)
    _end_labels(axes, panel, theme, halo=halo)
    _titles(axes, panel, theme, halo=halo, small=small)


def _side(panel: Panel, at: float) -> dict[str, Any]:
    near = at > panel.x.low + 0.7 * (panel.x.high - panel.x.low)
    return {"ha": "right", "xytext": (-6, -4)} if near else {"ha": "left", "xytext": (6, -4)}


def _text(theme: Theme, ink: Ink, *, halo: bool, size: float = _TEXT, weight: str = "normal") -> dict[str, Any]:
    return {"color": theme[ink], "fontsize": size, "fontweight": weight, "path_effects": _edge(theme, halo=halo)}


def _edge(theme: Theme, *, halo: bool) -> list[Any]:
    """Edge in the colour of the paper, so that text and curves read on any footage."""
    from matplotlib.patheffects import Normal, Stroke

    return [Stroke(linewidth=5.5, foreground=theme[Ink.PAPER], alpha=0.75), Normal()] if halo else []


def _dashes(pattern: tuple[float, ...]) -> Any:
    return (0, pattern) if pattern else "solid"


def _ruling(axes: Axes, panel: Panel, theme: Theme, *, x_labels: bool, small: bool, halo: bool) -> None:
    for spine in axes.spines.values():
        spine.set_color(theme[Ink.LOSS] if panel.struck else theme[Ink.LINE])
        spine.set_linestyle((0, (4, 3)) if panel.struck else "solid")
    if small:
        axes.set_xticks([])
        axes.set_yticks([])
        return
    axes.set_xticks(panel.x.ticks, panel.x.labels if x_labels else [""] * len(panel.x.ticks))
    axes.set_yticks(panel.y.ticks, [typeset(label) for label in panel.y.labels])
    axes.set_xticklabels([typeset(label.get_text()) for label in axes.get_xticklabels()])
    axes.tick_params(colors=theme[Ink.SOFT], labelsize=_TEXT, length=0, pad=7)
    for label in (*axes.get_xticklabels(), *axes.get_yticklabels()) if halo else ():
        label.set(**_text(theme, Ink.INK, halo=True))
    # Over footage the paper's ruling would be lost.
    ruling = {"color": theme[Ink.INK], "alpha": 0.25} if halo else {"color": theme[Ink.GRID]}
    axes.grid(visible=True, axis="both" if panel.y.title else "x", linewidth=1.2, **ruling)
    axes.set_axisbelow(True)
    if x_labels and panel.x.title:
        axes.set_xlabel(
            panel.x.title, loc="right", labelpad=5, **_text(theme, Ink.INK if halo else Ink.SOFT, halo=halo)
        )


def _band(axes: Axes, band: Band, theme: Theme) -> None:
    colour = theme[band.ink]
    area = axes.fill_between(band.x, band.low, band.high, facecolor=colour, alpha=_ALPHA[band.fill], linewidth=0,
                             gid=f"band:{band.key}", zorder=1)  # fmt: skip
    if band.fill is Fill.TINT:
        return
    if band.fill is Fill.STRIPED:
        area.set(alpha=None, facecolor=(*_rgb(colour), _ALPHA[band.fill]), edgecolor=colour, hatch="//", linewidth=0.0)
    style = (0, (1.5, 2.5)) if band.fill is Fill.HOLLOW else "solid"
    for edge in (band.low, band.high):
        axes.plot(band.x, edge, color=colour, linewidth=1.5, linestyle=style, zorder=1.5)


def _rgb(colour: str) -> tuple[float, float, float]:
    from matplotlib.colors import to_rgb

    return to_rgb(colour)


def _marker(axes: Axes, marker: Marker, theme: Theme, *, halo: bool) -> None:
    colour = theme[Ink.INK if marker.bar else marker.ink]
    if marker.bar:
        open_ = marker.hollow
        axes.barh(marker.y, marker.x, height=0.62, color="none" if open_ else theme[marker.ink], alpha=None if open_ else 0.55,
                  edgecolor=theme[Ink.OPEN] if open_ else "none", linestyle="dashed" if open_ else "solid", zorder=1)  # fmt: skip
    if math.isfinite(marker.low):
        error = [[marker.x - marker.low], [marker.high - marker.x]]
        axes.errorbar(
            marker.x, marker.y, xerr=error, color=colour, linewidth=3.0, capsize=8, capthick=3.0, fmt="none", zorder=4
        )
    face = theme[Ink.PAPER] if marker.hollow else colour
    axes.plot([marker.x], [marker.y], marker="o", markersize=11, markerfacecolor=face, markeredgecolor=colour,
              markeredgewidth=3.0, zorder=5, gid=f"marker:{marker.key}", linestyle="none")  # fmt: skip
    if not marker.label:
        return
    words = typeset(marker.label)
    if marker.bar:
        axes.annotate(words, (1.0, marker.y), xycoords=("axes fraction", "data"), xytext=(12, 0),
                      textcoords="offset points", va="center", annotation_clip=False, **_text(theme, Ink.INK, halo=halo))  # fmt: skip
        return
    low = marker.low if math.isfinite(marker.low) else marker.x
    left = low - axes.get_xlim()[0] > 0.22 * (axes.get_xlim()[1] - axes.get_xlim()[0])
    high = marker.high if math.isfinite(marker.high) else marker.x
    axes.annotate(words, (low if left else high, marker.y), xytext=(-12 if left else 12, 8), textcoords="offset points",
                  ha="right" if left else "left", va="bottom", zorder=6, **_text(theme, Ink.INK, halo=True))  # fmt: skip


def _end_labels(axes: Axes, panel: Panel, theme: Theme, *, halo: bool) -> None:
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
    placed = spread(wanted, _TEXT * 1.25, _TEXT * 0.5, height - _TEXT * 0.5)
    for line, end, place in zip(told, ends, placed, strict=True):
        _end_label(axes, line, (float(line.x[end]), float(line.y[end])), place / height, theme, halo=halo)


def _end_label(
    axes: Axes, line: Line, end: tuple[float, float], height: float, theme: Theme, *, halo: bool
) -> None:  # fmt: skip
    blend = axes.transAxes
    start = blend.inverted().transform(axes.transData.transform(end))
    width = axes.bbox.width
    across = [start[0], 1.0 + 10.0 / width, 1.0 + 18.0 / width, 1.0 + 52.0 / width]
    axes.plot(across, [start[1], start[1], height, height], transform=blend, clip_on=False, color=theme[line.ink],
              linewidth=_LINE * 0.75, linestyle=_dashes(line.dash.pattern), path_effects=_edge(theme, halo=halo))  # fmt: skip
    axes.text(1.0 + 60.0 / width, height, line.label, transform=blend, va="center_baseline", gid=f"label:{line.key}",
              **_text(theme, Ink.INK, halo=halo, weight="bold"))  # fmt: skip


def _titles(axes: Axes, panel: Panel, theme: Theme, *, halo: bool, small: bool) -> None:
    if small:
        axes.text(
            0.04,
            0.96,
            panel.title,
            transform=axes.transAxes,
            va="top",
            **_text(theme, Ink.INK, halo=halo, weight="bold"),
        )
        axes.text(
            0.5,
            -0.05,
            panel.aside,
            transform=axes.transAxes,
            va="top",
            ha="center",
            **_text(theme, Ink.SOFT, halo=halo),
        )
        if panel.struck:
            axes.plot([0.0, 1.0], [0.0, 1.0], transform=axes.transAxes, color=theme[Ink.LOSS], linewidth=_LINE)
        return
    if panel.title:
        axes.annotate(panel.title, (0.0, 1.0), xycoords="axes fraction", xytext=(0, 7), textcoords="offset points",
                      va="bottom", annotation_clip=False, **_text(theme, Ink.INK, halo=halo, weight="bold"))  # fmt: skip
    if panel.aside:
        ink = _VERDICT_INKS.get(panel.aside, Ink.SOFT)
        axes.annotate(panel.aside, (1.0, 1.0), xycoords="axes fraction", xytext=(0, 7), textcoords="offset points", ha="right",
                      va="bottom", annotation_clip=False, **_text(theme, ink, halo=halo, weight="bold"))  # fmt: skip
