"""Fronts and their names on a wave map: lines that are followed, labels that keep clear of each other."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pullbook.engine.waves import CYCLE_DEG
from pullbook.publish.palette import Ink
from pullbook.publish.ticks import spread
from pullbook.publish.wave_map_chain import wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.engine.network import Network
    from pullbook.engine.reflection_ways import Arrival
    from pullbook.engine.waves import Track
    from pullbook.publish.palette import Theme
    from pullbook.publish.wave_map_chain import Chain, Link

__all__ = ["LabelRoom", "draw_fronts", "name_places"]

_DRAWN: Final = 0.1  # of the front; weaker ones are not drawn
_MOST: Final = 6  # of each kind
_MM: Final = 1e3
_SIZE: Final = 12.0  # pt
_OFFSETS: Final = tuple((x, y) for y in (0.0, 13.0, -13.0) for x in (8.0, -8.0))  # beside a point, best first, pt
_ALONG: Final = (0.0, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0)  # of the way back, where its label may stand


@dataclass(slots=True)
class LabelRoom:
    """Labels on one set of axes, none upon another.

    Attributes
    ----------
    axes : Axes
        Where they stand.
    theme : Theme
        Colours.
    """

    axes: Any
    theme: Theme
    taken: list[Any] = field(default_factory=list)

    def put(self, text: str, points: Sequence[tuple[float, float]]) -> bool:
        """Write a label beside the first point where nothing stands yet; whether there was room.

        Parameters
        ----------
        text : str
            The label.
        points : sequence of (float, float)
            Crank angles and distances from the valves, best first. [deg, mm]
        """
        from matplotlib.patheffects import withStroke

        renderer = self.axes.figure.canvas.get_renderer()
        inside = self.axes.get_window_extent(renderer)
        for point, (x, y) in product(points, _OFFSETS):
            label = self.axes.annotate(
                text, point, textcoords="offset points", xytext=(x, y), ha="left" if x > 0.0 else "right",
                va="center", fontsize=_SIZE, color=self.theme[Ink.INK],
                path_effects=[withStroke(linewidth=3.0, foreground=self.theme[Ink.PAPER])], zorder=5,
            )  # fmt: skip
            box = label.get_window_extent(renderer).expanded(1.04, 1.15)
            clear = inside.x0 < box.x0 and box.x1 < inside.x1 and inside.y0 < box.y0 and box.y1 < inside.y1
            if clear and not any(box.overlaps(other) for other in self.taken):
                self.taken.append(box)
                return True
            label.remove()
        return False


def draw_fronts(
    room: LabelRoom, chain: Chain, arrivals: Sequence[Arrival], network: Network, port: tuple[int, int]
) -> None:
    """Draw the front of a port to where it is reflected and back, and those of other cylinders as they come in.

    Parameters
    ----------
    room : LabelRoom
        Axes over crank angle and distance from the valves. [deg, mm]
    chain : Chain
        Pipes of the axes.
    arrivals : sequence of Arrival
        All of the engine.
    network : Network
        The engine.
    port : tuple of (int, int)
        Indices of cylinder and valve set.
    """
    here = [one for one in arrivals if (one.cylinder, one.valve_set) == port and abs(one.coefficient) >= _DRAWN]
    here.sort(key=lambda one: -abs(one.coefficient))
    own = [one for one in here if (one.front.cylinder, one.front.valve_set) == port][:_MOST]
    others = [one for one in here if one not in own][:_MOST]
    drawn: set[tuple[int, bool, float]] = set()
    for arrival in own:
        for leg in arrival.legs:
            _line(room, chain, leg.pipe, leg.track, drawn, dash="-")
        link = chain.link(arrival.turn.pipe)
        if link is not None:
            most, at = ("up to ", "near") if arrival.damped else ("", "at")  # packing takes an unknown part
            text = f"{most}{arrival.coefficient:+.2f}, back {at} {arrival.angle_deg % CYCLE_DEG:.0f}°"
            first = next(leg for leg in arrival.legs if not leg.outward)
            room.put(text.replace("-", "\u2212"), _along(first.track, link))
    for arrival in others:
        last = [leg for leg in arrival.legs if leg.pipe == arrival.legs[-1].pipe]
        for leg in last:
            _line(room, chain, leg.pipe, leg.track, drawn, dash=(0, (5, 3)))
        link = chain.link(last[0].pipe)
        if link is not None:
            number = network.cylinders[arrival.front.cylinder].number
            text = f"{'up to ' if arrival.damped else ''}{arrival.coefficient:+.2f} from {number}"
            room.put(text.replace("-", "\u2212"), _along(last[0].track, link))


def _along(track: Track, link: Link) -> list[tuple[float, float]]:
    """Points along a way where its label may stand. [deg, mm]."""
    found: list[tuple[float, float]] = []
    for share in _ALONG:
        angle = float(track.angle_deg[0] + share * (track.angle_deg[-1] - track.angle_deg[0]))
        where = link.from_valves(np.interp([angle], track.angle_deg, track.distance))
        found.append((angle % CYCLE_DEG, _MM * float(where[0])))
    return found


def _line(
    room: LabelRoom,
    chain: Chain,
    pipe: int,
    track: Track,
    drawn: set[tuple[int, bool, float]],
    *,
    dash: Any,  # noqa: ANN401 - matplotlib's line styles are many types
) -> None:
    from matplotlib.patheffects import withStroke

    link = chain.link(pipe)
    mark = pipe, bool(track.distance[-1] > track.distance[0]), round(float(track.angle_deg[0]), 6)
    if link is None or mark in drawn:
        return
    drawn.add(mark)
    angle, distance = wrapped(track, link)
    halo = [withStroke(linewidth=2.8, foreground=room.theme[Ink.PAPER])]
    room.axes.plot(angle, _MM * distance, color=room.theme[Ink.INK], linewidth=1.3, linestyle=dash, path_effects=halo)


def name_places(axes: Any, chain: Chain, theme: Theme) -> None:  # noqa: ANN401 - matplotlib's axes are many types
    """Thin lines at the places that reflect, named beside the axes.

    Parameters
    ----------
    axes : Axes
        Over crank angle and distance from the valves, with their limits set. [deg, mm]
    chain : Chain
        Pipes of the axes.
    theme : Theme
        Colours.
    """
    low, high = sorted(axes.get_ylim())
    height = axes.get_window_extent().height
    apart = (high - low) * 1.7 * _SIZE / height
    at = [_MM * distance for _, distance in chain.places]
    for (name, _), where, stands in zip(chain.places, at, spread(at, apart, low, high), strict=True):
        axes.axhline(where, color=theme[Ink.SOFT], linewidth=0.7, linestyle=(0, (1, 3)))
        axes.annotate(
            name, (1.0, where), xycoords=("axes fraction", "data"), xytext=(1.018, stands),
            textcoords=("axes fraction", "data"), fontsize=_SIZE, color=theme[Ink.SOFT], va="center",
            annotation_clip=False, arrowprops={"arrowstyle": "-", "color": theme[Ink.LINE], "linewidth": 0.8},
        )  # fmt: skip
