"""Sheets: sizes of a picture in the page, and where everything goes on it."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pullbook.publish.typeset import typeset

if TYPE_CHECKING:
    from pullbook.publish.chart import Axis, Chart, Panel

__all__ = [
    "LEAD",
    "MIDDLE",
    "NARROW",
    "SHEETS",
    "WIDE",
    "Frame",
    "Sheet",
    "end_label",
    "frames",
    "has_x_labels",
    "has_x_title",
    "shortened",
    "text_width",
    "wrapped",
]

_LETTER: Final = 0.61  # mean width of a letter of the widest sans-serif face that a reader may have [em]
_BOLD_LETTER: Final = 0.68
LEAD: Final = 38.0  # length of the piece of line that leads to a label [px]
_LONGEST_VALUE: Final = 0.34  # of the width of the sheet, for the value beside a bar
_LONGEST_LABEL: Final = 0.28  # of the width of the sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A size of picture.

    Attributes
    ----------
    name : str
        "wide", "middle" or "narrow".
    width : float
        Width of the picture. [px]
    left : float
        Room for the labels of the y axis. [px]
    panel : float
        Height of the tallest panel. [px]
    text : float
        Size of text. [px]
    long_labels : bool
        Curves carry their words, not only their names.
    columns : int
        Pictures side by side in a strip.
    """

    name: str
    width: float
    left: float
    panel: float
    text: float
    long_labels: bool
    columns: int


WIDE: Final = Sheet(name="wide", width=980.0, left=54.0, panel=350.0, text=13.5, long_labels=True, columns=11)
MIDDLE: Final = Sheet(name="middle", width=660.0, left=50.0, panel=300.0, text=13.0, long_labels=True, columns=8)
NARROW: Final = Sheet(name="narrow", width=360.0, left=44.0, panel=240.0, text=12.5, long_labels=False, columns=4)
SHEETS: Final = (WIDE, MIDDLE, NARROW)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The rectangle of a panel, and the way from its axes to the picture.

    Attributes
    ----------
    x0, x1, y0, y1 : float
        Left, right, top and bottom. [px]
    x, y : Axis
        Its axes.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    x: Axis
    y: Axis

    def across(self, value: float) -> float:
        """Place of a value of x. [px]"""  # noqa: D400 - the unit comes last
        return self.x0 + (value - self.x.low) / (self.x.high - self.x.low) * (self.x1 - self.x0)

    def down(self, value: float) -> float:
        """Place of a value of y. [px]"""  # noqa: D400 - the unit comes last
        return self.y1 - (value - self.y.low) / (self.y.high - self.y.low) * (self.y1 - self.y0)


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text, on the safe side.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Size of the letters. [px]
    bold : bool
        The letters are bold.

    Returns
    -------
    float
        The width. [px]
    """
    return len(text) * size * (_BOLD_LETTER if bold else _LETTER)


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Lines of a bold text that fit a width.

    Parameters
    ----------
    text : str
        The text.
    width, size : float
        Room, and size of the letters. [px]

    Returns
    -------
    list of str
        At least one line.
    """
    return textwrap.wrap(typeset(text), max(int(width / (size * _BOLD_LETTER)), 8), break_on_hyphens=False) or [""]


def shortened(text: str, width: float, size: float, *, bold: bool = True) -> str:
    """Text cut with an ellipsis where it does not fit a width.

    Parameters
    ----------
    text : str
        One line.
    width, size : float
        Room, and size of the letters. [px]
    bold : bool
        The letters are bold.

    Returns
    -------
    str
        The text, or its beginning.

    Examples
    --------
    >>> shortened("baseline as delivered", 80.0, 10.0)
    'baseline a…'
    """
    most = max(int(width / (size * (_BOLD_LETTER if bold else _LETTER))), 2)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def end_label(sheet: Sheet, label: str, short: str) -> str:
    """Label at the end of a curve: the words where the sheet has room for them, else the name."""
    short = shortened(short, _LONGEST_LABEL * sheet.width, sheet.text)
    fits = text_width(label, sheet.text, bold=True) <= _LONGEST_LABEL * sheet.width
    return label if sheet.long_labels and fits else short


def _right(sheet: Sheet, chart: Chart) -> float:
    """Room at the right for the labels of the curves."""
    labels = [end_label(sheet, line.label, line.short) for panel in chart.panels for line in panel.lines if line.label]
    values = [m.label for panel in chart.panels for m in panel.markers if m.bar]
    if values:
        return 12.0 + min(max(text_width(value, sheet.text) for value in values), _LONGEST_VALUE * sheet.width)
    if not labels:
        return 14.0
    return LEAD + 8.0 + max(text_width(label, sheet.text, bold=True) for label in labels)


def _left(sheet: Sheet, chart: Chart) -> float:
    names = [label for panel in chart.panels for label in panel.y.labels]
    longest = max((text_width(name, sheet.text) for name in names), default=0.0)
    return max(sheet.left if names else 8.0, longest + 12.0)


def frames(sheet: Sheet, chart: Chart) -> tuple[tuple[Frame, ...], float]:
    """Rectangles of the panels of a stack, and the height of the picture.

    Parameters
    ----------
    sheet : Sheet
        Size.
    chart : Chart
        What is drawn.

    Returns
    -------
    rectangles : tuple of Frame
        One for each panel. [px]
    height : float
        Height of the picture. [px]
    """
    left, right = _left(sheet, chart), _right(sheet, chart)
    top, made = 4.0, []
    for number, panel in enumerate(chart.panels):
        title = len(wrapped(panel.title, sheet.width - 8.0, sheet.text)) if panel.title else 0
        top += title * sheet.text * 1.3 + 6.0
        bottom = top + sheet.panel * panel.weight
        made.append(Frame(x0=left, x1=sheet.width - right, y0=top, y1=bottom, x=panel.x, y=panel.y))
        under = sheet.text * ((1.7 if has_x_labels(chart, number) else 0.3) + 1.2 * has_x_title(chart, number))
        top = bottom + under + sheet.text * 0.8
    return tuple(made), top


def has_x_labels(chart: Chart, number: int) -> bool:
    """Whether the panel at this place carries the numbers of its x axis: the last of a stack, and the tall ones."""
    panel: Panel = chart.panels[number]
    alone = chart.arrangement != "stack" or number == len(chart.panels) - 1
    return bool(panel.x.labels) and (alone or panel.weight >= 1.0)


def has_x_title(chart: Chart, number: int) -> bool:
    """Whether the panel at this place carries the title of its x axis: the last of a stack, and every row."""
    last = number == len(chart.panels) - 1
    return has_x_labels(chart, number) and (last or chart.arrangement != "stack")
