"""A few pipes with ends, joins and side volumes, stepped from Python: for tests of pulses and of silencers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.duct import fill_pipe, perfect_gas
from pullbook.gas.ends import anechoic_end, closed_end
from pullbook.gas.grid import Pipes, PipeShape, pipe_set
from pullbook.gas.joins import join
from pullbook.gas.mixture import energy_of
from pullbook.gas.pipes import impose, inner_fluxes, inside, largest_step, predict, prepare, update
from pullbook.gas.silencer import Chambers, breathe

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pullbook.quantities.arrays import FloatArray

R = 287.05
GAMMA = 1.4
P0 = 1e5
T0 = 300.0
RHO0 = P0 / (R * T0)
C0 = float(np.sqrt(GAMMA * R * T0))
AIR = perfect_gas(GAMMA, R)
FAR = (P0, T0, R, GAMMA, energy_of(AIR, T0, 0.0, 0.0) + R * T0, 0.0, 0.0)

End = Callable[[tuple[float, ...], float], tuple[float, float, float, float, float]]


def silent(state: tuple[float, ...], area: float) -> tuple[float, float, float, float, float]:
    """End that sends nothing back."""
    return anechoic_end(state[:7], area, FAR)  # type: ignore[arg-type]  # seven of eight numbers


def closed(state: tuple[float, ...], area: float) -> tuple[float, float, float, float, float]:
    """Wall."""
    return closed_end(state[:7], area)  # type: ignore[arg-type]  # seven of eight numbers


def straight(length: float, area: float, cell: float) -> PipeShape:
    """Frictionless straight pipe."""
    diameter = float(np.sqrt(4.0 * area / np.pi))
    return PipeShape(
        position=np.array([0.0, length]),
        diameter=np.array([diameter, diameter]),
        cells=max(2, round(length / cell)),
        friction=0.0,
        heat=0.0,
    )


def centres(pipe_length: float, cell: float) -> FloatArray:
    """Middles of the cells of a pipe."""
    middle: FloatArray = (np.arange(round(pipe_length / cell), dtype=np.float64) + 0.5) * cell
    return middle


@dataclass(kw_only=True)
class SmallNetwork:
    """Pipes of perfect gas; every end is in ``ends`` or in one of the ``joins``."""

    shapes: Sequence[PipeShape]
    ends: dict[tuple[int, int], End]
    joins: list[tuple[list[tuple[int, int]], FloatArray, int]]
    chambers: Chambers | None = None
    pipes: Pipes = field(init=False)
    time: float = 0.0

    def __post_init__(self) -> None:
        self.pipes = pipe_set(self.shapes, AIR)
        for k in range(len(self.shapes)):
            fill_pipe(self.pipes, k, (P0, 0.0, T0, 0.0, 0.0))
        prepare(self.pipes)

    def fill(self, pipe: int, pressure: FloatArray, speed: FloatArray | float = 0.0) -> None:
        """Fill a pipe with isentropic gas of these pressures."""
        fill_pipe(self.pipes, pipe, (pressure, speed, T0 * (pressure / P0) ** (0.4 / 1.4), 0.0, 0.0))
        prepare(self.pipes)

    def step(self, dt: float) -> None:
        """One step of everything."""
        predict(self.pipes, dt)
        if self.chambers is not None:
            breathe(self.pipes, self.chambers, dt)
        inner_fluxes(self.pipes)
        for (pipe, side), end in self.ends.items():
            state = inside(self.pipes, pipe, side)
            impose(self.pipes, pipe, side, end(state, state[7]))
        for members, cosine, model in self.joins:
            states = np.array([inside(self.pipes, pipe, side) for pipe, side in members])
            flux = np.zeros((len(members), 5))
            join(states[:, :7].copy(), states[:, 7].copy(), cosine, model, 0.0, flux)
            for (pipe, side), row in zip(members, flux, strict=True):
                impose(self.pipes, pipe, side, tuple(row.tolist()))
        bad, _ = update(self.pipes, dt)
        assert bad < 0
        self.time += dt

    def pressure(self, pipe: int) -> FloatArray:
        """Pressures in the cells of a pipe."""
        cells = slice(int(self.pipes.start[pipe]) + 1, int(self.pipes.start[pipe + 1]) - 1)
        return np.asarray(self.pipes.primitive[2, cells]).copy()

    def totals(self) -> tuple[float, float]:
        """Mass and energy in all pipes."""
        volume = self.pipes.geometry[0]
        return float((self.pipes.state[0] * volume).sum()), float((self.pipes.state[2] * volume).sum())

    def safe_step(self, courant: float = 0.8) -> float:
        """Time step with a margin."""
        return courant * largest_step(self.pipes)


def pulse_at(x: FloatArray, middle: float, width: float, height: float) -> tuple[FloatArray, FloatArray]:
    """Smooth pulse that runs to the right: pressure and speed of a simple wave."""
    s = np.clip((x - middle) / width, -0.5, 0.5)
    pressure = P0 + height * np.cos(np.pi * s) ** 4
    ratio = (pressure / P0) ** ((GAMMA - 1.0) / (2.0 * GAMMA))
    return pressure, 2.0 * C0 / (GAMMA - 1.0) * (ratio - 1.0)
