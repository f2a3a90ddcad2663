"""Marks of the drawing of an engine, by matplotlib."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from pullbook.publish.engine_labels import LABEL_SIZE
from pullbook.publish.palette import Ink
from pullbook.publish.still_text import POINT, text_style
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

    from pullbook.publish.engine_labels import EngineLabel
    from pullbook.publish.engine_places import Box, Leg, Point
    from pullbook.publish.palette import Theme

__all__ = ["EnginePen"]

_FILL: Final = 0.30  # share of the ink in the filling of a tube
_FAINT: Final = 0.16
_RULES: Final = {UnitSystem.METRIC: (0.5, "500 mm"), UnitSystem.US: (0.508, "20 in")}


class EnginePen:
    """Draws on axes whose unit is a pixel.

    Parameters
    ----------
    axes : Axes
        Of matplotlib.
    theme : Theme
        Colours.
    halo : bool
        Text has an edge in the colour of the paper.
    """

    def __init__(self, axes: Axes, theme: Theme, *, halo: bool) -> None:
        self._axes = axes
        self._theme = theme
        self._halo = halo
        self._across: Callable[[float], float] = float
        self._up: tuple[float, float] = (0.0, 1.0)

    def scale(self, across: Callable[[float], float], up: tuple[float, float]) -> None:
        """Set the measure.

        Parameters
        ----------
        across : callable
            Makes pixels of a distance to the right.
        up : tuple of (float, float)
            Pixels of height 0, and of a metre. [px, px/m]
        """
        self._across = across
        self._up = up

    def stretch(self, leg: Leg, ends: tuple[float, float], length: float) -> tuple[Point, Point]:
        """Ends of a stretch of a pipe on the picture. [px, px].

        Parameters
        ----------
        leg : Leg
            The pipe.
        ends : tuple of (float, float)
            Distances from its start. [m]
        length : float
            Its length. [m]
        """
        shares = (ends[0] / length, ends[1] / length)
        first, last = (
            self._at((leg.start[0] * (1.0 - share) + leg.end[0] * share,
                      leg.start[1] * (1.0 - share) + leg.end[1] * share))
            for share in shares
        )  # fmt: skip
        return first, last

    def _at(self, point: Point) -> Point:
        return self._across(point[0]), self._up[0] + self._up[1] * point[1]

    def tube(self, ends: tuple[Point, Point], diameters: tuple[float, float], ink: Ink, *, faint: bool = False) -> None:
        """Piece of pipe.

        Parameters
        ----------
        ends : tuple of points
            Ends of its middle line. [px, px]
        diameters : tuple of (float, float)
            At both ends. [m]
        ink : Ink
            Colour.
        faint : bool
            The shell around a pipe.
        """
        from matplotlib.colors import to_rgba
        from matplotlib.patches import Polygon

        (x0, y0), (x1, y1) = ends
        long = math.hypot(x1 - x0, y1 - y0) or 1.0
        normal = (-(y1 - y0) / long, (x1 - x0) / long)
        halves = [0.5 * self._up[1] * diameter for diameter in diameters]
        corners = [
            (x + sign * half * normal[0], y + sign * half * normal[1])
            for (x, y), half, sign in (
                (ends[0], halves[0], 1.0), (ends[1], halves[1], 1.0), (ends[1], halves[1], -1.0),
                (ends[0], halves[0], -1.0),
            )
        ]  # fmt: skip
        colour = self._theme[ink]
        self._axes.add_patch(
            Polygon(corners, closed=True, facecolor=to_rgba(colour, _FAINT if faint else _FILL),
                    edgecolor=to_rgba(colour, 0.55 if faint else 1.0), linewidth=0.8 if faint else 1.6,
                    hatch="...." if faint else None, zorder=2 if faint else 3, joinstyle="miter")
        )  # fmt: skip

    def tie(self, first: Point, last: Point) -> None:
        """Line without length between ends that meet."""
        (x0, y0), (x1, y1) = self._at(first), self._at(last)
        self._axes.plot([x0, x1], [y0, y1], color=self._theme[Ink.OPEN], linewidth=1.4, zorder=1)

    def box(self, box: Box, text: str) -> None:
        """Cylinder with its number, or a volume."""
        from matplotlib.patches import FancyBboxPatch

        (x0, y0), (x1, y1) = self._at(box.low), self._at(box.high)
        style = "round,pad=0,rounding_size=3" if box.cylinder else "round,pad=0,rounding_size=12"
        fill = self._theme[Ink.PAPER if box.cylinder else Ink.RAISED]
        self._axes.add_patch(
            FancyBboxPatch((x0, y0), x1 - x0, y1 - y0, boxstyle=style, facecolor=fill, edgecolor=self._theme[Ink.INK],
                           linewidth=2.0, zorder=4)
        )  # fmt: skip
        if text:
            words = text_style(self._theme, Ink.INK, halo=False, size=22.0 * POINT, weight="bold")
            self._axes.text(0.5 * (x0 + x1), 0.5 * (y0 + y1), text, ha="center", va="center", zorder=5, **words)

    def label(self, label: EngineLabel, pole: float, top: float) -> None:
        """Two lines of text on a pole that stands on what they are about."""
        _, y = self._at(label.at)
        self._axes.plot([pole, pole], [y, top], color=self._theme[Ink.SOFT], linewidth=0.9, zorder=6)
        self._axes.plot([pole], [y], marker="o", markersize=3.5, color=self._theme[Ink.SOFT], zorder=6)
        self.words((pole + 7.0, top), label.name, LABEL_SIZE, weight="bold", top=True)
        self.words((pole + 7.0, top - 1.25 * LABEL_SIZE), label.size, LABEL_SIZE, ink=Ink.SOFT, top=True)

    def words(
        self, at: Point, text: str, size: float, *, ink: Ink = Ink.INK, weight: str = "normal", top: bool = False
    ) -> None:
        """Text that begins at a place.

        Parameters
        ----------
        at : tuple of (float, float)
            Place. [px, px]
        text : str
            The text.
        size : float
            Size of the letters. [px]
        ink : Ink
            Colour.
        weight : str
            "normal" or "bold".
        top : bool
            The place is that of its upper edge.
        """
        style = text_style(self._theme, ink, halo=self._halo, size=size * POINT, weight=weight)
        self._axes.text(at[0], at[1], text, va="top" if top else "bottom", zorder=7, **style)

    def rule(self, system: UnitSystem, at: Point) -> None:
        """Measure to hold the drawing against.

        Parameters
        ----------
        system : UnitSystem
            Units.
        at : tuple of (float, float)
            Its left end. [px, px]
        """
        length, text = _RULES[system]
        right = at[0] + length * self._up[1]
        colour = self._theme[Ink.INK]
        self._axes.plot([at[0], right], [at[1], at[1]], color=colour, linewidth=2.0)
        for x in (at[0], right):
            self._axes.plot([x, x], [at[1] - 6.0, at[1] + 6.0], color=colour, linewidth=2.0)
        self.words((right + 12.0, at[1] - 12.0), text, LABEL_SIZE)
