"""Dimensions of a silencer with a perforated tube, made into side volumes for the kernels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.grid import INVERSE_LENGTH, VOLUME
from pullbook.gas.mixture import energy_of, gas_constant
from pullbook.gas.silencer import (
    CONTENT,
    GRAZING,
    HEAT_LEVEL,
    JET,
    MASS_LENGTH,
    NOW_ROWS,
    PACKING,
    RESISTANCE,
    SETTINGS_ROWS,
    SHELL_AREA,
    SHELL_LENGTH,
    SHELL_RESISTANCE,
    TEMPERATURE,
    WALL_AREA,
    Chambers,
    settle,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

__all__ = ["SilencerShape", "chambers_of", "perforate_impedance"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SilencerShape:
    """Perforated tube in a shell.

    Parameters
    ----------
    pipe : int
        Pipe of the set that is the tube.
    first, after : int
        First cell of the pipe inside the shell, and the first one after it.
    shell_diameter : float
        Inner diameter of the shell; of a shell that is not round, that of the same area. [m]
    wall : float
        Thickness of the tube's wall. [m]
    hole : float
        Diameter of the holes. [m]
    porosity : float
        Open part of the tube's wall. [1]
    flow_resistivity : float
        Of the packing; 0 for a shell without packing. Glass wool as packed in silencers about 10 000. [Pa s/m2]
    packing_temperature : float
        Temperature of the packing, and of the gas at the start. [K]
    free : float
        Share of the shell that is gas: about 0.95 with packing. [1]
    """

    pipe: int
    first: int
    after: int
    shell_diameter: float
    wall: float = 1.2e-3
    hole: float = 3.5e-3
    porosity: float = 0.27
    flow_resistivity: float = 1e4
    packing_temperature: float = 500.0
    free: float = 1.0


def perforate_impedance(shape: SilencerShape) -> tuple[float, float, float]:
    """Resistance, its growth with grazing flow, and inertia of a perforated wall.

    ``z / (rho c) = (7.337e-3 (1 + 72.23 M) + 2.2245e-5 i f (1 + 51 t) (1 + 204 d)) / porosity`` with wall thickness t
    and hole diameter d in m; the inertia is taken at a sound speed of 343 m/s, where the formula was measured.

    Parameters
    ----------
    shape : SilencerShape
        Silencer.

    Returns
    -------
    resistance : float
        Over density and sound speed, without flow. [1]
    grazing : float
        What a Mach number of one would add. [1]
    length : float
        Length of gas that moves, over the porosity. [m]

    Notes
    -----
    Measured at Mach 0.05 to 0.2, porosity 3 to 10 %, walls of 1 to 3 mm and holes of 1.75 to 7 mm.

    References
    ----------
    .. [1] K. Narayana Rao and M. L. Munjal, "Experimental evaluation of impedance of perforates with grazing flow",
       J. Sound Vib. 108 (1986) 283 (from memory).

    Examples
    --------
    >>> shape = SilencerShape(pipe=0, first=0, after=10, shell_diameter=0.12, wall=1e-3, hole=3e-3, porosity=0.27)
    >>> [round(x, 5) for x in perforate_impedance(shape)]
    [0.02717, 1.96278, 0.00762]
    """
    resistance = 7.337e-3 / shape.porosity
    length = 2.2245e-5 * 343.0 / (2.0 * math.pi) * (1.0 + 51.0 * shape.wall) * (1.0 + 204.0 * shape.hole)
    return resistance, 72.23 * resistance, length / shape.porosity


def _settings(shape: SilencerShape, pipes: Pipes) -> FloatArray:
    """Constant rows of one silencer."""
    slots = np.arange(shape.first, shape.after) + int(pipes.start[shape.pipe]) + 1
    volume = pipes.geometry[VOLUME, slots]
    step = 1.0 / pipes.geometry[INVERSE_LENGTH, slots]
    inner = np.sqrt(4.0 / np.pi * volume / step)
    outer = inner + 2.0 * shape.wall
    annulus = np.pi / 4.0 * (shape.shell_diameter**2 - outer**2)
    rows = np.zeros((SETTINGS_ROWS, len(slots)))
    rows[CONTENT] = shape.free * annulus * step
    rows[WALL_AREA] = np.pi * inner * step
    rows[RESISTANCE], rows[GRAZING], rows[MASS_LENGTH] = perforate_impedance(shape)
    # A hole's jet with a contraction of 0.7; its head is lost.
    rows[JET] = 1.0 / (0.7 * shape.porosity) ** 2
    # Radial flow that is stored evenly over the annulus: the resistance to its middle, for the speed at the wall.
    rows[PACKING] = shape.flow_resistivity * inner / 2.0 * _radial_mean(outer, shape.shell_diameter)
    rows[SHELL_AREA, :-1] = annulus[:-1]
    rows[SHELL_LENGTH] = step
    rows[SHELL_RESISTANCE] = shape.flow_resistivity * step
    rows[TEMPERATURE] = shape.packing_temperature
    return rows


def _radial_mean(inner: FloatArray, outer: float) -> FloatArray:
    """Mean pressure drop in an annulus that stores gas evenly, over resistivity, inner radius and speed there.

    With x the radius over the outer one, the flow through x is (1 - x^2)/(1 - a^2) of that at x = a. Its pressure drop
    up to x, weighted with the gas stored at x, is (4 ln(1/a) - 3 + 4 a^2 - a^4) / (4 (1 - a^2)^2).
    """
    a2 = (inner / outer) ** 2
    mean: FloatArray = (-2.0 * np.log(a2) - 3.0 + 4.0 * a2 - a2 * a2) / (4.0 * (1.0 - a2) ** 2)
    return mean


def chambers_of(shapes: Sequence[SilencerShape], pipes: Pipes, pressure: float) -> Chambers:
    """Side volumes of all silencers of a set of pipes, filled with air at rest.

    Parameters
    ----------
    shapes : sequence of SilencerShape
        Silencers; none is allowed.
    pipes : Pipes
        The pipes.
    pressure : float
        Pressure to begin with. [Pa]

    Returns
    -------
    Chambers
        Arrays for ``breathe``.

    Examples
    --------
    >>> from pullbook.gas.fuels import FUELS
    >>> from pullbook.gas.grid import PipeShape, pipe_set
    >>> from pullbook.gas.mixture import gas_table
    >>> tube = PipeShape(position=np.array([0.0, 0.5]), diameter=np.array([0.05, 0.05]), cells=25)
    >>> pipes = pipe_set([tube], gas_table(FUELS["petrol"], 1.0))
    >>> shape = SilencerShape(pipe=0, first=5, after=20, shell_diameter=0.11)
    >>> chambers = chambers_of([shape], pipes, 1e5)
    >>> chambers.slot.tolist()[:3], float(round(1e3 * chambers.settings[0].sum(), 3))
    ([6, 7, 8], 2.204)
    """
    slots = [np.arange(s.first, s.after) + int(pipes.start[s.pipe]) + 1 for s in shapes]
    slot = np.concatenate([*slots, np.zeros(0, dtype=np.int64)]).astype(np.int64)
    settings = np.concatenate([*[_settings(s, pipes) for s in shapes], np.zeros((SETTINGS_ROWS, 0))], axis=1)
    packed = np.concatenate(
        [*[np.full(s.after - s.first, int(s.flow_resistivity > 0.0)) for s in shapes], np.zeros(0)]
    ).astype(np.int64)
    count = len(slot)
    state = np.zeros((4, count))
    now = np.zeros((NOW_ROWS, count))
    for i in range(count):
        now[HEAT_LEVEL, i] = settings[TEMPERATURE, i]
        mass = pressure * settings[CONTENT, i] / (gas_constant(pipes.gas, 0.0, 0.0) * now[HEAT_LEVEL, i])
        state[0, i] = mass
        state[1, i] = mass * energy_of(pipes.gas, now[HEAT_LEVEL, i], 0.0, 0.0)
    chambers = Chambers(
        slot=slot,
        packed=packed,
        settings=settings,
        state=state,
        speed=np.zeros((2, count)),
        now=now,
        heat=np.zeros(count),
    )
    settle(chambers, pipes.gas)
    return chambers
