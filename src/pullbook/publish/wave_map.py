"""Wave map: pressure in the pipes of one cylinder over crank angle, with the waves traced through it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.engine.network_ends import Side, ValveEnd
from pullbook.engine.waves import pipe_waves, trace_characteristic
from pullbook.publish.palette import WAVES_HIGH, WAVES_LOW, Ink
from pullbook.publish.stills import still_bytes, still_settings

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from pullbook.engine.cycle import Settled
    from pullbook.engine.waves import PipeWaves
    from pullbook.publish.palette import Theme
    from pullbook.publish.stills import Appearance

__all__ = ["draw_wave_map", "wave_map"]

_DPI: Final = 100.0
_SIZE: Final = (19.2, 10.8)
_BAR: Final = 1e5
_TRIPS: Final = 5  # ways along the pipe that a wave is followed


def wave_map(settled: Settled, title: str, appearance: Appearance, *, cylinder: int = 0, kind: str = "png") -> bytes:
    """Picture of the waves in the pipes at the valves of one cylinder.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.
    title : str
        What stands above.
    appearance : Appearance
        Colours.
    cylinder : int
        Index of the cylinder.
    kind : str
        "png", "svg" or "pdf".

    Returns
    -------
    bytes
        The file.
    """
    return still_bytes(draw_wave_map(settled, title, appearance, cylinder=cylinder), kind)


def draw_wave_map(settled: Settled, title: str, appearance: Appearance, *, cylinder: int = 0) -> Figure:
    """Matplotlib figure of the waves in the pipes at the valves of one cylinder.

    Parameters
    ----------
    settled : Settled
        A run with all cells written down.
    title : str
        What stands above.
    appearance : Appearance
        Colours.
    cylinder : int
        Index of the cylinder.

    Returns
    -------
    Figure
        To be saved.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    network, theme = settled.assembled.network, appearance.theme
    found = [
        (one.pipe, network.cylinders[cylinder].valve_sets[one.to.valve_set], one.end == "start")
        for one in network.attachments
        if isinstance(one.to, ValveEnd) and one.to.cylinder == cylinder
    ]
    found.sort(key=lambda item: network.pipes[item[0]].side is Side.EXHAUST)
    with still_settings():
        figure = Figure(figsize=_SIZE, dpi=_DPI)
        FigureCanvasAgg(figure)
        figure.set_facecolor("none" if appearance.transparent else theme[Ink.PAPER])
        figure.text(0.06, 0.955, title, fontsize=24, weight="bold", color=theme[Ink.INK], va="center")
        number = network.cylinders[cylinder].number
        under = f"Pressure in the pipes of cylinder {number} at {settled.operating.speed_rpm:,.0f} rpm"
        figure.text(0.06, 0.912, under, fontsize=16, color=theme[Ink.SOFT], va="center")
        height = 0.76 / len(found)
        for row, (pipe, valves, starts) in enumerate(found):
            bottom = 0.09 + (len(found) - 1 - row) * (height + 0.03)
            axes = figure.add_axes((0.075, bottom, 0.80, height - 0.03))
            waves = pipe_waves(settled, pipe)
            limit = max(float(np.abs(waves.pressure - settled.operating.air.pressure).max()), 1.0)
            image = _paint(axes, waves, settled.operating.air.pressure, limit, theme)
            firing = network.cylinders[cylinder].firing_angle_deg
            events = (valves.opens_deg + firing, valves.closes_deg + firing)
            _style(axes, theme, waves.name, last=row == len(found) - 1)
            _trace(axes, waves, settled.operating.speed_rpm, events, theme, starts=starts)
            scale = figure.add_axes((0.89, bottom, 0.012, height - 0.03))
            bar = figure.colorbar(image, cax=scale)
            bar.set_label("over the air outside, bar", color=theme[Ink.SOFT], fontsize=13)
            bar.ax.tick_params(colors=theme[Ink.SOFT], labelsize=12)
            bar.outline.set_edgecolor(theme[Ink.LINE])
    return figure


def _paint(axes: Any, waves: PipeWaves, outside: float, limit: float, theme: Theme) -> Any:  # noqa: ANN401 - matplotlib's axes are many types
    """Pressure over the air outside as colours; the grey middle is no difference."""
    from matplotlib.colors import LinearSegmentedColormap

    colours = LinearSegmentedColormap.from_list("waves", [*WAVES_LOW, theme[Ink.GRID], *WAVES_HIGH])
    order = np.argsort(waves.angle_deg)
    return axes.pcolormesh(
        waves.angle_deg[order], 1e3 * waves.distance, (waves.pressure[:, order] - outside) / _BAR, cmap=colours,
        vmin=-limit / _BAR, vmax=limit / _BAR, shading="nearest", rasterized=True,
    )  # fmt: skip


def _style(axes: Any, theme: Theme, name: str, *, last: bool) -> None:  # noqa: ANN401 - matplotlib's axes are many types
    axes.set_xlim(0.0, 720.0)
    axes.set_xticks(range(0, 721, 90))
    axes.tick_params(colors=theme[Ink.SOFT], labelsize=13, labelbottom=last)
    for spine in axes.spines.values():
        spine.set_edgecolor(theme[Ink.LINE])
    axes.set_ylabel(f"{name}, mm", fontsize=15, color=theme[Ink.INK])
    if last:
        axes.set_xlabel("crank angle, deg", fontsize=15, color=theme[Ink.INK])


def _trace(
    axes: Any,  # noqa: ANN401 - matplotlib's axes are many types
    waves: PipeWaves,
    speed_rpm: float,
    events: tuple[float, float],
    theme: Theme,
    *,
    starts: bool,
) -> None:
    """Opening and closing of the valves, and a small wave that sets out when they open, to and fro."""
    from matplotlib.patheffects import withStroke

    halo = [withStroke(linewidth=3.0, foreground=theme[Ink.PAPER])]
    valve_end = 0.0 if starts else 1e3 * float(waves.distance[-1])
    for name, angle in zip(("opens", "closes"), events, strict=True):
        axes.axvline(angle % 720.0, color=theme[Ink.INK], linewidth=1.2, linestyle=(0, (2, 3)))
        axes.annotate(
            f"valve {name}", (angle % 720.0, valve_end), textcoords="offset points",
            xytext=(5, 8 if starts else -16), fontsize=12, color=theme[Ink.INK],
            path_effects=halo,
        )  # fmt: skip
    angle, forward = events[0], starts
    for _ in range(_TRIPS):
        angles = np.array(trace_characteristic(waves, angle, speed_rpm, forward=forward))
        distance = waves.distance if forward else waves.distance[::-1]
        # Broken where it leaves the cycle and comes in again at the other side.
        shown = np.where(np.diff(angles % 720.0, append=np.nan) < 0.0, np.nan, angles % 720.0)
        axes.plot(shown, 1e3 * distance, color=theme[Ink.INK], linewidth=1.6, path_effects=halo)
        angle, forward = float(angles[-1]), not forward
