"""Charts as files for video and print, drawn by matplotlib from the same specification; no browser is needed.

Text is sized to be read in a video at 1920 x 1080. The font is the one that matplotlib carries, so that a still looks
the same on every machine.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pullbook.publish.chart import Arrangement
from pullbook.publish.palette import DARK, LIGHT, Ink, Theme
from pullbook.publish.sheets import shortened
from pullbook.publish.still_marks import draw_panel
from pullbook.publish.still_text import LABEL_SHARE, PIXELS, POINT, text_style

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from matplotlib.figure import Figure

    from pullbook.publish.chart import Chart

__all__ = ["APPEARANCES", "HD", "UHD", "Appearance", "draw_still", "still_bytes", "still_settings"]

HD: Final = (1920, 1080)
UHD: Final = (3840, 2160)
_DPI: Final = 100.0  # at 1920 pixels
_RC: Final[dict[str, Any]] = {
    "font.family": "DejaVu Sans",
    "svg.fonttype": "path",
    "svg.hashsalt": "pullbook",
    "pdf.fonttype": 42,
    "path.simplify": False,
    "axes.unicode_minus": True,
    "text.parse_math": False,
}
_UNDATED: Final[dict[str, dict[str, Any]]] = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "ModDate": None, "Creator": None, "Producer": None},
}
_MOST_COLUMNS: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Appearance:
    """Theme of a still, and whether it has a ground.

    Attributes
    ----------
    name : str
        "light", "dark" or "transparent".
    theme : Theme
        Colours.
    transparent : bool
        No ground; light text with a dark edge, which reads on any footage.
    """

    name: str
    theme: Theme
    transparent: bool = False


APPEARANCES: Final = (
    Appearance(name="light", theme=LIGHT),
    Appearance(name="dark", theme=DARK),
    Appearance(name="transparent", theme=DARK, transparent=True),
)


def draw_still(chart: Chart, appearance: Appearance, footnote: str = "") -> Figure:
    """Chart as a matplotlib figure of 1920 x 1080.

    Parameters
    ----------
    chart : Chart
        What is drawn.
    appearance : Appearance
        Colours.
    footnote : str
        Small print at the bottom.

    Returns
    -------
    Figure
        To be saved; its axes are labelled with the keys of the panels.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with still_settings():
        figure = Figure(figsize=(HD[0] / _DPI, HD[1] / _DPI), dpi=_DPI)
        FigureCanvasAgg(figure)
        theme = appearance.theme
        figure.set_facecolor("none" if appearance.transparent else theme[Ink.PAPER])
        halo = appearance.transparent
        title = text_style(theme, Ink.INK, halo=halo, size=34 * POINT, weight="bold")
        figure.text(0.025, 0.965, shortened(chart.title, 0.95 * PIXELS, 34), va="top", **title)
        small = text_style(theme, Ink.SOFT, halo=halo, size=19 * POINT)
        note = figure.text(0.025, 0.022, shortened(footnote, 1.4 * PIXELS, 19, bold=False), va="bottom", **small)
        # Widths told from the number of letters are on the safe side; here the real one can be measured.
        wide = note.get_window_extent().width
        note.set_fontsize(19 * POINT * min(1.0, 0.95 * PIXELS / max(wide, 1.0)))
        for panel, box, last in _boxes(chart):
            axes = figure.add_axes(box, label=panel.key)
            draw_panel(
                axes,
                panel,
                appearance.theme,
                x_labels=last,
                halo=appearance.transparent,
                small=chart.arrangement is Arrangement.STRIP,
            )
    return figure


def _boxes(chart: Chart) -> list[tuple[Any, tuple[float, float, float, float], bool]]:
    """Panel, its rectangle as shares of the figure (left, bottom, width, height), and whether it has x labels."""
    if chart.arrangement is Arrangement.STRIP:
        return _strip_boxes(chart)
    rows = chart.arrangement is Arrangement.ROWS
    left, width = _columns(chart)
    top, bottom = 0.875, 0.135
    gap = 0.105 if rows else 0.062
    room = top - bottom - gap * (len(chart.panels) - 1)
    weights = [panel.weight for panel in chart.panels]
    boxes = []
    for number, (panel, weight) in enumerate(zip(chart.panels, weights, strict=True)):
        height = room * weight / sum(weights)
        height = min(height, 0.12) if rows else height
        boxes.append((panel, (left, top - height, width, height), rows or number == len(weights) - 1))
        top -= height + gap
    return boxes


def _columns(chart: Chart) -> tuple[float, float]:
    """Left edge and width of the panels, with room for the labels on both sides."""
    longest = max((len(label) for panel in chart.panels for label in panel.y.labels), default=0)
    ends = [line.label for panel in chart.panels for line in panel.lines]
    values = [marker.label for panel in chart.panels for marker in panel.markers if marker.bar]
    right = max((len(text) for text in [*ends, *values]), default=0)
    left = max(0.03, 0.022 + 0.0088 * longest)
    return left, 0.975 - left - (0.034 + min(0.0083 * right, LABEL_SHARE) if right else 0.0)


def _strip_boxes(chart: Chart) -> list[tuple[Any, tuple[float, float, float, float], bool]]:
    rows = math.ceil(len(chart.panels) / _MOST_COLUMNS)
    columns = math.ceil(len(chart.panels) / rows)
    width = 0.95 / columns
    # A picture is at most as tall as it is wide; what is left over stays empty at the bottom.
    tall = min(0.76 / rows - 0.1, width * 0.9 * HD[0] / HD[1])
    return [
        (
            panel,
            (
                0.025 + (number % columns) * width,
                0.875 - (number // columns) * (tall + 0.1) - tall,
                width * 0.9,
                tall,
            ),
            False,
        )
        for number, panel in enumerate(chart.panels)
    ]


def still_settings() -> AbstractContextManager[None]:
    """Our settings of matplotlib, whatever those of the machine are."""
    import matplotlib as mpl

    settings: Any = {**mpl.rcParamsDefault, **_RC}  # its keys are typed as literals of one release
    return mpl.rc_context(settings)


def still_bytes(figure: Figure, kind: str, pixels: tuple[int, int] = HD) -> bytes:
    """Bytes of a drawn still.

    Parameters
    ----------
    figure : Figure
        From `draw_still`.
    kind : str
        "png", "svg" or "pdf".
    pixels : tuple of (int, int)
        Size of a PNG; 16 to 9.

    Returns
    -------
    bytes
        The file; the same figure always gives the same bytes.
    """
    target = io.BytesIO()
    with still_settings():
        figure.savefig(
            target,
            format=kind,
            dpi=_DPI * pixels[0] / HD[0],
            metadata=_UNDATED[kind],
            facecolor=figure.get_facecolor(),
        )
    return target.getvalue()
