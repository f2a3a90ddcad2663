"""Perforated stretches of pipes as silencers of the kernel: cells of the tube with a volume around each."""

from __future__ import annotations

from itertools import groupby
from math import pi, sqrt
from typing import TYPE_CHECKING, Final

from pullbook.engine.layout_silencers import WOOL_FREE, wool_resistance
from pullbook.engine.network_ends import START, OpenEnd
from pullbook.gas.grid import INVERSE_LENGTH
from pullbook.gas.silencer_shape import SilencerShape

if TYPE_CHECKING:
    from pullbook.engine.network import Network
    from pullbook.engine.network_pipes import Perforate
    from pullbook.gas.grid import Pipes

__all__ = ["silencers_of"]

_TOUCH: Final = 1e-6  # m; stretches that follow each other are one silencer


def silencers_of(network: Network, pipes: Pipes) -> tuple[SilencerShape, ...]:
    """Silencers with perforated tubes.

    Parameters
    ----------
    network : Network
        The engine; slices of one silencer follow each other.
    pipes : Pipes
        The pipes as cut. [SI]

    Returns
    -------
    tuple of SilencerShape
        One for each perforated stretch, at least one cell long. [SI]
    """
    ordered = sorted(network.perforates, key=lambda one: (one.pipe, one.start))
    numbers: list[int] = []
    for place, one in enumerate(ordered):
        before = ordered[place - 1] if place else None
        goes_on = before is not None and before.pipe == one.pipe and one.start - before.end < _TOUCH
        numbers.append(numbers[-1] + (not goes_on) if numbers else 0)
    pairs = zip(numbers, ordered, strict=True)
    return tuple(
        _shape(network, pipes, [one for _, one in group]) for _, group in groupby(pairs, key=lambda pair: pair[0])
    )


def _shape(network: Network, pipes: Pipes, slices: list[Perforate]) -> SilencerShape:
    first, last = slices[0], slices[-1]
    end = network.end_of(first.pipe, START)
    before = end.correction if isinstance(end, OpenEnd) else 0.0
    slot = int(pipes.start[first.pipe]) + 1
    step = 1.0 / float(pipes.geometry[INVERSE_LENGTH, slot])
    count = int(pipes.start[first.pipe + 1]) - int(pipes.start[first.pipe]) - 2
    start = min(round((first.start + before) / step), count - 1)
    after = min(max(round((last.end + before) / step), start + 1), count)
    volume = network.volumes[first.volume]
    # Of one slice, as many whole cells as the silencer takes: its gas and its holes are all there, wherever cells end.
    length = (after - start) * step / len(slices)
    tube = _diameter_at(network, first.pipe, 0.5 * (first.start + first.end))
    free = WOOL_FREE if volume.isothermal else 1.0
    shell = sqrt(tube**2 + 4.0 / pi * volume.volume / (free * length))
    resistivity = first.resistance / wool_resistance(1.0, tube, shell) if first.resistance > 0.0 else 0.0
    return SilencerShape(
        pipe=first.pipe,
        first=start,
        after=after,
        shell_diameter=shell,
        porosity=first.open_area / (pi * tube * length),
        flow_resistivity=resistivity,
        packing_temperature=volume.wall.temperature,
        free=free,
    )


def _diameter_at(network: Network, pipe: int, distance: float) -> float:
    """Diameter of a pipe. [m]."""
    place = 0.0
    for section in network.pipes[pipe].sections:
        if distance <= place + section.length:
            share = (distance - place) / section.length
            return section.diameter_start + share * (section.diameter_end - section.diameter_start)
        place += section.length
    return network.pipes[pipe].sections[-1].diameter_end
