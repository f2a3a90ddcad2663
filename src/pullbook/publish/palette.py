"""Inks, line styles and the two themes: the only place where a colour is written down.

The builds' colours are taken from the qualitative schemes of Paul Tol [1]_: for light paper from "bright", "vibrant",
"muted" and "dark", for dark paper from "light". Gain and loss are the teal of his "vibrant" scheme, its orange made
darker, and lighter fellows of both. `contrast` measures each of them against its paper, by the formula of WCAG 2.2
[2]_.

References
----------
.. [1] P. Tol, "Colour Schemes", SRON/EPS/TN/09-002, issue 3.2, 2021, sections 2 and 4 (hex values from memory).
.. [2] W3C, "Web Content Accessibility Guidelines 2.2", 2023, definitions of relative luminance and contrast ratio.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "BUILD_INKS",
    "DARK",
    "LIGHT",
    "WAVES_HIGH",
    "WAVES_LOW",
    "Dash",
    "Fill",
    "Ink",
    "Style",
    "Theme",
    "build_style",
    "contrast",
]

# Pressure below and above that outside, from the far end to the middle and from the middle to the far end; between
# them lies the ruling of the page. Purple to orange can be told apart with any colour vision (C. Brewer, ColorBrewer
# 2.0, scheme PuOr).
WAVES_LOW: Final = ("#2d004b", "#8073ac")
WAVES_HIGH: Final = ("#e08214", "#7f3b08")


class Ink(StrEnum):
    """What a colour is for; the theme says which one it is. The value is the name of the CSS property."""

    PAPER = "paper"
    RAISED = "raised"  # boxes that lie on the paper
    INK = "ink"  # text, the baseline's curve
    SOFT = "soft"  # second text
    LINE = "line"  # borders
    GRID = "grid"  # the ruling of the chart paper
    MARK = "mark"  # a marked place, as with a felt pen
    MARGIN = "margin"  # the ruled margin of the notebook
    BUILD_1 = "build-1"
    BUILD_2 = "build-2"
    BUILD_3 = "build-3"
    BUILD_4 = "build-4"
    BUILD_5 = "build-5"
    BUILD_6 = "build-6"
    BUILD_7 = "build-7"
    GAIN = "gain"
    LOSS = "loss"
    OPEN = "open"  # not decided
    GAIN_TEXT = "gain-text"
    LOSS_TEXT = "loss-text"


class Dash(StrEnum):
    """Line style; the value is Plotly's name for it."""

    SOLID = "solid"
    DASHED = "dash"
    DOTTED = "dot"
    DASH_DOT = "dashdot"
    LONG = "longdash"

    @property
    def pattern(self) -> tuple[float, ...]:
        """Lengths of strokes and gaps, in line widths; empty for a solid line. [line width]"""  # noqa: D400 - the unit comes last
        return _PATTERNS[self]


_PATTERNS: Final[Mapping[Dash, tuple[float, ...]]] = MappingProxyType({
    Dash.SOLID: (), Dash.DASHED: (4.0, 1.8), Dash.DOTTED: (1.2, 1.4), Dash.DASH_DOT: (4.5, 1.5, 1.2, 1.5),
    Dash.LONG: (8.0, 2.0),
})  # fmt: skip


