"""Pipes filled with a perfect gas, for the checks of the scheme against exact solutions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pullbook.gas.duct import DuctEnd, fill_pipe, perfect_gas, run_duct
from pullbook.gas.grid import PipeShape, pipe_set
from pullbook.gas.pipes import prepare

if TYPE_CHECKING:
    from pullbook.gas.grid import Pipes
    from pullbook.quantities.arrays import FloatArray

GAMMA = 1.4
GAS_CONSTANT = 287.05
CLOSED = DuctEnd(kind="closed")
FREE = DuctEnd(kind="transmissive")
RING = DuctEnd(kind="periodic")

# Scale of the problems that are published without units: pressures in bar, densities in kg/m3.
UNIT_PRESSURE = 1e5
UNIT_SPEED = UNIT_PRESSURE**0.5


def straight(length: float, cells: int, **walls: float) -> PipeShape:
    """Smooth, adiabatic straight pipe of 40 mm unless walls are given."""
    settings = {"friction": 0.0, "heat": 0.0} | walls
    return PipeShape(
        position=np.array([0.0, length]),
        diameter=np.array([0.04, 0.04]),
        cells=cells,
        **settings,
    )


def filled(shape: PipeShape, density: FloatArray | float, speed: FloatArray | float, pressure: FloatArray) -> Pipes:
    """Pipe of perfect gas."""
    pipes = pipe_set([shape], perfect_gas(GAMMA, GAS_CONSTANT))
    fill_pipe(pipes, 0, (pressure, speed, pressure / (np.asarray(density) * GAS_CONSTANT), 0.0, 0.0))
    prepare(pipes)
    return pipes


def cells_of(pipes: Pipes) -> slice:
    """Slots of the cells of the only pipe."""
    return slice(1, int(pipes.start[1]) - 1)


def centres(length: float, cells: int) -> FloatArray:
    """Middles of the cells."""
    middles: FloatArray = np.linspace(0.5, cells - 0.5, cells) * (length / cells)
    return middles


def went(pipes: Pipes, ends: tuple[DuctEnd, DuctEnd], until: float, courant: float = 0.9) -> FloatArray:
    """Density, speed and pressure in the cells after a run in which nothing had to be floored."""
    run = run_duct(pipes, ends, until, courant)
    assert run.bad == -1
    assert run.floors == 0
    return pipes.primitive[:3, cells_of(pipes)]


def room(pressure: float, temperature: float) -> DuctEnd:
    """Open end to still air, whose energy is zero at 0 K as in ``perfect_gas``."""
    enthalpy = GAMMA / (GAMMA - 1.0) * GAS_CONSTANT * temperature
    return DuctEnd(kind="open", outside=(pressure, temperature, GAS_CONSTANT, GAMMA, enthalpy, 0.0, 0.0))


def held(density: float, speed: float, pressure: float) -> DuctEnd:
    """End beyond which gas is held in given motion to the right."""
    return DuctEnd(kind="held", outside=(density, speed, pressure, GAMMA, 0.0, 0.0, 0.0))
