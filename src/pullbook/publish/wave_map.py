"""Wave map: pressure in the pipes of one cylinder over crank angle, with the waves traced through it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.engine.network_ends import START, Side, ValveEnd
from pullbook.engine.reflections import follow_fronts
from pullbook.engine.waves import pipe_waves
from pullbook.publish.palette import WAVES_HIGH, WAVES_LOW, Ink
from pullbook.publish.stills import still_bytes, still_settings
from pullbook.publish.wave_map_chain import chain_of
from pullbook.publish.wave_map_fronts import LabelRoom, draw_fronts, name_places

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from pullbook.engine.cycle import Settled
    from pullbook.publish.palette import Theme
    from pullbook.publish.stills import Appearance
    from pullbook.publish.wave_map_chain import Chain

__all__ = ["draw_wave_map", "wave_map"]

_DPI: Final = 100.0
_SIZE: Final = (19.2, 10.8)
_BAR: Final = 1e5
_GAP: Final = 0.025
_SHARE: Final = {Side.INTAKE: 1.0, Side.EXHAUST: 1.8}  # of the height
_KEY: Final = (
    "Lines: fronts from the valves, followed through the computed gas; numbers: share of their pressure that comes "
    "back by linear acoustics; broken: from other cylinders"
)


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
        (one.pipe, one.end == START, one.to.valve_set)
        for one in network.attachments
        if isinstance(one.to, ValveEnd) and one.to.cylinder == cylinder
    ]
    found.sort(key=lambda item: network.pipes[item[0]].side is Side.EXHAUST)
    arrivals, _ = follow_fronts(settled)
    with still_settings():
        figure = Figure(figsize=_SIZE, dpi=_DPI)
        FigureCanvasAgg(figure)
        figure.set_facecolor("none" if appearance.transparent else theme[Ink.PAPER])
        figure.text(0.06, 0.96, title, fontsize=24, weight="bold", color=theme[Ink.INK], va="center")
        number = network.cylinders[cylinder].number
        under = f"Pressure in the pipes of cylinder {number} at {settled.operating.speed_rpm:,.0f} rpm"
        figure.text(0.06, 0.922, under, fontsize=16, color=theme[Ink.SOFT], va="center")
        figure.text(0.06, 0.889, _KEY, fontsize=13, color=theme[Ink.SOFT], va="center")
        shares = [_SHARE[network.pipes[pipe].side] for pipe, _, _ in found]
        top = 0.865
        for row, (pipe, starts, valve_set) in enumerate(found):
            height = 0.79 * shares[row] / sum(shares)
            box = (0.075, top - height + _GAP, 0.70, height - _GAP)
            top -= height
            chain = chain_of(network, pipe, starts=starts)
            axes = figure.add_axes(box)
            image = _paint(axes, settled, chain, theme)
            _style(axes, theme, network.pipes[pipe].side, chain, last=row == len(found) - 1)
            room = LabelRoom(axes=axes, theme=theme)
            valves = network.cylinders[cylinder].valve_sets[valve_set]
            firing = network.cylinders[cylinder].firing_angle_deg
            _events(room, (valves.opens_deg + firing, valves.closes_deg + firing))
            draw_fronts(room, chain, arrivals, network, (cylinder, valve_set))
            name_places(axes, chain, theme)
            _scale(figure, image, (0.925, box[1], 0.010, box[3]), theme)
    return figure


def _scale(figure: Figure, image: Any, box: tuple[float, float, float, float], theme: Theme) -> None:  # noqa: ANN401 - matplotlib's images are many types
    bar = figure.colorbar(image, cax=figure.add_axes(box))
    bar.set_label("over the air outside, bar", color=theme[Ink.SOFT], fontsize=13)
    bar.ax.tick_params(colors=theme[Ink.SOFT], labelsize=12)
    bar.outline.set_edgecolor(theme[Ink.LINE])


def _paint(axes: Any, settled: Settled, chain: Chain, theme: Theme) -> Any:  # noqa: ANN401 - matplotlib's axes are many types
    """Pressure over the air outside as colours; the grey middle is no difference."""
    from matplotlib.colors import LinearSegmentedColormap

    outside = settled.operating.air.pressure
    all_waves = [pipe_waves(settled, link.pipe) for link in chain.links]
    limit = max([1.0, *(float(np.abs(waves.pressure - outside).max()) for waves in all_waves)]) / _BAR
    colours = LinearSegmentedColormap.from_list("waves", [*WAVES_LOW, theme[Ink.GRID], *WAVES_HIGH])
    image = None
    for waves, link in zip(all_waves, chain.links, strict=True):
        middles = link.from_valves(waves.distance)
        order = np.argsort(middles)
        image = axes.pcolormesh(
            waves.angle_deg, 1e3 * middles[order], (waves.pressure[order] - outside) / _BAR, cmap=colours,
            vmin=-limit, vmax=limit, shading="nearest", rasterized=True,
        )  # fmt: skip
    return image


def _style(axes: Any, theme: Theme, side: Side, chain: Chain, *, last: bool) -> None:  # noqa: ANN401 - matplotlib's axes are many types
    axes.set_facecolor(theme[Ink.PAPER])
    axes.set_xlim(0.0, 720.0)
    # The valves of both sides face each other, as the gas goes: from the top through the engine to the bottom.
    limits = (0.0, 1e3 * chain.length)
    axes.set_ylim(*(limits if side is Side.INTAKE else limits[::-1]))
    axes.set_xticks(range(0, 721, 90))
    axes.tick_params(colors=theme[Ink.SOFT], labelsize=13, labelbottom=last)
    for spine in axes.spines.values():
        spine.set_edgecolor(theme[Ink.LINE])
    axes.set_ylabel(f"{side.value}, mm from the valve", fontsize=15, color=theme[Ink.INK])
    if last:
        axes.set_xlabel("crank angle, deg", fontsize=15, color=theme[Ink.INK])


def _events(room: LabelRoom, events: tuple[float, float]) -> None:
    """Opening and closing of the valves."""
    for name, angle in zip(("opens", "closes"), events, strict=True):
        room.axes.axvline(angle % 720.0, color=room.theme[Ink.INK], linewidth=1.2, linestyle=(0, (2, 3)))
        low, high = room.axes.get_ylim()
        shares = (0.06, 0.14, 0.5) if low == 0.0 else (0.94, 0.86, 0.5)  # from the valves
        room.put(f"valve {name}", [(angle % 720.0, low + share * (high - low)) for share in shares])
