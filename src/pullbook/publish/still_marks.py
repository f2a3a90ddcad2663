"""Panels of a still: matplotlib artists from the chart specification."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.palette import Fill, Ink, Theme
from pullbook.publish.still_text import LINE, TEXT, dashes, edge, end_labels, panel_titles, text_style
from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from pullbook.publish.chart import Band, Marker, Panel

__all__ = ["draw_panel"]

_ALPHA: Final = {Fill.TINT: 0.18, Fill.SOLID: 0.55, Fill.STRIPED: 0.25, Fill.HOLLOW: 0.0}


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
        draw(rule.at, color=theme[Ink.INK], linewidth=1.4, linestyle=dashes(rule.dash.pattern), zorder=2)
        if rule.label and rule.upright:
            axes.annotate(
                rule.label,
                (rule.at, 1.0),
                xycoords=("data", "axes fraction"),
                textcoords="offset points",
                va="top",
                **_side(panel, rule.at),
                **text_style(theme, Ink.SOFT, halo=halo),
            )
    for line in panel.lines:
        axes.plot(
            line.x,
            line.y,
            color=theme[line.ink],
            linewidth=LINE * (0.7 if small else 1.0),
            linestyle=dashes(line.dash.pattern),
            zorder=3,
            gid=f"line:{line.key}",
            label=line.label,
            path_effects=edge(theme, halo=halo),
        )
    for marker in panel.markers:
        _marker(axes, marker, theme, halo=halo)
    end_labels(axes, panel, theme, halo=halo)
    panel_titles(axes, panel, theme, halo=halo, small=small)


def _side(panel: Panel, at: float) -> dict[str, Any]:
    near = at > panel.x.low + 0.7 * (panel.x.high - panel.x.low)
    return {"ha": "right", "xytext": (-6, -4)} if near else {"ha": "left", "xytext": (6, -4)}


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
    axes.tick_params(colors=theme[Ink.SOFT], labelsize=TEXT, length=0, pad=7)
    for label in (*axes.get_xticklabels(), *axes.get_yticklabels()) if halo else ():
        label.set(**text_style(theme, Ink.INK, halo=True))
    # Over footage the paper's ruling would be lost.
    ruling: dict[str, Any] = {"color": theme[Ink.INK], "alpha": 0.25} if halo else {"color": theme[Ink.GRID]}
    axes.grid(visible=True, axis="both" if panel.y.title else "x", linewidth=1.2, **ruling)
    axes.set_axisbelow(True)
    if x_labels and panel.x.title:
        axes.set_xlabel(
            panel.x.title, loc="right", labelpad=5, **text_style(theme, Ink.INK if halo else Ink.SOFT, halo=halo)
        )


def _band(axes: Axes, band: Band, theme: Theme) -> None:
    colour = theme[band.ink]
    area = axes.fill_between(
        band.x,
        band.low,
        band.high,
        facecolor=colour,
        alpha=_ALPHA[band.fill],
        linewidth=0,
        gid=f"band:{band.key}",
        zorder=1,
    )
    if band.fill is Fill.TINT:
        return
    if band.fill is Fill.STRIPED:
        area.set(alpha=None, facecolor=(*_rgb(colour), _ALPHA[band.fill]), edgecolor=colour, hatch="//", linewidth=0.0)
    style = (0, (1.5, 2.5)) if band.fill is Fill.HOLLOW else "solid"
    for limit in (band.low, band.high):
        axes.plot(band.x, limit, color=colour, linewidth=1.5, linestyle=style, zorder=1.5)


def _rgb(colour: str) -> tuple[float, float, float]:
    from matplotlib.colors import to_rgb

    return to_rgb(colour)


def _marker(axes: Axes, marker: Marker, theme: Theme, *, halo: bool) -> None:
    colour = theme[Ink.INK if marker.bar else marker.ink]
    if marker.bar:
        open_ = marker.hollow
        axes.barh(
            marker.y,
            marker.x,
            height=0.62,
            color="none" if open_ else theme[marker.ink],
            alpha=None if open_ else 0.55,
            edgecolor=theme[Ink.OPEN] if open_ else "none",
            linestyle="dashed" if open_ else "solid",
            zorder=1,
        )
    if math.isfinite(marker.low):
        error = [[marker.x - marker.low], [marker.high - marker.x]]
        axes.errorbar(
            marker.x, marker.y, xerr=error, color=colour, linewidth=3.0, capsize=8, capthick=3.0, fmt="none", zorder=4
        )
    face = theme[Ink.PAPER] if marker.hollow else colour
    axes.plot(
        [marker.x],
        [marker.y],
        marker="o",
        markersize=11,
        markerfacecolor=face,
        markeredgecolor=colour,
        markeredgewidth=3.0,
        zorder=5,
        gid=f"marker:{marker.key}",
        linestyle="none",
    )
    if not marker.label:
        return
    words = typeset(marker.label)
    if marker.bar:
        axes.annotate(
            words,
            (1.0, marker.y),
            xycoords=("axes fraction", "data"),
            xytext=(12, 0),
            textcoords="offset points",
            va="center",
            annotation_clip=False,
            **text_style(theme, Ink.INK, halo=halo),
        )
        return
    low = marker.low if math.isfinite(marker.low) else marker.x
    high = marker.high if math.isfinite(marker.high) else marker.x
    start, end = axes.get_xlim()
    room = 0.22 * (end - start)  # what "3,980 to 4,370 rpm" needs
    left = low - start > room if marker.label_left else end - high < room
    axes.annotate(
        words,
        (low if left else high, marker.y),
        xytext=(-12 if left else 12, 8),
        textcoords="offset points",
        ha="right" if left else "left",
        va="bottom",
        zorder=6,
        **text_style(theme, Ink.INK, halo=True),
    )
