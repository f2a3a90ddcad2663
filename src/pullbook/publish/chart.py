"""Chart: what is to be drawn, without saying with what.

One specification is drawn by three renderers: `pullbook.publish.svg` (the picture in the page),
`pullbook.publish.interactive` (the same chart to hover over and zoom) and `pullbook.publish.stills` (files for print
and video). Numbers are in the unit that the axis names, because a chart is for a reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from pullbook.publish.palette import Dash, Fill, Ink
from pullbook.quantities.arrays import frozen_floats

if TYPE_CHECKING:
    from pullbook.quantities.arrays import FloatArray

__all__ = ["Arrangement", "Axis", "Band", "Chart", "Line", "Marker", "Panel", "Rule"]


class Arrangement(StrEnum):
    """How the panels of a chart lie."""

    STACK = "stack"  # one above the other on one x axis
    ROWS = "rows"  # one above the other, each with its own x axis
    STRIP = "strip"  # side by side in reading order, wrapped


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """Range and ticks of an axis.

    Attributes
    ----------
    title : str
        What it shows, with the unit.
    low, high : float
        Ends. [as `title` says]
    ticks : tuple of float
        Where the ticks are. [as `title` says]
    labels : tuple of str
        What stands at the ticks.
    """

    title: str
    low: float
    high: float
    ticks: tuple[float, ...] = ()
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A curve with the label at its end.

    Attributes
    ----------
    key : str
        The build or difference, as in "B" or "B-A"; stable.
    label, short : str
        What stands at its end where there is room, and where there is not. Empty for no label.
    x, y : (n,) array of float
        Points; NaN leaves a gap. [as the axes say]
    ink : Ink
        Colour.
    dash : Dash
        Line style.
    """

    key: str
    label: str = ""
    short: str = ""
    x: FloatArray
    y: FloatArray
    ink: Ink
    dash: Dash = Dash.SOLID

    def __post_init__(self) -> None:
        object.__setattr__(self, "x", frozen_floats(self.x))
        object.__setattr__(self, "y", frozen_floats(self.y))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """An area between two curves.

    Attributes
    ----------
    key : str
        The build or difference.
    x, low, high : (n,) array of float
        Points, without gaps. [as the axes say]
    ink : Ink
        Colour.
    fill : Fill
        How it is filled.
    """

    key: str
    x: FloatArray
    low: FloatArray
    high: FloatArray
    ink: Ink
    fill: Fill = Fill.TINT

    def __post_init__(self) -> None:
        for name in ("x", "low", "high"):
            object.__setattr__(self, name, frozen_floats(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Marker:
    """A point with its interval along x.

    Attributes
    ----------
    key : str
        What it belongs to.
    x, y : float
        The point. [as the axes say]
    low, high : float
        Ends of the interval along x; NaN where no doubt can be stated. [as the x axis says]
    label : str
        What stands above it.
    ink : Ink
        Colour.
    bar : bool
        A bar is drawn from x = 0 to the point.
    hollow : bool
        The point is drawn as a ring.
    label_left : bool
        The label stands left of the interval, where a rising curve leaves room above; otherwise right.
    """

    key: str
    x: float
    y: float
    low: float
    high: float
    label: str = ""
    ink: Ink = Ink.INK
    bar: bool = False
    hollow: bool = False
    label_left: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A straight line through the panel.

    Attributes
    ----------
    at : float
        Where it cuts its axis. [as the axis says]
    upright : bool
        Vertical, at a value of x; otherwise horizontal, at a value of y.
    label : str
        What stands at it.
    dash : Dash
        Line style.
    """

    at: float
    upright: bool = False
    label: str = ""
    dash: Dash = Dash.SOLID


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One pair of axes with what is drawn in it.

    Attributes
    ----------
    key : str
        Stable name, unique within the chart.
    title : str
        Stands above it, on the left.
    aside : str
        Stands above it, on the right; short.
    x, y : Axis
        The axes.
    lines, bands, markers, rules
        What is drawn.
    weight : float
        Height as a share of the tallest panel. [1]
    struck : str
        Why it is struck out; empty when it is not.
    builds : tuple of str
        Names of the builds that it is about.
    """

    key: str
    title: str = ""
    aside: str = ""
    x: Axis
    y: Axis
    lines: tuple[Line, ...] = ()
    bands: tuple[Band, ...] = ()
    markers: tuple[Marker, ...] = ()
    rules: tuple[Rule, ...] = ()
    weight: float = 1.0
    struck: str = ""
    builds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A figure of one or more panels.

    Attributes
    ----------
    key : str
        Stable name, used for files and anchors.
    title : str
        What it shows, as a caption.
    says : str
        Text alternative: what somebody who cannot see it has to know.
    panels : tuple of Panel
        From top to bottom.
    arrangement : Arrangement
        How the panels lie.
    """

    key: str
    title: str
    says: str
    panels: tuple[Panel, ...]
    arrangement: Arrangement = Arrangement.STACK
