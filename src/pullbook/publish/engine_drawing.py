"""The pipes of an engine as a picture, to scale: lengths and diameters by one measure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.publish.engine_labels import labels_of, rows_of, shells_of
from pullbook.publish.engine_pen import EnginePen
from pullbook.publish.engine_places import place_network
from pullbook.publish.palette import Ink
from pullbook.publish.stills import still_bytes, still_settings
from pullbook.quantities.showing import UnitSystem

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from pullbook.engine.network import Network
    from pullbook.publish.engine_places import Drawing
    from pullbook.publish.stills import Appearance

__all__ = ["draw_engine", "engine_drawing"]

_DPI: Final = 100.0
_WIDE: Final = 1920.0  # px
_TALLEST: Final = 1250.0  # px; of the drawing without its labels
_SIDE: Final = 50.0  # px
_FLAG: Final = 130.0  # px; room to the right for the label of the last piece
_TOP: Final = 100.0
_BOTTOM: Final = 110.0
_ROW: Final = 56.0  # px; height of a row of labels
_INKS: Final[dict[str, Ink]] = {
    "air inlet": Ink.BUILD_6, "throttle": Ink.BUILD_6, "runner": Ink.BUILD_1, "intake port": Ink.BUILD_3,
    "exhaust port": Ink.BUILD_4, "primary": Ink.BUILD_2, "log": Ink.BUILD_2, "secondary": Ink.BUILD_7,
    "merge": Ink.BUILD_5, "collector": Ink.BUILD_4, "extension": Ink.BUILD_7, "megaphone": Ink.BUILD_7,
    "silencer": Ink.BUILD_5, "tailpipe": Ink.BUILD_6,
}  # fmt: skip


def engine_drawing(
    network: Network, title: str, appearance: Appearance, *, system: UnitSystem = UnitSystem.METRIC, kind: str = "svg"
) -> bytes:
    """Picture of the pipes of an engine.

    Parameters
    ----------
    network : Network
        The network.
    title : str
        What stands above.
    appearance : Appearance
        Colours.
    system : UnitSystem
        Units of the labels.
    kind : str
        "svg", "png" or "pdf".

    Returns
    -------
    bytes
        The file; 1920 pixels wide, as high as it takes.
    """
    return still_bytes(draw_engine(network, title, appearance, system=system), kind)


def draw_engine(
    network: Network, title: str, appearance: Appearance, *, system: UnitSystem = UnitSystem.METRIC
) -> Figure:
    """Matplotlib figure of the pipes of an engine.

    Parameters
    ----------
    network : Network
        The network.
    title : str
        What stands above.
    appearance : Appearance
        Colours.
    system : UnitSystem
        Units of the labels.

    Returns
    -------
    Figure
        To be saved.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    drawing = place_network(network)
    low, high = _extent(network, drawing)
    scale = min((_WIDE - 2.0 * _SIDE - _FLAG) / (high[0] - low[0]), _TALLEST / (high[1] - low[1]))  # px/m
    left = max(_SIDE, 0.5 * (_WIDE - scale * (high[0] - low[0])) - _FLAG)

    def across(x: float) -> float:
        return left + scale * (x - low[0])

    rows = rows_of(labels_of(network, drawing, system), across)
    body = scale * (high[1] - low[1])
    height = _TOP + len(rows) * _ROW + body + _BOTTOM
    theme = appearance.theme
    with still_settings():
        figure = Figure(figsize=(_WIDE / _DPI, height / _DPI), dpi=_DPI)
        FigureCanvasAgg(figure)
        figure.set_facecolor("none" if appearance.transparent else theme[Ink.PAPER])
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0.0, _WIDE)
        axes.set_ylim(0.0, height)
        pen = EnginePen(axes, theme, halo=appearance.transparent)
        pen.scale(across, (_BOTTOM - scale * low[1], scale))
        pen.words((_SIDE, height - 28.0), title, 30.0, weight="bold", top=True)
        _draw(network, drawing, pen)
        for row, labels in enumerate(rows):
            for label, pole in labels:
                pen.label(label, pole, _BOTTOM + body + (len(rows) - row) * _ROW)
        pen.rule(system, (_SIDE, 66.0))
        note = "Drawn straight, lengths and diameters to one scale; volumes are not to scale."
        pen.words((_SIDE, 20.0), note, 16.0, ink=Ink.SOFT)
    return figure


def _extent(network: Network, drawing: Drawing) -> tuple[tuple[float, float], tuple[float, float]]:
    widest = max(max(d for _, d in pipe.stations) for pipe in network.pipes)
    shells = [shell for number in range(len(network.pipes)) for *_, shell in shells_of(network, number)]
    half = max([widest, *shells]) / 2.0
    xs, ys = zip(*drawing.points(), strict=True)
    return (min(xs), min(ys) - half), (max(xs), max(ys) + half)


def _draw(network: Network, drawing: Drawing, pen: EnginePen) -> None:
    for first, last in drawing.ties:
        pen.tie(first, last)
    for leg in drawing.legs:
        pipe = network.pipes[leg.pipe]
        for start, end, shell in shells_of(network, leg.pipe):
            pen.tube(pen.stretch(leg, (start, end), pipe.length), (shell, shell), Ink.OPEN, faint=True)
        place = 0.0
        for section in pipe.sections:
            stretch = pen.stretch(leg, (place, place + section.length), pipe.length)
            pen.tube(stretch, (section.diameter_start, section.diameter_end), _INKS.get(section.group, Ink.OPEN))
            place += section.length
    for box in drawing.boxes:
        pen.box(box, str(network.cylinders[box.volume].number) if box.cylinder else "")