class Fill(StrEnum):
    """How an area is filled, so that it can be told apart without colour."""

    TINT = "tint"  # the band of a build's curve
    SOLID = "solid"  # a decided gain
    STRIPED = "striped"  # a decided loss
    HOLLOW = "hollow"  # not decided: an outline only


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How a build is drawn.

    Attributes
    ----------
    ink : Ink
        Its colour.
    dash : Dash
        Its line style.
    """

    ink: Ink
    dash: Dash


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """A colour for each ink.

    Attributes
    ----------
    name : str
        "light" or "dark".
    colours : mapping of Ink to str
        Hexadecimal, as in "#1c2430".
    """

    name: str
    colours: Mapping[Ink, str]

    def __post_init__(self) -> None:
        object.__setattr__(self, "colours", MappingProxyType(dict(self.colours)))

    def __getitem__(self, ink: Ink) -> str:
        return self.colours[ink]

    @property
    def custom_properties(self) -> str:
        """The colours as CSS custom properties."""
        return "".join(f"--{ink}:{colour};" for ink, colour in self.colours.items())


LIGHT: Final = Theme(
    name="light",
    colours={
        Ink.PAPER: "#fdfcf8", Ink.RAISED: "#ffffff", Ink.INK: "#1b2430", Ink.SOFT: "#566070", Ink.LINE: "#d9d5c8",
        Ink.GRID: "#e7e4d8", Ink.MARK: "#f6eecb", Ink.MARGIN: "#e6bfae",
        Ink.BUILD_1: "#0077bb", Ink.BUILD_2: "#cc3311", Ink.BUILD_3: "#117733", Ink.BUILD_4: "#aa3377",
        Ink.BUILD_5: "#666633", Ink.BUILD_6: "#332288", Ink.BUILD_7: "#cc6677",
        Ink.GAIN: "#009988", Ink.LOSS: "#dd5f14", Ink.OPEN: "#7c8592",
        Ink.GAIN_TEXT: "#006b60", Ink.LOSS_TEXT: "#a03c06",
    },
)  # fmt: skip
DARK: Final = Theme(
    name="dark",
    colours={
        Ink.PAPER: "#14181e", Ink.RAISED: "#1b2028", Ink.INK: "#ece9e1", Ink.SOFT: "#a5adb8", Ink.LINE: "#363d48",
        Ink.GRID: "#282e37", Ink.MARK: "#3a3520", Ink.MARGIN: "#5c4238",
        Ink.BUILD_1: "#77aadd", Ink.BUILD_2: "#ee8866", Ink.BUILD_3: "#44bb99", Ink.BUILD_4: "#ffaabb",
        Ink.BUILD_5: "#aaaa00", Ink.BUILD_6: "#99ddff", Ink.BUILD_7: "#eedd88",
        Ink.GAIN: "#33bbaa", Ink.LOSS: "#ee8866", Ink.OPEN: "#8d96a3",
        Ink.GAIN_TEXT: "#5fd0c1", Ink.LOSS_TEXT: "#f3a184",
    },
)  # fmt: skip

BUILD_INKS: Final = (
    Ink.BUILD_1, Ink.BUILD_2, Ink.BUILD_3, Ink.BUILD_4, Ink.BUILD_5, Ink.BUILD_6, Ink.BUILD_7,
)  # fmt: skip
_BUILD_DASHES: Final = (Dash.DASHED, Dash.DOTTED, Dash.DASH_DOT, Dash.LONG)


def build_style(place: int) -> Style:
    """Style of the build at a place in the session's list, counted without the baseline.

    The baseline, place -1, is drawn in ink with a solid line. The pair of colour and line style is unique for 28
    builds, and neighbours differ in both.

    Parameters
    ----------
    place : int
        -1 for the baseline, then 0, 1, 2 and so on.

    Returns
    -------
    Style
        Colour and line style.

    Examples
    --------
    >>> build_style(-1).dash, build_style(0).ink
    (<Dash.SOLID: 'solid'>, <Ink.BUILD_1: 'build-1'>)
    """
    if place < 0:
        return Style(ink=Ink.INK, dash=Dash.SOLID)
    round_, slot = divmod(place, len(BUILD_INKS))
    return Style(ink=BUILD_INKS[slot], dash=_BUILD_DASHES[(slot + round_) % len(_BUILD_DASHES)])


def _luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours after WCAG 2.2, from 1 to 21.

    ``(L1 + 0.05) / (L2 + 0.05)`` with relative luminances L1 >= L2.

    Parameters
    ----------
    first, second : str
        Hexadecimal colours.

    Returns
    -------
    float
        The ratio. [1]

    Examples
    --------
    >>> contrast("#ffffff", "#000000")
    21.0
    """
    low, high = sorted((_luminance(first), _luminance(second)))
    return (high + 0.05) / (low + 0.05)
